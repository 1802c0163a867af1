//! **What:** one weighing of a solution lies further from the others than chance explains.
//!
//! **Why it matters:** a bubble, a drop or a digit read wrongly moves the mean and widens the spread. Nothing is taken
//! out for it: only who stood at the bench can tell a mistake from bad luck. Of three readings rounded to one step, two
//! are soon equal and the third then always stands out: what rounding can do to a reading is therefore counted to the
//! spread. The more solutions are looked at, the more often one of them stands out by chance: the significance is divided
//! among them (Bonferroni), so that one honest run in twenty is flagged, however many solutions it has.
//!
//! **Source:** Grubbs, Technometrics 11 (1969) 1, two-sided, at a significance of 5 % for the run.

use super::{Bench, Flag};
use crate::fit::{Extreme, grubbs, grubbs_critical};
use crate::reduce::{ReplicateResult, SolutionResult};
use crate::runfile::model::FlagCode;
use crate::worksheet::Worksheet;

/// Significance of the test; custom for outliers, whatever the coverage of the report.
const SIGNIFICANCE: f64 = 0.05;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let ws = &bench.reduction.worksheet;
    let tested: Vec<Tested> = bench
        .reduction
        .solutions
        .iter()
        .filter_map(|solution| Tested::of(ws, solution))
        .collect();
    let significance = SIGNIFICANCE / tested.len().max(1) as f64;
    for Tested {
        solution,
        used,
        values,
        extreme,
    } in &tested
    {
        let critical = grubbs_critical(values.len(), significance);
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let suspect = used[extreme.index];
        let apart = values[extreme.index] - mean;
        let spread = (apart / extreme.statistic).abs();
        let resolution = used
            .iter()
            .map(|r| r.variation.resolution.powi(2))
            .sum::<f64>()
            / count;
        let statistic = apart.abs() / spread.hypot(resolution.sqrt());
        if statistic <= critical {
            continue;
        }
        let without = (count * mean - values[extreme.index]) / (count - 1.0);
        let name = &solution.name;
        let flag = Flag::new(
            FlagCode::SuspectWeighing,
            suspect.entry.clone(),
            format!(
                "Its density, {:.5} g/mL, lies far from the other {} of {name}: Grubbs' G = {statistic:.3} where at most \
                 {critical:.3} is expected{}. It still counts; if there is a reason, leave it out with `left_out`.",
                values[extreme.index],
                values.len() - 1,
                if tested.len() > 1 {
                    format!(" among {} solutions", tested.len())
                } else {
                    String::new()
                },
            ),
            "A bubble, a drop or a digit misread moves the mean and widens the spread; only who stood at the bench can tell a mistake from bad luck.",
        );
        flags.push(flag.with_effect(format!(
            "Without it the density of {name} would be {without:.5} g/mL, and not {mean:.5} g/mL."
        )));
    }
}

/// A solution whose weighings are enough to be tested.
struct Tested<'a> {
    solution: &'a SolutionResult,
    /// Those that count, and their densities, g/mL.
    used: Vec<&'a ReplicateResult>,
    values: Vec<f64>,
    extreme: Extreme,
}

impl<'a> Tested<'a> {
    fn of(ws: &Worksheet, solution: &'a SolutionResult) -> Option<Self> {
        let replicates = &solution.density.as_ref()?.replicates;
        let used: Vec<_> = replicates.iter().filter(|r| r.left_out.is_none()).collect();
        let values: Vec<f64> = used.iter().map(|r| ws.value(r.density)).collect();
        let extreme = grubbs(&values)?;
        Some(Self {
            solution,
            used,
            values,
            extreme,
        })
    }
}
