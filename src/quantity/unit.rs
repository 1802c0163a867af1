//! Units of the bench and their dimensions.

/// What a unit measures, with the base unit that values are kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Mass; base g.
    Mass,
    /// Volume; base mL.
    Volume,
    /// Celsius temperature; base °C.
    Temperature,
    /// Pressure; base hPa.
    Pressure,
    /// Ratio; base 1 (so 48 % is 0.48).
    Ratio,
    /// Density; base g/mL.
    Density,
    /// Molar mass; base g/mol.
    MolarMass,
}

/// A unit: base value = (written value + `offset`) × `factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As it is printed, e.g. `mL`.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Base units in one of it.
    pub factor: f64,
    /// Added to the written value before the factor is applied (temperature scales only).
    pub offset: f64,
}
