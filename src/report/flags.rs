//! Flags, as templates see them.

use std::collections::BTreeMap;

use serde::Serialize;

use super::words::EntryWords;
use crate::bench::practice::{Candidate, Flag};
use crate::print::manuscript::letters;

/// A flag: something that deserves a second look.
#[derive(Debug, Serialize)]
pub(super) struct FlagShown {
    /// Its code.
    code: &'static str,
    /// The entry of the run file that it concerns.
    entry: String,
    /// The same in words.
    subject: String,
    /// The finding; backticks mark text to be typed.
    message: String,
    /// Why it matters.
    reason: &'static str,
    /// Its possible effect on a result; may be empty.
    effect: String,
    /// Slips that would explain it, the most likely first; the message names them too.
    candidates: Vec<Candidate>,
    /// The acknowledgement, if there is one.
    acknowledged: Option<AcknowledgedShown>,
}

/// The acknowledgement of a flag.
#[derive(Debug, Serialize)]
struct AcknowledgedShown {
    /// The reason.
    why: String,
    /// The person and date, e.g. `T. Sample, 2026-03-05`; may be empty.
    by: String,
}

impl FlagShown {
    pub(super) fn new(flag: &Flag, words: &EntryWords<'_>) -> Self {
        Self {
            code: flag.code.word(),
            entry: flag.entry.clone(),
            subject: words.name(&flag.entry),
            message: flag.message.naming(|entry| words.bracketed(entry)),
            reason: flag.reason,
            effect: flag.effect.clone().unwrap_or_default(),
            candidates: flag.candidates.clone(),
            acknowledged: flag.acknowledged.as_ref().map(|known| AcknowledgedShown {
                why: known.why.clone(),
                by: known.signature(),
            }),
        }
    }
}

/// A reference to a flag.
#[derive(Debug, Serialize)]
pub(super) struct Mark {
    /// The position of the flag in `flags`, from 1.
    number: usize,
    /// The same as a letter: a, b and so on; after z, aa.
    letter: String,
}

/// The numbers of flags, counted from 1 in their order, by the entries at which or within which they are raised.
pub(super) struct Marks(BTreeMap<String, Vec<usize>>);

impl Marks {
    pub(super) fn new<'a>(entries: impl Iterator<Item = &'a str>) -> Self {
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

    /// Returns the numbers of some entries' flags.
    pub(super) fn at(&self, entries: &[String]) -> Vec<Mark> {
        let numbers = entries.iter().filter_map(|entry| self.0.get(entry));
        let marks = numbers.flatten().map(|&number| Mark {
            number,
            letter: letters(number),
        });
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
        let marks = Marks::new(entries.into_iter());
        let at = |entries: &[&str]| {
            let entries: Vec<String> = entries.iter().map(|&entry| entry.to_owned()).collect();
            let marks = marks.at(&entries).into_iter();
            marks.map(|mark| mark.letter).collect::<String>()
        };
        assert_eq!(at(&["solutions.A"]), "a");
        assert_eq!(at(&["weighings.A", "solutions.AB"]), "bcd");
        assert_eq!(at(&["weighings.A.1"]), "b");
        assert_eq!(at(&["weighings.B"]), "");
    }
}
