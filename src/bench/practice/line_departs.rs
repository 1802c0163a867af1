//! **What:** the calibration's points do not lie on the fitted line or curve, or not on the one asked for: χ² is larger than
//! their uncertainties explain, or the residuals follow a pattern.
//!
//! **Why it matters:** the composition found from such a line is in error by more than its stated uncertainty; density
//! is not exactly straight in any scale of composition.
//!
//! **Source:** χ² test of ISO/TS 28037:2010, 6.3; t tests of orthogonal components of the residuals; together at
//! [`REFUSAL_LEVEL`].

use super::{Bench, Flag};
use crate::bench::fit::Model;
use crate::bench::reduce::{Agreement, REFUSAL_LEVEL};
use crate::bench::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let Some(calibration) = &bench.reduction.calibration else {
        return;
    };
    let asked_for = bench.reduction.refused_line.as_ref();
    let refused = asked_for.unwrap_or(calibration);
    if !refused.agreement.is_refused() {
        return;
    }
    let shape = match refused.fitted.model {
        Model::Straight => "a straight line",
        Model::Quadratic => "a curve of second degree",
    };
    let mut message = vec![format!(
        "The points do not lie on {shape}: {} (level {} %).",
        findings(&refused.agreement).join("; "),
        100.0 * REFUSAL_LEVEL
    )];
    message.push(match (asked_for, refused.fitted.model) {
        (Some(_), _) => "The results rely on a curve instead (`line: curve`).".into(),
        (None, Model::Straight) => "No curve fits them either.".into(),
        (None, Model::Quadratic) => {
            "A solution may have been prepared wrongly, or the stated uncertainties may be too small.".into()
        }
    });
    let reason = match asked_for {
        Some(_) => {
            "Compositions found from the line asked for are in error by more than their stated uncertainty."
        }
        None => {
            "Compositions found from this calibration are in error by more than their stated uncertainty."
        }
    };
    flags.push(Flag::new(
        FlagCode::LineDeparts,
        "calibration",
        message.join(" "),
        reason,
    ));
}

/// Returns the tests that refuse a fit, with their numbers.
fn findings(agreement: &Agreement) -> Vec<String> {
    let chi_squared = agreement
        .chi_squared_test()
        .filter(|test| !test.has_passed());
    let chi_squared =
        chi_squared.map(|test| format!("χ² = {:.3} (limit {:.3})", test.observed, test.limit));
    let patterns = agreement
        .pattern_tests()
        .filter(|(_, test)| !test.has_passed());
    let patterns = patterns.map(|(course, test)| {
        format!(
            "the residuals {} (by {:.2} standard uncertainties; limit {:.2})",
            course.in_words(),
            test.observed,
            test.limit
        )
    });
    chi_squared.into_iter().chain(patterns).collect()
}
