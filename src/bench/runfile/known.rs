//! What solutions are known to hold.

use super::fields::Fields;
use super::model::KnownComposition;
use super::solutions::{Solutions, by_solution};
use super::words;

/// Returns the known compositions of the file.
pub(super) fn read(run: &Fields<'_>, solutions: &Solutions) -> Vec<KnownComposition> {
    let section = run.value(&words::KNOWN);
    let all = by_solution(
        section,
        solutions,
        &words::KNOWN_KEYS,
        |solution, fields, _| {
            let keys = words::STRENGTH_KEYS.iter();
            let given: Vec<_> = keys.filter(|(key, _)| fields.has(*key)).collect();
            if given.is_empty() {
                let right = "`mass percent: 7.00 ± 0.05 %`, with its standard uncertainty; or `mass concentration`, `molarity` or `molality`";
                run.found
                    .add(|| fields.missing(words::MASS_PERCENT.name, right.to_owned()));
            }
            let read = given.into_iter().map(|(key, scale)| {
                Some(KnownComposition {
                    solution: solution.clone(),
                    scale: *scale,
                    value: fields.measure(key)?,
                })
            });
            read.collect::<Option<Vec<_>>>()
        },
    );
    all.into_iter().flatten().collect()
}
