//! The problems of a file, gathered.

use crate::problem::{Code, Place, Problem};
use std::collections::BTreeMap;

/// No more problems are listed than these; someone mends the first ones first.
const MOST_PROBLEMS: usize = 200;

/// The problems found so far.
#[derive(Default)]
pub(super) struct Diagnostics {
    problems: Vec<Problem>,
    unlisted: usize,
    /// The problem of each cause that shows in many places.
    by_cause: BTreeMap<String, usize>,
}

impl Diagnostics {
    /// Whether further problems are only counted.
    pub(super) fn is_full(&self) -> bool {
        self.problems.len() >= MOST_PROBLEMS
    }

    /// How many have been noted.
    pub(super) fn count(&self) -> usize {
        self.problems.len() + self.unlisted
    }

    /// Notes a problem. It is made only if it will be listed.
    pub(super) fn add(&mut self, problem: impl FnOnce() -> Problem) {
        if self.is_full() {
            self.unlisted += 1;
        } else {
            self.problems.push(problem());
        }
    }

    /// Notes a problem whose one cause may show in many places: only the first time, with the others listed.
    pub(super) fn add_once(
        &mut self,
        cause: String,
        place: &Place,
        problem: impl FnOnce() -> Problem,
    ) {
        /// More places than these do not help.
        const MOST_PLACES: usize = 20;
        match self
            .by_cause
            .get(&cause)
            .and_then(|index| self.problems.get_mut(*index))
        {
            Some(first) if first.also.len() < MOST_PLACES => {
                first.also.push((place.clone(), "the same here".to_owned()));
            }
            Some(_) => {}
            None => {
                self.by_cause.insert(cause, self.problems.len());
                self.add(problem);
            }
        }
    }

    /// Notes a blank that more than one entry needs filled.
    pub(super) fn add_blank(&mut self, blank: &Problem) {
        if !self.by_cause.contains_key(&blank.entry) {
            self.by_cause
                .insert(blank.entry.clone(), self.problems.len());
            self.add(|| blank.clone());
        }
    }

    /// All of them, in the order of the run file, then of the files beside it.
    pub(super) fn into_problems(self, run: &str) -> Vec<Problem> {
        let mut problems = self.problems;
        crate::problem::sort_from(&mut problems, run);
        if self.unlisted > 0 {
            problems.push(Problem::error(
                Code::MoreProblems,
                format!("Problems not listed: {}.", self.unlisted),
            ));
        }
        problems
    }
}
