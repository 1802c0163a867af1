//! Published densities as numbers.

use std::array;

use crate::bench::quantity::Unit;
use crate::bench::reference::brine::{Salt, water_in_model};
use crate::bench::reference::water;
use crate::bench::worksheet::{Expr, Input, NodeId, Title, Worksheet};

/// Published densities of water and of a salt's solutions. The formulas are built once, as a search for slips takes them
/// thousands of times.
pub(super) struct Published {
    water: Expr,
    salt: Option<Model>,
    /// Arguments of the formulas: mass fraction, temperature, density of water, apparent density of the salt.
    over: [NodeId; 4],
}

/// The formulas for a salt.
struct Model {
    salt: &'static Salt,
    water: Expr,
    apparent: Expr,
    density: Expr,
}

impl Published {
    pub(super) fn new(salt: Option<&'static Salt>) -> Self {
        let mut ws = Worksheet::new();
        let over = array::from_fn(|_| {
            ws.input(
                Title::new("placeholder", "x", &Unit::ONE),
                0.0,
                Input::default(),
            )
        });
        let [w, t, water, apparent] = over;
        Self {
            water: water::density(t),
            salt: salt.map(|salt| Model {
                salt,
                water: water_in_model(t),
                apparent: salt.apparent_density(w, t),
                density: salt.density(w, water, apparent),
            }),
            over,
        }
    }

    fn value(&self, formula: &Expr, values: [f64; 4]) -> f64 {
        let place = |id| self.over.iter().position(|over| *over == id);
        formula.value(&|id| place(id).map_or(f64::NAN, |index| values[index]))
    }

    /// Density of a solution, g/mL, at a mass fraction and a temperature (°C); `None` outside the published range, or for a
    /// salt without published densities.
    pub(super) fn brine(&self, w: f64, t: f64) -> Option<f64> {
        let model = self.salt.as_ref().filter(|of| of.salt.covers(w, t))?;
        let water = self.value(&model.water, [w, t, f64::NAN, f64::NAN]);
        let apparent = self.value(&model.apparent, [w, t, water, f64::NAN]);
        Some(self.value(&model.density, [w, t, water, apparent]))
    }

    /// Density of water, g/mL, at a temperature (°C); `None` outside the published range.
    pub(super) fn water(&self, t: f64) -> Option<f64> {
        let known = water::TEMPERATURES.contains(&t);
        known.then(|| self.value(&self.water, [0.0, t, f64::NAN, f64::NAN]))
    }
}
