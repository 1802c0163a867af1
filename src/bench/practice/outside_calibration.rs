//! **What:** an unknown's composition lies outside the range of the calibration's points, or its temperature differs from theirs.
//!
//! **Why it matters:** the line is known only between its points; beyond them it is a guess that its uncertainty does
//! not tell of.
//!
//! **Source:** common practice, no source.

use super::{Bench, Flag};
use crate::bench::reduce::SolutionResult;
use crate::bench::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let Some(against) = bench.reduction.against() else {
        return;
    };
    let ws = &bench.reduction.worksheet;
    let unit = against.unit();
    for solution in bench.reduction.unknowns() {
        let (name, entry) = (&solution.name, format!("solutions.{}", solution.name));
        let x = solution.composition.get(against).map(|id| ws.value(id));
        if let Some((x, (low, high))) = x.and_then(|x| Some((x, bench.reduction.beyond(x)?))) {
            let message = format!(
                "{name} is found at {x:.4} {unit}, outside the calibrated range of {low:.4} to {high:.4} {unit}; \
                 the result is extrapolated."
            );
            let reason = "The line is known only between its points; its uncertainty does not cover errors beyond them.";
            flags.push(Flag::new(
                FlagCode::OutsideCalibration,
                entry.as_str(),
                message,
                reason,
            ));
        }
        if let Some(message) = at_another_temperature(bench, solution) {
            let reason = "Density changes with temperature, by about 0.03 % for each °C.";
            flags.push(Flag::new(
                FlagCode::OutsideCalibration,
                entry,
                message,
                reason,
            ));
        }
    }
}

/// Returns an unknown read by the calibration of an earlier report at another temperature, where no published densities
/// bring it there.
fn at_another_temperature(bench: &Bench, solution: &SolutionResult) -> Option<String> {
    /// A temperature difference that a bench thermometer resolves, °C.
    const APART: f64 = 0.5;
    let earlier = bench.reduction.earlier.as_ref().filter(|e| !e.brought)?;
    let ws = &bench.reduction.worksheet;
    let [here, there] =
        [solution.density.as_ref()?.liquid, earlier.temperature].map(|t| ws.value(t));
    let name = &solution.name;
    ((here - there).abs() > APART).then(|| {
        format!(
            "{name} was measured at {here:.1} °C and the calibration at {there:.1} °C, and no published densities are available to correct for the difference."
        )
    })
}
