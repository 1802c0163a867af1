//! **What:** liquids were measured out away from the 20 °C that ware is adjusted at, or weighed at temperatures that
//! differ from each other, by more than matters, and the run asks for no correction.
//!
//! **Why it matters:** ware holds more when it is warm; a liquid weighs less.
//!
//! **Source:** ISO 4787:2010 (expansion); published densities (temperature). That a fifth of the expanded uncertainty
//! matters is common practice, no source: it adds two hundredths to it.

use super::{Bench, Flag, published, size};
use crate::reduce::{SolutionResult, Way};
use crate::reference::expansion;
use crate::runfile::model::{FlagCode, Glass};

/// A share of the expanded uncertainty that matters.
const MATTERS: f64 = 0.2;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    if bench.run.allow_for.ware_temperature.is_none() {
        ware_not_at_reference(bench, flags);
    }
    if bench.run.allow_for.density_at.is_none() {
        liquid_drifts(bench, flags);
    }
}

/// A density moved by something.
struct Moved<'a> {
    solution: &'a SolutionResult,
    t: f64,
    /// By how much, g/mL.
    by: f64,
    /// Over the expanded uncertainty.
    share: f64,
}

impl Moved<'_> {
    fn told(&self) -> String {
        format!(
            "{} g/mL in the density of {}, {} of its expanded uncertainty.",
            size(self.by),
            self.solution.name,
            size(self.share)
        )
    }
}

/// The density moved most, in its uncertainty, if any is moved by more than matters.
fn most<'a>(
    bench: &'a Bench,
    moved: impl Fn(&SolutionResult, f64, f64) -> Option<f64>,
) -> Option<Moved<'a>> {
    let ws = &bench.reduction.worksheet;
    let each = bench.reduction.solutions.iter().filter_map(|solution| {
        let t = ws.value(solution.density.as_ref()?.liquid);
        let (rho, expanded) = bench.density(solution)?;
        let by = moved(solution, rho, t)?;
        Some(Moved {
            solution,
            t,
            by,
            share: (by / expanded).abs(),
        })
    });
    each.max_by(|a, b| a.share.total_cmp(&b.share))
        .filter(|most| most.share > MATTERS)
}

fn ware_not_at_reference(bench: &Bench, flags: &mut Vec<Flag>) {
    let glass = |solution: &SolutionResult| {
        let index = bench
            .run
            .solutions
            .iter()
            .position(|s| s.name.value == solution.name)?;
        let weighed = bench
            .run
            .weighings
            .iter()
            .filter(|w| w.solution.value == index);
        let weighed = weighed.flat_map(|w| &w.replicates).map(|r| &r.pipette);
        let cumulative = bench.run.cumulative.iter();
        let cumulative = cumulative
            .filter(|c| c.solution.value == index)
            .map(|c| &c.pipette);
        let ware = weighed.chain(cumulative).flatten().next()?;
        Some(match bench.run.apparatus[ware.value].glass {
            Glass::Borosilicate => expansion::Glass::Borosilicate,
            Glass::SodaLime => expansion::Glass::SodaLime,
        })
    };
    let found = most(bench, |solution, rho, t| {
        let by_volume = solution
            .density
            .as_ref()
            .is_some_and(|d| matches!(d.way, Way::Weighed | Way::Cumulative(_)));
        let coefficient = glass(solution).filter(|_| by_volume)?.coefficient();
        Some(-rho * coefficient * (t - expansion::REFERENCE_TEMPERATURE))
    });
    let Some(moved) = found else {
        return;
    };
    let (solution, t) = (moved.solution, moved.t);
    flags.push(
        Flag::new(
            FlagCode::WareNotAtReference,
            "conditions",
            format!(
                "{} was measured out at {t:.1} °C with ware that is adjusted at 20 °C. `ware_temperature: true` under \
                 `allow_for` corrects for it.",
                solution.name
            ),
            "Warm ware delivers more than is written on it.",
        )
        .with_effect(moved.told()),
    );
}

fn liquid_drifts(bench: &Bench, flags: &mut Vec<Flag>) {
    let ws = &bench.reduction.worksheet;
    let Some(salt) = bench.reduction.salt else {
        return;
    };
    let liquids = || {
        let densities = bench.reduction.solutions.iter();
        densities.filter_map(|s| Some(ws.value(s.density.as_ref()?.liquid)))
    };
    let (low, high) = liquids().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| {
        (low.min(t), high.max(t))
    });
    let count = liquids().count();
    if count < 2 || high - low <= 0.0 {
        return;
    }
    let mean = liquids().sum::<f64>() / count as f64;
    let found = most(bench, |solution, _, t| {
        let w = solution.composition.mass_percent;
        let w = w.map_or(0.0, |w| ws.value(w) / 100.0);
        Some(published::brine(salt, w, t)? - published::brine(salt, w, mean)?)
    });
    let Some(moved) = found else {
        return;
    };
    let (solution, t) = (moved.solution, moved.t);
    flags.push(
        Flag::new(
            FlagCode::LiquidDrifts,
            "density",
            format!(
                "The liquids were weighed at temperatures from {low:.1} °C to {high:.1} °C; {} at {t:.1} °C lies furthest \
                 from the others. `density_at: 20 °C` under `allow_for` brings all to one temperature.",
                solution.name
            ),
            "A line through densities of different temperatures is the line of none of them.",
        )
        .with_effect(moved.told()),
    );
}
