//! **What:** the weighings of a solution, or the steps of its cumulative series, scatter more than balance and ware explain.
//!
//! **Why it matters:** something happens between the weighings that nobody stated: drops left behind, a draught,
//! evaporation, a liquid not mixed, a reading written wrongly (tried by [`super::slip`]).
//!
//! **Source:** χ² test of a standard deviation against a known one, ν s²/σ²; σ by [`super::series`].

use super::level::Tested;
use super::scene::Scene;
use super::series::{Measured, Series};
use super::{Flag, Judge, Slips, SlipsBehind, size};
use crate::bench::fit::chi_squared_tail;
use crate::bench::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::Scatter,
};

fn tests(scene: &Scene) -> Vec<Tested> {
    let series = scene.series.iter().enumerate();
    let several = series.filter_map(|(of, series)| Some((of, series.as_ref()?)));
    several
        .filter(|(_, series)| series.dof() > 0.0)
        .map(|(of, series)| Tested {
            of,
            p: chi_squared_tail(series.found().1, series.dof()),
        })
        .collect()
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    let refused = refused.iter();
    refused
        .filter_map(|of| Some(flag(scene, *of, scene.series[*of].as_ref()?, slips)))
        .collect()
}

fn flag(scene: &Scene, solution: usize, series: &Series, slips: &Slips) -> Flag {
    let found = &scene.bench.reduction.solutions[solution];
    let name = &found.name;
    let what = match series.of {
        Measured::Singles => "weighings",
        Measured::Steps => "steps of the series",
    };
    let by = if series.common {
        "common practice with such a balance and ware (no source; state their `repeatability`) explains"
    } else {
        "the stated readabilities and repeatabilities explain"
    };
    let shown_in = scene.bench.reduction.worksheet.density_unit.of_density();
    let shown = |density: f64| shown_in.in_words(density, 2);
    let (spread, explained) = (series.standard_deviation(), series.deviation());
    let message = format!(
        "The {} {what} of {name} scatter by {}; {by} {} (χ² = {} with {} degree{} of freedom).",
        series.items.len(),
        shown(spread),
        shown(explained),
        size(series.found().1),
        series.dof(),
        if series.dof() > 1.0 { "s" } else { "" },
    );
    let entry = found.density.as_ref().map(|d| d.entry.clone());
    let root = (series.items.len() as f64).sqrt();
    Flag::new(
        FlagCode::SpreadUnexplained,
        entry.unwrap_or_default(),
        message,
        "There is a source of error that is not stated, such as drops left behind, a draught, evaporation, an unmixed liquid or a misread digit.",
    )
    .with_effect(format!(
        "The standard uncertainty of their mean is {}, not {}.",
        shown(spread / root),
        shown(explained / root)
    ))
    .with_candidates(slips.candidates(solution))
}
