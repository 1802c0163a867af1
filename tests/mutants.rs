//! Run files and tables damaged at random, and run files made at random, always in the same way: none may make the program
//! panic or dwell, and what can be read is reported.
//!
//! `MUTANTS=1000000` in the environment makes so many of each, `MUTANTS_SEED=1` others than without it, and
//! `MUTANTS_REPORTED=1` makes a report of every one that can be read.

use crate::common::{files, good_runs};
use crate::readings_beside::{FROM, TABLE, run_file};
use fillmark::pipeline;
use fillmark::problem::{Problem, Rendering, render};
use fillmark::report::templates::{SHIPPED, Templates};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const SEED: u64 = 0x5eed_0f5a_1713_2026;
const MUTANTS: usize = 10_000;
/// Run files made at random, each with a report.
const MADE: usize = 60;
/// One mutant of so many is made a report of, unless the environment asks for others.
const REPORTED: usize = 101;

/// A small generator (Vigna 2014, `SplitMix64`): the same numbers everywhere.
struct Numbers(u64);

impl Numbers {
    /// From the seed, or from another that the environment asks for.
    fn seeded() -> Self {
        let other: u64 = asked("MUTANTS_SEED").unwrap_or(0);
        let seed = SEED ^ other;
        println!("seed {seed:#x}");
        Self(seed)
    }

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
    let failed = problems.iter().any(Problem::is_error);
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
    let one_of = asked("MUTANTS_REPORTED").unwrap_or(REPORTED);
    if let Some(read) = read.filter(|_| number.is_multiple_of(one_of)) {
        let made = read.report(run, &Templates::default());
        assert!(made.is_ok(), "mutant {number}: {made:?}");
    }
    failed
}

/// Damages each text many times over and hands it on; how many of all were refused.
fn damaged(texts: &[String], mutants: usize, refused: impl Fn(usize, &[u8]) -> bool) {
    let mutants = wanted(mutants);
    let mut numbers = Numbers::seeded();
    let (mut count, mut slowest) = (0, Duration::ZERO);
    for number in 0..mutants {
        let bytes = mutant(&mut numbers, &texts[number % texts.len()]);
        let begun = Instant::now();
        count += usize::from(refused(number, &bytes));
        slowest = slowest.max(begun.elapsed());
    }
    println!("{count} of {mutants} refused, the slowest in {slowest:?}");
    assert!(count > mutants / 2, "the damage is too gentle: {count}");
}

/// How many are made: so many, unless the environment asks for others.
fn wanted(usual: usize) -> usize {
    asked("MUTANTS").unwrap_or(usual)
}

fn asked<T: std::str::FromStr>(variable: &str) -> Option<T> {
    std::env::var(variable).ok()?.parse().ok()
}

impl Numbers {
    /// From 1 to 400, large ones rarely: a report with one costs as much as dozens without.
    fn count(&mut self) -> usize {
        let most = match self.below(100) {
            0 => *self.of(&[130, 400]),
            _ => *self.of(&[1, 2, 4, 12]),
        };
        1 + self.below(most)
    }

    /// A reading near a value, in one of the forms in which one may be written.
    fn reading(&mut self, near: f64, unit: &str) -> String {
        let value = near * (1.0 + (self.below(2001) as f64 - 1000.0) / 1e6);
        let decimals = 2 + self.below(6);
        let number = match self.below(8) {
            0 => format!("{value:.decimals$e}"),
            _ => format!("{value:.decimals$}"),
        };
        match self.below(600) {
            0 => {
                let power = self.below(31) as i32 - 15;
                format!("{number} ± 1e{power} {unit}")
            }
            1..20 => format!("{number} ± 0.{:0>1$}3 {unit}", "", self.below(9)),
            20..40 => format!("{number}({}) {unit}", 1 + self.below(99)),
            _ => format!("{number} {unit}"),
        }
    }

    /// Any of the extreme numbers that a reading may be.
    fn extreme(&mut self, unit: &str) -> String {
        let number = self.of(&[
            "0", "1e-15", "-1e-9", "1e-3", "1e3", "9.99e8", "1e15", "-1e15", "0e15", "0.0e-10",
        ]);
        format!("{number} {unit}")
    }

    /// A reading, now and then an extreme one.
    fn any(&mut self, near: f64, unit: &str) -> String {
        match self.below(2_000) {
            0 => self.extreme(unit),
            _ => self.reading(near, unit),
        }
    }

    fn list(&mut self, items: usize, mut item: impl FnMut(&mut Self) -> String) -> String {
        let items: Vec<String> = (0..items).map(|_| item(self)).collect();
        format!("[{}]", items.join(", "))
    }

    /// A run file as its form wants it, of any length and with any readings.
    fn run_file(&mut self) -> String {
        let liquid = self.any(20.6, "°C");
        let mut text = format!(
            "title: {}\ndate: 2026-03-04\nanalysts: R. Example\nconditions: {{liquid: {liquid}}}\n\
             solute: sodium chloride\napparatus:\n  balance: {{kind: balance, readability: 0.001 g}}\n  \
             pipette: {{kind: pipette, capacity: 10 mL, class: A}}\n  \
             flask: {{kind: flask, capacity: 250 mL, class: A}}\n  barrel: {{kind: cylinder, capacity: 10 L, tolerance: 0.1 L}}\n",
            "brine ".repeat(self.count())
        );
        if self.below(3) == 0 {
            let count = self.count();
            let filled = |numbers: &mut Self| {
                let (empty, filled) = (numbers.reading(31.2, "g"), numbers.any(41.17, "g"));
                format!("{{empty: {empty}, filled: {filled}}}")
            };
            let weighings = self.list(count, filled);
            text += &format!(
                "ware_calibration:\n  pipette: {{liquid: 21.4 °C, weighings: {weighings}}}\n"
            );
        }
        let (before, after) = (self.any(61.27, "g"), self.reading(11.26, "g"));
        text += &format!(
            "solutions:\n  water: {{pure: true}}\n  A:\n    weighed: {{before: {before}, after: {after}}}\n    \
             made_up: {{to: 250 mL, in: flask}}\n"
        );
        let dilutions = 1 + self.below(8);
        for index in 0..dilutions {
            let of = match index.checked_sub(1) {
                Some(last) if self.below(2) == 0 => format!("D{last}"),
                _ => "A".to_owned(),
            };
            let deliveries = self.count();
            text += &format!(
                "  D{index}:\n    aliquot: {{of: {of}, volume: {deliveries} × 10.00 mL, with: pipette}}\n    \
                 made_up: {{to: {} L, in: barrel}}\n",
                4.0 + self.below(7) as f64
            );
        }
        text += "  bath: {unknown: true}\ndensity:\n  pipette: pipette\n  weighings:\n";
        let names = ["water", "A", "bath"].map(str::to_owned).into_iter();
        for name in names.chain((0..dilutions).map(|index| format!("D{index}"))) {
            let count = self.count();
            let weighing = |numbers: &mut Self| {
                let (empty, filled) = (numbers.reading(31.2, "g"), numbers.any(41.4, "g"));
                format!("{{empty: {empty}, filled: {filled}, volume: 10.00 mL}}")
            };
            let weighings = self.list(count, weighing);
            text += &format!("    {name}: {weighings}\n");
        }
        text
    }
}

#[test]
fn what_can_be_read_is_reported() {
    let mut numbers = Numbers::seeded();
    let made = wanted(MADE);
    let sets = SHIPPED.map(|set| Templates::shipped(set.name).expect("the set"));
    let mut reported = 0;
    for number in 0..made {
        let text = numbers.run_file();
        let (read, problems) = pipeline::read("run.yaml", text.as_bytes());
        assert_eq!(
            read.is_none(),
            problems.iter().any(Problem::is_error),
            "{number}: {problems:?}"
        );
        let Some(read) = read else { continue };
        reported += 1;
        let report = read.report(text.as_bytes(), numbers.of(&sets));
        assert!(report.is_ok(), "{number}: {report:?}\n{text}");
    }
    println!("{reported} of {made} reported");
    assert!(reported > made / 10, "hardly any can be read: {reported}");
}

#[test]
fn damaged_files_are_refused_in_peace() {
    let good = good_runs().into_iter().map(|(_, text)| text);
    // What only bad runs have is to be damaged too; the longest of them are long for their own sake.
    let bad = files("tests/bad_runs", "yaml").into_iter();
    let bad = bad.filter_map(|path| std::fs::read_to_string(path).ok());
    let texts: Vec<String> = good.chain(bad.filter(|text| text.len() < 3_000)).collect();
    damaged(&texts, MUTANTS, |number, run| refused(number, run, b""));
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
