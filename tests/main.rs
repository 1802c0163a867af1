//! Every test from outside, in one program, so that it is linked once.

mod fit_laws;
mod pdf_bytes;
mod published_fits;
mod published_rounding;
