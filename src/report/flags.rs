//! Flags, as templates see them.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::practice::Flag;
use crate::quantity::rounding::raised;

#[derive(Debug, Serialize)]
pub(super) struct FlagShown {
    code: &'static str,
    entry: String,
    message: String,
    reason: &'static str,
    /// What it may have done to a result; empty where that cannot be told.
    effect: String,
    /// Why it may stand; none where nobody says so.
    acknowledged: Option<AcknowledgedShown>,
}

#[derive(Debug, Serialize)]
struct AcknowledgedShown {
    why: String,
    /// Who says so and when, e.g. `T. Sample, 2026-03-05`; may be empty.
    by: String,
}

impl FlagShown {
    pub(super) fn of(flag: &Flag) -> Self {
        Self {
            code: flag.code.word(),
            entry: flag.entry.clone(),
            message: flag.message.clone(),
            reason: flag.reason,
            effect: flag.effect.clone().unwrap_or_default(),
            acknowledged: flag.acknowledged.as_ref().map(|known| AcknowledgedShown {
                why: known.why.clone(),
                by: [&known.by, &known.on]
                    .into_iter()
                    .flatten()
                    .map(String::as_str)
                    .collect::<Vec<_>>()
                    .join(", "),
            }),
        }
    }
}

/// The numbers of flags, counted from 1 in their order, by the entries at which or within which they are raised.
pub(super) struct Marks(BTreeMap<String, Vec<usize>>);

impl Marks {
    pub(super) fn of<'a>(entries: impl Iterator<Item = &'a str>) -> Self {
        let mut by_entry: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (index, entry) in entries.enumerate() {
            let ends = entry.match_indices('.').map(|(at, _)| at);
            for end in ends.chain([entry.len()]) {
                let within = by_entry.entry(entry[..end].to_owned()).or_default();
                within.push(index + 1);
            }
        }
        Self(by_entry)
    }

    /// The numbers of some entries' flags, raised, each behind a blank at which no line breaks; empty where there are none.
    pub(super) fn at(&self, entries: &[String]) -> String {
        let numbers = entries.iter().filter_map(|entry| self.0.get(entry));
        let marks = numbers
            .flatten()
            .map(|number| format!("\u{202f}{}", raised(number)));
        marks.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Marks;

    #[test]
    fn flags_are_marked_where_they_are_raised() {
        let entries = [
            "solutions.A.made_up.in",
            "weighings.A.1",
            "weighings.A",
            "solutions.AB",
        ];
        let marks = Marks::of(entries.into_iter());
        let at = |entries: &[&str]| {
            let entries: Vec<String> = entries.iter().map(|&entry| entry.to_owned()).collect();
            marks.at(&entries)
        };
        assert_eq!(at(&["solutions.A"]), "\u{202f}¹");
        assert_eq!(
            at(&["weighings.A", "solutions.AB"]),
            "\u{202f}²\u{202f}³\u{202f}⁴"
        );
        assert_eq!(at(&["weighings.A.1"]), "\u{202f}²");
        assert_eq!(at(&["weighings.B"]), "");
    }
}
