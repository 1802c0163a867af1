//! Run files as people type them who have read no more than README.

use std::collections::BTreeMap;

use crate::common::close;
use fillmark::pipeline::{self, Run};
use fillmark::problem::{Code, Problem};

/// 8 g of salt in 100 mL by cylinder; 25 mL of it in five deliveries to 100 mL; one weighing each; no units.
const SALT_BY_CYLINDER: &str = "
title: Salt solution
date: 2026-11-20
analysts: Sam
solute: table salt
apparatus:
  scale: {kind: balance, readability: 0.01}
  cylinder: {kind: measuring cylinder, capacity: 100, class: B}
  pipette: {kind: volumetric pipette, capacity: 5, class: A}
solutions:
  water: {pure: true}
  stock:
    weighed: 8.04
    made_up: 100.0
  dilution:
    aliquot: 5 x 5 mL of stock
    made_up: 100
density:
  weighings:
    water: {empty: 50.10, filled: 55.08, volume: 5}
    stock: {empty: 50.10, filled: 55.36, volume: 5}
    dilution: {empty: 50.10, filled: 55.15, volume: 5}
";

/// A brine bath by spindle.
const BATH: &str = "
title: Brine bath
date: 2026-11-20
analysts: Sam
conditions: {liquid: 54 °F}
solute: salt
apparatus:
  spindle: {kind: spindle, readability: 0.001, accuracy: 0.001}
solutions:
  bath: {unknown: true}
density:
  readings:
    bath: 1.139
calibration: published
";

/// A class whose readings stand in a spreadsheet.
const CLASS: &str = "
title: Class
date: 2026-11-20
analysts: Sam
conditions: {liquid: 21}
solute: NaCl
apparatus:
  scale: {kind: balance, readability: 0.01}
  cylinder: {kind: graduated cylinder, capacity: 100, class: B}
  pipette: {kind: one-mark pipette, capacity: 10, class: A}
solutions:
  water: {pure: true}
  A:
    weighed: {before: 15.42, after: 5.40}
    made_up: 100
  X: {unknown: true}
density:
  weighings: {from: class.csv}
";
const CLASS_READINGS: &str = "\
Solution;Empty;Filled;Volume
water;50,10;60,08;10,00
A;50,10;60,75;10,00
X;50,10;60,35;10,00
";

fn read(text: &str) -> (Option<Run>, Vec<Problem>) {
    let beside = BTreeMap::from([("class.csv".to_owned(), CLASS_READINGS.as_bytes().to_vec())]);
    let (run, problems, _) = pipeline::read_beside("run.yaml", text.as_bytes(), &beside);
    (run, problems)
}

#[track_caller]
fn sound(text: &str, warned: &[Code]) -> Run {
    let (run, problems) = read(text);
    let codes: Vec<Code> = problems.iter().map(|problem| problem.code).collect();
    assert_eq!(codes, warned, "{problems:?}");
    run.expect("a run")
}

#[test]
fn salt_by_cylinder_needs_its_temperature_and_nothing_else() {
    let (run, problems) = read(SALT_BY_CYLINDER);
    assert!(run.is_none() && problems.len() == 1, "{problems:?}");
    assert_eq!(problems[0].code, Code::NoTemperature);
    // As it is often written first; the message says where it goes.
    let (_, problems) = read(&SALT_BY_CYLINDER.replace("solute:", "temperature: 21\nsolute:"));
    let right = problems[0].right.as_deref().unwrap_or_default();
    assert!(right.contains("conditions: {liquid"), "{right}");
    let run = sound(
        &SALT_BY_CYLINDER.replace("solute:", "conditions: {liquid: 21}\nsolute:"),
        &[],
    );
    // By hand: 80.4 g/L and (55.36 − 50.10)/5 g/mL; a quarter of it, and (55.15 − 50.10)/5 g/mL.
    for (solution, percent) in [("stock", 8.04 / 1.052), ("dilution", 2.01 / 1.010)] {
        let mut all = run.results.solutions.iter();
        let (_, found) = all.find(|(name, _)| name == solution).expect("a solution");
        let found = found
            .composition
            .mass_percent
            .as_ref()
            .expect("its mass percent");
        close(solution, found.value, percent, 1e-9, 0.0);
    }
}

#[test]
fn water_is_weighed_or_measured_out_by_the_unit_it_has() {
    let stock = "    weighed: 8.04\n    made_up: 100.0\n";
    let with = |water: &str| {
        let text = SALT_BY_CYLINDER.replace("solute:", "conditions: {liquid: 21}\nsolute:");
        let made = format!("    weighed: 8.04\n    solvent: {water}\n");
        let run = sound(&text.replace(stock, &made), &[]);
        let (_, found) = run
            .results
            .solutions
            .iter()
            .next_back()
            .expect("a solution");
        found.clone()
    };
    for (short, whole) in [
        ("92.1 g", "{mass: 92.1 g}"),
        ("92.1", "{mass: 92.1 g}"),
        ("92.0 ± 0.5 mL", "{volume: 92.0 ± 0.5 mL}"),
        ("92.0±0.5mL", "{volume: 92.0 ± 0.5 mL}"),
    ] {
        assert_eq!(with(short), with(whole), "{short}");
    }
    let (_, problems) =
        read(&SALT_BY_CYLINDER.replace(stock, "    weighed: 8.04\n    solvent: 92.1 °C\n"));
    assert!(
        problems
            .iter()
            .any(|problem| problem.code == Code::WrongDimension),
        "{problems:?}"
    );
}

#[test]
fn a_bath_by_spindle() {
    let run = sound(BATH, &[]);
    let found = run.results.unknowns[0].1.composition.mass_percent.as_ref();
    // 1.139 g/mL at 12.2 °C is 18.4 % (CRC Handbook: 1.1339 g/mL at 18 % and 20 °C, 0.004 g/mL more at 12 °C).
    close("bath", found.expect("a strength").value, 18.4, 0.15, 0.0);
}

#[test]
fn a_class_with_a_spreadsheet_of_decimal_commas() {
    let run = sound(CLASS, &[Code::DecimalCommasRead]);
    let found = run.results.unknowns[0].1.composition.mass_percent.as_ref();
    // On the line from water, 0.998 g/mL, to A, 1.065 g/mL and 10.02/1.065 %.
    let percent = 10.02 / 1.065 * (1.025 - 0.998) / (1.065 - 0.998);
    close("X", found.expect("a strength").value, percent, 0.05, 0.0);
}

#[test]
fn what_cannot_be_understood_is_led_to_the_right_words() {
    for (typed, instead, right) in [
        (
            "{empty: 50.10, filled: 55.08, volume: 5}",
            "{mass: 4.98, volume: 5}",
            "empty: 0.00 g",
        ),
        (
            "{empty: 50.10, filled: 55.08, volume: 5}",
            "{weight: 4.98, volume: 5}",
            "empty: 0.00 g",
        ),
        ("weighed: 8.04", "weighed: 15.42-7.38", "before"),
        ("weighed: 8.04", "weighed: {weight: 8.04}", "perhaps mass"),
        ("weighed: 8.04", "weight: 8.04", "perhaps weighed"),
        ("filled: 55.08", "filled: 55.08 gr", "perhaps g"),
        (
            "class: A}",
            "class: A}\n  spare: {kind: beaker, capacity: 100}",
            "cylinder",
        ),
    ] {
        assert!(SALT_BY_CYLINDER.contains(typed), "{typed}");
        let text = SALT_BY_CYLINDER.replacen(typed, instead, 1);
        let text = text.replace("solute:", "conditions: {liquid: 21}\nsolute:");
        let (_, problems) = read(&text);
        let said = problems.first().and_then(|problem| problem.right.clone());
        assert!(
            problems.len() == 1 && said.as_deref().unwrap_or_default().contains(right),
            "{instead}: {problems:?}"
        );
    }
}
