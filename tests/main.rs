//! Every test from outside, in one program, so that it is linked once.

mod bad_runs;
mod published_rounding;
