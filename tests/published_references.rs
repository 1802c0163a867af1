//! Published densities, atomic weights and limits of error against what `reference` has.

use crate::common::{cases, close, id, number};
use fillmark::bench::reference::brine::{SALTS, Salt, salt, water_in_model};
use fillmark::bench::reference::glassware::Ware;
use fillmark::bench::reference::{atomic_weights, water};
use fillmark::bench::worksheet::{Distribution, Expr};
use serde_json::Value;

/// The value of a formula over numbers alone.
fn value(formula: &Expr) -> f64 {
    formula.value(&|id| panic!("a formula over numbers names {id:?}"))
}

fn brine(salt: &Salt, mass_fraction: f64, t: f64) -> f64 {
    let (w, t) = (Expr::number(mass_fraction), Expr::number(t));
    let apparent = salt.apparent_density(w.clone(), t.clone());
    value(&salt.density(w, water_in_model(t), apparent))
}

fn named(name: &str) -> &'static Salt {
    salt(name).unwrap_or_else(|| panic!("no salt {name}"))
}

#[test]
fn water_density() {
    let cases = cases(include_str!("published/water_density.json"));
    assert_eq!(cases.len(), 41, "a case was lost");
    for case in &cases {
        let (id, expected) = (id(case), number(&case["expected"], "density_kg_m3"));
        let tolerance = number(&case["tolerance"], "abs");
        if id.starts_with("water.kell") {
            let t = number(&case["inputs"], "t_C");
            close(
                id,
                value(&water_in_model(Expr::number(t))),
                expected,
                tolerance,
                0.0,
            );
            // Kell's scale of temperature is the older one: the two equations agree to what that and Kell's data leave.
            let tanaka = 1000.0 * value(&water::density(Expr::number(t)));
            close(
                &format!("{id} by the other equation"),
                tanaka,
                expected,
                0.0035,
                0.0,
            );
        } else {
            let t = number(&case["inputs"], "t90_C");
            assert!(
                water::TEMPERATURES.contains(&t),
                "{id}: {t} °C is outside the range"
            );
            close(
                id,
                1000.0 * value(&water::density(Expr::number(t))),
                expected,
                tolerance,
                0.0,
            );
        }
    }
}

#[test]
fn sodium_chloride_density() {
    let cases = cases(include_str!("published/nacl_density.json"));
    assert_eq!(cases.len(), 95, "a case was lost");
    let salt = named("sodium chloride");
    for case in &cases {
        let (id, inputs, expected, tolerance) = (
            id(case),
            &case["inputs"],
            &case["expected"],
            &case["tolerance"],
        );
        let t = number(inputs, "t_C");
        let w = mass_fraction(inputs);
        assert!(salt.covers(w, t), "{id}: outside the range");
        let density = brine(salt, w, t);
        if expected["density_kg_m3"].is_number() {
            let room = tolerance["abs"]
                .as_f64()
                .or(tolerance["abs_kg_m3"].as_f64());
            let room = room.unwrap_or_else(|| panic!("{id}: no tolerance"));
            close(
                id,
                1000.0 * density,
                number(expected, "density_kg_m3"),
                room,
                0.0,
            );
        } else {
            let room = tolerance["abs"]
                .as_f64()
                .or(tolerance["density_abs"].as_f64());
            let room = room.unwrap_or_else(|| panic!("{id}: no tolerance"));
            close(id, density, number(expected, "density_g_mL"), room, 0.0);
        }
    }
}

/// The mass fraction of a case, given as such, in percent, or by the molality (M = 58.443 g/mol, as the tables had it).
fn mass_fraction(inputs: &Value) -> f64 {
    if let Some(w) = inputs["mass_fraction"].as_f64() {
        return w;
    }
    if let Some(percent) = inputs["mass_percent"].as_f64() {
        return percent / 100.0;
    }
    let salt = number(inputs, "molality_mol_kg") * 58.443;
    salt / (1000.0 + salt)
}

/// The claimed standard uncertainties of the model are neither exceeded as a rule nor far too large.
#[test]
fn the_stated_uncertainty_of_a_published_density_is_the_spread_of_the_sources() {
    let salt = named("sodium chloride");
    let measured = |case: &Value| !id(case).contains("laliberte");
    for (what, strong, claimed) in [("to 22 %", false, 0.3), ("above", true, 0.5)] {
        let squares: Vec<f64> = cases(include_str!("published/nacl_density.json"))
            .iter()
            .filter(|case| measured(case) && (mass_fraction(&case["inputs"]) > 0.22) == strong)
            .map(|case| {
                let expected = case["expected"]["density_kg_m3"].as_f64();
                let expected =
                    expected.unwrap_or_else(|| 1000.0 * number(&case["expected"], "density_g_mL"));
                let w = mass_fraction(&case["inputs"]);
                close(
                    "claim, kg/m³",
                    1000.0 * salt.standard_uncertainty(w),
                    claimed,
                    1e-12,
                    0.0,
                );
                (1000.0 * brine(salt, w, number(&case["inputs"], "t_C")) - expected).powi(2)
            })
            .collect();
        assert!(squares.len() >= 5, "{what}: too few");
        let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
        assert!(
            (0.3 * claimed..=claimed).contains(&rms),
            "{what}: the sources differ by {rms} kg/m³, claimed {claimed}"
        );
    }
}

#[test]
fn potassium_chloride_density() {
    let cases = cases(include_str!("published/kcl_density.json"));
    assert_eq!(cases.len(), 5, "a case was lost");
    let salt = named("KCl");
    for case in &cases {
        let w = number(&case["inputs"], "mass_percent") / 100.0;
        let (expected, room) = (
            number(&case["expected"], "density_g_mL"),
            number(&case["tolerance"], "density_abs"),
        );
        close(
            id(case),
            brine(salt, w, number(&case["inputs"], "t_C")),
            expected,
            room,
            0.0,
        );
    }
}

/// Without salt the model is the water it was fitted with, and its water is the published one to a few parts in a million.
#[test]
fn a_brine_without_salt_is_water() {
    for salt in SALTS {
        for t in [5.0, 15.0, 20.0, 25.0, 35.0] {
            close(
                salt.name,
                brine(salt, 0.0, t),
                value(&water::density(Expr::number(t))),
                3.5e-6,
                0.0,
            );
        }
    }
}

#[test]
fn atomic_weights_and_the_molar_mass() {
    let cases = cases(include_str!("published/molar_mass.json"));
    assert_eq!(cases.len(), 3, "a case was lost");
    let elements = atomic_weights::elements("NaCl").expect("a formula");
    for case in &cases {
        let (id, expected, room) = (
            id(case),
            &case["expected"],
            number(&case["tolerance"], "abs"),
        );
        if let Some(symbol) = case["inputs"]["element"].as_str() {
            let found = elements.iter().find(|(e, _)| e.symbol == symbol);
            let (element, count) = found.unwrap_or_else(|| panic!("{id}: no {symbol}"));
            assert_eq!(*count, 1, "{id}");
            close(
                id,
                element.molar_mass(),
                number(expected, "atomic_weight"),
                room,
                0.0,
            );
            close(
                id,
                element.limit,
                number(expected, "uncertainty"),
                1e-12,
                0.0,
            );
        } else {
            let sum = elements
                .iter()
                .map(|(e, n)| e.molar_mass() * f64::from(*n))
                .sum();
            close(id, sum, number(expected, "M_g_mol"), room, 0.0);
        }
    }
}

#[test]
fn limits_of_error_of_glassware() {
    let cases = cases(include_str!("published/glassware_tolerance.json"));
    assert_eq!(cases.len(), 62, "a case was lost");
    for case in &cases {
        let (id, inputs, expected) = (id(case), &case["inputs"], &case["expected"]);
        let room = number(&case["tolerance"], "abs");
        if let Some(shape) = inputs["distribution"].as_str() {
            let shape = match shape {
                "triangular" => Distribution::Triangular,
                "rectangular" => Distribution::Rectangular,
                other => panic!("{id}: no shape {other}"),
            };
            let u = shape.standard_uncertainty(number(inputs, "half_width_mL"));
            close(
                id,
                u,
                number(expected, "standard_uncertainty_mL"),
                room,
                0.0,
            );
            continue;
        }
        let ware = match inputs["kind"].as_str() {
            Some("flask") => Ware::Flask,
            Some("pipette") => Ware::Pipette,
            Some("graduated pipette") => Ware::GraduatedPipette,
            Some("burette") => Ware::Burette,
            Some("cylinder") => Ware::Cylinder,
            other => panic!("{id}: no kind {other:?}"),
        };
        let standard = case["source"].as_str().unwrap_or_default();
        assert!(
            standard.starts_with(ware.standard()),
            "{id}: {standard} is not {}",
            ware.standard()
        );
        let capacity = number(inputs, "capacity_mL");
        // Only of a burette do the limits go by the division too.
        let division = inputs["division_mL"].as_f64();
        let division = division.filter(|_| ware == Ware::Burette);
        let found = ware.tolerance(capacity, division, inputs["class"] == "A");
        let found = found.unwrap_or_else(|| panic!("{id}: not listed"));
        let expected = number(expected, "tolerance_mL");
        close(id, found, expected, room, 0.0);
    }
}

#[test]
fn a_burette_has_the_limits_of_its_division() {
    let limit = |capacity, division| Ware::Burette.tolerance(capacity, division, true);
    // ISO 385:2005: of 10 mL and of 25 mL there are two kinds; the coarser has the wider limits, and is taken unless told.
    for (capacity, fine, within, coarse, wider) in [
        (10.0, 0.02, 0.02, 0.05, 0.03),
        (25.0, 0.05, 0.03, 0.1, 0.05),
    ] {
        assert_eq!(limit(capacity, Some(fine)), Some(within), "{capacity} mL");
        assert_eq!(limit(capacity, Some(coarse)), Some(wider), "{capacity} mL");
        assert_eq!(limit(capacity, None), Some(wider), "{capacity} mL");
        assert_eq!(Ware::Burette.divisions(capacity), [fine, coarse]);
    }
    assert_eq!(limit(50.0, Some(0.05)), None, "not listed");
}

/// Molalities of the CRC Handbook, 98th ed. (2017), "Solubility of Common Salts at Ambient Temperatures", and grams per 100 g
/// of water of the handbooks' table of potassium chloride after Seidell.
#[test]
fn solubilities() {
    let known = salt("NaCl").expect("sodium chloride").solubility;
    for (t, molality) in [(10.0, 6.110), (20.0, 6.136), (25.0, 6.153), (35.0, 6.197)] {
        let salt = 58.443 * molality;
        let w = 100.0 * salt / (1000.0 + salt);
        close(&format!("NaCl at {t} °C"), known.at(t), w, 0.03, 0.0);
    }
    let known = salt("KCl").expect("potassium chloride").solubility;
    for (t, grams) in [
        (0.0, 28.0),
        (20.0, 34.2),
        (40.0, 40.1),
        (60.0, 45.8),
        (80.0, 51.3),
        (100.0, 56.3),
    ] {
        let w = 100.0 * grams / (100.0 + grams);
        close(
            &format!("KCl at {t} °C"),
            known.at(t),
            w,
            known.limit(),
            0.0,
        );
    }
}
