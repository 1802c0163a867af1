//! The scales of hydrometers and density meters.

use super::at::{Entry, Reading};
use crate::bench::quantity::Dimension;

/// What the scale of a hydrometer or density meter shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleKind {
    /// Density.
    Density,
    /// Density over that of water.
    SpecificGravity,
    /// Degrees Baumé for liquids heavier than water.
    DegreesBaume,
    /// Per cent of a saturated sodium chloride brine, by its mass percent.
    Saturation,
}

impl ScaleKind {
    /// Returns the dimension of what it shows.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Density => Dimension::Density,
            Self::SpecificGravity => Dimension::SpecificGravity,
            Self::DegreesBaume => Dimension::DegreesBaume,
            Self::Saturation => Dimension::Saturation,
        }
    }
}

/// The scale of a hydrometer or density meter.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentScale {
    /// What it shows.
    pub shows: Shows,
    /// Temperature at which it holds, °C.
    pub standard: Reading,
    /// Its entry.
    pub entry: Entry,
}

/// What a scale shows, with what its definition needs.
#[derive(Debug, Clone, PartialEq)]
pub enum Shows {
    /// Density.
    Density,
    /// Density over that of water at this temperature, °C; `None`: at that of the scale.
    SpecificGravity(Option<Reading>),
    /// Degrees Baumé, by this modulus, °Bé.
    DegreesBaume(Reading),
    /// Per cent of a brine of this mass fraction, ratio.
    Saturation(Reading),
}

impl Shows {
    /// Returns what it shows, without more.
    pub fn kind(&self) -> ScaleKind {
        match self {
            Self::Density => ScaleKind::Density,
            Self::SpecificGravity(_) => ScaleKind::SpecificGravity,
            Self::DegreesBaume(_) => ScaleKind::DegreesBaume,
            Self::Saturation(_) => ScaleKind::Saturation,
        }
    }
}
