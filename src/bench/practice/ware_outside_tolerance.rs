//! **What:** a calibrated piece of ware departs from its nominal volume by more than its class or tolerance allows.
//!
//! **Why it matters:** the run goes by the volume found, but every other use of that ware, and every earlier run, went by
//! the limit. It may be worn, misread, or of another class than is written.
//!
//! **Source:** ISO 4787:2010; the decision with a guard band of the expanded uncertainty, JCGM 106:2012, 8.3.

use super::level::Tested;
use super::scene::Scene;
use super::{Flag, Judge, Slips, SlipsBehind};
use crate::bench::fit::f_tail;
use crate::bench::reduce::Verdict;
use crate::bench::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::None,
};

fn tests(scene: &Scene) -> Vec<Tested> {
    let ware = scene.bench.results.ware.iter().enumerate();
    ware.filter_map(|(of, (_, stated))| {
        let departure = &stated.departure;
        let beyond = departure.value.abs() - stated.tolerance?;
        let t = beyond / departure.standard_uncertainty;
        let dof = departure.dof.unwrap_or(f64::from(u16::MAX));
        // One-sided; inside the limit nothing speaks against it, nor where the guard band is not passed.
        let outside = stated.verdict == Some(Verdict::Outside.word());
        let p = if outside {
            0.5 * f_tail(t * t, 1.0, dof)
        } else {
            1.0
        };
        Some(Tested { of, p })
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], _: &Slips) -> Vec<Flag> {
    let bench = scene.bench;
    let each = refused.iter().filter_map(|of| {
        let (name, stated) = bench.results.ware.get(*of)?;
        let written = bench.run.ware_calibrations.get(*of)?;
        let limit = stated.tolerance.unwrap_or_default();
        Some(Flag::new(
            FlagCode::WareOutsideTolerance,
            written.entry.name.clone(),
            format!(
                "{name} departs from its nominal volume by {} mL; the limit is ±{limit} mL. \
                 The volume found is used. Check the ware and its class.",
                stated.departure.shown
            ),
            "Every other use of this ware, and every earlier run, relied on the limit.",
        ))
    });
    each.collect()
}
