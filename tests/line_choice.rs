//! Straight line or curve: what is chosen, what the answer relies on, and how often it is right. Runs are simulated with
//! a density, draws and errors of their own.

use crate::calibration_statistics::{curved, flag, number, results, said, text};
use crate::common::{Generator, path, reduced};
use fillmark::bench::fit::Model;
use fillmark::bench::reduce::results::Results;
use fillmark::bench::reduce::{Choice, Reduction};
use std::fmt::Write as _;

/// A bench: a stock, dilutions made of it, an unknown, each weighed so many times.
#[derive(Clone, Copy)]
struct Bench {
    /// Mass percent of the stock.
    stock: f64,
    weighings: usize,
    dilutions: usize,
    /// How density departs from a straight line, (g/mL)/%².
    bend: f64,
    solute: &'static str,
    calibration: &'static str,
}

const SALT: &str = "{name: salt, molar_mass: 58.44 g/mol}";

impl Bench {
    fn density(self, w: f64) -> f64 {
        0.998_21 + 7.07e-3 * w + self.bend * w * w
    }

    /// The text of a run, and the true mass percent of its unknown.
    fn run(self, random: &mut Generator) -> (String, f64) {
        let mut within = |limit: f64| limit * (random.uniform() - random.uniform());
        let (flask, small, aliquot, ten) = (within(0.15), within(0.1), within(0.03), within(0.02));
        let gamma = 10.0 * self.stock * self.density(self.stock);
        let salt = 0.25 * gamma;
        let mut read = |mass: f64| mass + 0.001 * random.normal();
        let (before, after) = (read(61.0 + salt), read(61.0));
        let mut text = format!(
            "title: Simulated\ndate: 2026-03-01\nanalysts: [R. Example]\nconditions: {{liquid: 20.000 ± 0.001 °C}}\n\
             solute: {}\npractice: {{rinsed: 3, mixed: inverted ten times}}\napparatus:\n  \
             balance: {{kind: balance, readability: 0.001 g, repeatability: 0.001 g}}\n  \
             flask: {{kind: flask, capacity: 250 mL, tolerance: 0.15 mL}}\n  \
             small: {{kind: flask, capacity: 100 mL, tolerance: 0.10 mL}}\n  \
             aliquot: {{kind: pipette, capacity: 10 mL, tolerance: 0.03 mL, repeatability: 0.006 mL}}\n  \
             ten: {{kind: pipette, capacity: 10 mL, tolerance: 0.02 mL, repeatability: 0.003 mL}}\n\
             solutions:\n  water: {{pure: true}}\n  \
             stock: {{weighed: {{before: {before:.3} g, after: {after:.3} g}}, made_up: {{to: 250 mL, in: flask}}}}\n",
            self.solute
        );
        let gamma = 1000.0 * salt / (250.0 + flask);
        let mut solutions = vec![("water".to_owned(), 0.0), ("stock".to_owned(), gamma)];
        for i in 1..=self.dilutions {
            let count = (10.0 * i as f64 / (self.dilutions + 1) as f64).round() as usize;
            let taken: f64 = (0..count)
                .map(|_| 10.0 + aliquot + 0.006 * random.normal())
                .sum();
            solutions.push((format!("D{i}"), gamma * taken / (100.0 + small)));
            let _ = writeln!(
                text,
                "  D{i}: {{aliquot: {{of: stock, volume: {count} × 10.00 mL, with: aliquot}}, made_up: {{to: 100 mL, in: small}}}}"
            );
        }
        let unknown = self.stock * random.between(0.15, 0.9);
        solutions.push(("U".to_owned(), 10.0 * unknown * self.density(unknown)));
        text += "  U: {unknown: true}\ndensity:\n  pipette: ten\n  weighings:\n";
        for (name, gamma) in &solutions {
            let _ = writeln!(text, "    {name}:");
            let mut w = gamma / 10.0;
            for _ in 0..50 {
                w = gamma / (10.0 * self.density(w));
            }
            for _ in 0..self.weighings {
                let volume = 10.0 + ten + 0.003 * random.normal();
                let empty = 31.2 + 0.001 * random.normal();
                let filled = 31.2 + volume * self.density(w) + 0.001 * random.normal();
                let _ = writeln!(
                    text,
                    "      - {{empty: {empty:.3} g, filled: {filled:.3} g, volume: 10.00 mL}}"
                );
            }
        }
        (text + self.calibration, unknown)
    }
}

/// Of sodium chloride to 24 %, the published curvature at 20 °C is near this, (g/mL)/%².
const BRINE: f64 = 2.3e-5;

const NAMED: Bench = Bench {
    stock: 21.0,
    weighings: 1,
    dilutions: 3,
    bend: BRINE,
    solute: "sodium chloride",
    calibration: "",
};

fn reduction(text: &str) -> Reduction {
    reduced(text).reduction
}

/// In how many per cent of runs the interval holds the unknown, and in how many the points refuse the line.
fn rates(bench: Bench, runs: usize) -> (f64, f64) {
    let mut random = Generator(20);
    let (mut held, mut refused) = (0, 0);
    for _ in 0..runs {
        let (text, truth) = bench.run(&mut random);
        let (run, problems) = fillmark::bench::runfile::read("run.yaml", text.as_bytes());
        let run = run.unwrap_or_else(|| panic!("{problems:?}"));
        let reduction = fillmark::bench::reduce::reduce(&run).unwrap_or_else(|p| panic!("{p:?}"));
        let results = Results::new(&run, &reduction);
        let found = results.unknowns[0]
            .1
            .composition
            .mass_percent
            .as_ref()
            .unwrap();
        held += usize::from((found.value - truth).abs() <= found.expanded_uncertainty);
        refused += usize::from(reduction.calibration.unwrap().agreement.is_refused());
    }
    let per_cent = |count: usize| 100.0 * count as f64 / runs as f64;
    (per_cent(held), per_cent(refused))
}

#[test]
fn the_choice_follows_from_what_is_published() {
    let choice = |bench: Bench| {
        let found = reduction(&bench.run(&mut Generator(4)).0)
            .calibration
            .unwrap();
        (found.choice.key(), found.fitted.model)
    };
    let weak = Bench {
        stock: 2.0,
        bend: 0.0,
        ..NAMED
    };
    let few = |dilutions: usize, bench: Bench| Bench { dilutions, ..bench };
    for (what, bench, expected, model) in [
        ("strong", NAMED, "bends", Model::Quadratic),
        ("weak", weak, "straight enough", Model::Straight),
        (
            "not published",
            Bench {
                solute: SALT,
                ..weak
            },
            "bend not known",
            Model::Quadratic,
        ),
        ("three points", few(1, NAMED), "bends", Model::Quadratic),
        ("two points", few(0, NAMED), "no curve", Model::Straight),
        (
            "asked",
            Bench {
                calibration: "calibration: {line: straight}\n",
                ..weak
            },
            "asked",
            Model::Straight,
        ),
    ] {
        assert_eq!(choice(bench), (expected, model), "{what}");
    }
}

/// The choice does not shorten the interval: it holds the unknown about as often as it says.
#[test]
fn intervals_hold_the_unknown_whatever_the_strength() {
    for stock in [2.0, 8.0, 12.0, 21.0] {
        for dilutions in [0, 1, 3] {
            let bench = Bench {
                stock,
                dilutions,
                ..NAMED
            };
            let (held, _) = rates(bench, 250);
            assert!(held >= 91.0, "{stock} %, {dilutions} dilutions: {held} %");
        }
    }
}

/// Errors of composition and errors that points share are counted: a right line is refused in about one run in a hundred.
#[test]
fn straight_runs_are_seldom_refused() {
    for calibration in [
        "calibration: {line: straight}\n",
        "calibration: {line: straight, fit: ordinary}\n",
        "calibration: {line: straight, fit: weighted}\n",
    ] {
        let bench = Bench {
            weighings: 3,
            bend: 0.0,
            solute: SALT,
            calibration,
            ..NAMED
        };
        let (_, refused) = rates(bench, 400);
        assert!(refused <= 3.0, "{calibration}: {refused} %");
    }
    let text = crate::common::read(&crate::common::path(
        "tests/runs/straight_with_uncertain_flask.yaml",
    ));
    let calibration = reduction(&text).calibration.unwrap();
    assert!(
        !calibration.agreement.is_refused(),
        "{:?}",
        calibration.agreement
    );
}

#[test]
fn a_bend_left_out_is_stated_and_counted_unless_the_line_was_asked_for() {
    let mut solutions = curved(1);
    solutions.push(("bath", None, vec![1.06]));
    let with = |line: &str| results(&text(&solutions, "0.002", line));
    let straight = with("calibration: {line: straight}\n");
    assert_eq!(straight["calibration"]["choice"], "asked");
    assert!(flag(&straight, "line-departs").is_none(), "not refused");
    let path = "/unknowns/bath/departure";
    // Published densities of sodium chloride solutions at 20 °C to 20 % bend by some 1.2 mg/mL from a straight line.
    let departure = number(&straight, &format!("{path}/composition"));
    assert!((0.05..0.25).contains(&departure), "{departure}");
    assert_eq!(straight["unknowns"]["bath"]["departure"]["counted"], false);
    let curve = with("calibration: {line: curve}\n");
    assert!(
        curve["unknowns"]["bath"].get("departure").is_none(),
        "a curve follows it"
    );
    // Two points leave no other choice, and the bend between them is part of the uncertainty.
    let mut two = vec![solutions[0].clone(), solutions[4].clone()];
    two.push(("bath", None, vec![1.06]));
    let found = results(&text(&two, "0.0001", ""));
    assert_eq!(found["unknowns"]["bath"]["departure"]["counted"], true);
    let departure = number(&found, &format!("{path}/composition"));
    let u = number(&found, "/unknowns/bath/mass_percent/standard_uncertainty");
    assert!(
        departure > 0.1 && (departure..1.2 * departure).contains(&u),
        "{departure} {u}"
    );
}

#[test]
fn few_points_say_no_more_than_they_can() {
    for (dilutions, words) in [
        (0, "exactly through two points"),
        (1, "exactly through three points"),
    ] {
        let (text, _) = Bench { dilutions, ..NAMED }.run(&mut Generator(9));
        let said = said(&text);
        assert!(said.contains(words), "{dilutions}");
        for absent in ["confidence band", "χ²", "R²"] {
            assert!(!said.contains(absent), "{dilutions}: {absent}");
        }
    }
}

/// An interval that Monte Carlo does not confirm is replaced by its own, wherever the answer is given.
#[test]
fn an_unconfirmed_interval_is_not_the_headline() {
    let mut solutions = curved(1);
    solutions.push(("bath", None, vec![1.06]));
    let text = text(&solutions, "0.02", "calibration: {line: straight}\n");
    let mut run = reduced(&text);
    let before = run.headlines();
    run.check_by_monte_carlo(20_000);
    let check = run.monte_carlo.as_ref().unwrap();
    let of = |c: &&fillmark::bench::reduce::monte_carlo::CheckStated| {
        c.name == "bath" && c.quantity == "mass_percent"
    };
    let check = check.results.iter().find(of).unwrap();
    assert!(!check.validated, "{check:?}");
    let stated = run.results.unknowns[0]
        .1
        .composition
        .mass_percent
        .as_ref()
        .unwrap();
    assert_eq!(stated.monte_carlo_interval, Some([check.low, check.high]));
    let [low, high] = check.interval();
    let interval = format!("({low} to {high})");
    let after = run.headlines();
    assert!(
        after[0].contains(&interval) && !before[0].contains(&interval),
        "{after:?}"
    );
    let templates = fillmark::report::templates::Templates::default();
    let manuscript = fillmark::report::manuscript(&run.material(&text), &templates).unwrap();
    assert!(
        format!("{:?}", manuscript.blocks).contains(&interval),
        "page 1"
    );
    assert!(matches!(
        run.reduction.calibration.unwrap().choice,
        Choice::Asked
    ));
}

/// Ordinary least squares leave no mean and no trend among the residuals, however uncertain the abscissae are (textbook
/// property of the normal equations): there is nothing to test.
#[test]
fn what_a_fit_forces_on_the_residuals_is_not_tested() {
    let text = std::fs::read_to_string(path("sample_runs/teaching_bench_saline.yaml")).unwrap();
    let run = reduced(&text);
    let calibration = run.reduction.calibration.as_ref().expect("a calibration");
    let courses: Vec<&str> = calibration
        .agreement
        .patterns
        .iter()
        .map(|pattern| pattern.course.key())
        .collect();
    assert_eq!(courses, ["bend"]);
}
