//! **What:** a measured density departs from the published one by more than the uncertainty of the difference, or by more
//! than the other solutions of the run, measured with the same balance and ware, let expect.
//!
//! **Why it matters:** either the composition is not what the preparation says, or the bench (ware, balance,
//! temperature) is in error by more than its stated uncertainty; in pure water only the bench can be.
//!
//! **Source:** `E_n` as in ISO 13528:2015, 9.7. Beside the others: generalised least squares with the covariance of the
//! differences, each tested as the one that is off (D. A. Belsley, E. Kuh, R. E. Welsch, Regression Diagnostics, 1980,
//! mean-shift outlier; from memory).

use std::collections::{BTreeMap, BTreeSet};

use super::level::Tested;
use super::scene::{Comparison, MOST_TOGETHER, Scene, Together};
use super::{Flag, Judge, Slips, SlipsBehind};
use crate::bench::fit::{chi_squared_tail, two_sided_tail};
use crate::bench::reduce::Preparation;
use crate::bench::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::Density,
};

/// Fewer densities say nothing of the errors that they share.
const FEWEST_TOGETHER: usize = 3;
/// What departs by more standard deviations than this is no measure of the errors that the others share.
const DEPARTS: f64 = 3.0;

fn tests(scene: &Scene) -> Vec<Tested> {
    let alone = compared(scene).into_iter().filter_map(|of| {
        let comparison = &scene.bench.reduction.solutions[of].comparison;
        let difference = comparison.as_ref()?.as_ref().ok()?.difference;
        let ws = &scene.bench.reduction.worksheet;
        let uncertainty = ws.uncertainty(difference);
        let t = ws.value(difference) / uncertainty.standard;
        let p = two_sided_tail(t, uncertainty.dof);
        Some(Tested { of, p })
    });
    let by_deviations = |(of, z): (usize, f64)| Tested {
        of,
        p: chi_squared_tail(z * z, 1.0),
    };
    // Pure water is what it is: where it departs from the others, they are off.
    let beside = beside_others(scene).into_iter();
    let beside = beside.filter(|(of, _)| !is_pure(scene, *of));
    let beside = beside.map(by_deviations);
    let families = families(scene).into_iter().map(by_deviations);
    alone.chain(beside).chain(families).collect()
}

fn is_pure(scene: &Scene, of: usize) -> bool {
    scene.bench.reduction.solutions[of].preparation == Preparation::Pure
}

/// Solutions with a published density.
fn compared(scene: &Scene) -> Vec<usize> {
    let stands = scene.stands.iter().enumerate();
    let known = stands.filter(|(_, stand)| matches!(stand, Comparison::Differs(_)));
    known.map(|(of, _)| of).collect()
}

/// Returns how far each solution departs from what the others let expect, in its standard deviation.
fn beside_others(scene: &Scene) -> Vec<(usize, f64)> {
    let groups = compared(scene);
    let groups = groups.chunks(MOST_TOGETHER);
    groups.flat_map(|some| departures(scene, some)).collect()
}

/// Returns the same of some solutions: what departs most is left out, time and again, until none of the others departs,
/// so that one that is far off does not make the others look so.
fn departures(scene: &Scene, some: &[usize]) -> Vec<(usize, f64)> {
    let group = scene.group(some);
    let mut kept: Vec<usize> = (0..group.members.len()).collect();
    let all = loop {
        if kept.len() < FEWEST_TOGETHER {
            return Vec::new();
        }
        let together = group.together(&kept);
        let found = together.departures();
        let worst = (0..kept.len()).max_by(|a, b| found[*a].abs().total_cmp(&found[*b].abs()));
        let Some(worst) = worst.filter(|worst| found[*worst].abs() > DEPARTS) else {
            break together;
        };
        kept.remove(worst);
    };
    let each = group.members.iter().enumerate().map(|(index, of)| {
        let departs = if let Some(at) = kept.iter().position(|other| *other == index) {
            all.departure(at, &all.differences)
        } else {
            let with: Vec<usize> = kept.iter().copied().chain([index]).collect();
            let together = group.together(&with);
            together.departure(kept.len(), &together.differences)
        };
        (*of, departs)
    });
    each.collect()
}

/// Returns how far each solution that others were taken from, and they, depart together from the published densities:
/// as they would if its mass concentration were wrong. In standard deviations, given what the other solutions let
/// expect, and with that solution left out without which it is least, so that one alone does not make a family.
fn families(scene: &Scene) -> Vec<(usize, f64)> {
    let compared = compared(scene);
    let some = &compared[..compared.len().min(MOST_TOGETHER)];
    let makers: BTreeSet<usize> = some.iter().filter_map(|of| scene.parent(*of)).collect();
    if makers.is_empty() {
        return Vec::new();
    }
    let group = scene.group(some);
    let slopes = group.members.iter().map(|of| scene.by_concentration(*of));
    let slopes: Vec<Option<f64>> = slopes.collect();
    let mut least: BTreeMap<usize, f64> = BTreeMap::new();
    for without in 0..group.members.len() {
        let kept: Vec<usize> = (0..group.members.len())
            .filter(|at| *at != without)
            .collect();
        let together = group.together(&kept);
        let slopes: Vec<Option<f64>> = kept.iter().map(|at| slopes[*at]).collect();
        for maker in &makers {
            let z = along_family(scene, &together, &slopes, *maker).unwrap_or(0.0);
            let before = least.entry(*maker).or_insert(f64::INFINITY);
            if z.abs() < before.abs() {
                *before = z;
            }
        }
    }
    least.into_iter().collect()
}

/// Returns the common departure of a solution and of those made from it, in standard deviations. `slopes` are the
/// changes of the members' differences for a relative change of composition of one. `None` if fewer than two of the
/// family are members.
fn along_family(
    scene: &Scene,
    together: &Together,
    slopes: &[Option<f64>],
    maker: usize,
) -> Option<f64> {
    let slopes = together.members.iter().zip(slopes).map(|(member, slope)| {
        let related = *member == maker || scene.is_made_from(*member, maker);
        if related { *slope } else { Some(0.0) }
    });
    let slopes: Vec<f64> = slopes.collect::<Option<_>>()?;
    let touched = slopes.iter().filter(|slope| **slope != 0.0).count();
    (touched > 1).then(|| together.along(&slopes))
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    if refused.is_empty() {
        return Vec::new();
    }
    let solutions = &scene.bench.reduction.solutions;
    let shown_in = scene.bench.reduction.worksheet.density_unit.of_density();
    let (beside, families) = (beside_others(scene), families(scene));
    let pure = |of: usize| is_pure(scene, of);
    let bench_off = refused.iter().any(|of| pure(*of));
    let mut flags = Vec::new();
    for of in refused {
        let name = &solutions[*of].name;
        let mut results = scene.bench.results.comparison.iter();
        let compared = results.find(|(other, _)| other == name);
        let compared = compared.map(|(_, comparison)| comparison);
        let mut message = match compared {
            Some(comparison) => format!(
                "The density of {name} differs from the published one by {} {}, Eₙ = {:.2}.",
                comparison.difference.in_report(shown_in),
                shown_in.unit,
                comparison.en
            )
            .replace(" = -", " = −"),
            None => format!("The density of {name} was not compared with a published one."),
        };
        if compared.is_none_or(|comparison| comparison.en.abs() <= 1.0) {
            message += &beyond_shared(&beside, &families, *of);
        }
        let slips = slips.candidates(*of);
        if slips.is_empty() {
            message += &cause(scene, refused, *of, bench_off && !pure(*of));
        }
        let (code, reason) = if pure(*of) {
            (
                FlagCode::WaterOffPublished,
                "An error in the density of water affects every density of the run.",
            )
        } else {
            (
                FlagCode::DensityOffPublished,
                "A wrongly prepared solution distorts the calibration.",
            )
        };
        let density = solutions[*of].density.as_ref();
        let entry = density.map_or_else(|| format!("solutions.{name}"), |d| d.entry.clone());
        let mut flag = Flag::new(code, entry, message, reason);
        if let Some(comparison) = compared {
            flag = flag.with_effect(format!(
                "{} in the density of {name}.",
                shown_in.in_words(comparison.difference.value, 2)
            ));
        }
        flags.push(flag.with_candidates(slips));
    }
    flags
}

/// Returns why a density is flagged although it agrees with the published one within its uncertainty.
fn beyond_shared(beside: &[(usize, f64)], families: &[(usize, f64)], of: usize) -> String {
    let departs = |all: &[(usize, f64)]| {
        let own = all.iter().find(|(other, _)| *other == of);
        own.map_or(0.0, |(_, z)| z.abs())
    };
    let (alone, family) = (departs(beside), departs(families));
    if family > alone {
        format!(
            " It and the solutions made from it depart together, by {family:.1} standard deviations, from the other solutions, \
             which share the errors of balance and ware."
        )
    } else {
        format!(
            " It departs by {alone:.1} standard deviations from the other solutions, which share the errors of balance and \
             ware."
        )
    }
}

/// Returns what else may be the cause where no slip explains a density.
fn cause(scene: &Scene, refused: &[usize], of: usize, bench_off: bool) -> String {
    let solutions = &scene.bench.reduction.solutions;
    let stock = scene.parent(of).filter(|stock| refused.contains(stock));
    if is_pure(scene, of) {
        " Its composition is known, so ware, balance or temperature is in error by more than its stated uncertainty."
            .to_owned()
    } else if let Some(stock) = stock {
        format!(
            " So does that of {}, from which it was taken.",
            solutions[stock].name
        )
    } else if bench_off {
        " So does that of pure water: look at ware, balance and temperature first.".to_owned()
    } else {
        " Either it was not prepared as written, or ware, balance or temperature is in error by more than its stated \
         uncertainty."
            .to_owned()
    }
}
