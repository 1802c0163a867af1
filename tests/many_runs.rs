//! Run files named by folder, by pattern and on stdin; results of many runs; what is said where nothing has changed.

use crate::cli::{ended, fillmark, folder, good, names, put};
use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// A folder with two good run files, a style file and a note.
fn bench(test: &str) -> std::path::PathBuf {
    let folder = folder(test);
    put(&folder, "first.yaml", &good());
    put(
        &folder,
        "second.yml",
        &good().replace("41.176 g", "41.179 g"),
    );
    put(&folder, "style.yaml", "text_size: 9 pt\n");
    put(&folder, "notes.txt", "title: no run file\n");
    folder
}

/// The command with a text on stdin.
fn piped(folder: &Path, arguments: &[&str], text: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_fillmark"))
        .current_dir(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program can be run");
    let mut stdin = child.stdin.take().expect("a pipe");
    // One that refuses its arguments reads nothing.
    let _ = stdin.write_all(text.as_bytes());
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

fn json(text: &[u8]) -> Value {
    serde_json::from_slice(text).expect("JSON")
}

#[test]
fn a_folder_stands_for_its_run_files_and_a_pattern_for_what_it_matches() {
    let folder = bench("folder_and_pattern");
    let (out, _) = ended(&fillmark(&folder, &["report", ".", "--into", "reports"]), 0);
    assert!(out.contains("style.yaml: not a run file, skipped"), "{out}");
    assert!(out.contains("2 made, 0 unchanged, 0 failed"), "{out}");
    assert_eq!(names(&folder.join("reports")), ["first.pdf", "second.pdf"]);
    // As a shell leaves it that knows no patterns.
    let pattern = fillmark(&folder, &["report", "*.y*ml", ".", "--into", "reports"]);
    let (_, err) = ended(&pattern, 1);
    assert!(err.contains("style.yaml"), "named by the pattern: {err}");
    let (out, _) = ended(
        &fillmark(
            &folder,
            &["report", "f*.yaml", "s*.yml", "--into", "reports"],
        ),
        0,
    );
    assert!(out.contains("0 made, 2 unchanged"), "{out}");
    for (named, told) in [
        ("x*.yaml", "no file matches `x*.yaml`"),
        ("reports", "without run files"),
    ] {
        let (_, err) = ended(&fillmark(&folder, &["check", named]), 2);
        assert!(err.contains(told), "{err}");
    }
}

#[test]
fn a_check_of_many_ends_with_totals() {
    let folder = bench("check_many");
    put(
        &folder,
        "third.yaml",
        &good().replace("41.176 g", "4l.176 g"),
    );
    let (out, _) = ended(&fillmark(&folder, &["check", "."]), 1);
    let last = out.lines().last().unwrap_or_default();
    assert!(
        last.starts_with("of 3 run files, 2 can be reported, "),
        "{out}"
    );
}

#[test]
fn results_of_many_are_one_table_or_a_file_each() {
    let folder = bench("results_of_many");
    ended(
        &fillmark(&folder, &["check", ".", "--results", "checked.csv"]),
        0,
    );
    let table = std::fs::read_to_string(folder.join("checked.csv")).expect("a table");
    let report = ["report", ".", "--into", "reports", "--results", "all.csv"];
    for done in ["2 made, 0 unchanged", "0 made, 2 unchanged"] {
        let (out, _) = ended(&fillmark(&folder, &report), 0);
        assert!(out.contains(done), "{out}");
        let all = std::fs::read_to_string(folder.join("all.csv")).expect("a table");
        assert_eq!(all, table, "{done}");
    }
    let separate = ["report", ".", "--into", "reports", "--results", "results"];
    for done in ["2 made, 0 unchanged", "0 made, 2 unchanged"] {
        let (out, _) = ended(&fillmark(&folder, &separate), 0);
        assert!(out.contains(done), "{out}");
        assert_eq!(
            names(&folder.join("results")),
            ["first.json", "second.json"]
        );
    }
    // Without its results, or with half of them, a report is not whole.
    let file = folder.join("results/second.json");
    let whole = std::fs::read(&file).expect("results");
    std::fs::write(&file, &whole[..whole.len() / 2]).expect("half of them");
    let (out, _) = ended(&fillmark(&folder, &separate), 0);
    assert!(out.contains("1 made, 1 unchanged"), "{out}");
    assert_eq!(std::fs::read(&file).expect("results"), whole);
    // The table says what the results files say.
    let results = json(&whole);
    assert_eq!(results["file"], "second.yml");
    let (unknown, found) = results["unknowns"]
        .as_object()
        .and_then(|u| u.iter().next())
        .expect("an unknown");
    let found = &found["mass_percent"];
    let line = table.lines().find(|line| {
        line.contains("second.yml") && line.contains(&format!(",{unknown},unknown,mass percent,"))
    });
    let line = line.unwrap_or_else(|| panic!("no line of {unknown} in\n{table}"));
    for number in ["value", "standard_uncertainty", "expanded_uncertainty"] {
        let number = found[number].to_string();
        assert!(
            line.split(',').any(|cell| cell == number),
            "{number} is not in {line}"
        );
    }
    let title = results["title"].as_str().expect("a title");
    assert!(line.contains(title), "{title} is not in {line}");
}

#[test]
fn files_that_are_not_ours_stay_and_several_runs_are_not_one_file() {
    let folder = bench("results_refused");
    put(&folder, "all.csv", "bench,result\n1,2\n");
    for command in ["check", "report"] {
        let (_, err) = ended(
            &fillmark(&folder, &[command, ".", "--results", "all.csv"]),
            2,
        );
        assert!(err.contains("all.csv"), "{err}");
        let (_, err) = ended(
            &fillmark(&folder, &[command, ".", "--results", "all.json"]),
            2,
        );
        assert!(err.contains("names one file for 2 runs"), "{err}");
        let (_, err) = ended(
            &fillmark(&folder, &[command, "first.yaml", "--results", "first.yaml"]),
            2,
        );
        assert!(err.contains("is read as a run file"), "{err}");
    }
    assert!(
        !names(&folder).iter().any(|name| name.contains(".pdf")),
        "before any work is done"
    );
}

/// A spreadsheet takes a cell that begins so for a formula (OWASP, CSV injection).
#[test]
fn no_cell_of_the_table_is_a_formula() {
    let folder = folder("no_formula");
    let title = good().lines().next().expect("a title").to_owned();
    put(
        &folder,
        "run.yaml",
        &good().replace(&title, "title: '=HYPERLINK(\"x\", 1)'"),
    );
    ended(
        &fillmark(&folder, &["check", "run.yaml", "--results", "all.csv"]),
        0,
    );
    let table = std::fs::read_to_string(folder.join("all.csv")).expect("a table");
    assert!(table.contains(",\"'=HYPERLINK(\"\"x\"\", 1)\","), "{table}");
}

#[test]
fn a_run_file_comes_through_a_pipe_and_its_report_goes_through_one() {
    let folder = folder("pipes");
    let made = piped(&folder, &["report", "-"], &good());
    assert_eq!(
        made.status.code(),
        Some(0),
        "{:?}",
        String::from_utf8_lossy(&made.stderr)
    );
    assert!(made.stdout.starts_with(b"%PDF") && made.stdout.trim_ascii_end().ends_with(b"%%EOF"));
    assert!(made.stderr.is_empty() && names(&folder).is_empty());
    std::fs::write(folder.join("made.pdf"), &made.stdout).expect("a file");
    ended(
        &fillmark(&folder, &["extract", "made.pdf", "--into", "back"]),
        0,
    );
    let back = std::fs::read_to_string(folder.join("back/stdin.yaml")).expect("the run file");
    assert_eq!(back, good());
    ended(
        &piped(&folder, &["report", "-", "--pdf", "named.pdf"], &good()),
        0,
    );
    assert_eq!(
        std::fs::read(folder.join("named.pdf")).expect("a report"),
        made.stdout
    );
    // Problems name it, and results go the same way.
    let bad = good().replace("41.176 g", "4l.176 g");
    let (_, err) = ended(&piped(&folder, &["check", "-"], &bad), 1);
    assert!(err.contains("stdin.yaml:"), "{err}");
    let checked = piped(&folder, &["check", "-", "--results", "-"], &good());
    assert_eq!(json(&checked.stdout)["file"], "stdin.yaml");
    put(&folder, "run.yaml", &good());
    for wrong in [
        &["report", "-", "run.yaml"][..],
        &["report", "-", "--also", "html"],
        &["report", "-", "--watch"],
        &["report", "-", "--results", "-"],
        &["check", "-", "run.yaml"],
        &["check", "-", "--results", "-", "--format", "json"],
    ] {
        assert_eq!(
            piped(&folder, wrong, &good()).status.code(),
            Some(2),
            "{wrong:?}"
        );
    }
}

#[test]
fn a_report_that_is_the_same_is_said_to_be() {
    let folder = folder("said_the_same");
    put(&folder, "run.yaml", &good());
    let told = "nothing has changed since this report was made";
    let (out, _) = ended(&fillmark(&folder, &["report", "run.yaml"]), 0);
    assert!(!out.contains(told), "{out}");
    let (out, _) = ended(&fillmark(&folder, &["report", "run.yaml"]), 0);
    assert!(out.contains(told), "{out}");
    put(&folder, "run.yaml", &good().replace("41.176 g", "41.179 g"));
    let (out, _) = ended(&fillmark(&folder, &["report", "run.yaml"]), 0);
    assert!(
        out.contains("1 entry changed") && !out.contains(told),
        "{out}"
    );
    let (out, _) = ended(&fillmark(&folder, &["report", "run.yaml"]), 0);
    assert!(out.contains(told) && !out.contains("issue"), "{out}");
}

/// What `start` is told of the bench stands in the run file, and the kinds of apparatus that it may name.
#[test]
fn a_run_file_to_fill_in_fits_the_bench() {
    let folder = folder("start_bench");
    let bench = [
        "--balance",
        "0.01",
        "--pipette",
        "5 mL",
        "--flask",
        "100 mL",
        "--dilutions",
        "1",
    ];
    let start: Vec<&str> = ["start", "run.yaml"].into_iter().chain(bench).collect();
    ended(&fillmark(&folder, &start), 0);
    let text = std::fs::read_to_string(folder.join("run.yaml")).expect("a run file");
    assert_eq!(text.matches("readability: 0.01 g").count(), 1, "{text}");
    assert_eq!(text.matches("capacity: 5 mL").count(), 2, "{text}");
    assert_eq!(text.matches("to: 100 mL").count(), 2, "{text}");
    assert!(
        text.contains("graduated pipette"),
        "kinds are listed:\n{text}"
    );
    let (_, err) = ended(&fillmark(&folder, &["start", "--balance", "heavy"]), 2);
    assert!(err.contains("such as 0.001 g"), "{err}");
}
