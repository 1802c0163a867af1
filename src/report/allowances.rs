//! What a report says of the corrections made and not made.

use serde::Serialize;

use crate::bench::reference::{air, expansion};
use crate::bench::runfile::model::{Origin, RunFile};

use super::Material;
use super::effects::{self, EffectShown};
use super::shown::{ResultShown, celsius};
use super::words::{with_unit, write_quantity};

/// The corrections of a run.
#[derive(Debug, Serialize)]
pub(super) struct Allowances {
    /// The corrections made, each a sentence without its full stop.
    made: Vec<String>,
    /// Whether the thermal expansion of the glassware is among them.
    ware_temperature: bool,
    /// Corrections neither made nor estimated, in words.
    not_made: Vec<&'static str>,
    /// Effects not corrected, with estimates.
    effects: Vec<EffectShown>,
    /// The temperature to which densities are converted, with unit.
    reference_temperature: Option<String>,
    /// The densities converted to it.
    brought: Vec<Brought>,
    /// Solutions whose density stays at their own temperature.
    not_brought: Vec<String>,
    /// Sources of the published change of density with temperature.
    sources: Vec<&'static str>,
}

/// A density converted to the reference temperature.
#[derive(Debug, Serialize)]
struct Brought {
    /// Its name.
    solution: String,
    /// Its temperature when measured, °C.
    liquid: String,
    /// The density measured.
    measured: ResultShown,
    /// The change of density to the reference temperature.
    change: ResultShown,
    /// The density at the reference temperature, to which composition is compared.
    density: ResultShown,
}

impl Allowances {
    pub(super) fn new(material: &Material) -> Self {
        let Material { run, reduction, .. } = *material;
        let ws = &reduction.worksheet;
        let asked = &run.allow_for;
        let mut made = Vec::new();
        let mut not_made = Vec::new();
        let shown_in = ws.density_unit.of_density();
        if let (Some(buoyancy), Some(id)) = (&asked.air_buoyancy, reduction.air) {
            made.push(format!(
                "the buoyancy of the air on every load, with air of {} by {} and weights of {}",
                shown_in.in_words(ws.value(id), 5),
                air::SOURCE,
                buoyancy.weights.as_ref().map_or_else(
                    || {
                        let weights = shown_in.shortest(air::CONVENTIONAL_WEIGHTS, 6);
                        with_unit(&weights, shown_in.unit.symbol)
                    },
                    |weights| write_quantity(&weights.value)
                ),
            ));
        }
        if asked.ware_temperature.is_some() {
            made.push(format!(
                "the expansion of glassware from 20 °C to the temperature of the liquid ({})",
                expansion::SOURCE
            ));
        }
        if let Some(at) = &asked.density_at {
            made.push(format!(
                "the temperature of the liquids, by converting densities to {}",
                write_quantity(&at.value)
            ));
        }
        match &run.solute.moisture {
            Some(moisture) => made.push(format!(
                "a moisture of the salt of {}",
                write_quantity(&moisture.value)
            )),
            None if weighs_salt(run) => not_made.push("moisture of the salt"),
            None => {}
        }
        let mut allowances = Self {
            made,
            ware_temperature: asked.ware_temperature.is_some(),
            not_made,
            effects: effects::show(material),
            reference_temperature: asked
                .density_at
                .as_ref()
                .map(|at| write_quantity(&at.value)),
            brought: Vec::new(),
            not_brought: Vec::new(),
            sources: Vec::new(),
        };
        if asked.density_at.is_some() {
            for solution in &reduction.solutions {
                let Some(density) = &solution.density else {
                    continue;
                };
                match &density.at_reference {
                    Some(at) => {
                        let show = |id| ResultShown::new(&material.results.manner.state(ws, id));
                        allowances.brought.push(Brought {
                            solution: solution.name.clone(),
                            liquid: celsius(ws, density.liquid),
                            measured: show(density.density),
                            change: show(at.change),
                            density: show(at.density),
                        });
                        if !allowances.sources.contains(&at.source) {
                            allowances.sources.push(at.source);
                        }
                    }
                    None => allowances.not_brought.push(solution.name.clone()),
                }
            }
        }
        allowances
    }
}

/// Returns whether a solution was made from salt that was weighed.
fn weighs_salt(run: &RunFile) -> bool {
    let mut all = run.solutions.iter();
    all.any(|s| {
        !matches!(
            s.origin,
            Origin::Pure | Origin::Unknown | Origin::Dilution { .. }
        )
    })
}
