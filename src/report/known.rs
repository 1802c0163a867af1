//! Results compared with known compositions, for templates.

use serde::Serialize;

use crate::bench::reduce::results::KnownStated;

use super::Material;
use super::shown::ResultShown;
use super::words::decimals;

/// A result compared with its known value.
#[derive(Debug, Serialize)]
pub(super) struct KnownShown {
    /// Name of the solution.
    solution: String,
    /// The measure of composition.
    of: &'static str,
    /// The result.
    result: ResultShown,
    /// The known value.
    known: ResultShown,
    /// The difference of the result from the known value.
    difference: ResultShown,
    /// The difference in percent of the known value, with %.
    percent: String,
    /// *E*ₙ; absent if neither has an uncertainty.
    en: Option<String>,
    /// Whether |*E*ₙ| is at most 1, or there is none.
    agrees: bool,
}

/// Returns the known compositions of a run.
pub(super) fn show(material: &Material) -> Vec<KnownShown> {
    let reduction = material.reduction;
    let (ws, manner) = (&reduction.worksheet, &material.results.manner);
    let coverage = material.run.report.coverage;
    let shown = reduction.known.iter().map(|found| {
        let stated = KnownStated::new(found, ws, manner, coverage);
        KnownShown {
            solution: reduction.solutions[found.solution].name.clone(),
            of: found.scale.label(),
            result: ResultShown::new(&manner.state(ws, found.result)),
            known: ResultShown::new(&stated.known),
            difference: ResultShown::new(&stated.difference),
            percent: stated.relative.in_percent(),
            en: stated.en.map(|en| decimals(en, 2)),
            agrees: stated.en.is_none_or(|en| en.abs() <= 1.0),
        }
    });
    shown.collect()
}
