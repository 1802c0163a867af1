//! The values that templates may use: `templates/VALUES.md` lists them from the documentation beside the code that makes them.

use crate::common::{files, good_runs, path, read, reduced};
use fillmark::bench::revision::Record;
use fillmark::pipeline;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A struct that templates receive.
struct Shape {
    /// The name that the tables give it.
    name: String,
    /// Its name in the sources.
    of: String,
    /// The name of its file without ending.
    file: String,
    /// Whether other files may use it.
    shared: bool,
    docs: String,
    fields: Vec<Field>,
}

struct Field {
    name: String,
    kind: Kind,
    optional: bool,
    docs: String,
}

#[derive(Debug, Clone)]
enum Kind {
    Text,
    Formula,
    Number,
    YesNo,
    /// A struct, by its name in the sources.
    Group(String),
    List(Box<Kind>),
}

impl Kind {
    /// The kind of a type; one of text is a formula if its documentation begins with that word.
    fn of(source: &str, docs: &str) -> Self {
        if let Some(item) = inner(source, "Vec<") {
            return Self::List(Box::new(Self::of(item, docs)));
        }
        match source {
            "String" | "&'static str" | "SlipKind" if docs.starts_with("Formula") => Self::Formula,
            "String" | "&'static str" | "SlipKind" => Self::Text,
            "usize" | "u32" | "u64" => Self::Number,
            "bool" => Self::YesNo,
            of => Self::Group(of.to_owned()),
        }
    }

    fn group(&self) -> Option<&str> {
        match self {
            Self::Group(of) => Some(of),
            Self::List(item) => item.group(),
            _ => None,
        }
    }
}

fn inner<'a>(source: &'a str, outer: &str) -> Option<&'a str> {
    source.strip_prefix(outer)?.strip_suffix('>')
}

/// The structs with `Serialize` under `src/report`, those of bench sheets and of comparisons, and the one of candidates, with the documentation of their fields.
fn shapes() -> Vec<Shape> {
    let mut sources = files("src/report", "rs");
    let report = path("src/report");
    sources.retain(|source| source.parent() == Some(&*report));
    sources.push(path("src/report/sheet/values.rs"));
    sources.push(path("src/report/compare/values.rs"));
    sources.push(path("src/report/compare/claims.rs"));
    sources.push(path("src/bench/practice/slip/candidate.rs"));
    let mut shapes: Vec<Shape> = Vec::new();
    for source in sources {
        let file = source.file_stem().expect("a file").to_string_lossy();
        let (mut docs, mut serialized, mut within) = (String::new(), false, false);
        for line in read(&source).lines().map(str::trim) {
            if let Some(text) = line.strip_prefix("///") {
                docs += text;
                continue;
            }
            if line.starts_with("#[") {
                serialized |= line.starts_with("#[derive") && line.contains("Serialize");
                continue;
            }
            let docs = std::mem::take(&mut docs).trim().to_owned();
            let item = line
                .trim_start_matches("pub(super) ")
                .trim_start_matches("pub ");
            if within && let Some((name, kind)) = item.trim_end_matches(',').split_once(": ") {
                let (kind, optional) =
                    inner(kind, "Option<").map_or((kind, false), |kind| (kind, true));
                let kind = Kind::of(kind, &docs);
                let name = name.to_owned();
                shapes.last_mut().expect("a struct").fields.push(Field {
                    name,
                    kind,
                    optional,
                    docs,
                });
                continue;
            }
            within = std::mem::take(&mut serialized) && item.starts_with("struct ");
            if within {
                let of = item.trim_start_matches("struct ").trim_end_matches(" {");
                shapes.push(Shape {
                    name: spaced(of.trim_end_matches("Shown")),
                    of: of.to_owned(),
                    file: file.clone().into_owned(),
                    shared: item != line,
                    docs,
                    fields: Vec::new(),
                });
            }
        }
    }
    name_apart(&mut shapes);
    shapes
}

/// The words of a name in camel case.
fn spaced(name: &str) -> String {
    let mut words = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
}

/// Adds the name of their file to structs that only this file uses, where others have the same name.
fn name_apart(shapes: &mut [Shape]) {
    let names: Vec<String> = shapes.iter().map(|shape| shape.name.clone()).collect();
    for shape in shapes.iter_mut().filter(|shape| !shape.shared) {
        if names.iter().filter(|name| **name == shape.name).count() > 1 {
            shape.name = format!("{} {}", shape.file.replace('_', " "), shape.name);
        }
    }
}

/// The struct that a field of another names: that of the same file, or else a shared one.
fn named<'s>(shapes: &'s [Shape], file: &str, of: &str) -> &'s Shape {
    let mut all = shapes.iter().filter(|shape| shape.of == of);
    let here = all.clone().find(|shape| shape.file == file);
    let shape = here.or_else(|| all.find(|shape| shape.shared));
    shape.unwrap_or_else(|| panic!("{of}, which {file}.rs names, is not read"))
}

/// What the templates of a report receive, those of a bench sheet, and those of a comparison.
const ROOTS: [&str; 3] = ["Values", "SheetValues", "ComparisonValues"];

/// The tables of templates/VALUES.md, one of each struct, those that a struct names after it.
fn tables(shapes: &[Shape]) -> String {
    fn table<'s>(
        shapes: &'s [Shape],
        shape: &'s Shape,
        written: &mut BTreeSet<&'s str>,
        text: &mut String,
    ) {
        if !written.insert(&shape.name) {
            return;
        }
        *text += &format!(
            "\n## {}\n\n{}\n\n| name | kind | meaning |\n|---|---|---|\n",
            shape.name, shape.docs
        );
        for field in &shape.fields {
            let kind = in_words(shapes, &shape.file, &field.kind);
            let absent = if field.optional { "?" } else { "" };
            let docs = field.docs.replace('|', "\\|");
            *text += &format!("| `{}` | {kind}{absent} | {docs} |\n", field.name);
        }
        for of in shape.fields.iter().filter_map(|field| field.kind.group()) {
            table(shapes, named(shapes, &shape.file, of), written, text);
        }
    }
    let (mut text, mut written) = (String::new(), BTreeSet::new());
    for root in ROOTS {
        table(
            shapes,
            named(shapes, "values", root),
            &mut written,
            &mut text,
        );
    }
    text
}

fn in_words(shapes: &[Shape], file: &str, kind: &Kind) -> String {
    match kind {
        Kind::Text => "text".to_owned(),
        Kind::Formula => "formula".to_owned(),
        Kind::Number => "number".to_owned(),
        Kind::YesNo => "yes/no".to_owned(),
        Kind::Group(of) => {
            let name = &named(shapes, file, of).name;
            format!("[{name}](#{})", name.replace(' ', "-"))
        }
        Kind::List(item) => format!("list of {}", in_words(shapes, file, item)),
    }
}

/// The generated part of templates/VALUES.md is what the documentation in the sources says; `VALUES_UPDATE=always` writes it.
#[test]
fn the_list_of_template_values_is_that_of_the_sources() {
    const BEGIN: &str = "\n## values\n";
    let file = path("templates/VALUES.md");
    let told = read(&file);
    let head = told.split(BEGIN).next().unwrap_or_default();
    let shapes = shapes();
    let silent = shapes.iter().flat_map(|shape| {
        let fields = shape.fields.iter().filter(|field| field.docs.is_empty());
        let fields = fields.map(|field| format!("{}.{} ({}.rs)", shape.of, field.name, shape.file));
        let itself = shape
            .docs
            .is_empty()
            .then(|| format!("{} ({}.rs)", shape.of, shape.file));
        itself.into_iter().chain(fields)
    });
    let silent: Vec<String> = silent.collect();
    assert!(
        silent.is_empty(),
        "without a line of documentation: {silent:#?}"
    );
    let text = format!("{head}{}", tables(&shapes));
    if std::env::var_os("VALUES_UPDATE").is_some_and(|update| update == "always") {
        std::fs::write(&file, &text).expect("written");
        return;
    }
    let different = told.lines().zip(text.lines()).find(|(told, is)| told != is);
    assert!(
        told == text,
        "templates/VALUES.md differs from the documentation in src/report, first at {different:?}; \
         VALUES_UPDATE=always writes it"
    );
}

struct Walk<'s> {
    shapes: &'s [Shape],
    /// Fields met with a value, by the names of their struct and their own.
    met: BTreeSet<(&'s str, &'s str)>,
    wrong: BTreeSet<String>,
}

impl<'s> Walk<'s> {
    fn object(&mut self, value: &Value, shape: &'s Shape) {
        let Some(map) = value.as_object() else {
            self.wrong
                .insert(format!("{} is no group: {value}", shape.name));
            return;
        };
        let unknown = map
            .keys()
            .filter(|key| shape.fields.iter().all(|field| field.name != **key));
        self.wrong
            .extend(unknown.map(|key| format!("{}.{key} is not told", shape.name)));
        for field in &shape.fields {
            let name = format!("{}.{}", shape.name, field.name);
            match map.get(&field.name) {
                Some(Value::Null) if field.optional => {}
                Some(value) => {
                    if !value.as_array().is_some_and(Vec::is_empty) && value.as_str() != Some("") {
                        self.met.insert((&shape.name, &field.name));
                    }
                    if !self.is(value, &field.kind, &shape.file) {
                        self.wrong
                            .insert(format!("{name} is no {:?}: {value}", field.kind));
                    }
                }
                None => {
                    self.wrong.insert(format!("{name} is missing"));
                }
            }
        }
    }

    fn is(&mut self, value: &Value, kind: &Kind, file: &str) -> bool {
        match kind {
            Kind::Text | Kind::Formula => value.is_string(),
            Kind::Number => value.is_u64(),
            Kind::YesNo => value.is_boolean(),
            Kind::Group(of) => {
                self.object(value, named(self.shapes, file, of));
                true
            }
            Kind::List(kind) => {
                let items = value.as_array();
                items.is_some_and(|items| items.iter().all(|item| self.is(item, kind, file)))
            }
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
    let (run, beside) = crate::earlier_calibration::good();
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

/// The documented values are those that templates receive, and some run has each of them.
#[test]
fn the_list_of_template_values_is_whole_and_true() {
    let shapes = shapes();
    let mut walk = Walk {
        shapes: &shapes,
        met: BTreeSet::new(),
        wrong: BTreeSet::new(),
    };
    for (root, all) in ROOTS.into_iter().zip([
        material(),
        crate::sheet::material(),
        crate::comparing::material(),
    ]) {
        for values in all {
            walk.object(&values, named(&shapes, "values", root));
        }
    }
    for shape in &shapes {
        for field in &shape.fields {
            if !walk.met.contains(&(&*shape.name, &*field.name)) {
                let name = format!("{}.{}", shape.name, field.name);
                walk.wrong.insert(format!("{name}: no run has it"));
            }
        }
    }
    let wrong: Vec<String> = walk.wrong.into_iter().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
