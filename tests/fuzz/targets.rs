//! What the fuzz targets do with an input. It stands by itself so that the tests build it, and run it on samples: a target
//! is built by hand, and would not keep up with the program otherwise.
//!
//! To run a target (`run_file`, `table`, or `road`, which is the whole program) for ten minutes:
//!
//! ```sh
//! mkdir -p tests/fuzz/found
//! RUSTFLAGS="--cfg fuzzing -C passes=sancov-module -C llvm-args=-sanitizer-coverage-level=4 \
//!   -C llvm-args=-sanitizer-coverage-inline-8bit-counters -C llvm-args=-sanitizer-coverage-pc-table -C codegen-units=1" \
//!   cargo run --manifest-path tests/fuzz/Cargo.toml --target "$(rustc --print host-tuple)" --bin run_file -- \
//!   tests/fuzz/found sample_runs tests/runs tests/bad_runs -max_len=20000 -timeout=10 -rss_limit_mb=400 -max_total_time=600
//! ```

use fillmark::cli::attachments;
use fillmark::pipeline;
use fillmark::print::house_style;
use fillmark::print::layout::Style;
use fillmark::problem::{Problem, Rendering, Sources, render};
use fillmark::report::templates::{ORDER, Templates};
use std::collections::BTreeMap;

/// What stands between the parts of an input of [`road`].
pub(super) const BETWEEN: &[u8] = b"\n%%%%\n";
/// More than any of these reports carries, bytes.
const MOST_CARRIED: usize = 10_000_000;

fn parts(input: &[u8]) -> [&[u8]; 5] {
    let mut rest = input;
    std::array::from_fn(|_| {
        let at = rest.windows(BETWEEN.len()).position(|part| part == BETWEEN);
        let (part, after) = at.map_or((rest, &[][..]), |at| {
            (&rest[..at], &rest[at + BETWEEN.len()..])
        });
        rest = after;
        part
    })
}

fn shown(problems: &[Problem], sources: &Sources<'_>) {
    for problem in problems {
        let text = render(problem, sources, Rendering { colour: false });
        assert!(text.len() < 20_000, "a message of {} bytes", text.len());
    }
}

/// Any bytes as a run file: read and reduced, or refused with problems that can be shown; never a panic.
pub(super) fn run_file(run: &[u8]) {
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run, &BTreeMap::new());
    assert_eq!(
        read.is_none(),
        problems.iter().any(Problem::is_error),
        "{problems:?}"
    );
    shown(&problems, &sources);
}

/// Any bytes as the table of weighings beside a good run file: read and reduced, or refused with problems that can be
/// shown; never a panic.
pub(super) fn table(table: &[u8]) {
    // A run file that goes without weighings of its own.
    let run = include_str!("../runs/short.yaml");
    let (before, _) = run.split_once("  weighings:").unwrap_or((run, ""));
    let run = format!("{before}  weighings: {{from: readings.csv}}\n");
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.to_vec())]);
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run.as_bytes(), &beside);
    assert_eq!(
        read.is_none(),
        problems.iter().any(Problem::is_error),
        "{problems:?}"
    );
    shown(&problems, &sources);
}

/// Any bytes as all that a report is made from, the whole road: run file, table, style and template in, PDF
/// out, and a damaged report read back. Each is made, or refused with problems that can be shown; what can be reported is
/// reported by the templates that come with the program.
///
/// The parts of an input stand between lines of `%%%%`, in this order: run file, table, style file, `report.md` of a template
/// folder, damage to the report (five bytes each: where, and what stands there instead). Those at the end may be absent.
pub(super) fn road(input: &[u8]) {
    let [run, table, style, template, damage] = parts(input);
    let style = match house_style::read("style.yaml", style, &|_| Err("is not there".into())) {
        Ok(style) => style,
        Err(problem) => {
            shown(&[problem], &Sources::none());
            Style::default()
        }
    };
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.to_vec())]);
    let (read, problems, sources) = pipeline::read_beside("run.yaml", run, &beside);
    assert_eq!(
        read.is_none(),
        problems.iter().any(Problem::is_error),
        "{problems:?}"
    );
    shown(&problems, &sources);
    let Some(read) = read else { return };

    let own = std::str::from_utf8(template)
        .ok()
        .filter(|text| !text.is_empty());
    if let Some(text) = own {
        let templates = Templates::with("own", [(ORDER.to_owned(), text.to_owned())]);
        shown(&templates.unused_templates(), &Sources::none());
        if let Err(problems) = read.report_in(run, &templates, &style, "") {
            assert!(!problems.is_empty(), "refused without a word");
            shown(&problems, &templates.sources());
        }
    }
    let templates = Templates::default();
    let manuscript = read
        .manuscript_in(run, &templates, &style)
        .expect("what is read is reported");
    let attachments = read.attachments(run, "").expect("with its files");
    let (mut pdf, warnings) = pipeline::set(manuscript, attachments, &style, "").expect("and set");
    shown(&warnings, &Sources::none());
    let carries = attachments::read(&pdf, MOST_CARRIED).expect("a report is read back");
    assert_eq!(carries[0].bytes, run, "with its run file");
    for edit in damage.chunks_exact(5) {
        let at = edit[..4]
            .iter()
            .fold(0, |at, byte| at * 256 + usize::from(*byte));
        let length = pdf.len();
        pdf[at % length] = edit[4];
    }
    if let Ok(files) = attachments::read(&pdf, MOST_CARRIED) {
        let bytes: usize = files.iter().map(|file| file.bytes.len()).sum();
        assert!(bytes <= MOST_CARRIED, "{bytes} bytes");
        let before = files
            .first()
            .map(|file| pipeline::read_beside("old.yaml", &file.bytes, &beside).0);
        if let Some(before) = before.flatten() {
            let _ = read.changes_since(&before);
        }
    }
}
