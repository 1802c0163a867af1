//! **What:** the weighings of a solution scatter more than the stated repeatabilities of balance and ware explain.
//!
//! **Why it matters:** something happens between the weighings that nobody stated: drops left behind, a draught,
//! evaporation, a liquid not mixed, two digits transposed (tried by [`super::slip`]).
//!
//! **Source:** χ² test of a standard deviation against a known one, ν s²/σ², at the run's coverage probability, what lies
//! beyond it divided among the solutions (Bonferroni): honest runs are flagged no oftener the more solutions they have.

use super::slip;
use super::{Bench, Flag};
use crate::fit::chi_squared_quantile;
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let ws = &bench.reduction.worksheet;
    let judged = bench.reduction.solutions.iter().filter(|solution| {
        let density = solution.density.as_ref();
        density.is_some_and(|d| d.standard_deviation.is_some() && d.stated_deviation.is_some())
    });
    let beyond = (1.0 - bench.run.report.coverage) / judged.count().max(1) as f64;
    for (index, solution) in bench.reduction.solutions.iter().enumerate() {
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
        let limit = chi_squared_quantile(1.0 - beyond, dof);
        if observed <= limit {
            continue;
        }
        let name = &solution.name;
        let mut message = format!(
            "The {} weighings of {name} scatter by {found:.5} g/mL where readability and repeatabilities explain \
             {stated:.5} g/mL: χ² = {observed:.2} where at most {limit:.2} is expected.",
            density.used,
        );
        let slip = slip::transposed(bench.run, index, limit);
        if let Some(slip) = &slip {
            message += &format!(" They would not as if {}.", slip.told);
        }
        let flag = Flag::new(
            FlagCode::SpreadUnexplained,
            format!("weighings.{name}"),
            message,
            "Something happens between the weighings that nobody stated: drops left behind, a draught, evaporation, a liquid not mixed, a digit misread.",
        );
        let mean = ws.value(density.density);
        flags.push(flag.with_effect(match slip {
            Some(slip) => format!(
                "The density of {name} would then be {:.5} g/mL, and not {mean:.5} g/mL.",
                slip.density
            ),
            None => format!(
                "The standard uncertainty of their mean is {} g/mL, and not {} g/mL.",
                super::size(found / (dof + 1.0).sqrt()),
                super::size(stated / (dof + 1.0).sqrt())
            ),
        }));
    }
}
