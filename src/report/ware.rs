//! Ware calibrated at the bench, for its table.

use serde::Serialize;

use crate::reduce::{Verdict, WareResult};
use crate::reference::air;
use crate::worksheet::Source;

use super::Material;
use super::densities::single;
use super::values::{ResultShown, celsius};
use super::words::{digits, figures, plain, with_unit};

/// A piece of ware, calibrated.
#[derive(Debug, Serialize)]
pub(super) struct WareShown {
    name: String,
    used: usize,
    /// Temperature of the water, °C.
    liquid: String,
    weighings: Vec<WareWeighingShown>,
    volume: ResultShown,
    departure: ResultShown,
    /// Standard deviation of the weighings used.
    spread: Option<String>,
    /// Limit by tolerance or class.
    tolerance: Option<String>,
    /// Where the departure lies against it.
    verdict: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct WareWeighingShown {
    number: usize,
    empty: String,
    filled: String,
    volume: String,
    left_out: Option<String>,
}

pub(super) fn shown(material: &Material) -> Vec<WareShown> {
    let Material { run, reduction, .. } = *material;
    let ws = &reduction.worksheet;
    run.ware_calibrations
        .iter()
        .filter_map(|written| {
            let index = written.ware.value;
            let found = reduction.ware.iter().find(|w| w.ware == index)?;
            let weighings = written
                .weighings
                .iter()
                .zip(&found.weighings)
                .enumerate()
                .map(|(i, (read, reduced))| WareWeighingShown {
                    number: i + 1,
                    empty: digits(&read.empty.value),
                    filled: digits(&read.filled.value),
                    volume: single(ws, reduced.volume),
                    left_out: reduced.left_out.clone(),
                });
            let departure = material.results.manner.state(ws, found.departure);
            Some(WareShown {
                name: run.apparatus[index].name.value.clone(),
                used: found.used,
                liquid: celsius(ws, found.liquid),
                weighings: weighings.collect(),
                volume: ResultShown::of(&material.results.manner.state(ws, found.volume)),
                spread: found.standard_deviation.map(|sd| figures(sd, 2)),
                tolerance: found.tolerance.map(plain),
                verdict: found
                    .verdict(ws, departure.expanded_uncertainty)
                    .map(Verdict::word),
                departure: ResultShown::of(&departure),
            })
        })
        .collect()
}

/// The air that weighings of water were corrected by.
pub(super) fn air(material: &Material) -> String {
    let Some(id) = material.reduction.air else {
        return String::new();
    };
    let node = material.reduction.worksheet.node(id);
    let density = with_unit(&figures(node.value, 5), node.unit);
    match node.source {
        Source::Input(_) => format!("air of {density}, the conventional density, not measured"),
        _ => format!("air of {density} by {}", air::SOURCE),
    }
}

/// What stands for the errors of a piece of ware that was calibrated.
pub(super) fn errors(material: &Material, ware: &WareResult) -> String {
    let ws = &material.reduction.worksheet;
    let departure = material.results.manner.state(ws, ware.departure);
    format!(
        "calibrated: {} from nominal",
        with_unit(&departure.shown, "mL")
    )
}
