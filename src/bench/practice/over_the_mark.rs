//! **What:** a vessel was filled over its mark.
//!
//! **Why it matters:** the solution is weaker than calculated. Nothing is corrected for it: how much it was over is a
//! guess; the solution is better made again.
//!
//! **Source:** common practice, no source.

use super::level::NEGLIGIBLE;
use super::{Bench, Flag, size};
use crate::bench::runfile::model::{FlagCode, Origin};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let solutions = bench.run.solutions.iter().zip(&bench.reduction.solutions);
    for (solution, result) in solutions {
        let (Origin::MadeUp { made_up, .. } | Origin::Dilution { made_up, .. }) = &solution.origin
        else {
            continue;
        };
        let Some(over) = &made_up.over_mark else {
            continue;
        };
        let name = &solution.name.value;
        let share = over.value.value / made_up.to.value.value;
        let flag = Flag::new(
            FlagCode::OverTheMark,
            over.entry.name.clone(),
            format!(
                "{name} was filled over the mark, by about {} mL. It is calculated as if filled to the mark.",
                over.value.number.text
            ),
            "The solution is weaker than calculated, and so is every solution made from it.",
        );
        let concentration = result.composition.mass_concentration;
        let worth =
            concentration.map(|id| bench.reduction.worksheet.value(id) * share / (1.0 + share));
        let expanded = bench.expanded_concentration(result);
        if worth
            .zip(expanded)
            .is_some_and(|(less, expanded)| less < NEGLIGIBLE * expanded)
        {
            continue;
        }
        flags.push(flag.with_effect(match worth {
            Some(less) => format!(
                "The mass concentration of {name} is lower by about {} g/L ({} %).",
                size(less),
                size(100.0 * share / (1.0 + share))
            ),
            None => format!("About {} % of its concentration.", size(100.0 * share)),
        }));
    }
}
