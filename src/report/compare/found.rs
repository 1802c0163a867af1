//! What a comparison keeps of a run.

use serde::Serialize;
use time::Date;

use crate::bench::claims::Judged;
use crate::bench::practice::class::Traces;
use crate::bench::practice::{Candidate, Flag};
use crate::bench::quantity::rounding::Rounded;
use crate::bench::reduce::Reduction;
use crate::bench::reduce::results::{Results, SolutionStated, Stated};
use crate::bench::runfile::model::{Points, RunFile, Scale};
use crate::problem::Problem;
use crate::report::words::EntryWords;

/// Significant digits of uncertainties and standard deviations.
pub(super) const DIGITS: u32 = 2;
/// Milligrams in a gram.
pub(super) const MG: f64 = 1e3;

/// A run.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// The bench, or the run file without its ending.
    pub name: String,
    /// Who did the work; empty where the run could not be read.
    pub analysts: String,
    /// The day of the work.
    #[serde(skip)]
    pub date: Option<Date>,
    /// Its results; absent if the run has errors.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<Findings>,
    /// The first of its errors, and where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub problem: Option<String>,
}

/// What a run found.
#[derive(Debug, Clone, Serialize)]
pub struct Findings {
    /// The liquids whose density was measured.
    pub liquids: Vec<Liquid>,
    /// Its unknowns.
    pub answers: Vec<Answer>,
    /// Its flags that are not acknowledged, in words.
    pub flags: Vec<String>,
    /// The slips that would explain them: one of them happened, or none.
    pub slips: Vec<String>,
    /// Results calculated by hand, judged.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub claims: Vec<Judged>,
    /// What it hands to its class.
    #[serde(skip)]
    pub traces: Traces,
    /// Why it stands apart from its class; `None` if it does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub apart: Option<Apart>,
}

/// A liquid whose density was measured.
#[derive(Debug, Clone, Serialize)]
pub struct Liquid {
    /// Its name.
    pub name: String,
    /// Its density, g/mL.
    pub density: Measured,
    /// Measured less published density at its own composition, mg/mL; `None` for an unknown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub departure: Option<Measured>,
    /// The densities of the weighings used, less what is published where that is known, mg/mL.
    #[serde(skip)]
    pub repeats: Vec<f64>,
}

/// The composition of an unknown, on the scale of the calibration.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    /// The unknown.
    pub name: String,
    /// The scale it was found on.
    #[serde(skip)]
    pub scale: Scale,
    /// The quantity found, such as `mass percent`.
    pub quantity: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What was found.
    pub measured: Measured,
    /// Its lower and upper limit, in the same unit, where the run file states them.
    #[serde(skip)]
    pub limits: [Option<f64>; 2],
    /// The known composition, in the same unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub known: Option<Measured>,
}

/// A value with its uncertainties.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Its expanded uncertainty.
    pub expanded_uncertainty: f64,
    /// As a report prints it.
    pub shown: String,
}

impl Measured {
    /// Of a stated result.
    pub fn from_stated(stated: &Stated) -> Self {
        Self {
            value: stated.value,
            standard_uncertainty: stated.standard_uncertainty,
            expanded_uncertainty: stated.expanded_uncertainty,
            shown: stated.shown.clone(),
        }
    }

    /// Returns the same in a unit that is smaller by a factor.
    fn times(self, factor: f64) -> Self {
        Self {
            value: factor * self.value,
            standard_uncertainty: factor * self.standard_uncertainty,
            expanded_uncertainty: factor * self.expanded_uncertainty,
            shown: String::new(),
        }
    }
}

/// Slips of a run in words.
pub fn slips_in_words(run: &RunFile, reduction: &Reduction, slips: &[Candidate]) -> Vec<String> {
    let words = EntryWords::new(run, reduction);
    slips.iter().map(|slip| words.slip(slip)).collect()
}

/// Returns a value with its expanded uncertainty in the two digits of that: without a power of ten, so that one far off
/// can be compared with the others.
pub fn with_uncertainty(value: f64, expanded: f64) -> String {
    let Some(rounded) = Rounded::new(value, expanded, DIGITS) else {
        return value.to_string();
    };
    let uncertainty = rounded.uncertainty().unwrap_or_default();
    format!("{} ± {uncertainty}", rounded.value())
}

/// Why a bench stands apart from its class.
#[derive(Debug, Clone, Serialize)]
pub struct Apart {
    /// The liquid that is off, or from which those were taken that are.
    pub liquid: String,
    /// What is off, in words.
    pub words: String,
    /// The same in standard deviations of the class, once the errors that the readings of a bench share are taken out.
    pub deviations: f64,
    /// The slips that would explain it in the class: one of them happened, or none.
    pub slips: Vec<String>,
}

impl Row {
    /// Gives its claimed results points.
    pub fn earn(&mut self, points: &Points) {
        if let Some(found) = &mut self.found {
            let claims = std::mem::take(&mut found.claims).into_iter();
            found.claims = claims.map(|judged| judged.with_points(points)).collect();
        }
    }

    /// Of a run that has errors.
    pub fn wrong(name: String, problems: &[Problem]) -> Self {
        let first = problems.iter().find(|problem| problem.is_error());
        let first = first.or(problems.first());
        let told = first.map(|problem| match &problem.span {
            Some(span) => {
                let headline = problem.headline.trim_end_matches('.');
                format!("{headline} ({}, line {}).", span.file, span.line)
            }
            None => problem.headline.clone(),
        });
        Self {
            name,
            analysts: String::new(),
            date: None,
            found: None,
            problem: Some(told.unwrap_or_default()),
        }
    }

    /// Of a run that was reduced.
    pub fn new(
        name: String,
        run: &RunFile,
        reduction: &Reduction,
        results: &Results,
        flags: &[Flag],
        claims: &[Judged],
    ) -> Self {
        let open = || flags.iter().filter(|flag| flag.acknowledged.is_none());
        let slips = open().flat_map(|flag| &flag.candidates);
        let words = EntryWords::new(run, reduction);
        let found = Findings {
            liquids: liquids(reduction, results),
            answers: answers(reduction, results),
            flags: open()
                .map(|flag| {
                    let fault = flag.code.word().replace('-', " ");
                    format!("{fault} ({})", words.name(&flag.entry))
                })
                .collect(),
            slips: slips.map(|slip| words.slip(slip)).collect(),
            claims: claims.to_vec(),
            traces: Traces::new(run, reduction, results),
            apart: None,
        };
        Self {
            name,
            analysts: run.analysts.join(", "),
            date: Some(run.date.value),
            found: Some(found),
            problem: None,
        }
    }
}

fn liquids(reduction: &Reduction, results: &Results) -> Vec<Liquid> {
    let ws = &reduction.worksheet;
    let mut liquids = Vec::new();
    for solution in &reduction.solutions {
        let Some(density) = &solution.density else {
            continue;
        };
        let of_name = |(name, _): &&(String, _)| *name == solution.name;
        let compared = results.comparison.iter().find(of_name);
        let compared = compared.map(|(_, compared)| compared);
        let published = compared.map_or(0.0, |compared| compared.published.value);
        let used = density.replicates.iter();
        let used = used.filter(|replicate| replicate.left_out.is_none());
        let all = results.solutions.iter().chain(&results.unknowns);
        let mut all = all.filter(|(name, _)| *name == solution.name);
        let Some(stated) = all.find_map(|(_, solution)| solution.density.as_ref()) else {
            continue;
        };
        liquids.push(Liquid {
            name: solution.name.clone(),
            density: Measured::from_stated(stated),
            departure: compared
                .map(|compared| Measured::from_stated(&compared.difference).times(MG)),
            repeats: used
                .map(|replicate| MG * (ws.value(replicate.density) - published))
                .collect(),
        });
    }
    liquids
}

fn answers(reduction: &Reduction, results: &Results) -> Vec<Answer> {
    let Some(scale) = reduction.against() else {
        return Vec::new();
    };
    let answer = |(name, solution): &(String, SolutionStated)| {
        let stated = solution.composition.on(scale)?;
        let known = solution
            .known
            .iter()
            .find(|known| known.quantity == scale.key());
        let limits = solution.limits.iter();
        let mut limits = limits.filter(|limits| limits.quantity == scale.key());
        Some(Answer {
            name: name.clone(),
            limits: limits
                .next()
                .map_or([None; 2], |limits| [limits.low, limits.high]),
            scale,
            quantity: scale.label(),
            unit: stated.unit,
            measured: Measured::from_stated(stated),
            known: known.map(|known| Measured::from_stated(&known.known)),
        })
    };
    results.unknowns.iter().filter_map(answer).collect()
}

#[cfg(test)]
mod tests {
    use super::with_uncertainty;

    #[test]
    fn results_have_no_power_of_ten() {
        assert_eq!(with_uncertainty(-34.0, 367.0), "−30 ± 370");
        assert_eq!(with_uncertainty(5.02, 0.301), "5.02 ± 0.30");
    }
}
