//! The values that templates may use, against the list of them in DEVELOPERS.md.

use crate::common::{good_runs, path, read, reduced};
use fillmark::cli::pipeline;
use fillmark::revision::Record;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What the tables say: names and kinds, those of each shape under its own name, the rest under `name`.
type Tables = BTreeMap<String, BTreeMap<String, String>>;

fn tables() -> Tables {
    let text = read(&path("DEVELOPERS.md"));
    let section = text
        .split("## Template values\n")
        .nth(1)
        .and_then(|rest| rest.split("\n## ").next())
        .expect("the section");
    let mut tables = Tables::new();
    let mut shape = String::new();
    for line in section.lines() {
        let cells: Vec<&str> = line
            .split(" | ")
            .map(|c| c.trim_matches(['|', ' ']))
            .collect();
        match cells.as_slice() {
            [name, "kind", "meaning"] => (*name).clone_into(&mut shape),
            [names, kind, meaning] if names.starts_with('`') => {
                assert!(!meaning.is_empty(), "{line}");
                for name in names.split(", ").map(|name| name.trim_matches('`')) {
                    let table = tables.entry(shape.clone()).or_default();
                    let twice = table.insert(name.to_owned(), (*kind).to_owned());
                    assert!(twice.is_none(), "{name} stands twice");
                }
            }
            _ => {}
        }
    }
    tables
}

struct Walk<'t> {
    tables: &'t Tables,
    /// Names met with a value, by table.
    met: BTreeSet<(String, String)>,
    wrong: BTreeSet<String>,
}

impl Walk<'_> {
    fn object(&mut self, value: &Value, table: &str, prefix: &str) {
        let map = value
            .as_object()
            .unwrap_or_else(|| panic!("{prefix}: {value}"));
        for (key, value) in map {
            self.field(value, table, &format!("{prefix}{key}"));
        }
    }

    fn field(&mut self, value: &Value, table: &str, name: &str) {
        let Some(kind) = self.tables[table].get(name) else {
            self.wrong.insert(format!("{name} ({table}) is not told"));
            return;
        };
        let at = (table.to_owned(), name.to_owned());
        let (kind, optional) = kind
            .strip_suffix('?')
            .map_or((kind.as_str(), false), |k| (k, true));
        if value.is_null() {
            if kind == "absent" {
                self.met.insert(at);
                return;
            }
            if !optional {
                self.wrong.insert(format!("{name} may be absent"));
            }
            return;
        }
        let filled = !value.as_array().is_some_and(Vec::is_empty) && value.as_str() != Some("");
        if filled {
            self.met.insert(at);
        }
        let texts = |value: &Value| {
            value
                .as_array()
                .is_some_and(|l| l.iter().all(Value::is_string))
        };
        let right = match kind {
            "text" | "formula" => value.is_string(),
            "number" => value.is_u64(),
            "yes/no" => value.is_boolean(),
            "list of text" | "list of formula" => texts(value),
            "list" => {
                for item in value.as_array().into_iter().flatten() {
                    self.object(item, table, &format!("{name}[]."));
                }
                value.is_array()
            }
            "group" => {
                self.object(value, table, &format!("{name}."));
                true
            }
            shape if self.tables.contains_key(shape) => {
                self.object(value, shape, "");
                true
            }
            _ => false,
        };
        if !right {
            self.wrong.insert(format!("{name} is no {kind}: {value}"));
        }
    }
}

/// Runs that between them have everything a run can have.
fn material() -> Vec<Value> {
    let mut all = Vec::new();
    for (_, text) in good_runs() {
        let run = reduced(&text);
        all.push(serde_json::to_value(fillmark::report::values(
            &run.material(&text),
        )));
    }
    let sample = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let mut run = reduced(&sample);
    run.check_by_monte_carlo(10_000);
    let other = sample
        .replacen("filled: 39.664 g", "filled: 39.646 g", 1)
        .replacen("filled: 39.295 g", "filled: 39.259 g", 1)
        .replacen("rinsed: 3", "rinsed: 0", 1);
    let (other, problems) = pipeline::read("run.yaml", other.as_bytes());
    let other = other.unwrap_or_else(|| panic!("{problems:#?}"));
    let changes = [run.changes_since(&other), other.changes_since(&run)];
    run.record = changes.into_iter().fold(Record::default(), Record::with);
    run.record.not_listed = Some(1);
    all.push(serde_json::to_value(fillmark::report::values(
        &run.material(&sample),
    )));
    for text in more() {
        let run = reduced(&text);
        all.push(serde_json::to_value(fillmark::report::values(
            &run.material(&text),
        )));
    }
    let (run, table) = crate::cli::good_with_table();
    let beside = BTreeMap::from([("readings.csv".to_owned(), table.into_bytes())]);
    let (made, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), &beside);
    let made = made.unwrap_or_else(|| panic!("{problems:#?}"));
    all.push(serde_json::to_value(fillmark::report::values(
        &made.material(&run),
    )));
    let (run, files) = crate::photos::good();
    let (made, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), &files);
    let made = made.unwrap_or_else(|| panic!("{problems:#?}"));
    all.push(serde_json::to_value(fillmark::report::values(
        &made.material(&run),
    )));
    all.into_iter()
        .map(|value| value.expect("values"))
        .collect()
}

/// Runs for what no other run has.
fn more() -> Vec<String> {
    let short = read(&path("tests/runs/short.yaml"));
    let put = |old: &str, new: &str| {
        assert!(short.contains(old), "{old}");
        short.replace(old, new)
    };
    let one = "filled: 41.449 g, volume: 10.00 mL}";
    let two = format!("{one}, {{empty: 31.203 g, filled: 41.452 g, volume: 10.00 mL}}");
    let poor = "{kind: pipette, capacity: 10 mL, tolerance: 0.6 mL}";
    let ways = read(&path("tests/runs/ways_to_a_density.yaml"));
    let meter = "      - {density: 1071.3 kg/m³, with: meter}";
    assert!(ways.contains(meter));
    let sample = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let mut bent = crate::calibration_statistics::curved(1);
    bent.push(("bath", None, vec![1.06]));
    let straight = |spread: &str| {
        crate::calibration_statistics::text(&bent, spread, "calibration: {line: straight}\n")
    };
    vec![
        sample.replacen("rinsed: 3", "rinsed: 0", 1),
        straight("0.0001"),
        straight("0.002"),
        crate::runs::run(13, 1),
        put(one, &two).replace("  weighings:", "  repeatability: pooled\n  weighings:"),
        put(
            "balance, readability: 0.001 g",
            "balance, readability: 0.3 g",
        ),
        put("{kind: pipette, capacity: 10 mL, class: A}", poor),
        put("{liquid: 20.6 °C}", "{liquid: 95 °C}"),
        put("filled: 41.801 g", "filled: 43.801 g"),
        put(
            "solutions:\n",
            "calibration: none\nallow_for: {density_at: 20 °C}\nsolutions:\n",
        )
        .lines()
        .filter(|line| !line.starts_with("    A: [") && !line.starts_with("    B: ["))
        .map(|line| line.to_owned() + "\n")
        .collect(),
        ways.replace(
            meter,
            &format!("{meter}\n      - {{density: 1081 kg/m³, with: meter, left_out: dirt}}"),
        ),
    ]
}

/// Results of a solution, as they are printed: what is measured and what follows from it, not what it is compared with.
struct Printed {
    solution: String,
    unit: String,
    value: String,
    expanded: String,
    at: String,
}

/// Gathers results with what they belong to.
fn printed(value: &Value, at: &str, solution: &str, all: &mut Vec<Printed>) {
    /// Other quantities of the same solution in the same unit.
    const OTHERS: [&str; 6] = [
        "published",
        "difference",
        "change",
        "by_line_asked_for",
        "intercept",
        "departure",
    ];
    match value {
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                printed(item, &format!("{at}.{index}"), solution, all);
            }
        }
        Value::Object(map) => {
            let text = |key: &str| map.get(key).and_then(Value::as_str);
            let of = text("of").and_then(|of| Some(of.rsplit_once(" of ")?.1));
            let solution = text("solution").or(text("name")).or(of).unwrap_or(solution);
            if let (Some(value), Some(expanded), Some(unit)) =
                (text("value"), text("expanded"), text("unit"))
            {
                let [solution, unit, value, expanded, at] =
                    [solution, unit, value, expanded, at].map(str::to_owned);
                all.push(Printed {
                    solution,
                    unit,
                    value,
                    expanded,
                    at,
                });
                return;
            }
            if let (Some((value, expanded)), Some(unit)) = (
                text("shown").and_then(|s| s.split_once(" ± ")),
                text("unit"),
            ) {
                let [solution, unit, value, expanded, at] =
                    [solution, unit, value, expanded, at].map(str::to_owned);
                all.push(Printed {
                    solution,
                    unit,
                    value,
                    expanded,
                    at,
                });
            }
            for (key, item) in map {
                if !OTHERS.contains(&key.as_str()) {
                    printed(item, &format!("{at}.{key}"), solution, all);
                }
            }
        }
        _ => {}
    }
}

/// A result with two uncertainties would leave a reader to guess which to rely on.
#[test]
fn a_result_has_one_uncertainty_throughout_a_report() {
    let mut results = 0;
    for values in material() {
        let mut all = Vec::new();
        printed(&values, "", "", &mut all);
        results += all.len();
        for (index, one) in all.iter().enumerate() {
            for other in &all[..index] {
                let same = one.solution == other.solution && one.unit == other.unit;
                let (short, long) = if one.value.len() < other.value.len() {
                    (one, other)
                } else {
                    (other, one)
                };
                let agree = |long: f64| {
                    let decimals = short
                        .value
                        .split_once('.')
                        .map_or(0, |(_, rest)| rest.len());
                    format!("{long:.decimals$}") == short.value.replace('−', "-")
                };
                let long_value = long.value.replace('−', "-").parse();
                if same && long_value.is_ok_and(agree) {
                    assert_eq!(
                        (&one.value, &one.expanded),
                        (&other.value, &other.expanded),
                        "{} and {}, {} of {}",
                        one.at,
                        other.at,
                        one.unit,
                        one.solution
                    );
                }
            }
        }
    }
    assert!(results > 500, "{results} results walked");
}

#[test]
fn the_list_of_template_values_is_whole_and_true() {
    let tables = tables();
    let mut walk = Walk {
        tables: &tables,
        met: BTreeSet::new(),
        wrong: BTreeSet::new(),
    };
    for values in material() {
        walk.object(&values, "name", "");
    }
    for (table, names) in &tables {
        for (name, kind) in names {
            let at = (table.clone(), name.clone());
            if !walk.met.contains(&at) {
                walk.wrong
                    .insert(format!("{name} ({table}, {kind}): no run has it"));
            }
        }
    }
    let wrong: Vec<String> = walk.wrong.into_iter().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
