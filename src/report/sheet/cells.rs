//! Entries as cells: boxes for the digits that the instrument shows, the unit, what is expected, and what is said of them.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::AllFacts;
use super::values::SheetCell;
use crate::bench::quantity::{Dimension, Unit};
use crate::bench::runfile::unfinished::Part;
use crate::bench::runfile::vocabulary::{Form, KeyInfo, Measure};
use crate::bench::runfile::words;

/// Boxes before the decimal point: for masses up to 999 g, temperatures up to 99 °C, and so on.
fn whole_digits(dimension: Dimension) -> usize {
    match dimension {
        Dimension::Density => 1,
        Dimension::Temperature => 2,
        _ => 3,
    }
}

/// Makes cells, and knows which entries have one.
pub(super) struct Cells<'u> {
    pub(super) facts: &'u AllFacts<'u>,
    pub(super) expected: BTreeMap<String, String>,
    shown: BTreeSet<String>,
}

impl<'u> Cells<'u> {
    pub(super) fn new(facts: &'u AllFacts<'u>, expected: BTreeMap<String, String>) -> Self {
        Self {
            facts,
            expected,
            shown: BTreeSet::new(),
        }
    }

    /// Returns whether an entry has a cell.
    pub(super) fn has(&self, entry: &str) -> bool {
        self.shown.contains(entry)
    }

    /// Returns the cell of an entry.
    pub(super) fn cell(&mut self, part: &Part) -> SheetCell {
        self.shown.insert(part.entry.clone());
        SheetCell {
            entry: part.entry.clone(),
            key: part.key.clone(),
            about: part
                .word
                .map(|word| word.about().to_owned())
                .unwrap_or_default(),
            written: part.written().map(str::to_owned),
            boxes: self.boxes(part),
            said: self.describe(part),
            required: part.blank().is_some_and(|blank| blank.required),
        }
    }

    /// Returns the cells of those parts that are blank.
    pub(super) fn blank<'p>(
        &mut self,
        parts: impl IntoIterator<Item = Option<&'p Part>>,
    ) -> Vec<SheetCell> {
        let blank = parts
            .into_iter()
            .flatten()
            .filter(|part| part.blank().is_some());
        blank.map(|part| self.cell(part)).collect()
    }

    fn boxes(&self, part: &Part) -> String {
        let mut boxes = match part.word.map(KeyInfo::form) {
            Some(Form::Day) => "####-##-##".to_owned(),
            Some(Form::Count(_)) => "##".to_owned(),
            Some(Form::Choice(words)) => format!("… ({})", words.join(", ")),
            Some(_) => self.facts.measure(&part.entry).map_or_else(
                || "…".to_owned(),
                |measure| {
                    let unit = unit_printed(measure);
                    let step = self.facts.step(&part.entry, &measure.unit);
                    match step.map(|step| step.decimals) {
                        None => format!("… {unit}"),
                        Some(decimals) => {
                            let whole = "#".repeat(whole_digits(measure.unit.dimension));
                            let point = if decimals > 0 { "." } else { "" };
                            format!("{whole}{point}{} {unit}", "#".repeat(decimals))
                        }
                    }
                },
            ),
            None => "…".to_owned(),
        };
        if let Some(expected) = self.expected.get(&part.entry) {
            boxes.push_str(" ≈ ");
            boxes.push_str(expected);
        }
        boxes
    }

    /// "Reading of A, weighing 1: the vessel empty, in g."
    fn describe(&self, part: &Part) -> String {
        let word = part.word.map(KeyInfo::about).unwrap_or_default();
        let word = word.split([';', '.']).next().unwrap_or_default().trim();
        let about = self
            .facts
            .get(&part.entry)
            .map_or("", |facts| facts.about.as_str());
        let section = part.entry.split('.').next().unwrap_or_default();
        let of = match (about, part.key.as_str()) {
            ("", _) => word.to_owned(),
            (about, "") => about.to_owned(),
            (about, _) => format!("{about}: {}", small(word)),
        };
        match self.facts.measure(&part.entry) {
            None if matches!(part.word.map(KeyInfo::form), Some(Form::Texts)) => {
                format!("{of}, separated by commas if several")
            }
            None => of,
            Some(measure) => {
                let unit = match unit_printed(measure) {
                    "" => String::new(),
                    unit => format!(", in {unit}"),
                };
                if section == words::APPARATUS.name || section == words::SOLUTE.name {
                    format!("{of}{unit}")
                } else {
                    format!(
                        "reading of {}{unit}",
                        if about.is_empty() { small(&of) } else { of }
                    )
                }
            }
        }
    }
}

/// Returns the unit in which a value is asked for: a ratio in per cent.
pub(super) fn unit_printed(measure: &Measure) -> &'static str {
    if measure.unit == Unit::ONE {
        Unit::PERCENT.symbol
    } else {
        measure.unit.symbol
    }
}

/// With a small first letter.
fn small(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
