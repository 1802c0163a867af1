//! Input that is broken, hostile or merely odd: told in one clear problem, or taken as the text it is.

use crate::common::{path, read};
use fillmark::cli::pipeline;
use fillmark::report::templates::Templates;
use std::time::{Duration, Instant};

fn short() -> String {
    read(&path("tests/runs/short.yaml"))
}

/// The code of the one problem of a run file, which is found at once.
#[track_caller]
fn refused(what: &str, bytes: &[u8]) -> (&'static str, String) {
    let begun = Instant::now();
    let (run, problems) = pipeline::read("run.yaml", bytes);
    let took = begun.elapsed();
    assert!(took < Duration::from_secs(5), "{what} took {took:?}");
    assert!(run.is_none(), "{what} is taken for good");
    assert_eq!(problems.len(), 1, "{what}: {problems:#?}");
    let problem = &problems[0];
    (problem.code, problem.right.clone().unwrap_or_default())
}

#[test]
fn what_is_no_run_file_is_told_in_one_problem() {
    let utf_16 = |units: &dyn Fn(u16) -> [u8; 2], mark: &[u8]| {
        let units = short().encode_utf16().flat_map(units).collect::<Vec<u8>>();
        [mark, &units].concat()
    };
    let deep = |open: &str, close: &str| {
        format!("title: {}x{}\n", open.repeat(10_000), close.repeat(10_000))
    };
    let deep_lines: String = (0..10_000)
        .map(|depth| format!("{}a:\n", " ".repeat(depth)))
        .collect();
    let dashes = format!("notes:\n  {}x\n", "- ".repeat(10_000));
    let bomb: String = (1..40)
        .map(|i| format!("k{i}: &k{i} [*k{0}, *k{0}, *k{0}, *k{0}]\n", i - 1))
        .collect();
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("nothing", Vec::new(), "empty-file"),
        ("white space", b" \n\n  \n".to_vec(), "empty-file"),
        ("comments", b"# one\n  # two\n".to_vec(), "empty-file"),
        ("byte order mark alone", "\u{feff}".into(), "empty-file"),
        (
            "UTF-16, little end first",
            utf_16(&u16::to_le_bytes, &[0xff, 0xfe]),
            "not-utf-8",
        ),
        (
            "UTF-16, big end first",
            utf_16(&u16::to_be_bytes, &[0xfe, 0xff]),
            "not-utf-8",
        ),
        (
            "UTF-16 without mark",
            utf_16(&u16::to_le_bytes, &[])
                .into_iter()
                .filter(u8::is_ascii)
                .collect(),
            "control-character",
        ),
        (
            "Latin-1",
            short()
                .replace("°", "\u{1}")
                .bytes()
                .map(|b| if b == 1 { 0xb0 } else { b })
                .collect(),
            "not-utf-8",
        ),
        (
            "carriage returns alone",
            short().replace('\n', "\r").into(),
            "lone-carriage-return",
        ),
        (
            "a tab",
            short().replace("  water:", "\twater:").into(),
            "tab-indent",
        ),
        ("brackets", deep("[", "]").into(), "nested-too-deep"),
        (
            "brackets without end",
            deep("[", "").into(),
            "nested-too-deep",
        ),
        ("braces", deep("{a: ", "}").into(), "nested-too-deep"),
        ("lines", deep_lines.into(), "nested-too-deep"),
        ("dashes", dashes.into(), "nested-too-deep"),
        (
            "aliases of aliases",
            format!("k0: &k0 [a]\n{bomb}").into(),
            "too-many-aliased",
        ),
        (
            "a date that does not exist",
            short().replace("2026-03-04", "2026-02-30").into(),
            "not-a-day",
        ),
        (
            "an infinite reading",
            short().replace("41.176 g", ".inf").into(),
            "not-a-number",
        ),
        (
            "not a number",
            short().replace("41.176 g", "nan").into(),
            "not-a-number",
        ),
        (
            "10^400",
            short().replace("41.176 g", "1e400 g").into(),
            "not-a-number",
        ),
        (
            "10^400 in full",
            short()
                .replace("41.176 g", &format!("1{} g", "0".repeat(400)))
                .into(),
            "not-a-number",
        ),
        (
            "an empty name",
            short()
                .replace(
                    "  tall cylinder: {",
                    "  '': {kind: flask, capacity: 50 mL, class: A}\n  tall cylinder: {",
                )
                .into(),
            "no-name",
        ),
        (
            "a name twice",
            short()
                .replace("  bath 3: {", "  bath 3: {unknown: true}\n  bath 3: {")
                .into(),
            "name-used-twice",
        ),
        (
            "a key twice",
            short()
                .replace("solute:", "solute: sodium chloride\nsolute:")
                .into(),
            "key-used-twice",
        ),
        (
            "a control character in quotes",
            short().replace("title: ", "title: \"\\a\" #").into(),
            "control-character",
        ),
        (
            "a zero in quotes",
            short()
                .replace("  bath 3: {", "  \"b\\0\": {pure: true}\n  bath 3: {")
                .into(),
            "control-character",
        ),
    ];
    for (what, bytes, code) in cases {
        let (told, right) = refused(what, &bytes);
        assert_eq!(told, code, "{what}");
        if what.starts_with("UTF-16") {
            assert!(right.contains("UTF-16"), "{what}: {right}");
        }
    }
}

#[test]
fn a_long_file_takes_time_in_proportion() {
    let weighing = "{empty: 31.204 g, filled: 42.480 g, volume: 10.00 mL, colour: red},\n      ";
    let text =
        |count: usize| short().replace("    A: [", &format!("    A: [{}", weighing.repeat(count)));
    let (run, problems) = pipeline::read("run.yaml", text(20_000).as_bytes());
    assert!(
        run.is_none() && problems.len() < 300,
        "{} problems",
        problems.len()
    );
}

/// A text as a YAML value in quotes: JSON's quotes are YAML's.
fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("text")
}

#[test]
fn odd_names_come_out_as_text() {
    let long = "long name ".repeat(40);
    let mut faults: Vec<String> = Vec::new();
    for name in [
        "**x**",
        "_x_",
        "<b>",
        "</b>&amp;",
        "{{ x }}",
        "{% x %}",
        "{# x",
        "$x$",
        "$$",
        "a|b",
        "`x`",
        "```",
        "[x](y)",
        "# x",
        "- x",
        "> x",
        "1. x",
        "---",
        "\\frac{1}{2}",
        "\\",
        "%",
        "~~x~~",
        "x_{2}^3",
        "A & B",
        "1",
        "3.5",
        "true",
        "null",
        "~",
        "!",
        "x: y",
        "'\"",
        "\u{00e9}t\u{00e9}",
        "Na\u{207a}",
        "\u{3b1}",
        "two\nlines",
        "tab\there",
        "right\u{200f}left",
        "turned\u{202e}round",
        "no\u{a0}break",
        "soft\u{ad}hyphen",
        "zero\u{200b}width",
        &long,
    ] {
        let odd = quoted(name);
        let text = short()
            .replace(
                "title: Brine bath strength by density",
                &format!("title: {odd}"),
            )
            .replace(
                "R. Example",
                &format!("[{odd}]\nplace: {odd}\naim: {odd}\nprocedure: [{odd}]\nnotes: [{odd}]"),
            )
            .replace("  tall cylinder:", &format!("  {odd}:"))
            .replace("in: tall cylinder", &format!("in: {odd}"))
            .replace("  B:", &format!("  {odd}:"))
            .replace(
                "    bath 3: [",
                &format!("    bath 3: [{{empty: 1, filled: 2, volume: 10.00, left_out: {odd}}}, "),
            );
        let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
        let Some(run) = run.filter(|_| problems.is_empty()) else {
            faults.push(format!("{name:?}: {problems:?}"));
            continue;
        };
        let (pdf, warnings) = match run.report(text.as_bytes(), &Templates::default()) {
            Ok(made) => made,
            Err(problems) => {
                faults.push(format!("{name:?}: {problems:?}"));
                continue;
            }
        };
        if !warnings.is_empty() {
            faults.push(format!("{name:?}: {warnings:?}"));
        }
        let words = crate::reports::words(&pdf);
        let (report, _) = words.split_once("TherunfileRun").unwrap_or((&words, ""));
        let seen = |c: &char| {
            !c.is_whitespace()
                && !matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{ad}')
        };
        let bare: String = name.chars().filter(seen).collect();
        let report: String = report.chars().filter(seen).collect();
        let count = report.matches(&bare).count();
        if count < 9 {
            faults.push(format!("{name:?} stands {count} times in the report"));
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
}
