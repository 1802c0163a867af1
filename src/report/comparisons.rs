//! Measured densities beside published ones, as templates see them.

use serde::Serialize;

use crate::bench::reduce::NotCompared;

use super::Material;
use super::effects::amount;
use super::shown::{ResultShown, temperature};
use super::words::decimals;

/// A measured density compared with the published one.
#[derive(Debug, Serialize)]
pub(super) struct ComparisonShown {
    /// Name of the solution.
    solution: String,
    /// Its temperature, °C.
    liquid: String,
    /// The correction of the measured density made for this comparison only, signed; may be empty.
    correction: String,
    /// The measured density.
    measured: ResultShown,
    /// The published density.
    published: ResultShown,
    /// Measured minus published density.
    difference: ResultShown,
    /// *E*ₙ: the difference over its expanded uncertainty.
    en: String,
    /// The size of *E*ₙ.
    size: String,
    /// Whether the difference is within its expanded uncertainty.
    agrees: bool,
    /// Whether its size is the largest of all.
    largest: bool,
}

/// A solution whose density cannot be compared with a published one.
#[derive(Debug, Serialize)]
pub(super) struct NotComparedShown {
    /// Its name.
    solution: String,
    /// The reason.
    why: &'static str,
}

/// Solutions with a published density, in the order of the run file.
pub(super) fn comparison(material: &Material) -> Vec<ComparisonShown> {
    let Material {
        reduction, results, ..
    } = *material;
    let ws = &reduction.worksheet;
    let sizes = results.comparison.iter().map(|(_, stated)| stated.en.abs());
    let largest = sizes.fold(0.0, f64::max);
    let mut shown = Vec::new();
    for (name, stated) in &results.comparison {
        let solution = reduction.solutions.iter().find(|s| s.name == *name);
        let Some((density, Ok(compared))) =
            solution.and_then(|s| Some((s.density.as_ref()?, s.comparison.as_ref()?)))
        else {
            continue;
        };
        shown.push(ComparisonShown {
            solution: name.clone(),
            liquid: temperature(material, density),
            correction: compared
                .correction
                .map_or_else(String::new, |id| amount(ws.value(id), ws.shown_in(id))),
            measured: ResultShown::new(&results.manner.state(ws, density.density)),
            published: ResultShown::new(&stated.published),
            difference: ResultShown::new(&stated.difference),
            en: decimals(stated.en, 2),
            size: decimals(stated.en.abs(), 2),
            agrees: stated.en.abs() <= 1.0,
            largest: stated.en.abs() >= largest,
        });
    }
    shown
}

/// Weighed solutions without one, each with the reason.
pub(super) fn not_compared(material: &Material) -> Vec<NotComparedShown> {
    let mut shown = Vec::new();
    for solution in &material.reduction.solutions {
        let Some(Err(reason)) = &solution.comparison else {
            continue;
        };
        let why = match reason {
            NotCompared::NoModel => "no published densities of this solute are available",
            NotCompared::NoComposition => "its mass percent is not known",
            NotCompared::OutOfRange => {
                "composition or temperature lies outside the published range"
            }
        };
        shown.push(NotComparedShown {
            solution: solution.name.clone(),
            why,
        });
    }
    shown
}
