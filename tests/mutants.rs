//! Run files and tables damaged at random, always in the same way: none may make the program panic or dwell.

use crate::common::good_runs;
use crate::readings_beside::{FROM, TABLE, run_file};
use fillmark::cli::pipeline;
use fillmark::problem::{Rendering, render};
use fillmark::report::templates::Templates;
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const SEED: u64 = 0x5eed_0f5a_1713_2026;
const MUTANTS: usize = 24_000;
/// One mutant of so many is made a report of.
const REPORTED: usize = 101;

/// A small generator (Vigna 2014, `SplitMix64`): the same numbers everywhere.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }

    fn of<'t, T>(&mut self, items: &'t [T]) -> &'t T {
        &items[self.below(items.len())]
    }
}

const TOKENS: &[&str] = &[
    "",
    "~",
    "null",
    "[",
    "]",
    "{",
    "}",
    ": ",
    "- ",
    "&a ",
    "*a",
    "<<: *a",
    "!x ",
    "\"",
    "'",
    "|",
    ">",
    "%",
    "@",
    "#",
    "\t",
    "\u{feff}",
    "\r",
    "\n",
    "\0",
    "\u{2028}",
    "0",
    "-1",
    "0x10",
    "1e400",
    "1e-400",
    "nan",
    ".inf",
    "1,5",
    "5 mL",
    "5 g",
    "± 0",
    "± 1e308 g",
    "(9)",
    "9999999999999999999999",
    "99999999 × 1 mL",
    "2 × ",
    "×",
    "true",
    "none",
    "water",
    "A",
    "bath 3",
    "---\n",
    "...",
    "? ",
    "é",
    "\u{202e}",
    "\u{ff15}",
    "1e9 g",
    "1e-300 g",
    "2026-02-30",
    "from: readings.csv",
    ",",
    ";",
    "\"\"",
    "solution",
    "left_out",
];

fn mutant(numbers: &mut Numbers, text: &str) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=numbers.below(3) {
        match numbers.below(7) {
            0 => {
                let at = numbers.below(bytes.len());
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = numbers.next() as u8;
                }
            }
            1 => {
                let at = numbers.below(bytes.len());
                let end = (at + 1 + numbers.below(20)).min(bytes.len());
                bytes.drain(at..end);
            }
            2 => {
                let at = numbers.below(bytes.len() + 1);
                bytes.splice(at..at, numbers.of(TOKENS).bytes());
            }
            3 => bytes.truncate(numbers.below(bytes.len() + 1)),
            kind => bytes = lines_or_words(numbers, &bytes, kind),
        }
    }
    bytes
}

fn lines_or_words(numbers: &mut Numbers, bytes: &[u8], kind: usize) -> Vec<u8> {
    let separator = if kind == 4 { b'\n' } else { b' ' };
    let mut parts: Vec<&[u8]> = bytes.split(|byte| *byte == separator).collect();
    let (a, b) = (numbers.below(parts.len()), numbers.below(parts.len()));
    match numbers.below(4) {
        0 => parts.swap(a, b),
        1 => parts.insert(a, parts[b]),
        2 => parts[a] = numbers.of(TOKENS).as_bytes(),
        _ => {
            parts.remove(a);
        }
    }
    parts.join(&separator)
}

/// Reads a run file with a table beside it, reduces it where it can be, and shows every problem; whether it is refused.
fn refused(number: usize, run: &[u8], table: &[u8]) -> bool {
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.to_vec())]);
    let (read, problems, sources) = pipeline::read_beside("mutant.yaml", run, &beside);
    let failed = pipeline::any_error(&problems);
    assert_eq!(read.is_none(), failed, "mutant {number}: {problems:?}");
    for problem in &problems {
        let text = render(problem, &sources, Rendering { colour: false });
        assert!(
            text.len() < 20_000,
            "mutant {number}: a message of {} bytes",
            text.len()
        );
    }
    // A report takes its time, so only some of those that can be made are.
    if let Some(read) = read.filter(|_| number.is_multiple_of(REPORTED)) {
        let made = read.report(run, &Templates::default());
        assert!(made.is_ok(), "mutant {number}: {made:?}");
    }
    failed
}

/// Damages each text many times over and hands it on; how many of all were refused.
fn damaged(texts: &[String], mutants: usize, refused: impl Fn(usize, &[u8]) -> bool) {
    println!("seed {SEED:#x}");
    let mut numbers = Numbers(SEED);
    let (mut count, mut slowest) = (0, Duration::ZERO);
    for number in 0..mutants {
        let bytes = mutant(&mut numbers, &texts[number % texts.len()]);
        let begun = Instant::now();
        count += usize::from(refused(number, &bytes));
        slowest = slowest.max(begun.elapsed());
    }
    println!("{count} of {mutants} refused, the slowest in {slowest:?}");
    assert!(count > mutants / 2, "the damage is too gentle: {count}");
    assert!(slowest < Duration::from_secs(5), "one took {slowest:?}");
}

#[test]
fn damaged_files_are_refused_in_peace() {
    let good: Vec<String> = good_runs().into_iter().map(|(_, text)| text).collect();
    damaged(&good, MUTANTS, |number, run| refused(number, run, b""));
}

#[test]
fn damaged_tables_are_refused_in_peace() {
    let table = TABLE.to_owned();
    let tables = [table.replace(',', ";"), table.replace(',', "\t"), table];
    let run = run_file(FROM);
    damaged(&tables, MUTANTS, |number, table| {
        refused(number, run.as_bytes(), table)
    });
}
