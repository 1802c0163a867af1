//! **What:** nothing is recorded of how ware was rinsed with the liquid it took next, or of how solutions were mixed.
//!
//! **Why it matters:** a film of the previous liquid mixes with the next; a flask just filled to the mark is strong below
//! and weak above. What is not recorded may well have been done: this judges nothing.
//!
//! **Source:** common practice, no source.

use super::conditioning::not_recorded;
use super::{Bench, Flag, listed};
use crate::bench::runfile::model::{FlagCode, Origin};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let unrinsed = not_recorded(bench);
    let made = bench.run.solutions.iter();
    let made = made.filter(|s| !matches!(s.origin, Origin::Pure | Origin::Unknown));
    let mixed = bench.run.practice.mixed.is_some();
    let unmixed: Vec<&str> = made
        .filter(|s| !mixed && s.mixed.is_none())
        .map(|s| s.name.value.as_str())
        .collect();
    let mut message: Vec<String> = Vec::new();
    if !unrinsed.is_empty() {
        message.push(format!("Rinsing not recorded: {}.", listed(&unrinsed)));
    }
    if !unmixed.is_empty() {
        message.push(format!("Mixing not recorded: {}.", listed(&unmixed)));
    }
    if message.is_empty() {
        return;
    }
    flags.push(Flag::new(
        FlagCode::NotRecorded,
        "practice",
        message.join(" "),
        "A film of the previous liquid mixes with the next; a flask just filled is not uniform until it is mixed.",
    ));
}
