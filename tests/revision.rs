//! Reports made again: what is told of the changes, and what is carried from issue to issue.

use crate::cli::{ended, fillmark, folder, put};
use crate::common::{path, read};
use serde_json::Value;

const MISREAD: &str = "  - {entry: weighings.bath 3.1.filled, was: 39.664 g, now: 39.646 g, why: misread, by: R. Example}\n";

fn sample() -> String {
    read(&path("sample_runs/creamery_brine_bath.yaml"))
}

#[track_caller]
fn replaced(text: &str, old: &str, new: &str) -> String {
    assert!(text.contains(old), "{old:?} is not in the sample");
    text.replacen(old, new, 1)
}

/// The sample with one entry corrected and one changed without a word.
fn changed() -> String {
    let text = replaced(&sample(), "filled: 39.664 g", "filled: 39.646 g");
    let text = replaced(&text, "filled: 39.603 g", "filled: 39.630 g");
    replaced(&text, "corrections:\n", &format!("corrections:\n{MISREAD}"))
}

#[test]
fn each_issue_tells_what_it_changed_and_carries_those_before() {
    let folder = folder("issues");
    let report = || ended(&fillmark(&folder, &["report", "bath.yaml"]), 0).0;
    let bytes = || std::fs::read(folder.join("bath.pdf")).expect("a report");
    put(&folder, "bath.yaml", &sample());
    assert!(!report().contains("issue"), "the first is no second");
    let first = bytes();
    report();
    assert_eq!(bytes(), first, "nothing changed, nothing is other");

    put(&folder, "bath.yaml", &changed());
    let out = report();
    assert!(
        out.contains("issue 2: 2 entries changed, 1 not explained"),
        "{out}"
    );
    let second = bytes();
    report();
    assert_eq!(bytes(), second, "the same issue again");

    let third = replaced(&changed(), "filled: 39.630 g", "filled: 39.603 g");
    put(&folder, "bath.yaml", &third);
    let out = report();
    assert!(out.contains("issue 3: 1 entry changed"), "{out}");
    let carried = fillmark::cli::carried::read(&bytes(), 10_000_000).expect("a report");
    let record = carried
        .iter()
        .find(|file| file.path == "record_of_issues.json")
        .expect("a record");
    let record: Value = serde_json::from_slice(&record.bytes).expect("JSON");
    let numbers: Vec<&Value> = record["issues"]
        .as_array()
        .expect("issues")
        .iter()
        .map(|issue| &issue["number"])
        .collect();
    assert_eq!(numbers, [2, 3]);
    let source = &carried[0];
    assert_eq!(source.bytes, third.as_bytes(), "byte for byte");
}

#[test]
fn changes_are_told_of_run_files_and_reports_alike() {
    let folder = folder("changes");
    put(&folder, "old.yaml", &sample());
    put(&folder, "new.yaml", &changed());
    ended(&fillmark(&folder, &["report", "old.yaml"]), 0);
    let told = |old: &str| ended(&fillmark(&folder, &["changes", old, "new.yaml"]), 0).0;
    let out = told("old.yaml");
    assert_eq!(out, told("old.pdf"), "the same from the report");
    for line in [
        "weighings.B.1.filled: 39.603 g → 39.630 g (not explained)",
        "weighings.bath 3.1.filled: 39.664 g → 39.646 g (misread)",
        "mass percent of bath 3: 18.31 ± 0.13 → ",
    ] {
        assert!(out.contains(line), "no {line:?} in\n{out}");
    }
    let (out, _) = ended(
        &fillmark(
            &folder,
            &["changes", "old.yaml", "new.yaml", "--format", "json"],
        ),
        0,
    );
    let json: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(json["entries"][1]["reason"]["why"], "misread");
    assert_eq!(json["results"][0]["solution"], "bath 3");
    let (out, _) = ended(&fillmark(&folder, &["changes", "old.pdf", "old.yaml"]), 0);
    assert_eq!(out, "nothing differs\n");
    put(&folder, "none.pdf", "%PDF-1.7 no report");
    let (_, err) = ended(&fillmark(&folder, &["changes", "none.pdf", "old.yaml"]), 1);
    assert!(err.contains("cannot be read as a PDF file"), "{err}");
}

#[test]
fn entries_that_come_and_go_are_told_and_a_unit_left_out_is_no_change() {
    let folder = folder("come_and_go");
    put(&folder, "old.yaml", &sample());
    let text = replaced(&sample(), "filled: 39.603 g", "filled: 39.603");
    let text = replaced(&text, "place: Fellside creamery, wet bench\n", "");
    let text = replaced(
        &text,
        "report: {coverage: 95 %}",
        "report: {coverage: 95 %, digits: uncertainty}",
    );
    put(&folder, "new.yaml", &text);
    let (out, _) = ended(&fillmark(&folder, &["changes", "old.yaml", "new.yaml"]), 0);
    assert_eq!(
        out,
        "report.digits: new: uncertainty\nplace: taken out, was Fellside creamery, wet bench\n"
    );
}

#[test]
fn a_check_since_asks_for_reasons() {
    let folder = folder("since");
    put(&folder, "old.yaml", &sample());
    put(&folder, "new.yaml", &changed());
    let (_, err) = ended(
        &fillmark(&folder, &["check", "new.yaml", "--since", "old.yaml"]),
        0,
    );
    assert!(
        err.contains("Warning: weighings.B.1.filled was changed, and no correction says why."),
        "{err}"
    );
    assert_eq!(err.matches("Warning").count(), 1, "{err}");
    let otherwise = changed().replacen("was: 39.664 g", "was: 39.655 g", 1);
    put(&folder, "new.yaml", &otherwise);
    let (_, err) = ended(
        &fillmark(&folder, &["check", "new.yaml", "--since", "old.yaml"]),
        0,
    );
    let line = otherwise
        .lines()
        .position(|l| l.contains("39.655"))
        .expect("the line")
        + 1;
    assert!(err.contains(&format!("new.yaml:{line}:")), "{err}");
    assert!(err.contains("correction-was-otherwise"), "{err}");
}

#[test]
fn what_fillmark_did_not_make_is_not_written_over_unless_told_to() {
    let folder = folder("foreign");
    put(&folder, "bath.yaml", &sample());
    put(&folder, "bath.pdf", "a letter");
    let (_, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 2);
    assert!(err.contains("--force"), "{err}");
    assert_eq!(read(&folder.join("bath.pdf")), "a letter");
    ended(&fillmark(&folder, &["report", "bath.yaml", "--force"]), 0);
    let bytes = std::fs::read(folder.join("bath.pdf")).expect("a report");
    assert!(bytes.starts_with(b"%PDF"), "it is written now");
}

#[test]
fn corrections_of_one_entry_may_follow_each_other() {
    let folder = folder("chain");
    put(&folder, "old.yaml", &sample());
    let text = replaced(&sample(), "filled: 39.664 g", "filled: 39.646 g");
    let chain = "  - {entry: weighings.bath 3.1.filled, was: 39.664 g, now: 39.604 g, why: misread}\n  \
                 - {entry: weighings.bath 3.1.filled, was: 39.604 g, now: 39.646 g, why: misread again}\n";
    let text = replaced(&text, "corrections:\n", &format!("corrections:\n{chain}"));
    put(&folder, "new.yaml", &text);
    let (out, _) = ended(&fillmark(&folder, &["changes", "old.yaml", "new.yaml"]), 0);
    assert!(out.contains("39.664 g → 39.646 g (misread again)"), "{out}");
    let (_, err) = ended(
        &fillmark(&folder, &["check", "new.yaml", "--since", "old.yaml"]),
        0,
    );
    assert_eq!(err, "");
    let (_, err) = ended(
        &fillmark(&folder, &["check", "new.yaml", "--since", "none.yaml"]),
        0,
    );
    assert!(
        err.contains("`none.yaml` cannot be read: No such file")
            && err.contains("nothing is compared"),
        "{err}"
    );
}
