//! `calibration: {from: …}`: unknowns read by the calibration of an earlier report.

use std::collections::BTreeMap;

use crate::cli::{ended, fillmark, folder, put};
use crate::common::{close, path, read};
use crate::simulation::earlier::{self, reading};
use crate::simulation::judge::each;
use fillmark::pipeline::{self, Run};
use fillmark::problem::{Code, Problem};
use serde_json::{Value, json};

/// A run file and the results beside it whose calibration it takes.
pub(crate) fn good() -> (String, BTreeMap<String, Vec<u8>>) {
    let run = reading("1.0660 ± 0.0003 g/mL", "20.0 °C", MAGNESIUM);
    let results = results().to_string().into_bytes();
    (run, BTreeMap::from([("march.json".to_owned(), results)]))
}

fn with(run_file: &str, results: &str) -> (Option<Run>, Vec<Problem>) {
    let beside = BTreeMap::from([("march.json".to_owned(), results.as_bytes().to_vec())]);
    let (run, problems, _) = pipeline::read_beside("run.yaml", run_file.as_bytes(), &beside);
    (run, problems)
}

fn codes(run_file: &str, results: &str) -> Vec<Code> {
    let (run, problems) = with(run_file, results);
    assert!(run.is_none(), "{results}");
    problems.iter().map(|problem| problem.code).collect()
}

/// A straight line at 20 °C, of a salt without published densities.
fn results() -> Value {
    json!({
        "written_by": "Fillmark 0.1.0",
        "title": "A series", "date": "2026-03-02", "solute": "magnesium chloride",
        "calibration": {
            "against": "mass percent",
            "coefficients": [{"value": 0.998}, {"value": 0.0085}],
            "covariance": [[4e-8, -3e-9], [-3e-9, 4e-10]],
            "range": [2.0, 12.0],
            "temperature": {"value": 20.0, "standard_uncertainty": 0.1}
        }
    })
}

const MAGNESIUM: &str = "{name: magnesium chloride, molar_mass: 95.211 g/mol}";

#[test]
fn a_straight_line_by_hand() {
    // x = (1.0660 − 0.998)/0.0085 = 8 %; u² = (u²(ρ) + u²(b0) + 2 x u(b0, b1) + x² u²(b1))/b1².
    let (run, problems) = with(
        &reading("1.0660 ± 0.0003 g/mL", "20.0 °C", MAGNESIUM),
        &results().to_string(),
    );
    let run = run.unwrap_or_else(|| panic!("{problems:?}"));
    let w = run.results.unknowns[0]
        .1
        .composition
        .mass_percent
        .clone()
        .unwrap();
    close("x", w.value, 8.0, 1e-9, 0.0);
    let variance = 9e-8 + 4e-8 - 2.0 * 8.0 * 3e-9 + 64.0 * 4e-10;
    close(
        "u",
        w.standard_uncertainty,
        f64::sqrt(variance) / 0.0085,
        1e-9,
        0.0,
    );
    assert!(run.flags.is_empty(), "{:?}", run.flags);
}

#[test]
fn what_the_earlier_report_left_uncorrected_is_corrected() {
    let mut results = results();
    results["calibration"]["coefficients"][0]["not_corrected"] =
        json!([{"effect": "air buoyancy", "key": "air_buoyancy", "lacking": 0.001}]);
    let text = reading("1.0660 ± 0.0003 g/mL", "20.0 °C", MAGNESIUM);
    let (run, _) = with(&text, &results.to_string());
    let w = run.unwrap().results.unknowns[0]
        .1
        .composition
        .mass_percent
        .clone()
        .unwrap();
    close("x", w.value, (1.0660 - 0.999) / 0.0085, 1e-9, 0.0);
}

#[test]
fn range_and_temperature_are_told() {
    let flagged = |density: &str, liquid: &str| {
        let (run, _) = with(&reading(density, liquid, MAGNESIUM), &results().to_string());
        let flags = run.expect("a run").flags;
        flags
            .iter()
            .map(|flag| flag.message.to_string())
            .collect::<Vec<_>>()
    };
    let outside = flagged("1.1200 ± 0.0003 g/mL", "20.0 °C");
    assert!(
        outside.len() == 1 && outside[0].contains("outside the calibrated range"),
        "{outside:?}"
    );
    let warm = flagged("1.0660 ± 0.0003 g/mL", "24.0 °C");
    assert!(warm.len() == 1 && warm[0].contains("24.0 °C"), "{warm:?}");
}

#[test]
fn files_that_hold_no_calibration_to_read_by_are_told() {
    let text = reading("1.0660 ± 0.0003 g/mL", "20.0 °C", MAGNESIUM);
    let changed = |change: &dyn Fn(&mut Value)| {
        let mut results = results();
        change(&mut results);
        results.to_string()
    };
    for results in [
        "{}".to_owned(),
        "solution,empty,filled".to_owned(),
        String::new(),
        changed(&|r| r["calibration"] = Value::Null),
        changed(&|r| r["calibration"]["consistent"] = false.into()),
        changed(&|r| r["calibration"]["against"] = "price".into()),
        changed(&|r| r["calibration"]["range"] = json!([5.0, 5.0])),
        changed(&|r| r["calibration"]["covariance"] = json!([[1e-8, 1e-7], [1e-7, 1e-8]])),
        changed(&|r| r["calibration"]["covariance"] = json!([[1e-8]])),
        changed(&|r| r["calibration"]["coefficients"] = json!([{"value": 1.0}])),
        changed(&|r| r["calibration"]["coefficients"][1]["value"] = 0.0.into()),
        changed(&|r| r["solute"] = "sodium chloride".into()),
        changed(&|r| r["date"] = "in March".into()),
    ] {
        assert_eq!(
            codes(&text, &results),
            [Code::NoEarlierCalibration],
            "{results}"
        );
    }
    let sound = results().to_string();
    for (change, code) in [
        (
            "calibration: {from: march.json, line: curve}",
            Code::NothingFitted,
        ),
        (
            "calibration: {from: march.json, against: molality}",
            Code::NothingFitted,
        ),
        ("calibration: {from: april.json}", Code::FileBesideNotRead),
        ("calibration: {from: ../march.json}", Code::PathNotBeside),
    ] {
        let text = text.replace("calibration: {from: march.json}", change);
        let found = codes(&text, &sound);
        assert!(found.contains(&code), "{change}: {found:?}");
    }
    let text = text.replace("bath: {unknown: true}", "bath: {pure: true}");
    assert!(codes(&text, &sound).contains(&Code::NoUnknown));
}

#[test]
fn a_report_and_its_results_file_give_the_same() {
    let folder = folder("earlier");
    put(
        &folder,
        "march.yaml",
        &read(&path("sample_runs/creamery_brine_bath.yaml")),
    );
    ended(
        &fillmark(
            &folder,
            &["report", "march.yaml", "--results", "march.json"],
        ),
        0,
    );
    let text = reading("1.1386 ± 0.0005 g/mL", "12.4 ± 0.1 °C", "sodium chloride");
    put(&folder, "by_json.yaml", &text);
    put(
        &folder,
        "by_pdf.yaml",
        &text.replace("march.json", "march.pdf"),
    );
    let answers = ["by_json.yaml", "by_pdf.yaml"].map(|file| {
        let (out, _) = ended(&fillmark(&folder, &["report", file]), 0);
        out.lines().next().unwrap_or_default().to_owned()
    });
    assert_eq!(answers[0], answers[1]);
    assert!(answers[0].contains("mass percent 18.2"), "{}", answers[0]);
    // What the report carries makes it again.
    ended(
        &fillmark(&folder, &["extract", "by_pdf.pdf", "--into", "out"]),
        0,
    );
    ended(&fillmark(&folder, &["report", "out/by_pdf.yaml"]), 0);
    let bytes = |name: &str| std::fs::read(folder.join(name)).expect("a report");
    assert!(
        bytes("by_pdf.pdf") == bytes("out/by_pdf.pdf"),
        "not the same bytes"
    );
    // The earlier report is an input, and stays.
    let over = ["report", "by_pdf.yaml", "--pdf", "march.pdf", "--force"];
    let output = fillmark(&folder, &over);
    assert_ne!(output.status.code(), Some(0));
}

#[test]
fn intervals_by_an_earlier_calibration_hold_the_truth() {
    // 95 % are meant; 1.5 % and three standard deviations of the simulation are left on either side.
    const RUNS: usize = 200;
    for bench in earlier::all() {
        let held = each(0, RUNS, |run| bench.holds(run));
        let held: Vec<bool> = held.into_iter().flatten().collect();
        let (name, count) = (bench.name, held.len() as f64);
        assert!(count > 0.9 * RUNS as f64, "{name}: {count} were read");
        let share = held.iter().filter(|held| **held).count() as f64 / count;
        let room = 0.015 + 3.0 * f64::sqrt(0.95 * 0.05 / count);
        assert!((share - 0.95).abs() <= room, "{name}: {share:.3}");
    }
}
