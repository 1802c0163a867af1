//! Every test from outside, in one program, so that it is linked once.

mod bad_runs;
mod mutants;
mod published_rounding;
