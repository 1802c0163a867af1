//! Sentences about entries, which have one name on the screen and another on a page.

use std::fmt;

use serde::{Serialize, Serializer};

/// A sentence or two that may name entries of the run file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Message(Vec<Piece>);

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Text(String),
    /// An entry, by its name in the run file.
    Entry(String),
}

impl Message {
    pub(super) fn add(&mut self, text: impl Into<String>) {
        self.0.push(Piece::Text(text.into()));
    }

    pub(super) fn add_entry(&mut self, entry: &str) {
        self.0.push(Piece::Entry(entry.to_owned()));
    }

    /// The text, with each entry as `name` calls it.
    pub fn naming(&self, name: impl Fn(&str) -> String) -> String {
        let pieces = self.0.iter().map(|piece| match piece {
            Piece::Text(text) => text.clone(),
            Piece::Entry(entry) => name(entry),
        });
        pieces.collect()
    }
}

impl<T: Into<String>> From<T> for Message {
    fn from(text: T) -> Self {
        Self(vec![Piece::Text(text.into())])
    }
}

/// With entries as the run file calls them.
impl fmt::Display for Message {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.naming(str::to_owned))
    }
}

impl Serialize for Message {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
