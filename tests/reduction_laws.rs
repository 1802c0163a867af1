//! Laws that every reduction obeys, on the run files there are and on generated ones.

use crate::common::{close, good_runs, reduced, results, solution};
use crate::generated_runs::{Plan, Weighing, Written};
use fillmark::bench::quantity::Unit;
use fillmark::bench::reduce::Preparation;
use fillmark::bench::worksheet::{Expr, NodeId, Title, Worksheet};
use fillmark::pipeline::Run;
use std::collections::{BTreeMap, BTreeSet};

/// Unit of the salt taken: g/L times mL.
const MILLIGRAM: Unit = Unit::derived("mg", &[(Unit::GRAM_PER_LITRE, 1), (Unit::MILLILITRE, 1)]);

/// Seeds of the generated runs.
pub(crate) const SEEDS: std::ops::RangeInclusive<u64> = 101..=112;

/// Run files by name: all there are, and generated ones.
fn runs() -> Vec<(String, String)> {
    let generated = SEEDS.map(|seed| {
        (
            format!("seed {seed}"),
            Plan::generated(seed).text("generalised"),
        )
    });
    good_runs().into_iter().chain(generated).collect()
}

fn difference(ws: &mut Worksheet, a: impl Into<Expr>, b: NodeId) -> (f64, f64) {
    let a: Expr = a.into();
    let title = Title::new("difference", "d", ws.node(b).unit);
    let id = ws.calculate(title, a - b);
    (ws.value(id), ws.uncertainty(id).standard)
}

/// Two results are one when their difference is zero with no uncertainty left.
#[track_caller]
fn same(ws: &mut Worksheet, what: &str, a: impl Into<Expr>, b: NodeId) {
    let (size, u) = (ws.value(b).abs(), ws.uncertainty(b).standard);
    let (value, left) = difference(ws, a, b);
    close(
        &format!("{what}: the difference"),
        value,
        0.0,
        1e-13 * size,
        0.0,
    );
    close(
        &format!("{what}: its uncertainty"),
        left,
        0.0,
        1e-12 * u,
        0.0,
    );
}

/// Values and standard uncertainties by name.
fn table(run: &Run) -> BTreeMap<String, (f64, f64)> {
    let ws = &run.reduction.worksheet;
    results(&run.reduction)
        .into_iter()
        .map(|(name, id)| (name, (ws.value(id), ws.uncertainty(id).standard)))
        .collect()
}

#[track_caller]
fn unchanged(what: &str, before: &Run, after: &Run, relative: f64) {
    let (before, after) = (table(before), table(after));
    assert_eq!(
        before.keys().collect::<Vec<_>>(),
        after.keys().collect::<Vec<_>>(),
        "{what}"
    );
    for (name, (value, u)) in &before {
        let (new_value, new_u) = after[name];
        close(
            &format!("{what}: {name}"),
            new_value,
            *value,
            relative * u,
            relative,
        );
        close(
            &format!("{what}: u of {name}"),
            new_u,
            *u,
            0.0,
            relative.max(1e-9),
        );
    }
}

#[test]
fn covariance_is_symmetric_and_bounded() {
    for (name, text) in runs() {
        let run = reduced(&text);
        let ws = &run.reduction.worksheet;
        let all = results(&run.reduction);
        for (a, ia) in &all {
            let u = ws.uncertainty(*ia).standard;
            close(
                &format!("{name}: {a} with itself"),
                ws.covariance(*ia, *ia),
                u * u,
                0.0,
                1e-12,
            );
            for (b, ib) in &all {
                let (one, other) = (ws.covariance(*ia, *ib), ws.covariance(*ib, *ia));
                let size = u * ws.uncertainty(*ib).standard;
                close(
                    &format!("{name}: {a} with {b}"),
                    one,
                    other,
                    1e-14 * size,
                    0.0,
                );
                assert!(
                    one.abs() <= size * (1.0 + 1e-12),
                    "{name}: {a} with {b}: {one} above {size}"
                );
            }
        }
    }
}

#[test]
fn a_result_differs_from_itself_by_nothing() {
    for (name, text) in runs() {
        let run = reduced(&text);
        let mut ws = run.reduction.worksheet.clone();
        let m = run.reduction.molar_mass;
        let percent = || Expr::conversion(&Unit::ONE, &Unit::PERCENT);
        let per_litre = || Expr::conversion(&Unit::LITRE, &Unit::MILLILITRE);
        let per_kilogram = || Expr::conversion(&Unit::KILOGRAM, &Unit::GRAM);
        for (what, id) in results(&run.reduction) {
            same(&mut ws, &format!("{name}: {what}"), id, id);
        }
        // Along another way too: each scale from the others.
        for s in &run.reduction.solutions {
            let c = &s.composition;
            let what = format!("{name}: {}", s.name);
            if let (Some(amount), Some(gamma)) = (c.molarity, c.mass_concentration) {
                same(&mut ws, &what, Expr::from(amount) * m, gamma);
            }
            if let (Some(w), Some(gamma), Some(d)) =
                (c.mass_percent, c.mass_concentration, &s.density)
            {
                let rho = d.at_reference.map_or(d.density, |at| at.density);
                same(&mut ws, &what, per_litre() / percent() * w * rho, gamma);
            }
            if let (Some(w), Some(b)) = (c.mass_percent, c.molality) {
                let salt = || Expr::from(b) * m;
                same(
                    &mut ws,
                    &what,
                    percent() * salt() / (per_kilogram() + salt()),
                    w,
                );
            }
        }
    }
}

/// The unknown error of an instrument on the worksheet.
fn error_of(ws: &Worksheet, apparatus: &str) -> NodeId {
    let name = format!("error of {apparatus}");
    let found = ws.nodes().find(|(_, node)| node.name == name);
    found.unwrap_or_else(|| panic!("no {name}")).0
}

#[test]
fn a_dilution_conserves_salt() {
    let mut dilutions = 0;
    for seed in SEEDS {
        let run = reduced(&Plan::generated(seed).text("ordinary"));
        let mut ws = run.reduction.worksheet.clone();
        let (pipette, flask) = (
            error_of(&ws, "twenty pipette"),
            error_of(&ws, "dilution flask"),
        );
        for s in &run.reduction.solutions {
            let Preparation::Dilution {
                of,
                deliveries,
                volume,
            } = &s.preparation
            else {
                continue;
            };
            let parent = run.reduction.solutions[*of]
                .composition
                .mass_concentration
                .expect("a concentration");
            let child = s.composition.mass_concentration.expect("a concentration");
            let taken = deliveries
                .iter()
                .map(|d| Expr::from(*d) + pipette)
                .collect();
            let into = Expr::from(child) * (Expr::from(*volume) + flask);
            let out = ws.calculate(
                Title::new("salt taken", "n", &MILLIGRAM),
                Expr::from(parent) * Expr::Sum(taken),
            );
            same(&mut ws, &format!("seed {seed}: {}", s.name), into, out);
            dilutions += 1;
        }
    }
    assert_eq!(dilutions, 5 * 12, "dilutions were lost");
}

#[test]
fn four_deliveries_share_the_error_of_their_pipette() {
    let with = |deliveries: &str| {
        let text = format!(
            "title: Deliveries\ndate: 2026-01-05\nanalysts: [R. Example]\nconditions: {{liquid: 20.0000 °C}}\n\
             solute: sodium chloride\napparatus:\n  five: {{kind: pipette, capacity: 5 mL, tolerance: 0.03 mL}}\n\
             solutions:\n  A: {{weighed: {{mass: 50.00 ± 0.01 g}}, made_up: {{to: 250 ± 0.1 mL}}}}\n  \
             B: {{aliquot: {{of: A, volume: {deliveries}, with: five}}, made_up: {{to: 100 ± 0.05 mL}}}}\n"
        );
        let run = reduced(&text);
        let ws = &run.reduction.worksheet;
        let relative = |name: &str| {
            let id = solution(&run, name)
                .composition
                .mass_concentration
                .expect("a concentration");
            ws.uncertainty(id).standard / ws.value(id)
        };
        // What is left when stock and flask are taken off: the aliquot's own relative variance, times (20 mL)².
        let rest = relative("B").powi(2) - relative("A").powi(2) - (0.05_f64 / 100.0).powi(2);
        rest * 20.0 * 20.0
    };
    let u = 0.03 / 6f64.sqrt();
    close("shared, mL²", with("4 × 5.00 mL"), 16.0 * u * u, 0.0, 1e-9);
    close(
        "shared, mL²",
        with("[5.00, 5.00, 5.00, 5.00]"),
        16.0 * u * u,
        0.0,
        1e-9,
    );
    let apart = "[5.00 ± 0.01, 5.00 ± 0.01, 5.00 ± 0.01, 5.00 ± 0.01]";
    close(
        "each with its own, mL²",
        with(apart),
        4.0 * 0.01 * 0.01,
        0.0,
        1e-9,
    );
}

#[test]
fn a_weighing_left_out_changes_no_result() {
    for seed in SEEDS {
        let plan = Plan::generated(seed);
        let before = reduced(&plan.text("generalised"));
        for at in 0..plan.solutions.len() {
            let mut more = plan.clone();
            let Some(first) = more.solutions[at].weighings.first().cloned() else {
                continue;
            };
            let wrong = Written::new(first.filled.value() + 0.7, 3);
            let extra = Weighing {
                filled: wrong,
                left_out: true,
                ..first
            };
            more.solutions[at].weighings.insert(0, extra);
            let after = reduced(&more.text("generalised"));
            unchanged(&format!("seed {seed}, {at}"), &before, &after, 0.0);
        }
    }
}

#[test]
fn the_order_of_solutions_changes_no_result() {
    for seed in SEEDS {
        let plan = Plan::generated(seed);
        for fit in ["ordinary", "weighted", "generalised"] {
            let before = reduced(&plan.text(fit));
            let backward: Vec<usize> = (0..plan.solutions.len()).rev().collect();
            let after = reduced(&plan.text_in_order(fit, &backward));
            unchanged(&format!("seed {seed}, {fit}"), &before, &after, 1e-9);
        }
    }
}

/// The text with every number before a unit written in another one, `shift` decimal places away.
fn in_unit(text: &str, unit: &str, other: &str, shift: i32) -> (String, usize) {
    let mut out = String::new();
    let mut rest = text;
    let mut changed = 0;
    let sought = format!(" {unit}");
    while let Some(at) = rest.find(&sought) {
        let (before, after) = rest.split_at(at);
        let after = &after[sought.len()..];
        let digits = before.len()
            - before
                .trim_end_matches(|c: char| c.is_ascii_digit() || c == '.')
                .len();
        let (head, number) = before.split_at(before.len() - digits);
        let ends = !after.starts_with(|c: char| c.is_alphanumeric() || c == '/');
        out += head;
        // A number with `±` before it shares the unit with the one before: both are written anew, or neither.
        if digits > 0 && ends && !head.ends_with("± ") && !head.ends_with("× ") {
            out += &format!("{}e{shift} {other}", number.trim_end_matches('.'));
            changed += 1;
        } else {
            out += number;
            out += &sought;
        }
        rest = after;
    }
    (out + rest, changed)
}

#[test]
fn units_change_no_result() {
    for (name, text) in runs() {
        let before = reduced(&text);
        for (unit, other, shift) in [
            ("g", "mg", 3),
            ("g", "kg", -3),
            ("mL", "L", -3),
            ("mL", "µL", 3),
        ] {
            let mut words = text.split(|c: char| c.is_whitespace() || "{}[](),".contains(c));
            let met = words.any(|word| word == unit);
            let (text, changed) = in_unit(&text, unit, other, shift);
            assert!(changed > 0 || !met, "{name}: nothing was in {unit}");
            unchanged(
                &format!("{name} in {other}"),
                &before,
                &reduced(&text),
                1e-9,
            );
        }
    }
}

/// A symbol means one thing in one run, so that its appendix can be followed. (A reading, and the reading with its
/// instrument's error, are told apart by no name.)
#[test]
fn a_symbol_stands_for_one_quantity() {
    for (name, text) in runs() {
        let run = reduced(&text);
        let mut meanings: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
        for (_, node) in run.reduction.worksheet.nodes() {
            meanings
                .entry(node.symbol.whole().tex())
                .or_default()
                .insert(&node.name);
        }
        for (symbol, meanings) in meanings {
            assert!(
                meanings.len() == 1,
                "{name}: {symbol} stands for {meanings:?}"
            );
        }
    }
}
