//! Statistics of a calibration, from the text of a run file to its results.

use crate::common::with_air;
use fillmark::pipeline::{self, Run};
use fillmark::problem::{Problem, Severity};
use serde_json::Value;
use std::fmt::Write as _;

/// A run of solutions made by mass, without error: a name, its mass percent, and its weighings in g of 1 mL.
/// `spread` is the standard uncertainty of each weighing, `more` what follows.
pub(crate) fn text(
    solutions: &[(&str, Option<f64>, Vec<f64>)],
    spread: &str,
    more: &str,
) -> String {
    let mut text = String::from(
        "title: Statistics\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {liquid: 20 °C}\n\
         solute: sodium chloride\nsolutions:\n",
    );
    for (name, percent, _) in solutions {
        let origin = match percent {
            None => "{unknown: true}".to_owned(),
            Some(0.0) => "{pure: true}".to_owned(),
            Some(w) => format!(
                "{{weighed: {{mass: {w} ± 1e-12 g}}, solvent: {{mass: {} ± 1e-12 g}}}}",
                100.0 - w
            ),
        };
        writeln!(text, "  {name}: {origin}").unwrap();
    }
    text += "density:\n  weighings:\n";
    for (name, _, weighings) in solutions {
        writeln!(text, "    {name}:").unwrap();
        for filled in weighings {
            writeln!(
                text,
                "      - {{empty: 1 ± 1e-12 g, filled: {} ± {spread} g, volume: 1 ± 1e-12 mL}}",
                1.0 + filled
            )
            .unwrap();
        }
    }
    text + more
}

fn read(text: &str) -> Result<Run, Vec<Problem>> {
    let (run, problems) = pipeline::read("statistics.yaml", text.as_bytes());
    run.ok_or(problems)
}

pub(crate) fn results(text: &str) -> Value {
    let run = read(text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"));
    // What can be reduced can be reported.
    let made = run.report(
        text.as_bytes(),
        &fillmark::report::templates::Templates::default(),
    );
    assert!(made.is_ok(), "{:?}", made.err());
    serde_json::from_str(&run.results_json().unwrap()).unwrap()
}

pub(crate) fn number(value: &Value, path: &str) -> f64 {
    value
        .pointer(path)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("no number {path} in {value:#}"))
}

#[track_caller]
fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: {got}, expected {expected}"
    );
}

fn published(file: &str, id: &str) -> Value {
    let cases: Vec<Value> = serde_json::from_str(file).unwrap();
    cases.into_iter().find(|case| case["id"] == id).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

pub(crate) fn flag<'a>(results: &'a Value, code: &str) -> Option<&'a Value> {
    results["flags"]
        .as_array()
        .unwrap()
        .iter()
        .find(|flag| flag["code"] == code)
}

/// The line of an ordinary fit whose densities are known as well as the published scatter says: what is propagated from
/// the readings is then what the scatter gives.
#[test]
fn read_back_of_published_data() {
    let case = published(include_str!("published/line_fits.json"), "inverse.harvey");
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let scale = |y: f64| 1.0 + y / 100.0;
    let (x, y) = (numbers(&inputs["x"]), numbers(&inputs["y"]));
    let readings = numbers(&inputs["readings"]);
    let mean = readings.iter().sum::<f64>() / readings.len() as f64;
    let s = number(expected, "/residual_sd") / 100.0;
    let names = ["zero", "a", "b", "c", "d", "e"];
    let mut solutions: Vec<_> = names
        .iter()
        .zip(x.iter().zip(&y))
        .map(|(name, (x, y))| (*name, Some(*x), vec![scale(*y)]))
        .collect();
    solutions.push(("sample", None, vec![scale(mean)]));
    // The normal distribution's factor at this coverage is the published t of 4 degrees of freedom.
    let more =
        "calibration: {line: straight, fit: ordinary}\nreport: {coverage: 0.9945043085400678}\n";
    let (all, own) = (
        format!("{s}"),
        format!("{}", s / (readings.len() as f64).sqrt()),
    );
    let text = text(&solutions, &all, more);
    let (lines, sample) = text.rsplit_once(&format!("± {all} g")).unwrap();
    let found = results(&format!("{lines}± {own} g{sample}"));
    let sample = &found["unknowns"]["sample"];
    let relative = 1e-6;
    close(
        "x0",
        number(sample, "/mass_percent/value"),
        number(expected, "/x0"),
        relative,
    );
    let u = number(sample, "/mass_percent/standard_uncertainty");
    // Air that the reference knows nothing of adds a few millionths.
    close("u(x0)", u, number(expected, "/u_x0"), 1e-5);
    // What is not corrected widens the interval on either side.
    let t = number(expected, "/t");
    close(
        "k",
        number(sample, "/mass_percent/coverage_factor"),
        t,
        0.003,
    );
    let wider = number(sample, "/mass_percent/expanded_uncertainty") - t * u;
    close(
        "g",
        number(sample, "/fieller/g"),
        number(expected, "/fieller/g"),
        1e-5,
    );
    close(
        "low",
        number(sample, "/fieller/low") + wider,
        number(expected, "/fieller/interval/0"),
        1e-5,
    );
    close(
        "high",
        number(sample, "/fieller/high") - wider,
        number(expected, "/fieller/interval/1"),
        1e-5,
    );
}

const CURVED: [(&str, Option<f64>, f64); 5] = [
    ("water", Some(0.0), 0.998),
    ("A", Some(5.0), 1.034),
    ("B", Some(10.0), 1.072),
    ("C", Some(15.0), 1.112),
    ("D", Some(20.0), 1.154),
];

/// Points on 0.998 + 0.007 x + 0.00004 x², each weighed `count` times with a spread of some 0.0001 g/mL.
pub(crate) fn curved(count: usize) -> Vec<(&'static str, Option<f64>, Vec<f64>)> {
    let scatter = [0.000_1, -0.000_1, 0.0];
    CURVED
        .iter()
        .map(|(name, x, y)| (*name, *x, (0..count).map(|i| y + scatter[i % 3]).collect()))
        .collect()
}

#[test]
fn a_curve_is_relied_on_beside_a_straight_line_refused() {
    let mut solutions = curved(1);
    solutions.push(("bath", None, vec![1.0528]));
    solutions.push(("tank", None, vec![1.0, 1.0002]));
    let with = |line: &str| results(&text(&solutions, "0.0001", line));
    let found = with("calibration: {line: straight}\n");
    assert_eq!(found["calibration"]["choice"], "asked line refused");
    assert_eq!(found["calibration"]["line"], "curve");
    assert_eq!(found["line_asked_for"]["line"], "straight");
    assert_eq!(found["line_asked_for"]["consistent"], false);
    assert!(number(&found, "/line_asked_for/chi_squared_p") < 1e-3, "p");
    assert!(flag(&found, "line-departs").is_some(), "flag");
    // The points lie on 0.9981 + 0.007 x + 0.00004 x², solved for 1.0528 and 1.0001.
    let value = |name: &str| number(&found, &format!("/unknowns/{name}/mass_percent/value"));
    close("bath", value("bath"), 7.493_421, 1e-5);
    close("tank", value("tank"), 0.285_249, 1e-4);
    let beside = number(&found, "/unknowns/bath/by_line_asked_for/value");
    let line = |k: usize| number(&found, &format!("/line_asked_for/coefficients/{k}/value"));
    close(
        "the line asked for",
        beside,
        (1.0528 - line(0)) / line(1),
        1e-9,
    );
    assert!((beside - value("bath")).abs() > 0.01, "{beside}");
    // A curve asked for, or chosen since the published density bends, gives the same, with nothing beside it.
    for (line, choice) in [("calibration: {line: curve}\n", "asked"), ("", "bends")] {
        let asked = with(line);
        assert_eq!(asked["calibration"]["choice"], choice);
        assert_eq!(asked["calibration"]["consistent"], true, "the curve fits");
        for name in ["bath", "tank"] {
            let path = format!("/unknowns/{name}/mass_percent");
            for part in ["value", "standard_uncertainty"] {
                close(
                    &format!("{name}: {part} of the curve"),
                    number(&asked, &format!("{path}/{part}")),
                    number(&found, &format!("{path}/{part}")),
                    1e-9,
                );
            }
            for absent in ["by_line_asked_for", "fieller"] {
                assert!(asked["unknowns"][name].get(absent).is_none(), "{absent}");
            }
        }
    }
}

#[test]
fn a_density_met_twice_or_never_is_a_problem_at_the_unknown() {
    // Up to 1.1 in the middle and down again.
    let turning = |unknown: f64| {
        let points = [1.0, 1.075, 1.1, 1.075, 1.0];
        let mut solutions: Vec<_> = CURVED
            .iter()
            .zip(points)
            .map(|((name, x, _), y)| (*name, *x, vec![y]))
            .collect();
        solutions.push(("bath", None, vec![unknown]));
        text(&solutions, "0.001", "calibration: {line: curve}\n")
    };
    for (unknown, code) in [
        (1.05, "twice-on-the-curve"),
        (1.2, "not-on-the-curve"),
        (0.9, "not-on-the-curve"),
    ] {
        let text = turning(unknown);
        let problems = read(&text).unwrap_err();
        let line = text
            .lines()
            .position(|line| line.starts_with("  bath:"))
            .unwrap()
            + 1;
        // Slips that might have made it so are told beside it.
        let told: Vec<_> = problems
            .iter()
            .filter(|p| p.severity == Severity::Error)
            .map(|p| (p.code.name(), p.span.as_ref().map(|span| span.line)))
            .collect();
        assert_eq!(told, [(code, Some(line))], "{unknown}");
    }
    // Beyond the points on a curve that keeps rising, it is a flag.
    let mut solutions = curved(1);
    solutions.push(("bath", None, vec![1.2]));
    let found = results(&text(&solutions, "0.001", "calibration: {line: curve}\n"));
    assert!(flag(&found, "outside-calibration").is_some(), "flag");
    assert!(
        number(&found, "/unknowns/bath/mass_percent/value") > 20.0,
        "read all the same"
    );
}

#[test]
fn a_pooled_spread_replaces_each_solutions_own() {
    let mut solutions = curved(3);
    solutions[1].2.pop();
    solutions[2].2.truncate(1);
    // Deviations ±0.0001 and 0 three times: s = 0.0001, ν = 2; ±0.0001 once: s = 0.0001·√2, ν = 1.
    let squares = 1e-8 * (3.0 * 2.0 + 2.0);
    let pooled = (squares / 7.0_f64).sqrt();
    let text = text(&solutions, "1e-9", "calibration: {line: curve}\n");
    let by = |spread: &str| {
        let wanted = format!("density:\n  repeatability: {spread}\n");
        results(&text.replace("density:\n", &wanted))
    };
    let (own, found) = (by("own"), by("pooled"));
    for (name, count) in [("water", 3.0_f64), ("A", 2.0), ("B", 1.0)] {
        let density = |results: &Value, part: &str| {
            number(results, &format!("/solutions/{name}/density/{part}"))
        };
        close(
            name,
            density(&found, "value"),
            density(&own, "value"),
            1e-12,
        );
        close(
            name,
            density(&found, "standard_uncertainty"),
            with_air(pooled / count.sqrt(), density(&found, "value")),
            1e-5,
        );
        // What the air adds has no finite degrees of freedom.
        let more = density(&found, "standard_uncertainty") / (pooled / count.sqrt());
        close(name, density(&found, "dof"), 7.0 * more.powi(4), 1e-5);
    }
    // One estimate of variance stays one, however many densities of it go into a result.
    let coefficients = found["calibration"]["coefficients"].as_array().unwrap();
    // The intercept has the air in it.
    for coefficient in &coefficients[1..] {
        close(
            "degrees of freedom of a coefficient",
            number(coefficient, "/dof"),
            7.0,
            0.01,
        );
    }
    assert!(
        number(&own, "/calibration/coefficients/1/dof") < 4.0,
        "two of each solution's own"
    );
}

#[test]
fn a_weighing_far_out_is_suspected_and_still_counts() {
    let mut solutions = curved(3);
    solutions[1].2 = vec![1.0340, 1.0341, 1.0339, 1.0340, 1.0390];
    let found = results(&text(&solutions, "0.0001", ""));
    let told = flag(&found, "suspect-weighing").unwrap();
    assert_eq!(told["entry"], "weighings.A.5");
    let message = told["message"].as_str().unwrap();
    // Grubbs 1969: 1.715 for five values at 5 %.
    assert!(message.contains("G = 1.78"), "{message}");
    let mean = (4.0 * 1.0340 + 1.0390) / 5.0;
    close(
        "mean",
        number(&found, "/solutions/A/density/value"),
        mean,
        1e-9,
    );
    let told = flag(&found, "spread-unexplained").unwrap();
    assert_eq!(told["entry"], "weighings.A");
    // Readings of a coarse balance are soon equal, and the third then stands out, be it by one step.
    let coarse = |third: f64| {
        let mut solutions = curved(1);
        solutions[1].2 = vec![1.034, 1.034, third];
        let text = text(&solutions, "0.0001", "").replace(" ± 0.0001 g", "");
        let balance = "apparatus:\n  balance: {kind: balance, readability: 0.001 g}\nsolutions:\n";
        results(&text.replacen("solutions:\n", balance, 1))
    };
    assert!(
        flag(&coarse(1.0349), "suspect-weighing").is_none(),
        "by rounding"
    );
    assert!(
        flag(&coarse(1.09), "spread-unexplained").is_some(),
        "beyond rounding"
    );
    let quiet = results(&text(&curved(3), "0.0001", ""));
    assert!(flag(&quiet, "suspect-weighing").is_none(), "{quiet:#}");
    assert!(flag(&quiet, "spread-unexplained").is_none(), "{quiet:#}");
}

/// What a report says, blocks and all.
pub(crate) fn said(text: &str) -> String {
    let run = read(text).unwrap_or_else(|problems| panic!("{problems:?}"));
    let templates = fillmark::report::templates::Templates::default();
    let manuscript = fillmark::report::manuscript(&run.material(text), &templates).unwrap();
    format!("{:?}", manuscript.blocks)
}

#[test]
fn fiellers_interval_is_told_where_the_slope_is_poorly_known() {
    let mut solutions = curved(1);
    solutions.push(("bath", None, vec![1.06]));
    let with = |spread: &str| text(&solutions, spread, "calibration: {line: straight}\n");
    // With u(b₁) = u/√250 and b₁ near 0.0078 (g/mL)/%, g is (1.96 · u(b₁)/b₁)²: 0.0003, 0.03 and 3.
    let told = |spread: &str| {
        let told = said(&with(spread));
        [
            told.contains("which is asymmetric"),
            told.contains("No finite interval"),
        ]
    };
    assert_eq!(told("0.001"), [false, false], "negligible");
    assert_eq!(told("0.01"), [true, false], "lopsided");
    assert_eq!(told("0.1"), [false, true], "unbounded");
    let found = results(&with("0.01"));
    let of = |part: &str| number(&found, &format!("/unknowns/bath/{part}"));
    let (low, high, value) = (
        of("fieller/low"),
        of("fieller/high"),
        of("mass_percent/value"),
    );
    // To the left of the points' centre at 10 %, the interval reaches further to the left.
    assert!(
        value < 10.0 && value - low > high - value,
        "{low} {value} {high}"
    );
    assert!(
        results(&with("0.1"))["unknowns"]["bath"]
            .get("fieller")
            .is_none(),
        "no interval"
    );
}

/// With one standard deviation s for every density, the textbook's bands (Draper and Smith 1998, section 3.1).
#[test]
fn bands_of_a_line_and_of_a_further_density() {
    let text = text(
        &curved(1),
        "0.002",
        "calibration: {line: straight, fit: ordinary}\n",
    );
    let run = read(&text).unwrap();
    let calibration = run.reduction.calibration.as_ref().unwrap();
    let bands = fillmark::bench::reduce::Bands::new(&run.reduction.worksheet, calibration);
    let s = 0.002;
    for x in [0.0, 7.0, 10.0, 30.0_f64] {
        let line = 1.0 / 5.0 + (x - 10.0).powi(2) / 250.0;
        let with_air = |s| with_air(s, calibration.density_at(x));
        close(
            "line",
            bands.line(x).standard,
            with_air(s * line.sqrt()),
            1e-4,
        );
        close(
            "further",
            bands.further(x).standard,
            with_air(s * (1.0 + line).sqrt()),
            1e-4,
        );
    }
}
