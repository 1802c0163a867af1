//! Any bytes as the table of weighings beside a good run file: read and reduced, or refused with problems that can be
//! shown; never a panic.

#![no_main]

use fillmark::pipeline;
use fillmark::problem::{Rendering, render};
use libfuzzer_sys::fuzz_target;
use std::collections::BTreeMap;

/// A run file that goes without weighings of its own.
const RUN: &str = include_str!("../runs/short.yaml");

fuzz_target!(|table: &[u8]| {
    let (before, _) = RUN.split_once("  weighings:").unwrap_or((RUN, ""));
    let run = format!("{before}  weighings: {{from: readings.csv}}\n");
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.to_vec())]);
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run.as_bytes(), &beside);
    assert_eq!(read.is_none(), pipeline::any_error(&problems), "{problems:?}");
    for problem in &problems {
        let shown = render(problem, &sources, Rendering { colour: false });
        assert!(shown.len() < 20_000, "a message of {} bytes", shown.len());
    }
});
