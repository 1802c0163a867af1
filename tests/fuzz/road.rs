//! The fuzz target [`targets::road`].

#![no_main]

#[allow(dead_code, reason = "each target is one of its functions")]
mod targets;

libfuzzer_sys::fuzz_target!(|input: &[u8]| targets::road(input));
