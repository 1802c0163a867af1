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

impl<T> At<T> {
    /// Returns a value read from an entry.
    pub fn new(value: T, entry: Entry) -> Self {
        Self { value, entry }
    }
}

/// A reading: a quantity with its entry and what measured it.
pub type Reading = At<Quantity>;

/// A reference to something named in the file: its index in the list it belongs to.
pub type Ref = At<usize>;

/// Returns the name of the entry at a key of a section, of which that of the whole file is empty.
pub(super) fn child_name(section: &str, key: &str) -> String {
    if section.is_empty() {
        key.to_owned()
    } else {
        format!("{section}.{key}")
    }
}
