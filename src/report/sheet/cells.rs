//! Entries as cells: boxes for the digits that the instrument shows, the unit, what is expected, and what is said of them.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::AllFacts;
use super::values::SheetCell;
use crate::bench::quantity::{Dimension, Unit};
use crate::bench::runfile::model::DensityMethod;
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
        let word = part.word.map(KeyInfo::about).unwrap_or_default();
        let about = match self.whose(part) {
            "" => word.to_owned(),
            whose => format!("{whose}: {}", small(word)),
        };
        SheetCell {
            entry: part.entry.clone(),
            key: part.key.clone(),
            about,
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

    /// Returns the solution, weighing or apparatus that an entry is about, in words; empty for the run as a whole.
    fn whose(&self, part: &Part) -> &str {
        let facts = self.facts.get(&part.entry);
        facts.map_or("", |facts| facts.about.as_str())
    }

    /// "Reading of A, weighing 1: the vessel empty, in g."
    fn describe(&self, part: &Part) -> String {
        let word = first_clause(part.word.map(KeyInfo::about).unwrap_or_default());
        let about = self.whose(part);
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
                if is_read(section) {
                    format!(
                        "reading of {}{unit}",
                        if about.is_empty() { small(&of) } else { of }
                    )
                } else {
                    format!("{of}{unit}")
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

/// Returns whether what stands in a section is read at the bench.
fn is_read(section: &str) -> bool {
    let sections = [
        words::CONDITIONS.name,
        words::SOLUTIONS.name,
        words::WARE_CALIBRATION.name,
    ];
    let mut methods = DensityMethod::ALL.into_iter();
    sections.contains(&section) || methods.any(|method| method.name() == section)
}

/// Returns what an explanation says first, without examples.
fn first_clause(text: &str) -> &str {
    let ends = [";", ". ", ", such as"].map(|mark| text.find(mark));
    let end = ends.into_iter().flatten().min().unwrap_or(text.len());
    text[..end].trim_end_matches('.')
}

/// With a small first letter.
fn small(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
