//! Lines of a run file to fill in, each key explained in the words that the reader has for it.

use super::apparatus::word;
use super::model::ApparatusKind;
use super::vocabulary::{Form, KeyInfo};
use super::words;
use std::collections::BTreeSet;

/// Returns what a key means, with the unit meant where none is written.
fn explained(key: &'static dyn KeyInfo) -> String {
    match key.form() {
        Form::Measure(measure) | Form::Deliveries(measure) => {
            let about = key.about().trim_end_matches('.');
            format!("{about}, in {}.", measure.unit.symbol)
        }
        _ => key.help(),
    }
}

/// Lines, each with a comment or none.
#[derive(Default)]
pub(super) struct Lines {
    lines: Vec<(String, String)>,
    explained: BTreeSet<String>,
}

impl Lines {
    /// A line. What was explained once at such a place is not explained again.
    pub(super) fn line(&mut self, depth: usize, text: &str, comment: &str) {
        let line = format!("{}{text}", "  ".repeat(depth));
        let new = self.explained.insert(format!("{line} {comment}"));
        let comment = if new { comment } else { "" };
        self.lines.push((line, comment.to_owned()));
    }

    /// An empty line.
    pub(super) fn part(&mut self) {
        self.line(0, "", "");
    }

    /// A key to be filled.
    pub(super) fn ask(&mut self, depth: usize, key: &'static dyn KeyInfo) {
        self.fill(depth, key, None);
    }

    /// A key with its value, where it is known already.
    pub(super) fn fill(&mut self, depth: usize, key: &'static dyn KeyInfo, value: Option<&str>) {
        let space = if value.is_some() { " " } else { "" };
        let line = format!("{}:{space}{}", key.name(), value.unwrap_or_default());
        self.line(depth, &line, &explained(key));
    }

    /// A key that may be filled.
    pub(super) fn ask_optional(&mut self, depth: usize, key: &'static dyn KeyInfo) {
        let comment = format!("Optional. {}", explained(key));
        self.line(depth, &format!("{}:", key.name()), &comment);
    }

    /// A key that needs no filling.
    pub(super) fn give(&mut self, depth: usize, key: &'static dyn KeyInfo, value: &str) {
        self.line(depth, &format!("{}: {value}", key.name()), key.about());
    }

    /// A key whose section follows.
    pub(super) fn open(&mut self, depth: usize, key: &'static dyn KeyInfo) {
        self.line(depth, &format!("{}:", key.name()), key.about());
    }

    /// The keys of the rows that follow.
    pub(super) fn explain(&mut self, depth: usize, keys: &[&'static dyn KeyInfo]) {
        for key in keys {
            let comment = format!("# {}: {}", key.name(), explained(*key));
            self.line(depth, &comment, "");
        }
    }

    pub(super) fn item(&mut self, name: &str, kind: ApparatusKind) {
        self.line(1, &format!("{name}:"), "");
        self.line(2, &format!("{}: {}", words::KIND.name, word(kind)), "");
    }

    pub(super) fn ware(&mut self, name: &str, kind: ApparatusKind, capacity: Option<&str>) {
        self.item(name, kind);
        self.fill(2, &words::CAPACITY, capacity);
        self.ask(2, &words::CLASS);
    }

    pub(super) fn made_up(&mut self, vessel: &str, volume: Option<&str>) {
        self.open(2, &words::MADE_UP);
        self.fill(3, &words::TO, volume);
        self.give(3, &words::IN, vessel);
    }

    /// Returns the lines, comments in one column.
    pub(super) fn text(&self) -> String {
        let width = self
            .lines
            .iter()
            .filter(|(_, comment)| !comment.is_empty())
            .map(|(line, _)| line.chars().count())
            .max()
            .unwrap_or(0);
        let line = |(line, comment): &(String, String)| match comment.as_str() {
            "" => format!("{line}\n"),
            comment => format!("{line:width$}  # {comment}\n"),
        };
        self.lines.iter().map(line).collect()
    }
}
