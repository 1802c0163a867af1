//! The fuzz target [`targets::table`].

#![no_main]

#[allow(dead_code, reason = "each target is one of its functions")]
mod targets;

libfuzzer_sys::fuzz_target!(|input: &[u8]| targets::table(input));
