//! **What:** an unknown's composition lies outside the range of the calibration's points.
//!
//! **Why it matters:** the line is known only between its points; beyond them it is a guess that its uncertainty does
//! not tell of.
//!
//! **Source:** common practice, no source.

use super::{Bench, Flag};
use crate::reduce::{Preparation, composition};
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let Some(calibration) = &bench.reduction.calibration else {
        return;
    };
    let ws = &bench.reduction.worksheet;
    let (low, high) = calibration.range(ws);
    for solution in bench
        .reduction
        .solutions
        .iter()
        .filter(|s| s.preparation == Preparation::Unknown)
    {
        let Some(x) = solution
            .composition
            .on(calibration.against)
            .map(|id| ws.value(id))
        else {
            continue;
        };
        if !calibration.extrapolates(ws, x) {
            continue;
        }
        let unit = composition::unit(calibration.against);
        flags.push(Flag::new(FlagCode::OutsideCalibration, format!("solutions.{}", solution.name), format!(
                "{} is read back as {x:.4} {unit}, outside the calibrated range of {low:.4} to {high:.4} {unit}; \
                 the result is extrapolated.",
                solution.name
            ), "The line is known only between its points; its uncertainty does not cover errors beyond them."));
    }
}
