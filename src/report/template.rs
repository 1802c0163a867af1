//! A template, and all of them by name.

use std::collections::BTreeMap;

/// The template that orders the sections.
pub const ORDER: &str = "report.md";

/// A template and the file it stands in, as problems name it.
#[derive(Debug, Clone)]
pub(super) struct Template {
    pub(super) file: String,
    pub(super) text: String,
    /// Of the user's own; the others are known to be good.
    pub(super) own: bool,
}

/// Templates by their names.
pub(super) type Texts = BTreeMap<String, Template>;
