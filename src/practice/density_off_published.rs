//! **What:** a measured density departs from the published one by more than the uncertainty of the difference.
//!
//! **Why it matters:** either the composition is not what the preparation says, or the bench (ware, balance,
//! temperature) is off by more than is allowed for; in pure water only the bench can be.
//!
//! **Source:** `E_n` as in ISO 13528:2015, 9.7.

use super::{Bench, Flag};
use crate::reduce::Preparation;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    for (name, comparison) in &bench.results.comparison {
        if comparison.en.abs() <= 1.0 {
            continue;
        }
        let solutions = &bench.reduction.solutions;
        let solution = solutions.iter().find(|s| s.name == *name);
        let pure = solution.is_some_and(|s| s.preparation == Preparation::Pure);
        let density = solution.and_then(|s| s.density.as_ref());
        let cause = if pure {
            "Its composition is beyond doubt, so ware, balance or temperature are off by more than is allowed for."
        } else {
            "Either it is not what its preparation says, or ware, balance or temperature are off by more than is allowed for."
        };
        flags.push(Flag {
            code: "density-off-published",
            entry: density.map(|d| d.entry.clone()).unwrap_or_default(),
            message: format!(
                "The density of {name} differs from the published one by {} g/mL, Eₙ = {:.2}. {cause}",
                comparison.difference.shown, comparison.en
            )
            .replace(" = -", " = −"),
        });
    }
}
