//! Values with the entry of the run file that they were read from.

use crate::bench::quantity::Quantity;
pub use crate::problem::Entry;

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
