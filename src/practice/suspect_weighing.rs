//! **What:** one weighing of a solution lies further from the others than chance explains.
//!
//! **Why it matters:** a bubble, a drop or a digit read wrongly moves the mean and widens the spread. Nothing is taken
//! out for it: only who stood at the bench can tell a mistake from bad luck. Of three readings rounded to one step, two
//! are soon equal and the third then always stands out: what rounding can do to a reading is therefore counted to the
//! spread.
//!
//! **Source:** Grubbs, Technometrics 11 (1969) 1, two-sided, at a significance of 5 %, each solution by itself as the test
//! is tabulated: of twenty honest sets of weighings about one is flagged.

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
        let counted = density.replicates.iter().filter(|r| r.left_out.is_none());
        let used: Vec<_> = counted.collect();
        let values: Vec<f64> = used.iter().map(|r| ws.value(r.density)).collect();
        let Some(extreme) = grubbs(&values) else {
            continue;
        };
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let apart = (values[extreme.index] - mean).abs();
        let spread = apart / extreme.statistic;
        let squares = used.iter().map(|r| r.variation.resolution.powi(2));
        let resolution = (squares.sum::<f64>() / count).sqrt();
        let statistic = apart / spread.hypot(resolution);
        let critical = grubbs_critical(values.len(), SIGNIFICANCE);
        if statistic <= critical {
            continue;
        }
        let without = (count * mean - values[extreme.index]) / (count - 1.0);
        let name = &solution.name;
        let flag = Flag::new(
            FlagCode::SuspectWeighing,
            used[extreme.index].entry.clone(),
            format!(
                "Its density, {:.5} g/mL, lies far from the other {} of {name}: Grubbs' G = {statistic:.3} where at most \
                 {critical:.3} is expected. It still counts; if there is a reason, leave it out with `left_out`.",
                values[extreme.index],
                values.len() - 1,
            ),
            "A bubble, a drop or a digit misread moves the mean and widens the spread; only who stood at the bench can tell a mistake from bad luck.",
        );
        flags.push(flag.with_effect(format!(
            "Without it the density of {name} would be {without:.5} g/mL, and not {mean:.5} g/mL."
        )));
    }
}
