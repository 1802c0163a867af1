//! Units in base units of the SI, to compare what formulas give with what is stated.

use std::fmt;

use crate::maths::superscript::raised;

/// Symbols of the base units, in the order of their powers.
const BASE: [&str; 6] = ["kg", "m", "s", "K", "mol", "°Bé"];

/// Relative difference of two factors that only rounding makes.
const ROUNDING: f64 = 1e-9;

/// A unit as a factor times powers of base units; degrees Baumé count as one, since no other unit measures the same.
#[derive(Debug, Clone, Copy)]
pub struct SiUnit {
    factor: f64,
    powers: [i32; BASE.len()],
}

const fn base(powers: [i32; BASE.len()]) -> SiUnit {
    SiUnit {
        factor: 1.0,
        powers,
    }
}

impl SiUnit {
    /// One, the unit of ratios.
    pub const ONE: Self = base([0; BASE.len()]);
    pub(super) const KILOGRAM: Self = base([1, 0, 0, 0, 0, 0]);
    pub(super) const METRE: Self = base([0, 1, 0, 0, 0, 0]);
    pub(super) const PASCAL: Self = base([1, -1, -2, 0, 0, 0]);
    pub(super) const KELVIN: Self = base([0, 0, 0, 1, 0, 0]);
    pub(super) const MOLE: Self = base([0, 0, 0, 0, 1, 0]);
    pub(super) const DEGREE_BAUME: Self = base([0, 0, 0, 0, 0, 1]);

    pub(super) fn scaled(self, factor: f64) -> Self {
        Self {
            factor: self.factor * factor,
            ..self
        }
    }

    /// Returns the product of two units.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        Self {
            factor: self.factor * other.factor,
            powers: std::array::from_fn(|i| self.powers[i] + other.powers[i]),
        }
    }

    /// Returns a whole power of the unit.
    #[must_use]
    pub fn to_power(self, exponent: i32) -> Self {
        Self {
            factor: self.factor.powi(exponent),
            powers: self.powers.map(|power| exponent * power),
        }
    }

    /// Returns the square root of the unit; `None` if a power is odd.
    pub fn root(self) -> Option<Self> {
        self.powers
            .iter()
            .all(|power| power % 2 == 0)
            .then(|| Self {
                factor: self.factor.sqrt(),
                powers: self.powers.map(|power| power / 2),
            })
    }
}

/// Equal but for rounding.
impl PartialEq for SiUnit {
    fn eq(&self, other: &Self) -> bool {
        self.powers == other.powers && (self.factor / other.factor - 1.0).abs() < ROUNDING
    }
}

impl fmt::Display for SiUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.factor)?;
        for (symbol, power) in BASE.iter().zip(self.powers) {
            match power {
                0 => {}
                1 => write!(f, " {symbol}")?,
                _ => write!(f, " {symbol}{}", raised(&power.to_string()))?,
            }
        }
        Ok(())
    }
}
