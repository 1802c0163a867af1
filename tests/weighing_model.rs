//! What enters the uncertainty of a density by weighing, against plain formulas over the readings.

use crate::common::Generator;
use fillmark::bench::fit::student_t;
use fillmark::bench::quantity::Unit;
use fillmark::bench::reduce::results::{Results, Stated};
use fillmark::bench::reduce::{Grounds, Liquid, Reduction, StatedSpread, coverage_factor, reduce};
use fillmark::bench::runfile::read;
use fillmark::bench::worksheet::{Component, Expr, Input, Title, Worksheet};

/// A run of one balance, with ware, solutions and densities given.
fn run(balance: &str, ware: &str, solutions: &str, density: &str) -> (Reduction, Results) {
    let text = format!(
        "title: Weighed\ndate: 2026-03-04\nanalysts: R. Example\nconditions: {{liquid: 20.0 ± 0.01 °C}}\n\
         solute: {{name: salt, molar_mass: 58.44 g/mol}}\napparatus:\n  balance: {{kind: balance, {balance}}}\n{ware}\
         solutions:\n{solutions}density:\n{density}"
    );
    let (run, problems) = read("weighed.yaml", text.as_bytes());
    assert_eq!(problems, [], "{text}");
    let run = run.unwrap();
    let reduction = reduce(&run).unwrap();
    let results = Results::new(&run, &reduction).in_full(&reduction);
    (reduction, results)
}

fn density<'a>(results: &'a Results, name: &str) -> &'a Stated {
    let mut all = results.solutions.iter().chain(&results.unknowns);
    all.find(|(n, _)| n == name)
        .unwrap()
        .1
        .density
        .as_ref()
        .unwrap()
}

#[track_caller]
fn close(found: f64, plain: f64, relative: f64, what: &str) {
    assert!(
        (found - plain).abs() <= relative * plain.abs(),
        "{what}: {found}, plainly {plain}"
    );
}

const TEN: &str = "  ten: {kind: pipette, capacity: 10 mL, tolerance: 0.001 mL}\n";

#[test]
fn linearity_is_one_error_of_a_load() {
    let weighing = |m: f64| format!("{{empty: 31.2 g, filled: {m:.3} g, volume: 10 mL}}");
    let several = [41.18, 41.181, 41.182, 41.182, 41.178]
        .map(weighing)
        .join(", ");
    let density_of = |readings: &str| {
        let density = format!("  pipette: ten\n  weighings:\n    water: [{readings}]\n");
        let balance = "readability: 0.001 g, linearity: 0.002 g";
        run(balance, TEN, "  water: {pure: true}\n", &density).1
    };
    // √2 · 0.002 g / √3 of 10 mL, of five weighings as of one.
    let once = 2.0 * (0.002_f64 / 10.0).powi(2) / 3.0;
    for readings in [several.clone(), weighing(41.181)] {
        let results = density_of(&readings);
        let found = density(&results, "water");
        let linearity = found
            .budget
            .iter()
            .filter(|row| row.input.contains("linearity"));
        let share: f64 = linearity.map(|row| row.share).sum();
        close(
            share * found.standard_uncertainty.powi(2),
            once,
            1e-3,
            &readings,
        );
    }
}

#[test]
fn deliveries_share_the_pipettes_error_and_scatter_by_themselves() {
    let ware =
        "  five: {kind: pipette, capacity: 5 mL, tolerance: 0.01 mL, repeatability: 0.004 mL}\n";
    for volume in ["2 × 5.00 mL", "[5.00 mL, 5.00 mL]"] {
        let density = format!(
            "  pipette: five\n  weighings:\n    A: [{{empty: 31.2 g, filled: 41.9 g, volume: {volume}}}]\n"
        );
        let balance = "readability: 0.001 g, repeatability: 0.001 g";
        let (_, results) = run(
            balance,
            ware,
            "  A: {unknown: true}\n",
            &(density + "calibration: none\n"),
        );
        let found = self::density(&results, "A");
        close(found.value, 1.07, 1e-12, volume);
        let masses = 2.0 * (1e-6 / 12.0 + 1e-6);
        let volumes = (2.0 * 0.01_f64).powi(2) / 6.0 + 2.0 * 0.004_f64.powi(2);
        let variance = (masses + 1.07 * 1.07 * volumes) / 100.0;
        let by_hand = crate::common::with_air(variance.sqrt(), 1.07);
        close(found.standard_uncertainty, by_hand, 1e-5, volume);
    }
}

#[test]
fn one_reading_of_the_vessel_does_not_average_out() {
    let of = |empties: [&str; 3]| {
        let filled = ["41.18", "41.19", "41.20"];
        let each = empties.iter().zip(filled);
        let each: Vec<String> = each
            .map(|(e, f)| format!("{{empty: {e} g, filled: {f} g, volume: 10 mL}}"))
            .collect();
        let density = format!(
            "  pipette: ten\n  weighings:\n    water: [{}]\n",
            each.join(", ")
        );
        let balance = "readability: 0.01 g, repeatability: 0.01 g";
        run(balance, TEN, "  water: {pure: true}\n", &density).1
    };
    let once = of(["31.20", "31.20", "31.20"]);
    let once = density(&once, "water");
    let rounding: f64 = 1e-4 / 12.0;
    // s = 0.01 g of 10 mL; the vessel has rounding and repeatability once; the pipette 0.001 mL, triangular.
    let plain: f64 = 1e-6 / 3.0 + rounding / 300.0 + (1e-4 + rounding) / 100.0 + 1e-6 / 600.0;
    close(once.standard_uncertainty, plain.sqrt(), 1e-3, "once");
    let several = of(["31.20", "31.21", "31.20"]);
    assert!(density(&several, "water").standard_uncertainty < 0.9 * once.standard_uncertainty);
}

/// Weighings about 1.05 g/mL by one pipette, with deviations in mg.
fn weighings(name: &str, pipette: &str, volume: f64, deviations: &[f64]) -> String {
    let each = deviations.iter().enumerate().map(|(i, d)| {
        let empty = 31.2 + 0.001 * i as f64;
        let filled = empty + 1.05 * volume + d / 1000.0;
        format!("{{empty: {empty:.3} g, filled: {filled:.3} g, volume: {volume} mL, pipette: {pipette}}}")
    });
    let each: Vec<String> = each.collect();
    format!("    {name}: [{}]\n", each.join(", "))
}

fn spread_of(reduction: &Reduction, solution: usize) -> &fillmark::bench::reduce::Spread {
    let serving =
        |s: &&fillmark::bench::reduce::Spread| s.serves.contains(&Liquid::Solution(solution));
    reduction.spreads.iter().find(serving).unwrap()
}

#[test]
fn spreads_are_pooled_by_pipette_and_only_where_they_are_alike() {
    let ware = "  two: {kind: pipette, capacity: 2 mL, tolerance: 0.01 mL}\n  big: {kind: pipette, capacity: 25 mL, tolerance: 0.03 mL}\n";
    let solutions = "  A: {unknown: true}\n  B: {unknown: true}\n  C: {unknown: true}\n  D: {unknown: true}\n  E: {unknown: true}\n";
    let of = |wanted: &str, unlike: f64| {
        let density = format!("{wanted}  weighings:\n")
            + &weighings("A", "two", 2.0, &[9.0, -9.0, 0.0])
            + &weighings("B", "big", 25.0, &[8.0, -8.0, 0.0])
            + &weighings("C", "big", 25.0, &[unlike, -unlike, 0.0])
            + &weighings("D", "big", 25.0, &[12.0, -12.0, 0.0])
            + &weighings("E", "big", 25.0, &[3.0]);
        run(
            "readability: 0.001 g",
            ware,
            solutions,
            &(density + "calibration: none\n"),
        )
        .0
    };
    let alike = of("", 10.0);
    let [two, big] = [0, 1].map(|solution| spread_of(&alike, solution));
    assert_eq!((two.observed_dof, two.grounds), (2, Grounds::Alone));
    assert_eq!((big.observed_dof, big.grounds), (6, Grounds::Alike));
    close(two.standard_deviation, 0.0045, 1e-9, "2 mL");
    let squares: f64 = [8.0_f64, 10.0, 12.0].iter().map(|d| d * d).sum::<f64>() / 3.0;
    close(
        big.standard_deviation,
        squares.sqrt() / 25_000.0,
        1e-9,
        "25 mL",
    );
    assert_eq!(big.serves.len(), 4, "the one weighed once too");
    let unlike = of("", 300.0);
    let [b, c] = [1, 2].map(|solution| spread_of(&unlike, solution));
    assert_eq!((c.observed_dof, c.grounds), (2, Grounds::Unlike));
    assert_eq!((b.observed_dof, b.grounds), (4, Grounds::Alike));
    let pooled = of("  repeatability: pooled\n", 300.0);
    let all = spread_of(&pooled, 1);
    assert_eq!((all.observed_dof, all.grounds), (6, Grounds::Chosen));
    assert!(all.test.is_some_and(|test| test.ratio > test.limit));
    close(
        spread_of(&pooled, 0).dof,
        2.0,
        1e-12,
        "the 2 mL pipette by itself",
    );
}

#[test]
fn a_stated_repeatability_is_an_estimate_beside_the_spread() {
    let ware =
        "  ten: {kind: pipette, capacity: 10 mL, tolerance: 0.01 mL, repeatability: 0.006 mL}\n";
    let of = |deviation: f64| {
        let density =
            "  weighings:\n".to_owned() + &weighings("A", "ten", 10.0, &[deviation, -deviation]);
        let balance = "readability: 0.001 g, repeatability: 0.001 g";
        run(
            balance,
            ware,
            "  A: {unknown: true}\n",
            &(density + "calibration: none\n"),
        )
        .0
    };
    let stated = (2.0 * (1e-6 + 1e-6 / 12.0) + (1.05_f64 * 0.006).powi(2)) / 100.0;
    let near = of(7.0);
    let near = spread_of(&near, 0);
    let found = 2.0 * 0.0007_f64.powi(2);
    close(
        near.standard_deviation.powi(2),
        (found + 8.0 * stated) / 9.0,
        1e-4,
        "combined",
    );
    close(near.dof, 9.0, 1e-12, "one, and eight of what is stated");
    let far = of(60.0);
    let far = spread_of(&far, 0);
    assert!(matches!(far.stated, StatedSpread::Exceeded(_)), "{far:?}");
    close(far.dof, 1.0, 1e-12, "the spread alone");
}

#[test]
fn water_in_a_pycnometer_scatters_as_the_solutions_do() {
    let of = |water: &str, readings: &str, more: &str| {
        let density = format!(
            "  pycnometer:\n    empty: 25.000 ± 0.000001 g\n{more}    water: {{{water}, liquid: 20.0 ± 0.01 °C}}\n    readings: {{A: [{readings}]}}\ncalibration: none\n"
        );
        run(
            "readability: 0.0001 g",
            "",
            "  A: {unknown: true}\n",
            &density,
        )
        .1
    };
    let three = "{filled: 76.70 g}, {filled: 76.71 g}, {filled: 76.72 g}";
    let scatter = 0.01 / 51.71;
    let relative = |results: &Results| {
        let found = density(results, "A");
        found.standard_uncertainty / found.value
    };
    let one = of("filled: 74.850 g", three, "");
    close(
        relative(&one),
        scatter * f64::sqrt(1.0 / 3.0 + 1.0),
        0.03,
        "one filling with water",
    );
    // Of water: s = 0.02 g of 49.85 g.
    let water = "readings: [{filled: 74.83 g}, {filled: 74.85 g}, {filled: 74.87 g}]";
    let several = of(water, three, "");
    let pooled = f64::midpoint(scatter.powi(2), (0.02_f64 / 49.85).powi(2));
    close(
        relative(&several),
        (pooled * 2.0 / 3.0).sqrt(),
        0.04,
        "three fillings each",
    );
    let alone = of(
        "filled: 74.850 g",
        "{filled: 76.70 g}",
        "    repeatability: 0.01 mL\n",
    );
    close(relative(&alone), 0.01 / 49.94 * 2f64.sqrt(), 0.03, "stated");
    let customary = of("filled: 74.850 g", "{filled: 76.70 g}", "");
    close(
        relative(&customary),
        1.5e-4 * 2f64.sqrt(),
        0.03,
        "customary",
    );
}

#[test]
fn deliveries_of_unknown_scatter_walk() {
    let ware = "  five: {kind: pipette, capacity: 5 mL, tolerance: 0.0001 mL}\n";
    let masses = [36.394, 41.585, 46.733, 51.891, 57.082];
    let rows = masses
        .map(|m| format!("{{volume: 5.00 mL, mass: {m:.3} g}}"))
        .join(", ");
    let density = format!(
        "  pipette: five\n  cumulative: {{A: {{empty: 31.204 g, deliveries: [{rows}]}}}}\ncalibration: none\n"
    );
    let balance = "readability: 0.001 g";
    let (_, results) = run(balance, ware, "  A: {unknown: true}\n", &density);
    let found = self::density(&results, "A");
    let increments: Vec<f64> = [31.204]
        .iter()
        .chain(&masses)
        .zip(&masses)
        .map(|(a, b)| b - a)
        .collect();
    let mean = (57.082 - 31.204) / 5.0;
    let variance = increments.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 4.0;
    close(found.value, mean / 5.0, 1e-4, "the slope of the ends");
    close(
        found.standard_uncertainty,
        (variance / 5.0).sqrt() / 5.0,
        0.01,
        "u",
    );
    close(found.dof.unwrap(), 4.0, 0.02, "degrees of freedom");
}

/// How often value ± k u holds the truth where a spread of `dof` degrees of freedom has `ratio` times the standard
/// uncertainty of all else: by the factor of the reports, and by Welch and Satterthwaite's alone.
fn coverage(random: &mut Generator, dof: usize, ratio: f64) -> [f64; 2] {
    const RUNS: usize = 4000;
    let mut held = [0; 2];
    for _ in 0..RUNS {
        let squares: f64 = (0..dof).map(|_| random.normal().powi(2)).sum();
        let found = ratio * (squares / dof as f64).sqrt();
        let mut ws = Worksheet::new();
        let mut put = |component| {
            let input = Input {
                components: vec![component],
                ..Input::default()
            };
            ws.input(Title::new("error", "e", &Unit::ONE), 0.0, input)
        };
        let ids = [
            put(Component::sampled("spread", found, dof as f64)),
            put(Component::normal("known", 1.0)),
        ];
        let sum = ws.calculate(
            Title::new("sum", "s", &Unit::ONE),
            Expr::from(ids[0]) + ids[1],
        );
        let u = ws.uncertainty(sum);
        let error = (ratio * random.normal() + random.normal()).abs();
        let factors = [coverage_factor(0.95, &u), student_t(0.95, u.dof)];
        for (held, k) in held.iter_mut().zip(factors) {
            *held += usize::from(error <= k * u.standard);
        }
    }
    held.map(|held| held as f64 / RUNS as f64)
}

#[test]
fn few_degrees_of_freedom_still_hold_the_truth() {
    let mut random = Generator(20);
    let mut least: f64 = 1.0;
    for dof in [1, 2] {
        for ratio in [0.3, 1.0, 2.0, 4.0, 10.0] {
            let [ours, welch] = coverage(&mut random, dof, ratio);
            assert!((0.925..0.98).contains(&ours), "{dof}, {ratio}: {ours}");
            least = least.min(welch);
        }
    }
    assert!(least < 0.90, "there is nothing to mend: {least}");
}
