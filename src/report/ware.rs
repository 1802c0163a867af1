//! Ware calibrated at the bench, for its table.

use serde::Serialize;

use crate::bench::reduce::{Verdict, WareResult};
use crate::bench::reference::air;
use crate::bench::worksheet::Source;

use super::Material;
use super::densities::single;
use super::shown::{ResultShown, celsius};
use super::words::{digits, figures, with_unit, write_plain};

/// A piece of ware, calibrated with water.
#[derive(Debug, Serialize)]
pub(super) struct WareShown {
    /// Its name.
    name: String,
    /// The number of weighings that are not left out.
    used: usize,
    /// The temperature of the water, °C.
    liquid: String,
    /// Its weighings.
    weighings: Vec<WareWeighingShown>,
    /// Its volume at 20 °C.
    volume: ResultShown,
    /// The departure from the nominal volume.
    departure: ResultShown,
    /// The standard deviation of the weighings, mL.
    spread: Option<String>,
    /// The limit by class or tolerance, mL.
    tolerance: Option<String>,
    /// Where the departure lies: inside, outside, or open.
    verdict: Option<&'static str>,
}

/// A weighing of ware with water.
#[derive(Debug, Serialize)]
struct WareWeighingShown {
    /// Its number, from 1.
    number: usize,
    /// The reading of the empty vessel, g.
    empty: String,
    /// The reading of the filled vessel, g.
    filled: String,
    /// The volume at 20 °C from this weighing, mL.
    volume: String,
    /// Why it is left out.
    left_out: Option<String>,
}

pub(super) fn show(material: &Material) -> Vec<WareShown> {
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
                volume: ResultShown::new(&material.results.manner.state(ws, found.volume)),
                spread: found.standard_deviation.map(|sd| figures(sd, 2)),
                tolerance: found.tolerance.map(write_plain),
                verdict: found
                    .verdict(ws, departure.expanded_uncertainty)
                    .map(Verdict::word),
                departure: ResultShown::new(&departure),
            })
        })
        .collect()
}

/// Returns the air that weighings of water were corrected by.
pub(super) fn air(material: &Material) -> String {
    let Some(id) = material.reduction.air else {
        return String::new();
    };
    let ws = &material.reduction.worksheet;
    let (node, shown_in) = (ws.node(id), ws.shown_in(id));
    let density = with_unit(&shown_in.significant(node.value, 5), shown_in.unit.symbol);
    match node.source {
        Source::Input(_) => format!("air of {density}, the conventional density, not measured"),
        _ => format!("air of {density} by {}", air::SOURCE),
    }
}

/// Returns what stands for the errors of a piece of ware that was calibrated.
pub(super) fn errors(material: &Material, ware: &WareResult) -> String {
    let ws = &material.reduction.worksheet;
    let departure = material.results.manner.state(ws, ware.departure);
    format!(
        "calibrated: {} from nominal",
        with_unit(&departure.shown, "mL")
    )
}
