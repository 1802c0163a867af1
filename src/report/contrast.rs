//! Why the fit made and the ordinary one differ, told from the case at hand.

use std::collections::BTreeMap;

use crate::bench::fit::Method;
use crate::bench::reduce::{CalibrationResult, Reduction, points_reached, residual_influences};
use crate::bench::worksheet::NodeId;

use super::words::figures;

/// Own errors closer to each other than this ratio count alike.
const ALIKE: f64 = 1.2;
/// A share in the variance below which what points share is not worth telling.
const NOTABLE: f64 = 0.05;
/// A share in the variance above which what points share makes bars and standardised residuals tell different things.
const LEADING: f64 = 0.5;

/// The own errors of the points and the variances of the errors that they share.
struct Errors<'a> {
    /// Standard uncertainty, g/mL, and the solution's name.
    own: Vec<(f64, &'a str)>,
    /// Variance over all points by each source.
    shared: BTreeMap<NodeId, f64>,
}

impl<'a> Errors<'a> {
    fn new(reduction: &'a Reduction, calibration: &CalibrationResult) -> Self {
        let all_covariances = calibration.fitted.method == Method::Generalised;
        let parts = residual_influences(
            &reduction.worksheet,
            &calibration.fitted,
            &calibration.points,
        );
        let points_with = points_reached(&parts);
        let mut own = Vec::new();
        let mut shared: BTreeMap<NodeId, f64> = BTreeMap::new();
        for (parts, point) in parts.iter().zip(&calibration.points) {
            let mut variance = 0.0;
            for (source, part) in parts {
                if all_covariances && points_with.get(source) != Some(&1) {
                    *shared.entry(*source).or_insert(0.0) += part * part;
                } else {
                    variance += part * part;
                }
            }
            own.push((
                variance.sqrt(),
                reduction.solutions[point.solution].name.as_str(),
            ));
        }
        Self { own, shared }
    }

    /// Returns the largest source that points share, and the share of all that they share in the variance; `None` below
    /// [`NOTABLE`].
    fn foremost(&self) -> Option<(NodeId, f64)> {
        let in_common: f64 = self.shared.values().sum();
        let in_all = in_common + self.own.iter().map(|(error, _)| error * error).sum::<f64>();
        let largest = self
            .shared
            .iter()
            .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)))?;
        (in_common > NOTABLE * in_all).then_some((*largest.0, in_common / in_all))
    }
}

/// Returns which errors the points share and what they do to bars and residuals; `None` where bars and residuals tell
/// the same.
pub(super) fn shared_in_words(
    reduction: &Reduction,
    calibration: &CalibrationResult,
) -> Option<String> {
    if calibration.fitted.dof == 0 {
        return None;
    }
    let (source, share) = Errors::new(reduction, calibration).foremost()?;
    (share > LEADING).then(|| {
        format!(
            "The error bars include errors that the points share ({} % of the variance; the largest: {}). Such an error \
             moves all points and the line together, so a standardised residual compares a point with its own, smaller errors: \
             it can be large although the bar reaches the line, and residuals on one side of the line need no other \
             explanation.",
            figures(100.0 * share, 2),
            reduction.worksheet.node(source).name
        )
    })
}

/// Returns one sentence: which points count most and least, and what they share. `None` if every line meets every
/// point.
pub(super) fn in_words(reduction: &Reduction, calibration: &CalibrationResult) -> Option<String> {
    if calibration.fitted.dof == 0 {
        return None;
    }
    let errors = Errors::new(reduction, calibration);
    let own = &errors.own;
    let most = own.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let least = own.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let unit = reduction.worksheet.density_unit.of_difference();
    let shown = |error: f64| match figures(1000.0 * error, 2) {
        _ if error == 0.0 => "none".to_owned(),
        digits => format!("{digits} {unit}"),
    };
    let weights = if least.0 <= ALIKE * most.0 {
        format!(
            "the points have nearly equal weights (own errors {} to {})",
            shown(most.0),
            shown(least.0)
        )
    } else {
        format!(
            "{} has the largest weight (own error {}) and {} the smallest ({})",
            most.1,
            shown(most.0),
            least.1,
            shown(least.0)
        )
    };
    let foremost = errors
        .foremost()
        .map(|(source, _)| {
            format!(
                ", and errors that the points share (the largest: {}) move them together and are not taken for scatter",
                reduction.worksheet.node(source).name
            )
        });
    Some(format!(
        "In this fit, {weights}{}.",
        foremost.unwrap_or_default()
    ))
}
