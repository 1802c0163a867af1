//! The salt or water that brings solutions to the strengths wanted, for templates.

use serde::Serialize;

use super::Material;
use super::shown::ResultShown;
use super::words::write_quantity;

/// The salt or water that brings a solution to another strength.
#[derive(Debug, Serialize)]
pub(super) struct AdjustmentShown {
    /// Name of the solution.
    solution: String,
    /// The target mass percent, with %.
    to: String,
    /// The volume of the solution, with its unit.
    volume: String,
    /// Its mass, kg.
    mass: ResultShown,
    /// `salt` or `water`.
    add: &'static str,
    /// The amount of it, kg.
    amount: ResultShown,
    /// The volume of the water, L.
    litres: Option<ResultShown>,
    /// Whether the strength found agrees with the target within its uncertainty.
    within_uncertainty: bool,
}

/// Returns the adjustments of a run.
pub(super) fn show(material: &Material) -> Vec<AdjustmentShown> {
    let reduction = material.reduction;
    let ws = &reduction.worksheet;
    let show = |id| ResultShown::new(&material.results.manner.state(ws, id));
    let all = reduction.adjustments.iter().zip(&material.run.adjustments);
    let shown = all.map(|(found, wanted)| {
        let amount = material.results.manner.state(ws, found.amount);
        AdjustmentShown {
            solution: reduction.solutions[found.solution].name.clone(),
            to: write_quantity(&wanted.to.value),
            volume: write_quantity(&wanted.volume.value),
            mass: show(found.mass),
            add: found.adding.words(),
            within_uncertainty: amount.value <= amount.expanded_uncertainty,
            amount: ResultShown::new(&amount),
            litres: found.litres.map(show),
        }
    });
    shown.collect()
}
