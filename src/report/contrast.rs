//! Why the fit made and the ordinary one differ, told from the case at hand.

use std::collections::BTreeMap;

use crate::fit::Method;
use crate::reduce::{CalibrationResult, Reduction, points_reached, residual_influences};
use crate::worksheet::NodeId;

use super::words::figures;

/// Own errors closer to each other than this ratio count alike.
const ALIKE: f64 = 1.2;
/// A share in the variance below which what points share is not worth telling.
const NOTABLE: f64 = 0.05;

/// One sentence: which points count most and least, and what they share. None where every line meets every point.
pub(super) fn in_words(reduction: &Reduction, calibration: &CalibrationResult) -> Option<String> {
    if calibration.fitted.dof == 0 {
        return None;
    }
    let ws = &reduction.worksheet;
    let all_covariances = calibration.fitted.method == Method::Generalised;
    let parts = residual_influences(ws, &calibration.fitted, &calibration.points);
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
    let most = own.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let least = own.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let shown = |error: f64| match figures(1000.0 * error, 2) {
        _ if error == 0.0 => "none".to_owned(),
        digits => format!("{digits} mg/mL"),
    };
    let weights = if least.0 <= ALIKE * most.0 {
        format!(
            "the points count nearly alike, own errors being {} to {}",
            shown(most.0),
            shown(least.0)
        )
    } else {
        format!(
            "{} counts most (own error {}) and {} least ({})",
            most.1,
            shown(most.0),
            least.1,
            shown(least.0)
        )
    };
    let in_common: f64 = shared.values().sum();
    let in_all = in_common + own.iter().map(|(error, _)| error * error).sum::<f64>();
    let foremost = shared
        .iter()
        .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)))
        .filter(|_| in_common > NOTABLE * in_all)
        .map(|(source, _)| {
            format!(
                ", and what points share (most of all: {}) moves them together, so that it is not taken for scatter",
                ws.node(*source).name
            )
        });
    Some(format!("Here {weights}{}.", foremost.unwrap_or_default()))
}
