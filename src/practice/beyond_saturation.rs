//! **What:** a solution of sodium or potassium chloride is said to hold more salt than dissolves at its temperature, or so
//! nearly as much that the published solubilities do not decide it.
//!
//! **Why it matters:** either salt lay at the bottom undissolved, and the liquid measured was the saturated one, or a
//! reading is wrong.
//!
//! **Source:** [`crate::reference::solubility`], 0 °C to 100 °C.

use super::{Bench, Flag};
use crate::reduce::coverage::expanded;
use crate::reduce::{Preparation, SolutionResult};
use crate::reference::solubility::{self, Solubility};
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let salt = bench.reduction.salt;
    let Some(known) = salt.and_then(|salt| solubility::of(salt.formula)) else {
        return;
    };
    let solutions = bench.reduction.solutions.iter();
    flags.extend(solutions.filter_map(|solution| of_solution(bench, known, solution)));
}

fn of_solution(bench: &Bench, known: &Solubility, solution: &SolutionResult) -> Option<Flag> {
    let ws = &bench.reduction.worksheet;
    let w = solution.composition.mass_percent?;
    let measured = solution.density.as_ref().map(|d| ws.value(d.liquid));
    let stated = bench.run.conditions.liquid.as_ref().map(|t| t.value.value);
    let t = measured
        .or(stated)
        .filter(|t| solubility::TEMPERATURES.contains(t))?;
    let (saturated, limit) = (known.at(t), known.limit());
    let half = expanded(ws.uncertainty(w), bench.run.report.coverage);
    let w = ws.value(w);
    let surely = w - half > saturated + limit;
    if !surely && (w - saturated).abs() > limit {
        return None;
    }
    let salt = &bench.run.solute.name.value;
    let holds = match solution.preparation {
        Preparation::Unknown => "holds, by its density,",
        _ => "holds, by its preparation,",
    };
    let name = &solution.name;
    let entry = format!("solutions.{name}");
    let beside =
        format!("{name} {holds} {w:.2} % of {salt}, and {saturated:.2} % saturate it at {t:.1} °C");
    Some(if surely {
        Flag::new(
            FlagCode::BeyondSaturation,
            entry,
            format!("{beside}."),
            "Either salt lay at the bottom undissolved, and the liquid was the saturated one, or a reading is wrong.",
        )
        .with_effect(format!(
            "{:.2} % of its mass cannot be in solution.",
            w - saturated
        ))
    } else {
        Flag::new(
            FlagCode::BeyondSaturation,
            entry,
            format!(
                "{beside}. Published solubilities differ by up to {limit:.2} %, so that they do not decide whether all of it \
                 dissolves."
            ),
            "Salt left at the bottom would not be in the liquid measured: look whether there is any.",
        )
    })
}
