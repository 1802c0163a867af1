//! The schema of the run file against the reader: it takes what the reader takes, and refuses what editors can know to be
//! wrong.

use crate::common::{files, good_runs, path, read};
use fillmark::bench::runfile;
use fillmark::problem::Severity;
use jsonschema::Validator;
use serde_json::{Value, json};

fn validator() -> Validator {
    let schema = runfile::schema::schema();
    jsonschema::draft202012::meta::validate(&schema).expect("the schema is a schema");
    jsonschema::draft202012::new(&schema).expect("the schema can be used")
}

/// A run file as an editor sees it; none where it is not YAML, or a list of scalars has keys that JSON lacks.
fn as_json(text: &str) -> Option<Value> {
    serde_yaml::from_str(text).ok()
}

#[track_caller]
fn refused(validator: &Validator, name: &str, text: &str) -> bool {
    let value = as_json(text).unwrap_or_else(|| panic!("{name} is no YAML for an editor"));
    !validator.is_valid(&value)
}

#[test]
fn good_runs_are_valid() {
    let validator = validator();
    for (name, text) in good_runs() {
        let value = as_json(&text).expect("YAML");
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|e| format!("{}: {e}", e.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}

/// What only a reader of the whole can know is no matter of the schema; all else it refuses too.
#[test]
fn structural_mistakes_are_refused() {
    const STRUCTURAL: [&str; 12] = [
        "blank",
        "limits-unknown",
        "missing-key",
        "no-name",
        "not-true",
        "origin-incomplete",
        "out-of-range",
        "unknown-choice",
        "unknown-key",
        "weighing-incomplete",
        "wrong-dimension",
        "wrong-shape",
    ];
    let validator = validator();
    let mut tried = 0;
    for file in files("tests/bad_runs", "yaml") {
        let bytes = std::fs::read(&file).expect("a file");
        let name = file.display().to_string();
        let (_, problems) = runfile::read(&name, &bytes);
        // Whether this one is needed depends on the weighings.
        let structural = problems.iter().any(|problem| {
            STRUCTURAL.contains(&problem.code.name())
                && problem.entry != "conditions.liquid"
                // Whether a correction is of the entry's own kind depends on the entry.
                && !problem.entry.starts_with("corrections.")
        });
        // A number with its unit is only seen to be a quantity, not how large it is.
        let with_unit = problems.iter().all(|p| {
            p.code.name() == "out-of-range" && p.read.as_ref().is_some_and(|r| r.contains(' '))
        });
        if structural && !with_unit {
            let text = String::from_utf8(bytes).expect("UTF-8");
            if as_json(&text).is_none() {
                // An editor tells that it is no YAML before it asks a schema.
                continue;
            }
            tried += 1;
            assert!(refused(&validator, &name, &text), "{name} is taken");
        }
    }
    assert!(tried >= 20, "only {tried} were tried");
}

/// What the schema refuses, the reader refuses: it is never the stricter of the two.
#[test]
fn the_schema_is_not_stricter_than_the_reader() {
    let validator = validator();
    let good = read(&path("tests/runs/short.yaml"));
    for (from, to) in [
        ("41.176 g", "41.176"),
        ("41.176 g", "41.176(2) g"),
        ("41.176 g", "\"41.176 ± 0.002 g\""),
        ("41.176 g", "(41.176 ± 0.002) g"),
        ("41.176 g", "41.176 +/- 0.002 g"),
        ("41.176 g", "41.176 g ± 2 mg"),
        ("41.176 g", "41176 mg"),
        ("41.176 g", "4.1176e1 g"),
        ("41.176 g", "+41.176 g"),
        ("41.176 g", "041.176(02) g"),
        ("date: 2026-03-04", "date: 2024-02-29"),
        ("solute: sodium chloride", "solute: Sodium Chloride"),
        (
            "41.176 g",
            "'\u{ff14}\u{ff11}\u{ff0e}\u{ff11}\u{ff17}\u{ff16} g'",
        ),
        ("41.176 g", "\"  41.176g \""),
        ("kind: flask", "kind: FLASK"),
        ("kind: balance", "\"kind\": Balance"),
        ("pure: true", "pure: \"true\""),
        ("20.6 °C", "69.08 °F"),
        ("20.6 °C", "293.75 K"),
        ("20.6 °C", "20.6"),
        ("title: ", "place:\nprocedure: ~\ntitle: "),
        ("title: ", "notes: []\ntitle: "),
        ("title: ", "title: 2026 # "),
    ] {
        assert!(good.contains(from), "{from} is not in the run");
        let text = good.replacen(from, to, 1);
        let (run, problems) = runfile::read("run.yaml", text.as_bytes());
        assert!(run.is_some(), "{to} is refused: {problems:#?}");
        assert!(!refused(&validator, to, &text), "{to} is refused");
    }
}

#[test]
fn wrong_ones_are_refused() {
    let validator = validator();
    let good = read(&path("tests/runs/short.yaml"));
    for (from, to) in [
        ("title:", "titel:"),
        ("title:", "# title:"),
        ("title:", "title: #"),
        ("date: 2026-03-04", "date: 4 March"),
        ("kind: flask", "kind: flagon"),
        ("kind: flask", "kin: flask"),
        ("capacity:", "readability:"),
        ("class: A", "class: C"),
        ("class: A", "class: [A]"),
        ("pure: true", "pure: false"),
        ("pure: true", "unknown: false"),
        ("41.176 g", "41.176 mL"),
        ("41.176 g", "41,176 g"),
        ("41.176 g", "heavy"),
        ("41.176 g", "41.176 stone"),
        ("41.176 g", "[41.176 g]"),
        ("41.176 g", "-41.176"),
        ("41.176 g", ""),
        ("filled: 41.176 g", "filed: 41.176 g"),
        ("20.6 °C", "20.6 g"),
        ("20.6 °C", "300"),
        ("41.176 g", "-41.176 g"),
        ("41.176 g", "0.000 g"),
        ("41.176 g", "41.176(0) g"),
        ("41.176 g", "\"41.176 ± 0 g\""),
        ("41.176 g", "\"41.176 ± -0.1 g\""),
        ("date: 2026-03-04", "date: 2026-13-04"),
        ("date: 2026-03-04", "date: 2026-02-30"),
        ("date: 2026-03-04", "date: 2026-04-31"),
        ("title:", "title: \"\" #"),
        ("solute: sodium chloride", "solute: brine"),
        ("pure: true", "pure: true, unknown: true"),
        ("before:", "mass: 5.00 g, before:"),
        ("solutions:\n", "solutions: []\nsolution:\n"),
        ("weighed:", "weigh:"),
    ] {
        assert!(good.contains(from), "{from} is not in the run");
        let text = good.replacen(from, to, 1);
        let (run, problems) = runfile::read("run.yaml", text.as_bytes());
        let failed = problems.iter().any(|p| p.severity == Severity::Error);
        assert!(run.is_none() && failed, "{to} is taken by the reader");
        assert!(refused(&validator, to, &text), "{to} is taken");
    }
}

/// Every part of a schema, with itself.
fn parts<'v>(schema: &'v Value, found: &mut Vec<&'v Value>) {
    found.push(schema);
    match schema {
        Value::Object(members) => members.values().for_each(|part| parts(part, found)),
        Value::Array(items) => items.iter().for_each(|part| parts(part, found)),
        _ => {}
    }
}

#[test]
fn examples_fit_what_they_are_examples_of() {
    let schema = runfile::schema::schema();
    let mut all = Vec::new();
    parts(&schema, &mut all);
    let mut tried = 0;
    for part in all.iter().filter(|part| part["examples"].is_array()) {
        // Seen by itself, where it can stand without the rest.
        let validator = jsonschema::draft202012::new(part).expect("a schema");
        for example in part["examples"].as_array().into_iter().flatten() {
            assert!(validator.is_valid(example), "{example} of {part:#}");
            tried += 1;
        }
    }
    assert!(tried > 100, "only {tried} examples");
}

/// Someone who reads what a validator says learns which key is wrong, and where.
#[test]
fn a_wrong_key_is_named() {
    let validator = validator();
    let good = read(&path("tests/runs/short.yaml"));
    for (from, to, at) in [
        ("filled: 41.176 g", "filed: 41.176 g", "/density/weighings/"),
        ("title:", "titel:", ""),
        ("readability:", "readabilty:", "/apparatus/"),
        ("before:", "befor:", "/solutions/"),
    ] {
        let text = good.replacen(from, to, 1);
        assert!(text != good, "{from} is not in the run");
        let value = as_json(&text).expect("YAML");
        let wrong = to.split(':').next().expect("a key");
        let told: Vec<String> = validator
            .iter_errors(&value)
            .filter(|error| error.instance_path().to_string().starts_with(at))
            .map(|error| error.to_string())
            .collect();
        let named = |text: &String| text.contains(&format!("'{wrong}'"));
        assert!(told.iter().any(named), "{wrong}: {told:#?}");
    }
}

#[test]
fn every_key_is_described() {
    let schema = runfile::schema::schema();
    let mut all = Vec::new();
    parts(&schema, &mut all);
    let objects = all
        .iter()
        .filter(|part| part["additionalProperties"] == json!(false));
    let mut keys = 0;
    for (name, key) in objects
        .filter_map(|object| object["properties"].as_object())
        .flatten()
    {
        let told = ["title", "description"].iter().all(|part| {
            key[*part]
                .as_str()
                .is_some_and(|text| !text.trim().is_empty())
        });
        assert!(told, "{name} is not described: {key:#}");
        keys += 1;
    }
    assert!(keys > 90, "only {keys} keys");
}
