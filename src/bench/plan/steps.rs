//! A series in words: what is to be done, and what tells it from others.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::bench::Bench;
use super::series::{Names, Recipe, Series};
use super::weighing::Weighing;
use crate::bench::practice::conditioning::COMMON;
use crate::bench::quantity::rounding::significant;

/// The largest number of solutions that are listed by name.
const MOST_NAMED: usize = 8;

/// Returns what is to be done, in order.
pub(super) fn steps(bench: &Bench, series: &Series, weighing: &Weighing) -> Vec<String> {
    let names = Names::new(bench);
    let salt = &bench.plan.solute.name.value;
    // What each piece of ware last held.
    let mut held: BTreeMap<usize, String> = BTreeMap::new();
    let mut steps = Vec::new();
    for step in &series.steps {
        let name = names.step(bench, step);
        let vessel = &bench.vessels[step.vessel()];
        let mut text = format!("{name}: ");
        match &step.making {
            Recipe::Weighed { mass, balance, .. } => {
                let on = match bench.balances.len() {
                    1 => String::new(),
                    _ => format!(" on {}", bench.name(*balance)),
                };
                let _ = write!(
                    text,
                    "weigh {} of {salt}{on} into a tared vessel, dissolve it",
                    mass.written
                );
            }
            Recipe::Diluted {
                of, with, aliquot, ..
            } => {
                let ware = &bench.deliver[*with];
                let of = names.step(bench, &series.steps[*of]).to_owned();
                let pipette = bench.name(ware.index);
                let last = held.insert(ware.index, of.clone());
                if last.as_deref() != Some(&of) {
                    let _ = write!(text, "rinse {pipette} {COMMON} times with {of}; ");
                }
                let _ = write!(text, "take {} of {of} with {pipette}", aliquot.written);
            }
        }
        let flask = bench.name(vessel.index);
        let rinse = match held.insert(vessel.index, name.to_owned()) {
            Some(_) => format!(" rinsed {COMMON} times with water"),
            None => String::new(),
        };
        let _ = write!(
            text,
            ", make up to {} in {flask}{rinse}, mix",
            vessel.written
        );
        if step.target.is_none() {
            let gamma = significant(step.gamma, 4).unwrap_or_default();
            let _ = write!(text, " ({gamma} g/L; it is not weighed)");
        }
        steps.push(text + ".");
    }
    let ware = bench.name(bench.deliver[weighing.ware].index);
    let count = bench.targets.len() + 2;
    let balance = match bench.balances.len() {
        1 => String::new(),
        _ => format!(" on {}", bench.name(weighing.balance)),
    };
    steps.push(format!(
        "Densities: weigh {} with {ware}{balance}, {} of each of {count} liquids ({}, the solutions, {}); before each liquid rinse {ware} {COMMON} times with it.",
        weighing.deliveries.written,
        match weighing.times {
            1 => "one weighing".to_owned(),
            times => format!("{times} weighings"),
        },
        names.water,
        names.unknown,
    ));
    steps
}

/// Returns what of a series is weighed out, and whether the rest is a chain: what tells one sort of way from another.
pub(super) fn weighed_out(bench: &Bench, series: &Series) -> (Vec<String>, bool) {
    let names = Names::new(bench);
    let weighed = series.steps.iter().filter_map(|step| match step.making {
        Recipe::Weighed { .. } if step.target.is_none() => {
            let gamma = significant(step.gamma, 4).unwrap_or_default();
            Some(format!("a stock of {gamma} g/L"))
        }
        Recipe::Weighed { .. } => Some(names.step(bench, step).to_owned()),
        Recipe::Diluted { .. } => None,
    });
    (weighed.collect(), series.is_chain())
}

/// Returns a series in a few words.
pub(super) fn in_short(bench: &Bench, series: &Series) -> String {
    let (weighed, is_chain) = weighed_out(bench, series);
    let weighed = if weighed.len() > MOST_NAMED {
        format!("{} solutions", weighed.len())
    } else {
        weighed.join(", ")
    };
    let chain = if is_chain { " in a chain" } else { "" };
    match series.deliveries() {
        0 => format!("{weighed} weighed out"),
        1 => format!("{weighed} weighed out; the others diluted{chain}, 1 delivery"),
        n => format!("{weighed} weighed out; the others diluted{chain}, {n} deliveries"),
    }
}
