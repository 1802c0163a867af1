//! **What:** a calibrated piece of ware departs from its nominal volume by more than its class or tolerance allows.
//!
//! **Why it matters:** the run goes by the volume found, but every other use of that ware, and every earlier run, went by
//! the limit. It may be worn, misread, or of another class than is written.
//!
//! **Source:** ISO 4787:2010; the decision with a guard band of the expanded uncertainty, JCGM 106:2012, 8.3.

use super::{Bench, Flag};
use crate::reduce::Verdict;
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    for ((name, stated), written) in bench.results.ware.iter().zip(&bench.run.ware_calibrations) {
        if stated.verdict != Some(Verdict::Outside.word()) {
            continue;
        }
        let limit = stated.tolerance.unwrap_or_default();
        flags.push(Flag::new(
            FlagCode::WareOutsideTolerance,
            written.entry.name.clone(),
            format!(
                "{name} departs from its nominal volume by {} mL, where ±{limit} mL are allowed. \
                 The volume found is used; ware or its class should be looked at.",
                stated.departure.shown
            ),
            "Every other use of this ware, and every earlier run, went by the limit.",
        ));
    }
}
