//! Every test from outside, in one program, so that it is linked once.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test fails by panicking, and prints its seed"
)]

mod bad_runs;
mod fit_laws;
mod mutants;
mod pdf_bytes;
mod published_fits;
mod published_rounding;
mod run_file;
