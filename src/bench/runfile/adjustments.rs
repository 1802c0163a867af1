//! Strengths that solutions are brought to.

use super::fields::Fields;
use super::model::Adjustment;
use super::solutions::{Solutions, by_solution};
use super::words;

/// Returns the adjustments of the file.
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
