//! What a good run file says, and that the way it is written does not change it.

use fillmark::bench::runfile::model::{ApparatusKind, Origin, RunFile, Solvent, WeighedReadings};
use fillmark::bench::runfile::read;

const GOOD: &str = include_str!("runs/good.yaml");
const SHORT: &str = include_str!("runs/short.yaml");

fn run(text: &str) -> RunFile {
    let (run, problems) = read("good.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems");
    run.unwrap()
}

fn solution(run: &RunFile, name: &str) -> Origin {
    run.solutions
        .iter()
        .find(|solution| solution.name.value == name)
        .unwrap()
        .origin
        .clone()
}

fn apparatus(run: &RunFile, name: &str) -> usize {
    run.apparatus
        .iter()
        .position(|item| item.name.value == name)
        .unwrap()
}

#[test]
fn a_run_is_read_whole() {
    let run = run(GOOD);
    assert_eq!(run.analysts, ["R. Example", "S. Sample"], "analysts");
    assert_eq!(run.procedure.len(), 2, "a list of steps");
    assert_eq!(run.notes.len(), 1, "one note");
    assert_eq!(
        run.solute.salt().map(|salt| salt.formula),
        Some("NaCl"),
        "solute"
    );
    assert_eq!(
        run.apparatus[1].kind,
        ApparatusKind::GraduatedPipette,
        "kind"
    );
    assert!(
        (run.conditions.humidity.as_ref().unwrap().value.value - 0.48).abs() < 1e-12,
        "percent"
    );
    assert!((run.report.coverage - 0.95).abs() < 1e-12, "coverage");
    let weighed = &run.densities.weighings[1];
    assert_eq!(
        run.solutions[weighed.solution.value].name.value, "A",
        "solution weighed"
    );
    assert_eq!(weighed.replicates.len(), 3, "replicates");
    assert_eq!(
        weighed.replicates[1].left_out.as_ref().unwrap().value,
        "bubble in the pipette",
        "left out"
    );
    assert_eq!(
        weighed.replicates[0].filled.entry.name, "weighings.A.1.filled",
        "entry"
    );
    assert_eq!(
        weighed.replicates[0].filled.value.number.text, "42.480",
        "digits"
    );
    assert_eq!(
        weighed.replicates[0]
            .liquid
            .as_ref()
            .unwrap()
            .value
            .number
            .text,
        "20.8",
        "own temperature"
    );
    assert_eq!(
        run.corrections[0].reason.on.as_deref(),
        Some("2026-03-05"),
        "correction"
    );
}

#[test]
fn deliveries_are_written_in_three_ways() {
    let run = run(GOOD);
    let deliveries = |name| match solution(&run, name) {
        Origin::Dilution { aliquot, .. } => aliquot.deliveries,
        other => panic!("{name}: {other:?}"),
    };
    let listed = deliveries("B");
    assert_eq!(listed.len(), 4, "a list");
    assert_eq!(
        listed[2].entry.name, "solutions.B.aliquot.volume.3",
        "each has its name"
    );
    assert_eq!(
        (
            listed[2].value.number.text.as_str(),
            listed[2].value.unit.symbol
        ),
        ("5.00", "mL"),
        "default unit"
    );
    let counted = deliveries("D");
    assert_eq!(counted.len(), 8, "a count");
    assert_eq!(
        counted[7].entry.name, "solutions.D.aliquot.volume.8",
        "each has its name"
    );
    let one = read(
        "one.yaml",
        SHORT.replace("4 × 5.00 mL", "5.00 mL").as_bytes(),
    )
    .0
    .unwrap();
    match solution(&one, "B") {
        Origin::Dilution { aliquot, .. } => {
            assert_eq!(
                aliquot.deliveries[0].entry.name, "solutions.B.aliquot.volume",
                "one needs no number"
            );
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn instruments_are_found_where_they_are_not_named() {
    let run = run(GOOD);
    let balance = apparatus(&run, "bench balance");
    let Origin::ByMass { weighed, solvent } = solution(&run, "C") else {
        panic!("by mass")
    };
    let Solvent::Weighed(solvent) = solvent else {
        panic!("weighed")
    };
    assert_eq!(weighed.balance.unwrap().value, balance, "the only balance");
    assert!(
        solvent.balance.is_none(),
        "a reading with its own uncertainty needs none"
    );
    let WeighedReadings::Tared { mass } = solvent.readings else {
        panic!("tared")
    };
    assert!(
        (mass.value.standard_uncertainty.unwrap() - 0.02).abs() < 1e-15,
        "its own uncertainty"
    );
    assert_eq!(
        run.conditions.thermometer.as_ref().unwrap().value,
        apparatus(&run, "glass thermometer"),
        "thermometer"
    );
    for replicate in run
        .densities
        .weighings
        .iter()
        .flat_map(|weighed| &weighed.replicates)
    {
        assert_eq!(
            replicate.balance.as_ref().unwrap().value,
            balance,
            "the section's balance"
        );
        assert_eq!(
            replicate.pipette.as_ref().unwrap().value,
            apparatus(&run, "ten pipette"),
            "the section's pipette"
        );
    }
}

#[test]
fn entries_are_listed_as_written() {
    let run = run(GOOD);
    let text = |name: &str| {
        run.entries
            .iter()
            .find(|entry| entry.entry.name == name)
            .map(|entry| entry.value.as_str())
    };
    assert_eq!(text("weighings.A.1.filled"), Some("42.480 g"), "a reading");
    assert_eq!(
        text("weighings.water.1.volume"),
        Some("10.00 mL"),
        "one weighing alone"
    );
    assert_eq!(
        text("solutions.B.aliquot.volume.3"),
        Some("5.00"),
        "no unit"
    );
    assert_eq!(text("analysts.2"), Some("S. Sample"), "text");
    for pair in run.entries.windows(2) {
        assert!(
            pair[0].entry.span < pair[1].entry.span,
            "{} comes out of order",
            pair[1].entry.name
        );
    }
    for entry in &run.entries {
        let span = &entry.entry.span;
        let line: Vec<char> = GOOD.lines().nth(span.line - 1).unwrap().chars().collect();
        let there: String = line[span.column - 1..][..span.length].iter().collect();
        assert_eq!(
            there, entry.value,
            "{} stands somewhere else",
            entry.entry.name
        );
    }
}

/// Everything of a run but the places, which the way of writing may move.
fn said(run: &RunFile) -> Vec<(String, String)> {
    run.entries
        .iter()
        .map(|entry| (entry.entry.name.clone(), entry.value.to_string()))
        .collect()
}

#[test]
fn the_way_of_writing_does_not_matter() {
    let plain = run(GOOD);
    assert_eq!(run(&GOOD.replace('\n', "\r\n")), plain, "line ends");
    assert_eq!(run(&format!("\u{feff}{GOOD}")), plain, "byte order mark");
    assert_eq!(
        said(&run(&GOOD.replace("42.480 g", "\"42.480 g\""))),
        said(&plain),
        "quotes"
    );
    assert_eq!(
        said(&run(&format!("# first\n\n{GOOD}\n# last"))),
        said(&plain),
        "comments"
    );
    let aliased = GOOD.replace(
        "{empty: 31.203 g, filled: 41.801 g,",
        "{empty: &e 31.203 g, filled: 41.801 g,",
    );
    assert_eq!(said(&run(&aliased)), said(&plain), "an anchor alone");
}

#[test]
fn an_alias_stands_for_its_value() {
    let text = SHORT
        .replace("water: [{empty: 31.204 g", "water: [{empty: &boat 31.204 g")
        .replace("A: [{empty: 31.204 g", "A: [{empty: *boat");
    let run = run(&text);
    let empty = &run.densities.weighings[1].replicates[0].empty;
    assert_eq!(empty.value.number.text, "31.204", "value");
    assert_eq!(empty.entry.name, "weighings.A.1.empty", "name of its own");
    assert_eq!(empty.entry.span.line, 24, "place where it is written");
}

#[test]
fn a_calibration_is_made_where_none_is_asked_for_and_not_where_none_is_wanted() {
    assert!(run(SHORT).calibration.is_some(), "by default");
    assert!(
        run(&format!("{SHORT}calibration: none\n"))
            .calibration
            .is_none(),
        "not wanted"
    );
}
