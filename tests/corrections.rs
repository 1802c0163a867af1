//! Corrections asked for in a run file, against a plain calculation of the same run.

use fillmark::bench::reduce::results::{Results, SolutionStated};
use fillmark::bench::reduce::{Reduction, reduce};
use fillmark::bench::runfile::read;
use fillmark::bench::worksheet::NodeId;

const RUN: &str = include_str!("runs/corrections.yaml");

fn reduced(text: &str) -> (Reduction, Results) {
    let (run, problems) = read("corrections.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems");
    let run = run.unwrap();
    let reduction = reduce(&run).unwrap();
    let results = Results::new(&run, &reduction);
    (reduction, results)
}

/// The codes of the problems that reducing a run meets.
fn refused(text: &str) -> Vec<(&'static str, String)> {
    let (run, problems) = read("corrections.yaml", text.as_bytes());
    assert_eq!(problems, [], "problems of reading");
    let problems = reduce(&run.unwrap()).unwrap_err();
    problems
        .into_iter()
        .map(|p| (p.code.name(), p.entry.clone()))
        .collect()
}

fn solution<'a>(results: &'a Results, name: &str) -> &'a SolutionStated {
    results
        .solutions
        .iter()
        .chain(&results.unknowns)
        .find(|(n, _)| n == name)
        .map(|(_, s)| s)
        .unwrap()
}

fn close(found: f64, plain: f64, what: &str) {
    assert!(
        (found - plain).abs() <= 1e-9 * plain.abs(),
        "{what}: {found}, plainly {plain}"
    );
}

/// Laliberté's density of a sodium chloride solution, g/mL, from mass fraction and °C.
fn brine(w: f64, t: f64) -> f64 {
    let water = (999.83952 + 16.945176 * t - 7.9870401e-3 * t.powi(2) - 46.170461e-6 * t.powi(3)
        + 105.56302e-9 * t.powi(4)
        - 280.54253e-12 * t.powi(5))
        / (1.0 + 16.879850e-3 * t);
    let salt = (-0.00324112223655149 * w + 0.0636354335906616)
        * (1e-6 * (t + 3317.34854426537).powi(2)).exp()
        / (w + 1.01371399467365 + 0.0145951015210159 * t);
    1e-3 / ((1.0 - w) / water + w / salt)
}

/// Tanaka's density of water, g/mL.
fn water(t: f64) -> f64 {
    0.99997495 * (1.0 - (t - 3.983035).powi(2) * (t + 301.797) / (522528.9 * (t + 69.34881)))
}

const AIR: f64 = 1.191436e-3;
const BENCH: f64 = 22.4;

fn expanded(volume: f64, coefficient: f64, t: f64) -> f64 {
    volume * (1.0 + coefficient * (t - 20.0))
}

fn weighed(net: f64, t: f64) -> f64 {
    net * (1.0 - AIR / 8.0) / expanded(10.0, 9.9e-6, t) + AIR
}

#[test]
fn all_corrections_together() {
    let (reduction, results) = reduced(RUN);
    // The published air density is given to so many digits.
    let air = reduction.worksheet.value(reduction.air.unwrap());
    assert!((air - AIR).abs() < 1e-9, "air: {air}");
    let nearly = |found: f64, plain: f64, what: &str| {
        assert!(
            (found - plain).abs() <= 2e-9 * plain.abs(),
            "{what}: {found}, plainly {plain}"
        );
    };

    let rho_water = weighed(41.171 - 31.204, BENCH);
    let measured = solution(&results, "water");
    nearly(measured.density.as_ref().unwrap().value, rho_water, "water");
    nearly(
        measured
            .density_at_reference
            .as_ref()
            .unwrap()
            .density
            .value,
        rho_water + water(20.0) - water(BENCH),
        "water at 20 °C",
    );

    let salt = |net: f64| net * (1.0 - AIR / 8.0) / (1.0 - AIR / 2.165);
    let gamma =
        salt(61.274 - 11.262) * 0.995 * (1.0 - 0.004) / expanded(250.0, 2.7e-5, BENCH) * 1e3;
    let rho = f64::midpoint(
        weighed(42.498 - 31.204, 22.8),
        weighed(42.504 - 31.206, 22.9),
    );
    let w = gamma / rho / 1e3;
    let a = solution(&results, "A");
    nearly(
        a.composition.mass_percent.as_ref().unwrap().value,
        100.0 * w,
        "w of A",
    );
    let at_20 = rho + brine(w, 20.0) - brine(w, 22.85);
    nearly(
        a.density_at_reference.as_ref().unwrap().density.value,
        at_20,
        "A at 20 °C",
    );
    nearly(
        a.composition.mass_concentration.as_ref().unwrap().value,
        w * at_20 * 1e3,
        "g/L of A at 20 °C",
    );

    let taken = expanded(40.0, 9.9e-6, BENCH) / expanded(100.0, 9.9e-6, BENCH);
    let rho_b = weighed(41.730 - 31.203, BENCH);
    nearly(
        solution(&results, "B")
            .composition
            .mass_percent
            .as_ref()
            .unwrap()
            .value,
        100.0 * gamma * taken / rho_b / 1e3,
        "w of B, diluted at the temperature of the bench",
    );

    let solvent = 88.110 * (1.0 - AIR / 8.0) / (1.0 - AIR / water(BENCH));
    nearly(
        solution(&results, "C")
            .composition
            .mass_percent
            .as_ref()
            .unwrap()
            .value,
        100.0 * salt(12.004) * 0.995 * 0.996 / (salt(12.004) + solvent),
        "w of C",
    );
}

#[test]
fn an_unknown_is_read_back_at_the_reference_temperature() {
    let (reduction, results) = reduced(RUN);
    let bath = solution(&results, "bath");
    let w = bath.composition.mass_percent.as_ref().unwrap().value;
    let b: Vec<f64> = reduction
        .calibration
        .as_ref()
        .unwrap()
        .coefficients
        .iter()
        .map(|id| reduction.worksheet.value(*id))
        .collect();
    let rho = weighed(41.990 - 31.203, 19.1);
    let change = brine(w / 100.0, 20.0) - brine(w / 100.0, 19.1);
    assert!(
        (b.iter().rev().fold(0.0, |sum, b| sum * w + b) - (rho + change)).abs() < 1e-9,
        "the density on the calibration at {w} % is not the one brought to 20 °C"
    );
}

#[test]
fn nothing_is_corrected_unasked() {
    let start = RUN.find("allow_for:").unwrap();
    let end = RUN.find("solutions:").unwrap();
    let bare = RUN[..start].to_owned() + &RUN[end..];
    let (reduction, results) = reduced(&bare);
    assert_eq!(reduction.air, None::<NodeId>, "air");
    let water = solution(&results, "water");
    close(
        water.density.as_ref().unwrap().value,
        (41.171 - 31.204) / 10.0,
        "water",
    );
    assert_eq!(water.density_at_reference, None, "brought unasked");
}

#[test]
fn what_published_formulas_do_not_reach_is_refused() {
    let hot = RUN.replace("air: 21.5 °C", "air: 31.5 °C");
    assert_eq!(
        refused(&hot),
        [("outside-published-range", "conditions.air".to_owned())],
        "hot air"
    );
    let high = RUN.replace("1012 hPa", "512 hPa");
    assert_eq!(
        refused(&high),
        [("outside-published-range", "conditions.pressure".to_owned())],
        "thin air"
    );
    let warm = RUN.replace("liquid: 22.4 °C", "liquid: 45.4 °C");
    let told = refused(&warm);
    assert!(
        told.contains(&("outside-published-range", "conditions.liquid".to_owned())),
        "warm water as solvent: {told:?}"
    );
    let other = RUN.replace(
        "name: sodium chloride,",
        "name: lithium bromide, formula: LiBr,",
    );
    assert_eq!(
        refused(&other),
        [("no-temperature-model", "allow_for.density_at".to_owned())],
        "no model"
    );
}

/// Standard uncertainty of the density of A by these readings.
fn of_density(apparatus: &str, density: &str) -> f64 {
    let (_, results) = reduced(&format!(
        "title: Equal readings\ndate: 2026-03-04\nanalysts: A. Example\nconditions: {{liquid: 20.0 °C}}\n\
         solute: sodium chloride\napparatus:\n{apparatus}solutions:\n  \
         A: {{weighed: {{mass: 10.000 ± 0.001 g}}, solvent: {{mass: 90.000 ± 0.001 g}}}}\n\
         density:\n{density}calibration: none\n"
    ));
    let density = solution(&results, "A").density.as_ref().unwrap();
    density.standard_uncertainty
}

#[test]
fn rounding_does_not_average_out_of_equal_readings() {
    // JCGM 100:2008, F.2.2.1: however often the same is read, u is that of one rounding; beside it the accuracy.
    let hydrometer = "  h: {kind: hydrometer, readability: 0.0005 g/mL, accuracy: 0.0010 g/mL}\n";
    let reading = "{density: 1.0710 g/mL, with: h}";
    let by_hand = (0.0010_f64 / 3f64.sqrt()).hypot(0.0005 / 12f64.sqrt());
    for count in [1, 2, 10] {
        let readings = vec![reading; count].join(", ");
        let u = of_density(hydrometer, &format!("  readings:\n    A: [{readings}]\n"));
        close(u, by_hand, &format!("{count} readings"));
    }
    // Three weighings alike: one rounding of each mass, the tolerance, and the repeatability stated, which equal readings
    // do not disprove.
    let bench = "  b: {kind: balance, readability: 0.010 g}\n  \
                 p: {kind: pipette, capacity: 10 mL, class: A, repeatability: 0.008 mL}\n";
    let weighing = "{empty: 30.00 g, filled: 40.70 g, volume: 10.00 mL}";
    let three = [weighing; 3].join(", ");
    let u = of_density(
        bench,
        &format!("  pipette: p\n  weighings:\n    A: [{three}]\n"),
    );
    let rho: f64 = 1.07;
    let rounding = 2.0 * (0.010_f64 / 10.0).powi(2) / 12.0;
    let tolerance = (rho * 0.02 / 10.0).powi(2) / 6.0;
    let stated = (rho * 0.008 / 10.0).powi(2) / 3.0;
    let by_hand = crate::common::with_air((rounding + tolerance + stated).sqrt(), rho);
    // Beside it the expansion of the pipette between temperatures that a reading does not tell apart.
    assert!((u / by_hand - 1.0).abs() < 1e-5, "{u} and {by_hand}");
}

/// Water measured out by volume: its mass is what its density gives. Tanaka et al. 2001 have 0.998 207 g/mL at 20 °C, so
/// 2 × 47.50 mL are 94.8297 g; with 5.000 g of salt that is 5.0085 % (by hand). The pipette's error is one for both.
#[test]
fn water_as_solvent_may_be_measured_by_volume() {
    let text = "title: Water by volume\ndate: 2026-03-04\nanalysts: A. Example\nconditions: {liquid: 20.0 °C}\n\
                solute: sodium chloride\n\
                apparatus:\n  balance: {kind: balance, readability: 0.001 g}\n  \
                cylinder: {kind: cylinder, capacity: 50 mL, tolerance: 0.3 mL, note: a good one}\n\
                solutions:\n  A:\n    weighed: {mass: 5.000 g, balance: balance}\n    \
                solvent: {volume: 2 × 47.50 mL, with: cylinder}\n";
    let (_, results) = reduced(text);
    let water = 2.0 * 47.5 * 0.998_207;
    let w = &results.solutions[0].1.composition.mass_percent;
    let w = w.as_ref().expect("a mass percent");
    let plain = 100.0 * 5.0 / (5.0 + water);
    assert!(
        (w.value / plain - 1.0).abs() < 1e-6,
        "{} and {plain}",
        w.value
    );
    // The limits are triangular and one for both deliveries; beside them the balance is nothing.
    let by_water = plain / (5.0 + water) * 2.0 * 0.998_207 * 0.3 / 6_f64.sqrt();
    assert!(
        (w.standard_uncertainty / by_water - 1.0).abs() < 0.002,
        "{} and {by_water}",
        w.standard_uncertainty
    );
}
