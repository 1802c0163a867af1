//! Brine strength on the trade's scales, for its table.

use serde::Serialize;

use crate::bench::reduce::results::{Stated, StrengthStated};
use crate::bench::reference::{brine_strength, solubility};
use crate::bench::runfile::model::TradeScale;

use super::Material;
use super::shown::ResultShown;

/// A sodium chloride brine in trade units, as the run file asks.
#[derive(Debug, Serialize)]
pub(super) struct StrengthShown {
    /// Its name.
    solution: String,
    /// Specific gravity 20/20.
    specific_gravity: Option<ResultShown>,
    /// Degrees Baumé.
    degrees_baume: Option<ResultShown>,
    /// Percent of saturation.
    percent_saturation: Option<ResultShown>,
}

pub(super) fn show(material: &Material) -> Vec<StrengthShown> {
    let results = material.results;
    let all = results.solutions.iter().chain(&results.unknowns);
    all.filter_map(|(name, stated)| {
        let strength = &stated.strength;
        let show = |stated: &Option<Box<Stated>>| stated.as_deref().map(ResultShown::new);
        (*strength != StrengthStated::default()).then(|| StrengthShown {
            solution: name.clone(),
            specific_gravity: show(&strength.specific_gravity_20_20),
            degrees_baume: show(&strength.degrees_baume),
            percent_saturation: show(&strength.percent_saturation),
        })
    })
    .collect()
}

/// Sources of the scales that the run file asks for.
pub(super) fn sources(material: &Material) -> String {
    let asked = material.run.report.scales.iter();
    let sources = asked.filter_map(|scale| match scale.value {
        TradeScale::SpecificGravity => None,
        TradeScale::DegreesBaume => Some(brine_strength::SOURCES),
        TradeScale::PercentSaturation => Some(solubility::SOURCES),
    });
    sources.collect::<Vec<_>>().join("; ")
}
