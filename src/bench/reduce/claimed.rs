//! What claimed results are compared with: the same quantities of this reduction.

use crate::bench::runfile::model::{Claim, Ref, RunFile, Step};
use crate::bench::worksheet::NodeId;
use crate::problem::{Code, Problem};

use super::{CalibrationResult, Preparation, SolutionResult};

/// What a claimed result is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// A quantity of the worksheet.
    Quantity(NodeId),
    /// A coefficient of the straight line of density against composition, by its power.
    Coefficient(usize),
}

/// Returns the targets of all claimed results, in their order. Adds a problem for each result that this run does not
/// have.
pub(super) fn targets(
    run: &RunFile,
    solutions: &[SolutionResult],
    calibration: Option<&CalibrationResult>,
    problems: &mut Vec<Problem>,
) -> Vec<Target> {
    let mut targets = Vec::with_capacity(run.claimed.len());
    for claim in &run.claimed {
        match target(claim, solutions, calibration) {
            Some(target) => targets.push(target),
            None => problems.push(not_calculated(claim, solutions)),
        }
    }
    targets
}

fn target(
    claim: &Claim,
    solutions: &[SolutionResult],
    calibration: Option<&CalibrationResult>,
) -> Option<Target> {
    let solution = |of: &Ref| &solutions[of.value];
    let quantity = match &claim.of {
        Step::SaltMass(of) => match solution(of).preparation {
            Preparation::MadeUp { mass, .. } | Preparation::ByMass { mass, .. } => Some(mass),
            _ => None,
        },
        Step::Density(of) => solution(of).density.as_ref().map(|density| density.density),
        Step::SingleDensity(of, number) => {
            let replicates = &solution(of).density.as_ref()?.replicates;
            replicates.get(number - 1).map(|single| single.density)
        }
        Step::Composition(of, scale) => solution(of).composition.get(*scale),
        Step::Intercept => return calibration.map(|_| Target::Coefficient(0)),
        Step::Slope => return calibration.map(|_| Target::Coefficient(1)),
    };
    quantity.map(Target::Quantity)
}

/// Returns the problem of a claimed result that this run does not have.
fn not_calculated(claim: &Claim, solutions: &[SolutionResult]) -> Problem {
    let name = |of: &Ref| &solutions[of.value].name;
    let (what, needs) = match &claim.of {
        Step::SaltMass(of) => (
            format!("mass of salt in {}", name(of)),
            "a solution whose salt was weighed",
        ),
        Step::Density(of) => (
            format!("density of {}", name(of)),
            "weighings or readings of it",
        ),
        Step::SingleDensity(of, number) => (
            format!("density of {}, weighing {number}", name(of)),
            "the number of one of its weighings or readings",
        ),
        Step::Composition(of, scale) => (
            format!("{} of {}", scale.label(), name(of)),
            "its density, and its preparation or a calibration",
        ),
        Step::Intercept => (
            "intercept".to_owned(),
            "a calibration with solutions of this run",
        ),
        Step::Slope => (
            "slope".to_owned(),
            "a calibration with solutions of this run",
        ),
    };
    let entry = &claim.value.entry;
    Code::ClaimNotCalculated
        .error(format!("The claimed {what} does not follow from this run."))
        .at_entry(entry)
        .right(format!("{needs}, or no such claim"))
}
