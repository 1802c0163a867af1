//! Whole commands, timed as a user would meet them: one report, a thousand of them at once, one run of two thousand
//! solutions, and how the cost grows. Figures for people; nothing depends on them.
//!
//! `cargo bench --bench many` makes its run files itself, each with readings of its own.

#![allow(clippy::print_stdout, reason = "its figures are what it is run for")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

/// Runs made at once.
const RUNS: usize = 1000;

/// Digits that only look random, the same each time.
struct Digits(u64);

impl Digits {
    /// A number from 0 up to `below`.
    fn next(&mut self, below: u64) -> u64 {
        // Knuth, The Art of Computer Programming 2, 3.3.4, line 26 of table 1.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) % below
    }

    /// A mass near `grams`, scattered by up to 3 mg.
    fn mass(&mut self, grams: f64) -> f64 {
        grams + (self.next(7) as f64 - 3.0) / 1000.0
    }
}

/// A run of a stock, so many dilutions of it and an unknown, each weighed three times.
fn run(dilutions: usize, seed: u64) -> String {
    let mut digits = Digits(seed);
    let salt = 50.0 + digits.next(100) as f64 / 10.0;
    let mut text = format!(
        "title: Run {seed}\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {{liquid: 20.4 °C}}\n\
         solute: sodium chloride\n\
         apparatus:\n  balance: {{kind: balance, readability: 0.001 g, repeatability: 0.001 g}}\n  \
         flask: {{kind: flask, capacity: 250 mL, class: A}}\n  pipette: {{kind: pipette, capacity: 10 mL, class: A}}\n\
         practice: {{rinsed: 3, mixed: inverted ten times}}\n\
         solutions:\n  stock:\n    weighed: {{before: {:.3} g, after: 11.262 g}}\n    made_up: {{to: 250 mL, in: flask}}\n",
        11.262 + salt
    );
    let deliveries = |index: usize| 1 + index % 20;
    for index in 0..dilutions {
        let _ = writeln!(
            text,
            "  D{index}:\n    aliquot: {{of: stock, volume: {} × 10.00 mL, with: pipette}}\n    made_up: {{to: 250 mL, in: flask}}",
            deliveries(index)
        );
    }
    text += "  bath: {unknown: true}\ndensity:\n  pipette: pipette\n  weighings:\n";
    let mut weigh = |name: &str, gamma: f64| {
        let _ = writeln!(text, "    {name}:");
        // Near enough to the published density of a brine of that strength.
        let density = 0.9981 + gamma * (0.692e-3 - gamma * 1.0e-7);
        for _ in 0..3 {
            let empty = digits.mass(31.2);
            let filled = digits.mass(empty + 10.0 * density);
            let _ = writeln!(
                text,
                "      - {{empty: {empty:.3} g, filled: {filled:.3} g, volume: 10.00 mL}}"
            );
        }
    };
    let stock = 4.0 * salt;
    weigh("stock", stock);
    for index in 0..dilutions {
        weigh(
            &format!("D{index}"),
            stock * deliveries(index) as f64 / 25.0,
        );
    }
    weigh("bath", stock * 0.45);
    text
}

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
}
