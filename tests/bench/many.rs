//! Whole commands, timed as a user would meet them: one report, a thousand of them at once, one run of two thousand
//! solutions, a class of five thousand benches, and how the cost grows. Figures for people; nothing depends on them.
//!
//! `cargo bench --bench many` makes its run files itself, each with readings of its own.
//!
//! On two cores, 1,000 reports made in one go take 5.8 s and 60 MB. A comparison of 5,000 runs without claims takes 1.8 s and 115 MB,
//! and 3.6 s and 150 MB if every bench claims results that are all wrong, as each is then searched for mistakes. A run of
//! 2,000 solutions is checked in 0.25 s and 125 MB; its report of 564 pages takes 1.1 s and 205 MB. Most of that are the strips
//! and all pages before they are written, which could only be less if each page were written as soon as it is full, with
//! references and the number of pages filled in later. A run of 500 solutions takes 0.25 s and 80 MB.

#![allow(clippy::print_stdout, reason = "its figures are what it is run for")]

mod runs;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use runs::{Digits, run};

/// The last column of the sample class that holds a reading; behind it are results calculated by hand.
const LAST_READING: usize = 20;
/// Runs made at once.
const RUNS: usize = 1000;

fn timed(folder: &Path, arguments: &[&str]) -> Duration {
    let begun = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_fillmark"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("the program can be run");
    let took = begun.elapsed();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    took
}

fn fastest(times: usize, what: impl Fn() -> Duration) -> Duration {
    (0..times).map(|_| what()).min().unwrap_or_default()
}

fn main() {
    // `cargo test --benches` asks for a list, which is empty.
    if std::env::args().any(|argument| argument == "--list") {
        return;
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("many");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    let put = |name: &str, text: &str| std::fs::write(folder.join(name), text).expect("written");

    for dilutions in [3, 10, 30, 100] {
        put("one.yaml", &run(dilutions, 1));
        let took = fastest(10, || {
            timed(&folder, &["report", "one.yaml", "--force", "--quiet"])
        });
        println!(
            "one report of {} solutions: {took:.1?} at best",
            dilutions + 2
        );
    }
    for dilutions in [500, 1000, 1998] {
        put("large.yaml", &run(dilutions, 1));
        let took = fastest(2, || timed(&folder, &["check", "large.yaml", "--quiet"]));
        println!(
            "{} solutions read, reduced and flagged: {took:.2?}",
            dilutions + 2
        );
    }
    let took = timed(&folder, &["report", "large.yaml", "--force", "--quiet"]);
    println!("one report of the last of these: {took:.1?}");
    let names: Vec<String> = (0..RUNS).map(|index| format!("run{index}.yaml")).collect();
    for (seed, name) in names.iter().enumerate() {
        put(name, &run(2 + seed % 7, seed as u64));
    }
    let mut arguments = vec!["report", "--into", "out", "--quiet"];
    arguments.extend(names.iter().map(String::as_str));
    let made = timed(&folder, &arguments);
    println!(
        "{RUNS} reports at once: {made:.1?}, {:.0} each second",
        RUNS as f64 / made.as_secs_f64()
    );
    let left = timed(&folder, &arguments);
    println!("the same again, all left alone: {left:.1?}");
    for (count, claims) in [(1250, false), (2500, false), (5000, false), (5000, true)] {
        class(&folder, count, claims);
        let took = timed(&folder, &["compare", "class.yaml", "--force"]);
        let with = if claims {
            ", every result claimed wrongly"
        } else {
            ""
        };
        println!("comparison of {count} runs{with}: {took:.2?}");
    }
}

/// The sample class with so many benches: the readings of its first one, scattered, with or without what that bench claimed,
/// which is right of none of them.
fn class(folder: &Path, count: usize, claims: bool) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample_runs/class");
    let text = |name: &str| std::fs::read_to_string(sample.join(name)).expect("the sample class");
    let table = text("readings.csv");
    let mut lines = table.lines();
    let (heading, first) = (
        lines.next().unwrap_or_default(),
        lines.next().unwrap_or_default(),
    );
    let mut all = heading.to_owned() + "\n";
    let mut scattered = Digits::of(1);
    for bench in 0..count {
        let mut cell = |(column, cell): (usize, &str)| match cell.parse::<f64>() {
            Ok(_) if column == 0 => bench.to_string(),
            Ok(_) if column > LAST_READING && !claims => String::new(),
            Ok(mass) if cell.len() == 6 => {
                format!("{:.3}", scattered.mass(mass))
            }
            _ => cell.to_owned(),
        };
        let cells: Vec<String> = first.split(',').enumerate().map(&mut cell).collect();
        all += &(cells.join(",") + "\n");
    }
    std::fs::write(folder.join("readings.csv"), all).expect("written");
    std::fs::write(folder.join("class.yaml"), text("class.yaml")).expect("written");
}
