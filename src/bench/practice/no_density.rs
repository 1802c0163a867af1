//! **What:** a solution has no density, and no other solution is made from it.
//!
//! **Why it matters:** it takes no part in any result; its weighings may have been written under another name.
//!
//! **Source:** common practice, no source.

use std::collections::BTreeSet;

use super::{Bench, Flag};
use crate::bench::runfile::model::{FlagCode, Origin};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let taken = bench.run.solutions.iter();
    let taken: BTreeSet<usize> = taken
        .filter_map(|solution| match &solution.origin {
            Origin::Dilution { aliquot, .. } => Some(aliquot.of.value),
            _ => None,
        })
        .collect();
    for (index, solution) in bench.reduction.solutions.iter().enumerate() {
        if solution.density.is_none() && !taken.contains(&index) {
            let name = &solution.name;
            flags.push(Flag::new(
                FlagCode::NoDensity,
                format!("solutions.{name}"),
                format!(
                    "No density of {name} was measured, and no other solution is made from it."
                ),
                "It contributes to no result; its weighings may be written under another name.",
            ));
        }
    }
}
