//! The reference that the program prints: complete, and found by a word.

use crate::cli::{ended, fillmark};
use fillmark::bench::runfile::vocabulary::{Form, Section};
use fillmark::bench::runfile::{PLAN_FILE, RUN};
use fillmark::problem::Code;
use std::collections::BTreeSet;
use std::path::Path;

fn reference(words: &[&str], code: i32) -> String {
    let arguments = std::iter::once("reference").chain(words.iter().copied());
    let arguments: Vec<&str> = arguments.collect();
    let output = fillmark(Path::new(env!("CARGO_TARGET_TMPDIR")), &arguments);
    ended(&output, code);
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// Every key of a section and below, with what it means.
fn keys(
    section: &'static Section,
    seen: &mut BTreeSet<&'static str>,
    all: &mut Vec<(&'static str, &'static str)>,
) {
    if !seen.insert(section.what) {
        return;
    }
    for key in section.keys {
        all.push((key.name(), key.about()));
        match key.form() {
            Form::Section(below)
            | Form::Named(below)
            | Form::NamedLists(below)
            | Form::List(below)
            | Form::WordOrSection(_, below)
            | Form::TextOrSection(_, below) => keys(below, seen, all),
            Form::NamedListsOrSection(lists, below) => {
                keys(lists, seen, all);
                keys(below, seen, all);
            }
            Form::NamedByKind(sections) => {
                for (below, _) in sections {
                    keys(below, seen, all);
                }
            }
            _ => {}
        }
    }
}

#[test]
fn the_reference_has_every_key_and_flag_and_command() {
    let text = reference(&[], 0);
    let (mut seen, mut all) = (BTreeSet::new(), Vec::new());
    keys(RUN, &mut seen, &mut all);
    keys(PLAN_FILE, &mut seen, &mut all);
    assert!(all.len() > 100, "only {} keys are known", all.len());
    for (name, about) in all {
        let listed = text
            .lines()
            .any(|line| line.starts_with(&format!("- `{name}`")) && line.contains(about));
        assert!(listed, "the key {name} is not listed with: {about}");
    }
    for code in ["few-rinses", "line-departs"] {
        let meaning = Code::of_name(code).expect("a code").meaning();
        assert!(text.contains(meaning), "{code} is not explained");
    }
    for command in ["report", "check", "plan", "sheet", "explain", "reference"] {
        assert!(
            text.contains(&format!("### fillmark {command}\n")),
            "{command}"
        );
    }
    let codes = [
        "`0`: done",
        "`1`: a run has problems",
        "`2`: the command line",
        "`3`: a system error",
    ];
    for code in codes {
        assert!(text.contains(code), "{code}");
    }
    assert!(
        !text.contains('{') || !text.contains("{keys of"),
        "a part is left out"
    );
}

#[test]
fn a_word_finds_the_parts_that_tell_of_it() {
    let whole = reference(&[], 0);
    let aliquot = reference(&["aliquot"], 0);
    assert!(aliquot.contains("### Aliquot\n"), "{aliquot}");
    assert!(aliquot.contains("- `aliquot`: "), "{aliquot}");
    assert!(aliquot.len() < whole.len() / 10, "{aliquot}");
    assert!(reference(&["Exit"], 0).contains("`3`: "));
    assert!(reference(&["check"], 0).contains("### fillmark check\n"));
    assert!(reference(&["no such word"], 2).is_empty());
}
