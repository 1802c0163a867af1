//! The scales by which the trade names the strength of a sodium chloride brine.
//!
//! Specific gravity 20/20: the density at 20 °C over that of water at 20 °C. Degrees Baumé for liquids heavier than water,
//! by the American modulus: `145 − 145/s`, s the specific gravity at 60 °F over water at 60 °F (National Bureau of
//! Standards, Circular 59, *United States Standard Baumé Hydrometer Scales*, 1916; from memory). Per cent of saturation:
//! the mass percent over that of a saturated brine at the same temperature, with solubilities from the *CRC Handbook of
//! Chemistry and Physics*, 98th ed. (2017), "Solubility of Common Salts at Ambient Temperatures".

use crate::worksheet::Expr;

/// The sources, as they are cited in a report.
pub const SOURCES: &str = "degrees Baumé by the modulus 145 at 60 °F (National Bureau of Standards, Circular 59, 1916); solubility by the CRC Handbook of Chemistry and Physics, 98th ed. (2017), interpolated";

/// Temperature of specific gravity 20/20, °C.
pub const GRAVITY_TEMPERATURE: f64 = 20.0;

/// Temperature of degrees Baumé, 60 °F, in °C as it is customarily rounded; 0.0044 °C changes a density of brine by less
/// than 2 × 10⁻⁶ g/mL.
pub const BAUME_TEMPERATURE: f64 = 15.56;

/// Temperature (°C) and molality of a saturated sodium chloride solution (mol/kg).
const SOLUBILITY: [(f64, f64); 4] = [(10.0, 6.11), (20.0, 6.136), (25.0, 6.153), (35.0, 6.197)];

/// Standard uncertainty, mol/kg, of a tabulated molality: ours, half of what tables differ by.
pub const SOLUBILITY_STANDARD_UNCERTAINTY: f64 = 0.01;

/// Degrees Baumé of a specific gravity (a pure number).
pub fn degrees_baume(gravity: impl Into<Expr>) -> Expr {
    let modulus = || Expr::number(145.0);
    modulus() - modulus() / gravity.into()
}

/// Molality of a saturated solution, mol/kg, at a temperature (°C) of this value; straight between the rows of the table,
/// none outside it.
pub fn solubility(t: impl Into<Expr>, value: f64) -> Option<Expr> {
    let rows = SOLUBILITY.windows(2);
    let between = rows.map(|pair| (pair[0], pair[1]));
    let (low, high) = between
        .into_iter()
        .find(|(low, high)| (low.0..=high.0).contains(&value))?;
    let slope = (high.1 - low.1) / (high.0 - low.0);
    let from_low = t.into() - Expr::factor(low.0, "°C");
    Some(
        Expr::factor(low.1, "mol/kg")
            + Expr::factor((slope * 1e6).round() / 1e6, "(mol/kg)/°C") * from_low,
    )
}

/// Mass percent of a saturated solution from its molality (mol/kg) and the molar mass (g/mol): `100 b M / (1000 + b M)`.
pub fn saturated_mass_percent(molality: impl Into<Expr>, molar_mass: impl Into<Expr>) -> Expr {
    let salt: Expr = molality.into() * molar_mass;
    Expr::factor(100.0, "%") * salt.clone() / (Expr::factor(1000.0, "g/kg") + salt)
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

    #[test]
    fn solubility_meets_the_table_and_ends_with_it() {
        for (t, molality) in SOLUBILITY {
            let found = value(&solubility(Expr::number(t), t).unwrap());
            assert!((found - molality).abs() < 1e-5, "{t} °C: {found}");
        }
        assert!(solubility(Expr::number(9.9), 9.9).is_none(), "colder");
        assert!(solubility(Expr::number(35.1), 35.1).is_none(), "warmer");
        let w = saturated_mass_percent(Expr::number(6.153), Expr::number(58.443));
        assert!((value(&w) - 26.45).abs() < 0.01, "26.45 % at 25 °C");
    }
}
