//! The unit that a report states densities in.
//!
//! Values are kept in g/mL. 1 g/mL is 1000 kg/m³ exactly, so a density in the other unit is the same decimal number with
//! its point three places further: it is rounded in g/mL, and never multiplied.

use super::Unit;
use super::rounding::{Rounded, without_last_zeros};

/// The unit that a report states densities in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum DensityUnit {
    /// g/mL.
    #[default]
    GramPerMillilitre,
    /// kg/m³.
    KilogramPerCubicMetre,
}

impl DensityUnit {
    /// Returns the unit in which quantities of a given unit are shown.
    pub fn show(self, unit: &'static Unit) -> ShownIn {
        match (self, unit.by_cubic_metre) {
            (Self::KilogramPerCubicMetre, Some(unit)) => ShownIn { unit, power: 3 },
            _ => ShownIn { unit, power: 0 },
        }
    }

    /// Returns the unit that densities are shown in.
    pub fn of_density(self) -> ShownIn {
        self.show(&Unit::GRAM_PER_MILLILITRE)
    }

    /// Returns the unit of small differences of densities, whose number is that in mg/mL.
    pub fn of_difference(self) -> &'static str {
        match self {
            Self::GramPerMillilitre => "mg/mL",
            Self::KilogramPerCubicMetre => Unit::KILOGRAM_PER_CUBIC_METRE.symbol,
        }
    }
}

/// A unit that values of another one are shown in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShownIn {
    /// The unit shown.
    pub unit: &'static Unit,
    /// The power of ten that values are multiplied by for it.
    pub power: i32,
}

impl ShownIn {
    /// Returns a value, rounded in its own unit, to so many significant figures.
    pub fn significant(self, value: f64, figures: u32) -> String {
        Rounded::significant(value, figures).map_or_else(
            || value.to_string(),
            |value| self.rounded(value).to_string(),
        )
    }

    /// Returns the same with its unit, as a sentence has it.
    pub fn in_words(self, value: f64, figures: u32) -> String {
        format!("{} {}", self.significant(value, figures), self.unit)
    }

    /// Returns a value to so many significant figures, without the zeros that end a decimal.
    pub fn shortest(self, value: f64, figures: u32) -> String {
        without_last_zeros(&self.significant(value, figures)).to_owned()
    }

    /// Returns a value whose last digit is at the power of ten `place` in its own unit.
    pub fn to_place(self, value: f64, place: i32) -> String {
        match Rounded::to_place(value, place) {
            Some(rounded) if self.power == 0 => rounded.value(),
            // Zeros that the value does not have in its own unit are not significant.
            Some(rounded) => self.rounded(rounded).to_string(),
            None => value.to_string(),
        }
    }

    /// Returns a number that was rounded in its own unit.
    pub fn rounded(self, number: Rounded) -> Rounded {
        number.shifted(self.power)
    }

    /// Returns a value as a binary number, which may be off in its last bit.
    pub fn scaled(self, value: f64) -> f64 {
        value * 10f64.powi(self.power)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_moves_and_no_digit_changes() {
        let [plain, shifted] = [
            DensityUnit::GramPerMillilitre,
            DensityUnit::KilogramPerCubicMetre,
        ]
        .map(DensityUnit::of_density);
        for (value, figures, in_millilitres, in_cubic_metres) in [
            (1.134_649, 5, "1.1346", "1134.6"),
            (0.001_800, 2, "0.0018", "1.8"),
            (8.6e-7, 2, "8.6 × 10⁻⁷", "0.00086"),
            (1.069, 2, "1.1", "1.1 × 10³"),
            (-0.000_25, 1, "−0.0002", "−0.2"),
            (0.0, 2, "0", "0"),
        ] {
            assert_eq!(plain.significant(value, figures), in_millilitres);
            assert_eq!(shifted.significant(value, figures), in_cubic_metres);
        }
        assert_eq!(shifted.to_place(1.07, -2), "1.07 × 10³");
        assert_eq!(shifted.to_place(1.07, -4), "1070.0");
        assert_eq!(shifted.shortest(8.0, 6), "8000");
        assert_eq!((plain.unit.symbol, plain.power), ("g/mL", 0));
        assert_eq!((shifted.unit.symbol, shifted.power), ("kg/m³", 3));
        let litre = DensityUnit::KilogramPerCubicMetre.show(&Unit::GRAM_PER_LITRE);
        assert_eq!((litre.unit.symbol, litre.power), ("g/L", 0));
    }
}
