//! The scales by which the trade names the strength of a sodium chloride brine.
//!
//! Specific gravity 20/20: the density at 20 °C over that of water at 20 °C. Degrees Baumé for liquids heavier than water,
//! by the American modulus: `145 − 145/s`, s the specific gravity at 60 °F over water at 60 °F (National Bureau of
//! Standards, Circular 59, *United States Standard Baumé Hydrometer Scales*, 1916; from memory). Per cent of saturation:
//! the mass percent over that of a saturated brine at the same temperature ([`super::solubility`]).

use crate::bench::quantity::Unit;
use crate::bench::worksheet::Expr;

/// The sources, as they are cited in a report.
pub const SOURCES: &str =
    "degrees Baumé by the modulus 145 at 60 °F (National Bureau of Standards, Circular 59, 1916)";

/// Temperature of specific gravity 20/20, °C.
pub const GRAVITY_TEMPERATURE: f64 = 20.0;

/// Temperature of degrees Baumé, 60 °F, in °C as it is customarily rounded; 0.0044 °C changes a density of brine by less
/// than 2 × 10⁻⁶ g/mL.
pub const BAUME_TEMPERATURE: f64 = 15.56;

/// Where degrees Baumé are defined, as it is cited in a report.
pub const BAUME_SOURCE: &str = "National Bureau of Standards, Circular 59, 1916";

/// Degrees Baumé of a specific gravity (a pure number).
pub fn degrees_baume(gravity: impl Into<Expr>) -> Expr {
    let modulus = || Expr::exactly(145.0, &Unit::DEGREE_BAUME);
    modulus() - modulus() / gravity.into()
}

/// Returns the specific gravity (a pure number) of degrees Baumé by a modulus (both °Bé): `M/(M − B)`.
pub fn gravity_of_baume(modulus: impl Into<Expr>, degrees: impl Into<Expr>) -> Expr {
    let modulus: Expr = modulus.into();
    modulus.clone() / (modulus - degrees.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(formula: &Expr) -> f64 {
        formula.value(&|_| f64::NAN)
    }

    #[test]
    fn baume_of_known_gravities() {
        // 145/(145 − 24) is the gravity of 24 degrees by definition; water has none.
        for (gravity, degrees) in [(1.0, 0.0), (145.0 / 121.0, 24.0), (1.16, 20.0)] {
            assert!((value(&degrees_baume(Expr::number(gravity))) - degrees).abs() < 1e-12);
        }
    }
}
