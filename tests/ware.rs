//! Ware calibrated in a run file: its volume against ISO 4787, and the run that goes by it.

use fillmark::practice::flags;
use fillmark::reduce::results::{Results, WareStated};
use fillmark::reduce::{Reduction, reduce};
use fillmark::runfile::{model::RunFile, read};

const RUN: &str = include_str!("runs/calibrated_ware.yaml");

fn reduced(text: &str) -> (RunFile, Reduction, Results) {
    let (run, problems) = read("calibrated_ware.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems");
    let run = run.unwrap();
    let reduction = reduce(&run).unwrap();
    let results = Results::of(&run, &reduction);
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
