//! Plans: what is foretold is what the report of a run that follows the plan says; laws; wishes that cannot be met.

use crate::cli::{ended, fillmark, folder};
use crate::common::{files, path, read};
use fillmark::bench::plan::{Proposal, propose, text};
use fillmark::bench::runfile;
use fillmark::pipeline;
use fillmark::problem::code::Place;
use fillmark::problem::{Code, Problem, Rendering, Severity, Sources, render};
use std::collections::BTreeMap;
use std::fmt::Write as _;

fn sample() -> String {
    read(&path("sample_runs/plans/teaching_bench.yaml"))
}

/// Proposes, or says what is wrong.
fn tried(name: &str, text: &str) -> Result<Proposal, Vec<Problem>> {
    let (plan, problems) = runfile::read_plan(name, text.as_bytes());
    propose(&plan.ok_or(problems)?)
}

#[track_caller]
fn proposed(text: &str) -> Proposal {
    tried("plan.yaml", text).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// The plan of the sample with some of it replaced.
#[track_caller]
fn with(changes: &[(&str, &str)]) -> String {
    let mut text = sample();
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in the sample");
        text = text.replace(from, to);
    }
    text
}

/// A run file filled in: at each blank what stands at the same entry of another.
fn filled(blank: &str, expected: &str) -> String {
    let (run, problems) = runfile::read("run.yaml", expected.as_bytes());
    let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
    let values: BTreeMap<&str, &str> = run
        .entries
        .iter()
        .map(|at| (at.entry.name.as_str(), at.value.as_str()))
        .collect();
    let (_, problems) = runfile::read("run.yaml", blank.as_bytes());
    let mut lines: Vec<Vec<char>> = blank.lines().map(|line| line.chars().collect()).collect();
    let mut places: Vec<(usize, usize, &str)> = problems
        .iter()
        .map(|problem| {
            assert_eq!(problem.code, Code::Blank, "{problem:?}");
            let span = problem.span.as_ref().expect("a place");
            let value = values
                .get(problem.entry.as_str())
                .or_else(|| values.get(format!("{}.1", problem.entry).as_str()));
            let value = value.unwrap_or_else(|| panic!("nothing is expected at {}", problem.entry));
            (span.line - 1, span.column - 1 + span.length, *value)
        })
        .collect();
    places.sort_unstable();
    for (line, column, value) in places.into_iter().rev() {
        assert_eq!(lines[line][column], ':', "a key");
        let value: Vec<char> = format!(" {value}").chars().collect();
        lines[line].splice(column + 1..=column, value);
    }
    let lines: Vec<String> = lines
        .into_iter()
        .map(|line| line.into_iter().collect())
        .collect();
    lines.join("\n") + "\n"
}

/// The uncertainties foretold are, to the digits printed, those of the run that follows the plan.
#[track_caller]
fn holds_its_word(plan: &str, against: &str) {
    let proposal = proposed(plan);
    assert_eq!(proposal.expected.len(), proposal.unknown.len());
    for (expected, foretold) in proposal.expected.iter().zip(&proposal.unknown) {
        let run = filled(&proposal.run, expected);
        let (run, problems) = pipeline::read("run.yaml", run.as_bytes());
        let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
        assert!(problems.is_empty(), "{problems:#?}");
        let results = serde_json::from_str::<serde_json::Value>(&run.results_json().unwrap())
            .expect("results are JSON");
        let (_, unknown) = results["unknowns"]
            .as_object()
            .unwrap()
            .iter()
            .next()
            .unwrap();
        assert_eq!(unknown[against]["shown"], foretold.shown, "the unknown");
        // Those of the solutions are foretold of the run whose unknown is in the middle of its range.
        if foretold != &proposal.unknown[1] {
            continue;
        }
        for solution in &proposal.solutions {
            let found = &results["solutions"][&solution.name];
            let name = &solution.name;
            assert_eq!(found["density"]["shown"], solution.density, "{name}");
            assert_eq!(found[against]["shown"], solution.strength, "{name}");
        }
    }
}

#[test]
fn a_run_that_follows_the_plan_has_the_uncertainties_foretold() {
    holds_its_word(&sample(), "mass_percent");
    // From a stock, in deliveries of a burette, on another scale, with a thermometer and quoted names.
    let other = with(&[
        (
            "A: {mass percent: 10 %, volume: 200 mL}",
            "\"1: strong\": {molarity: 1.8 mol/L, volume: 100 mL}",
        ),
        ("B: {mass percent: 5 %", "B: {molarity: 0.9 mol/L"),
        ("C: {mass percent: 2 %", "C: {molarity: 0.2 mol/L"),
        ("3 to 8 %", "0.5 to 1.5 mol/L"),
        ("wanted: 0.15 %", "stock: \"1: strong\""),
        (
            "small pipette: {kind: pipette, capacity: 5 mL, class: B}",
            "burette: {kind: burette, capacity: 50 mL, class: B}",
        ),
        (
            "readability: 0.01 g}",
            "readability: 1 mg, repeatability: 2 mg, linearity: 2 mg}\n  thermometer: {kind: thermometer, readability: 0.1 °C}",
        ),
        ("liquid: 21 ± 1 °C", "liquid: 21.0 °C"),
    ]);
    holds_its_word(&other, "molarity");
}

#[test]
fn the_solutions_are_as_strong_as_the_report_finds() {
    let proposal = proposed(&sample());
    let (run, _) = pipeline::read("run.yaml", proposal.expected[1].as_bytes());
    let run = run.expect("a run");
    for solution in &proposal.solutions {
        let (_, found) = run
            .results
            .solutions
            .iter()
            .find(|(name, _)| *name == solution.name)
            .expect("a solution");
        let stated = found.composition.mass_percent.as_ref().expect("a strength");
        assert_eq!(stated.shown, solution.strength, "{}", solution.name);
        let off = (stated.value / solution.wanted - 1.0).abs();
        assert!(off < 0.06, "{} is off by {off}", solution.name);
    }
    // 10 % at 21 °C is 1.0703 g/mL (CRC Handbook, 102nd ed., 20 °C: 1.0707), so that 250 mL hold 26.76 g, which is in
    // 26.89 g of 99.5 %.
    assert!(
        proposal.steps[0].contains("26.89 g"),
        "{:?}",
        proposal.steps
    );
}

/// What is better never makes the answer worse.
#[test]
fn better_instruments_do_no_harm() {
    let answer = |changes: &[(&str, &str)]| {
        let u = proposed(&with(changes)).answer();
        format!("{u:.1e}").parse::<f64>().unwrap()
    };
    let as_it_is = answer(&[]);
    let balance = answer(&[("readability: 0.01 g", "readability: 0.001 g")]);
    let pipette = answer(&[("capacity: 25 mL, class: B", "capacity: 25 mL, class: A")]);
    let both = answer(&[
        ("readability: 0.01 g", "readability: 0.001 g"),
        ("capacity: 25 mL, class: B", "capacity: 25 mL, class: A"),
    ]);
    assert!(
        balance <= as_it_is && pipette <= as_it_is,
        "{as_it_is} {balance} {pipette}"
    );
    assert!(
        both <= balance && both <= pipette,
        "{both} {balance} {pipette}"
    );
    assert!(both < as_it_is, "both together matter");
}

#[test]
fn what_is_wanted_is_answered_with_what_reaches_it() {
    let proposal = proposed(&sample());
    assert_eq!(proposal.wanted, Some(0.15));
    assert!(proposal.answer() > 0.15, "{}", proposal.answer());
    let change = proposal.change.as_ref().expect("a change");
    assert!(
        change.reaches && change.expanded_uncertainty <= 0.15,
        "{change:?}"
    );
    let modest = proposed(&with(&[("wanted: 0.15 %", "wanted: 1 %")]));
    assert_eq!(modest.change, None, "nothing need be changed");
    assert!(
        text(&modest).contains("Wanted ± 1 %: reached."),
        "{}",
        text(&modest)
    );
}

#[test]
fn a_stock_of_the_plan_is_the_only_one_weighed_out() {
    let plan = with(&[
        ("  unknown:", "  stock: A\n  unknown:"),
        ("volume: 200 mL", "volume: 100 mL"),
    ]);
    let proposal = proposed(&plan);
    let weighed = proposal
        .steps
        .iter()
        .filter(|step| step.contains("g of sodium chloride"));
    assert_eq!(weighed.count(), 1, "{:?}", proposal.steps);
    assert!(proposal.deliveries > 0, "{:?}", proposal.steps);
}

/// Twenty solutions, several of each piece of ware.
fn twenty() -> String {
    let solutions: Vec<String> = (1..=20)
        .map(|i| format!("    S{i}: {{mass percent: {i} %, volume: 100 mL}}\n"))
        .collect();
    let text = with(&[
        (
            "    A: {mass percent: 10 %, volume: 200 mL}\n",
            &solutions.concat(),
        ),
        ("    B: {mass percent: 5 %, volume: 100 mL}\n", ""),
        ("    C: {mass percent: 2 %, volume: 100 mL}\n", ""),
    ]);
    text.replace(
        "  small pipette",
        "  middle pipette: {kind: pipette, capacity: 10 mL, class: A}\n  large: {kind: flask, capacity: 500 mL, class: A}\n  small pipette",
    )
}

/// Cost is told by what was tried, never by a clock.
#[test]
fn twenty_solutions_are_planned_within_the_bounds() {
    let proposal = proposed(&twenty());
    assert_eq!(proposal.solutions.len(), 20);
    assert!(proposal.tried.ways <= 4 * 820, "{:?}", proposal.tried);
    assert!(proposal.tried.runs <= 24 + 3 * 10, "{:?}", proposal.tried);
}

#[test]
fn the_same_plan_makes_the_same_proposal() {
    for plan in [sample(), twenty()] {
        let [one, two] = [proposed(&plan), proposed(&plan)];
        assert_eq!(text(&one), text(&two));
        assert_eq!(one, two);
    }
}

#[test]
fn wishes_that_cannot_be_met_are_told() {
    let mut told = String::new();
    let bad = files("tests/bad_plans", "yaml");
    assert!(bad.len() >= 20, "bad plans are missing");
    for file in bad {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let text = read(&file);
        let Err(problems) = tried(&name, &text) else {
            panic!("{name} is taken for good")
        };
        assert!(
            problems.iter().any(|p| p.severity == Severity::Error),
            "{name}"
        );
        let sources = Sources::new(&name, text);
        writeln!(told, "==== {name}").unwrap();
        for problem in &problems {
            let span = problem.span.as_ref();
            assert!(
                span.is_some_and(|span| *span.file == *name),
                "{name}: {problem:?}"
            );
            told += &render(problem, &sources, Rendering { colour: false });
        }
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("bad_plans", told);
    });
}

/// The codes of plans: each example raises its code, and does not once it is mended.
#[test]
fn each_example_of_a_plan_raises_its_code_until_it_is_mended() {
    let base = read(&path("tests/explained/plan.yaml"));
    proposed(&base);
    let mut examples = 0;
    for code in Code::ALL {
        let example = code.example();
        if example.span != Place::PlanFile {
            continue;
        }
        examples += 1;
        assert!(base.contains(example.mended), "{code}: {}", example.mended);
        let wrong = base.replace(example.mended, example.typed);
        let problems = tried("plan.yaml", &wrong).err().unwrap_or_default();
        let raised: Vec<Code> = problems.iter().map(|problem| problem.code).collect();
        assert!(
            raised.contains(code),
            "{code} is not raised, but {raised:?}"
        );
    }
    assert!(examples >= 8, "only {examples} codes are of plans");
}

#[test]
fn the_sample_is_proposed_and_its_run_written() {
    let folder = folder("plan");
    crate::cli::put(&folder, "plan.yaml", &sample());
    let arguments = ["plan", "plan.yaml", "--run", "run.yaml"];
    let (out, err) = ended(&fillmark(&folder, &arguments), 0);
    assert_eq!(err, "");
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("sample_plan", out);
    });
    assert_eq!(read(&folder.join("run.yaml")), proposed(&sample()).run);
    let (_, err) = ended(&fillmark(&folder, &["check", "run.yaml"]), 1);
    assert!(err.contains("unfinished"), "{err}");
    // What stands there is left.
    let (_, err) = ended(&fillmark(&folder, &arguments), 2);
    assert!(err.contains("exists already"), "{err}");
    let (out, _) = ended(
        &fillmark(&folder, &["plan", "plan.yaml", "--format", "json"]),
        0,
    );
    let json: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(json["solutions"].as_array().map(Vec::len), Some(3));
    let (_, err) = ended(&fillmark(&folder, &["check", "plan.yaml"]), 1);
    assert!(err.contains("This is a plan file"), "{err}");
}

/// The schema of plan files takes the sample, and refuses what the reader refuses by its shape.
#[test]
fn the_schema_of_plans_agrees_with_their_reader() {
    let schema = runfile::schema::plan_schema();
    jsonschema::draft202012::meta::validate(&schema).expect("the schema is a schema");
    let validator = jsonschema::draft202012::new(&schema).expect("the schema can be used");
    let valid = |text: &str| {
        let value: serde_json::Value = serde_yaml::from_str(text).expect("YAML");
        validator.is_valid(&value)
    };
    assert!(valid(&sample()), "the sample");
    assert!(valid(&twenty()), "twenty solutions");
    let refused = [
        "misspelt_key",
        "no_range",
        "range_without_unit",
        "two_strengths",
        "no_strength",
        "a_run_file",
    ];
    for name in refused {
        let text = read(&path(&format!("tests/bad_plans/{name}.yaml")));
        assert!(!valid(&text), "{name} is taken");
    }
}
