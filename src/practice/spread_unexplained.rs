//! **What:** the weighings of a solution scatter more than the stated repeatabilities of balance and ware explain.
//!
//! **Why it matters:** something happens between the weighings that nobody stated: drops left behind, a draught,
//! evaporation, a liquid not mixed.
//!
//! **Source:** χ² test of a standard deviation against a known one, ν s²/σ², at the run's coverage probability.

use super::{Bench, Flag};
use crate::fit::chi_squared_quantile;
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    for solution in &bench.reduction.solutions {
        let Some(density) = &solution.density else {
            continue;
        };
        let (Some(found), Some(stated)) = (density.standard_deviation, density.stated_deviation)
        else {
            continue;
        };
        let dof = (density.used - 1) as f64;
        // Stated as zero, any spread is unexplained.
        let observed = if found > 0.0 {
            dof * (found / stated).powi(2)
        } else {
            0.0
        };
        let limit = chi_squared_quantile(bench.run.report.coverage, dof);
        if observed <= limit {
            continue;
        }
        flags.push(Flag::new(FlagCode::SpreadUnexplained, format!("weighings.{}", solution.name), format!(
                "The {} weighings of {} scatter by {found:.5} g/mL where readability and repeatabilities explain \
                 {stated:.5} g/mL: χ² = {observed:.2} where at most {limit:.2} is expected.",
                density.used, solution.name,
            ), "Something happens between the weighings that nobody stated: drops left behind, a draught, evaporation, a liquid not mixed."));
    }
}
