//! Conformity of results with limits: verdicts and probabilities.
//!
//! JCGM 106:2012, *Evaluation of measurement data — The role of measurement uncertainty in conformity assessment*: the
//! probability of conformity is the probability that the quantity lies within its tolerance limits, given the result
//! (clause 7). Simple acceptance decides by the result alone (8.2). A guard band keeps the decision away from the limits
//! (8.3); a result within it is undecided here.

use serde::Serialize;

use crate::bench::runfile::model::{Limits, Reading, Rule, RunFile, Scale};
use crate::bench::worksheet::{NodeId, Worksheet};
use crate::problem::{Code, Problem};

use super::SolutionResult;
use super::coverage::{expanded, probability_below};

/// The verdict on a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conforms {
    /// Within the limits by at least the guard band.
    Within,
    /// Outside the limits by more than the guard band.
    Outside,
    /// Closer to a limit than the guard band, on either side.
    Undecided,
}

impl Conforms {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Within => "within limits",
            Self::Outside => "outside",
            Self::Undecided => "undecided",
        }
    }
}

/// A result with its limits, in the unit of its scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Conformity {
    /// The solution, an index into the run's.
    pub solution: usize,
    /// The measure of composition.
    pub scale: Scale,
    /// The result.
    pub result: NodeId,
    /// The lower limit, if there is one.
    pub low: Option<f64>,
    /// The upper limit, if there is one.
    pub high: Option<f64>,
    /// The guard band, zero for simple acceptance.
    pub guard: f64,
    /// The decision rule, in words.
    pub rule: &'static str,
    /// Probability that the quantity lies within the limits.
    pub probability: f64,
    /// The verdict.
    pub verdict: Conforms,
}

/// Judges the solutions that have limits. Adds a problem for each whose composition is not known.
pub(super) fn judge(
    ws: &Worksheet,
    run: &RunFile,
    solutions: &[SolutionResult],
    problems: &mut Vec<Problem>,
) -> Vec<Conformity> {
    let mut all = Vec::new();
    for limits in &run.limits {
        let solution = &solutions[limits.solution.value];
        match solution.composition.get(limits.scale) {
            Some(result) => all.push(of_result(ws, limits, result, run.report.coverage)),
            None => problems.push(without_result(limits, &solution.name)),
        }
    }
    all
}

/// Returns the problem of a solution whose composition on a scale is not known.
fn without_result(limits: &Limits, name: &str) -> Problem {
    let scale = limits.scale.label();
    let entry = &limits.entry;
    Code::NoComposition
        .error(format!(
            "Limits are set for the {scale} of {name}, which is not known."
        ))
        .at_entry(entry)
        .right("limits on a scale on which the composition can be calculated from the measurements")
}

fn of_result(ws: &Worksheet, limits: &Limits, result: NodeId, coverage: f64) -> Conformity {
    let in_unit = |reading: &Reading| limits.scale.in_unit(reading.value.value);
    let end = |end: &Option<Reading>| end.as_ref().map(in_unit);
    let (low, high) = (end(&limits.low), end(&limits.high));
    let uncertainty = ws.uncertainty(result);
    let (guard, rule) = match &limits.rule {
        Rule::Simple => (0.0, "simple acceptance"),
        Rule::Guarded => (expanded(uncertainty, coverage), "guarded acceptance"),
        Rule::GuardBand(guard) => (in_unit(guard), "guarded acceptance"),
    };
    let value = ws.value(result);
    let below = |x: f64| probability_below(uncertainty, coverage, x - value);
    let probability = high.map_or(1.0, below) - low.map_or(0.0, below);
    Conformity {
        solution: limits.solution.value,
        scale: limits.scale,
        result,
        low,
        high,
        guard,
        rule,
        probability: probability.clamp(0.0, 1.0),
        verdict: decide(value, (low, high), guard),
    }
}

/// Returns the verdict on a value; limits and guard band in its unit.
fn decide(value: f64, (low, high): (Option<f64>, Option<f64>), guard: f64) -> Conforms {
    let low = low.unwrap_or(f64::NEG_INFINITY);
    let high = high.unwrap_or(f64::INFINITY);
    if value >= low + guard && value <= high - guard {
        Conforms::Within
    } else if value < low - guard || value > high + guard {
        Conforms::Outside
    } else {
        Conforms::Undecided
    }
}

/// A result with its limits, for output.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConformityStated {
    /// `mass_percent` or `mass_concentration`.
    pub quantity: &'static str,
    /// The same, in words.
    #[serde(skip)]
    pub label: &'static str,
    /// Unit of the limits, in plain characters.
    pub unit: &'static str,
    /// The lower limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// The upper limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// `simple acceptance` or `guarded acceptance` (JCGM 106:2012, 8.2 and 8.3).
    pub rule: &'static str,
    /// The guard band, zero for simple acceptance.
    pub guard_band: f64,
    /// `within limits`, `outside` or `undecided`.
    pub verdict: &'static str,
    /// Probability that the quantity lies within the limits (JCGM 106:2012, clause 7).
    pub probability_of_conformity: f64,
}

impl ConformityStated {
    pub(super) fn new(conformity: &Conformity) -> Self {
        Self {
            quantity: conformity.scale.key(),
            label: conformity.scale.label(),
            unit: conformity.scale.unit().symbol,
            low: conformity.low,
            high: conformity.high,
            rule: conformity.rule,
            guard_band: conformity.guard,
            verdict: conformity.verdict.words(),
            probability_of_conformity: conformity.probability,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decisions_by_the_guard_band() {
        let between = (Some(18.0), Some(20.0));
        for (value, guard, verdict) in [
            (18.0, 0.0, Conforms::Within),
            (17.999, 0.0, Conforms::Outside),
            (18.2, 0.3, Conforms::Undecided),
            (18.3, 0.3, Conforms::Within),
            (17.8, 0.3, Conforms::Undecided),
            (17.69, 0.3, Conforms::Outside),
            (20.31, 0.3, Conforms::Outside),
        ] {
            assert_eq!(
                decide(value, between, guard),
                verdict,
                "{value} with {guard}"
            );
        }
        assert_eq!(
            decide(30.0, (Some(18.0), None), 0.5),
            Conforms::Within,
            "at least"
        );
        assert_eq!(
            decide(19.7, (None, Some(20.0)), 0.5),
            Conforms::Undecided,
            "at most"
        );
    }
}
