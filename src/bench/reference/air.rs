//! The density of moist air.
//!
//! A. Picard, R. S. Davis, M. Gläser, K. Fujii, *Revised formula for the density of moist air (CIPM-2007)*, Metrologia 45
//! (2008) 149–155, with the gas constant given there and a mole fraction of carbon dioxide of 0.0004.

use std::ops::RangeInclusive;

use crate::bench::quantity::Unit;
use crate::bench::worksheet::Expr;

/// The source, as it is cited in a report.
pub const SOURCE: &str = "CIPM-2007 (Picard et al., Metrologia 45 (2008) 149–155)";

/// Pressures the formula holds for, hPa.
pub const PRESSURES: RangeInclusive<f64> = 600.0..=1100.0;

/// Air temperatures the formula holds for, °C.
pub const TEMPERATURES: RangeInclusive<f64> = 15.0..=27.0;

/// Relative standard uncertainty (a pure number) of the formula itself, apart from that of its inputs.
pub const RELATIVE_STANDARD_UNCERTAINTY: f64 = 2.2e-5;

/// The conventional density of air, kg/m³ (OIML D 28:2004, the value at which weights are adjusted).
pub const CONVENTIONAL: f64 = 1.2;

/// Standard uncertainty, kg/m³, of the conventional density where the real one is not known. Common practice: it covers
/// the air of most laboratories below some 500 m of altitude.
pub const CONVENTIONAL_STANDARD_UNCERTAINTY: f64 = 0.05;

/// The conventional density of weights, g/mL (OIML D 28:2004): a balance adjusted with them shows conventional mass.
pub const CONVENTIONAL_WEIGHTS: f64 = 8.0;

const PER_KELVIN: Unit = Unit::derived("K⁻¹", &[(Unit::KELVIN, -1)]);
const PER_KELVIN_2: Unit = Unit::derived("K⁻²", &[(Unit::KELVIN, -2)]);
const PER_CELSIUS_2: Unit = Unit::derived("°C⁻²", &[(Unit::CELSIUS, -2)]);
const PER_PASCAL: Unit = Unit::derived("Pa⁻¹", &[(Unit::PASCAL, -1)]);
const PER_KELVIN_PASCAL: Unit =
    Unit::derived("K⁻¹ Pa⁻¹", &[(Unit::KELVIN, -1), (Unit::PASCAL, -1)]);
const KELVIN_2_PER_PASCAL_2: Unit =
    Unit::derived("K²/Pa²", &[(Unit::KELVIN, 2), (Unit::PASCAL, -2)]);
const KILOGRAM_PER_MOLE: Unit = Unit::derived("kg/mol", &[(Unit::KILOGRAM, 1), (Unit::MOLE, -1)]);
const JOULE_PER_MOLE_KELVIN: Unit = Unit::derived(
    "J/(mol K)",
    // J = Pa m³
    &[
        (Unit::PASCAL, 1),
        (Unit::CUBIC_METRE, 1),
        (Unit::MOLE, -1),
        (Unit::KELVIN, -1),
    ],
);

/// Unit of the [`virial`] sum.
pub const KELVIN_PER_PASCAL: Unit = Unit::derived("K/Pa", &[(Unit::KELVIN, 1), (Unit::PASCAL, -1)]);

/// Saturation vapour pressure (unit Pa) from the thermodynamic temperature (unit K):
/// `1 Pa × exp(A T² + B T + C + D/T)`.
pub fn saturation_pressure(kelvin: impl Into<Expr>) -> Expr {
    let t: Expr = kelvin.into();
    let c = Expr::renamed_coefficient;
    let exponent = c(&["a_sv,1", "A"], 1.237_884_7e-5, &PER_KELVIN_2) * t.clone().power(2)
        + c(&["a_sv,2", "B"], -1.912_131_6e-2, &PER_KELVIN) * t.clone()
        + c(&["a_sv,3", "C"], 33.937_110_47, &Unit::ONE)
        + c(&["a_sv,4", "D"], -6.343_164_5e3, &Unit::KELVIN) / t;
    Expr::exactly(1.0, &Unit::PASCAL) * exponent.exponential()
}

/// Enhancement factor, a pure number, from pressure in Pa and temperature in °C: `α + β p + γ t²`.
pub fn enhancement(pascal: impl Into<Expr>, celsius: impl Into<Expr>) -> Expr {
    let c = Expr::renamed_coefficient;
    c(&["a_f,1", "α"], 1.000_62, &Unit::ONE)
        + c(&["a_f,2", "β"], 3.14e-8, &PER_PASCAL) * pascal
        + c(&["a_f,3", "γ"], 5.6e-7, &PER_CELSIUS_2) * celsius.into().power(2)
}

/// Mole fraction of water vapour, a pure number: `h f p_sv / p` from relative humidity (ratio), enhancement factor, and
/// saturation and air pressure (both in Pa).
pub fn vapour_fraction(
    humidity: impl Into<Expr>,
    enhancement: impl Into<Expr>,
    saturation: impl Into<Expr>,
    pascal: impl Into<Expr>,
) -> Expr {
    let product: Expr = humidity.into() * enhancement;
    product * saturation / pascal.into()
}

/// Returns the sum that stands with the first power of p/T in the compressibility factor, K/Pa, from temperature (°C)
/// and mole fraction of water vapour: `a0 + a1 t + a2 t² + (b0 + b1 t) x_v + (c0 + c1 t) x_v²`.
pub fn virial(celsius: impl Into<Expr>, vapour: impl Into<Expr>) -> Expr {
    let (t, x): (Expr, Expr) = (celsius.into(), vapour.into());
    let c = Expr::renamed_coefficient;
    let linear = (c(&["a_ψ,4", "b_0"], 5.707e-6, &KELVIN_PER_PASCAL)
        + c(&["a_ψ,5", "b_1"], -2.051e-8, &PER_PASCAL) * t.clone())
        * x.clone();
    let square = (c(&["a_ψ,6", "c_0"], 1.9898e-4, &KELVIN_PER_PASCAL)
        + c(&["a_ψ,7", "c_1"], -2.376e-6, &PER_PASCAL) * t.clone())
        * x.power(2);
    Expr::Sum(vec![
        c(&["a_ψ,1", "a_0"], 1.581_23e-6, &KELVIN_PER_PASCAL),
        c(&["a_ψ,2", "a_1"], -2.9331e-8, &PER_PASCAL) * t.clone(),
        c(&["a_ψ,3", "a_2"], 1.1043e-10, &PER_KELVIN_PASCAL) * t.power(2),
        linear,
        square,
    ])
}

/// Compressibility factor, a pure number: `1 − (p/T) β + (p/T)² (d + e x_v²)` from pressure (Pa), temperature (K),
/// [`virial`] sum (K/Pa) and mole fraction of water vapour.
pub fn compressibility(
    pascal: impl Into<Expr>,
    kelvin: impl Into<Expr>,
    virial: impl Into<Expr>,
    vapour: impl Into<Expr>,
) -> Expr {
    let ratio = pascal.into() / kelvin.into();
    let c = Expr::renamed_coefficient;
    let first = ratio.clone() * virial;
    let second = ratio.power(2)
        * (c(&["a_Z,1", "d"], 1.83e-11, &KELVIN_2_PER_PASCAL_2)
            + c(&["a_Z,2", "e"], -7.65e-9, &KELVIN_2_PER_PASCAL_2) * vapour.into().power(2));
    Expr::Sum(vec![Expr::number(1.0), -first, second])
}

/// Density of moist air in g/mL: `p Mₐ / (Z R T) · (1 − x_v (1 − M_v/Mₐ))` from pressure (Pa), compressibility factor,
/// temperature (K) and mole fraction of water vapour.
pub fn density(
    pascal: impl Into<Expr>,
    compressibility: impl Into<Expr>,
    kelvin: impl Into<Expr>,
    vapour: impl Into<Expr>,
) -> Expr {
    let dry = || Expr::coefficient("M_a", 28.965_46e-3, &KILOGRAM_PER_MOLE);
    let pressure: Expr = pascal.into();
    let gas = pressure * dry()
        / (compressibility.into()
            * Expr::coefficient("R", 8.314_472, &JOULE_PER_MOLE_KELVIN)
            * kelvin);
    let lighter = vapour.into()
        * (Expr::number(1.0) - Expr::coefficient("M_v", 18.015_28e-3, &KILOGRAM_PER_MOLE) / dry());
    gas * (Expr::number(1.0) - lighter)
        / Expr::conversion(&Unit::GRAM_PER_MILLILITRE, &Unit::KILOGRAM_PER_CUBIC_METRE)
}
