//! **What:** a solution is said to hold more salt than dissolves at its temperature.
//!
//! **Why it matters:** either salt lay at the bottom undissolved, and the liquid measured was the saturated one, or a
//! reading is wrong.
//!
//! **Source:** solubility by the CRC Handbook (see [`crate::reference::brine_strength`]).

use super::{Bench, Flag};
use crate::reduce::Preparation;
use crate::reference::brine_strength::{saturated_mass_percent, solubility};
use crate::runfile::model::FlagCode;
use crate::worksheet::Expr;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let ws = &bench.reduction.worksheet;
    if bench
        .reduction
        .salt
        .is_none_or(|salt| salt.formula != "NaCl")
    {
        return;
    }
    for solution in &bench.reduction.solutions {
        let Some(w) = solution.composition.mass_percent else {
            continue;
        };
        let measured = solution.density.as_ref().map(|d| ws.value(d.liquid));
        let stated = bench.run.conditions.liquid.as_ref().map(|t| t.value.value);
        let Some((t, molality)) = measured
            .or(stated)
            .and_then(|t| Some((t, solubility(Expr::number(t), t)?)))
        else {
            continue;
        };
        let saturated = saturated_mass_percent(molality, bench.reduction.molar_mass);
        let saturated = saturated.value(&|id| ws.value(id));
        let (w, u) = (ws.value(w), ws.uncertainty(w).standard);
        // Twice its standard uncertainty, as near saturation a solution may well be.
        if w - 2.0 * u <= saturated {
            continue;
        }
        let read_back = solution.preparation == Preparation::Unknown;
        flags.push(
            Flag::new(
                FlagCode::BeyondSaturation,
                format!("solutions.{}", solution.name),
                format!(
                    "{} is {} to hold {w:.2} % of sodium chloride, where {saturated:.2} % saturate it at {t:.1} °C.",
                    solution.name,
                    if read_back { "read back" } else { "reckoned" }
                ),
                "Either salt lay at the bottom undissolved, and the liquid was the saturated one, or a reading is wrong.",
            )
            .with_effect(format!(
                "{:.2} % of its mass cannot be in solution.",
                w - saturated
            )),
        );
    }
}
