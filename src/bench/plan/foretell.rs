//! The results that a run of a series will have, found by the reduction that makes reports.

use super::bench::{Bench, gamma};
use super::series::{Series, run_text};
use super::weighing::Weighing;
use crate::bench::reduce::results::{Results, SolutionStated, Stated};
use crate::bench::reduce::{Reduction, reduce};
use crate::bench::runfile;
use crate::bench::runfile::planned_run::Readings;
use crate::problem::Problem;

/// Where in the range expected the unknown is taken to be: at its ends and in its middle.
pub(super) const WITHIN: [f64; 3] = [0.0, 0.5, 1.0];

/// The results that a run will have.
#[derive(Debug)]
pub(super) struct Foretold {
    /// The strengths of the unknown on the scale expected, weakest first, each with what is found.
    pub(super) unknown: Vec<(f64, Stated)>,
    /// Results of the solutions by name, with the unknown in the middle of its range.
    pub(super) solutions: Vec<(String, SolutionStated)>,
    /// The same run, reduced.
    pub(super) middle: Reduction,
}

impl Foretold {
    /// Returns the largest expanded uncertainty of the unknown, on the scale expected.
    pub(super) fn answer(&self) -> f64 {
        let each = self.unknown.iter();
        each.map(|(_, stated)| stated.expanded_uncertainty)
            .fold(0.0, f64::max)
    }
}

/// Returns an uncertainty in the two digits that are printed.
pub(super) fn printed(uncertainty: f64) -> f64 {
    format!("{uncertainty:.1e}").parse().unwrap_or(uncertainty)
}

/// Returns the strength of the unknown at a place of its range, on the scale expected.
pub(super) fn strength_within(bench: &Bench, part: f64) -> f64 {
    let expected = &bench.plan.expected;
    let [low, high] =
        [&expected.low, &expected.high].map(|end| expected.scale.in_unit(end.value.value));
    low + part * (high - low)
}

/// Returns one run, reduced: its results, the unknown's apart.
pub(super) fn reduced(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
    part: f64,
) -> Result<(Reduction, Results, Stated), Vec<Problem>> {
    let scale = bench.plan.expected.scale;
    let unknown = gamma(&bench.shape, scale, strength_within(bench, part)).unwrap_or(f64::NAN);
    let text = run_text(bench, series, weighing, unknown, Readings::Expected).unwrap_or_default();
    let (run, problems) = runfile::read(&bench.plan.file, text.as_bytes());
    let run = run.ok_or(problems)?;
    let reduction = reduce(&run)?;
    let results = Results::new(&run, &reduction);
    let found = results.unknowns.first();
    let answer = found.and_then(|(_, unknown)| unknown.composition.on(scale).cloned());
    match answer {
        Some(answer) => Ok((reduction, results, answer)),
        None => Err(Vec::new()),
    }
}

/// Foretells the results of a run of a series.
///
/// # Errors
/// The problems that the reduction finds in the run file made for it.
pub(super) fn foretell(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
) -> Result<Foretold, Vec<Problem>> {
    let mut unknown = Vec::new();
    let mut middle = None;
    for part in WITHIN {
        let (reduction, results, answer) = reduced(bench, series, weighing, part)?;
        unknown.push((strength_within(bench, part), answer));
        if (part - 0.5).abs() < f64::EPSILON {
            middle = Some((reduction, results));
        }
    }
    let (middle, results) = middle.ok_or_else(Vec::new)?;
    Ok(Foretold {
        unknown,
        solutions: results.solutions,
        middle,
    })
}
