//! The cost of unusual input grows no faster than the input: counted in allocations and allocated bytes, never in time.
//!
//! A program of its own, so that nothing else allocates while it counts. A step that allocates nothing is not counted; the
//! bench of the same name shows those.

#[path = "bench/unusual.rs"]
mod unusual;

use fillmark::pipeline;
use fillmark::print::house_style;
use fillmark::print::layout::Style;
use fillmark::problem::{Problem, Rendering, Sources, render};
use fillmark::report::templates::Templates;
use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};
use std::alloc::System;
use std::collections::BTreeMap;
use unusual::{Input, KINDS};

#[global_allocator]
static COUNTING: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

fn shown(problems: &[Problem], sources: &Sources<'_>) {
    for problem in problems {
        assert!(!render(problem, sources, Rendering { colour: false }).is_empty());
    }
}

/// The whole way to a report, or to the problems that keep it from being made.
fn made(input: &Input) -> bool {
    let run = input.run.as_bytes();
    let no_logo = |_: &str| Err("is not there".into());
    let style = match &input.style {
        None => Ok(Style::default()),
        Some(style) => house_style::read("style.yaml", style.as_bytes(), &no_logo),
    };
    let style = match style {
        Ok(style) => style,
        Err(problem) => {
            shown(&[problem], &Sources::none());
            return false;
        }
    };
    let templates = Templates::with("templates", input.templates.clone());
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run, &BTreeMap::new());
    shown(&problems, &sources);
    let Some(read) = read else { return false };
    match read.report_in(run, &templates, &style, "") {
        Ok(_) => true,
        Err(problems) => {
            shown(&problems, &templates.sources());
            false
        }
    }
}

/// What no report is made of at any of the sizes here, as a limit or a mistake keeps it from being made.
const REFUSED: [&str; 4] = [
    "dilutions in a row, beyond it",
    "templates in a folder",
    "brackets in a style file",
    "mistakes in a run file",
];

/// Allocations and allocated bytes, for a report or its refusal.
fn cost(kind: &str, input: &Input) -> [f64; 2] {
    let region = Region::new(COUNTING);
    let made = made(input);
    assert_eq!(made, !REFUSED.contains(&kind), "{kind}");
    let change = region.change();
    let times = change.allocations + change.reallocations;
    [times as f64, change.bytes_allocated as f64]
}

#[test]
fn cost_grows_no_faster_than_input() {
    let mut faster = Vec::new();
    for (kind, least, make) in KINDS {
        // Less than the bench takes, as nothing here is lost in noise.
        let least = least / if least > 5_000 { 16 } else { 4 };
        // What is kept for later reports is no cost of one.
        made(&make(4 * least));
        let costs = [1, 2, 4].map(|times| cost(kind, &make(least * times)));
        for (index, counted) in ["allocations", "bytes"].into_iter().enumerate() {
            let [one, two, four] = costs.map(|cost| cost[index]);
            // What is proportional to the size grows twice as much from two to four as from one to two, its square four
            // times as much; a limit that is reached takes less.
            let slack = 0.02 * one;
            if four - two > 2.4 * (two - one).max(0.0) + slack {
                faster.push(format!("{kind}: {one}, {two}, {four} {counted}"));
            }
        }
    }
    assert!(faster.is_empty(), "{}", faster.join("\n"));
}
