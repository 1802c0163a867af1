//! The runs of a class side by side.

use crate::cli::{ended, fillmark, folder, names, put};
use crate::common::{path, read};
use fillmark::bench::runfile::benches;
use fillmark::pipeline;
use fillmark::print::manuscript::Manuscript;
use fillmark::report::compare::{self, Group, Row, judge, values};
use fillmark::report::templates::Templates;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn class() -> (String, String) {
    let text = |name: &str| read(&path("sample_runs/class").join(name));
    (text("class.yaml"), text("readings.csv"))
}

/// A run file that does not say what its unknown holds.
fn nothing_known(run: &str) -> String {
    let lines = run.lines().filter(|line| !line.starts_with("known:"));
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

/// The table of the class with a day for each line: those of honest benches, and at last that of one whose result is far
/// off.
fn by_day(table: &str) -> String {
    let row = |(line, row): (usize, &str)| match line {
        0 => Some(format!("{row},date")),
        // These have slips of their own.
        4 | 7 => None,
        9 => Some(format!("{row},2026-03-28")),
        line => Some(format!(
            "{},2026-03-{line:02}",
            row.replace("38.59l", "38.591")
        )),
    };
    let rows: Vec<String> = table.lines().enumerate().filter_map(row).collect();
    rows.join("\n")
}

/// The rows of a class.
fn rows(run: &str, table: &str) -> Vec<Row> {
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.as_bytes().to_vec())]);
    let read = benches::read("class.yaml", run.as_bytes(), &beside);
    let row = |bench: benches::Bench| {
        let (run, problems) = pipeline::read("class.yaml", bench.text().as_bytes());
        match run {
            Some(run) => Row::new(
                bench.name,
                &run.file,
                &run.reduction,
                &run.results,
                &run.flags,
                &run.claims,
            ),
            None => Row::wrong(bench.name, &problems),
        }
    };
    let benches = read.benches.expect("benches");
    benches.into_iter().map(row).collect()
}

/// What templates of a comparison receive: of a class whose unknown is known, and of one whose is not.
pub(crate) fn material() -> Vec<Value> {
    let (run, table) = class();
    let unknown = nothing_known(&run);
    let judged = |mut rows: Vec<Row>| {
        let class = judge(&mut rows, &mut |_, suspects| {
            suspects
                .iter()
                .map(|_| vec!["A and B were exchanged".into()])
                .collect()
        });
        let group = Group {
            class,
            ..Group::new(&rows, &BTreeMap::new())
        };
        serde_json::to_value(values("Class", &rows, &group)).expect("values")
    };
    let of = |run: &str| judged(rows(run, &table));
    // On days of their own, with a result that is far off.
    let by_date = rows(
        &unknown.replace("date: 2026-03-11", "date:"),
        &by_day(&table),
    );
    vec![of(&run), of(&unknown), judged(by_date)]
}

fn put_class(test: &str) -> PathBuf {
    let folder = folder(test);
    let (run, table) = class();
    put(&folder, "class.yaml", &run);
    put(&folder, "readings.csv", &table);
    folder
}

/// The manuscript of the comparison of the sample class.
pub(crate) fn manuscript() -> Manuscript {
    let (run, table) = class();
    let mut rows = rows(&run, &table);
    let class = judge(&mut rows, &mut |_, suspects| {
        suspects.iter().map(|_| Vec::new()).collect()
    });
    let group = Group {
        class,
        ..Group::new(&rows, &BTreeMap::new())
    };
    let templates = Templates::comparison();
    compare::manuscript("Class", &rows, &group, &templates).expect("a manuscript")
}

/// The comparison of the sample class.
pub(crate) fn printed() -> Vec<u8> {
    let folder = put_class("compared_printed");
    ended(&fillmark(&folder, &["compare", "class.yaml"]), 1);
    std::fs::read(folder.join("class.comparison.pdf")).expect("a comparison")
}

fn json(folder: &Path, name: &str) -> Value {
    let bytes = std::fs::read(folder.join(name)).expect("results");
    serde_json::from_slice(&bytes).expect("JSON")
}

fn text_of(pdf: &Path) -> String {
    let pdf = lopdf::Document::load(pdf).expect("a PDF file");
    let pages: Vec<u32> = pdf.get_pages().keys().copied().collect();
    pdf.extract_text(&pages).expect("its text")
}

#[test]
fn a_class_is_compared_and_a_wrong_run_stops_nothing() {
    let folder = put_class("compared_class");
    let compare = [
        "compare",
        "class.yaml",
        "--table",
        "class.csv",
        "--results",
        "class.json",
    ];
    let (out, err) = ended(&fillmark(&folder, &compare), 1);
    assert!(
        err.contains(
            "12: weighings.B.1.filled has the letter l among its digits (readings.csv, line 13)."
        ),
        "{err}"
    );
    // The slips that the sample was made with.
    assert!(
        out.contains("9: mass percent of mystery, z = +")
            && out.contains("4: mass percent of mystery, z = +"),
        "{out}"
    );
    assert_eq!(out.matches("of mystery, z =").count(), 2, "{out}");
    assert_eq!(
        names(&folder),
        [
            "class.comparison.pdf",
            "class.csv",
            "class.json",
            "class.yaml",
            "readings.csv"
        ]
    );
    let table = std::fs::read_to_string(folder.join("class.csv")).expect("a table");
    assert_eq!(table.lines().count(), 13, "{table}");
    let results = json(&folder, "class.json");
    let quantity = &results["quantities"][0];
    assert_eq!(
        (&quantity["solution"], &quantity["count"]),
        (&"mystery".into(), &11.into())
    );
    // z and En of a bench, from what is written (ISO 13528:2015, 9.4 and 9.7).
    let assigned = &quantity["assigned"];
    let number = |value: &Value| value.as_f64().expect("a number");
    let (first, score) = (&quantity["values"]["0"], &quantity["scores"]["0"]);
    let z = (number(&first["value"]) - 5.0) / number(&assigned["deviation"]);
    assert!((z - number(&score["z"])).abs() < 0.01, "{z} {score}");
    assert!((number(&assigned["value"]) - 5.0).abs() < 1e-12, "known");
    let text = text_of(&folder.join("class.comparison.pdf"));
    for told in [
        "M. Alder",
        "Departures from published densities",
        "Precision",
    ] {
        assert!(text.contains(told), "{told} is not in {text}");
    }
    let bytes = |name: &str| std::fs::read(folder.join(name)).expect("a file");
    let before = ["class.comparison.pdf", "class.csv", "class.json"].map(bytes);
    ended(&fillmark(&folder, &compare), 1);
    assert!(
        ["class.comparison.pdf", "class.csv", "class.json"].map(bytes) == before,
        "other bytes"
    );
}

/// A decimal comma between commas divides a value into two, and what the others of its line stand for is not known.
#[test]
fn a_line_with_a_value_too_many_stops_nothing() {
    let folder = put_class("compared_too_many");
    let (_, table) = class();
    put(&folder, "readings.csv", &table.replace("37.536", "37,536"));
    let (_, err) = ended(&fillmark(&folder, &["compare", "class.yaml"]), 1);
    let told = "2: A value has no column in the heading (readings.csv, line 3).";
    assert!(err.contains(told), "{err}");
    assert_eq!(err.matches("readings.csv, line").count(), 2, "{err}");
    assert!(text_of(&folder.join("class.comparison.pdf")).contains("W. Ivy"));
}

#[test]
fn reports_are_compared_by_the_run_files_that_they_carry() {
    let folder = put_class("compared_reports");
    ended(
        &fillmark(&folder, &["report", "class.yaml", "--into", "out"]),
        1,
    );
    ended(
        &fillmark(
            &folder,
            &["compare", "class.yaml", "--results", "runs.json"],
        ),
        1,
    );
    ended(
        &fillmark(
            &folder,
            &[
                "compare",
                "out",
                "--sort",
                "result",
                "--results",
                "reports.json",
            ],
        ),
        0,
    );
    let (runs, reports) = (json(&folder, "runs.json"), json(&folder, "reports.json"));
    let (runs, sorted_reports) = (&runs["quantities"][0], &reports["quantities"][0]);
    assert_eq!(runs["count"], sorted_reports["count"]);
    // Sums in another order differ in their last digit.
    let deviation = |of: &Value| of["assigned"]["deviation"].as_f64().expect("a number");
    assert!((deviation(runs) - deviation(sorted_reports)).abs() < 1e-12);
    let sorted: Vec<f64> = reports["benches"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|row| row["found"]["answers"][0]["measured"]["value"].as_f64())
        .collect();
    assert!(sorted.len() == 11 && sorted.is_sorted(), "{sorted:?}");
}

/// Nobody is named in any output, but in the key of codes.
#[test]
fn codes_leave_no_name() {
    let folder = put_class("compared_codes");
    let compare = [
        "compare",
        "class.yaml",
        "--codes",
        "key.csv",
        "--table",
        "t.csv",
        "--results",
        "r.json",
        "--pdf",
        "c.pdf",
    ];
    let output = fillmark(&folder, &compare);
    let (out, err) = ended(&output, 1);
    let (_, table) = class();
    let analysts: Vec<&str> = table
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').nth(1))
        .collect();
    assert_eq!(analysts.len(), 12);
    let pdf = lopdf::Document::load(folder.join("c.pdf")).expect("a PDF file");
    let mut all = vec![
        out,
        err,
        text_of(&folder.join("c.pdf")),
        format!("{:?}", pdf.trailer),
    ];
    all.extend(pdf.objects.values().map(|object| format!("{object:?}")));
    for name in ["t.csv", "r.json"] {
        all.push(std::fs::read_to_string(folder.join(name)).expect("text"));
    }
    for analyst in &analysts {
        for text in &all {
            assert!(!text.contains(*analyst), "{analyst} is in {text}");
        }
    }
    // Nor does their order tell, or an empty column.
    let table = std::fs::read_to_string(folder.join("t.csv")).expect("a table");
    let codes = table
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').next());
    assert!(codes.is_sorted(), "{table}");
    assert!(!text_of(&folder.join("c.pdf")).contains("Analysts"));
    let key = std::fs::read_to_string(folder.join("key.csv")).expect("a key");
    for analyst in analysts {
        // That of the bench whose readings cannot be read is not known.
        assert!(
            key.contains(analyst) || analyst == "C. Maple",
            "{analyst} is not in {key}"
        );
    }
    assert_eq!(key.lines().count(), 13, "{key}");
}

/// The key's own solution is what the unknowns are compared with.
#[test]
fn a_key_says_what_the_unknowns_hold() {
    let folder = put_class("compared_key");
    let (run, _) = class();
    let unknown = nothing_known(&run);
    put(&folder, "class.yaml", &unknown);
    put(
        &folder,
        "key.yaml",
        "title: Key\ndate: 2026-03-10\nanalysts: [I. Structor]\nsolute: sodium chloride\n\
        apparatus: {balance: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}}\n\
        solutions: {mystery: {weighed: {mass: 25.000 g}, solvent: {mass: 475.000 g}}}\n",
    );
    ended(
        &fillmark(
            &folder,
            &[
                "compare",
                "class.yaml",
                "--key",
                "key.yaml",
                "--results",
                "r.json",
            ],
        ),
        1,
    );
    let assigned = &json(&folder, "r.json")["quantities"][0]["assigned"];
    assert_eq!(assigned["known"], true);
    assert!(
        (assigned["value"].as_f64().expect("a number") - 5.0).abs() < 0.001,
        "{assigned}"
    );
    put(
        &folder,
        "other.yaml",
        &std::fs::read_to_string(folder.join("key.yaml"))
            .expect("a key")
            .replace("mystery", "enigma"),
    );
    let (_, err) = ended(
        &fillmark(&folder, &["compare", "class.yaml", "--key", "other.yaml"]),
        1,
    );
    assert!(err.contains("no solution that is an unknown"), "{err}");
}

#[test]
fn a_comparison_is_written_over_no_other_file() {
    let folder = put_class("compared_outputs");
    put(&folder, "class.comparison.pdf", "a note");
    put(&folder, "note.csv", "a note");
    let (_, err) = ended(&fillmark(&folder, &["compare", "class.yaml"]), 2);
    assert!(err.contains("class.comparison.pdf"), "{err}");
    for option in ["--table", "--results", "--codes"] {
        let arguments = [
            "compare",
            "class.yaml",
            "--pdf",
            "c.pdf",
            option,
            "note.csv",
        ];
        let (_, err) = ended(&fillmark(&folder, &arguments), 2);
        assert!(err.contains("note.csv"), "{option}: {err}");
    }
    let arguments = [
        "compare",
        "class.yaml",
        "--pdf",
        "c.pdf",
        "--force",
        "--table",
        "readings.csv",
    ];
    let (_, err) = ended(&fillmark(&folder, &arguments), 2);
    assert!(err.contains("a table of runs"), "{err}");
    assert!(!folder.join("c.pdf").exists());
    let (_, err) = ended(&fillmark(&folder, &["compare", "none.yaml"]), 1);
    assert!(err.contains("no run can be compared"), "{err}");
    assert!(!folder.join("none.comparison.pdf").exists());
}

/// A liquid that is measured day by day and then jumps.
#[test]
fn results_by_date_have_control_limits_and_a_jump_is_named() {
    let folder = put_class("compared_by_date");
    let (run, table) = class();
    let run = run.replace("date: 2026-03-11", "date:").replace(
        "\nknown:",
        "\nlimits: {mystery: {mass percent: 4.5 to 5.5 %}}\nknown:",
    );
    put(&folder, "class.yaml", &run);
    put(&folder, "readings.csv", &by_day(&table));
    ended(
        &fillmark(&folder, &["compare", "class.yaml", "--sort", "date"]),
        0,
    );
    let text = text_of(&folder.join("class.comparison.pdf"));
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in [
        "By date",
        "control limits",
        "one beyond three standard deviations from the centre line, at 9",
        "Two liquids",
    ] {
        assert!(text.contains(told), "{told} is not in {text}");
    }
}

/// What a class shows: the slips of the sample, one that its own run does not show, and how large they must be.
#[test]
fn benches_that_stand_apart_from_their_class_are_told_with_their_slips() {
    let folder = put_class("compared_apart");
    let (_, table) = class();
    // 60 mg in one weighing, where the pipette's limit of error alone is 20 mg.
    put(&folder, "readings.csv", &table.replace("38.281", "38.221"));
    let compare = [
        "compare",
        "class.yaml",
        "--table",
        "t.csv",
        "--results",
        "r.json",
    ];
    let (out, _) = ended(&fillmark(&folder, &compare), 1);
    let results = json(&folder, "r.json");
    let benches = results["benches"].as_array().expect("benches");
    let slips = |bench: usize| {
        let slips = benches[bench - 1]["found"]["apart"]["slips"].as_array();
        slips.map(|all| {
            all.iter()
                .filter_map(Value::as_str)
                .collect::<Vec<_>>()
                .join("; ")
        })
    };
    for (bench, slip) in [
        (4, "delivery into B: 4 deliveries, not 5 deliveries"),
        (
            5,
            "vessel filled, B, weighing 1: 38.281 g, not 38.221 g (one digit misread)",
        ),
        (
            7,
            "vessel filled, A, weighing 2: 38.820 g, not 38.280 g (two digits transposed)",
        ),
    ] {
        let named = slips(bench).unwrap_or_default();
        assert!(named.contains(slip), "{bench}: {named}");
        assert!(
            out.contains(&format!("{bench}: stands apart from the class: ")),
            "{out}"
        );
    }
    assert_eq!(benches[4]["found"]["flags"], Value::Array(Vec::new()));
    // Both weighings of the unknown of bench 9 are off alike: no single slip explains it.
    assert_eq!(slips(9).as_deref(), Some(""), "{results:#}");
    for honest in [1, 2, 3, 6, 8, 10, 11] {
        assert_eq!(slips(honest), None, "{honest}");
    }
    let liquids = results["class"]["liquids"].as_array().expect("liquids");
    assert_eq!(liquids.len(), 4, "{liquids:?}");
    for liquid in liquids {
        let visible = liquid["visible_mass"].as_f64().expect("mg");
        assert!((20.0..100.0).contains(&visible), "{liquid}");
    }
    let text = text_of(&folder.join("class.comparison.pdf"));
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in [
        "Against the class",
        "standard deviations of the class",
        "the slip that shows against the class",
    ] {
        assert!(text.contains(told), "{told} is not in {text}");
    }
    let written = std::fs::read_to_string(folder.join("t.csv")).expect("a table");
    assert!(
        written
            .lines()
            .nth(5)
            .is_some_and(|line| line.contains("one density of B is in error by")),
        "{written}"
    );
    // Too few benches to know what they differ by.
    let few: Vec<&str> = table.lines().take(8).collect();
    put(&folder, "readings.csv", &few.join("\n"));
    ended(&fillmark(&folder, &compare), 0);
    assert_eq!(
        json(&folder, "r.json")["class"]["liquids"],
        Value::Array(Vec::new())
    );
    let text = text_of(&folder.join("class.comparison.pdf"));
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("if 8 or more measured a liquid"), "{text}");
}
