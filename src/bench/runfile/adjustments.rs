//! Strengths that solutions are brought to.

use super::at::{Entry, Reading, Ref};
use super::fields::Fields;
use super::solutions::{Solutions, by_solution};
use super::words;

/// A strength that a solution is brought to.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    /// The solution, an index into the run's.
    pub solution: Ref,
    /// The mass fraction wanted, ratio.
    pub to: Reading,
    /// The volume of the solution, mL.
    pub volume: Reading,
    /// Where it stands.
    pub entry: Entry,
}

/// The adjustments of the file.
pub(super) fn read(run: &Fields<'_>, solutions: &Solutions) -> Vec<Adjustment> {
    let section = run.value(&words::ADJUST);
    by_solution(
        section,
        solutions,
        &words::ADJUST_KEYS,
        |solution, fields, value| {
            let to = fields.measure(&words::ADJUST_TO);
            let volume = fields.measure(&words::ADJUST_VOLUME);
            Some(Adjustment {
                solution: solution.clone(),
                to: to?,
                volume: volume?,
                entry: value.entry(),
            })
        },
    )
}
