//! The volume of glass ware away from 20 °C.
//!
//! ISO 4787:2010, *Laboratory glassware — Volumetric instruments — Methods for testing of capacity and for use*: a volume
//! stated for 20 °C grows by the cubic expansion of the glass, `V = V₂₀ (1 + α (t − 20 °C))`, and a volume found at `t` is
//! brought to 20 °C by `1 − α (t − 20 °C)`.

use crate::bench::quantity::Unit;
use crate::bench::worksheet::Expr;

/// The source, as it is cited in a report.
pub const SOURCE: &str = "ISO 4787:2010";

/// Unit of the coefficients of ware.
pub const COEFFICIENT_UNIT: Unit = Unit::derived("1/°C", &[(Unit::ONE, 1), (Unit::CELSIUS, -1)]);

/// Temperature that the volumes of ware are stated for, °C.
pub const REFERENCE_TEMPERATURE: f64 = 20.0;

/// Relative standard uncertainty (a pure number) of a coefficient: ours, from the spread of what makers state for glasses
/// of one kind.
pub const RELATIVE_STANDARD_UNCERTAINTY: f64 = 0.05;

/// The source of the expansion of hydrometers, as it is cited in a report.
pub const HYDROMETER_SOURCE: &str = "ISO 1768:1975";

/// Cubic expansion coefficient of the glass of a hydrometer, 1/°C, of ISO 1768:1975, *Glass hydrometers —
/// Conventional value for the thermal cubic expansion coefficient*. (ASTM D1250 has 2.3e-5.)
pub const HYDROMETER_COEFFICIENT: f64 = 2.5e-5;

/// Returns a density (g/mL) from what a hydrometer shows at a temperature (°C) and the one its scale holds at (°C),
/// with the coefficient of its glass in 1/°C: `ρ = R (1 − γ (t − t₀))`.
pub fn shown_by_hydrometer(
    shown: impl Into<Expr>,
    coefficient: impl Into<Expr>,
    t: impl Into<Expr>,
    standard: impl Into<Expr>,
) -> Expr {
    shown.into() * (Expr::number(1.0) - coefficient.into() * (t.into() - standard.into()))
}

/// What glass ware is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Glass {
    /// Borosilicate glass 3.3.
    Borosilicate,
    /// Soda-lime glass.
    SodaLime,
}

impl Glass {
    /// Returns its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Borosilicate => "borosilicate glass",
            Self::SodaLime => "soda-lime glass",
        }
    }

    /// Cubic expansion coefficient, 1/°C.
    pub fn coefficient(self) -> f64 {
        match self {
            Self::Borosilicate => 9.9e-6,
            Self::SodaLime => 2.7e-5,
        }
    }
}

fn above_reference(t: impl Into<Expr>) -> Expr {
    t.into() - Expr::exactly(REFERENCE_TEMPERATURE, &Unit::CELSIUS)
}

/// Returns a volume over what it was, a pure number, from its relative expansion.
pub fn grown(relative: impl Into<Expr>) -> Expr {
    Expr::number(1.0) + relative.into()
}

/// Relative expansion from 20 °C to a temperature (°C), a pure number, from the coefficient in 1/°C.
pub fn from_reference(coefficient: impl Into<Expr>, t: impl Into<Expr>) -> Expr {
    coefficient.into() * above_reference(t)
}

/// Returns the volume at 20 °C over that at a temperature (°C), a pure number, from the coefficient in 1/°C.
pub fn to_reference(coefficient: impl Into<Expr>, t: impl Into<Expr>) -> Expr {
    Expr::number(1.0) - coefficient.into() * above_reference(t)
}

/// Relative expansion from a temperature to another (both °C), a pure number, from the coefficient in 1/°C.
pub fn between(coefficient: impl Into<Expr>, from: impl Into<Expr>, to: impl Into<Expr>) -> Expr {
    coefficient.into() * (to.into() - from)
}
