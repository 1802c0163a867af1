//! What differs between two states of a run: entry by entry, result by result, flag by flag.
//!
//! Entries go by their names in the run file, not by lines. A changed entry is explained by a correction of the later run
//! file that names it and tells what it was and what it is now; the record of corrections itself is no change, and neither is
//! the mark of a draft.

mod record;

pub use record::{Issue, Record, Source};

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::bench::reduce::results::{Results, SolutionStated, Stated};
use crate::bench::runfile::{
    CORRECTIONS, DRAFT, are_written_alike,
    model::{Reason, RunFile},
};
use crate::problem::{Code, Problem};

/// A change of a result by less than this share of its expanded uncertainty, with the same digits, is none.
const NO_CHANGE: f64 = 1e-9;

/// A run as it stood.
#[derive(Debug, Clone)]
pub struct State<'a> {
    /// What its run file says.
    pub run: &'a RunFile,
    /// Its results.
    pub results: &'a Results,
    /// Its flags.
    pub flags: BTreeSet<FlagAt>,
}

/// What differs.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Changes {
    /// Entries, in the order of the later run file, then those taken out.
    pub entries: Vec<EntryChange>,
    /// Results that both have and that differ.
    pub results: Vec<ResultChange>,
    /// Flags that are no longer raised.
    pub flags_gone: Vec<FlagAt>,
    /// Flags that were not raised before.
    pub flags_new: Vec<FlagAt>,
}

/// An entry that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EntryChange {
    /// Its name.
    pub entry: String,
    /// What it was, as written; `None` if it is new.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was: Option<String>,
    /// What it is, as written; `None` if it was taken out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<String>,
    /// Why it was changed, where a correction tells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<Reason>,
}

impl EntryChange {
    /// Returns whether a value was replaced without a reason.
    pub fn is_unexplained(&self) -> bool {
        self.was.is_some() && self.now.is_some() && self.reason.is_none()
    }
}

/// A result that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ResultChange {
    /// Whose it is.
    pub solution: String,
    /// What it is, e.g. `mass percent`.
    pub of: String,
    /// Its unit.
    pub unit: String,
    /// What it was, with its expanded uncertainty, as printed.
    pub was: String,
    /// What it is, with its expanded uncertainty, as printed.
    pub now: String,
    /// By how much it changed, in `unit`.
    pub change: f64,
    /// The change over the expanded uncertainty of what it is now; a pure number.
    pub in_uncertainties: f64,
}

/// A flag and where it is raised.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct FlagAt {
    /// Its code.
    pub flag: String,
    /// The entry.
    pub entry: String,
}

impl Changes {
    /// Returns what the later state has other than the earlier one.
    pub fn between(was: &State<'_>, now: &State<'_>) -> Self {
        Self {
            entries: entries(was.run, now.run),
            results: results(was.results, now.results),
            flags_gone: was.flags.difference(&now.flags).cloned().collect(),
            flags_new: now.flags.difference(&was.flags).cloned().collect(),
        }
    }

    /// Returns whether nothing differs.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Returns all its texts.
    fn texts(&mut self) -> impl Iterator<Item = &mut String> {
        let entries = self.entries.iter_mut().flat_map(|entry| {
            let reason = entry.reason.as_mut().map(|reason| {
                let others = reason.by.iter_mut().chain(&mut reason.on);
                std::iter::once(&mut reason.why).chain(others)
            });
            let values = entry.was.iter_mut().chain(&mut entry.now);
            let values = values.chain(reason.into_iter().flatten());
            std::iter::once(&mut entry.entry).chain(values)
        });
        let results = self.results.iter_mut().flat_map(|result| {
            let ResultChange {
                solution,
                of,
                unit,
                was,
                now,
                ..
            } = result;
            [solution, of, unit, was, now]
        });
        let flags = self.flags_gone.iter_mut().chain(&mut self.flags_new);
        let flags = flags.flat_map(|flag| [&mut flag.flag, &mut flag.entry]);
        entries.chain(results).chain(flags)
    }

    /// Values replaced without a reason.
    pub fn unexplained(&self) -> impl Iterator<Item = &EntryChange> {
        self.entries.iter().filter(|entry| entry.is_unexplained())
    }
}

fn entries(was: &RunFile, now: &RunFile) -> Vec<EntryChange> {
    fn values(run: &RunFile) -> BTreeMap<&str, &str> {
        let each = run.entries.iter();
        let each = each.map(|e| (&*e.entry.name, &*e.value));
        each.filter(|(name, _)| !is_about_the_report(name))
            .collect()
    }
    let (before, after) = (values(was), values(now));
    let mut changes = Vec::new();
    for entry in now.entries.iter().map(|e| &*e.entry.name) {
        let Some(&value) = after.get(entry) else {
            continue;
        };
        let old = before.get(entry).copied();
        if old.is_some_and(|old| are_written_alike(old, value)) {
            continue;
        }
        let reason = old.and_then(|old| reason(now, entry, old, value));
        changes.push(EntryChange {
            entry: entry.to_owned(),
            was: old.map(str::to_owned),
            now: Some(value.to_owned()),
            reason,
        });
    }
    for entry in was.entries.iter().map(|e| &*e.entry.name) {
        if let (Some(&old), None) = (before.get(entry), after.get(entry)) {
            changes.push(EntryChange {
                entry: entry.to_owned(),
                was: Some(old.to_owned()),
                now: None,
                reason: None,
            });
        }
    }
    changes
}

/// Returns whether an entry belongs to the record of corrections or marks a draft.
fn is_about_the_report(entry: &str) -> bool {
    let rest = entry.strip_prefix(CORRECTIONS);
    entry == DRAFT || rest.is_some_and(|rest| rest.starts_with('.'))
}

/// Returns the reason that the corrections of a run file give for a change: that of the last of those that lead, one
/// after the other, from the old value of an entry to its new one. Corrections may go on from there.
fn reason(now: &RunFile, entry: &str, old: &str, new: &str) -> Option<Reason> {
    let (mut value, mut given) = (old, None);
    for correction in now.corrections.iter().filter(|c| c.entry.value == entry) {
        if are_written_alike(&correction.was.value, value) {
            value = &correction.now.value;
            if are_written_alike(value, new) {
                given = Some(correction);
            }
        }
    }
    Some(given?.reason.clone())
}

/// Returns a warning for every correction of a changed entry that tells otherwise what it was.
pub fn corrections_otherwise(was: &RunFile, now: &RunFile) -> Vec<Problem> {
    let mut problems = Vec::new();
    for change in entries(was, now).iter().filter(|c| c.is_unexplained()) {
        let told = now
            .corrections
            .iter()
            .rfind(|correction| correction.entry.value == change.entry);
        let (Some(told), Some(old)) = (told, &change.was) else {
            continue;
        };
        if are_written_alike(&told.was.value, old) {
            continue;
        }
        problems.push(
            Code::CorrectionWasOtherwise.warning(format!(
                    "The old value in the correction of {} differs from that in the earlier report or run file.",
                    change.entry
                ))
            .at_entry(&told.was.entry)
            .read(told.was.value.as_str())
            .right(old.as_str()),
        );
    }
    problems
}

/// Returns a warning for every value replaced that no correction tells of.
pub fn changes_not_explained(was: &RunFile, now: &RunFile) -> Vec<Problem> {
    let recorded = |change: &EntryChange| {
        let mut all = now.corrections.iter();
        all.any(|correction| correction.entry.value == change.entry)
    };
    let changes = entries(was, now).into_iter();
    changes
        .filter(|change| change.is_unexplained() && !recorded(change))
        .map(|change| {
            let place = now.entries.iter().find(|e| e.entry.name == change.entry);
            let (was, now) = (
                change.was.unwrap_or_default(),
                change.now.unwrap_or_default(),
            );
            Code::ChangeNotExplained
                .warning(format!(
                    "{} was changed, but no correction says why.",
                    change.entry
                ))
                .at(
                    change.entry.clone(),
                    place.map(|entry| entry.entry.span.clone()),
                )
                .read(now.clone())
                .right(format!(
                    "under corrections: {{entry: {}, was: {was}, now: {now}, why: …}}",
                    change.entry
                ))
        })
        .collect()
}

fn results(was: &Results, now: &Results) -> Vec<ResultChange> {
    let before: BTreeMap<_, _> = stated_results(was).collect();
    let mut changes = Vec::new();
    for ((solution, of), now) in stated_results(now) {
        let Some(was) = before.get(&(solution, of)) else {
            continue;
        };
        let by = now.value - was.value;
        let alike = by.abs() <= NO_CHANGE * now.expanded_uncertainty;
        if alike && was.shown == now.shown {
            continue;
        }
        changes.push(ResultChange {
            solution: solution.to_owned(),
            of: of.to_owned(),
            unit: now.shown_in.unit.symbol.to_owned(),
            was: was.in_report(now.shown_in),
            now: now.in_report(now.shown_in),
            change: now.shown_in.scaled(by),
            in_uncertainties: if now.expanded_uncertainty > 0.0 {
                by / now.expanded_uncertainty
            } else {
                0.0
            },
        });
    }
    changes
}

/// Returns every result that is compared, by the name of its solution and of what it is; the unknowns come first.
pub fn stated_results(results: &Results) -> impl Iterator<Item = ((&str, &'static str), &Stated)> {
    let all = results.unknowns.iter().chain(&results.solutions);
    all.flat_map(|(name, solution)| {
        let each = stated(solution).into_iter();
        each.filter_map(move |(of, stated)| Some(((name.as_str(), of), stated?)))
    })
}

/// Returns the results of a solution by what they are.
fn stated(solution: &SolutionStated) -> [(&'static str, Option<&Stated>); 5] {
    let c = &solution.composition;
    [
        ("mass percent", c.mass_percent.as_ref()),
        ("mass concentration", c.mass_concentration.as_ref()),
        ("amount concentration", c.molarity.as_ref()),
        ("molality", c.molality.as_ref()),
        ("density", solution.density.as_ref()),
    ]
}
