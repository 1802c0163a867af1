//! The Monte Carlo check of a run's main results (JCGM 101:2008, clause 8).

use std::num::NonZeroUsize;

use serde::Serialize;

use crate::bench::quantity::ShownIn;
use crate::bench::quantity::rounding::{Rounded, to_place};
use crate::bench::runfile::model::{RunFile, Scale};
use crate::bench::worksheet::{Interval, NodeId, Plan, Simulated, Validation};

use super::results::{Manner, Results};
use super::{Reduction, SolutionResult};

/// The seed of every check, so that a report made again is the same: the number of the standard.
const SEED: u64 = 101;

/// A Monte Carlo check as it is told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MonteCarloStated {
    /// Draws done.
    pub draws: usize,
    /// Seed of the generator.
    pub seed: u64,
    /// What was checked, solution by solution in the order of the run file.
    pub results: Vec<CheckStated>,
}

/// The check of one result; values in its unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckStated {
    /// The solution.
    pub name: String,
    /// `density`, `mass_percent`, `mass_concentration`, `molarity` or `molality`.
    pub quantity: &'static str,
    /// Unit in plain characters.
    pub unit: &'static str,
    /// Mean of the draws; absent where it does not exist.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean: Option<f64>,
    /// Standard deviation of the draws; absent where it does not exist.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_deviation: Option<f64>,
    /// Lower end of the probabilistically symmetric coverage interval.
    pub low: f64,
    /// Upper end of it.
    pub high: f64,
    /// Ends of the shortest coverage interval.
    pub shortest: [f64; 2],
    /// Ends of the first-order interval, value ± expanded uncertainty.
    pub first_order: [f64; 2],
    /// Numerical tolerance of the comparison: half of the second significant digit of the standard uncertainty.
    pub tolerance: f64,
    /// Whether both ends of the first-order interval lie within the tolerance of the symmetric one's.
    pub validated: bool,
    /// Whether more draws are unlikely to change that.
    pub settled: bool,
    /// Whether twice the standard deviations of the ends are within a fifth of the tolerance.
    pub enough_draws: bool,
    /// Draws in which the result had no value; absent for none.
    #[serde(skip_serializing_if = "is_zero")]
    pub undefined: usize,
    /// Standard uncertainty by first order, for the digits that intervals are shown with.
    #[serde(skip)]
    pub standard_uncertainty: f64,
    /// The unit that the report shows it in.
    #[serde(skip)]
    pub shown_in: ShownIn,
}

impl CheckStated {
    /// Returns the last place of a value in a check: the second of the standard uncertainty, as the tolerance is.
    pub fn last_place(&self, value: f64) -> i32 {
        Rounded::new(value, self.standard_uncertainty, 2).map_or(0, |rounded| rounded.last_place())
    }

    /// Returns a value in the digits of a check.
    fn round(&self, value: f64) -> String {
        to_place(value, self.last_place(value)).unwrap_or_else(|| value.to_string())
    }

    /// Returns the ends of the interval by Monte Carlo, with as much left out below as above.
    pub fn interval(&self) -> [String; 2] {
        [self.low, self.high].map(|end| self.round(end))
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands over a reference"
)]
fn is_zero(count: &usize) -> bool {
    *count == 0
}

impl MonteCarloStated {
    /// Checks every density, every mass percent, and every unknown's composition on the calibration's scale.
    ///
    /// `threads`: as many as there are processors where none are named. The numbers do not depend on it.
    pub fn check(
        run: &RunFile,
        reduction: &Reduction,
        results: &Results,
        draws: usize,
        threads: Option<NonZeroUsize>,
    ) -> Self {
        let wanted: Vec<(&SolutionResult, &'static str, NodeId)> = reduction
            .solutions
            .iter()
            .flat_map(|solution| {
                checked(reduction, solution)
                    .into_iter()
                    .map(move |(what, id)| (solution, what, id))
            })
            .collect();
        let ids: Vec<NodeId> = wanted.iter().map(|(_, _, id)| *id).collect();
        let plan = Plan {
            draws,
            seed: SEED,
            coverage: run.report.coverage,
            threads,
        };
        let simulated = reduction.worksheet.monte_carlo(&ids, &plan);
        let stated = wanted.into_iter().zip(&simulated);
        Self {
            draws: simulated.first().map_or(0, |s| s.draws),
            seed: SEED,
            results: stated
                .map(|((solution, what, id), s)| {
                    state(reduction, &results.manner, solution, what, id, s)
                })
                .collect(),
        }
    }
}

impl MonteCarloStated {
    /// Puts the Monte Carlo interval in place of the first-order one in every unknown's composition on the calibration's
    /// scale that the check does not confirm. A result that is not always defined has no such interval.
    pub fn replace_unconfirmed(&self, against: Scale, results: &mut Results) {
        let unconfirmed = |check: &&CheckStated| {
            let finite = check.low.is_finite() && check.high.is_finite();
            !check.validated && check.undefined == 0 && finite
        };
        for (name, solution) in &mut results.unknowns {
            let of = |c: &&CheckStated| c.name == *name && c.quantity == against.key();
            let check = self.results.iter().filter(of).find(unconfirmed);
            if let Some((stated, check)) = solution.composition.on_mut(against).as_mut().zip(check)
            {
                stated.rely_on([check.low, check.high], |value| check.round(value));
            }
        }
    }
}

/// Returns the results of a solution that are checked, with their names in the results file. What has no uncertainty,
/// such as the composition of water, needs no check.
fn checked(reduction: &Reduction, solution: &SolutionResult) -> Vec<(&'static str, NodeId)> {
    let against = reduction.against();
    let headline = against.filter(|_| solution.is_unknown());
    let density = solution.density.as_ref().map(|d| ("density", d.density));
    let on = |scale: Scale| Some((scale.key(), solution.composition.get(scale)?));
    let percent = on(Scale::MassPercent);
    let headline = headline
        .filter(|scale| *scale != Scale::MassPercent)
        .and_then(on);
    let uncertain =
        |(_, id): &(&'static str, NodeId)| reduction.worksheet.uncertainty(*id).standard > 0.0;
    [density, headline, percent]
        .into_iter()
        .flatten()
        .filter(uncertain)
        .collect()
}

fn state(
    reduction: &Reduction,
    manner: &Manner,
    solution: &SolutionResult,
    quantity: &'static str,
    id: NodeId,
    simulated: &Simulated,
) -> CheckStated {
    let stated = manner.state(&reduction.worksheet, id);
    let (value, u, expanded) = (
        stated.value,
        stated.standard_uncertainty,
        stated.expanded_uncertainty,
    );
    let validation = Validation::compare(value, u, expanded, simulated);
    let ends = |interval: Interval| [interval.low, interval.high];
    CheckStated {
        name: solution.name.clone(),
        quantity,
        unit: stated.unit,
        mean: simulated.mean,
        standard_deviation: simulated.standard_deviation,
        low: simulated.symmetric.low,
        high: simulated.symmetric.high,
        shortest: ends(simulated.shortest),
        first_order: [value - expanded, value + expanded],
        tolerance: validation.tolerance,
        validated: validation.validated && simulated.undefined == 0,
        settled: validation.settled,
        enough_draws: validation.enough_draws,
        undefined: simulated.undefined,
        standard_uncertainty: u,
        shown_in: stated.shown_in,
    }
}
