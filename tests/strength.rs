//! Brine strength on the trade's scales, held against published densities of brine.

use fillmark::bench::reduce::reduce;
use fillmark::bench::reduce::results::{Results, StrengthStated};
use fillmark::bench::runfile::read;
use fillmark::problem::Problem;

/// A brine of 20 % by mass at a temperature, its density read.
fn brine(solute: &str, celsius: &str, density: &str) -> StrengthStated {
    reduced(solute, celsius, density).unwrap()
}

fn reduced(solute: &str, celsius: &str, density: &str) -> Result<StrengthStated, Vec<Problem>> {
    let run = format!(
        "
title: One brine
date: 2026-03-19
analysts: R. Example
conditions: {{liquid: {celsius} °C}}
solute: {solute}
solutions:
  A: {{weighed: {{mass: 20.000 ± 0.001 g}}, solvent: {{mass: 80.000 ± 0.001 g}}}}
density:
  readings: {{A: [{{density: {density} ± 0.0002 g/mL}}]}}
calibration: none
report: {{scales: [specific gravity, degrees Baumé, per cent of saturation]}}
"
    );
    let (run, problems) = read("strength.yaml", run.as_bytes());
    assert_eq!(problems, [], "problems");
    let run = run.unwrap();
    let reduction = reduce(&run)?;
    let (_, stated) = Results::new(&run, &reduction).solutions.remove(0);
    Ok(stated.strength)
}

#[test]
fn a_fifth_of_salt() {
    // CRC Handbook: 1.1478 g/mL at 20 °C, water 0.9982; 26.40 % saturated (6.136 mol/kg).
    let strength = brine("sodium chloride", "20.0", "1.1478");
    let value = |stated: &Option<Box<fillmark::bench::reduce::results::Stated>>| {
        stated.as_ref().unwrap().value
    };
    let gravity = value(&strength.specific_gravity_20_20);
    assert!((gravity - 1.1478 / 0.998_207).abs() < 1e-6, "{gravity}");
    // At 60 °F it is some 1.9 kg/m³ denser, water 0.83: 1.1508; 145 − 145/1.1508 = 19.0.
    let degrees = value(&strength.degrees_baume);
    assert!((degrees - 19.0).abs() < 0.05, "{degrees}");
    let molar_mass = 58.44;
    let saturated = 100.0 * 6.136 * molar_mass / (1000.0 + 6.136 * molar_mass);
    let saturation = value(&strength.percent_saturation);
    assert!(
        // Published solubilities differ by up to 0.14 % by mass, 0.4 % of saturation here.
        (saturation - 2000.0 / saturated).abs() < 0.4,
        "{saturation}"
    );
}

#[test]
fn scales_do_not_depend_on_the_temperature_of_the_liquid() {
    // The same brine at 25 °C has 1.1453 g/mL (Pitzer, Peiper & Busey 1984).
    let (cold, warm) = (
        brine("sodium chloride", "20.0", "1.1478"),
        brine("sodium chloride", "25.0", "1.1453"),
    );
    let gravities = [cold, warm].map(|s| s.specific_gravity_20_20.unwrap());
    let difference = gravities[0].value - gravities[1].value;
    assert!(
        difference.abs() < gravities[1].expanded_uncertainty,
        "{difference}"
    );
    assert!(
        gravities[1].standard_uncertainty > gravities[0].standard_uncertainty,
        "bringing it to 20 °C adds uncertainty"
    );
}

#[test]
fn only_where_the_scales_are_defined() {
    let problems = reduced("potassium chloride", "20.0", "1.1328").expect_err("another salt");
    assert_eq!(problems[0].code.name(), "no-such-scale");
    let hot = brine("sodium chloride", "60.0", "1.1275");
    // Kaufmann: 27.09 % at 60 °C.
    let saturation = hot.percent_saturation.expect("listed to 100 °C").value;
    assert!((saturation - 2000.0 / 27.09).abs() < 0.4, "{saturation}");
    assert!(hot.degrees_baume.is_some(), "Baumé");
}

#[test]
fn only_those_asked_for() {
    let run = |scales: &str| {
        let text = std::fs::read_to_string("sample_runs/creamery_brine_bath.yaml").unwrap();
        let asked = "scales: [specific gravity, degrees Baumé, per cent of saturation]";
        assert!(text.contains(asked));
        let (run, problems) = read("run.yaml", text.replace(asked, scales).as_bytes());
        assert_eq!(problems, [], "problems");
        let run = run.unwrap();
        let reduction = reduce(&run).unwrap();
        let all = reduction.solutions.iter().filter_map(|s| s.strength);
        all.map(|s| {
            [s.specific_gravity, s.degrees_baume, s.percent_saturation].map(|s| s.is_some())
        })
        .collect::<Vec<_>>()
    };
    assert!(run("digits: uncertainty").is_empty());
    assert_eq!(run("scales: degrees baume"), [[false, true, false]; 5]);
    assert_eq!(
        run("scales: [per cent of saturation, specific gravity]"),
        [[true, false, true]; 5]
    );
}
