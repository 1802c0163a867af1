//! How the cost of unusual input grows: each kind at a size, at twice and at four times that size. Figures for people; nothing
//! depends on them. What is linear doubles with the size; what a limit refuses takes next to nothing.
//!
//! `cargo bench --bench growth` makes its input itself.

#![allow(clippy::print_stdout, reason = "its figures are what it is run for")]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

const RUN: &str = include_str!("../runs/short.yaml");

/// A kind of input, its smallest size, and what makes it: the run file, and a folder's worth of other arguments.
type Kind = (&'static str, usize, fn(&Path, usize) -> Vec<String>);

fn run_with(folder: &Path, from: &str, to: &str) -> Vec<String> {
    assert!(RUN.contains(from), "no {from}");
    put(folder, "run.yaml", &RUN.replacen(from, to, 1));
    Vec::new()
}

fn put(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("written");
}

fn weighings(count: usize) -> String {
    let one = |index: usize| {
        format!(
            "{{empty: 31.203 g, filled: 41.{} g, volume: 10.00 mL}}",
            445 + index % 7
        )
    };
    let all: Vec<String> = (0..count).map(one).collect();
    format!("    B: [{}]", all.join(", "))
}

fn dilutions(count: usize) -> String {
    let mut text = String::new();
    for index in 0..count {
        let of = index
            .checked_sub(1)
            .map_or_else(|| "A".to_owned(), |last| format!("D{last}"));
        text += &format!(
            "  D{index}:\n    aliquot: {{of: {of}, volume: 10.00 mL, with: ten pipette}}\n    made_up: {{to: 100.0 mL, in: tall cylinder}}\n"
        );
    }
    text + "  bath 3: {"
}

const KINDS: [Kind; 10] = [
    ("words in a title", 500, |folder, size| {
        run_with(folder, "Brine bath", &"brine bath ".repeat(size))
    }),
    ("characters in a word", 25_000, |folder, size| {
        run_with(
            folder,
            "R. Example",
            &format!("R. Example\nnotes: [{}]", "x".repeat(size)),
        )
    }),
    ("weighings of one solution", 125, |folder, size| {
        let old = RUN
            .lines()
            .find(|line| line.starts_with("    B: ["))
            .expect("a line");
        run_with(folder, old, &weighings(size))
    }),
    ("dilutions in a row, up to the limit", 25, |folder, size| {
        run_with(folder, "  bath 3: {", &dilutions(size))
    }),
    ("dilutions in a row, beyond it", 2_500, |folder, size| {
        run_with(folder, "  bath 3: {", &dilutions(size))
    }),
    ("acknowledgements", 12_500, |folder, size| {
        let all = "  - {flag: few-rinses, why: little was left}\n".repeat(size);
        run_with(
            folder,
            "solutions:",
            &format!("acknowledged:\n{all}solutions:"),
        )
    }),
    ("templates in a folder", 2_500, |folder, size| {
        let templates = folder.join("templates");
        std::fs::create_dir_all(&templates).expect("a folder");
        let all = (0..size).map(|index| format!("{{% include 't{index}.md' %}}\n"));
        put(
            &templates,
            "at_a_glance.md",
            &format!("{{% if false %}}{}{{% endif %}}", all.collect::<String>()),
        );
        for index in 0..size {
            put(&templates, &format!("t{index}.md"), "Text.");
        }
        run_with(folder, "Brine", "Brine");
        vec!["--template".to_owned(), "templates".to_owned()]
    }),
    ("brackets in a style file", 125_000, |folder, size| {
        put(
            folder,
            "style.yaml",
            &format!("paper: {}", "[".repeat(size)),
        );
        run_with(folder, "Brine", "Brine");
        vec!["--style".to_owned(), "style.yaml".to_owned()]
    }),
    ("bytes that aliases stand for", 5_000, |folder, size| {
        let notes = format!(
            "R. Example\naim: &t {}\nnotes: [{}x]",
            "x ".repeat(size),
            "*t , ".repeat(25)
        );
        run_with(folder, "R. Example", &notes)
    }),
    ("links in a chain of a template", 125, |folder, size| {
        let templates = folder.join("templates");
        std::fs::create_dir_all(&templates).expect("a folder");
        put(
            &templates,
            "aim.md",
            &format!("{{{{ {} 1 }}}}", "not ".repeat(size)),
        );
        run_with(folder, "Brine", "Brine");
        vec!["--template".to_owned(), "templates".to_owned()]
    }),
];

/// How long a report takes, and whether it is made.
fn timed(folder: &Path, more: &[String]) -> (Duration, bool) {
    let begun = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_fillmark"))
        .current_dir(folder)
        .args(["report", "run.yaml", "--force", "--quiet"])
        .args(more)
        .output()
        .expect("the program can be run");
    (begun.elapsed(), output.status.success())
}

fn main() {
    // `cargo test --benches` asks for a list, which is empty.
    if std::env::args().any(|argument| argument == "--list") {
        return;
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("growth");
    for (kind, least, make) in KINDS {
        for size in [least, 2 * least, 4 * least] {
            let _ = std::fs::remove_dir_all(&folder);
            std::fs::create_dir_all(&folder).expect("a folder can be made");
            let more = make(&folder, size);
            let (took, made) = timed(&folder, &more);
            let ending = if made { "made" } else { "refused" };
            println!("{size:>7} {kind}: {ending} in {took:.2?}");
        }
    }
}
