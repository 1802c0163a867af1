//! Verdicts by limits for templates, and their calculation.

use serde::Serialize;

use crate::bench::quantity::rounding::{probability, significant};
use crate::bench::reduce::Conformity;
use crate::bench::runfile::model::{Limits, Reading};

use super::Material;
use super::derivation::Step;
use super::printed::Printed;
use super::shown::ResultShown;
use super::words::{with_unit, write_plain, write_quantity};

/// Probabilities nearer to 1 or 0 than this are not printed.
const MOST_PRINTED: f64 = 0.9999;

/// A result with its limits and the verdict.
#[derive(Debug, Serialize)]
pub(super) struct LimitShown {
    /// Name of the solution.
    solution: String,
    /// The measure of composition.
    of: &'static str,
    /// The limits, in words.
    limits: String,
    /// The result.
    result: ResultShown,
    /// `within limits`, `outside` or `undecided`.
    verdict: &'static str,
    /// The decision rule, in words, with its guard band.
    rule: String,
    /// The probability of conformity, with %.
    probability: String,
}

/// Limits in words: `18.0 % to 20.0 %`, `at least 18.0 %`.
fn in_words(limits: &Limits) -> String {
    let end = |end: &Reading| write_quantity(&end.value);
    match (&limits.low, &limits.high) {
        (Some(low), Some(high)) => format!("{} to {}", end(low), end(high)),
        (Some(low), None) => format!("at least {}", end(low)),
        (None, Some(high)) => format!("at most {}", end(high)),
        (None, None) => String::new(),
    }
}

/// Returns the verdicts of a run.
pub(super) fn show(material: &Material) -> Vec<LimitShown> {
    let reduction = material.reduction;
    let ws = &reduction.worksheet;
    let all = reduction.conformity.iter().zip(&material.run.limits);
    let shown = all.map(|(judged, limits)| {
        let rule = judged.rule;
        let rule = if judged.guard > 0.0 {
            let guard = significant(judged.guard, 2).unwrap_or_else(|| write_plain(judged.guard));
            let guard = with_unit(&guard, judged.scale.unit().symbol);
            format!("{rule} with a guard band of {guard}")
        } else {
            rule.to_owned()
        };
        LimitShown {
            solution: reduction.solutions[judged.solution].name.clone(),
            of: judged.scale.label(),
            limits: in_words(limits),
            result: ResultShown::new(&material.results.manner.state(ws, judged.result)),
            verdict: judged.verdict.words(),
            rule,
            probability: probability(judged.probability),
        }
    });
    shown.collect()
}

/// Returns the probability of conformity of each result that has limits, with its numbers.
pub(super) fn steps(judged: &[Conformity], printed: Printed) -> Vec<Step> {
    let step = |judged: &Conformity| {
        let ws = printed.ws;
        let symbol = printed.symbol(judged.result);
        let letter = judged.scale.symbol();
        let uncertainty = ws.uncertainty(judged.result);
        let (value, u) = (
            printed.number(ws.value(judged.result) + uncertainty.bias, 5),
            printed.number(uncertainty.standard, 2),
        );
        let below = |limit: f64, name: &str| {
            let limit = printed.number(limit, 4);
            (
                format!(
                    "\\Phi\\left(\\frac{{{letter}_{{\\mathrm{{{name}}}}} - {symbol}}}{{u}}\\right)"
                ),
                format!("\\Phi\\left(\\frac{{{limit} - {value}}}{{{u}}}\\right)"),
            )
        };
        let one = || ("1".to_owned(), "1".to_owned());
        let (mut formula, mut numbers) = judged.high.map_or_else(one, |limit| below(limit, "max"));
        if let Some((symbols, digits)) = judged.low.map(|limit| below(limit, "min")) {
            formula = format!("{formula} - {symbols}");
            numbers = format!("{numbers} - {digits}");
        }
        let p = if judged.probability > MOST_PRINTED {
            format!("> {MOST_PRINTED}")
        } else if judged.probability < 1.0 - MOST_PRINTED {
            format!("< {}", write_plain(1.0 - MOST_PRINTED))
        } else {
            format!("= {}", printed.number(judged.probability, 4))
        };
        let title = format!(
            "probability of conformity of the {}, where Φ is the distribution function of its error in standard uncertainties",
            ws.node(judged.result).name
        );
        Step::chain(
            title,
            format!("P_\\mathrm{{c}} &= {formula} \\\\ &= {numbers} {p}"),
        )
    };
    judged.iter().map(step).collect()
}
