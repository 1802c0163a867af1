//! What a careful reader of the readings would point at: one file per flag, named for the fault.
//!
//! A flag never stops a report; it stands in it, with the reason of whoever acknowledged it.

mod beyond_saturation;
mod conditioning;
mod density_off_published;
mod digits_not_shown;
mod last_digit_habit;
mod line_departs;
mod liquid_temperature;
mod not_mixed;
mod outside_calibration;
mod over_the_mark;
mod readings;
mod slip;
mod spread_unexplained;
mod suspect_weighing;
mod ware_outside_tolerance;

use serde::Serialize;

use crate::problem::Problem;
use crate::quantity::rounding::significant;
use crate::reduce::{Reduction, SolutionResult, results::Results};
use crate::runfile::model::{Acknowledged, FlagCode, RunFile};

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
        liquid_temperature::check,
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
    for flag in &mut flags {
        let known = run.acknowledged.iter().find(|known| means(known, flag));
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
    let vain = |known: &&Acknowledged| !flags.iter().any(|flag| means(known, flag));
    let warning = |known: &Acknowledged| {
        let word = known.flag.value.word();
        let entry = &known.flag.entry;
        let raised: Vec<&str> = flags
            .iter()
            .filter(|flag| flag.code == known.flag.value)
            .map(|flag| flag.entry.as_str())
            .collect();
        let right = if raised.is_empty() {
            "the acknowledgement taken out".to_owned()
        } else {
            format!("at: {}", raised.join(", or "))
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

fn means(known: &Acknowledged, flag: &Flag) -> bool {
    known.flag.value == flag.code && known.at.as_ref().is_none_or(|at| at.value == flag.entry)
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
