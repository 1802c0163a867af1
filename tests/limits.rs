//! Limits, amounts to add and known compositions, by hand-worked and published examples (`published/conformity.json`).

use crate::cli::{ended, fillmark, folder, put};
use crate::common::{cases, close, id, number, numbers, path, read, reduced};
use crate::simulation::chance::Chance;
use crate::simulation::nature;
use fillmark::bench::fit::{rectangular_and_normal_below, student_t_below};
use fillmark::bench::reduce::Adding;
use fillmark::bench::reduce::coverage::probability_below;
use fillmark::bench::reduce::results::SolutionStated;
use fillmark::bench::worksheet::Uncertainty;
use fillmark::pipeline::{self, Run};
use fillmark::problem::Code;
use fillmark::report::templates::Templates;
use serde_json::Value;

/// A bath read from published densities, with its limits and the like.
fn bath(density: &str, more: &str) -> String {
    format!(
        "
title: A bath
date: 2026-03-19
analysts: R. Example
conditions: {{liquid: 20.0 ± 0.1 °C}}
solute: {{name: sodium chloride, purity: 99.0 %}}
solutions: {{bath: {{unknown: true}}}}
density:
  readings: {{bath: [{{density: {density}}}]}}
calibration: published
{more}"
    )
}

fn unknown(run: &Run) -> &SolutionStated {
    &run.results.unknowns[0].1
}

fn codes(density: &str, more: &str) -> Vec<Code> {
    let (run, problems) = pipeline::read("run.yaml", bath(density, more).as_bytes());
    assert!(run.is_none(), "{more}");
    problems.iter().map(|problem| problem.code).collect()
}

fn normal(standard: f64, dof: f64) -> Uncertainty {
    Uncertainty {
        standard,
        dof,
        leading: None,
        rectangular: 0.0,
        bias: 0.0,
    }
}

#[test]
fn probabilities_of_the_examples_of_jcgm_106() {
    let all = cases(include_str!("published/conformity.json"));
    let mut checked = 0;
    for case in &all {
        let (inputs, expected) = (&case["inputs"], &case["expected"]);
        let (Some(value), Some(u)) = (inputs["value"].as_f64(), inputs["u"].as_f64()) else {
            continue;
        };
        let dof = inputs["dof"].as_f64().unwrap_or(f64::INFINITY);
        let below = |limit: &Value| {
            let apart = limit.as_f64().map(|limit| limit - value);
            apart.map(|apart| probability_below(normal(u, dof), 0.95, apart))
        };
        let probability = below(&inputs["upper_limit"]).unwrap_or(1.0)
            - below(&inputs["lower_limit"]).unwrap_or(0.0);
        close(
            id(case),
            probability,
            number(expected, "probability_conforming"),
            1e-8,
            0.0,
        );
        if let Some(published) = expected["published"]["probability_conforming"].as_f64() {
            close(id(case), probability, published, 0.006, 0.0);
        }
        checked += 1;
    }
    assert_eq!(checked, 4, "a case was lost");
    let guarded = all
        .iter()
        .find(|c| id(c) == "conformity.guard-band.ilac")
        .unwrap();
    let chances = numbers(&guarded["expected"]["false_accept_at_limit"]);
    for (over_u, chance) in numbers(&guarded["inputs"]["guard_over_u"])
        .iter()
        .zip(chances)
    {
        // A value on the edge of the guard band: its quantity lies beyond the limit with this probability.
        let beyond = 1.0 - probability_below(normal(1.0, f64::INFINITY), 0.95, *over_u);
        close("guard band", beyond, chance, 1e-8, 0.0);
    }
    for case in all
        .iter()
        .filter(|c| id(c).starts_with("conformity.one-sided"))
    {
        let z = number(&case["expected"], "z");
        close(
            id(case),
            student_t_below(z, f64::INFINITY),
            number(&case["inputs"], "probability"),
            1e-8,
            0.0,
        );
    }
}

#[test]
fn an_interval_and_its_probability_go_by_one_distribution() {
    // Within ± U lies what the coverage probability says, for each of the distributions.
    for uncertainty in [
        normal(0.3, f64::INFINITY),
        normal(0.3, 5.0),
        Uncertainty {
            rectangular: 0.8,
            ..normal(0.3, f64::INFINITY)
        },
        Uncertainty {
            rectangular: 0.95,
            ..normal(0.3, 40.0)
        },
    ] {
        for coverage in [0.68, 0.95, 0.99] {
            let u = fillmark::bench::reduce::coverage::expanded(uncertainty, coverage);
            let below = |apart| probability_below(uncertainty, coverage, apart);
            let of = format!("both sides of {uncertainty:?} at {coverage}");
            close(&of, below(u) - below(-u), coverage, 1e-6, 0.0);
            close("the middle", below(0.0), 0.5, 1e-9, 0.0);
        }
    }
    // A rectangular error alone: straight between its ends.
    close(
        "a quarter",
        rectangular_and_normal_below(-0.5, 1.0, 0.0),
        0.25,
        1e-12,
        0.0,
    );
    close(
        "beyond",
        rectangular_and_normal_below(2.0, 1.0, 0.1),
        1.0,
        1e-9,
        0.0,
    );
}

#[test]
fn verdicts_by_each_rule() {
    // 1.1400 g/mL at 20 °C is 19.0 %, u about 0.05 %.
    let density = "1.1400 ± 0.0003 g/mL";
    for (limits, verdict, low, high) in [
        ("mass percent: 18.0 to 20.0 %", "within limits", 0.999, 1.0),
        ("mass percent: at least 18.0 %", "within limits", 0.999, 1.0),
        ("mass percent: at most 18.5 %", "outside", 0.0, 0.001),
        ("mass percent: 19.02 % to 20 %", "outside", 0.2, 0.5),
        (
            "mass percent: 18.9 to 20.0 %, rule: guarded acceptance",
            "undecided",
            0.9,
            1.0,
        ),
        (
            "mass percent: 18.5 to 20.0 %, rule: {guard_band: 0.3 %}",
            "within limits",
            0.999,
            1.0,
        ),
        (
            "mass percent: 18.5 to 20.0 %, rule: {guard_band: 0.7 %}",
            "undecided",
            0.999,
            1.0,
        ),
        (
            "mass concentration: at least 200 g/L, rule: simple acceptance",
            "within limits",
            0.999,
            1.0,
        ),
        (
            "mass concentration: at most 200 g/L, rule: {guard_band: 2 g/L}",
            "outside",
            0.0,
            0.001,
        ),
    ] {
        let run = reduced(&bath(density, &format!("limits: {{bath: {{{limits}}}}}")));
        let judged = &unknown(&run).limits[0];
        assert_eq!(judged.verdict, verdict, "{limits}: {judged:?}");
        let p = judged.probability_of_conformity;
        assert!((low..=high).contains(&p), "{limits}: {p}");
        let line = &run.headlines()[0];
        assert!(line.contains(verdict), "{line}");
    }
}

#[test]
fn limits_that_say_nothing_are_refused() {
    let density = "1.1400 ± 0.0003 g/mL";
    for (limits, code) in [
        ("mass percent: 20.0 to 18.0 %", Code::NotARange),
        (
            "mass percent: 18.0 to 20.0 %, rule: {guard_band: 1.0 %}",
            Code::NoRoomBetweenLimits,
        ),
        ("mass percent: about 18 %", Code::NotARange),
        (
            "mass percent: 18.0 ± 0.1 to 20.0 %",
            Code::LimitWithUncertainty,
        ),
        ("mass percent: 18 to 20", Code::UnknownUnit),
        ("mass percent: 18.0 to 20.0 g", Code::WrongDimension),
        (
            "mass percent: 18.0 to 20.0 %, rule: {guard_band: 2 g/L}",
            Code::WrongDimension,
        ),
        ("rule: simple acceptance", Code::MissingKey),
        (
            "mass percent: 18.0 to 20.0 %, rule: generous",
            Code::WrongShape,
        ),
    ] {
        let found = codes(density, &format!("limits: {{bath: {{{limits}}}}}"));
        assert!(
            found.contains(&code) && found.len() <= 2,
            "{limits}: {found:?}"
        );
    }
    assert_eq!(
        codes(density, "limits: {tub: {mass percent: 18 to 20 %}}"),
        [Code::UnknownSolution]
    );
}

#[test]
fn verdicts_are_right_as_often_as_they_say() {
    // Baths of strengths at random about a limit, as uncertain as is said: of those with a probability of conformity about p,
    // the part p conforms. The mean of p over all of them is the part that conforms, within what so many runs leave.
    const RUNS: u64 = 400;
    let (mut foretold, mut conforming, mut variance) = (0.0, 0.0, 0.0);
    for run in 0..RUNS {
        let mut chance = Chance::of(run, 77);
        let w = chance.between(17.7, 18.3);
        let error = chance.normal(0.3e-3) + chance.normal(0.5e-3);
        let density = nature::published(w / 100.0, 20.0 + chance.normal(0.1)) + error;
        let text = bath(
            &format!("{density:.5} ± 0.0005 g/mL"),
            "limits: {bath: {mass percent: at least 18.0 %}}",
        );
        let p = unknown(&reduced(&text)).limits[0].probability_of_conformity;
        foretold += p;
        variance += p * (1.0 - p);
        conforming += f64::from(u8::from(w >= 18.0));
    }
    // Bayes with a flat prior about the limit: three standard deviations are left.
    let room = 3.0 * f64::sqrt(variance);
    close("conforming", conforming, foretold, room, 0.0);
}

#[test]
fn salt_and_water_by_a_balance_of_masses() {
    // By hand: 1200 L of 1.1400 g/mL are 1368 kg. At w = 18.98 % (by the published density) 19.5 % takes
    // 1368 (19.5 − w)/(99.0 − 19.5) kg of salt of 99.0 %, and 18.0 % takes 1368 (w − 18.0)/18.0 kg of water, of 0.998207 kg/L.
    let text = |to: &str| {
        bath(
            "1.1400 ± 0.0003 g/mL",
            &format!("adjust: {{bath: {{to: {to}, volume: 1200 ± 10 L}}}}"),
        )
    };
    let run = reduced(&text("19.5 %"));
    let found = unknown(&run);
    let w = found.composition.mass_percent.as_ref().unwrap();
    let adjustment = found.adjustment.as_ref().unwrap();
    close("mass", adjustment.mass.value, 1368.0, 1e-9, 0.0);
    close(
        "u of the mass",
        adjustment.mass.standard_uncertainty,
        11.406,
        0.001,
        0.0,
    );
    assert_eq!(adjustment.add, Adding::Salt);
    let salt = 1368.0 * (19.5 - w.value) / (99.0 - 19.5);
    close("salt", adjustment.amount.value, salt, 1e-9, 0.0);
    // The strength leads: 1368 kg / 79.5 % for each per cent; the volume adds its own part.
    let u = (1368.0 / 79.5 * w.standard_uncertainty).hypot(salt * 10.0 / 1200.0);
    close(
        "u of the salt",
        adjustment.amount.standard_uncertainty,
        u,
        0.01,
        0.0,
    );
    assert!(!adjustment.within_uncertainty && adjustment.volume.is_none());
    let run = reduced(&text("18.0 %"));
    let adjustment = unknown(&run).adjustment.clone().unwrap();
    assert_eq!(adjustment.add, Adding::Water);
    let water = 1368.0 * (w.value - 18.0) / 18.0;
    close("water", adjustment.amount.value, water, 1e-9, 0.0);
    close(
        "its volume",
        adjustment.volume.unwrap().value,
        water / 0.998_207,
        1e-4,
        0.0,
    );
    // Nothing that can be told.
    let run = reduced(&text("19.0 %"));
    assert!(
        unknown(&run)
            .adjustment
            .as_ref()
            .unwrap()
            .within_uncertainty
    );
}

#[test]
fn balances_of_masses_by_other_code() {
    let all = cases(include_str!("published/brine_strength.json"));
    let meant = all
        .iter()
        .filter(|c| id(c).starts_with("mix.invented") && c["inputs"]["w1"].is_number());
    let mut checked = 0;
    for case in meant {
        let (inputs, expected) = (&case["inputs"], &case["expected"]);
        let Some(density) = expected["density1_kg_m3"].as_f64() else {
            continue;
        };
        // Its density at 18 °C is that of water by Tanaka; the relation has Kell's, which is lighter.
        if number(inputs, "w1") == 0.0 {
            continue;
        }
        let salt = match inputs["salt"].as_str() {
            Some("KCl") => "potassium chloride",
            _ => "sodium chloride",
        };
        let text = bath(
            &format!("{density} ± 0.1 kg/m³"),
            &format!(
                "adjust: {{bath: {{to: {} %, volume: {} L}}}}",
                100.0 * number(inputs, "w2"),
                number(inputs, "V_L")
            ),
        )
        .replace("{name: sodium chloride, purity: 99.0 %}", salt)
        .replace("20.0 ± 0.1", &format!("{} ± 0.1", number(inputs, "t_C")));
        let run = reduced(&text);
        let adjustment = unknown(&run).adjustment.as_ref().unwrap();
        close(
            id(case),
            adjustment.mass.value,
            number(expected, "mass1_kg"),
            0.0,
            2e-6,
        );
        let key = format!("{}_kg", adjustment.add.words());
        close(
            id(case),
            adjustment.amount.value,
            number(expected, &key),
            0.0,
            2e-5,
        );
        checked += 1;
    }
    assert_eq!(checked, 4, "a case was lost");
}

#[test]
fn wishes_that_cannot_be_are_told() {
    let density = "1.1400 ± 0.0003 g/mL";
    let adjust = |wish: &str| codes(density, &format!("adjust: {{bath: {{{wish}}}}}"));
    assert_eq!(
        adjust("to: 28.0 %, volume: 1200 L"),
        [Code::BeyondSaturation]
    );
    assert_eq!(adjust("to: 0 %, volume: 1200 L"), [Code::OutOfRange]);
    assert_eq!(adjust("to: 19.0 %"), [Code::MissingKey]);
    assert_eq!(
        adjust("to: 19.0 %, volume: 1200 kg"),
        [Code::WrongDimension]
    );
    let text =
        bath(density, "adjust: {bath: {to: 25.0 %, volume: 1200 L}}").replace("99.0 %", "22 %");
    let (_, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert_eq!(problems[0].code, Code::SaltTooWeak, "{problems:?}");
}

#[test]
fn known_compositions_by_hand() {
    // 0.10 % apart, U = 0.098 % known (k = 1.96): En = 0.10/√(U² + 0.098²).
    let density = "1.1400 ± 0.0003 g/mL";
    let plain = reduced(&bath(density, ""));
    let w = unknown(&plain).composition.mass_percent.clone().unwrap();
    let reference = w.value - 0.10;
    let known = format!("known: {{bath: {{mass percent: {reference:.6} ± 0.05 %}}}}");
    let run = reduced(&bath(density, &known));
    let beside = &unknown(&run).known[0];
    close("difference", beside.difference.value, 0.10, 1e-5, 0.0);
    close(
        "in per cent",
        beside.difference_percent,
        10.0 / reference,
        1e-3,
        0.0,
    );
    let u = w.expanded_uncertainty.hypot(1.959_964 * 0.05);
    close("En", beside.en.unwrap(), 0.10 / u, 1e-4, 0.0);
    let u = w.standard_uncertainty.hypot(0.05);
    close(
        "u of the difference",
        beside.difference.standard_uncertainty,
        u,
        1e-9,
        0.0,
    );
}

#[test]
fn a_copy_for_others_holds_no_known_composition() {
    let folder = folder("without_known");
    let text = read(&path("tests/runs/limits.yaml"));
    put(&folder, "limits.yaml", &text);
    let copy = ["report", "limits.yaml", "--without-known"];
    let (_, err) = ended(&fillmark(&folder, &copy), 2);
    assert!(err.contains("name it with"), "{err}");
    let (out, _) = ended(
        &fillmark(&folder, &[&copy[..], &["--pdf", "copy.pdf"]].concat()),
        0,
    );
    assert!(!out.contains("known"), "{out}");
    ended(
        &fillmark(&folder, &["extract", "copy.pdf", "--into", "out"]),
        0,
    );
    let carried = read(&folder.join("out/limits.yaml"));
    let section = "known:\n  mystery: {mass percent: 7.00 ± 0.05 %}\n";
    assert_eq!(
        carried,
        text.replace(section, "\n\n"),
        "the lines keep their numbers"
    );
    assert!(text.contains(section));
    // In braces, or on a line with others, it cannot be told apart from them.
    let in_braces = "{title: Bath, known: {mystery: {mass percent: 7 %}}}";
    put(&folder, "braces.yaml", in_braces);
    let arguments = ["report", "braces.yaml", "--without-known", "--pdf", "c.pdf"];
    let (_, err) = ended(&fillmark(&folder, &arguments), 1);
    assert!(err.contains("section-not-apart"), "{err}");
}

#[test]
fn every_form_of_the_report_tells_verdict_amount_and_difference() {
    let text = read(&path("tests/runs/limits.yaml"));
    let run = reduced(&text);
    let folder = folder("limits_forms");
    put(&folder, "limits.yaml", &text);
    ended(
        &fillmark(
            &folder,
            &[
                "report",
                "limits.yaml",
                "--also",
                "html",
                "--also",
                "markdown",
            ],
        ),
        0,
    );
    let first_page = |templates: &Templates| {
        let (pdf, _) = run.report(text.as_bytes(), templates).expect("a report");
        let document = lopdf::Document::load_mem(&pdf).expect("a PDF file");
        let page = document.extract_text(&[1]).expect("its text");
        page.split_whitespace().collect::<String>()
    };
    let summary = Templates::shipped("summary").expect("the set");
    let forms = [
        first_page(&Templates::default()),
        first_page(&summary),
        read(&folder.join("limits.html")),
        read(&folder.join("limits.md")),
    ];
    let bare = |text: &str| {
        let tags = text
            .split('<')
            .map(|part| part.split_once('>').map_or(part, |(_, text)| text));
        let kept = |c: &char| !c.is_whitespace() && !matches!(c, '*' | '\u{a0}');
        tags.collect::<String>()
            .chars()
            .filter(kept)
            .collect::<String>()
    };
    for (form, text) in forms.iter().enumerate() {
        let text = if form < 2 { text.clone() } else { bare(text) };
        for told in [
            "within limits",
            "outside",
            "probability of conformity",
            "11.7 ± 1.8 kg of salt",
            "103.5 ± 5.7 kg of water",
            "0.21 ± 0.15 %",
            "does not agree",
        ] {
            let told: String = told.split_whitespace().collect();
            assert!(text.contains(&told), "form {form} does not tell {told}");
        }
    }
}
