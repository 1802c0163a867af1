//! Measures of composition.

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
}
