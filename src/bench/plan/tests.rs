//! The search against every way there is.

use super::bench::Bench;
use super::foretell::{foretell, printed};
use super::search::{nodes, series};
use super::series::Series;
use super::weighing::Weighing;
use super::{propose, ways, wishes};
use crate::bench::reduce::molar_mass_of;
use crate::bench::runfile;

const SMALL: &str = "
title: Two solutions
conditions: {liquid: 20 °C}
solute: sodium chloride
apparatus:
  balance: {kind: balance, readability: 0.01 g}
  large: {kind: flask, capacity: 250 mL, class: B}
  small: {kind: flask, capacity: 100 mL, class: A}
  tiny: {kind: flask, capacity: 50 mL, class: B}
  ten: {kind: pipette, capacity: 10 mL, class: B}
  five: {kind: pipette, capacity: 5 mL, class: A}
plan:
  solutions:
    A: {mass percent: 10 %, volume: 60 mL}
    B: {mass percent: 5 %, volume: 45 mL}
  unknown: {expected: 2 to 8 %}
  weighings: 2
";

/// Every series of the ways of each solution, and every way to weigh.
#[test]
fn no_way_at_all_is_better_than_the_best() {
    let (plan, problems) = runfile::read_plan("plan.yaml", SMALL.as_bytes());
    let plan = plan.unwrap_or_else(|| panic!("{problems:#?}"));
    let molar_mass = molar_mass_of(&plan.solute).expect("a molar mass");
    let shape = wishes::shape(&plan, molar_mass).expect("a published density");
    let bench = Bench::new(&plan, &plan.apparatus, shape).expect("strengths that there are");
    let nodes = nodes(&bench);
    let per_gram = ways::per_gram(&bench).expect("a run");
    let all = ways::all(&bench, per_gram, &nodes, None).expect("ways");
    // One way of each solution at a time leaves the search no choice.
    let mut every: Vec<Series> = Vec::new();
    for first in &all.of[0] {
        for second in &all.of[1] {
            let only = ways::Ways {
                of: vec![vec![first.clone()], vec![second.clone()]],
                cut: false,
            };
            every.extend(series(&bench, &nodes, &only, 4).unwrap_or_default());
        }
    }
    assert!(every.len() >= 10, "{} series", every.len());
    let mut best = f64::INFINITY;
    for series in &every {
        for ware in 0..bench.deliver.len() {
            for count in 1..=super::MOST_DELIVERIES_WEIGHED {
                let weighing = Weighing {
                    balance: bench.balances[0],
                    ware,
                    deliveries: bench.deliver[ware].full(count),
                    times: plan.weighings,
                };
                if weighing.is_possible(&bench) {
                    let foretold = foretell(&bench, series, &weighing).expect("a run");
                    best = best.min(printed(foretold.answer()));
                }
            }
        }
    }
    let found = propose(&plan).expect("a proposal").answer();
    assert!(printed(found) <= best, "{found} instead of {best}");
}
