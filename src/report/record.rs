//! What the issues of a report changed, as templates see it.

use serde::Serialize;

use crate::bench::quantity::rounding::signed;
use crate::bench::revision::{EntryChange, FlagAt, Issue, ResultChange};
use crate::bench::runfile::model::Scale;

use super::Material;
use super::words::EntryWords;

/// An issue of the report, and its changes.
#[derive(Debug, Serialize)]
pub(super) struct IssueShown {
    /// Its number.
    number: u32,
    /// The number of the issue before it.
    before: u32,
    /// The entries changed.
    entries: Vec<EntryShown>,
    /// The number of values changed without a reason.
    unexplained: usize,
    /// The results changed.
    results: Vec<ResultShown>,
    /// Those of the unknowns on the calibration's scale.
    answers: Vec<ResultShown>,
    /// Flags no longer raised.
    flags_gone: Vec<String>,
    /// Flags newly raised.
    flags_new: Vec<String>,
}

/// An entry changed by an issue.
#[derive(Debug, Serialize)]
struct EntryShown {
    /// Its name.
    entry: String,
    /// What is read at it, in words; its name where it is no reading.
    of: String,
    /// Its earlier value; a dash if it is new.
    was: String,
    /// Its value now; a dash if it was removed.
    now: String,
    /// The reason; `not explained` if one is wanted and missing.
    why: String,
    /// The person and date; may be empty.
    by: String,
}

/// A result changed by an issue.
#[derive(Debug, Clone, Serialize)]
struct ResultShown {
    /// Name of the solution.
    solution: String,
    /// The result in words.
    of: String,
    /// Its unit.
    unit: String,
    /// The result of the issue before, as printed.
    was: String,
    /// The result of this issue, as printed.
    now: String,
    /// The change over the expanded uncertainty, signed.
    in_uncertainties: String,
}

/// Returns the issues after the first, the latest first.
pub(super) fn show(material: &Material, words: &EntryWords<'_>) -> Vec<IssueShown> {
    let against = material.reduction.against();
    let answer = against.map(Scale::label);
    let unknowns = &material.results.unknowns;
    let flag = |flag: &FlagAt| format!("{} ({})", flag.flag, words.name(&flag.entry));
    let is_answer = |result: &ResultChange| {
        Some(result.of.as_str()) == answer
            && unknowns.iter().any(|(name, _)| *name == result.solution)
    };
    let issues = material.record.issues.iter().rev();
    issues
        .map(|Issue { number, changes }| IssueShown {
            number: *number,
            before: number.saturating_sub(1),
            entries: (changes.entries.iter())
                .map(|change| EntryShown::new(words, change))
                .collect(),
            unexplained: changes.unexplained().count(),
            answers: changes
                .results
                .iter()
                .filter(|result| is_answer(result))
                .map(ResultShown::new)
                .collect(),
            results: changes.results.iter().map(ResultShown::new).collect(),
            flags_gone: changes.flags_gone.iter().map(flag).collect(),
            flags_new: changes.flags_new.iter().map(flag).collect(),
        })
        .collect()
}

impl EntryShown {
    fn new(words: &EntryWords<'_>, change: &EntryChange) -> Self {
        let written = |value: &Option<String>| value.clone().unwrap_or_else(|| "–".into());
        let (why, by) = match &change.reason {
            Some(reason) => (reason.why.clone(), reason.signature()),
            None if change.is_unexplained() => ("not explained".into(), String::new()),
            None if change.was.is_none() => ("new".into(), String::new()),
            None => ("removed".into(), String::new()),
        };
        Self {
            entry: change.entry.clone(),
            of: words.name(&change.entry),
            was: written(&change.was),
            now: written(&change.now),
            why,
            by,
        }
    }
}

impl ResultShown {
    fn new(change: &ResultChange) -> Self {
        Self {
            solution: change.solution.clone(),
            of: change.of.clone(),
            unit: change.unit.clone(),
            was: change.was.clone(),
            now: change.now.clone(),
            in_uncertainties: signed(change.in_uncertainties),
        }
    }
}
