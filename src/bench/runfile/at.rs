//! Values with the entry of the run file that they were read from.

use crate::bench::quantity::Quantity;
use crate::problem::Place;

/// An entry's name and place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name, e.g. `solutions.B.aliquot.volume.2`.
    pub name: String,
    /// Where its value stands.
    pub place: Place,
}

/// A value with the entry it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Its entry.
    pub entry: Entry,
}

/// A reading: a quantity with its entry and what measured it.
pub type Reading = At<Quantity>;

/// A reference to something named in the file: its index in the list it belongs to.
pub type Ref = At<usize>;
