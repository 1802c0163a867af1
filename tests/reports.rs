//! Whole reports of the run files there are: made without problems, the same each time, all results to be read in them.

use crate::common::{good_runs, path, read, reduced};
use fillmark::pipeline::Run;
use fillmark::print::manuscript::walk::each_block;
use fillmark::print::manuscript::{Align, Block, Inline};
use fillmark::report::templates::Templates;
use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object};
use serde_json::Value;
use std::collections::BTreeMap;

fn made(name: &str, run: &Run, text: &str) -> Vec<u8> {
    let (pdf, warnings) = run
        .report(text.as_bytes(), &Templates::default())
        .unwrap_or_else(|p| panic!("{name}: {p:#?}"));
    assert!(warnings.is_empty(), "{name}: {warnings:#?}");
    pdf
}

fn resolved<'a>(file: &'a Document, object: &'a Object) -> &'a Dictionary {
    let object = object
        .as_reference()
        .map_or(object, |id| file.get_object(id).expect("an object"));
    object
        .as_dict()
        .or_else(|_| object.as_stream().map(|stream| &stream.dict))
        .expect("a dictionary")
}

/// What each glyph of each font of a page stands for, from the fonts' maps to Unicode.
fn fonts(file: &Document, page: lopdf::ObjectId) -> BTreeMap<Vec<u8>, BTreeMap<u16, String>> {
    let page = file.get_dictionary(page).expect("a page");
    let resources = resolved(file, page.get(b"Resources").expect("resources"));
    let Ok(list) = resources.get(b"Font") else {
        return BTreeMap::new();
    };
    let mut all = BTreeMap::new();
    for (name, font) in resolved(file, list) {
        let map = resolved(file, font)
            .get(b"ToUnicode")
            .and_then(Object::as_reference)
            .expect("a map to Unicode");
        let stream = file
            .get_object(map)
            .and_then(Object::as_stream)
            .expect("a stream");
        let map = String::from_utf8(stream.decompressed_content().expect("a map"))
            .expect("a map is text");
        all.insert(name.clone(), to_unicode(&map));
    }
    all
}

/// `<glyph> <UTF-16>` lines of a map to Unicode.
pub(crate) fn to_unicode(map: &str) -> BTreeMap<u16, String> {
    let mut all = BTreeMap::new();
    for line in map.lines() {
        let hex: Vec<&str> = line
            .split(['<', '>'])
            .map(str::trim)
            .filter(|part| !part.is_empty() && part.len() % 4 == 0)
            .collect();
        let [glyph, text] = hex.as_slice() else {
            continue;
        };
        let Ok(glyph) = u16::from_str_radix(glyph, 16) else {
            continue;
        };
        let units: Option<Vec<u16>> = (0..text.len())
            .step_by(4)
            .map(|at| u16::from_str_radix(text.get(at..at + 4)?, 16).ok())
            .collect();
        if let Some(units) = units {
            all.insert(glyph, String::from_utf16_lossy(&units));
        }
    }
    all
}

/// The text of a report in the order of painting, without blanks.
pub(crate) fn words(pdf: &[u8]) -> String {
    let file = Document::load_mem(pdf).expect("a PDF file");
    let mut text = String::new();
    for page in file.get_pages().into_values() {
        let fonts = fonts(&file, page);
        let content = Content::decode(&file.get_page_content(page)).expect("a page's content");
        let mut font = &BTreeMap::new();
        for operation in &content.operations {
            match operation.operator.as_str() {
                "Tf" => font = &fonts[operation.operands[0].as_name().expect("a font's name")],
                "Tj" => show(&operation.operands[0], font, &mut text),
                "TJ" => {
                    for part in operation.operands[0].as_array().expect("a list") {
                        show(part, font, &mut text);
                    }
                }
                _ => {}
            }
        }
    }
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

fn show(part: &Object, font: &BTreeMap<u16, String>, text: &mut String) {
    let Ok(bytes) = part.as_str() else { return };
    for glyph in bytes.chunks_exact(2) {
        let id = u16::from_be_bytes([glyph[0], glyph[1]]);
        // A glyph that stands for nothing (a part of a tall bracket) is not in the map.
        text.push_str(font.get(&id).map_or("", String::as_str));
    }
}

/// Every `shown` of a results file with the way to it.
fn shown(value: &Value, way: &str, found: &mut Vec<(String, String)>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                match inner {
                    Value::String(text) if key == "shown" => {
                        found.push((way.to_owned(), text.clone()));
                    }

                    _ => shown(inner, &format!("{way}.{key}"), found),
                }
            }
        }
        Value::Array(list) => {
            list.iter()
                .enumerate()
                .for_each(|(i, inner)| shown(inner, &format!("{way}.{i}"), found));
        }
        _ => {}
    }
}

/// With all that it carries.
#[test]
fn the_creamery_report_is_smaller_than_220_kb() {
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let (pdf, _) = reduced(&text)
        .report(text.as_bytes(), &Templates::default())
        .expect("a report");
    assert!(pdf.len() < 220_000, "{} bytes", pdf.len());
}

#[test]
fn every_run_makes_a_report_that_tells_every_result() {
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let pdf = made(&name, &run, &text);
        let again = made(&name, &reduced(&text), &text);
        assert!(pdf == again, "{name}: two makes differ");
        let words = words(&pdf);
        let json: Value =
            serde_json::from_str(&run.results_json().expect("results")).expect("JSON");
        let mut results = Vec::new();
        shown(&json, "", &mut results);
        assert!(results.len() > 5, "{name}: too few results");
        let missing: Vec<_> = results
            .iter()
            .filter(|(_, shown)| !words.contains(&shown.split_whitespace().collect::<String>()))
            .collect();
        assert!(
            missing.is_empty(),
            "{name}: not in the report: {missing:#?}"
        );
        for word in [
            run.file.title.value.as_str(),
            &run.file.date.value.to_string(),
        ] {
            assert!(
                words.contains(&word.split_whitespace().collect::<String>()),
                "{name}: no {word}"
            );
        }
    }
}

#[test]
fn a_report_carries_its_run_file() {
    for (name, text) in good_runs() {
        let pdf = made(&name, &reduced(&text), &text);
        let file = Document::load_mem(&pdf).expect("a PDF file");
        let carried = file
            .objects
            .values()
            .filter_map(|object| object.as_stream().ok())
            .any(|stream| {
                let kind = stream.dict.get(b"Type").and_then(Object::as_name);
                kind.is_ok_and(|kind| kind == b"EmbeddedFile")
                    && stream
                        .decompressed_content()
                        .unwrap_or_else(|_| stream.content.clone())
                        == text.as_bytes()
            });
        assert!(carried, "{name} is not in its report");
    }
}

/// A quantity of the results file.
fn quantity(what: &str, of: &Value, unit: Option<&str>) {
    let number = |name: &str| {
        of[name]
            .as_f64()
            .unwrap_or_else(|| panic!("{what}: no {name} in {of}"))
    };
    let (u, k) = (number("standard_uncertainty"), number("coverage_factor"));
    assert!(
        number("value").is_finite() && u > 0.0 && k > 1.0,
        "{what}: {of}"
    );
    assert!(
        (number("expanded_uncertainty") - k * u).abs() <= 1e-12 * u,
        "{what}: U is not k u"
    );
    assert!(of["dof"].is_null() || number("dof") > 0.0, "{what}: {of}");
    assert!(
        of["shown"]
            .as_str()
            .is_some_and(|shown| shown.contains(" ± ")),
        "{what}: {of}"
    );
    let given = of["unit"]
        .as_str()
        .unwrap_or_else(|| panic!("{what}: no unit"));
    assert!(
        unit.is_none_or(|unit| unit == given),
        "{what} is in {given}"
    );
    let budget = of["budget"]
        .as_array()
        .unwrap_or_else(|| panic!("{what}: no budget"));
    let share = |row: &Value| row["share"].as_f64().filter(|_| row["input"].is_string());
    let shares: Vec<f64> = budget
        .iter()
        .map(|row| share(row).unwrap_or_else(|| panic!("{what}: {row}")))
        .collect();
    let others = of
        .get("others")
        .map_or(0.0, |others| others["share"].as_f64().expect("their share"));
    assert!(
        (shares.iter().sum::<f64>() + others - 1.0).abs() < 1e-9,
        "{what}: {budget:?} and {others}"
    );
    assert!(shares.is_sorted_by(|a, b| a >= b), "{what}: not by share");
}

fn no_null(what: &str, value: &Value) {
    match value {
        Value::Null => panic!("{what} is null"),
        Value::Object(map) => map
            .iter()
            .for_each(|(key, inner)| no_null(&format!("{what}.{key}"), inner)),
        Value::Array(list) => list.iter().for_each(|inner| no_null(what, inner)),
        _ => {}
    }
}

const UNITS: [(&str, &str); 5] = [
    ("density", "g/mL"),
    ("mass_percent", "%"),
    ("mass_concentration", "g/L"),
    ("molarity", "mol/L"),
    ("molality", "mol/kg"),
];

/// What stands beside them where it applies.
const MORE_UNITS: [(&str, &str); 4] = [
    ("density_at_reference", "g/mL"),
    ("specific_gravity_20_20", ""),
    ("degrees_baume", "°Bé"),
    ("percent_saturation", "%"),
];

/// The calibration's scale as the results name it.
fn scale(json: &Value) -> String {
    json["calibration"]["against"]
        .as_str()
        .expect("a scale")
        .replace(' ', "_")
}

/// Fieller's interval holds the value, and lies about as far out as the expanded uncertainty where g is small.
fn fieller(what: &str, found: &Value, json: &Value, unknown: &Value) {
    let number = |of: &Value, key: &str| of[key].as_f64().unwrap_or_else(|| panic!("{what}: {of}"));
    let (low, high, g) = (
        number(found, "low"),
        number(found, "high"),
        number(found, "g"),
    );
    let of = &unknown[scale(json)];
    let (value, expanded) = (number(of, "value"), number(of, "expanded_uncertainty"));
    assert!(
        (0.0..1.0).contains(&g) && low < value && value < high,
        "{what}: {found}"
    );
    for end in [low, high] {
        let apart = ((end - value).abs() - expanded).abs() / expanded;
        assert!(apart <= 1.05 * g.sqrt() + g, "{what}: {found} of {of}");
    }
}

/// Checks what limits, adjustments and known compositions say of a solution; false for anything else.
fn judged(name: &str, key: &str, of: &Value) -> bool {
    let each = || of.as_array().into_iter().flatten();
    match key {
        "limits" => {
            for judged in each() {
                let p = judged["probability_of_conformity"].as_f64();
                assert!(p.is_some_and(|p| (0.0..=1.0).contains(&p)), "{name}: {of}");
            }
        }
        "adjustment" => {
            quantity(name, &of["mass"], Some("kg"));
            quantity(name, &of["amount"], Some("kg"));
        }
        "known" => {
            for beside in each() {
                quantity(name, &beside["known"], None);
                quantity(name, &beside["difference"], None);
            }
        }
        _ => return false,
    }
    true
}

#[test]
fn the_results_file_has_its_fields_and_no_null() {
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let json: Value =
            serde_json::from_str(&run.results_json().expect("results")).expect("JSON");
        no_null(&name, &json);
        let object = |value: &Value| {
            value
                .as_object()
                .unwrap_or_else(|| panic!("{name}: {value}"))
                .clone()
        };
        let keys: Vec<String> = object(&json).into_iter().map(|(key, _)| key).collect();
        let wanted = [
            "calibration",
            "comparison",
            "flags",
            "solutions",
            "unknowns",
        ];
        // Without a line fitted there is no calibration to hand on.
        let fitted = run.reduction.calibration.is_some();
        let mut wanted = wanted.iter().filter(|key| fitted || **key != "calibration");
        assert!(
            wanted.all(|key| keys.iter().any(|k| k == key)),
            "{name}: {keys:?}"
        );
        for part in ["solutions", "unknowns"] {
            for (solution, stated) in object(&json[part]) {
                for (key, of) in object(&stated) {
                    if key == "fieller" {
                        fieller(&format!("{name}: {solution}"), &of, &json, &stated);
                        continue;
                    }
                    if key == "departure" {
                        let size = of["composition"].as_f64();
                        assert!(size.is_some_and(|size| size > 0.0), "{name}: {of}");
                        continue;
                    }
                    if judged(&format!("{name}: {key} of {solution}"), &key, &of) {
                        continue;
                    }
                    let key = match key.as_str() {
                        "by_line_asked_for" => scale(&json),
                        _ => key,
                    };
                    let mut units = UNITS.iter().chain(&MORE_UNITS);
                    let unit = units.find(|(k, _)| *k == key);
                    let unit = unit
                        .unwrap_or_else(|| panic!("{name}: {solution} has {key}"))
                        .1;
                    quantity(&format!("{name}: {key} of {solution}"), &of, Some(unit));
                }
            }
        }
        for (solution, unknown) in object(&json["unknowns"]) {
            assert!(
                UNITS.iter().all(|(key, _)| unknown.get(key).is_some()),
                "{name}: {solution} is not on every scale"
            );
        }
        for (solution, comparison) in object(&json["comparison"]) {
            for key in ["published", "difference"] {
                quantity(
                    &format!("{name}: {key} of {solution}"),
                    &comparison[key],
                    Some("g/mL"),
                );
            }
            let (of, en) = (
                &comparison["difference"],
                comparison["en"].as_f64().expect("E_n"),
            );
            let ratio = of["value"].as_f64().expect("a number")
                / of["expanded_uncertainty"].as_f64().expect("a number");
            assert!((en - ratio).abs() < 1e-12, "{name}: E_n of {solution}");
        }
        if !fitted {
            continue;
        }
        let calibration = &json["calibration"];
        assert!(
            calibration["against"].is_string() && calibration["fit"].is_string(),
            "{name}: {calibration}"
        );
        assert!(
            calibration["dof"].is_u64() && calibration["r_squared"].is_number(),
            "{name}: {calibration}"
        );
        let coefficients = calibration["coefficients"]
            .as_array()
            .expect("coefficients");
        let covariance = calibration["covariance"].as_array().expect("covariance");
        assert!(
            coefficients.len() == covariance.len() && coefficients.len() >= 2,
            "{name}: {calibration}"
        );
        for (k, of) in coefficients.iter().enumerate() {
            quantity(&format!("{name}: coefficient {k}"), of, None);
            let (u, variance) = (
                of["standard_uncertainty"].as_f64(),
                covariance[k][k].as_f64(),
            );
            assert!(
                (u.expect("u").powi(2) / variance.expect("a variance") - 1.0).abs() < 1e-9,
                "{name}: {calibration}"
            );
        }
        for flag in json["flags"].as_array().expect("flags") {
            assert!(
                ["code", "entry", "message"]
                    .iter()
                    .all(|key| flag[key].is_string()),
                "{name}: {flag}"
            );
        }
    }
}

/// Numbers of the results file to nine digits: what is beyond them differs from one machine's arithmetic to another's.
fn rounded(value: &Value) -> Value {
    match value {
        Value::Number(n) if n.is_f64() => format!("{:.8e}", n.as_f64().unwrap_or(f64::NAN)).into(),
        Value::Array(list) => list.iter().map(rounded).collect(),
        Value::Object(map) => map
            .iter()
            .map(|(key, inner)| (key.clone(), rounded(inner)))
            .collect(),
        other => other.clone(),
    }
}

/// Blocks as plain text: what they say, and formulas in TeX.
pub(crate) fn outline<'a>(blocks: impl Iterator<Item = &'a Block>) -> String {
    let mut text = String::new();
    for block in blocks {
        text += &match block {
            Block::Heading(h) => {
                let (level, number) = (
                    usize::from(h.level),
                    h.number.as_ref().map_or("", |number| &number.text),
                );
                format!("{} {number} {}\n\n", "#".repeat(level), plain(&h.text))
            }
            Block::Paragraph(inlines) | Block::Answer(inlines) => plain(inlines) + "\n\n",
            Block::List { items, .. } => {
                let items: Vec<String> = items
                    .iter()
                    .map(|item| format!("- {}", outline(item.iter())))
                    .collect();
                items.concat()
            }
            Block::Panel(inner) => format!("> {}", outline(inner.iter())),
            Block::Table(table) => {
                let row = |cells: &Vec<Vec<Inline>>| {
                    format!(
                        "| {} |\n",
                        cells
                            .iter()
                            .map(|cell| plain(cell))
                            .collect::<Vec<_>>()
                            .join(" | ")
                    )
                };
                let rows: String = std::iter::once(&table.head)
                    .chain(&table.rows)
                    .map(row)
                    .collect();
                format!("{}\n{rows}\n", plain(&table.caption))
            }
            Block::Figure(figure) => plain(&figure.caption) + "\n\n",
            Block::Formula(formula) => {
                let rows: Vec<String> = formula
                    .rows
                    .iter()
                    .map(|(left, right)| format!("    {} & {}\n", left.tex(), right.tex()))
                    .collect();
                let rows = rows.concat();
                format!("{rows}    ({})\n\n", formula.words())
            }
            Block::Listing(listing) => format!("{listing}\n\n"),
            Block::Contents => String::new(),
            Block::Label(label) => format!("{{#{label}}} "),
            Block::NewPage => "---\n\n".to_owned(),
        };
    }
    text
}

fn plain(inlines: &[Inline]) -> String {
    let one = |inline: &Inline| match inline {
        Inline::Text(text) | Inline::Code(text) => text.clone(),
        Inline::Share { per_mille, text } => format!("[{text}](share:{per_mille})"),
        Inline::Emphasis(inner) | Inline::Strong(inner) => plain(inner),
        Inline::Struck(inner) => format!("~~{}~~", plain(inner)),
        Inline::Math(math) => format!("${}$", math.tex()),
        Inline::Reference(label) => format!("#{label}"),
        Inline::Number(label) => format!("(#{label})"),
        Inline::Linked { label, text } => format!("[{}](#{label})", plain(text)),
        Inline::LineEnd => "\n".to_owned(),
        Inline::Tick => "[ ] ".to_owned(),
        Inline::WriteIn(cell) => format!("[{}](cell:{})", cell.boxes, cell.name),
    };
    inlines.iter().map(one).collect()
}

#[test]
fn a_small_run_in_full() {
    let text = read(&path("tests/runs/short.yaml"));
    let (run, problems) = fillmark::pipeline::read("short.yaml", text.as_bytes());
    assert!(problems.is_empty(), "{problems:#?}");
    let run = run.expect("a run");
    let json: Value = serde_json::from_str(&run.results_json().expect("results")).expect("JSON");
    let json = serde_json::to_string_pretty(&rounded(&json)).expect("JSON");
    let manuscript = fillmark::report::manuscript(&run.material(&text), &Templates::default())
        .expect("a manuscript");
    let labelled = |block: &Block, wanted: &str| matches!(block, Block::Heading(heading) if heading.label.as_deref() == Some(wanted));
    let appendix = manuscript
        .blocks
        .iter()
        .skip_while(|block| !labelled(block, "calculations"));
    let appendix = outline(appendix.take_while(|block| !labelled(block, "entries")));
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("short_results", json);
        insta::assert_snapshot!("short_appendix", appendix);
    });
}

/// A column has one power of ten, in its head: of any other cell one would compare only the figures.
#[test]
fn no_number_of_a_column_has_a_power_of_ten_of_its_own() {
    let mut powers = 0;
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let manuscript =
            fillmark::report::manuscript(&run.material(&text), &Templates::default()).unwrap();
        each_block(&manuscript.blocks, &mut |block| {
            let Block::Table(table) = block else {
                return;
            };
            powers += table
                .head
                .iter()
                .filter(|head| plain(head).contains("10⁻"))
                .count();
            for row in &table.rows {
                for (cell, align) in row.iter().zip(&table.columns) {
                    let number = plain(cell);
                    let own = *align == Align::Decimal && number.contains("× 10");
                    assert!(!own, "{name}: {number} in a column");
                }
            }
        });
    }
    assert!(powers > 2, "{powers} columns have a power of ten");
}

#[test]
fn significant_figures_and_monte_carlo_reach_the_page() {
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let figures = "report: {digits: significant figures, ";
    let text = text.replace("report: {", figures);
    assert!(text.contains(figures), "the sample has another report line");
    let (run, problems) = fillmark::pipeline::read("figures.yaml", text.as_bytes());
    assert!(problems.is_empty(), "{problems:#?}");
    let mut run = run.expect("a run");
    run.check_by_monte_carlo(10_000);
    let shown = words(&made("figures", &run, &text));
    let json: Value = serde_json::from_str(&run.results_json().expect("results")).expect("JSON");
    for result in json["monte_carlo"]["results"].as_array().expect("results") {
        let name = result["name"].as_str().expect("a name");
        let name: String = name.split_whitespace().collect();
        assert!(shown.contains(&name), "{name} is not in the report");
    }
    for wanted in [
        "MonteCarlocheck",
        "10000draws",
        "FirstorderMonteCarloVerdict",
        "significantfigures",
    ] {
        assert!(shown.contains(wanted), "{wanted:?} is not in\n{shown}");
    }
    // Common practice: 39.664 g − 28.316 g = 11.348 g over 10.00 mL has four figures.
    assert!(
        shown.contains("1.135"),
        "the bath's density to four figures"
    );
    let body = shown.split("Eachformulaisgivenonce").next();
    assert!(
        body.is_some_and(|body| !body.contains("1.1346")),
        "no figure more than they allow before the calculations"
    );
}

#[test]
fn without_compositions_the_highest_density_has_the_budget() {
    let text = "title: Two liquids\ndate: 2026-03-04\nanalysts: T. Sample\nsolute: {name: sodium chloride}\n\
                conditions: {liquid: 20.0 °C}\napparatus: {meter: {kind: density meter, accuracy: 0.0001 g/mL}}\n\
                solutions: {X: {unknown: true}, Y: {unknown: true}}\ncalibration: none\ndensity:\n  readings:\n\
                \x20   X: [{density: 1.0384 g/mL, with: meter}, {density: 1.0385 g/mL, with: meter}]\n\
                \x20   Y: [{density: 1.0584 g/mL, with: meter}, {density: 1.0585 g/mL, with: meter}]\n";
    let shown = words(&made("two", &reduced(text), text));
    assert!(shown.contains("UncertaintyofthedensityofY"), "{shown}");
    assert!(shown.contains("BudgetofthedensityofY") && !shown.contains("BudgetofthedensityofX"));
}

/// Densities of four solutions of 0 % to 6 %, and of an unknown, g/mL, each uncertain by `u`.
fn read_back(densities: [f64; 4], unknown: f64, u: f64) -> String {
    let points = densities
        .iter()
        .enumerate()
        .map(|(i, rho)| format!("    S{i}: [{{density: {rho:.5} ± {u} g/mL}}]\n"))
        .collect::<Vec<_>>()
        .concat();
    format!(
        "title: Doubts\ndate: 2026-03-04\nanalysts: A. Example\nconditions: {{liquid: 20.0 °C}}\nsolute: {{name: salt, molar_mass: 58.44 g/mol}}\n\
         apparatus: {{}}\nsolutions:\n  S0: {{pure: true}}\n  \
         S1: {{weighed: {{mass: 2.000 ± 0.001 g}}, solvent: {{mass: 98.000 ± 0.001 g}}}}\n  \
         S2: {{weighed: {{mass: 4.000 ± 0.001 g}}, solvent: {{mass: 96.000 ± 0.001 g}}}}\n  \
         S3: {{weighed: {{mass: 6.000 ± 0.001 g}}, solvent: {{mass: 94.000 ± 0.001 g}}}}\n  \
         bath: {{unknown: true}}\ndensity:\n  readings:\n{points}    bath: [{{density: {unknown} ± {u} g/mL}}]\n\
         calibration: {{against: mass percent, line: straight, fit: generalised}}\n"
    )
}

#[test]
fn page_one_and_the_terminal_tell_what_speaks_against_a_result() {
    let rising = [0.99820, 1.01250, 1.02680, 1.04110];
    let flat = [0.99821, 0.99850, 0.99840, 0.99860];
    let all = ["Outsidethecalibratedrange", "Nofiniteinterval"];
    for (what, text, told, line) in [
        ("honest", read_back(rising, 1.02, 0.0002), None, ""),
        (
            "beyond",
            read_back(rising, 1.06, 0.0002),
            Some(all[0]),
            "; outside the calibrated range",
        ),
        (
            "flat",
            read_back(flat, 0.9985, 0.0005),
            Some(all[1]),
            "; no finite interval: the slope may be zero",
        ),
    ] {
        let run = reduced(&text);
        let headline = run.headlines().concat();
        assert!(
            headline.ends_with(&format!("){line}")),
            "{what}: {headline}"
        );
        for set in ["report", "summary"] {
            let templates = Templates::shipped(set).expect("the set");
            let (pdf, _) = run.report(text.as_bytes(), &templates).expect("a report");
            // A word may be divided at the end of a line.
            let shown = words(&pdf).replace('-', "");
            for sentence in all {
                assert_eq!(
                    shown.contains(sentence),
                    told == Some(sentence),
                    "{what}, {set}: {sentence}"
                );
            }
        }
    }
}

#[test]
fn page_one_and_the_terminal_tell_what_monte_carlo_does_not_confirm() {
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let mut run = reduced(&text);
    assert!(!run.headlines().concat().contains("Monte Carlo"), "unasked");
    run.check_by_monte_carlo(100_000);
    let check = run.monte_carlo.as_ref().expect("a check");
    let found = check
        .results
        .iter()
        .find(|r| r.name == "bath 3" && r.quantity == "mass_percent")
        .expect("the headline's check");
    // Student's t of few degrees of freedom has longer tails than first order meets.
    assert!(!found.validated, "the sample is confirmed after all");
    let [low, high] = found.interval();
    let headline = run.headlines().concat();
    assert!(
        headline.contains(&format!("({low} to {high}) %")),
        "{headline}"
    );
    for set in ["report", "summary"] {
        let templates = Templates::shipped(set).expect("the set");
        let (pdf, _) = run.report(text.as_bytes(), &templates).expect("a report");
        let shown = words(&pdf);
        let wanted = format!("({low}to{high})%");
        assert!(shown.contains("intervalbyMonteCarlo"), "{set}");
        assert!(shown.contains(&wanted), "{set}: {wanted}");
    }
}

#[test]
fn letters_lead_to_their_observations() {
    use crate::screen_reader::{Element, Part, read as heard};
    fn links(element: &Element, found: &mut Vec<String>) {
        for part in &element.parts {
            if let Part::Element(inner) = part {
                if inner.kind == "Link" {
                    found.push(inner.shown());
                }
                links(inner, found);
            }
        }
    }
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let text = text.replacen("rinsed: 3", "rinsed: 0", 1);
    let run = reduced(&text);
    assert!(!run.flags.is_empty());
    let (pdf, _) = run
        .report(text.as_bytes(), &Templates::default())
        .expect("a report");
    let mut found = Vec::new();
    links(&heard(&pdf).root, &mut found);
    assert!(found.iter().any(|link| link == "a"), "{found:?}");
    let file = Document::load_mem(&pdf).expect("a PDF file");
    let described = file.objects.values().filter_map(|object| {
        let contents = object.as_dict().ok()?.get(b"Contents").ok()?;
        lopdf::decode_text_string(contents).ok()
    });
    let described: Vec<String> = described.collect();
    assert!(
        described.iter().any(|text| text == "item a"),
        "{described:?}"
    );
}
