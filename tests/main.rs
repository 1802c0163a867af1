//! All tests from outside, in one binary.

mod fit_laws;
mod published_fits;
