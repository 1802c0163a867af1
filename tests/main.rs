//! Every test from outside, in one program, so that it is linked once.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test fails by panicking, and prints its seed"
)]

mod bad_runs;
mod common;
mod fit_laws;
mod laws;
mod mutants;
mod pdf_bytes;
mod plans;
mod published_fits;
mod published_references;
mod published_rounding;
mod published_runs;
mod published_worksheets;
mod run_file;
mod second;
