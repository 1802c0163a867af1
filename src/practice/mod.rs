//! What a careful reader of the readings would point at: one file per flag, named for the fault.
//!
//! A flag never stops a report; it stands in it, with the reason of whoever acknowledged it.

mod beyond_saturation;
mod conditioning;
mod density_off_published;
mod digits_not_shown;
mod last_digit_habit;
mod line_departs;
mod not_mixed;
mod outside_calibration;
mod over_the_mark;
mod readings;
mod slip;
mod spread_unexplained;
mod suspect_weighing;
mod ware_outside_tolerance;

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::problem::Problem;
use crate::quantity::rounding::significant;
use crate::reduce::{Reduction, SolutionResult, results::Results};
use crate::runfile::model::{Acknowledged, FlagCode, RunFile};

/// No warning names more entries than this.
const MOST_SHOWN: usize = 12;

/// Something in the readings or results that asks for a second look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flag {
    /// Its code.
    pub code: FlagCode,
    /// The entry of the run file it concerns.
    pub entry: String,
    /// What is the matter, in a plain sentence or two.
    pub message: String,
    /// Why it matters.
    pub reason: &'static str,
    /// How much it may have done to a result, where that can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub effect: Option<String>,
    /// Why it may stand, where the run file says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acknowledged: Option<Reason>,
}

/// Why a flag may stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// The reason.
    pub why: String,
    /// Who says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The day, `YYYY-MM-DD`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
}

impl Flag {
    fn new(
        code: FlagCode,
        entry: impl Into<String>,
        message: impl Into<String>,
        reason: &'static str,
    ) -> Self {
        Self {
            code,
            entry: entry.into(),
            message: message.into(),
            reason,
            effect: None,
            acknowledged: None,
        }
    }

    fn with_effect(self, effect: impl Into<String>) -> Self {
        Self {
            effect: Some(effect.into()),
            ..self
        }
    }
}

/// What a flag may look at.
struct Bench<'a> {
    run: &'a RunFile,
    reduction: &'a Reduction,
    results: &'a Results,
}

impl Bench<'_> {
    /// Density and its expanded uncertainty at the run's coverage, both g/mL.
    fn density(&self, solution: &SolutionResult) -> Option<(f64, f64)> {
        let (_, stated) = self
            .results
            .solutions
            .iter()
            .chain(&self.results.unknowns)
            .find(|(name, _)| *name == solution.name)?;
        let density = stated.density.as_ref()?;
        Some((density.value, density.expanded_uncertainty))
    }
}

/// All flags of a run, in the order of the checks and of the run's solutions.
pub fn flags(run: &RunFile, reduction: &Reduction, results: &Results) -> Vec<Flag> {
    let bench = Bench {
        run,
        reduction,
        results,
    };
    let mut flags = Vec::new();
    for check in [
        conditioning::check,
        over_the_mark::check,
        not_mixed::check,
        digits_not_shown::check,
        last_digit_habit::check,
        spread_unexplained::check,
        suspect_weighing::check,
        ware_outside_tolerance::check,
        density_off_published::check,
        beyond_saturation::check,
        line_departs::check,
        outside_calibration::check,
    ] {
        check(&bench, &mut flags);
    }
    // The first that means a flag, be it at its entry or everywhere.
    let mut known_at = BTreeMap::new();
    for (index, known) in run.acknowledged.iter().enumerate() {
        known_at.entry(meant(known)).or_insert(index);
    }
    for flag in &mut flags {
        let at = |entry| known_at.get(&(flag.code, entry));
        let first = [at(None), at(Some(flag.entry.as_str()))];
        let known = first.into_iter().flatten().min();
        let known = known.map(|index| &run.acknowledged[*index]);
        flag.acknowledged = known.map(|known| Reason {
            why: known.why.clone(),
            by: known.by.clone(),
            on: known.on.clone(),
        });
    }
    flags
}

/// A warning for every acknowledgement of what is not flagged.
pub fn acknowledged_in_vain(run: &RunFile, flags: &[Flag]) -> Vec<Problem> {
    let mut raised: BTreeMap<FlagCode, Vec<&str>> = BTreeMap::new();
    for flag in flags {
        raised.entry(flag.code).or_default().push(&flag.entry);
    }
    let places: BTreeSet<(FlagCode, &str)> = flags
        .iter()
        .map(|flag| (flag.code, flag.entry.as_str()))
        .collect();
    let vain = |known: &&Acknowledged| match meant(known) {
        (code, None) => !raised.contains_key(&code),
        (code, Some(entry)) => !places.contains(&(code, entry)),
    };
    let warning = |known: &Acknowledged| {
        let word = known.flag.value.word();
        let entry = &known.flag.entry;
        let right = match raised.get(&known.flag.value).map(Vec::as_slice) {
            None => "the acknowledgement taken out".to_owned(),
            Some(entries) => {
                let more = entries.len().saturating_sub(MOST_SHOWN);
                let and_more = if more > 0 {
                    format!(" or at {more} more entries")
                } else {
                    String::new()
                };
                let shown = &entries[..entries.len() - more];
                format!("at: {}{and_more}", shown.join(", or "))
            }
        };
        let place = known.at.as_ref().map_or(entry, |at| &at.entry);
        Problem::warning(
            "nothing-to-acknowledge",
            format!("{word} is acknowledged, but not raised there."),
        )
        .at(place.name.clone(), Some(place.place.clone()))
        .right(right)
    };
    run.acknowledged.iter().filter(vain).map(warning).collect()
}

/// The flag that an acknowledgement means, and the entry if it means only one.
fn meant(known: &Acknowledged) -> (FlagCode, Option<&str>) {
    let at = known.at.as_ref().map(|at| at.value.as_str());
    (known.flag.value, at)
}

/// A size to two significant figures.
fn size(value: f64) -> String {
    significant(value, 2).unwrap_or_default()
}

/// Names in a sentence: `A, B and C`.
fn listed<S: AsRef<str>>(names: &[S]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}
