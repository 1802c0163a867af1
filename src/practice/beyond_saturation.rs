//! **What:** a solution is said to hold more salt than dissolves at its temperature.
//!
//! **Why it matters:** either salt lay at the bottom undissolved, and the liquid measured was the saturated one, or a
//! reading is wrong.
//!
//! **Source:** solubility by the CRC Handbook (see [`crate::reference::brine_strength`]).

use super::level::Tested;
use super::scene::Scene;
use super::{Flag, Judge, Slips, SlipsBehind};
use crate::fit::f_tail;
use crate::reduce::Preparation;
use crate::reference::brine_strength::{saturated_mass_percent, solubility};
use crate::runfile::model::FlagCode;
use crate::worksheet::Expr;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::Density,
};

/// A solution beside a saturated one.
struct Salted {
    /// Temperature, °C.
    t: f64,
    /// Mass percent, and that of a saturated solution, %.
    w: f64,
    saturated: f64,
    /// The probability that no more salt is in it than dissolves.
    p: f64,
}

/// None where the solubility is not known.
fn salted(scene: &Scene, of: usize) -> Option<Salted> {
    let reduction = scene.bench.reduction;
    let ws = &reduction.worksheet;
    let solution = &reduction.solutions[of];
    if reduction.salt.is_none_or(|salt| salt.formula != "NaCl") {
        return None;
    }
    let measured = solution.density.as_ref().map(|d| ws.value(d.liquid));
    let conditions = &scene.bench.run.conditions;
    let t = measured.or(conditions.liquid.as_ref().map(|t| t.value.value))?;
    let molality = solubility(Expr::number(t), t)?;
    let saturated = saturated_mass_percent(molality, reduction.molar_mass);
    let saturated = saturated.value(&|id| ws.value(id));
    let id = solution.composition.mass_percent?;
    let (w, uncertainty) = (ws.value(id), ws.uncertainty(id));
    let beyond = (w - saturated) / uncertainty.standard;
    let dof = uncertainty.dof.min(f64::from(u16::MAX));
    let p = if beyond > 0.0 {
        0.5 * f_tail(beyond * beyond, 1.0, dof)
    } else {
        1.0
    };
    Some(Salted { t, w, saturated, p })
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let all = 0..scene.bench.reduction.solutions.len();
    all.filter_map(|of| {
        let p = salted(scene, of)?.p;
        Some(Tested { of, p })
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    let each = refused.iter().filter_map(|of| {
        let Salted {
            t, w, saturated, ..
        } = salted(scene, *of)?;
        let solution = &scene.bench.reduction.solutions[*of];
        let by = match solution.preparation {
            Preparation::Unknown => "by its density",
            _ => "by its preparation",
        };
        let flag = Flag::new(
            FlagCode::BeyondSaturation,
            format!("solutions.{}", solution.name),
            format!(
                "{} contains {w:.2} % of sodium chloride {by}; at {t:.1} °C no more than {saturated:.2} % dissolves.",
                solution.name,
            ),
            "Either salt lay at the bottom undissolved, and the liquid was the saturated one, or a reading is wrong.",
        );
        let flag = flag.with_effect(format!(
            "{:.2} % of its mass cannot be in solution.",
            w - saturated
        ));
        Some(flag.with_candidates(slips.of(*of)))
    });
    each.collect()
}
