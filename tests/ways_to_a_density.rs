//! Densities found otherwise than by weighing known volumes: slope, pycnometer, instrument.

use crate::common::good_runs;
use fillmark::bench::reduce::results::{Results, Stated};
use fillmark::bench::reduce::{Reduction, reduce};
use fillmark::bench::runfile::read;
use serde_json::Value;
use std::collections::BTreeSet;

const RUN: &str = include_str!("runs/ways_to_a_density.yaml");

fn reduced(text: &str) -> (Reduction, Results) {
    let (run, problems) = read("ways.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems");
    let run = run.unwrap();
    let reduction = reduce(&run).unwrap();
    let results = Results::new(&run, &reduction);
    (reduction, results)
}

fn density<'a>(results: &'a Results, name: &str) -> &'a Stated {
    let mut all = results.solutions.iter().chain(&results.unknowns);
    let (_, stated) = all.find(|(n, _)| n == name).unwrap();
    stated.density.as_ref().unwrap()
}

fn close(found: f64, plain: f64, relative: f64, what: &str) {
    assert!(
        (found - plain).abs() <= relative * plain.abs(),
        "{what}: {found}, plainly {plain}"
    );
}

#[test]
fn measurements_hold_every_reading_of_the_densities() {
    let liquid = "      liquid: 20.1 °C\n      deliveries:";
    let warmer = (
        "warmer".to_owned(),
        RUN.replace("      deliveries:", liquid),
    );
    for (name, text) in good_runs().into_iter().chain([warmer]) {
        let (run, _) = read(&name, text.as_bytes());
        let run = run.unwrap();
        let names = run.entries.iter().map(|at| at.entry.name.as_str());
        let written = |keys: &[&str]| -> BTreeSet<&str> {
            let of_densities = |name: &&str| {
                let mut path = name.split('.');
                let section = path.next().unwrap_or_default();
                let key = path.rfind(|key| key.parse::<u32>().is_err());
                ["weighings", "density"].contains(&section)
                    && key.is_some_and(|key| keys.contains(&key))
            };
            names.clone().filter(of_densities).collect()
        };
        let all = ["empty", "filled", "mass", "volume", "density", "liquid"];
        let found = run.measurements().flat_map(|of| {
            let own = of.singles().into_iter().flat_map(|single| {
                let readings = single.readings.into_iter().map(|(reading, _)| reading);
                readings.chain(single.liquid)
            });
            let own: Vec<_> = own.collect();
            let shared = of.vessel().map(|(vessel, _)| vessel).into_iter();
            shared.chain(of.liquid()).chain(own)
        });
        let found: BTreeSet<&str> = found.map(|reading| reading.entry.name.as_str()).collect();
        assert_eq!(found, written(&all), "{name}");
        let masses = run.masses().into_iter();
        let masses: BTreeSet<&str> = masses.map(|(mass, _)| mass.entry.name.as_str()).collect();
        let lacking: Vec<&str> = written(&all[..3]).difference(&masses).copied().collect();
        assert!(lacking.is_empty(), "{name}: {lacking:?}");
    }
}

#[test]
fn a_slope_of_equal_errors_is_the_ordinary_one() {
    let rows: Vec<Value> =
        serde_json::from_str(include_str!("published/cumulative_weighing.json")).unwrap();
    let row = &rows[0];
    let masses = row["inputs"]["mass_g"].as_array().unwrap();
    let deliveries = masses.iter().fold(String::new(), |text, mass| {
        text + &format!("        - {{volume: 5.00 mL, mass: {mass} g}}\n")
    });
    let run = format!(
        "
title: One slope
date: 2026-03-18
analysts: R. Example
conditions: {{liquid: 20 °C}}
solute: sodium chloride
apparatus:
  balance: {{kind: balance, readability: 0.001 g}}
  pipette: {{kind: pipette, capacity: 5 mL, class: A, repeatability: 0 mL}}
solutions:
  A: {{unknown: true}}
density:
  pipette: pipette
  cumulative:
    A:
      deliveries:
{deliveries}calibration: none
"
    );
    let (reduction, results) = reduced(&run);
    let expected = |key: &str| row["expected"][key].as_f64().unwrap();
    let found = density(&results, "A");
    let relative = row["tolerance"]["rel"].as_f64().unwrap();
    close(found.value, expected("slope_g_mL"), relative, "slope");
    let Some(line) = &reduction.solutions[0].density.as_ref().unwrap().line else {
        panic!("not a slope");
    };
    let intercept = reduction.worksheet.value(line.intercept);
    close(intercept, expected("intercept_g"), 1e-6, "intercept");
    close(
        line.residual_sd.unwrap(),
        expected("residual_sd_g"),
        relative,
        "residuals",
    );
    // The points scatter more than their rounding: what they show of the slope, and the pipette's tolerance beside it.
    let tolerance = expected("slope_g_mL") * 0.015 / 6f64.sqrt() / 5.0;
    close(
        found.standard_uncertainty,
        crate::common::with_air(expected("u_slope").hypot(tolerance), found.value),
        1e-5,
        "uncertainty",
    );
}

#[test]
fn repeated_deliveries_that_scatter_weigh_later_points_less() {
    // With deliveries that differ at random, errors add up along the way: the slope is that of the end points.
    let scattered = RUN.replace(
        "small pipette: {kind: pipette,",
        "small pipette: {repeatability: 0.5 mL, kind: pipette,",
    );
    let (_, results) = reduced(&scattered);
    let ends = (57.082 - 31.204) / 25.0;
    close(density(&results, "A").value, ends, 1e-5, "end points");
}

#[test]
fn a_delivery_left_out_stays_in_the_vessel() {
    let same = RUN.replace("{kind: pipette,", "{repeatability: 0 mL, kind: pipette,");
    let (_, results) = reduced(&same);
    let x = [0.0, 5.0, 10.0, 20.0, 25.0];
    let y = [31.204, 36.385, 41.553, 51.906, 57.082];
    let mean = |v: &[f64; 5]| v.iter().sum::<f64>() / 5.0;
    let (mx, my) = (mean(&x), mean(&y));
    let sxy: f64 = x.iter().zip(&y).map(|(x, y)| (x - mx) * (y - my)).sum();
    let sxx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    close(density(&results, "A").value, sxy / sxx, 1e-9, "slope");
}

#[test]
fn a_pycnometer_with_and_without_buoyancy() {
    let water = 0.998_206_7;
    let (_, plain) = reduced(RUN);
    let mean = f64::midpoint(78.447, 78.451) - 25.0;
    close(
        density(&plain, "B").value,
        mean / 49.850 * water,
        1e-7,
        "uncorrected",
    );
    let asked = RUN.replace(
        "solutions:\n",
        "allow_for: {air_buoyancy: true}\nsolutions:\n",
    );
    let (reduction, corrected) = reduced(&asked);
    let air = reduction.worksheet.value(reduction.air.unwrap());
    close(
        density(&corrected, "B").value,
        mean / 49.850 * (water - air) + air,
        1e-7,
        "corrected",
    );
    let Some(line) = &reduction.solutions[1].density.as_ref().unwrap().line else {
        panic!("not a slope");
    };
    let slope = reduction.worksheet.value(line.slope);
    close(
        density(&corrected, "A").value,
        slope * (1.0 - air / 8.0) + air,
        1e-9,
        "the slope in air",
    );
}

#[test]
fn a_pycnometer_grows_with_its_temperature() {
    let asked = RUN
        .replace(
            "solutions:\n",
            "allow_for: {ware_temperature: true}\nsolutions:\n",
        )
        .replace(
            "water: {filled: 74.850 g, liquid: 20.0 °C}",
            "water: {filled: 74.850 g, liquid: 25.0 °C}",
        );
    let (_, results) = reduced(&asked);
    let water = 0.997_047_0;
    let mean = f64::midpoint(78.447, 78.451) - 25.0;
    close(
        density(&results, "B").value,
        mean / (49.850 * (1.0 - 9.9e-6 * 5.0)) * water,
        1e-7,
        "colder than its water",
    );
}

#[test]
fn readings_of_an_instrument_share_its_error() {
    let (reduction, results) = reduced(RUN);
    close(density(&results, "C").value, 1.1290, 1e-12, "as read");
    // Half a step of 0.0005 and limits of 0.0005 g/mL, both rectangular.
    let u = (0.000_25 / 3f64.sqrt()).hypot(0.0005 / 3f64.sqrt());
    close(density(&results, "C").standard_uncertainty, u, 1e-9, "u");
    let bath = density(&results, "bath");
    close(bath.value, 1.071_25, 1e-12, "mean of two in kg/m³");
    // Their spread has one degree of freedom, the repeatability stated of the meter eight.
    let (found, stated) = (
        0.000_1 / 2f64.sqrt(),
        0.000_05_f64.hypot(0.000_1 / 12f64.sqrt()),
    );
    let variance = (found * found + 8.0 * stated * stated) / 9.0;
    let whole = variance / 2.0 + 0.000_1_f64.powi(2) / 12.0 / 2.0;
    close(
        bath.standard_uncertainty,
        whole.sqrt(),
        1e-6,
        "u of the mean",
    );
    close(
        bath.dof.unwrap(),
        9.0 * (whole / (variance / 2.0)).powi(2),
        1e-6,
        "degrees of freedom",
    );
    let spindle = RUN.replace("bath:\n      - {density: 1071.2 kg/m³, with: meter}\n      - {density: 1071.3 kg/m³, with: meter}",
        "bath: [{density: 1.0710 g/mL, with: spindle}]");
    let (reduction_b, _) = reduced(&spindle);
    let id = |r: &Reduction, i: usize| r.solutions[i].density.as_ref().unwrap().density;
    let (c, b) = (id(&reduction_b, 3), id(&reduction_b, 4));
    close(
        reduction_b.worksheet.covariance(c, b),
        0.0005f64.powi(2) / 3.0,
        1e-9,
        "covariance of two read with one spindle",
    );
    let (c, b) = (id(&reduction, 3), id(&reduction, 4));
    assert!(
        reduction.worksheet.covariance(c, b).abs() < 1e-20,
        "two instruments"
    );
}
