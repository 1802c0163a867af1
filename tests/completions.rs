//! `fillmark completions`: what a shell makes of the script.

use crate::cli::{ended, fillmark, folder, put};
use crate::help::{every_help, options};
use std::path::Path;
use std::process::Command;

const SHELLS: [&str; 5] = ["bash", "elvish", "fish", "powershell", "zsh"];

fn script(shell: &str) -> String {
    ended(&fillmark(Path::new("."), &["completions", shell]), 0).0
}

/// What bash offers for the last of some words, in a folder that holds the script.
fn offered(folder: &Path, words: &[&str]) -> Vec<String> {
    let last = words.len() - 1;
    // As bash calls it: the command, the word to be completed, and the one before.
    let ask = r#"source fillmark.bash
        COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1))
        complete -p fillmark | grep -q -e '-o default.* -F _fillmark' || exit 9
        _fillmark "$1" "${@: -1}" "${@: -2:1}"
        printf '%s\n' "${COMPREPLY[@]}""#;
    let mut command = Command::new("bash");
    command
        .args(["--norc", "-c", ask, "bash"])
        .args(words)
        .current_dir(folder);
    let (out, err) = ended(&command.output().expect("bash can be run"), 0);
    assert_eq!(err, "", "{words:?}");
    let offered = out.lines().filter(|line| !line.is_empty());
    let offered: Vec<String> = offered.map(str::to_owned).collect();
    assert!(
        offered.iter().all(|word| word.starts_with(words[last])),
        "{words:?}: {offered:?}"
    );
    offered
}

#[test]
fn bash_completes_commands_options_words_and_codes() {
    let folder = folder("completions");
    put(&folder, "fillmark.bash", &script("bash"));
    put(&folder, "bath.yaml", "");
    for (words, wanted) in [
        (["fillmark", "rep"].as_slice(), ["report"].as_slice()),
        (&["fillmark", "report", "--pd"], &["--pdf"]),
        (&["fillmark", "report", "--also", "m"], &["markdown"]),
        (&["fillmark", "report", "--pdf", "bat"], &["bath.yaml"]),
        (&["fillmark", "check", "--format", ""], &["text", "json"]),
        (&["fillmark", "start", "--density", "cu"], &["cumulative"]),
        (&["fillmark", "completions", "z"], &["zsh"]),
        (
            &["fillmark", "explain", "water-o"],
            &["water-off-published"],
        ),
        // No word of the program: bash falls back to the names of files.
        (&["fillmark", "report", "bat"], &[]),
    ] {
        assert_eq!(offered(&folder, words), wanted, "{words:?}");
    }
}

#[test]
fn bash_offers_every_command_and_its_options() {
    let folder = folder("completions-all");
    put(&folder, "fillmark.bash", &script("bash"));
    for (name, help) in every_help() {
        let words: Vec<&str> = ["fillmark", &name, "--"]
            .into_iter()
            .filter(|word| !word.is_empty())
            .collect();
        let mut long = offered(&folder, &words);
        long.sort();
        let mut options = options(&help);
        options.sort_unstable();
        assert_eq!(long, options, "{name}");
        if !name.is_empty() {
            let commands = offered(&folder, &["fillmark", &name]);
            assert!(commands.contains(&name), "{name}: {commands:?}");
        }
    }
}

#[test]
fn every_shell_has_a_script() {
    for shell in SHELLS {
        let script = script(shell);
        // How much of the words a shell is told differs.
        let words: &[&str] = match shell {
            "elvish" | "powershell" => &["without-known"],
            "fish" => &["without-known", "cumulative"],
            _ => &["without-known", "cumulative", "decimal-comma"],
        };
        for word in words {
            assert!(script.contains(word), "{shell} does not know {word}");
        }
        assert_eq!(script, self::script(shell), "{shell}: two makes differ");
    }
    let (_, err) = ended(&fillmark(Path::new("."), &["completions", "dish"]), 2);
    for shell in SHELLS {
        assert!(err.contains(shell), "{err}");
    }
}
