//! Ware calibrated in a run file: its volume against ISO 4787, and the run that goes by it.

use fillmark::bench::practice::flags;
use fillmark::bench::reduce::results::{Results, WareStated};
use fillmark::bench::reduce::{Reduction, reduce};
use fillmark::bench::runfile::{model::RunFile, read};

const RUN: &str = include_str!("runs/calibrated_ware.yaml");

fn reduced(text: &str) -> (RunFile, Reduction, Results) {
    let (run, problems) = read("calibrated_ware.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems");
    let run = run.unwrap();
    let reduction = reduce(&run).unwrap();
    let results = Results::new(&run, &reduction);
    (run, reduction, results)
}

fn ware<'a>(results: &'a Results, name: &str) -> &'a WareStated {
    results
        .ware
        .iter()
        .find(|(n, _)| n == name)
        .map(|(_, w)| w)
        .unwrap()
}

fn density(results: &Results, name: &str) -> f64 {
    let (_, stated) = results.solutions.iter().find(|(n, _)| n == name).unwrap();
    stated.density.as_ref().unwrap().value
}

#[test]
fn a_volume_by_iso_4787_in_conventional_air() {
    // 24.9211 g of water at 19.2 °C in air of 1.2 kg/m³, soda-lime glass: 24.98865 mL at 20 °C.
    let run = "
title: One pipette
date: 2026-03-12
analysts: R. Example
conditions: {liquid: 19.2 °C}
solute: sodium chloride
apparatus:
  balance: {kind: balance, readability: 0.0001 g}
  pipette: {kind: pipette, capacity: 25 mL, class: A, glass: soda lime}
ware_calibration:
  pipette: {weighings: [{empty: 10.0000 g, filled: 34.9211 g}]}
solutions:
  water: {pure: true}
";
    let (_, _, results) = reduced(run);
    let found = ware(&results, "pipette");
    assert!(
        (found.volume.value - 24.988_65).abs() <= 1e-5,
        "{}",
        found.volume.value
    );
    // Air not measured: 0.05 kg/m³ of it move 25 mL by some 0.0011 mL.
    let u = found.volume.standard_uncertainty;
    assert!((0.0010..0.0013).contains(&u), "u = {u}");
    assert_eq!(found.verdict, Some("inside"), "11 µL of 30");
}

#[test]
fn the_run_goes_by_the_volume_found() {
    let (_, reduction, results) = reduced(RUN);
    let pipette = ware(&results, "ten pipette");
    let (air, water) = (1.193_633e-3, 0.997_907_428);
    let volume = |net: f64| net * (1.0 - air / 8.0) / (water - air) * (1.0 - 9.9e-6 * 1.4);
    let kept = [9.947, 9.950, 9.946].map(volume);
    let mean = kept.iter().sum::<f64>() / 3.0;
    assert!(
        (pipette.volume.value - mean).abs() < 1e-7,
        "mean of the weighings that count: {}, plainly {mean}",
        pipette.volume.value
    );
    assert!(
        (pipette.departure.value - (mean - 10.0)).abs() < 1e-7,
        "departure"
    );
    assert!(
        (density(&results, "water") - 9.952 / mean).abs() < 1e-7,
        "the density goes by it"
    );
    let sd = (kept.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 2.0).sqrt();
    assert!(
        (reduction.ware[0].standard_deviation.unwrap() - sd).abs() < 1e-7,
        "spread"
    );
    // The tolerance no longer counts: the departure is known to some µL, with two degrees of freedom.
    let u = pipette.departure.standard_uncertainty;
    assert!((0.001..0.002).contains(&u), "u = {u}");
    assert!(pipette.departure.dof.unwrap() < 10.0, "degrees of freedom");
}

#[test]
fn ware_outside_its_limits_is_flagged() {
    let (run, reduction, results) = reduced(RUN);
    let raised: Vec<String> = flags(&run, &reduction, &results)
        .into_iter()
        .filter(|flag| flag.code.word() == "ware-outside-tolerance")
        .map(|flag| flag.entry)
        .collect();
    assert_eq!(raised, ["ware_calibration.tall cylinder"], "flags");
    assert_eq!(
        ware(&results, "ten pipette").verdict,
        Some("open"),
        "pipette"
    );
}

/// Standard uncertainty of the mass concentration of B, relative, and its degrees of freedom.
fn of_b(text: &str) -> (f64, f64) {
    let (_, reduction, _) = reduced(text);
    let ws = &reduction.worksheet;
    let b = reduction.solutions.iter().find(|s| s.name == "B").unwrap();
    let gamma = b.composition.mass_concentration.unwrap();
    let found = ws.uncertainty(gamma);
    (found.standard / ws.value(gamma), found.dof)
}

/// The part of a relative variance that is left when that of the same run with another `volume` is taken away.
fn beyond(text: &str, volume: &str) -> f64 {
    let other = text.replace("volume: 4 × 10.00 mL", volume);
    assert_ne!(other, text, "the delivery is replaced");
    of_b(text).0.powi(2) - of_b(&other).0.powi(2)
}

#[test]
fn deliveries_scatter_as_the_calibration_shows() {
    // Two weighings 0.050 g apart: s is 0.0500/√2 times what a gram of water takes up, 1.003286 mL, some 0.03547 mL.
    let run = RUN.replace("filled: 41.156 g}\n", "filled: 41.206 g}\n");
    assert_ne!(run, RUN, "a weighing is replaced");
    let (_, reduction, results) = reduced(&run);
    let s = reduction.ware[0].standard_deviation.unwrap();
    let told = ware(&results, "ten pipette");
    assert_eq!((told.weighings, told.standard_deviation), (3, Some(s)));
    let volume = reduction.worksheet.value(reduction.ware[0].volume);
    // Four deliveries, each its own: √4 s on four volumes. A `±` of each delivery stands in for s and leaves the
    // departure found, whose 4 u enters in both.
    let of_scatter = (2.0 * s / (4.0 * volume)).powi(2);
    let of_stated = (2.0 * 0.001 / (4.0 * volume)).powi(2);
    let beyond = beyond(&run, "volume: 4 × 10.00 ± 0.001 mL");
    assert!(
        (beyond - (of_scatter - of_stated)).abs() < 1e-6 * of_scatter,
        "variance by the scatter {beyond:e}, by hand {:e}",
        of_scatter - of_stated
    );
    // One estimate of two degrees of freedom is behind the departure and the deliveries, and little else counts.
    let dof = of_b(&run).1;
    assert!((2.0..2.2).contains(&dof), "degrees of freedom {dof}");
}

#[test]
fn a_stated_scatter_leaves_the_departure_found() {
    let (_, reduction, _) = reduced(&RUN.replace("4 × 10.00 mL", "4 × 10.00 ± 0.01 mL"));
    let ws = &reduction.worksheet;
    let b = reduction.solutions.iter().find(|s| s.name == "B").unwrap();
    let a = reduction.solutions.iter().find(|s| s.name == "A").unwrap();
    let gamma = |s: &fillmark::bench::reduce::SolutionResult| {
        ws.value(s.composition.mass_concentration.unwrap())
    };
    let pipette = ws.value(reduction.ware[0].volume);
    let cylinder = ws.value(reduction.ware[1].volume);
    let by_hand = gamma(a) * 4.0 * pipette / cylinder;
    assert!((gamma(b) - by_hand).abs() < 1e-9 * by_hand, "value");
}

#[test]
fn one_weighing_scatters_as_the_pipette_states() {
    let stated = RUN
        .replace("      - {empty: 31.206 g, filled: 41.156 g}\n", "")
        .replace("      - {empty: 31.203 g, filled: 41.149 g}\n", "")
        .replace(
            "ten pipette: {kind: pipette, capacity: 10 mL, class: A}",
            "ten pipette: {kind: pipette, capacity: 10 mL, class: A, repeatability: 0.02 mL}",
        );
    let (_, _, results) = reduced(&stated);
    let u = ware(&results, "ten pipette").volume.standard_uncertainty;
    // Beside two readings of the balance (0.0010 and 0.00029 g each, so 0.00148 mL) the pipette's 0.02 mL.
    let by_hand = 0.02_f64.hypot(0.001_48);
    assert!((u - by_hand).abs() < 2e-5, "u = {u}, by hand {by_hand}");
}
