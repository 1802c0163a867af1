//! The density of pure water.
//!
//! M. Tanaka, G. Girard, R. Davis, A. Peuto, N. Bignell, *Recommended table for the density of water between 0 °C and
//! 40 °C based on recent experimental reports*, Metrologia 38 (2001) 301–309, equation 1: air-free V-SMOW at 101.325 kPa,
//! temperature on the ITS-90.

use std::ops::RangeInclusive;

use crate::bench::quantity::Unit;
use crate::bench::worksheet::Expr;

/// The source, as it is cited in a report.
pub const SOURCE: &str = "Tanaka et al., Metrologia 38 (2001) 301–309, equation 1";

/// Temperatures the equation holds for, °C.
pub const TEMPERATURES: RangeInclusive<f64> = 0.0..=40.0;

/// Standard uncertainty, g/mL: half of the expanded uncertainty (k = 2) of at most 0.84 × 10⁻³ kg/m³ that the paper
/// gives over the range (that figure from memory).
pub const STANDARD_UNCERTAINTY: f64 = 0.42e-6;

/// Density of water in g/mL at a temperature in °C: `a5 (1 − (t + a1)² (t + a2) / (a3 (t + a4)))`, a5 in kg/m³.
pub fn density(t: impl Into<Expr>) -> Expr {
    const CELSIUS_2: Unit = Unit::derived("°C²", &[(Unit::CELSIUS, 2)]);
    let t: Expr = t.into();
    let a = Expr::coefficient;
    let departure = (t.clone() + a("a_1", -3.983_035, &Unit::CELSIUS)).power(2)
        * (t.clone() + a("a_2", 301.797, &Unit::CELSIUS))
        / (a("a_3", 522_528.9, &CELSIUS_2) * (t + a("a_4", 69.348_81, &Unit::CELSIUS)));
    a("a_5", 999.974_95, &Unit::KILOGRAM_PER_CUBIC_METRE) * (Expr::number(1.0) - departure)
        / Expr::conversion(&Unit::GRAM_PER_MILLILITRE, &Unit::KILOGRAM_PER_CUBIC_METRE)
}
