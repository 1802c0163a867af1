//! **What:** nothing is recorded of how a solution was mixed.
//!
//! **Why it matters:** a flask just filled to the mark is strong below and weak above; what is pipetted from it first is
//! neither.
//!
//! **Source:** common practice, no source.

use super::{Bench, Flag, listed};
use crate::runfile::model::{FlagCode, Origin};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    if bench.run.practice.mixed.is_some() {
        return;
    }
    let made = bench
        .run
        .solutions
        .iter()
        .filter(|s| !matches!(s.origin, Origin::Pure | Origin::Unknown));
    let unmixed: Vec<&str> = made
        .filter(|s| s.mixed.is_none())
        .map(|s| s.name.value.as_str())
        .collect();
    let entry = match unmixed.as_slice() {
        [] => return,
        [one] => format!("solutions.{one}"),
        _ => "solutions".to_owned(),
    };
    flags.push(Flag::new(
        FlagCode::NotMixed,
        entry,
        format!(
            "No mixing is recorded of {}. Write `mixed` at each, or under `practice` for all.",
            listed(&unmixed)
        ),
        "A flask just filled to the mark is strong below and weak above.",
    ));
}
