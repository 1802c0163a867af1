//! Intervals hold the truth as often as they say, on a few simulated benches; `cargo bench --bench coverage` tries many.

use crate::simulation::cells;
use crate::simulation::judge::{Share, coverage};
use crate::simulation::nature;

const RUNS: usize = 200;

#[track_caller]
fn within(what: &str, share: Option<Share>, low: f64) {
    let share = share
        .unwrap_or_else(|| panic!("{what}: nothing to judge"))
        .share;
    assert!(
        share >= low,
        "{what}: {share:.3} of the intervals hold the truth"
    );
}

#[test]
fn intervals_hold_the_truth() {
    // 95 % are meant; four standard deviations of the simulation are left, more where results of a run share their errors.
    for (group, name) in [
        (
            "air",
            "calibrated pipette, buoyancy and expansion corrected",
        ),
        (
            "analytic",
            "generalised, pooled spread, 5 points, 3 weighings each",
        ),
        (
            "classroom",
            "generalised, pooled spread, 5 points, 3 weighings each",
        ),
        ("strong stocks", "21 %, curve, weighings: 3"),
    ] {
        let all = cells::all();
        let cell = all.iter().find(|c| c.group == group && c.name == name);
        let found = coverage(&cell.expect("a cell of that name").scene, 0, RUNS);
        assert_eq!((found.refused, found.complaint), (0, None), "{name}");
        within(&format!("unknown, {name}"), found.unknown, 0.89);
        within(&format!("mass percent, {name}"), found.percent, 0.88);
        within(&format!("g/L, {name}"), found.concentration, 0.88);
        assert!(
            found.expanded.is_some_and(|u| u < 1.0),
            "{name}: an interval that says something"
        );
        if group == "air" || group == "classroom" {
            within(&format!("density, {name}"), found.density, 0.90);
        }
    }
}

#[test]
fn the_truth_is_what_others_publish() {
    // Pitzer, Peiper and Busey, J. Phys. Chem. Ref. Data 13 (1984) 1, 25 °C; CRC Handbook, 20 °C (Söhnel and Novotný 1985).
    for (molality, density) in [
        (0.25, 1.007_22),
        (0.75, 1.026_76),
        (2.0, 1.072_28),
        (5.0, 1.166_44),
    ] {
        let w = molality * 58.44 / (1000.0 + molality * 58.44);
        let own = nature::brine(w, 25.0);
        assert!((own - density).abs() < 1.5e-4, "{molality} mol/kg: {own}");
    }
    for (percent, density) in [(1.0, 1.0053), (6.0, 1.0413), (14.0, 1.1008), (21.0, 1.1558)] {
        let own = nature::brine(percent / 100.0, 20.0);
        assert!((own - density).abs() < 3e-4, "{percent} %: {own}");
    }
    // Air of 20 °C, 1013.25 hPa, 50 %: 1.199 kg/m³ (CIPM-2007).
    assert!((nature::air(20.0, 1013.25, 50.0) - 1.199e-3).abs() < 1e-6);
}
