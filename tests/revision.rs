//! Reports made again: what is told of the changes, and what is carried from issue to issue.

use crate::cli::{ended, fillmark, folder, put};
use crate::common::{path, read};
use serde_json::Value;
use std::path::Path;

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
    let record = record(&folder.join("bath.pdf"));
    let numbers: Vec<&Value> = record["issues"]
        .as_array()
        .expect("issues")
        .iter()
        .map(|issue| &issue["number"])
        .collect();
    assert_eq!(numbers, [2, 3]);
    let carried = fillmark::cli::attachments::read(&bytes(), 10_000_000).expect("a report");
    let source = &carried[0];
    assert_eq!(source.bytes, third.as_bytes(), "byte for byte");
}

/// The record that a report carries.
fn record(report: &Path) -> Value {
    let bytes = std::fs::read(report).expect("a report");
    let carried = fillmark::cli::attachments::read(&bytes, 10_000_000).expect("a report");
    let record = carried
        .iter()
        .find(|file| file.path == "record_of_issues.json")
        .expect("a record");
    serde_json::from_slice(&record.bytes).expect("JSON")
}

const UNTOLD: &str =
    "  - {entry: weighings.B.1.filled, was: 39.603 g, now: 39.630 g, why: copied wrongly}\n";

#[test]
fn a_correction_made_later_explains_an_earlier_change() {
    let folder = folder("explained_later");
    let report = |also: &[&str]| {
        let arguments: Vec<&str> = ["report", "bath.yaml"]
            .iter()
            .chain(also)
            .copied()
            .collect();
        ended(&fillmark(&folder, &arguments), 0).0
    };
    put(&folder, "bath.yaml", &sample());
    report(&[]);
    put(&folder, "bath.yaml", &changed());
    let out = report(&["--also", "markdown"]);
    assert!(out.contains("1 not explained"), "{out}");
    assert!(read(&folder.join("bath.md")).contains("**Not explained:** 1."));
    let explained = replaced(
        &changed(),
        "corrections:\n",
        &format!("corrections:\n{UNTOLD}"),
    );
    put(&folder, "bath.yaml", &explained);
    let out = report(&["--also", "markdown"]);
    assert!(out.contains("issue 2: 2 entries changed\n"), "{out}");
    let page = read(&folder.join("bath.md"));
    assert!(!page.contains("ot explained"), "{page}");
    assert!(page.contains("**Corrected:** "), "{page}");
    assert!(!page.contains("; and 1 more"), "all three: {page}");
    // It stays explained in every issue that follows, whatever becomes of the entry.
    let on = "  - {entry: weighings.B.1.filled, was: 39.630 g, now: 39.631 g, why: misread too}\n";
    let next = explained
        .replacen("filled: 39.630 g", "filled: 39.631 g", 1)
        .replacen(UNTOLD, &format!("{UNTOLD}{on}"), 1);
    put(&folder, "bath.yaml", &next);
    let out = report(&[]);
    assert!(out.contains("issue 3: 1 entry changed\n"), "{out}");
    let record = record(&folder.join("bath.pdf"));
    let whys: Vec<&Value> = record["issues"]
        .as_array()
        .expect("issues")
        .iter()
        .flat_map(|issue| issue["changes"]["entries"].as_array().expect("entries"))
        .map(|entry| &entry["reason"]["why"])
        .collect();
    assert_eq!(whys, ["copied wrongly", "misread", "misread too"]);
}

#[test]
fn a_draft_is_no_issue_and_keeps_the_record() {
    let folder = folder("draft");
    let draft = |text: &str| replaced(text, "title:", "draft: true\ntitle:");
    let report = || ended(&fillmark(&folder, &["report", "bath.yaml"]), 0).0;
    let pdf = folder.join("bath.pdf");
    let bytes = || std::fs::read(&pdf).expect("a report");
    let not_counted = |out: &str| {
        assert!(out.contains("a draft, not counted as an issue"), "{out}");
        assert!(
            !out.contains("issue 2") && !out.contains("issue 3"),
            "{out}"
        );
    };

    // Before the first issue, drafts leave no trace.
    put(&folder, "bath.yaml", &draft(&changed()));
    not_counted(&report());
    put(&folder, "bath.yaml", &draft(&sample()));
    not_counted(&report());
    put(&folder, "bath.yaml", &sample());
    assert!(!report().contains("issue"), "the first issue");
    let first = bytes();
    std::fs::remove_file(&pdf).expect("removed");
    report();
    assert_eq!(bytes(), first, "as if there had been no draft");

    // Over an issue, the next is compared with that one, however many drafts lie between.
    let half = replaced(&sample(), "filled: 39.603 g", "filled: 39.630 g");
    for text in [&half, &sample(), &half] {
        put(&folder, "bath.yaml", &draft(text));
        not_counted(&report());
        let again = bytes();
        report();
        assert_eq!(bytes(), again, "the same draft again");
    }
    put(&folder, "bath.yaml", &changed());
    let out = report();
    assert!(
        out.contains("issue 2: 2 entries changed, 1 not explained"),
        "{out}"
    );
    assert!(record(&pdf).get("last_counted").is_none());
    let second = bytes();
    put(&folder, "bath.yaml", &draft(&half));
    not_counted(&report());
    assert_eq!(record(&pdf)["issues"][0]["number"], 2, "the record is kept");
    put(&folder, "bath.yaml", &changed());
    report();
    assert_eq!(bytes(), second, "issue 2 again");
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
        "mass percent of bath 3: 18.31 ± 0.17 → ",
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
    assert_eq!(out, "no differences\n");
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
        "report: {coverage: 95 %,",
        "report: {coverage: 95 %, digits: uncertainty,",
    );
    put(&folder, "new.yaml", &text);
    let (out, _) = ended(&fillmark(&folder, &["changes", "old.yaml", "new.yaml"]), 0);
    assert_eq!(
        out,
        "report.digits: new: uncertainty\nplace: removed, was Fellside creamery, wet bench\n"
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
        err.contains("Warning: weighings.B.1.filled was changed, but no correction says why."),
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

/// On the page a measurement is named in words; entries' names are for the screen, and for the listing of the run file.
#[test]
fn the_page_names_no_entries() {
    let folder = folder("page_words");
    put(&folder, "bath.yaml", &sample());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    // A slip, which a flag explains, digits that the balance does not show, and two changed entries.
    let spoilt = replaced(&changed(), "filled: 38.295 g", "filled: 38.3 g");
    let spoilt = replaced(&spoilt, "filled: 39.646 g", "filled: 36.946 g");
    put(&folder, "bath.yaml", &spoilt);
    ended(
        &fillmark(&folder, &["report", "bath.yaml", "--also", "markdown"]),
        0,
    );
    let page = read(&folder.join("bath.md"));
    let (before, _) = page.split_once("\n```").expect("a listing");
    for said in [
        "Newly flagged: ",
        "would explain it: vessel filled (bath 3, weighing 1) was 39",
        "the decimals differ in vessel filled (water, weighing 1).",
    ] {
        assert!(before.contains(said), "{said}\n{before}");
    }
    for section in ["weighings.", "solutions.", "densities.", "apparatus."] {
        let named = before.lines().find(|line| {
            line.match_indices(section)
                .any(|(at, _)| line[at + section.len()..].starts_with(char::is_alphanumeric))
        });
        assert_eq!(named, None);
    }
}
