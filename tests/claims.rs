//! Results calculated by hand, judged.

use crate::common::{path, read};
use crate::simulation::claims::{Mistake, marked};
use crate::simulation::judge::each;
use fillmark::bench::claims::{DigitsJudged, Judged, Judgement, MistakeKind};
use fillmark::bench::quantity::Unit;
use fillmark::bench::worksheet::{Instead, Recalculation, Source};
use fillmark::pipeline;
use std::collections::BTreeMap;

#[test]
fn right_work_is_judged_right() {
    for student in each(0, 60, |run| marked(run, None)) {
        assert_eq!(
            student.departing, 0,
            "{}\n{:#?}",
            student.text, student.judged
        );
    }
}

#[test]
fn the_usual_mistakes_are_told_and_counted_once() {
    let mut shares: BTreeMap<String, [usize; 3]> = BTreeMap::new();
    let mut missed = String::new();
    for (number, mistake) in Mistake::all().into_iter().enumerate() {
        let students = each(1000 + 10 * number as u64, 2, |run| {
            marked(run, Some(mistake))
        });
        for student in students {
            if !student.changed {
                continue;
            }
            let [all, told, once] = shares.entry(mistake.word()).or_default();
            *all += 1;
            *told += usize::from(student.told);
            *once += usize::from(student.departing <= 1);
            if !student.told || student.departing > 1 {
                missed += &format!(
                    "{mistake:?}: told {}, {} depart; ",
                    student.told, student.departing
                );
            }
        }
    }
    println!("{shares:#?}");
    for (kind, [all, told, once]) in shares {
        assert!(
            100 * told >= 95 * all,
            "{kind}: {told} of {all} told\n{missed}"
        );
        assert!(
            100 * once >= 95 * all,
            "{kind}: {once} of {all} once\n{missed}"
        );
    }
}

/// The run calculated by hand, with another text in place of one.
fn by_hand(was: &str, is: &str) -> Vec<Judged> {
    let text = read(&path("tests/runs/by_hand.yaml"));
    assert!(text.contains(was), "{was}");
    let text = text.replacen(was, is, 1);
    let (run, problems) = pipeline::read("by_hand.yaml", text.as_bytes());
    run.unwrap_or_else(|| panic!("{problems:#?}")).claims
}

fn at<'j>(claims: &'j [Judged], step: &str) -> &'j Judged {
    let found = claims.iter().find(|judged| judged.step == step);
    found.unwrap_or_else(|| panic!("{step} in {claims:#?}"))
}

#[test]
fn a_mistake_counts_once() {
    let claims = by_hand("title", "title");
    let judgements: Vec<(&str, Judgement)> = claims
        .iter()
        .map(|judged| (judged.step.as_str(), judged.judgement))
        .collect();
    let expected = [
        ("density of A, weighing 1", Judgement::Correct),
        ("density of water", Judgement::Correct),
        ("density of A", Judgement::Correct),
        ("density of B", Judgement::Correct),
        ("density of mystery", Judgement::Correct),
        ("mass of salt in A", Judgement::Correct),
        // The purity is uncertain by more than it takes away.
        ("mass concentration of A", Judgement::WithinUncertainty),
        ("mass percent of A", Judgement::CarriedForward),
        ("mass concentration of B", Judgement::Incorrect),
        ("mass percent of B", Judgement::CarriedForward),
    ];
    assert_eq!(judgements[..expected.len()], expected);
    let named = |step: &str| -> Vec<MistakeKind> {
        let mistakes = at(&claims, step).mistakes.iter();
        mistakes.map(|mistake| mistake.kind).collect()
    };
    assert_eq!(
        named("mass concentration of A"),
        [MistakeKind::PurityLeftOut]
    );
    assert_eq!(
        named("mass concentration of B"),
        [MistakeKind::DilutionInverted]
    );
    assert_eq!(named("mass percent of B"), []);
}

#[test]
fn digits_are_judged_apart() {
    let digits = |density: &str| {
        let claims = by_hand("A: 1.0647 g/mL", &format!("A: {density} g/mL"));
        let judged = at(&claims, "density of A");
        (judged.judgement, judged.digits)
    };
    // Its expanded uncertainty is a few units of the third decimal.
    let right = |digits| (Judgement::Correct, Some(digits));
    assert_eq!(digits("1.065"), right(DigitsJudged::Adequate));
    assert_eq!(digits("1.0646"), right(DigitsJudged::Adequate));
    assert_eq!(digits("1.06465"), right(DigitsJudged::TooMany));
    assert_eq!(digits("1.06"), right(DigitsJudged::TooFew));
}

#[test]
fn points_are_for_what_is_right_or_follows() {
    let claims = by_hand("title", "title");
    let points = |step: &str| {
        let awarded = at(&claims, step).awarded.expect("points");
        (awarded.points, awarded.of)
    };
    let near = |found: (f64, f64), wanted: (f64, f64)| {
        (found.0 - wanted.0).abs() < 1e-9 && (found.1 - wanted.1).abs() < 1e-9
    };
    // Two for a mass percent, half a point for its digits.
    assert!(near(points("mass percent of A"), (2.5, 2.5)));
    assert!(near(points("mass concentration of B"), (0.5, 2.5)));
}

#[test]
fn what_is_not_calculated_cannot_be_claimed() {
    for (claim, of) in [
        ("mass of salt: {water: 5.001 g}", "mass of salt in water"),
        (
            "densities: {\"A, weighing 3\": 1.06 g/mL}",
            "density of A, weighing 3",
        ),
        ("mass percent: {water: 0 %}", "mass percent of water"),
    ] {
        let text = read(&path("tests/runs/by_hand.yaml"));
        let claims = text.find("claimed:").expect("claims");
        let text = format!("{}claimed: {{{claim}}}\n", &text[..claims]);
        let (run, problems) = pipeline::read("by_hand.yaml", text.as_bytes());
        assert!(run.is_none(), "{claim}");
        assert!(problems[0].headline.contains(of), "{problems:#?}");
        assert!(problems[0].span.is_some(), "{problems:#?}");
    }
}

#[test]
fn so_many_results_can_be_claimed() {
    let text = read(&path("tests/runs/by_hand.yaml"));
    let claims = text.find("claimed:").expect("claims");
    let many = |count: usize| {
        let made = "{aliquot: {of: A, volume: 10.00 mL, with: small pipette}, made_up: {to: 100 mL, in: dilution flask}}";
        let lines =
            |line: &dyn Fn(usize) -> String| (0..count).map(line).collect::<Vec<_>>().concat();
        let solutions = lines(&|i| format!("  S{i}: {made}\n"));
        let claimed = lines(&|i| format!("    S{i}: 11.1 g/L\n"));
        let text = text[..claims].replacen("  mystery:", &(solutions + "  mystery:"), 1);
        let text = format!("{text}claimed:\n  mass concentration:\n{claimed}");
        pipeline::read("by_hand.yaml", text.as_bytes())
    };
    let (run, problems) = many(200);
    assert_eq!(
        run.unwrap_or_else(|| panic!("{problems:#?}")).claims.len(),
        200
    );
    let (run, problems) = many(201);
    assert!(run.is_none());
    assert_eq!(problems[0].headline, "More than 200 results are claimed.");
}

#[test]
fn blanks_are_not_claimed() {
    assert!(
        by_hand("A: 1.0647 g/mL", "A: ")
            .iter()
            .all(|judged| judged.step != "density of A")
    );
}

#[test]
fn worksheets_evaluate_again_what_they_evaluated() {
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let (run, problems) = pipeline::read("bath.yaml", text.as_bytes());
    let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
    let ws = &run.reduction.worksheet;
    let again = Recalculation::new(ws);
    // Temperatures act through effects that are neglected, too, whose values stay zero.
    let is_reading = |unit: &Unit| [Unit::GRAM, Unit::MILLILITRE].contains(unit);
    let inputs = ws
        .nodes()
        .filter(|(_, node)| matches!(node.source, Source::Input(_)));
    let inputs = inputs.filter(|(_, node)| is_reading(node.unit));
    for (input, node) in inputs {
        let uncertainty = ws.uncertainty(input).standard;
        let step = if uncertainty > 0.0 {
            1e-3 * uncertainty
        } else {
            continue;
        };
        for solution in &run.reduction.solutions {
            let composition = &solution.composition;
            let density = solution.density.as_ref().map(|density| density.density);
            for result in composition.mass_percent.into_iter().chain(density) {
                let at =
                    |value: f64| again.values(&[result], &Instead::from([(input, value)]), None)[0];
                let close =
                    |a: f64, b: f64, size: f64| (a - b).abs() <= 1e-9 * size.abs().max(1e-3);
                assert!(close(at(node.value), ws.value(result), ws.value(result)));
                // Results change as their sensitivities say.
                let sensitivity = ws.sensitivities(result).iter();
                let sensitivity = sensitivity.filter(|(source, _)| *source == input);
                let sensitivity: f64 = sensitivity.map(|(_, c)| c).sum();
                let moved = at(node.value + step) - at(node.value - step);
                let expected = 2.0 * step * sensitivity;
                assert!(
                    (moved - expected).abs() <= 1e-3 * expected.abs() + 1e-11,
                    "{} by {}: {moved} and not {expected}",
                    ws.node(result).name,
                    node.name
                );
            }
        }
    }
}
