//! Input that is broken, hostile or merely odd: told in one clear problem, or taken as the text it is.

use crate::common::{path, read};
use fillmark::pipeline;
use fillmark::report::templates::Templates;

fn short() -> String {
    read(&path("tests/runs/short.yaml"))
}

/// The code of the one problem of a run file.
#[track_caller]
fn refused(what: &str, bytes: &[u8]) -> (&'static str, String) {
    let (run, problems) = pipeline::read("run.yaml", bytes);
    assert!(run.is_none(), "{what} is taken for good");
    assert_eq!(problems.len(), 1, "{what}: {problems:#?}");
    let problem = &problems[0];
    (
        problem.code.name(),
        problem.right.clone().unwrap_or_default(),
    )
}

/// A run file that is not one, and the code of what it is told.
type Broken = (&'static str, Vec<u8>, &'static str);

fn broken_text() -> Vec<Broken> {
    let utf_16 = |units: &dyn Fn(u16) -> [u8; 2], mark: &[u8]| {
        let units = short().encode_utf16().flat_map(units).collect::<Vec<u8>>();
        [mark, &units].concat()
    };
    let latin_1 = |c: char| u8::try_from(c).unwrap_or(b'?');
    let unmarked = utf_16(&u16::to_le_bytes, &[]).into_iter();
    vec![
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
            unmarked.filter(u8::is_ascii).collect(),
            "control-character",
        ),
        (
            "Latin-1",
            short().chars().map(latin_1).collect(),
            "not-utf-8",
        ),
        (
            "carriage returns alone",
            short().replace('\n', "\r").into(),
            "lone-carriage-return",
        ),
        (
            "a tab",
            short().replacen("  water:", "\twater:", 1).into(),
            "tab-indent",
        ),
    ]
}

fn endless_structure() -> Vec<Broken> {
    let deep = |open: &str, close: &str| {
        format!("title: {}x{}\n", open.repeat(10_000), close.repeat(10_000)).into_bytes()
    };
    let mut lines = String::new();
    for depth in 0..10_000 {
        lines += &" ".repeat(depth);
        lines += "a:\n";
    }
    let mut bomb = "k0: &k0 [a]\n".to_owned();
    for i in 1..40 {
        let of = format!("*k{}", i - 1);
        bomb += &format!("k{i}: &k{i} [{of}, {of}, {of}, {of}]\n");
    }
    let long = format!(
        "title: &t {}\nnotes: [{}x]\n",
        "x".repeat(100_000),
        "*t , ".repeat(50)
    );
    let mut row = String::new();
    for index in 0..5_000_usize {
        let before = index.checked_sub(1);
        let of = before.map_or_else(|| "A".to_owned(), |before| format!("D{before}"));
        row += &format!(
            "  D{index}:\n    aliquot: {{of: {of}, volume: 10.00 mL, with: ten pipette}}\n    made_up: {{to: 100.0 mL, in: tall cylinder}}\n"
        );
    }
    let row = short().replace("  bath 3: {", &format!("{row}  bath 3: {{"));
    let dashes = format!("notes:\n  {}x\n", "- ".repeat(10_000));
    vec![
        ("brackets", deep("[", "]"), "nested-too-deep"),
        ("brackets without end", deep("[", ""), "nested-too-deep"),
        ("braces", deep("{a: ", "}"), "nested-too-deep"),
        ("lines", lines.into(), "nested-too-deep"),
        ("dashes", dashes.into(), "nested-too-deep"),
        ("aliases of aliases", bomb.into(), "too-many-aliased"),
        ("aliases of a long text", long.into(), "too-many-aliased"),
        ("dilutions in a row", row.into(), "too-many-dilutions"),
    ]
}

fn impossible_values() -> Vec<Broken> {
    let changed = |name, from: &str, to: &str, code| {
        let text = short();
        assert!(text.contains(from), "no {from}");
        (name, text.replace(from, to).into_bytes(), code)
    };
    let reading = |name, to: &str| changed(name, "41.176 g", to, "not-a-number");
    let bath = "  bath 3: {";
    vec![
        changed("no such day", "2026-03-04", "2026-02-30", "not-a-day"),
        reading("an infinite reading", ".inf"),
        reading("not a number", "nan"),
        reading("10^400", "1e400 g"),
        reading("10^400 in full", &format!("1{} g", "0".repeat(400))),
        changed(
            "an empty name",
            bath,
            "  '': {pure: true}\n  bath 3: {",
            "no-name",
        ),
        changed(
            "a name twice",
            bath,
            "  bath 3: {unknown: true}\n  bath 3: {",
            "name-used-twice",
        ),
        changed(
            "a key twice",
            "solute:",
            "solute: sodium chloride\nsolute:",
            "key-used-twice",
        ),
        changed(
            "a control character in quotes",
            "title: ",
            "title: \"\\a\" #",
            "control-character",
        ),
        changed(
            "a zero in quotes",
            bath,
            "  \"b\\0\": {pure: true}\n  bath 3: {",
            "control-character",
        ),
    ]
}

#[test]
fn what_is_no_run_file_is_told_in_one_problem() {
    let all = [broken_text(), endless_structure(), impossible_values()];
    for (what, bytes, code) in all.into_iter().flatten() {
        let (told, right) = refused(what, &bytes);
        assert_eq!(told, code, "{what}");
        if what.starts_with("UTF-16") {
            assert!(right.contains("UTF-16"), "{what}: {right}");
        }
    }
}

#[test]
fn a_long_file_full_of_mistakes_is_told_of_the_first_ones() {
    let mistake = "{empty: 31.204 g, filled: 42.480 g, volume: 10.00 mL, colour: red},\n      ";
    let many = format!("    A: [{}", mistake.repeat(9_000));
    let text = short().replace("    A: [", &many);
    let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert!(run.is_none(), "taken for good");
    assert_eq!(
        problems.len(),
        201,
        "the first 200, and how many more there are"
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
                &format!(
                    "    bath 3: [{{empty: 1, filled: 2, volume: 10.00, left_out: {}}}, ",
                    quoted(&format!("for {name}"))
                ),
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

#[test]
fn names_that_look_like_values_stay_as_written() {
    for name in [
        "2",
        "3.50",
        "007",
        "1e3",
        "0x1F",
        "true",
        "null",
        "~",
        ".inf",
        "2026-03-04",
    ] {
        let text = short()
            .replace("  B:", &format!("  {name}:"))
            .replace("    B:", &format!("    {name}:"));
        let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
        assert_eq!(problems, [], "{name}");
        let names = run.map(|run| run.results.solutions.into_iter().map(|(name, _)| name));
        let found = names.is_some_and(|mut names| names.any(|found| found == name));
        assert!(found, "{name} is called otherwise");
    }
}
