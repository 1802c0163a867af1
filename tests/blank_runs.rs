//! Run files to fill in: what is blank is told entry by entry, and filled in they are good runs.

use fillmark::bench::runfile;
use fillmark::bench::runfile::blank_run::{Bench, BlankRun, MOST_DILUTIONS};
use fillmark::bench::runfile::model::DensityMethod;
use fillmark::pipeline;
use fillmark::problem::Code;
use fillmark::problem::Problem;

/// Every way of measuring in several sizes.
fn all() -> Vec<BlankRun> {
    let mut all = Vec::new();
    for way in DensityMethod::ALL {
        for (dilutions, unknowns, replicates) in
            [(0, 0, 2), (0, 1, 2), (1, 1, 3), (3, 1, 3), (5, 2, 4)]
        {
            all.push(BlankRun {
                dilutions,
                unknowns,
                replicates,
                way,
                bench: Bench::default(),
            });
        }
    }
    let one_each = [
        DensityMethod::Weighings,
        DensityMethod::Pycnometer,
        DensityMethod::Readings,
    ];
    all.extend(one_each.map(|way| BlankRun {
        dilutions: 2,
        unknowns: 1,
        replicates: 1,
        way,
        bench: Bench::default(),
    }));
    all
}

/// Lines with a blank that may stay so.
fn is_optional(line: &str) -> bool {
    line.contains("# Optional.") || line.trim() == "empty:"
}

/// How many blanks of a form are to be filled: keys with nothing after them and nothing below.
fn blanks(text: &str) -> usize {
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.trim_start().starts_with('#') && !line.trim().is_empty())
        .collect();
    let indent = |line: &str| line.len() - line.trim_start().len();
    let mut count = 0;
    for (at, line) in lines.iter().enumerate() {
        let written = line.split('#').next().unwrap_or_default().trim();
        if written.starts_with("- {") {
            count += written.matches(": ,").count() + written.matches(": }").count();
        } else if written.ends_with(':') && !is_optional(line) {
            let below = lines.get(at + 1).map_or(0, |next| indent(next));
            count += usize::from(below <= indent(line));
        }
    }
    count
}

fn problems(text: &str) -> Vec<Problem> {
    let (run, problems) = runfile::read("form.yaml", text.as_bytes());
    assert!(run.is_none(), "a form is taken for a run");
    problems
}

#[test]
fn each_blank_is_told_once_and_nothing_else() {
    for form in all() {
        let text = form.text();
        let problems = problems(&text);
        let other: Vec<&Problem> = problems.iter().filter(|p| p.code != Code::Blank).collect();
        assert!(other.is_empty(), "{form:?}: {other:#?}");
        assert_eq!(problems.len(), blanks(&text), "{form:?}\n{text}");
        let mut entries: Vec<&str> = problems.iter().map(|p| p.entry.as_str()).collect();
        entries.sort_unstable();
        entries.dedup();
        assert_eq!(
            entries.len(),
            problems.len(),
            "{form:?}: an entry told twice"
        );
        for problem in &problems {
            let right = problem.right.as_deref().unwrap_or_default();
            assert!(right.len() > 10, "{}: {right}", problem.entry);
        }
    }
}

/// Density, g/mL, and mass percent of a solution of so much of the stock, 200.048 g/L, where density goes straight with
/// mass percent.
fn liquid(strength: f64) -> (f64, f64) {
    let mut percent = 0.0;
    for _ in 0..50 {
        percent = 20.0048 * strength / (0.9982 + 0.0071 * percent);
    }
    (0.9982 + 0.0071 * percent, percent)
}

/// A plausible value for an entry: a stock, dilutions of it, densities to match.
fn plausible(entry: &str, form: &BlankRun) -> String {
    let parts: Vec<&str> = entry.split('.').collect();
    let key = parts.last().copied().unwrap_or_default();
    let solution = parts
        .iter()
        .find(|part| part.len() == 1 && part.chars().all(char::is_uppercase));
    let step = solution.map_or(0.0, |name| f64::from(name.as_bytes()[0] - b'A'));
    let strength = if entry.contains("water") {
        0.0
    } else if entry.contains("unknown") {
        0.55
    } else {
        // Whole deliveries of 5 mL into 100 mL.
        (20.0 - 20.0 * step / f64::from(form.dilutions + 1)).round() / 20.0
    };
    let number = parts
        .iter()
        .rev()
        .find_map(|part| part.parse::<u8>().ok())
        .map_or(1.0, f64::from);
    let (density, _) = liquid(strength);
    let scattered = density + 0.0001 * (number % 3.0 - 1.0);
    match (parts[0], key) {
        ("title", _) => "Brine bath strength by density".into(),
        ("date", _) => "2026-03-04".into(),
        ("analysts", _) => "[R. Example, T. Sample]".into(),
        ("draft", _) => "true".into(),
        ("place", _) => "Fellside creamery".into(),
        ("aim", _) => "Find the strength of the bath".into(),
        ("solute", _) => "sodium chloride".into(),
        (_, "rinsed") => "3".into(),
        (_, "mixed") => "inverted ten times".into(),
        (_, "liquid") => "20.0 °C".into(),
        ("apparatus", "readability") if entry.contains("density meter") => "0.0001 g/mL".into(),
        ("apparatus", "accuracy") => "0.0002".into(),
        ("apparatus", "readability" | "repeatability") => "0.001 g".into(),
        ("apparatus", "class") => "A".into(),
        ("apparatus", "capacity") if entry.contains("stock") => "250 mL".into(),
        ("apparatus", "capacity") if entry.contains("flask") => "100 mL".into(),
        ("solutions", "volume") if entry.contains("aliquot") => {
            format!("{} × 5.00 mL", (20.0 * strength).round())
        }
        ("apparatus", "capacity") if entry.contains("dilution") => "5 mL".into(),
        ("apparatus", "capacity") => "10 mL".into(),
        ("solutions", "before") => "81.274 g".into(),
        ("solutions", "after") => "31.262".into(),
        ("solutions", "to") if entry.contains(".A.") => "250".into(),
        ("solutions", "to") => "100 mL".into(),
        (_, "volume") => "10.00".into(),
        (_, "density") => format!("{scattered:.4}"),
        (_, "empty") => "30.000 g".into(),
        (_, "mass") => format!("{:.3}", 30.0 + 10.0 * number * density),
        (_, "filled") => format!("{:.3} g", 30.0 + 10.0 * scattered),
        _ => panic!("what belongs at {entry}?"),
    }
}

/// The form with its blanks filled.
fn filled(form: &BlankRun, optional: bool) -> String {
    let text = form.text();
    let mut problems = problems(&text);
    // From the end, so that places before stay where they are.
    problems.sort_by(|a, b| b.span.cmp(&a.span));
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for problem in &problems {
        let span = problem.span.as_ref().expect("a blank has a place");
        let line = &mut lines[span.line - 1];
        let key_end: usize = line
            .chars()
            .take(span.column - 1 + span.length)
            .map(char::len_utf8)
            .sum();
        assert!(
            line[key_end..].starts_with(':'),
            "no key at {span:?}: {line}"
        );
        line.insert_str(
            key_end + 1,
            &format!(" {}", plausible(&problem.entry, form)),
        );
    }
    if optional {
        for line in lines.iter_mut().filter(|line| is_optional(line)) {
            let key = line.split(':').next().unwrap_or_default();
            let section = if key.trim() == "repeatability" || key.trim() == "accuracy" {
                "apparatus."
            } else {
                ""
            };
            *line = format!(
                "{key}: {}",
                plausible(&format!("{section}{}", key.trim()), form)
            );
        }
    }
    lines.join("\n")
}

#[test]
fn filled_in_it_is_a_good_run() {
    for form in all() {
        for optional in [false, true] {
            let text = filled(&form, optional);
            let (run, problems) = pipeline::read("form.yaml", text.as_bytes());
            assert!(problems.is_empty(), "{form:?}: {problems:#?}\n{text}");
            let run = run.expect("a run without problems");
            let found = run.results.unknowns.len();
            assert_eq!(found, usize::from(form.unknowns), "{form:?}");
            for (name, unknown) in &run.results.unknowns {
                let percent = unknown.composition.mass_percent.as_ref();
                let percent = percent.map(|q| q.value).expect("a mass percent");
                assert!(
                    (percent - liquid(0.55).1).abs() < 0.3,
                    "{name} of {form:?}: {percent}\n{text}"
                );
            }
        }
    }
}

#[test]
fn a_blank_hides_no_other_mistake() {
    let form = &all()[3];
    let text = form
        .text()
        .replacen("kind: balance", "kind: balanse", 1)
        .replacen("date: ", "date: 4 March # ", 1);
    let problems = problems(&text);
    let codes = |code| problems.iter().filter(|p| p.code.name() == code).count();
    assert_eq!(codes("unknown-choice"), 1, "{problems:#?}");
    assert_eq!(codes("not-a-day"), 1, "{problems:#?}");
    // The balance's keys are not known without its kind.
    assert_eq!(codes("blank"), blanks(&form.text()) - 2, "{problems:#?}");
    assert_eq!(problems.len(), codes("blank") + 2, "{problems:#?}");
}

#[test]
fn a_large_form_is_told_to_a_limit() {
    let form = BlankRun {
        dilutions: MOST_DILUTIONS,
        unknowns: 20,
        replicates: 20,
        way: DensityMethod::Weighings,
        bench: Bench::default(),
    };
    let problems = problems(&form.text());
    let last = problems.last().expect("problems");
    assert_eq!(last.code.name(), "more-problems");
    let told: String = last.headline.chars().filter(char::is_ascii_digit).collect();
    let told: usize = told.parse().expect("a number");
    assert_eq!(problems.len() - 1 + told, blanks(&form.text()), "{last:?}");
}

/// A blank that need not be filled is as if it were not there.
#[test]
fn an_optional_blank_is_not_given() {
    let run = |text: &str| {
        let (run, problems) = runfile::read("run.yaml", text.as_bytes());
        assert!(problems.is_empty(), "{problems:#?}");
        run.expect("a run")
    };
    let good = crate::common::read(&crate::common::path("tests/runs/short.yaml"));
    let with = good.replacen(
        "title:",
        "place:\naim: ~\nallow_for:\ncalibration:\ntitle:",
        1,
    );
    let (with, without) = (run(&with), run(&good));
    assert_eq!(with.place, None, "place");
    assert_eq!(with.aim, None, "aim");
    assert_eq!(
        with.calibration.map(|c| (c.against, c.line, c.fit)),
        without.calibration.map(|c| (c.against, c.line, c.fit)),
        "the calibration is the usual one"
    );
}
