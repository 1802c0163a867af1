//! Bench sheets: what is blank is a cell, what is filled in is the run file, what is expected is what is published, and
//! a cell is large enough to write in.

use crate::cli::{ended, fillmark, folder, names, put};
use crate::common::{path, read};
use fillmark::bench::plan::propose;
use fillmark::bench::runfile;
use fillmark::bench::runfile::blank_run::{Bench, BlankRun};
use fillmark::bench::runfile::model::DensityMethod;
use fillmark::bench::runfile::unfinished::{Unfinished, read_unfinished};
use fillmark::print::layout;
use fillmark::print::page::{Document, Mark, Role, Step};
use fillmark::print::typeface::Typefaces;
use fillmark::report::sheet::{self, Request};
use fillmark::report::templates::Templates;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

const FULL: Request = Request {
    expected: true,
    page: false,
};

fn blank() -> String {
    read(&path("tests/browser/blank.yaml"))
}

fn typed() -> String {
    read(&path("tests/browser/typed.yaml"))
}

fn started(way: DensityMethod) -> String {
    BlankRun {
        dilutions: 2,
        unknowns: 1,
        replicates: 2,
        way,
        bench: Bench::default(),
    }
    .text()
}

/// The run file that follows a plan.
fn planned() -> String {
    let plan = read(&path("sample_runs/plans/teaching_bench.yaml"));
    let (plan, problems) = runfile::read_plan("plan.yaml", plan.as_bytes());
    let plan = plan.unwrap_or_else(|| panic!("{problems:#?}"));
    propose(&plan)
        .unwrap_or_else(|problems| panic!("{problems:#?}"))
        .run
}

#[track_caller]
fn unfinished(text: &str) -> Unfinished {
    let (run, problems) = read_unfinished("run.yaml", text.as_bytes(), &BTreeMap::new());
    assert!(problems.is_empty(), "{problems:#?}");
    run.expect("a run file with blanks")
}

fn values(text: &str, wish: Request) -> Value {
    serde_json::to_value(sheet::values(&unfinished(text), "run.yaml", wish)).expect("values")
}

fn data(text: &str) -> Value {
    let data = sheet::data(&unfinished(text), "run.yaml", "key".into()).expect("data");
    serde_json::from_str(&data).expect("JSON")
}

/// Values of sheets that between them have everything a sheet can have.
pub(crate) fn material() -> Vec<Value> {
    let started = DensityMethod::ALL
        .map(started)
        .map(|text| values(&text, FULL));
    let page = Request { page: true, ..FULL };
    started
        .into_iter()
        .chain([values(&blank(), page)])
        .collect()
}

/// The cells of a sheet, by their entries.
fn cells(value: &Value, all: &mut BTreeMap<String, Value>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| cells(item, all)),
        Value::Object(map) => {
            if let Some(entry) = map.get("entry").and_then(Value::as_str) {
                all.insert(entry.to_owned(), value.clone());
            }
            map.values().for_each(|item| cells(item, all));
        }
        _ => {}
    }
}

fn cells_of(text: &str, wish: Request) -> BTreeMap<String, Value> {
    let mut all = BTreeMap::new();
    cells(&values(text, wish), &mut all);
    all
}

/// A run file with something in each blank, by the pieces of the data.
fn filled(data: &Value, value: impl Fn(&Value) -> String) -> String {
    let texts = |key: &str| data[key].as_array().expect("a list").clone();
    let mut pieces = texts("pieces").into_iter();
    let mut text = pieces
        .next()
        .expect("a piece")
        .as_str()
        .expect("text")
        .to_owned();
    for (field, piece) in texts("fields").iter().zip(pieces) {
        text += &value(field);
        text += piece.as_str().expect("text");
    }
    text
}

fn every_kind_of_file() -> Vec<String> {
    let mut all: Vec<String> = DensityMethod::ALL.map(started).to_vec();
    all.push(blank());
    all.push(format!("\u{feff}{}", blank()));
    all.push(blank().replace('\n', "\r\n"));
    all.push(typed());
    all.push(planned());
    all
}

#[test]
fn what_is_not_filled_in_stays_as_it_is_byte_for_byte() {
    for text in every_kind_of_file() {
        let gap = |field: &Value| field["gap"].as_str().expect("a gap").to_owned();
        assert_eq!(filled(&data(&text), gap), text);
    }
}

/// The independent reader finds what was put into a blank at the very entry that the blank has the name of, and all other
/// entries as they were.
#[test]
fn what_is_put_into_a_blank_is_read_at_its_entry() {
    let hand = typed();
    let known = |text: &str| -> BTreeMap<String, String> {
        let (run, problems) = runfile::read("run.yaml", text.as_bytes());
        let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
        let entries = run.entries.into_iter();
        entries.map(|at| (at.entry.name, at.value.into())).collect()
    };
    let expected = known(&hand);
    for text in [
        blank(),
        format!("\u{feff}{}", blank()),
        blank().replace('\n', "\r\n"),
    ] {
        let text = filled(&data(&text), |field| {
            let entry = field["entry"].as_str().expect("an entry");
            match expected.get(entry) {
                Some(value) => format!(" {value} "),
                None => " [R. Example, T. Sample] ".to_owned(),
            }
        });
        assert_eq!(known(&text), expected);
    }
}

#[test]
fn every_blank_has_one_cell_and_one_field() {
    for text in every_kind_of_file() {
        let run = unfinished(&text);
        let blanks = run
            .root
            .entries()
            .into_iter()
            .filter(|part| part.blank().is_some());
        let blanks: BTreeSet<String> = blanks.map(|part| part.entry.clone()).collect();
        let open = cells_of(&text, FULL).into_iter();
        let open = open.filter(|(_, cell)| cell["written"].is_null());
        let open: BTreeSet<String> = open.map(|(entry, _)| entry).collect();
        let drafts = blanks.iter().filter(|entry| *entry != "draft");
        assert_eq!(open, drafts.cloned().collect());
        let fields = data(&text)["fields"].as_array().expect("fields").clone();
        let fields = fields
            .iter()
            .map(|field| field["entry"].as_str().expect("text").to_owned());
        assert_eq!(fields.collect::<BTreeSet<_>>(), blanks);
    }
}

/// Water of 21 °C has 0.99799 g/mL. 26.89 g of sodium chloride in 250 mL are 107.56 g/L: 10.05 % and, by the tables of the
/// handbooks (1.0707 g/mL at 10 % and 20 °C, 0.0073 g/mL more for each per cent, 0.0003 g/mL less for a degree), 1.0707 g/mL.
#[test]
fn what_is_expected_is_what_is_planned_and_published() {
    let all = cells_of(&blank(), FULL);
    let boxes = |entry: &str| all[entry]["boxes"].as_str().expect("boxes").to_owned();
    assert_eq!(boxes("solutions.A.weighed.mass"), "###.## g ≈ 26.89 g");
    assert_eq!(
        boxes("weighings.water.1.filled"),
        "###.## g ≈ empty + 24.95"
    );
    assert_eq!(boxes("weighings.A.1.filled"), "###.## g ≈ empty + 26.77");
    assert_eq!(boxes("weighings.A.1.empty"), "###.## g");
    assert_eq!(
        boxes("weighings.unknown.1.filled"),
        "###.## g",
        "nobody knows it"
    );
    assert_eq!(
        boxes("conditions.liquid"),
        "… °C ≈ 21 ± 1 °C",
        "no thermometer is told"
    );
    assert_eq!(boxes("date"), "####-##-##");
    // What the writer of a planned run tells in a comment, the sheet finds there; its salt is 99.5 % pure, and A a little lighter.
    let all = cells_of(&planned(), FULL);
    assert_eq!(
        all["solutions.A.weighed.mass"]["boxes"],
        "###.## g ≈ 26.89 g"
    );
    assert_eq!(
        all["weighings.A.1.filled"]["boxes"],
        "###.## g ≈ empty + 26.76"
    );
    // With the vessel's mass known, the sum.
    let partly = blank().replacen("{empty: , filled: ,", "{empty: 31.20, filled: ,", 1);
    let all = cells_of(&partly, FULL);
    assert_eq!(all["weighings.water.1.filled"]["boxes"], "###.## g ≈ 56.15");
    assert_eq!(all["weighings.water.1.empty"]["written"], "31.20");
    let bare = Request {
        expected: false,
        ..FULL
    };
    for (entry, cell) in cells_of(&blank(), bare) {
        assert!(
            !cell["boxes"].as_str().expect("boxes").contains('≈'),
            "{entry}"
        );
    }
}

/// A row that has no such entry as another says so, and does not stand for that other one.
#[test]
fn what_a_row_has_not_is_not_asked_for() {
    let one = blank().replacen("volume: 25 mL}", "volume: 25 mL, liquid: }", 1);
    let sheet = values(&one, FULL);
    let rows = &sheet["measurements"][0]["rows"];
    assert_eq!(rows[0]["cells"][3]["entry"], "weighings.water.1.liquid");
    assert_eq!(rows[0]["cells"][3]["written"], Value::Null);
    assert_eq!(
        (
            &rows[1]["cells"][3]["entry"],
            &rows[1]["cells"][3]["written"]
        ),
        (&"".into(), &"–".into())
    );
    // A planned amount ends with its sentence.
    let two = blank().replace("Planned: 26.89 g.", "Planned: 26.89 g. Dry the salt first.");
    let all = cells_of(&two, FULL);
    assert_eq!(
        all["solutions.A.weighed.mass"]["boxes"],
        "###.## g ≈ 26.89 g"
    );
}

/// A run without anything known: no number is made up.
#[test]
fn nothing_is_expected_of_a_run_of_which_nothing_is_known() {
    for way in DensityMethod::ALL {
        for (entry, cell) in cells_of(&started(way), FULL) {
            let boxes = cell["boxes"].as_str().expect("boxes");
            let water = boxes.contains('≈') && entry.contains("water");
            assert!(water || !boxes.contains('≈'), "{entry}: {boxes}");
        }
    }
}

#[test]
fn steps_come_in_order_with_rinsing_and_mixing() {
    let chain = blank().replace(
        "  unknown: {unknown: true}\n",
        "  unknown: {unknown: true}\n  D: {aliquot: {of: C, volume: 2 × 25 mL, with: pipette}, made_up: {to: 100 mL, in: small flask}}\n  \
         C: {aliquot: {of: A, volume: 25 mL, with: pipette}, made_up: {to: 100 mL, in: small flask}, mixed: shaken}\n",
    );
    let sheet = values(&chain, FULL);
    let made = sheet["preparations"].as_array().expect("work");
    let names: Vec<&str> = made
        .iter()
        .map(|work| work["of"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["A", "B", "C", "D"], "each after what it is made of");
    let steps = |work: &Value| -> Vec<String> {
        let steps = work["steps"].as_array().expect("steps").iter();
        steps
            .map(|step| step["text"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(
        steps(&made[0]),
        [
            "Tare a vessel on balance and weigh about 26.89 g of sodium chloride into it.",
            "Rinse large flask 3 times with water.",
            "Dissolve it, and make up to 250 mL in large flask.",
            "Mix A.",
        ]
    );
    assert_eq!(
        steps(&made[3]),
        [
            "Rinse pipette 3 times with C.",
            "Take 2 × 25 mL of C with pipette.",
            "Rinse small flask 3 times with water.",
            "Make up to 100 mL in small flask.",
            "Mix D.",
        ]
    );
    assert_eq!(steps(&made[2])[4], "Mix C (shaken).");
    let rinsed = chain
        .replace("of: C, ", "of: C, rinsed: 1, ")
        .replace("  rinsed: ", "  rinsed: 5");
    let sheet_rinsed = values(&rinsed, FULL);
    let first = |work: &str, index: usize| steps(&sheet_rinsed[work][index])[0].clone();
    assert_eq!(first("preparations", 3), "Rinse pipette once with C.");
    assert_eq!(
        first("measurements", 0),
        "Rinse pipette 5 times with water."
    );
    let water = &sheet["measurements"][0];
    assert_eq!(
        steps(water),
        [
            "Rinse pipette 3 times with water.",
            "For each row, weigh a vessel empty, deliver water into it with pipette, and weigh it again.",
        ]
    );
    assert_eq!(
        water["columns"],
        serde_json::json!(["empty / g", "filled / g", "volume / mL"])
    );
}

/// A document of a sheet.
fn document(text: &str) -> Document {
    let manuscript = sheet::manuscript(&unfinished(text), "run.yaml", FULL, &Templates::sheet());
    let manuscript = manuscript.unwrap_or_else(|problems| panic!("{problems:#?}"));
    let laid = layout::set(manuscript, Typefaces::shared(), &layout::Style::default());
    let laid = laid.expect("a sheet that can be set");
    assert!(laid.warnings.is_empty(), "{:?}", laid.warnings);
    laid.document
}

/// A sheet's PDF.
pub(crate) fn printed(text: &str) -> Vec<u8> {
    fillmark::print::pdf::write(document(text), Typefaces::shared()).expect("a PDF")
}

/// Left, top, right and bottom of what is drawn.
fn bounds(steps: &[Step]) -> [f32; 4] {
    let mut corners = [f32::MAX, f32::MAX, f32::MIN, f32::MIN];
    for step in steps {
        if let Step::Move(x, y) | Step::Line(x, y) = step {
            let [left, top, right, bottom] = corners;
            corners = [left.min(*x), top.min(*y), right.max(*x), bottom.max(*y)];
        }
    }
    corners
}

#[test]
fn cells_are_large_enough_to_write_in_and_stand_on_the_page() {
    const MM: f32 = 72.0 / 25.4;
    for text in every_kind_of_file() {
        let document = document(&text);
        let mut boxes = 0;
        for page in &document.pages {
            let mut taken: Vec<[f32; 4]> = Vec::new();
            for item in &page.items {
                let role = item.element.map(|element| document.structure[element].role);
                let Mark::Shape(shape) = &item.mark else {
                    continue;
                };
                let [left, top, right, bottom] = bounds(&shape.steps);
                let (width, height) = (right - left, bottom - top);
                match role {
                    Some(Role::WriteIn) if height > 1.0 => {
                        assert!(width > 5.9 * MM && height > 7.9 * MM, "{width} by {height}");
                        for [l, t, r, b] in &taken {
                            let apart = left >= r - 0.1
                                || right <= l + 0.1
                                || top >= b - 0.1
                                || bottom <= t + 0.1;
                            assert!(apart, "cells overlap");
                        }
                        taken.push([left, top, right, bottom]);
                        boxes += 1;
                    }
                    Some(Role::WriteIn) => assert!(width > 25.0 * MM, "a line of {width}"),
                    Some(Role::Tick) => assert!(width > 3.5 * MM && height > 3.5 * MM),
                    _ => continue,
                }
                assert!(
                    left > 20.0 && right < page.width - 20.0,
                    "{left} to {right}"
                );
                assert!(
                    top > 20.0 && bottom < page.height - 20.0,
                    "{top} to {bottom}"
                );
            }
        }
        assert!(boxes > 7, "{boxes} boxes");
    }
}

#[test]
fn sentences_say_what_is_asked_for_and_cells_name_its_entry() {
    let mut named = 0;
    for page in &document(&blank()).pages {
        for item in &page.items {
            let Mark::Glyphs(run) = &item.mark else {
                continue;
            };
            let said: String = run.glyphs.iter().map(|glyph| &*glyph.text).collect();
            assert!(!said.contains("practice.rinsed:"), "{said}");
            named += usize::from(said.contains("practice.rinsed"));
        }
    }
    assert_eq!(named, 1);
}

#[test]
fn a_screen_reader_is_told_what_each_cell_is_for() {
    let text = blank() + "\nclaimed: {densities: {A: , B: }, mass percent: {A: , B: }}\n";
    let document = document(&text);
    let said: Vec<&str> = document
        .structure
        .iter()
        .filter(|element| element.role == Role::WriteIn)
        .map(|element| element.alternative.as_deref().expect("words"))
        .collect();
    for wanted in [
        "reading of A, weighing 1: the empty vessel, in g",
        "reading of solution B: weighed into a tared vessel, in g",
        "reading of temperature of the liquid that was weighed, in °C",
        "Day of the work, YYYY-MM-DD",
        "A: the density claimed, in g/mL",
        "B: the mass percent claimed, in %",
    ] {
        assert!(said.contains(&wanted), "{wanted} is not among {said:#?}");
    }
    let unique: BTreeSet<&&str> = said.iter().collect();
    assert_eq!(
        unique.len(),
        said.len(),
        "no two cells sound alike: {said:#?}"
    );
}

#[test]
fn limits_of_the_page_are_those_of_the_reader() {
    let page = data(&blank());
    let fields = page["fields"].as_array().expect("fields");
    let field = |entry: &str| {
        fields
            .iter()
            .find(|field| field["entry"] == entry)
            .expect("a field")
    };
    let liquid = &field("conditions.liquid")["limits"];
    assert_eq!(
        (&liquid["low"], &liquid["high"]),
        (&(-25.0).into(), &110.0.into())
    );
    assert_eq!(liquid["likely"], serde_json::json!([5.0, 45.0]));
    let empty = field("weighings.A.1.empty");
    assert_eq!(
        empty["shown"],
        serde_json::json!({"by": "balance", "step": "0.01 g", "decimals": 2})
    );
    assert_eq!(page["orders"][0]["less"], "weighings.water.1.empty");
    assert_eq!(page["orders"][0]["more"], "weighings.water.1.filled");
    // Where the balance is not described yet, what will be typed tells what it shows.
    let page = data(&started(DensityMethod::Weighings));
    let fields = page["fields"].as_array().expect("fields");
    let empty = fields
        .iter()
        .find(|field| field["entry"] == "weighings.A.1.empty");
    assert_eq!(
        empty.expect("a field")["shown"]["step_at"],
        "apparatus.balance.readability"
    );
    let humid = blank().replace("  liquid:  ", "  humidity:\n  liquid:  ");
    let page = data(&humid);
    let field = &page["fields"].as_array().expect("fields")[2];
    assert_eq!(
        (&field["entry"], &field["unit"]),
        (&"conditions.humidity".into(), &"%".into())
    );
    assert_eq!(
        (&field["limits"]["high"], &field["behind"]),
        (&100.0.into(), &"%".into())
    );
}

/// A spindle in degrees Baumé: boxes, unit and limits are those of its scale, and the unit is written into the file, as a
/// bare number there is a density.
#[test]
fn readings_on_a_scale_of_the_trade_are_asked_for_and_saved_on_it() {
    for (scale, unit, boxes, typed, saved) in [
        (
            "scale: degrees Baumé, modulus: 145, standard: 60 °F, readability: 0.1 °Bé, accuracy: 0.1 °Bé",
            "°Bé",
            "###.# °Bé",
            "17.8",
            "17.8 °Bé",
        ),
        (
            "scale: specific gravity, standard: 20 °C, water: 4 °C, readability: specific gravity 0.002, accuracy: specific gravity 0.002",
            "",
            "###.### ",
            "1.152",
            "specific gravity 1.152",
        ),
        (
            "scale: per cent of saturation, saturated: 26.395 %, standard: 60 °F, readability: 1 % saturation, accuracy: 1 % saturation",
            "% saturation",
            "### % saturation",
            "76",
            "76 % saturation",
        ),
    ] {
        let text = format!(
            "title: spindle\ndate: 2026-03-04\nanalysts: R. Example\nconditions: {{liquid: 20.0 °C}}\nsolute: NaCl\n\
             apparatus:\n  spindle: {{kind: hydrometer, {scale}}}\nsolutions:\n  bath: {{unknown: true}}\n\
             density:\n  readings:\n    bath: [{{density: , with: spindle}}]\ncalibration: published\n"
        );
        let cell = &cells_of(&text, FULL)["density.readings.bath.1.density"];
        assert_eq!(cell["boxes"].as_str().unwrap(), boxes);
        let page = data(&text);
        let field = &page["fields"][0];
        assert_eq!(field["unit"].as_str().unwrap_or_default(), unit);
        // As the script writes it.
        let part = |key: &str| field[key].as_str().unwrap_or_default().to_owned();
        let parts = [part("before"), typed.to_owned(), part("behind")];
        let written = parts
            .iter()
            .filter(|part| !part.is_empty())
            .cloned()
            .collect::<Vec<_>>()
            .join(" ");
        assert_eq!(written, saved);
        let (run, problems) = runfile::read(
            "run.yaml",
            filled(&page, |_| format!(" {written}")).as_bytes(),
        );
        assert!(run.is_some(), "{problems:#?}");
    }
}

#[test]
fn sheets_stand_beside_the_run_file_and_nothing_foreign_is_written_over() {
    let folder = folder("sheet");
    put(&folder, "bath.yaml", &blank());
    let (out, _) = ended(&fillmark(&folder, &["sheet", "bath.yaml"]), 0);
    assert!(out.contains("bath.sheet.pdf"), "{out}");
    ended(&fillmark(&folder, &["sheet", "bath.yaml", "--html"]), 0);
    assert_eq!(
        names(&folder),
        ["bath.sheet.html", "bath.sheet.pdf", "bath.yaml"]
    );
    let bytes = |name: &str| std::fs::read(folder.join(name)).expect("a file");
    let first = ["bath.sheet.pdf", "bath.sheet.html"].map(bytes);
    for arguments in [
        &["sheet", "bath.yaml"][..],
        &["sheet", "bath.yaml", "--html"],
    ] {
        ended(&fillmark(&folder, arguments), 0);
    }
    assert_eq!(
        first,
        ["bath.sheet.pdf", "bath.sheet.html"].map(bytes),
        "the same bytes again"
    );
    let page = String::from_utf8(first[1].clone()).expect("UTF-8");
    roxmltree::Document::parse(page.strip_prefix("<!DOCTYPE html>\n").expect("a page"))
        .expect("XML");
    for foreign in [
        "http:",
        "https:",
        "//cdn",
        "@import",
        "fetch(",
        "XMLHttp",
        "new Date",
        "Date.now",
        "performance.",
    ] {
        let known = page.replace("http://www.w3.org/1999/xhtml", "");
        assert!(!known.contains(foreign), "{foreign} is in the page");
    }
    // A note of somebody's, and a report, stay.
    put(&folder, "typed.yaml", &typed());
    ended(
        &fillmark(
            &folder,
            &["report", "typed.yaml", "--pdf", "bath.sheet.pdf", "--force"],
        ),
        0,
    );
    put(&folder, "bath.sheet.html", "<p>mine</p>");
    for arguments in [
        &["sheet", "bath.yaml"][..],
        &["sheet", "bath.yaml", "--html"],
    ] {
        let (_, err) = ended(&fillmark(&folder, arguments), 2);
        assert!(err.contains("is not overwritten"), "{err}");
        let forced: Vec<&str> = arguments.iter().copied().chain(["--force"]).collect();
        ended(&fillmark(&folder, &forced), 0);
    }
    // And no report is written over a sheet.
    let report = ["report", "typed.yaml", "--pdf", "bath.sheet.pdf"];
    ended(&fillmark(&folder, &report), 2);
}

#[test]
fn what_is_wrong_otherwise_is_told_and_no_sheet_is_made() {
    let folder = folder("sheet_problems");
    for (name, from, to, told) in [
        ("key", "weighed:", "wieghed:", "unknown-key"),
        (
            "value",
            "readability: 0.01 g",
            "readability: 0.0l g",
            "not-a-number",
        ),
        ("kind", "kind: balance, ", "kind: , ", "balance.kind: "),
        (
            "item",
            "analysts:  ",
            "analysts: [R. Example, ~]  ",
            "  analysts\n",
        ),
        (
            "alias",
            "{empty: , filled: ,",
            "{empty: &a , filled: *a ,",
            "water.1.empty: ",
        ),
    ] {
        let run = blank();
        assert!(run.contains(from), "{from}");
        put(&folder, &format!("{name}.yaml"), &run.replacen(from, to, 1));
        let (_, err) = ended(&fillmark(&folder, &["sheet", &format!("{name}.yaml")]), 1);
        assert!(err.contains(told), "{told} is not in {err}");
        let blank = told.contains(": ") || told.starts_with(' ');
        assert_eq!(err.matches("Error").count(), usize::from(!blank), "{err}");
    }
    assert!(names(&folder).iter().all(|name| !name.contains("sheet")));
}

/// Weighings that stand in a table are written there; one that is blank there is told, as no page can fill it in.
#[test]
fn a_table_beside_the_run_file_is_filled_in_by_itself() {
    let (run, table) = crate::cli::good_with_table();
    let folder = folder("sheet_table");
    let run = run.replacen("date: ", "date:  # ", 1);
    put(&folder, "bath.yaml", &run);
    put(&folder, "readings.csv", &table);
    let (out, _) = ended(&fillmark(&folder, &["sheet", "bath.yaml"]), 0);
    assert!(out.contains("1 entry to fill in"), "{out}");
    let bytes = std::fs::read(folder.join("readings.csv")).expect("the table");
    assert_eq!(bytes, table.as_bytes(), "it stays as it is");
    put(&folder, "readings.csv", &table.replacen("41.176 g", "", 1));
    let (_, err) = ended(&fillmark(&folder, &["sheet", "bath.yaml", "--html"]), 1);
    assert!(err.contains("readings.csv:"), "{err}");
}

#[test]
fn a_template_of_ones_own_that_goes_wrong_is_told_by_file_and_line() {
    let folder = folder("sheet_template");
    put(&folder, "bath.yaml", &blank());
    std::fs::create_dir(folder.join("mine")).expect("a folder");
    put(
        &folder,
        "mine/report.md",
        "{% from \"cell.md\" import cell %}\n{{ cell(heading[1]) }}\n\n{{ tilte }}\n",
    );
    let arguments = ["sheet", "bath.yaml", "--template", "mine"];
    let (_, err) = ended(&fillmark(&folder, &arguments), 1);
    assert!(err.contains("mine/report.md:4"), "{err}");
    put(
        &folder,
        "mine/report.md",
        "{% from \"cell.md\" import cell %}\n{{ cell(heading[1]) }}\n\n{{ title }}\n",
    );
    ended(&fillmark(&folder, &arguments), 0);
    let (_, err) = ended(
        &fillmark(&folder, &["sheet", "bath.yaml", "--template", "yours"]),
        2,
    );
    assert!(err.contains("yours"), "{err}");
}

#[test]
fn more_blanks_than_problems_are_listed_make_a_sheet_all_the_same() {
    let rows = "      - {empty: , filled: , volume: 25 mL}\n".repeat(150);
    let many = blank().replacen("    A:\n      -", &format!("    A:\n{rows}      -"), 1);
    let all = cells_of(&many, FULL);
    assert!(all.len() > 300, "{} cells", all.len());
}

#[test]
fn a_run_file_in_short_forms_has_the_sheet_of_the_same_written_out() {
    const SHORT: &str = "
title: Salt solution
date:
analysts: Sam
conditions: {liquid: 21}
solute: table salt
apparatus:
  scale: {kind: analytical balance, readability: 0.01}
  cylinder: {kind: measuring cylinder, capacity: 100, class: B}
  pipette: {kind: volumetric pipette, capacity: 5, class: A}
solutions:
  stock:
    weighed: 8.04
    made_up: 100
  dilution:
    aliquot: 5 x 5 of stock
    made_up: 100
density:
  weighings:
    stock: {empty: , filled: , volume: 5}
    dilution: {empty: , filled: , volume: 5}
";
    let whole = SHORT
        .replace("analytical balance", "balance")
        .replace("measuring cylinder", "cylinder")
        .replace("volumetric pipette", "pipette")
        .replace("weighed: 8.04", "weighed: {mass: 8.04, balance: scale}")
        .replace(
            "aliquot: 5 x 5 of stock",
            "aliquot: {of: stock, volume: 5 x 5, with: pipette}",
        )
        .replace("made_up: 100", "made_up: {to: 100, in: cylinder}")
        .replace("density:", "density:\n  balance: scale\n  pipette: pipette");
    let steps = |text: &str| {
        let values = values(text, FULL);
        let words = serde_json::to_string(&[&values["preparations"], &values["measurements"]]);
        words.expect("values").replace(" on scale", "")
    };
    assert_eq!(steps(SHORT), steps(&whole));
    let short = steps(SHORT);
    for told in [
        "Take 5 x 5 of stock with pipette.",
        "weigh 8.04 of table salt",
        "###.## g",
        "in cylinder",
        "Rinse pipette 3 times with stock.",
    ] {
        assert!(short.contains(told), "{told} is not in {short}");
    }
}

#[test]
fn headings_and_steps_stand_on_the_page_of_their_table() {
    let folder = folder("sheet_pages");
    put(&folder, "run.yaml", &planned());
    ended(&fillmark(&folder, &["sheet", "run.yaml"]), 0);
    let pdf = std::fs::read(folder.join("run.sheet.pdf")).expect("a sheet");
    let pdf = lopdf::Document::load_mem(&pdf).expect("a PDF file");
    let count = pdf.get_pages().len() as u32;
    let pages = (1..=count).map(|page| {
        let text = pdf.extract_text(&[page]).expect("its text");
        text.split_whitespace().collect::<String>()
    });
    let pages: Vec<String> = pages.collect();
    for solution in ["water", "A", "B", "C", "unknown"] {
        let heading = format!("Weighingsof{solution}1.");
        let page = pages.iter().find(|page| page.contains(&heading));
        let page = page.unwrap_or_else(|| panic!("no page has {heading}"));
        let cell = format!("weighings.{solution}.1.empty");
        assert!(
            page.contains(&cell),
            "{solution}: the table is on another page"
        );
    }
}
