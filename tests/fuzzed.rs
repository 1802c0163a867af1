//! The fuzz targets build, and samples go through them.

use crate::common::{path, read};
use targets::BETWEEN;

#[path = "fuzz/targets.rs"]
mod targets;

#[test]
fn samples_go_through_the_fuzz_targets() {
    let run = read(&path("tests/runs/short.yaml"));
    targets::run_file(run.as_bytes());
    targets::table(b"solution,empty,filled,volume\nA,31.200,41.541,10.00\n");
    let parts: [&[u8]; 5] = [
        run.as_bytes(),
        b"",
        b"paper: letter\n",
        b"# {{ run.title }}\n",
        b"\x00\x00\x01\x00%",
    ];
    targets::road(&parts.join(BETWEEN));
}

#[test]
fn the_fuzz_targets_take_what_is_no_run_file() {
    for bytes in [&b""[..], b"\xff\xfe", b"title: [", b"\n%%%%\n\n%%%%\n"] {
        targets::run_file(bytes);
        targets::table(bytes);
        targets::road(bytes);
    }
}
