//! **What:** a solution of sodium or potassium chloride is said to hold more salt than dissolves at its temperature, or so
//! nearly as much that the published solubilities do not decide it.
//!
//! **Why it matters:** either salt lay at the bottom undissolved, and the liquid measured was the saturated one, or a
//! reading is wrong.
//!
//! **Source:** [`crate::bench::reference::solubility`], 0 °C to 100 °C.

use super::level::Tested;
use super::scene::Scene;
use super::{Bench, Flag, Judge, Slips, SlipsBehind};
use crate::bench::fit::f_tail;
use crate::bench::reduce::{Preparation, SolutionResult};
use crate::bench::reference::solubility;
use crate::bench::runfile::model::FlagCode;

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
    /// How far published solubilities differ, % by mass.
    limit: f64,
    /// The probability that no more salt is in it than dissolves by any published solubility.
    p: f64,
}

/// Returns `None` where the solubility, the composition or the temperature is not known.
fn salted(bench: &Bench, solution: &SolutionResult) -> Option<Salted> {
    let ws = &bench.reduction.worksheet;
    let known = bench.reduction.salt?.solubility;
    let measured = solution.density.as_ref().map(|d| ws.value(d.liquid));
    let stated = bench.run.conditions.liquid.as_ref().map(|t| t.value.value);
    let t = measured
        .or(stated)
        .filter(|t| solubility::TEMPERATURES.contains(t))?;
    let (saturated, limit) = (known.at(t), known.limit());
    let id = solution.composition.mass_percent?;
    let (w, uncertainty) = (ws.value(id), ws.uncertainty(id));
    let beyond = (w + uncertainty.bias - saturated - limit) / uncertainty.standard;
    let dof = uncertainty.dof.min(f64::from(u16::MAX));
    let p = if beyond > 0.0 {
        0.5 * f_tail(beyond * beyond, 1.0, dof)
    } else {
        1.0
    };
    Some(Salted {
        t,
        w,
        saturated,
        limit,
        p,
    })
}

/// Returns what a solution holds, beside what saturates it.
fn beside(bench: &Bench, solution: &SolutionResult, salted: &Salted) -> String {
    let Salted {
        t, w, saturated, ..
    } = salted;
    let holds = match solution.preparation {
        Preparation::Unknown => "By its density",
        _ => "By its preparation",
    };
    format!(
        "{holds}, {} contains {w:.2} % of {}; saturation at {t:.1} °C is at {saturated:.2} %",
        solution.name, bench.run.solute.name.value
    )
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let all = scene.bench.reduction.solutions.iter().enumerate();
    all.filter_map(|(of, solution)| {
        let p = salted(scene.bench, solution)?.p;
        Some(Tested { of, p })
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    let each = refused.iter().filter_map(|of| {
        let solution = &scene.bench.reduction.solutions[*of];
        let salted = salted(scene.bench, solution)?;
        let flag = Flag::new(
            FlagCode::BeyondSaturation,
            format!("solutions.{}", solution.name),
            format!("{}.", beside(scene.bench, solution, &salted)),
            "Either undissolved salt lay at the bottom of a saturated solution, or a reading is wrong.",
        );
        let flag = flag.with_effect(format!(
            "{:.2} % of its mass cannot be in solution.",
            salted.w - salted.saturated
        ));
        Some(flag.with_candidates(slips.candidates(*of)))
    });
    each.collect()
}

/// Flags solutions so near to saturation that published solubilities do not decide.
pub(super) fn check_undecided(bench: &Bench, flags: &mut Vec<Flag>) {
    let solutions = bench.reduction.solutions.iter();
    flags.extend(solutions.filter_map(|solution| {
        let salted = salted(bench, solution)?;
        ((salted.w - salted.saturated).abs() <= salted.limit).then(|| {
            Flag::new(
                FlagCode::BeyondSaturation,
                format!("solutions.{}", solution.name),
                format!(
                    "{}. Published solubilities differ by up to {:.2} %, so it is not certain whether all of it dissolves.",
                    beside(bench, solution, &salted),
                    salted.limit
                ),
                "Undissolved salt is not in the liquid measured: check whether there is any.",
            )
        })
    }));
}
