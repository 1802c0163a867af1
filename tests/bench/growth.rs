//! How the cost of unusual input grows: each kind at a size, at twice and at four times that size. Figures for people; nothing
//! depends on them. What is linear doubles with the size; what a limit refuses takes next to nothing.
//!
//! `cargo bench --bench growth` makes its input itself.

#![allow(clippy::print_stdout, reason = "its figures are what it is run for")]

mod unusual;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use unusual::Input;

fn put(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("written");
}

/// How long a report takes, and whether it is made.
fn timed(folder: &Path, input: &Input) -> (Duration, bool) {
    let _ = std::fs::remove_dir_all(folder);
    let templates = folder.join("templates");
    std::fs::create_dir_all(&templates).expect("a folder can be made");
    put(folder, "run.yaml", &input.run);
    for (name, text) in &input.templates {
        put(&templates, name, text);
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    command.current_dir(folder);
    command.args(["report", "run.yaml", "--quiet"]);
    if let Some(style) = &input.style {
        put(folder, "style.yaml", style);
        command.args(["--style", "style.yaml"]);
    }
    if !input.templates.is_empty() {
        command.args(["--template", "templates"]);
    }
    let begun = Instant::now();
    let output = command.output().expect("the program can be run");
    (begun.elapsed(), output.status.success())
}

fn main() {
    // `cargo test --benches` asks for a list, which is empty.
    if std::env::args().any(|argument| argument == "--list") {
        return;
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("growth");
    for (kind, least, make) in unusual::KINDS {
        for size in [least, 2 * least, 4 * least] {
            let (took, made) = timed(&folder, &make(size));
            let ending = if made { "made" } else { "refused" };
            println!("{size:>7} {kind}: {ending} in {took:.2?}");
        }
    }
}
