//! **What:** one weighing of a solution lies further from the others than chance explains.
//!
//! **Why it matters:** a bubble, a drop or a digit read wrongly moves the mean and widens the spread. Nothing is taken
//! out for it: only who stood at the bench can tell a mistake from bad luck. Of three readings rounded to one step, two
//! are soon equal and the third then always stands out; what the rounding of the readings can make is therefore let pass.
//!
//! **Source:** Grubbs, Technometrics 11 (1969) 1, two-sided, at a significance of 5 %.

use super::{Bench, Flag};
use crate::fit::{grubbs, grubbs_critical};
use crate::runfile::model::FlagCode;

/// Significance of the test; custom for outliers, whatever the coverage of the report.
const SIGNIFICANCE: f64 = 0.05;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let ws = &bench.reduction.worksheet;
    for solution in &bench.reduction.solutions {
        let Some(density) = &solution.density else {
            continue;
        };
        let used: Vec<_> = density
            .replicates
            .iter()
            .filter(|r| r.left_out.is_none())
            .collect();
        let values: Vec<f64> = used.iter().map(|r| ws.value(r.density)).collect();
        let Some(extreme) = grubbs(&values) else {
            continue;
        };
        let critical = grubbs_critical(values.len(), SIGNIFICANCE);
        if extreme.statistic <= critical {
            continue;
        }
        let suspect = used[extreme.index];
        let by_rounding = used.iter().any(|other| {
            let apart = (ws.value(other.density) - ws.value(suspect.density)).abs();
            other.entry != suspect.entry
                && apart <= other.variation.rounding + suspect.variation.rounding
        });
        if by_rounding {
            continue;
        }
        flags.push(Flag::new(FlagCode::SuspectWeighing, suspect.entry.clone(), format!(
                "Its density, {:.5} g/mL, lies far from the other {} of {}: Grubbs' G = {:.3} where at most {critical:.3} \
                 is expected. It still counts; if there is a reason, leave it out with `left_out`.",
                ws.value(suspect.density),
                values.len() - 1,
                solution.name,
                extreme.statistic,
            ), "A bubble, a drop or a digit misread moves the mean and widens the spread; only who stood at the bench can tell a mistake from bad luck."));
    }
}
