//! Measures of composition.

use crate::bench::quantity::Unit;

/// A measure of composition, against which density may be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Mass percent, %.
    MassPercent,
    /// Mass concentration, g/L.
    MassConcentration,
    /// Amount concentration, mol/L.
    Molarity,
    /// Molality, mol/kg.
    Molality,
}

impl Scale {
    /// Every measure.
    pub const ALL: [Self; 4] = [
        Self::MassPercent,
        Self::MassConcentration,
        Self::Molarity,
        Self::Molality,
    ];

    /// Returns its words, its name in the results file, its symbol and its unit.
    const fn facts(self) -> (&'static str, &'static str, &'static str, &'static Unit) {
        match self {
            Self::MassPercent => ("mass percent", "mass_percent", "w", &Unit::PERCENT),
            Self::MassConcentration => (
                "mass concentration",
                "mass_concentration",
                "γ",
                &Unit::GRAM_PER_LITRE,
            ),
            Self::Molarity => (
                "amount concentration",
                "molarity",
                "c",
                &Unit::MOLE_PER_LITRE,
            ),
            Self::Molality => ("molality", "molality", "b", &Unit::MOLE_PER_KILOGRAM),
        }
    }

    /// Returns it in words.
    pub fn label(self) -> &'static str {
        self.facts().0
    }

    /// Returns its name in the results file.
    pub fn key(self) -> &'static str {
        self.facts().1
    }

    /// Returns its symbol.
    pub fn symbol(self) -> &'static str {
        self.facts().2
    }

    /// Returns its unit.
    pub fn unit(self) -> &'static Unit {
        self.facts().3
    }

    /// Returns a strength as a run file states it (a ratio, in g/mL, mol/L or mol/kg) in its unit.
    pub fn in_unit(self, strength: f64) -> f64 {
        match self {
            Self::MassPercent => 100.0 * strength,
            Self::MassConcentration => 1000.0 * strength,
            Self::Molarity | Self::Molality => strength,
        }
    }
}
