//! Published arithmetic of solutions, and worked runs, through run files.

use crate::common::{
    cases, close, covariance_in_vacuum, density, id, in_vacuum, number, numbers, of_value, reduced,
    results, solution,
};
use fillmark::bench::fit::chi_squared_quantile;
use fillmark::bench::reduce::{coverage::expanded, coverage_factor};
use fillmark::bench::reference::brine::{salt, water_in_model};
use fillmark::bench::worksheet::{Expr, NodeId, Source};
use fillmark::pipeline::Run;
use serde_json::Value;

/// A run file's head.
fn head(molar_mass: f64) -> String {
    format!(
        "title: Worked by others\ndate: 2026-01-05\nanalysts: [R. Example]\nconditions: {{liquid: 20.0 °C}}\n\
         solute: {{name: salt, formula: NaCl, molar_mass: {molar_mass} g/mol}}\n"
    )
}

/// A weighing of 10 mL that comes to a density, g/mL.
fn weighing(density: f64) -> String {
    format!(
        "[{{empty: 30.0 ± 0.001 g, filled: {} ± 0.001 g, volume: 10.00 ± 0.01 mL}}]",
        30.0 + 10.0 * density
    )
}

fn value(run: &Run, id: Option<NodeId>) -> f64 {
    run.reduction.worksheet.value(id.expect("a result"))
}

#[test]
fn dilutions_and_conversions() {
    let cases = cases(include_str!("published/dilution_conversion.json"));
    assert_eq!(cases.len(), 23, "a case was lost");
    for case in &cases {
        match kind(id(case)) {
            "dilution" => dilution(case),
            "from-mass-fraction" => from_mass_fraction(case),
            "saline" => saline(case),
            "from-mass-concentration" => from_mass_concentration(case),
            "from-density" => from_density(case),
            "by-mass" => by_mass(case),
            other => panic!("no check for {other} of {}", id(case)),
        }
    }
}

fn kind(id: &str) -> &str {
    id.trim_start_matches("convert.")
        .split('.')
        .next()
        .unwrap_or_default()
}

fn dilution(case: &Value) {
    let inputs = &case["inputs"];
    let [c1, v1, v2] = ["c1", "V1_mL", "V2_mL"].map(|name| number(inputs, name));
    let run = reduced(&format!(
        "{}apparatus: {{}}\nsolutions:\n  A: {{weighed: {{mass: {c1} ± 0.001 g}}, made_up: {{to: 1000 ± 0.1 mL}}}}\n  \
         B: {{aliquot: {{of: A, volume: {v1} ± 0.01 mL}}, made_up: {{to: {v2} ± 0.1 mL}}}}\n",
        head(58.44)
    ));
    let found = value(&run, solution(&run, "B").composition.mass_concentration);
    close(
        id(case),
        found,
        number(&case["expected"], "c2"),
        0.0,
        number(&case["tolerance"], "rel"),
    );
}

/// A solution made by mass, its density known.
fn made_by_mass(salt: f64, water: f64, molar_mass: f64, density: f64) -> Run {
    reduced(&format!(
        "{}apparatus: {{}}\nsolutions:\n  A: {{weighed: {{mass: {salt} ± 0.001 g}}, solvent: {{mass: {water} ± 0.01 g}}}}\n\
         density:\n  weighings:\n    A: {}\n",
        head(molar_mass),
        weighing(density)
    ))
}

fn from_mass_fraction(case: &Value) {
    let (inputs, expected, relative) = (
        &case["inputs"],
        &case["expected"],
        number(&case["tolerance"], "rel"),
    );
    let w = number(inputs, "mass_fraction");
    let (salt, water) = (1000.0 * w, 1000.0 - 1000.0 * w);
    let run = made_by_mass(
        salt,
        water,
        number(inputs, "M_g_mol"),
        number(inputs, "density_g_mL"),
    );
    let found = &solution(&run, "A").composition;
    close(
        id(case),
        value(&run, found.mass_percent),
        100.0 * w,
        0.0,
        1e-12,
    );
    let gamma = number(expected, "mass_concentration_g_L");
    close(
        id(case),
        value(&run, found.mass_concentration),
        gamma,
        0.0,
        relative,
    );
    close(
        id(case),
        value(&run, found.molarity),
        number(expected, "molarity_mol_L"),
        0.0,
        relative,
    );
    close(
        id(case),
        value(&run, found.molality),
        number(expected, "molality_mol_kg"),
        0.0,
        relative,
    );
}

fn by_mass(case: &Value) {
    let (inputs, expected, relative) = (
        &case["inputs"],
        &case["expected"],
        number(&case["tolerance"], "rel"),
    );
    let run = made_by_mass(
        number(inputs, "salt_g"),
        number(inputs, "water_g"),
        number(inputs, "M_g_mol"),
        1.05,
    );
    let found = &solution(&run, "A").composition;
    close(
        id(case),
        value(&run, found.mass_percent),
        number(expected, "mass_percent"),
        0.0,
        relative,
    );
    close(
        id(case),
        value(&run, found.molality),
        number(expected, "molality_mol_kg"),
        0.0,
        relative,
    );
}

/// A solution made up to a litre, its density known.
fn made_up(gamma: f64, molar_mass: f64, density: f64) -> Run {
    reduced(&format!(
        "{}apparatus: {{}}\nsolutions:\n  A: {{weighed: {{mass: {gamma} ± 0.001 g}}, made_up: {{to: 1000 ± 0.1 mL}}}}\n\
         density:\n  weighings:\n    A: {}\n",
        head(molar_mass),
        weighing(density)
    ))
}

fn saline(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let run = made_up(
        number(inputs, "mass_concentration_g_L"),
        number(inputs, "M_g_mol"),
        1.005,
    );
    let molarity = value(&run, solution(&run, "A").composition.molarity);
    close(
        id(case),
        molarity,
        number(expected, "molarity_mol_L"),
        0.0,
        number(&case["tolerance"], "rel"),
    );
    close(
        id(case),
        1000.0 * molarity,
        number(expected, "mmol_L_rounded"),
        0.5,
        0.0,
    );
}

/// The published density of sodium chloride at a mass fraction and temperature (°C), kg/m³.
fn published(w: f64, t: f64) -> f64 {
    let salt = salt("NaCl").expect("sodium chloride is known");
    let (w, t) = (Expr::number(w), Expr::number(t));
    let apparent = salt.apparent_density(w.clone(), t.clone());
    1000.0
        * salt
            .density(w, water_in_model(t), apparent)
            .value(&|_| f64::NAN)
}

fn from_mass_concentration(case: &Value) {
    let (inputs, expected, relative) = (
        &case["inputs"],
        &case["expected"],
        number(&case["tolerance"], "rel"),
    );
    let (density, w) = (
        number(expected, "density_kg_m3"),
        number(expected, "mass_fraction"),
    );
    close(
        id(case),
        published(w, number(inputs, "t_C")),
        density,
        0.0,
        relative,
    );
    let run = made_up(
        number(inputs, "mass_concentration_g_L"),
        58.443,
        density / 1000.0,
    );
    let found = &solution(&run, "A").composition;
    close(
        id(case),
        value(&run, found.mass_percent),
        100.0 * w,
        0.0,
        relative,
    );
    close(
        id(case),
        value(&run, found.molality),
        number(expected, "molality_mol_kg_M58.443"),
        0.0,
        relative,
    );
}

fn from_density(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let (w, t) = (number(expected, "mass_fraction"), number(inputs, "t_C"));
    close(
        id(case),
        published(w, t),
        1000.0 * number(inputs, "density_g_mL"),
        0.0,
        number(&case["tolerance"], "rel"),
    );
    let step = 1e-5;
    let slope = (published(w + step, t) - published(w - step, t)) / (2.0 * step);
    let room = number(&case["tolerance"], "derivative_rel");
    close(
        id(case),
        1.0 / slope,
        number(expected, "mass_fraction_per_kg_m3"),
        0.0,
        room,
    );
}

/// The limits of ware whose standard uncertainty, taken as triangular, is `u`.
fn triangular(u: f64) -> f64 {
    u * 6f64.sqrt()
}

/// The worked run with a shared pipette, flask and stock, as a run file.
fn shared_ware(case: &Value, fit: &str) -> String {
    let (values, us) = (
        &case["inputs"]["values"],
        &case["inputs"]["standard_uncertainties"],
    );
    let reading = |name: &str| format!("{} ± {}", number(values, name), number(us, name));
    let weighing = |name: &str| {
        format!(
            "[{{empty: {} g, filled: {} g, volume: 10.00 mL}}]",
            reading(&format!("empty_{name}")),
            reading(&format!("filled_{name}"))
        )
    };
    let limit = |name: &str| triangular(number(us, name));
    let mut text = format!(
        "{}apparatus:\n\
         \x20 small pipette: {{kind: graduated pipette, capacity: 5 mL, tolerance: {} mL}}\n\
         \x20 cylinder: {{kind: cylinder, capacity: 100 mL, tolerance: {} mL}}\n\
         \x20 ten pipette: {{kind: pipette, capacity: 10 mL, tolerance: {} mL, repeatability: {} mL}}\n\
         solutions:\n\
         \x20 A: {{weighed: {{before: {} g, after: {} g}}, made_up: {{to: {} mL}}}}\n",
        head(58.44).replace(
            "molar_mass: 58.44 g/mol",
            &format!("molar_mass: 58.44 g/mol, purity: {}", reading("P"))
        ),
        limit("e_pip"),
        limit("e_100"),
        limit("e_ten"),
        number(us, "rep_A"),
        reading("before"),
        reading("after"),
        reading("Vflask"),
    );
    for (name, of, times) in [("B", "A", 4), ("C", "A", 2), ("D", "B", 4)] {
        text += &format!(
            "\x20 {name}: {{aliquot: {{of: {of}, volume: {times} × 5.00 mL, with: small pipette}}, \
             made_up: {{to: 100 mL, in: cylinder}}}}\n"
        );
    }
    text += "\x20 U: {unknown: true}\ndensity:\n\x20 pipette: ten pipette\n\x20 weighings:\n";
    for name in ["A", "B", "C", "D", "U"] {
        text += &format!("\x20   {name}: {}\n", weighing(name));
    }
    text + &format!("calibration: {{against: mass percent, line: straight, fit: {fit}}}\n")
}

fn named(run: &Run, name: &str) -> NodeId {
    if let Some(k) = ["intercept", "slope"].iter().position(|n| *n == name) {
        return run
            .reduction
            .calibration
            .as_ref()
            .expect("a calibration")
            .coefficients[k];
    }
    let (what, of) = name
        .split_once('_')
        .unwrap_or_else(|| panic!("{name}: no result"));
    let composition = &solution(run, of).composition;
    let id = match what {
        "rho" => Some(density(run, of)),
        "gamma" => composition.mass_concentration,
        "w" => composition.mass_percent,
        "molarity" => composition.molarity,
        "molality" => composition.molality,
        _ => panic!("{name}: no result"),
    };
    id.unwrap_or_else(|| panic!("{name}: none"))
}

#[test]
fn worked_runs() {
    let cases = cases(include_str!("published/bench_runs.json"));
    assert_eq!(cases.len(), 2, "a case was lost");
    for case in &cases {
        match id(case) {
            "bench.no-buoyancy" => {
                ordinary(case);
                generalised(case);
            }
            "replicates-dof.a" => replicates(case),
            other => panic!("no check for {other}"),
        }
    }
}

fn ordinary(case: &Value) {
    let (expected, tolerance) = (&case["expected"], &case["tolerance"]);
    let run = reduced(&shared_ware(case, "ordinary"));
    let ws = &run.reduction.worksheet;
    let outputs = expected["outputs"].as_object().expect("outputs");
    assert_eq!(outputs.len(), 18, "an output was lost");
    for (name, output) in outputs {
        let result = named(&run, name);
        close(
            name,
            ws.value(result),
            number(output, "value"),
            0.0,
            number(tolerance, "value_rel"),
        );
        let u = in_vacuum(ws, result);
        close(
            &format!("u({name})"),
            u,
            number(output, "u"),
            0.0,
            number(tolerance, "u_rel"),
        );
    }
    for (pair, expected) in expected["correlations"].as_object().expect("correlations") {
        let (a, b) = pair.split_once(',').expect("a pair");
        let (a, b) = (named(&run, a), named(&run, b));
        let us = in_vacuum(ws, a) * in_vacuum(ws, b);
        let room = number(tolerance, "correlation_abs");
        close(
            pair,
            covariance_in_vacuum(ws, a, b) / us,
            expected.as_f64().expect("a number"),
            room,
            0.0,
        );
    }
    let results = run.results.in_full(&run.reduction);
    let composition = &results.unknowns[0].1.composition;
    let of_u = composition.mass_percent.as_ref().expect("w of U");
    let budget = &of_u.budget;
    let shares = expected["budget_share_of_w_U"].as_object().expect("shares");
    for (name, expected) in shares {
        let entry = match name.as_str() {
            "P" => "solute.purity".to_owned(),
            "rep_U" | "rep_A" | "rep_B" => format!("weighings.{}.1.volume", &name[4..]),
            _ => {
                let (reading, of) = name.split_once('_').expect("a reading");
                format!("weighings.{of}.1.{reading}")
            }
        };
        let row = budget.iter().find(|row| row.input == entry);
        let row = row.unwrap_or_else(|| panic!("{entry} is not among {budget:#?}"));
        close(
            &entry,
            row.share,
            expected.as_f64().expect("a number"),
            number(tolerance, "share_abs"),
            0.0,
        );
    }
    close(
        "all shares",
        budget.iter().map(|row| row.share).sum::<f64>()
            + of_u.others.map_or(0.0, |others| others.share),
        1.0,
        1e-12,
        0.0,
    );
}

fn generalised(case: &Value) {
    let expected = &case["expected"]["generalised_fit"];
    let relative = number(&case["tolerance"], "generalised_rel");
    let run = reduced(&shared_ware(case, "generalised"));
    let stated = run.results.calibration.as_ref().expect("a calibration");
    let names = ["intercept", "slope"];
    let line = run.reduction.calibration.as_ref().expect("a line");
    let coefficients = &line.coefficients;
    for (k, name) in names.iter().enumerate() {
        close(
            name,
            stated.coefficients[k].value,
            number(expected, name),
            0.0,
            relative,
        );
        let u = in_vacuum(&run.reduction.worksheet, coefficients[k]);
        close(
            &format!("u({name})"),
            u,
            number(expected, &format!("u_{name}")),
            0.0,
            relative,
        );
    }
    close(
        "covariance",
        covariance_in_vacuum(&run.reduction.worksheet, coefficients[0], coefficients[1]),
        number(expected, "covariance"),
        0.0,
        relative,
    );
    let chi_squared = stated.chi_squared.expect("χ² of a generalised fit");
    close(
        "χ²",
        chi_squared,
        number(expected, "chi_squared"),
        0.0,
        relative,
    );
    close("ν", stated.dof as f64, number(expected, "dof"), 0.0, 0.0);
    let limit = chi_squared_quantile(0.95, stated.dof as f64);
    close(
        "χ² limit",
        limit,
        number(expected, "chi_squared_95"),
        6e-4,
        0.0,
    );
    let departs = run
        .flags
        .iter()
        .any(|flag| flag.code.word() == "line-departs");
    assert_eq!(
        Some(!departs),
        expected["straight_line_consistent"].as_bool()
    );
}

/// Replicates: each net mass stated so that the four errors of the balance come to the one that the source states.
fn replicates(case: &Value) {
    let (inputs, expected, tolerance) = (&case["inputs"], &case["expected"], &case["tolerance"]);
    let masses = numbers(&inputs["net_masses_g"]);
    let balance = number(inputs, "balance_u_g") * (masses.len() as f64).sqrt();
    // The tare takes a part of the balance's error too small to tell.
    let weighings: Vec<String> = masses
        .iter()
        .map(|m| {
            format!(
                "{{empty: 30.0 ± 1e-9 g, filled: {:.3} ± {balance} g, volume: 10.00 mL}}",
                30.0 + m
            )
        })
        .collect();
    let [salt, u_salt, purity, u_purity, flask, u_flask] = [
        "salt_g",
        "u_salt_g",
        "purity",
        "u_purity",
        "flask_mL",
        "u_flask_mL",
    ]
    .map(|name| number(inputs, name));
    let run = reduced(&format!(
        "{}apparatus:\n  ten pipette: {{kind: pipette, capacity: 10 mL, tolerance: {} mL}}\n\
         solutions:\n  A: {{weighed: {{mass: {salt} ± {u_salt} g}}, made_up: {{to: {flask} ± {u_flask} mL}}}}\n\
         density:\n  pipette: ten pipette\n  weighings:\n    A: [{}]\n",
        head(58.44).replace(
            "molar_mass: 58.44 g/mol",
            &format!("molar_mass: 58.44 g/mol, purity: {purity} ± {u_purity}")
        ),
        triangular(number(inputs, "u_volume_mL")),
        weighings.join(", ")
    ));
    let (ws, solution) = (&run.reduction.worksheet, &run.reduction.solutions[0]);
    let density = solution.density.as_ref().map(|d| d.density);
    let w = solution.composition.mass_percent;
    for (name, found) in [("rho_g_mL", density), ("w_percent", w)] {
        let (found, expected) = (found.expect("a result"), &expected[name]);
        let without_air = ws.uncertainty_of_form(of_value(ws, found));
        close(
            name,
            ws.value(found),
            number(expected, "value"),
            0.0,
            number(tolerance, "value_rel"),
        );
        close(
            name,
            without_air.standard,
            number(expected, "u"),
            0.0,
            number(tolerance, "u_rel"),
        );
        close(
            name,
            without_air.dof,
            number(expected, "dof"),
            0.0,
            number(tolerance, "dof_rel"),
        );
        let k = number(expected, "k95_fractional_dof");
        close(
            name,
            coverage_factor(0.95, &without_air),
            k,
            number(tolerance, "k_abs"),
            0.0,
        );
        close(
            name,
            expanded(without_air, 0.95),
            number(expected, "U95_fractional"),
            0.0,
            1e-4,
        );
    }
}

/// Inputs whose entry can be named are named in the budget by entries that the run file has.
#[test]
fn budgets_name_entries_of_the_run_file() {
    for (name, text) in crate::common::good_runs() {
        let run = reduced(&text);
        let ws = &run.reduction.worksheet;
        let known = |origin: &str| {
            // Apparatus is named as a whole; a delivery of `4 × 5.00 mL` as one of the entry's.
            let inside = format!("{origin}.");
            let whole = origin
                .trim_end_matches(|c: char| c.is_ascii_digit())
                .trim_end_matches('.');
            let stands = |name: &str| name == origin || name == whole || name.starts_with(&inside);
            run.file
                .entries
                .iter()
                .any(|entry| stands(&entry.entry.name))
        };
        let mut named = 0;
        for (what, result) in results(&run.reduction) {
            for row in ws.budget(result) {
                let Source::Input(input) = &ws.node(row.input).source else {
                    continue;
                };
                if input.origin.is_empty() {
                    continue;
                }
                named += 1;
                assert!(
                    known(&input.origin),
                    "{name}: {what} names the entry {}, which there is not",
                    input.origin
                );
            }
        }
        assert!(named > 20, "{name}: too little is named");
    }
}
