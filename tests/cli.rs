//! The program as it is run: what it writes, says and ends with.

use crate::common::{path, read};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of a test's own, empty at the start.
pub(crate) fn folder(test: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("cli")
        .join(test);
    if folder.exists() {
        std::fs::remove_dir_all(&folder).expect("an old folder can be removed");
    }
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    folder
}

/// A run file in a folder.
pub(crate) fn put(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("a file can be written");
}

pub(crate) fn good() -> String {
    read(&path("tests/runs/short.yaml"))
}

fn bad() -> String {
    good()
        .replace("kind: flask", "kind: flagon")
        .replace("filled: 41.176 g", "filled: 4l.176 g")
}

pub(crate) fn fillmark(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    command
        .current_dir(folder)
        .args(arguments)
        .env_remove("NO_COLOR");
    command.output().expect("the program can be run")
}

#[track_caller]
pub(crate) fn ended(output: &Output, code: i32) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("it speaks UTF-8");
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(
        output.status.code(),
        Some(code),
        "stdout:\n{out}\nstderr:\n{err}"
    );
    assert!(!err.contains('\u{1b}'), "no colour into a pipe: {err}");
    assert!(!err.contains("panicked"), "{err}");
    (out, err)
}

pub(crate) fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("the folder");
    let mut names: Vec<String> = entries
        .map(|e| {
            e.expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

#[test]
fn a_report_is_written_and_its_answer_said() {
    let folder = folder("report");
    put(&folder, "bath.yaml", &good());
    let (out, err) = ended(
        &fillmark(&folder, &["report", "bath.yaml", "--results", "bath.json"]),
        0,
    );
    assert_eq!(err, "");
    let answer = out.lines().next().unwrap_or_default();
    let json: serde_json::Value =
        serde_json::from_str(&read(&folder.join("bath.json"))).expect("JSON");
    let shown = json["unknowns"]["bath 3"]["mass_percent"]["shown"]
        .as_str()
        .expect("a result");
    assert!(
        answer.starts_with(&format!("bath 3: mass percent {shown} % (k = ")),
        "{out}"
    );
    assert!(out.contains("report: bath.pdf"), "{out}");
    let pdf = std::fs::read(folder.join("bath.pdf")).expect("the report");
    assert!(
        pdf.starts_with(b"%PDF-1.7") && pdf.len() > 20_000,
        "no report: {} bytes",
        pdf.len()
    );
    assert_eq!(
        names(&folder),
        ["bath.json", "bath.pdf", "bath.yaml"],
        "nothing else is left"
    );
}

#[test]
fn the_same_run_file_gives_the_same_bytes() {
    let folder = folder("same");
    put(&folder, "bath.yaml", &good());
    for name in ["one.pdf", "two.pdf"] {
        ended(
            &fillmark(&folder, &["report", "bath.yaml", "--pdf", name]),
            0,
        );
    }
    let [one, two] =
        ["one.pdf", "two.pdf"].map(|name| std::fs::read(folder.join(name)).expect("a report"));
    assert!(one == two, "two makes differ");
}

#[test]
fn a_check_lists_every_problem_and_writes_nothing() {
    let folder = folder("check");
    put(&folder, "bath.yaml", &bad());
    let (out, err) = ended(&fillmark(&folder, &["check", "bath.yaml"]), 1);
    assert_eq!(out, "");
    for word in ["bath.yaml:", "flagon", "4l.176", "bath.yaml: 2 problems"] {
        assert!(err.contains(word), "no {word} in {err}");
    }
    put(&folder, "good.yaml", &good());
    let (out, _) = ended(&fillmark(&folder, &["check", "good.yaml"]), 0);
    assert!(out.contains("good.yaml: can be reported"), "{out}");
    assert_eq!(
        names(&folder),
        ["bath.yaml", "good.yaml"],
        "a check writes nothing"
    );
}

#[test]
fn several_run_files_end_as_the_worst_does() {
    let folder = folder("several");
    put(&folder, "bad.yaml", &bad());
    put(&folder, "good.yaml", &good());
    ended(&fillmark(&folder, &["check", "good.yaml", "bad.yaml"]), 1);
    std::fs::create_dir(folder.join("out")).expect("a folder");
    ended(
        &fillmark(
            &folder,
            &["report", "bad.yaml", "good.yaml", "--into", "out"],
        ),
        1,
    );
    assert_eq!(
        names(&folder.join("out")),
        ["good.pdf"],
        "the good one is made all the same"
    );
}

#[test]
fn a_wrong_command_line_is_told() {
    let folder = folder("usage");
    put(&folder, "a.yaml", &good());
    put(&folder, "b.yaml", &good());
    for arguments in [
        &["report"][..],
        &["print", "a.yaml"],
        &["report", "a.yaml", "--colour"],
        &["report", "a.yaml", "--pdf", "x.pdf", "--into", "."],
        &["report", "a.yaml", "b.yaml", "--pdf", "x.pdf"],
        &["report", "a.yaml", "b.yaml", "--results", "x.json"],
        &[],
    ] {
        let (out, err) = ended(&fillmark(&folder, arguments), 2);
        assert!(
            out.is_empty() && !err.is_empty(),
            "{arguments:?}: {out}{err}"
        );
    }
    assert_eq!(names(&folder), ["a.yaml", "b.yaml"], "nothing is written");
}

#[test]
fn a_file_that_cannot_be_read_is_the_machines_fault() {
    let folder = folder("unreadable");
    for command in ["report", "check"] {
        let (_, err) = ended(&fillmark(&folder, &[command, "none.yaml"]), 3);
        assert!(
            err.contains("none.yaml") && err.contains("cannot be read"),
            "{err}"
        );
    }
}

#[test]
fn a_report_that_cannot_be_written_is_the_machines_fault() {
    let folder = folder("unwritable");
    put(&folder, "bath.yaml", &good());
    let (_, err) = ended(
        &fillmark(&folder, &["report", "bath.yaml", "--pdf", "none/bath.pdf"]),
        3,
    );
    assert!(
        err.contains("none/bath.pdf") && err.contains("cannot be written"),
        "{err}"
    );
    assert_eq!(names(&folder), ["bath.yaml"], "nothing is left");
}

#[test]
fn quiet_says_only_what_is_wrong() {
    let folder = folder("quiet");
    put(&folder, "bath.yaml", &good());
    put(&folder, "bad.yaml", &bad());
    let (out, err) = ended(&fillmark(&folder, &["report", "bath.yaml", "--quiet"]), 0);
    assert_eq!((out.as_str(), err.as_str()), ("", ""));
    assert!(
        folder.join("bath.pdf").is_file(),
        "the report is made all the same"
    );
    let (out, err) = ended(&fillmark(&folder, &["--quiet", "check", "bad.yaml"]), 1);
    assert!(out.is_empty() && err.contains("flagon"), "{out}{err}");
}

#[test]
fn a_report_stays_as_it_was_when_the_run_has_problems() {
    let folder = folder("intact");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let before = std::fs::read(folder.join("bath.pdf")).expect("a report");
    put(&folder, "bath.yaml", &bad());
    let (out, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 1);
    assert!(
        out.is_empty() && err.contains("no report is made"),
        "{out}{err}"
    );
    let after = std::fs::read(folder.join("bath.pdf")).expect("a report");
    assert!(before == after, "the old report was touched");
    assert_eq!(
        names(&folder),
        ["bath.pdf", "bath.yaml"],
        "nothing is left beside it"
    );
}

#[test]
fn two_runs_do_not_write_one_report() {
    let folder = folder("collision");
    for name in ["a", "b"] {
        std::fs::create_dir(folder.join(name)).expect("a folder");
        put(&folder.join(name), "bath.yaml", &good());
    }
    std::fs::create_dir(folder.join("out")).expect("a folder");
    let arguments = ["report", "a/bath.yaml", "b/bath.yaml", "--into", "out"];
    let (_, err) = ended(&fillmark(&folder, &arguments), 2);
    assert!(
        err.contains("a/bath.yaml") && err.contains("b/bath.yaml") && err.contains("bath.pdf"),
        "{err}"
    );
    assert_eq!(names(&folder.join("out")), [""; 0], "nothing is written");
    // One run file named in two ways has one report.
    ended(
        &fillmark(&folder, &["report", "a/bath.yaml", "a/../a/bath.yaml"]),
        2,
    );
}

#[test]
fn no_run_file_is_written_over() {
    let folder = folder("overwrite");
    put(&folder, "bath.yaml", &good());
    put(&folder, "bath.pdf", &good());
    for arguments in [
        &["report", "bath.yaml", "--pdf", "bath.yaml"][..],
        &["report", "bath.yaml", "--pdf", "./bath.yaml"],
        &[
            "report",
            "bath.yaml",
            "--pdf",
            "new.pdf",
            "--results",
            "bath.yaml",
        ],
        &[
            "report",
            "bath.yaml",
            "--pdf",
            "new.pdf",
            "--results",
            "new.pdf",
        ],
        &["report", "bath.pdf"],
        &["report", "bath.yaml", "bath.pdf"],
    ] {
        let (out, err) = ended(&fillmark(&folder, arguments), 2);
        assert!(
            out.is_empty() && err.contains("bath.") | err.contains("new.pdf"),
            "{arguments:?}: {out}{err}"
        );
        for name in names(&folder) {
            assert_eq!(
                read(&folder.join(&name)),
                good(),
                "{arguments:?} touched {name}"
            );
        }
    }
}

#[test]
fn a_form_is_written_but_never_over_a_file() {
    let folder = folder("start");
    let (out, err) = ended(&fillmark(&folder, &["start", "bath.yaml"]), 0);
    assert!(out.contains("bath.yaml") && err.is_empty(), "{out}{err}");
    let form = read(&folder.join("bath.yaml"));
    let (_, err) = ended(
        &fillmark(&folder, &["start", "bath.yaml", "--unknowns", "2"]),
        2,
    );
    assert!(err.contains("exists already"), "{err}");
    assert_eq!(
        read(&folder.join("bath.yaml")),
        form,
        "the file is as it was"
    );
    let (out, _) = ended(&fillmark(&folder, &["start", "--quiet"]), 0);
    assert_eq!(out, form, "the same on stdout");
    let (_, err) = ended(&fillmark(&folder, &["check", "bath.yaml"]), 1);
    assert!(
        err.contains("bath.yaml: unfinished, ") && err.contains("entries still blank"),
        "{err}"
    );
    ended(&fillmark(&folder, &["start", "none/bath.yaml"]), 3);
    for wrong in [
        &["start", "x.yaml", "--density", "floating"][..],
        &["start", "x.yaml", "--dilutions", "26"],
        &[
            "start",
            "x.yaml",
            "--density",
            "cumulative",
            "--replicates",
            "1",
        ],
    ] {
        ended(&fillmark(&folder, wrong), 2);
    }
    assert_eq!(names(&folder), ["bath.yaml"], "nothing else is written");
}

#[test]
fn the_schema_is_printed() {
    let (out, err) = ended(&fillmark(&folder("schema"), &["schema"]), 0);
    assert_eq!(err, "");
    let schema: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(schema, fillmark::bench::runfile::schema::schema());
}

/// A run file whose weighings stand in a table, and the table.
pub(crate) fn good_with_table() -> (String, String) {
    let good = good();
    let (before, weighings) = good.split_once("  weighings:\n").expect("weighings");
    let mut table = "solution;empty;filled;volume\n".to_owned();
    for line in weighings.lines() {
        let (name, rest) = line.trim().split_once(": [").expect("a weighing");
        let values: Vec<&str> = rest
            .trim_matches(['[', '{', '}', ']'])
            .split(", ")
            .map(|part| part.split_once(": ").expect("a reading").1)
            .collect();
        table += &format!("{name};{}\n", values.join(";"));
    }
    (
        format!("{before}  weighings: {{from: readings.csv}}\n"),
        table,
    )
}

#[test]
fn readings_come_from_a_table_beside_the_run_file() {
    let folder = folder("table");
    std::fs::create_dir(folder.join("bench")).expect("a folder");
    let (run, table) = good_with_table();
    put(&folder, "bench/bath.yaml", &run);
    put(&folder, "bench/readings.csv", &table);
    put(&folder, "bench/whole.yaml", &good());
    let answer = |name: &str| {
        let out = ended(&fillmark(&folder, &["report", name, "--pdf", "out.pdf"]), 0).0;
        out.lines().next().map(str::to_owned)
    };
    assert_eq!(
        answer("bench/bath.yaml"),
        answer("bench/whole.yaml"),
        "the same answer"
    );

    put(
        &folder,
        "bench/readings.csv",
        &table.replace("42.480", "4z.480"),
    );
    let (_, err) = ended(&fillmark(&folder, &["check", "bench/bath.yaml"]), 1);
    for word in [
        "bench/readings.csv:3:12",
        "A;31.204 g;4z.480 g;10.00 mL",
        "1 problem",
    ] {
        assert!(err.contains(word), "no {word} in {err}");
    }
    put(&folder, "bench/readings.csv", &table);
    for over in [
        ["--pdf", "bench/readings.csv"],
        ["--results", "bench/../bench/readings.csv"],
    ] {
        let (_, err) = ended(
            &fillmark(
                &folder,
                &[&["report", "bench/bath.yaml"], &over[..]].concat(),
            ),
            2,
        );
        assert!(err.contains("overwritten"), "{err}");
        assert_eq!(read(&folder.join("bench/readings.csv")), table, "{over:?}");
    }
}

#[test]
fn a_table_that_is_no_file_of_the_folder_is_refused() {
    let folder = folder("no_table");
    std::fs::create_dir_all(folder.join("bench/sub.csv")).expect("a folder");
    put(&folder, "outside.csv", &good_with_table().1);
    let big = std::fs::File::create(folder.join("bench/big.csv")).expect("a file");
    big.set_len(200_000_000).expect("room on the disk");
    #[cfg(unix)]
    std::os::unix::fs::symlink("../outside.csv", folder.join("bench/link.csv")).expect("a link");
    for (table, why) in [
        ("none.csv", "cannot be read"),
        ("sub.csv", "it is a folder"),
        ("big.csv", "it is larger than 4 MB"),
        ("../outside.csv", "leads out of the run file's folder"),
        #[cfg(unix)]
        ("link.csv", "it leads out of the folder"),
    ] {
        let run = good_with_table().0.replace("readings.csv", table);
        put(&folder, "bench/bath.yaml", &run);
        let (_, err) = ended(&fillmark(&folder, &["check", "bench/bath.yaml"]), 1);
        assert!(
            err.contains(why) && err.contains("1 problem"),
            "{table}: {err}"
        );
    }
}

#[cfg(unix)]
#[test]
fn what_is_no_regular_file_is_refused_without_waiting() {
    let folder = folder("irregular");
    let made = Command::new("mkfifo")
        .arg(folder.join("pipe.yaml"))
        .status();
    assert!(
        made.is_ok_and(|status| status.success()),
        "a pipe can be made"
    );
    let big = std::fs::File::create(folder.join("big.yaml")).expect("a file");
    big.set_len(200_000_000).expect("room on the disk");
    for (name, why) in [
        ("pipe.yaml", "it is not a regular file"),
        ("/dev/zero", "it is not a regular file"),
        ("/dev/stdin", "it is not a regular file"),
        ("big.yaml", "it is larger than 16 MB"),
        ("none.yaml", "No such file"),
    ] {
        let begun = std::time::Instant::now();
        let (_, err) = ended(&fillmark(&folder, &["check", name]), 3);
        assert!(err.contains(why), "{name}: {err}");
        let took = begun.elapsed();
        assert!(
            took < std::time::Duration::from_secs(5),
            "{name} took {took:?}"
        );
    }
}

#[test]
fn templates_are_a_set_by_name_or_a_folder() {
    let folder = folder("template_sets");
    put(&folder, "bath.yaml", &good());
    std::fs::create_dir(folder.join("house")).expect("a folder");
    std::fs::create_dir(folder.join("empty")).expect("a folder");
    let made = |template: &str, code| {
        let arguments = [
            "report",
            "bath.yaml",
            "--pdf",
            "out.pdf",
            "--template",
            template,
        ];
        ended(&fillmark(&folder, &arguments), code).1
    };
    for set in ["report", "summary", "worksheet"] {
        assert_eq!(made(set, 0), "", "{set}");
    }
    put(&folder, "house/report.md", "# Ours\n\n{{ titel }}\n");
    let err = made("house", 1);
    for word in ["house/report.md:3", "{{ titel }}", "template-fails"] {
        assert!(err.contains(word), "no {word} in {err}");
    }
    put(&folder, "house/report.md", "# Ours\n\n{{ title }}\n");
    put(&folder, "house/caution_s.md", "Careful.\n");
    let err = made("house/", 0);
    assert!(
        err.contains("template-not-included") && err.contains("perhaps caution"),
        "{err}"
    );
    let built_in = folder.join("built_in");
    std::fs::create_dir(&built_in).expect("a folder");
    for file in ["aim.md", "VALUES.md"] {
        let from = crate::common::path("templates").join(file);
        std::fs::copy(from, built_in.join(file)).expect("copied");
    }
    assert_eq!(made("built_in", 0), "", "the list of values is no template");
    for (wrong, said) in [
        ("sumary", "perhaps summary"),
        ("none/such", "worksheet"),
        ("empty", "no templates"),
    ] {
        let err = made(wrong, 2);
        assert!(err.contains(wrong) && err.contains(said), "{err}");
    }
}

#[test]
fn a_report_in_place_of_a_run_file_is_led_to_its_run_file() {
    let folder = folder("report_for_run");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let before = std::fs::read(folder.join("bath.pdf")).expect("a report");
    for (command, code) in [("report", 2), ("check", 3)] {
        let (_, err) = ended(&fillmark(&folder, &[command, "bath.pdf"]), code);
        assert!(
            err.contains("fillmark extract bath.pdf"),
            "{command}: {err}"
        );
    }
    assert_eq!(std::fs::read(folder.join("bath.pdf")).expect("it"), before);
}
