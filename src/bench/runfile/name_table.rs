//! Things of a section by their names.

use super::model::At;
use crate::problem::{Problem, nearest};
use std::collections::BTreeMap;

/// Things by name. Those that could not be read keep their place, so that references to them are no second problem.
pub(super) struct NameTable<T> {
    pub(super) items: Vec<Option<T>>,
    pub(super) names: Vec<At<String>>,
    by_name: BTreeMap<String, usize>,
    /// Whether the section itself could be read; if not, a name that is not here is no second problem.
    pub(super) complete: bool,
}

impl<T> NameTable<T> {
    /// Of nothing yet, with the names it will have.
    pub(super) fn new(names: Vec<At<String>>, complete: bool) -> Self {
        let by_name = names
            .iter()
            .enumerate()
            .map(|(i, name)| (name.value.clone(), i))
            .collect();
        Self {
            items: Vec::with_capacity(names.len()),
            names,
            by_name,
            complete,
        }
    }

    pub(super) fn find(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }

    pub(super) fn get(&self, index: usize) -> Option<&T> {
        self.items.get(index)?.as_ref()
    }

    /// Returns the problem of a name that is not here, with what would be right; `none` where there are no names.
    pub(super) fn suggest(&self, problem: Problem, name: &str, none: &str) -> Problem {
        /// More names than these do not help.
        const MOST_LISTED: usize = 12;
        let names = || self.names.iter().map(|name| name.value.as_str());
        let listed = names().take(MOST_LISTED).collect::<Vec<_>>().join(", ");
        let more = if self.names.len() > MOST_LISTED {
            ", …"
        } else {
            ""
        };
        if self.names.is_empty() {
            return problem.right(none);
        }
        problem.perhaps(nearest(name, names()), &format!("{listed}{more}"))
    }

    /// Returns all of them, if all could be read.
    pub(super) fn into_items(self) -> Option<Vec<T>> {
        self.items.into_iter().collect()
    }
}
