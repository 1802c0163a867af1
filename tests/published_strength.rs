//! Strengths read from the published density of brine, held to published tables and to a calculation by other code
//! (`published/brine_strength.json`).

use crate::common::{cases, close, id, number, numbers, reduced};
use fillmark::bench::reduce::results::Stated;
use fillmark::pipeline;
use fillmark::problem::Problem;
use serde_json::Value;

/// A run of a single unknown, from a density as typed and a temperature.
fn run(salt: &str, density: &str, celsius: &str, more: &str) -> String {
    format!(
        "
title: One reading
date: 2026-03-19
analysts: R. Example
conditions: {{liquid: {celsius} °C}}
solute: {salt}
solutions:
  bath: {{unknown: true}}
density:
  readings: {{bath: [{{density: {density}}}]}}
calibration: published
{more}"
    )
}

fn strength(salt: &str, density: &str, celsius: &str) -> Stated {
    let run = reduced(&run(salt, density, celsius, ""));
    let (_, unknown) = &run.results.unknowns[0];
    unknown.composition.mass_percent.clone().unwrap()
}

fn refused(density: &str, celsius: &str) -> Vec<Problem> {
    let text = run("sodium chloride", density, celsius, "");
    let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert!(run.is_none(), "a strength outside the published values");
    problems
}

fn salt(inputs: &Value) -> &'static str {
    match inputs["salt"].as_str() {
        Some("KCl") => "potassium chloride",
        _ => "sodium chloride",
    }
}

#[test]
fn published_tables_read_backwards() {
    let all = cases(include_str!("published/brine_strength.json"));
    let tables = [
        "inverse.ict",
        "inverse.crc",
        "inverse.rogers",
        "inverse.phreeqc",
    ];
    let tables = |case: &&Value| tables.iter().any(|table| id(case).starts_with(table));
    let meant: Vec<&Value> = all.iter().filter(tables).collect();
    assert_eq!(meant.len(), 20, "a case was lost");
    for case in meant {
        let inputs = &case["inputs"];
        let density = format!("{} ± 0.01 kg/m³", number(inputs, "density_kg_m3"));
        let t = format!("{} ± 0.01", number(inputs, "t_C"));
        let found = strength(salt(inputs), &density, &t);
        let expected = number(&case["expected"], "mass_percent");
        close(
            id(case),
            found.value,
            expected,
            number(&case["tolerance"], "abs"),
            0.0,
        );
        // What the tables differ by is what the uncertainty allows for.
        let apart = (found.value - expected).abs();
        assert!(apart < 1.3 * found.expanded_uncertainty, "{}", id(case));
    }
}

#[test]
fn uncertainties_are_those_of_reading_temperature_and_published_values() {
    let all = cases(include_str!("published/brine_strength.json"));
    let meant: Vec<&Value> = all
        .iter()
        .filter(|c| id(c).starts_with("inverse.uncertainty"))
        .collect();
    assert_eq!(meant.len(), 3, "a case was lost");
    for case in meant {
        let inputs = &case["inputs"];
        let (w, t) = (number(inputs, "mass_fraction"), number(inputs, "t_C"));
        let salt = fillmark::bench::reference::brine::salt("NaCl").unwrap();
        let density = salt.density_at(w, t);
        let found = strength(
            "sodium chloride",
            &format!("{density:.9} ± 0.0002 g/mL"),
            &format!("{t} ± 0.3"),
        );
        close(id(case), found.value, 100.0 * w, 1e-5, 0.0);
        let u = number(&case["expected"], "u_mass_percent");
        close(id(case), found.standard_uncertainty, u, 0.0, 0.002);
    }
}

#[test]
fn the_formula_is_solved_exactly_for_both_salts() {
    for (name, strongest) in [("NaCl", 0.265), ("KCl", 0.264)] {
        let salt = fillmark::bench::reference::brine::salt(name).unwrap();
        for step in 0..=8 {
            let w = strongest * f64::from(step) / 8.0;
            for t in [5.0, 12.5, 20.0, 35.0, 80.0] {
                let density = salt.density_at(w, t) + 1e-12;
                let density = format!("{density:.12} ± 0.0002 g/mL");
                let found = strength(salt.name, &density, &format!("{t} ± 0.1"));
                close(
                    &format!("{name}, {w} at {t} °C"),
                    found.value,
                    100.0 * w,
                    1e-8,
                    0.0,
                );
            }
        }
    }
}

#[test]
fn the_wrong_temperature_and_the_wrong_salt_give_what_they_give() {
    let all = cases(include_str!("published/brine_strength.json"));
    let case = |name: &str| all.iter().find(|c| id(c) == name).unwrap();
    let wrong = case("inverse.wrong-temperature.1147.8");
    for (t, key) in [("20", "mass_percent"), ("25", "mass_percent_wrong")] {
        let found = strength(
            "sodium chloride",
            "1147.8 ± 0.1 kg/m³",
            &format!("{t} ± 0.1"),
        );
        close(
            key,
            found.value,
            number(&wrong["expected"], key),
            0.0003,
            0.0,
        );
    }
    let wrong = &case("inverse.wrong-salt.KCl10")["expected"];
    let found = strength("potassium chloride", "1063.3 ± 0.1 kg/m³", "20 ± 0.1");
    close(
        "KCl",
        found.value,
        number(wrong, "mass_percent_KCl"),
        0.06,
        0.0,
    );
    let found = strength("sodium chloride", "1063.3 ± 0.1 kg/m³", "20 ± 0.1");
    close(
        "NaCl",
        found.value,
        number(wrong, "mass_percent_if_NaCl"),
        0.001,
        0.0,
    );
}

#[test]
fn outside_the_published_values_there_is_one_clear_error() {
    let all = cases(include_str!("published/brine_strength.json"));
    let case = all.iter().find(|c| id(c) == "inverse.outside").unwrap();
    let limits = numbers(&case["expected"]["limits_kg_m3"]);
    for density in numbers(&case["inputs"]["density_kg_m3"]) {
        let problems = refused(&format!("{density} ± 0.2 kg/m³"), "20 ± 0.1");
        assert_eq!(problems.len(), 1, "{problems:?}");
        let problem = &problems[0];
        assert_eq!(problem.code.name(), "outside-published-range");
        assert_eq!(problem.entry, "density.readings.bath.1");
        assert!(problem.span.is_some(), "{problem:?}");
        let right = problem.right.clone().unwrap_or_default();
        for limit in &limits {
            let limit = format!("{:.4}", limit / 1000.0);
            assert!(right.contains(&limit[..5]), "{right} without {limit}");
        }
    }
    // 110 °C is the hottest that a run file takes; potassium chloride is published from 5 °C on.
    let text = run("potassium chloride", "1.05 ± 0.001 g/mL", "2.0 ± 0.1", "");
    let (_, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(problems[0].headline.contains("temperature"), "{problems:?}");
}

#[test]
fn weighings_are_read_in_vacuum() {
    // 10.0000 mL of a 10 % brine of 1.0707 g/mL at 20 °C shows 10.6966 g in air of 1.2 kg/m³ on a balance adjusted with
    // weights of 8000 kg/m³ (published/brine_strength.json has the same in the other direction: buoy.apparent.1070.7).
    let text = |allow: &str| {
        format!(
            "
title: One weighing
date: 2026-03-19
analysts: R. Example
conditions: {{liquid: 20.0 ± 0.1 °C, air: 20.0 °C, pressure: 1013 hPa, humidity: 50 %}}
solute: sodium chloride
solutions: {{bath: {{unknown: true}}}}
density:
  weighings: {{bath: [{{empty: 30.0000 ± 0.0001 g, filled: 40.6966 ± 0.0001 g, volume: 10.0000 ± 0.0001 mL}}]}}
calibration: published
{allow}"
        )
    };
    let strength = |allow: &str| {
        let run = reduced(&text(allow));
        run.results.unknowns[0]
            .1
            .composition
            .mass_percent
            .clone()
            .unwrap()
    };
    let (asked, not) = (strength("allow_for: {air_buoyancy: true}"), strength(""));
    close("with buoyancy corrected", asked.value, 9.990, 0.005, 0.0);
    close(
        "and corrected for the comparison alone",
        not.value,
        asked.value,
        0.002,
        0.0,
    );
    assert!(
        not.not_corrected.is_empty(),
        "nothing is left to correct: {not:?}"
    );
}

#[test]
fn the_scale_asked_for_is_the_answer() {
    let text = run("sodium chloride", "1.1478 ± 0.0002 g/mL", "20.0 ± 0.1", "").replace(
        "calibration: published",
        "calibration: {line: published, against: mass concentration}",
    );
    let found = reduced(&text);
    let lines = found.headlines();
    assert!(
        lines[0].starts_with("bath: mass concentration 229."),
        "{lines:?}"
    );
    let (_, unknown) = &found.results.unknowns[0];
    assert!(unknown.density.is_some() && found.results.calibration.is_none());
}

/// A run of one reading of an instrument.
fn with_instrument(instrument: &str, reading: &str, celsius: &str) -> String {
    run(
        "sodium chloride",
        &format!("{reading}, with: spindle"),
        celsius,
        "",
    )
    .replace(
        "solutions:",
        &format!("apparatus:\n  spindle: {{kind: hydrometer, {instrument}}}\nsolutions:"),
    )
}

/// The density and the mass percent that follow from a reading.
fn by(instrument: &str, reading: &str, celsius: &str) -> (Stated, Stated) {
    let run = reduced(&with_instrument(instrument, reading, celsius));
    let (_, unknown) = &run.results.unknowns[0];
    let composition = unknown.composition.mass_percent.clone();
    (unknown.density.clone().unwrap(), composition.unwrap())
}

#[test]
fn hydrometers_are_read_at_the_temperature_of_the_liquid() {
    let all = cases(include_str!("published/brine_strength.json"));
    let meant: Vec<&Value> = all.iter().filter(|c| id(c).starts_with("hyd.")).collect();
    assert_eq!(meant.len(), 5, "a case was lost");
    for case in meant {
        let (inputs, expected) = (&case["inputs"], &case["expected"]);
        let t = format!("{} ± 0.1", number(inputs, "t_C"));
        if id(case).starts_with("hyd.density") {
            let reading = format!("{} kg/m³", number(inputs, "reading_kg_m3"));
            let standard = format!(
                "standard: {} °C, readability: 0.1 kg/m³",
                number(inputs, "standard_t_C")
            );
            let (density, _) = by(&standard, &reading, &t);
            close(
                id(case),
                1000.0 * density.value,
                number(expected, "density_kg_m3"),
                1e-5,
                0.0,
            );
        } else {
            let reading = format!("specific gravity {}", number(inputs, "reading_sg_60_60"));
            let scale =
                "scale: specific gravity, standard: 60 °F, readability: specific gravity 0.0005";
            let (density, strength) = by(scale, &reading, &t);
            close(
                id(case),
                1000.0 * density.value,
                number(expected, "density_at_t_kg_m3"),
                0.002,
                0.0,
            );
            close(
                id(case),
                strength.value,
                number(expected, "mass_percent"),
                0.0005,
                0.0,
            );
        }
    }
}

#[test]
fn degrees_baume_go_by_the_modulus_that_is_named() {
    let all = cases(include_str!("published/brine_strength.json"));
    let case = all.iter().find(|c| id(c) == "be.moduli.1.200").unwrap();
    let (moduli, degrees) = (
        numbers(&case["inputs"]["moduli"]),
        numbers(&case["expected"]["baume"]),
    );
    // At the temperature of the scale the glass has not expanded: the density is the specific gravity times that of water,
    // 999.016 kg/m³ at 60 °F.
    for (modulus, degrees) in moduli.iter().zip(&degrees) {
        let scale =
            format!("scale: degrees Baumé, modulus: {modulus}, standard: 60 °F, accuracy: 0.1 °Bé");
        let (density, _) = by(&scale, &format!("{degrees} °Bé"), "15.5556 ± 0.1");
        close(
            &format!("modulus {modulus}"),
            density.value,
            1.2 * 0.999_016,
            3e-6,
            0.0,
        );
    }
    for case in all
        .iter()
        .filter(|c| id(c).starts_with("be.145.") && c["inputs"]["baume"].is_number())
    {
        let scale = "scale: degrees Baumé, modulus: 145, standard: 60 °F, accuracy: 0.1 °Bé";
        let reading = format!("{} °Bé", number(&case["inputs"], "baume"));
        let (density, _) = by(scale, &reading, "15.5556 ± 0.1");
        let gravity = number(&case["expected"], "sg_60_60");
        close(id(case), density.value, gravity * 0.999_016, 3e-6, 0.0);
    }
}

#[test]
fn one_brine_is_as_strong_on_every_scale() {
    let all = cases(include_str!("published/brine_strength.json"));
    let case = all.iter().find(|c| id(c) == "sg.brine.20pc").unwrap();
    let on = |key: &str| number(&case["expected"], key);
    let saturation = format!("{} % saturation", on("per_cent_of_saturation"));
    for (scale, reading, t) in [
        (
            "scale: specific gravity, standard: 60 °F, accuracy: specific gravity 0.001",
            format!("specific gravity {}", on("sg_60_60")),
            "15.5556 ± 0.1",
        ),
        (
            "scale: specific gravity, standard: 20 °C, accuracy: specific gravity 0.001",
            format!("specific gravity {}", on("sg_20_20")),
            "20.0 ± 0.1",
        ),
        (
            "scale: specific gravity, standard: 20 °C, water: 4 °C, accuracy: specific gravity 0.001",
            format!("specific gravity {}", on("sg_20_4")),
            "20.0 ± 0.1",
        ),
        (
            "scale: degrees Baumé, modulus: 145, standard: 60 °F, accuracy: 0.1 °Bé",
            format!("{} °Bé", on("baume_145")),
            "15.5556 ± 0.1",
        ),
        (
            "scale: per cent of saturation, saturated: 26.395 %, standard: 60 °F, accuracy: 1 % saturation",
            saturation,
            "15.5556 ± 0.1",
        ),
    ] {
        let (_, strength) = by(scale, &reading, t);
        close(scale, strength.value, 20.0, 0.001, 0.0);
    }
}

#[test]
fn per_cent_of_saturation_goes_by_the_brine_that_the_scale_calls_saturated() {
    let all = cases(include_str!("published/brine_strength.json"));
    let case = all
        .iter()
        .find(|c| id(c) == "sal.three-scales.15pc")
        .unwrap();
    let saturated = numbers(&case["inputs"]["saturated_mass_percent"]);
    for (saturated, degrees) in saturated
        .iter()
        .zip(numbers(&case["expected"]["salometer_deg"]))
    {
        let scale = format!(
            "scale: per cent of saturation, saturated: {saturated} %, standard: 60 °F, accuracy: 1 % saturation"
        );
        let (_, strength) = by(&scale, &format!("{degrees} % saturation"), "15.5556 ± 0.1");
        close(
            &scale,
            strength.value,
            number(&case["inputs"], "mass_percent"),
            1e-4,
            0.0,
        );
    }
    // The rule of a leaflet: a degree is lost for each 10 °F above 60 °F.
    let rule = all
        .iter()
        .find(|c| id(c) == "sal.temperature-rule")
        .unwrap();
    let lower = number(&rule["expected"], "reading_lower_by_deg");
    let scale = "scale: per cent of saturation, saturated: 26.395 %, standard: 60 °F, accuracy: 1 % saturation";
    let (_, strength) = by(
        scale,
        &format!("{} % saturation", 60.0 - lower),
        "21.1111 ± 0.1",
    );
    close("warm", strength.value, 0.6 * 26.395, 0.01, 0.0);
}

#[test]
fn a_scale_is_defined_whole_and_read_on_itself() {
    let code = |instrument: &str, reading: &str| {
        let text = with_instrument(instrument, reading, "15.0");
        let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
        assert!(run.is_none(), "{instrument} with {reading}");
        assert_eq!(problems.len(), 1, "{problems:#?}");
        problems[0].code.name()
    };
    let baume = "scale: degrees Baumé, modulus: 145, standard: 60 °F, accuracy: 0.1 °Bé";
    for (instrument, reading, expected) in [
        (
            "scale: degrees Baumé, standard: 60 °F, accuracy: 0.1 °Bé",
            "18 °Bé",
            "missing-key",
        ),
        (
            "scale: degrees Baumé, modulus: 145, accuracy: 0.1 °Bé",
            "18 °Bé",
            "missing-key",
        ),
        (
            "scale: per cent of saturation, standard: 60 °F, accuracy: 1 % saturation",
            "70 % saturation",
            "missing-key",
        ),
        (
            "scale: specific gravity, modulus: 145, standard: 60 °F, accuracy: specific gravity 0.001",
            "specific gravity 1.1",
            "not-of-this-scale",
        ),
        (
            "scale: degrees Baumé, modulus: 145, standard: 60 °F, accuracy: 0.001 g/mL",
            "18 °Bé",
            "on-another-scale",
        ),
        (baume, "1.15 g/mL", "on-another-scale"),
        (baume, "70 % saturation", "on-another-scale"),
        ("accuracy: 0.001 g/mL", "18 °Bé", "on-another-scale"),
        (baume, "70 %", "wrong-dimension"),
        (baume, "specific gravity heavy", "not-a-number"),
    ] {
        assert_eq!(
            code(instrument, reading),
            expected,
            "{instrument} with {reading}"
        );
    }
    let text = run("sodium chloride", "18 ± 0.1 °Bé", "15.0", "");
    let (_, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].code.name(), "no-instrument");
}
