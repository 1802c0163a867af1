//! Brine strength on the trade's scales, for its table.

use serde::Serialize;

use crate::reduce::results::Stated;

use super::Material;
use super::values::ResultShown;

/// A sodium chloride brine on the trade's scales.
#[derive(Debug, Serialize)]
pub(super) struct StrengthShown {
    solution: String,
    specific_gravity: ResultShown,
    degrees_baume: Option<ResultShown>,
    percent_saturation: Option<ResultShown>,
}

pub(super) fn shown(material: &Material) -> Vec<StrengthShown> {
    let results = material.results;
    let all = results.solutions.iter().chain(&results.unknowns);
    all.filter_map(|(name, stated)| {
        let strength = &stated.strength;
        let show = |stated: &Option<Stated>| stated.as_ref().map(ResultShown::of);
        Some(StrengthShown {
            solution: name.clone(),
            specific_gravity: show(&strength.specific_gravity_20_20)?,
            degrees_baume: show(&strength.degrees_baume),
            percent_saturation: show(&strength.percent_saturation),
        })
    })
    .collect()
}
