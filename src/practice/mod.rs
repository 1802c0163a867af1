//! What a careful reader of the readings would point at: one file per flag, named for the fault.
//!
//! A flag never stops a report; it stands in it.

mod density_off_published;
mod line_departs;
mod outside_calibration;
mod spread_unexplained;
mod suspect_weighing;
mod ware_outside_tolerance;

use serde::Serialize;

use crate::reduce::{Reduction, results::Results};
use crate::runfile::model::RunFile;

/// Something in the readings or results that asks for a second look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flag {
    /// Stable name in kebab case.
    pub code: &'static str,
    /// The entry of the run file it concerns.
    pub entry: String,
    /// What is the matter and how much, in a plain sentence or two.
    pub message: String,
}

/// What a flag may look at.
struct Bench<'a> {
    run: &'a RunFile,
    reduction: &'a Reduction,
    results: &'a Results,
}

/// All flags of a run, in the order of the checks and of the run's solutions.
pub fn flags(run: &RunFile, reduction: &Reduction, results: &Results) -> Vec<Flag> {
    let bench = Bench {
        run,
        reduction,
        results,
    };
    let mut flags = Vec::new();
    density_off_published::check(&bench, &mut flags);
    line_departs::check(&bench, &mut flags);
    outside_calibration::check(&bench, &mut flags);
    spread_unexplained::check(&bench, &mut flags);
    suspect_weighing::check(&bench, &mut flags);
    ware_outside_tolerance::check(&bench, &mut flags);
    flags
}
