//! A run file with a table of runs: a run of each line, as if it stood in a run file of its own.

use crate::cli::{ended, fillmark, folder, names, put};
use crate::common::{path, read};
use fillmark::bench::runfile::benches;
use fillmark::pipeline::{self, Run};
use fillmark::problem::Problem;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

fn class() -> (String, String) {
    let text = |name: &str| read(&path("sample_runs/class").join(name));
    (text("class.yaml"), text("readings.csv"))
}

fn put_class(test: &str, table: &str) -> PathBuf {
    let folder = folder(test);
    put(&folder, "class.yaml", &class().0);
    put(&folder, "readings.csv", table);
    folder
}

fn read_table(run: &str, table: &str) -> benches::Reading {
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.as_bytes().to_vec())]);
    benches::read("class.yaml", run.as_bytes(), &beside)
}

/// Headline and place of each problem.
fn problems(run: &str, table: &str) -> Vec<String> {
    let reading = read_table(run, table);
    let told = reading.problems.iter().map(|problem| {
        let span = problem.span.as_ref();
        let place = span.map_or_else(String::new, |span| {
            format!("{}:{}:{} ", span.file, span.line, span.column)
        });
        let right = problem.right.as_deref().unwrap_or_default();
        format!("{place}{} {right}", problem.headline)
    });
    told.collect()
}

#[test]
fn each_line_is_a_run_and_a_wrong_one_stops_none() {
    let folder = put_class("class_of_benches", &class().1);
    let (out, err) = ended(
        &fillmark(&folder, &["report", "class.yaml", "--into", "out"]),
        1,
    );
    assert!(out.contains("11 made, 0 unchanged, 1 failed"), "{out}");
    // The slip of the sample, where its line and column are.
    assert!(
        err.contains("readings.csv:13:95, entry weighings.B.1.filled"),
        "{err}"
    );
    assert_eq!(names(&folder.join("out")).len(), 11);
    let (out, _) = ended(&fillmark(&folder, &["check", "class.yaml"]), 1);
    assert!(
        out.contains("readings.csv:5: density-off-published at weighings.B"),
        "{out}"
    );
    let (out, _) = ended(
        &fillmark(&folder, &["report", "class.yaml", "--into", "out"]),
        1,
    );
    assert!(out.contains("0 made, 11 unchanged, 1 failed"), "{out}");
}

#[test]
fn the_report_of_a_bench_is_that_of_a_run_file_of_its_own() {
    let folder = put_class("bench_of_its_own", &class().1);
    ended(
        &fillmark(&folder, &["report", "class.yaml", "--into", "out"]),
        1,
    );
    ended(
        &fillmark(&folder, &["extract", "out/class.3.pdf", "--into", "own"]),
        0,
    );
    ended(&fillmark(&folder, &["report", "own/class.3.yaml"]), 0);
    let bytes = |name: &str| std::fs::read(folder.join(name)).expect("a report");
    assert!(
        bytes("own/class.3.pdf") == bytes("out/class.3.pdf"),
        "the reports differ"
    );
    let text = String::from_utf8(bytes("own/class.3.yaml")).expect("UTF-8");
    assert!(
        !text.contains("runs:") && text.contains("analysts: K. Cedar"),
        "{text}"
    );
}

#[test]
fn a_line_may_leave_out_what_the_run_file_says_and_replace_it() {
    let (run, table) = class();
    let run = run.replace("{liquid: }", "{liquid: 20.0 °C}");
    let rows: Vec<String> = table
        .lines()
        .enumerate()
        .map(|(line, row)| match line {
            2 => row.replacen(",20.6,", ",,", 1),
            _ => row.to_owned(),
        })
        .collect();
    let benches = read_table(&run, &rows.join("\n")).benches.expect("benches");
    assert_eq!(benches.len(), 12);
    assert!(
        benches[0].text().contains("{liquid: 20.8}"),
        "{}",
        benches[0].text()
    );
    assert!(
        benches[1].text().contains("{liquid: 20.0 °C}"),
        "{}",
        benches[1].text()
    );
    // A text that YAML would read otherwise stands in quotes.
    let quoted = table.replacen("M. Alder", "\"Alder, M.: #1\"", 1);
    let benches = read_table(&run, &quoted).benches.expect("benches");
    assert!(
        benches[0].text().contains("analysts: \"Alder, M.: #1\""),
        "{}",
        benches[0].text()
    );
}

/// A bench is read from the tree that all have in common; its report carries a text, which must say the same.
#[test]
fn a_bench_reads_as_the_text_of_its_run_file_does() {
    let (run, table) = class();
    let odd = [
        "5",
        "5.0",
        "-3",
        "+.5 g",
        "20.1 °C",
        "null",
        "~",
        "true",
        "5 × 10 mL",
        "a: b",
        "a #b",
        "#1",
        "&a b",
        "*a",
        "[5, 6]",
        "{a: 5}",
        "'x'",
        "\"\"x\"\"",
        "- x",
        "? x",
        "!x",
        "%x",
        "@x",
        "`x`",
        "|",
        ">",
        "50 %",
        "5,5 g",
        "x\\y",
        "tab\tin",
        "ﬁ ½ é",
    ];
    let mut compared = 0;
    let mut compare = |run: &str, table: &str| {
        for bench in read_table(run, table).benches.unwrap_or_default() {
            let nothing = BTreeMap::new();
            let (by_tree, by_tree_wrong, _) =
                pipeline::read_bench("class.yaml", &bench, false, &nothing);
            let text = bench.text();
            let (by_text, by_text_wrong) = pipeline::read("class.yaml", text.as_bytes());
            let told = |problems: &[Problem]| {
                let each = problems.iter();
                let each =
                    each.map(|p| (p.code, p.entry.clone(), p.headline.clone(), p.read.clone()));
                each.collect::<BTreeSet<_>>()
            };
            assert_eq!(told(&by_tree_wrong), told(&by_text_wrong), "{text}");
            let said = |run: Option<Run>| {
                run.map(|run| {
                    let entries = run.file.entries.iter();
                    let entries = entries.map(|at| format!("{} {}", at.entry.name, at.value));
                    (entries.collect::<Vec<_>>(), format!("{:?}", run.results))
                })
            };
            assert_eq!(said(by_tree), said(by_text), "{text}");
            compared += 1;
        }
    };
    compare(&run, &table);
    // An entry that stands behind an alias, in quotes and behind a comment.
    let elsewhere = run
        .replace("analysts:\n", "analysts: &who \"\" # who\n")
        .replace(
            "place: Teaching laboratory, Fellside college",
            "place: *who",
        );
    compare(&elsewhere, &table);
    for text in odd {
        for (from, quoted) in [
            ("M. Alder", text.contains([',', '"'])),
            ("20.6", text.contains(',')),
        ] {
            let cell = if quoted {
                format!("\"{text}\"")
            } else {
                text.to_owned()
            };
            compare(&run, &table.replacen(from, &cell, 1));
        }
    }
    assert!(compared > 600, "{compared}");
}

#[test]
fn half_the_world_writes_commas_and_divides_by_semicolons() {
    let (run, table) = class();
    // The slip of the sample has a point, by which its commas would be no decimal commas.
    let table = table.replace("38.59l", "38.591");
    let cell = |cell: &str| match cell.parse::<f64>() {
        Ok(_) => cell.replace('.', ","),
        Err(_) => cell.to_owned(),
    };
    let row = |row: &str| row.split(',').map(cell).collect::<Vec<_>>().join(";");
    let other: Vec<String> = table.lines().map(row).collect();
    let other = other.join("\n");
    let reading = read_table(&run, &other);
    let told: Vec<&str> = reading.problems.iter().map(|p| p.code.name()).collect();
    assert_eq!(told, ["decimal-commas-read"], "{:?}", reading.problems);
    let benches = reading.benches.expect("benches");
    let plain = read_table(&run, &table).benches.expect("benches");
    let readings = |text: &str| -> Vec<String> {
        text.lines()
            .filter(|line| line.contains("filled"))
            .map(str::to_owned)
            .collect()
    };
    assert_eq!(readings(&benches[4].text()), readings(&plain[4].text()));
}

#[test]
fn what_is_wrong_with_a_table_is_told_all_at_once_and_where() {
    let (run, table) = class();
    let told = problems(
        &run,
        &table.replacen("boat emptied", "boat emptied,colour", 1),
    );
    assert!(
        told[0].starts_with("readings.csv:1:51 The column colour is unknown."),
        "{told:?}"
    );
    let told = problems(&run, &table.replacen("temperature", "temprature", 1));
    assert!(
        told.iter()
            .any(|told| told.contains("no column temperature")),
        "{told:?}"
    );
    assert!(
        told.iter()
            .any(|told| told.contains("temprature is unknown")),
        "{told:?}"
    );
    let told = problems(&run, &table.replacen("\n2,", "\n1,", 1));
    assert!(
        told[0].starts_with("readings.csv:3:1 Two lines of the table of runs are for the bench 1."),
        "{told:?}"
    );
    let told = problems(&run, &table.replacen("\n2,", "\n,", 1));
    assert!(told[0].contains("names no bench"), "{told:?}");
    let told = problems(&run.replace("analysts:\n", "analysts: [A,\n  B]\n"), &table);
    assert!(
        told.iter().any(|told| told.contains("cannot be replaced")),
        "{told:?}"
    );
    // What is wrong with the run file is told once, not of each bench.
    let told = problems(&run.replace("kind: flask", "kind: flagon"), &table);
    assert_eq!(told.len(), 2, "{told:?}");
    let told = problems(&run.replace("readings.csv", "other.csv"), &table);
    assert!(told[0].contains("other.csv cannot be read"), "{told:?}");
    assert_eq!(problems(&run, ""), problems(&run, "\n"));
}

/// What a line of more values than columns means is not known; the other lines are runs all the same.
#[test]
fn a_value_too_many_is_a_problem_of_its_line() {
    let (run, table) = class();
    let reading = read_table(&run, &table.replacen("37.536", "37,536", 1));
    assert_eq!(reading.problems.len(), 0, "{:?}", reading.problems);
    let told: Vec<Vec<String>> = reading
        .benches
        .expect("benches")
        .iter()
        .map(|bench| {
            let problems = bench.read(false, &BTreeMap::new()).problems;
            problems.iter().map(|p| p.code.name().to_owned()).collect()
        })
        .collect();
    let wrong: Vec<usize> = (0..told.len()).filter(|at| !told[*at].is_empty()).collect();
    assert_eq!(wrong, [1, 11], "{told:?}");
    assert_eq!(told[1], ["value-without-column"]);
}
