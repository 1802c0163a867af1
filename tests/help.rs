//! Help: its examples run, and the exit codes are those of README.

use crate::cli::{ended, fillmark, folder};
use crate::common::{files, path, read, sample_runs};
use std::path::Path;
use std::process::Command;

/// What a command says below a heading of its help, line by line.
fn below<'h>(help: &'h str, heading: &str) -> Vec<&'h str> {
    let mut lines = help.lines();
    lines.find(|line| *line == heading);
    lines.take_while(|line| !line.is_empty()).collect()
}

/// The help of a command; of the program itself that of no name.
fn help(command: &str) -> String {
    let arguments = [command, "--help"];
    let arguments = arguments.into_iter().filter(|word| !word.is_empty());
    let arguments: Vec<&str> = arguments.collect();
    ended(&fillmark(Path::new("."), &arguments), 0).0
}

/// Every command with its help, also the program itself without a name.
pub(crate) fn every_help() -> Vec<(String, String)> {
    let whole = help("");
    let lines = below(&whole, "Commands:");
    let names = lines.iter().filter_map(|line| {
        let line = line.strip_prefix("  ")?;
        line.split(' ').next().filter(|name| !name.is_empty())
    });
    let names: Vec<String> = names
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect();
    assert!(names.len() >= 12, "only {names:?}");
    let helps = names.into_iter().map(|name| {
        let help = help(&name);
        (name, help)
    });
    [(String::new(), whole.clone())]
        .into_iter()
        .chain(helps)
        .collect()
}

/// The long options that a help lists.
pub(crate) fn options(help: &str) -> Vec<&str> {
    let lines = help.lines().skip_while(|line| *line != "Options:");
    let lines = lines.take_while(|line| *line != "Examples:");
    let options = lines.filter_map(|line| {
        let line = line.trim_start();
        let line = line
            .split_once(", ")
            .filter(|(short, _)| short.len() == 2)
            .map_or(line, |(_, long)| long);
        line.starts_with("--")
            .then(|| line.split([' ', '=']).next())?
    });
    options.collect()
}

/// The command lines that a help gives as examples: they are indented less than what is said of them.
fn examples(help: &str) -> Vec<&str> {
    let lines = below(help, "Examples:");
    let lines = lines.iter().filter_map(|line| line.strip_prefix("  "));
    lines.filter(|line| !line.starts_with(' ')).collect()
}

/// A folder with what the examples of a help speak of: the shipped samples, a run file and its report.
fn bench(name: &str) -> std::path::PathBuf {
    let folder = folder(&format!("help-{name}"));
    for sample in files("sample_runs", "yaml") {
        let to = folder.join(sample.strip_prefix(path("")).expect("a sample"));
        std::fs::create_dir_all(to.parent().expect("a folder")).expect("a folder can be made");
        std::fs::copy(&sample, to).expect("a sample can be copied");
    }
    std::fs::copy(&sample_runs()[0], folder.join("bath.yaml")).expect("a run file");
    if examples(&help(name))
        .iter()
        .any(|line| line.contains("bath.pdf"))
    {
        ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    }
    folder
}

#[test]
fn every_example_of_every_help_runs() {
    let program = Path::new(env!("CARGO_BIN_EXE_fillmark"));
    let program = program.parent().expect("its folder").display();
    let searched = std::env::var("PATH").expect("a PATH");
    for (name, help) in every_help() {
        let examples = examples(&help);
        assert!((2..=3).contains(&examples.len()), "{name} has {examples:?}");
        let folder = bench(&name);
        for example in examples {
            assert!(example.contains("fillmark "), "{name}: {example}");
            let mut command = Command::new("bash");
            command
                .args(["-euc", example])
                .current_dir(&folder)
                .env("PATH", format!("{program}:{searched}"))
                .env("HOME", &folder);
            let output = command.output().expect("bash can be run");
            let (_, err) = ended(&output, 0);
            assert!(!err.contains("error"), "{example}: {err}");
        }
    }
}

#[test]
fn every_help_has_the_exit_codes_of_readme() {
    let readme = read(&path("README.md"));
    let told = readme
        .lines()
        .find_map(|line| line.strip_prefix("Exit codes: "))
        .expect("a sentence on exit codes");
    for (name, help) in every_help() {
        let codes = below(&help, "Exit codes:");
        let codes: Vec<String> = codes
            .iter()
            .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        assert_eq!(format!("{}.", codes.join(", ")), told, "{name}");
    }
}
