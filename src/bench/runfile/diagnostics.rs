//! The problems of a file, gathered.

use crate::problem::{Code, Problem, Span};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// No more problems are listed than these; someone mends the first ones first.
const MOST_PROBLEMS: usize = 200;

/// The problems found so far. Whatever reads shares them, so that a reader returns a value or none, and why is here.
#[derive(Default)]
pub(super) struct Diagnostics(RefCell<Gathered>);

/// Says that what is wrong stands in the diagnostics.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reported;

#[derive(Default)]
struct Gathered {
    problems: Vec<Problem>,
    unlisted: usize,
    /// The problem of each cause that shows in many places.
    by_cause: BTreeMap<String, usize>,
}

impl Diagnostics {
    /// Returns whether further problems are only counted.
    pub(super) fn is_full(&self) -> bool {
        self.0.borrow().problems.len() >= MOST_PROBLEMS
    }

    /// Returns how many have been noted.
    pub(super) fn count(&self) -> usize {
        let found = self.0.borrow();
        found.problems.len() + found.unlisted
    }

    /// Notes a problem. It is made only if it will be listed.
    pub(super) fn add(&self, problem: impl FnOnce() -> Problem) {
        if self.is_full() {
            self.0.borrow_mut().unlisted += 1;
        } else {
            // Making it may ask how full the list is.
            let problem = problem();
            self.0.borrow_mut().problems.push(problem);
        }
    }

    /// Notes a problem whose one cause may show in many places: only the first time, with the others listed.
    pub(super) fn add_once(&self, cause: String, span: &Span, problem: impl FnOnce() -> Problem) {
        /// More places than these do not help.
        const MOST_PLACES: usize = 20;
        let mut found = self.0.borrow_mut();
        if let Some(index) = found.by_cause.get(&cause).copied() {
            if let Some(first) = found.problems.get_mut(index)
                && first.also.len() < MOST_PLACES
            {
                first.also.push((span.clone(), "the same here".to_owned()));
            }
            return;
        }
        let next = found.problems.len();
        found.by_cause.insert(cause, next);
        drop(found);
        self.add(problem);
    }

    /// Notes a blank that more than one entry needs filled.
    pub(super) fn add_blank(&self, blank: &Problem) {
        let mut found = self.0.borrow_mut();
        let next = found.problems.len();
        if !found.by_cause.contains_key(&blank.entry) {
            found.by_cause.insert(blank.entry.clone(), next);
            drop(found);
            self.add(|| blank.clone());
        }
    }

    /// Returns all of them, in the order of the run file, then of the files beside it.
    pub(super) fn into_problems(self, run: &str) -> Vec<Problem> {
        let Gathered {
            mut problems,
            unlisted,
            ..
        } = self.0.into_inner();
        crate::problem::sort_from(&mut problems, run);
        if unlisted > 0 {
            problems.push(Code::MoreProblems.error(format!("Problems not listed: {unlisted}.")));
        }
        problems
    }
}
