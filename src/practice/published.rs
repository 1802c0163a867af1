//! Published densities as numbers.

use crate::reference::brine::{Salt, water_in_model};
use crate::reference::water;
use crate::worksheet::Expr;

/// Published density of a salt's solution, g/mL, at a mass fraction and a temperature (°C); none outside its range.
pub(super) fn brine(salt: &Salt, w: f64, t: f64) -> Option<f64> {
    if !salt.covers(w, t) {
        return None;
    }
    let number = Expr::number;
    let none = |_| f64::NAN;
    let water = water_in_model(number(t)).value(&none);
    let apparent = salt.apparent_density(number(w), number(t)).value(&none);
    let density = salt.density(number(w), number(water), number(apparent));
    Some(density.value(&none))
}

/// Published density of water, g/mL, at a temperature (°C); none outside its range.
pub(super) fn water(t: f64) -> Option<f64> {
    let known = water::TEMPERATURES.contains(&t);
    known.then(|| water::density(Expr::number(t)).value(&|_| f64::NAN))
}
