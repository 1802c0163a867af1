//! `fillmark manual`: what stands in the pages, and what is written over.

use crate::cli::{ended, fillmark, folder, names, put};
use crate::common::read;
use crate::help::{every_help, options};

/// A page as it is read: without the marks of its language.
fn plain(page: &str) -> String {
    let lines = page.lines().filter(|line| !line.starts_with(".\\\""));
    let text = lines.collect::<Vec<_>>().join("\n");
    let text = text
        .replace("\\-", "-")
        .replace("\\fB", "")
        .replace("\\fI", "");
    text.replace("\\fR", "")
}

#[test]
fn every_command_and_option_stands_in_the_pages() {
    let folder = folder("manual");
    let (out, err) = ended(&fillmark(&folder, &["manual", "man"]), 0);
    assert_eq!(err, "");
    let helps = every_help();
    assert_eq!(out, format!("man: {} manual pages\n", helps.len()));
    let of = |name: &str| match name {
        "" => "fillmark.1".to_owned(),
        name => format!("fillmark-{name}.1"),
    };
    let mut wanted: Vec<String> = helps.iter().map(|(name, _)| of(name)).collect();
    wanted.sort();
    assert_eq!(names(&folder.join("man")), wanted);
    let whole = plain(&read(&folder.join("man/fillmark.1")));
    for (name, help) in &helps {
        let page = plain(&read(&folder.join("man").join(of(name))));
        assert!(
            whole.contains(&of(name).replace(".1", "(1)")) || name.is_empty(),
            "{name}: {whole}"
        );
        let title = format!(
            ".TH {} 1 \" \" \"fillmark {}\" Fillmark",
            of(name).trim_end_matches(".1"),
            env!("CARGO_PKG_VERSION")
        );
        assert!(page.contains(&title), "{name}: {page}");
        let options = options(help);
        assert!(options.len() >= 2, "{name}: {options:?}");
        for option in options {
            assert!(
                page.contains(option),
                "{name}: {option} is missing in {page}"
            );
        }
        // What is given without a name of its own stands there, too.
        let usage = help.lines().find_map(|line| line.strip_prefix("Usage: "));
        let usage = usage.expect("usage").split(['<', '>', '[', ']']);
        for word in usage
            .skip(1)
            .step_by(2)
            .filter(|word| !["OPTIONS", "COMMAND"].contains(word))
        {
            assert!(page.contains(word), "{name}: {word} is missing in {page}");
        }
        for part in [
            "NAME",
            "SYNOPSIS",
            "DESCRIPTION",
            "OPTIONS",
            "EXAMPLES",
            "EXIT STATUS",
        ] {
            assert!(page.contains(part), "{name}: no {part}");
        }
        assert!(page.contains("a system error"), "{name}");
    }
}

#[test]
fn pages_are_written_over_and_other_files_are_not() {
    let folder = folder("manual-over");
    ended(&fillmark(&folder, &["manual", "man"]), 0);
    let page = folder.join("man/fillmark-check.1");
    let first = read(&page);
    // A page of another version is replaced.
    put(
        &folder,
        "man/fillmark-check.1",
        &first.replace("check", "cheque"),
    );
    ended(&fillmark(&folder, &["manual", "man"]), 0);
    assert_eq!(read(&page), first, "the same bytes again");
    // A file of somebody else's is not, and nothing else is written then.
    std::fs::remove_file(folder.join("man/fillmark.1")).expect("a page");
    put(&folder, "man/fillmark-check.1", "my own notes");
    let (_, err) = ended(&fillmark(&folder, &["manual", "man"]), 2);
    assert!(
        err.contains("fillmark-check.1") && err.contains("--force"),
        "{err}"
    );
    assert_eq!(read(&page), "my own notes");
    assert!(!folder.join("man/fillmark.1").exists());
    ended(&fillmark(&folder, &["manual", "man", "--force"]), 0);
    assert_eq!(read(&page), first);
    // A file where the folder should be.
    put(&folder, "notes", "my own notes");
    let (_, err) = ended(&fillmark(&folder, &["manual", "notes"]), 3);
    assert!(err.contains("notes"), "{err}");
    assert_eq!(read(&folder.join("notes")), "my own notes");
}
