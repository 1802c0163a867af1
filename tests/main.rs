//! Every test from outside, in one program, so that it is linked once.

mod published_rounding;
