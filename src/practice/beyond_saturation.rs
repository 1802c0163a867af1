//! **What:** a solution of sodium or potassium chloride is said to hold more salt than dissolves at its temperature, or so
//! nearly as much that the published solubilities do not decide it.
//!
//! **Why it matters:** either salt lay at the bottom undissolved, and the liquid measured was the saturated one, or a
//! reading is wrong.
//!
//! **Source:** [`crate::reference::solubility`], 0 °C to 100 °C.

use super::level::Tested;
use super::scene::Scene;
use super::{Bench, Flag, Judge, Slips, SlipsBehind};
use crate::fit::f_tail;
use crate::reduce::Preparation;
use crate::reference::solubility;
use crate::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::Density,
};

/// A solution beside a saturated one.
struct Salted {
    /// Mass percent, that of a saturated solution, and by how much published ones differ, %.
    w: f64,
    saturated: f64,
    limit: f64,
    /// The probability of finding so much or more in a solution of what dissolves at most.
    p: f64,
    /// Both in words.
    beside: String,
}

impl Salted {
    /// None where the solubility is not known.
    fn of(bench: &Bench, of: usize) -> Option<Self> {
        let reduction = bench.reduction;
        let ws = &reduction.worksheet;
        let known = solubility::of(reduction.salt?.formula)?;
        let solution = &reduction.solutions[of];
        let id = solution.composition.mass_percent?;
        let measured = solution.density.as_ref().map(|d| ws.value(d.liquid));
        let stated = bench.run.conditions.liquid.as_ref().map(|t| t.value.value);
        let t = measured
            .or(stated)
            .filter(|t| solubility::TEMPERATURES.contains(t))?;
        let (saturated, limit) = (known.at(t), known.limit());
        let (w, uncertainty) = (ws.value(id), ws.uncertainty(id));
        let beyond = (w + uncertainty.bias - saturated - limit) / uncertainty.standard;
        let dof = uncertainty.dof.min(f64::from(u16::MAX));
        let p = if beyond > 0.0 {
            0.5 * f_tail(beyond * beyond, 1.0, dof)
        } else {
            1.0
        };
        let by = match solution.preparation {
            Preparation::Unknown => "density",
            _ => "preparation",
        };
        let (name, salt) = (&solution.name, &bench.run.solute.name.value);
        let beside = format!(
            "{name} holds, by its {by}, {w:.2} % of {salt}, and {saturated:.2} % saturate it at {t:.1} °C"
        );
        Some(Self {
            w,
            saturated,
            limit,
            p,
            beside,
        })
    }
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let all = 0..scene.bench.reduction.solutions.len();
    all.filter_map(|of| {
        let p = Salted::of(scene.bench, of)?.p;
        Some(Tested { of, p })
    })
    .collect()
}

fn entry(bench: &Bench, of: usize) -> String {
    format!("solutions.{}", bench.reduction.solutions[of].name)
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    let each = refused.iter().filter_map(|of| {
        let salted = Salted::of(scene.bench, *of)?;
        let flag = Flag::new(
            FlagCode::BeyondSaturation,
            entry(scene.bench, *of),
            format!("{}.", salted.beside),
            "Either salt lay at the bottom undissolved, and the liquid was the saturated one, or a reading is wrong.",
        );
        let flag = flag.with_effect(format!(
            "{:.2} % of its mass cannot be in solution.",
            salted.w - salted.saturated
        ));
        Some(flag.with_candidates(slips.of(*of)))
    });
    each.collect()
}

/// What published solubilities do not decide.
pub(super) fn undecided(bench: &Bench, flags: &mut Vec<Flag>) {
    for of in 0..bench.reduction.solutions.len() {
        let Some(salted) = Salted::of(bench, of) else {
            continue;
        };
        if (salted.w - salted.saturated).abs() <= salted.limit {
            flags.push(Flag::new(
                FlagCode::BeyondSaturation,
                entry(bench, of),
                format!(
                    "{}. Published solubilities differ by up to {:.2} %, so that they do not decide whether all of it dissolves.",
                    salted.beside, salted.limit
                ),
                "Salt left at the bottom would not be in the liquid measured: look whether there is any.",
            ));
        }
    }
}
