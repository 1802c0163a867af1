//! To be built.
