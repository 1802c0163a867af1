//! Every test from outside, in one program, so that it is linked once.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test fails by panicking, and prints its seed"
)]

mod bad_runs;
mod corrections;
mod fit_laws;
mod mutants;
mod pdf_bytes;
mod published_fits;
mod published_rounding;
mod published_weighing;
mod run_file;
mod strength;
mod ware;
mod ways_to_a_density;
