//! How solutions came to be: what was weighed, made up, taken of another one.

use super::at::{At, Reading, Ref};

/// How a solution came to be.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// Pure water.
    Pure,
    /// Not known: to be found from its density.
    Unknown,
    /// Salt weighed and made up to a volume.
    MadeUp {
        /// The salt.
        weighed: Weighed,
        /// The volume.
        made_up: MadeUp,
    },
    /// Salt weighed and water weighed or measured out.
    ByMass {
        /// The salt.
        weighed: Weighed,
        /// The water.
        solvent: Solvent,
    },
    /// A volume of another solution made up to a new volume.
    Dilution {
        /// What was taken.
        aliquot: Aliquot,
        /// The new volume.
        made_up: MadeUp,
    },
}

/// The water that salt was dissolved in.
#[derive(Debug, Clone, PartialEq)]
pub enum Solvent {
    /// Weighed.
    Weighed(Box<Weighed>),
    /// Measured out by volume.
    Measured(Delivered),
}

/// A volume in one or several deliveries.
#[derive(Debug, Clone, PartialEq)]
pub struct Delivered {
    /// Each delivery, mL.
    pub deliveries: Vec<Reading>,
    /// What delivered them; `None` if every delivery states its own uncertainty.
    pub with: Option<Ref>,
}

/// A mass, by two readings or by one on a tared balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// The readings.
    pub readings: WeighedReadings,
    /// The balance; `None` if every reading states its own uncertainty.
    pub balance: Option<Ref>,
}

/// The readings of a weighing, g.
#[derive(Debug, Clone, PartialEq)]
pub enum WeighedReadings {
    /// By difference: the vessel before and after it was emptied.
    Difference {
        /// With the substance.
        before: Reading,
        /// Without it.
        after: Reading,
    },
    /// Into a tared vessel.
    Tared {
        /// The reading.
        mass: Reading,
    },
}

/// Filling up to a volume.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeUp {
    /// The volume, mL.
    pub to: Reading,
    /// The vessel; `None` if the volume states its own uncertainty.
    pub vessel: Option<Ref>,
    /// How often the vessel was rinsed with water before, a count.
    pub rinsed: Option<At<u32>>,
    /// By how much it was filled over the mark, mL.
    pub over_mark: Option<Reading>,
}

/// What was taken of another solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Aliquot {
    /// The other solution, an index into [`super::model::RunFile::solutions`].
    pub of: Ref,
    /// The deliveries, mL; one or more.
    pub deliveries: Vec<Reading>,
    /// What delivered them; `None` if every delivery states its own uncertainty.
    pub with: Option<Ref>,
    /// How often that was rinsed with the solution before, a count.
    pub rinsed: Option<At<u32>>,
}
