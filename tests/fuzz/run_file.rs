//! Any bytes as a run file: read and reduced, or refused with problems that can be shown; never a panic.

#![no_main]

use fillmark::pipeline;
use fillmark::problem::{Rendering, render, render_line};
use libfuzzer_sys::fuzz_target;
use std::collections::BTreeMap;

fuzz_target!(|run: &[u8]| {
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run, &BTreeMap::new());
    assert_eq!(read.is_none(), pipeline::any_error(&problems), "{problems:?}");
    for problem in &problems {
        let shown = render(problem, &sources, Rendering { colour: false });
        assert!(shown.len() < 20_000, "a message of {} bytes", shown.len());
        assert!(!render_line(problem).contains('\n'), "one line: {problem:?}");
    }
});
