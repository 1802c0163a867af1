//! Weighings from a table beside the run file: the same results as in the run file, and what is told of a bad one.

use crate::common::{path, read};
use fillmark::bench::runfile;
use fillmark::pipeline::{self, Run};
use fillmark::problem::{Code, Rendering, Sources, render};
use fillmark::report::templates::Templates;
use lopdf::{Document, Object};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A run file whose weighings stand elsewhere.
pub(crate) fn run_file(weighings: &str) -> String {
    let whole = read(&path("tests/runs/short.yaml"));
    let (before, _) = whole.split_once("  weighings:").expect("weighings");
    format!("{before}  weighings: {weighings}\n")
}

pub(crate) const FROM: &str = "{from: readings.csv}";
pub(crate) const TABLE: &str = "\
solution,empty,filled,volume,liquid,left_out
water,31.204 g,41.176 g,10.00 mL,,
A,31.204,42.480,10.00,20.8 °C,
A,31.210 g,42.498 g,10.00 mL,,bubble in the pipette
B,31203 mg,41449 mg,10.00 mL,,
bath 3,31.203 g,41.801 g,10.00 mL,,
";
/// The same readings as they stand in a run file.
const WRITTEN: &str = "
    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]
    A: [{empty: 31.204 g, filled: 42.480 g, volume: 10.00 mL, liquid: 20.8 °C},
        {empty: 31.210 g, filled: 42.498 g, volume: 10.00 mL, left_out: bubble in the pipette}]
    B: [{empty: 31203 mg, filled: 41449 mg, volume: 10.00 mL}]
    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]
";

fn beside(table: &[u8]) -> BTreeMap<String, Vec<u8>> {
    BTreeMap::from([("readings.csv".to_owned(), table.to_vec())])
}

#[track_caller]
fn reduced(run: &str, table: &str) -> Run {
    let files = beside(table.as_bytes());
    let (run, problems, _) = pipeline::read_beside("bench/run.yaml", run.as_bytes(), &files);
    assert_eq!(problems, [], "no problem");
    run.expect("a run without problems")
}

#[test]
fn a_table_from_a_spreadsheet_says_the_same_with_one_warning() {
    let written = reduced(&run_file(WRITTEN), "")
        .results_json()
        .expect("results");
    let table = TABLE.replace(',', ";").replace('.', ",");
    let table = table.replace(
        "solution;empty;filled;volume",
        "Solution;EMPTY (g);Filled / g;Volume [mL]",
    );
    let files = beside(table.as_bytes());
    let text = run_file(FROM);
    let (run, problems, _) = pipeline::read_beside("bench/run.yaml", text.as_bytes(), &files);
    let codes: Vec<Code> = problems.iter().map(|problem| problem.code).collect();
    assert_eq!(codes, [Code::DecimalCommasRead], "{problems:?}");
    assert_eq!(
        run.expect("a run").results_json().expect("results"),
        written
    );
}

#[test]
fn a_workbook_is_told_to_be_saved_otherwise() {
    let text = run_file(FROM);
    let files = beside(b"PK\x03\x04 and so on");
    let (run, problems, _) = pipeline::read_beside("bench/run.yaml", text.as_bytes(), &files);
    assert!(run.is_none());
    let right = problems[0].right.as_deref().unwrap_or_default();
    assert!(right.contains("CSV"), "{right}");
}

#[test]
fn a_table_says_the_same_as_the_run_file() {
    let written = reduced(&run_file(WRITTEN), "");
    let wanted = written.results_json().expect("results");
    let quoted: String = TABLE
        .lines()
        .map(|line| {
            let cells: Vec<String> = line.split(',').map(|cell| format!("\"{cell}\"")).collect();
            cells.join(",") + "\n"
        })
        .collect();
    let spaced = TABLE.replace(',', " ;  ").replace("B ", "\n ;\t;\n\nB ");
    for (how, table) in [
        ("commas", TABLE.to_owned()),
        ("semicolons", TABLE.replace(',', ";")),
        ("tabs", TABLE.replace(',', "\t")),
        (
            "byte order mark, CR LF",
            format!("\u{feff}{}", TABLE.replace('\n', "\r\n")),
        ),
        ("quotes", quoted),
        ("white space, blank lines", spaced),
        ("nothing at the ends of lines", TABLE.replace(",,\n", "\n")),
        ("no line end at the end", TABLE.trim_end().to_owned()),
    ] {
        let run = reduced(&run_file(FROM), &table);
        assert_eq!(run.results_json().expect("results"), wanted, "{how}");
    }
}

#[test]
fn columns_go_by_the_names_that_the_run_file_gives() {
    let wanted = reduced(&run_file(FROM), TABLE)
        .results_json()
        .expect("results");
    let table = TABLE.replace(
        "solution,empty,filled,volume,liquid,left_out",
        "sample,\"tare, g\",gross,V,T,remark",
    );
    // Two more columns: one for the pipette, one that is of no concern.
    let table: String = table
        .lines()
        .enumerate()
        .map(|(i, line)| match i {
            0 => format!("no,{line},by\n"),
            _ => format!("{i},{line},ten pipette\n"),
        })
        .collect();
    let from = "
    from: readings.csv
    columns: {solution: sample, empty: 'tare, g', filled: gross, volume: V, liquid: T, left_out: remark, pipette: by}
    unread: no";
    let run = run_file(from).replace("  pipette: ten pipette\n", "");
    assert_eq!(
        reduced(&run, &table).results_json().expect("results"),
        wanted
    );
}

#[test]
fn entries_of_the_table_are_named_and_placed() {
    let run = reduced(&run_file(FROM), TABLE);
    let entry = |name: &str| {
        let mut entries = run.file.entries.iter();
        let found = entries.find(|entry| entry.entry.name == name);
        found.unwrap_or_else(|| panic!("no entry {name}"))
    };
    let filled = entry("weighings.A.2.filled");
    assert_eq!(filled.value, "42.498 g", "as written");
    assert_eq!(
        (
            &*filled.entry.span.file,
            filled.entry.span.line,
            filled.entry.span.column
        ),
        ("bench/readings.csv", 4, 12),
        "where it stands"
    );
    assert_eq!(
        entry("weighings.from").value,
        "readings.csv",
        "of the run file"
    );
    let first = run
        .file
        .entries
        .iter()
        .position(|e| &*e.entry.span.file != "bench/run.yaml");
    let (of_run, of_table) = run
        .file
        .entries
        .split_at(first.expect("entries of the table"));
    assert_eq!(of_table.len(), 17, "every reading once: {of_table:#?}");
    for part in [of_run, of_table] {
        assert!(
            part.is_sorted_by(|a, b| a.entry.span < b.entry.span),
            "in the order of the files"
        );
    }
}

#[test]
fn a_reading_of_the_table_can_be_corrected() {
    let correction = "corrections: [{entry: weighings.A.1.filled, was: 42.840 g, now: 42.480 g, why: digits transposed}]";
    let run = reduced(&format!("{}{correction}\n", run_file(FROM)), TABLE);
    assert_eq!(run.file.corrections[0].entry.value, "weighings.A.1.filled");
}

#[test]
fn a_solution_may_be_called_from() {
    let text = run_file(WRITTEN)
        .replace("  B:", "  from:")
        .replace("    B:", "    from:");
    assert!(
        reduced(&text, "")
            .results_json()
            .expect("results")
            .contains("\"from\"")
    );
}

/// The files that a report carries, with name and relationship, in order.
fn carried(pdf: &[u8]) -> Vec<(String, String, Vec<u8>)> {
    let file = Document::load_mem(pdf).expect("a PDF file");
    let list = file
        .catalog()
        .and_then(|c| c.get(b"AF"))
        .and_then(Object::as_array);
    let specification = |object: &Object| {
        let dictionary = file
            .get_dictionary(object.as_reference().expect("a reference"))
            .expect("a file specification");
        let text = |key: &[u8]| dictionary.get(key).expect("an entry").clone();
        let stream = text(b"EF")
            .as_dict()
            .and_then(|ef| ef.get(b"UF"))
            .and_then(Object::as_reference);
        let stream = file
            .get_object(stream.expect("a stream"))
            .and_then(Object::as_stream)
            .expect("a stream");
        let bytes = stream
            .decompressed_content()
            .unwrap_or_else(|_| stream.content.clone());
        let name = lopdf::decode_text_string(&text(b"UF")).expect("a name");
        let relationship = text(b"AFRelationship");
        let relationship =
            String::from_utf8_lossy(relationship.as_name().expect("a name")).into_owned();
        (name, relationship, bytes)
    };
    list.expect("a list of files")
        .iter()
        .map(specification)
        .collect()
}

/// A table with all that might be lost on its way into a report, and the report made with it at a path.
fn reported(path: &str) -> (String, String, Vec<u8>) {
    let table = format!("\u{feff}{}", TABLE.replace(',', "\t").replace('\n', "\r\n"));
    let text = run_file(&format!("{{from: {path}}}"));
    let files = BTreeMap::from([(path.to_owned(), table.clone().into_bytes())]);
    let (run, problems, _) = pipeline::read_beside("bench/run.yaml", text.as_bytes(), &files);
    assert_eq!(problems, [], "no problem");
    let run = run.expect("a run");
    let made = run.report(text.as_bytes(), &Templates::default());
    let (pdf, warnings) = made.expect("a report");
    assert_eq!(warnings, [], "no warning");
    (text, table, pdf)
}

#[test]
fn a_report_carries_the_table_byte_for_byte() {
    for (path, name) in [
        ("readings.csv", "readings.csv"),
        ("day 1/readings.csv", "readings.csv"),
        ("day 1/run.yaml", "day 1_run.yaml"),
    ] {
        let (text, table, pdf) = reported(path);
        let both = [
            ("run.yaml", "Source", text.into_bytes()),
            (name, "Data", table.into_bytes()),
        ]
        .map(|(name, kind, bytes)| (name.to_owned(), kind.to_owned(), bytes));
        let all = carried(&pdf);
        assert_eq!(all[..2], both, "{path}");
        let (name, kind, results) = &all[2];
        assert_eq!((&**name, &**kind), ("run.results.json", "Data"), "{path}");
        assert!(results.starts_with(b"{") && all.len() == 3, "{path}");
    }
}

#[test]
fn a_report_shows_the_table_as_written() {
    let (_, _, pdf) = reported("day 1/readings.csv");
    let words = crate::reports::words(&pdf);
    for written in [
        "Theweighingsinday1/readings.csv",
        "31203mg41449mg10.00mL",
        "bubbleinthepipette",
    ] {
        assert!(words.contains(written), "no {written} in the report");
    }
}

/// A mistake by its name, what stands at `weighings`, and the table.
type Mistake = (&'static str, String, Vec<u8>);

/// A mistake of the run file beside a good table.
fn of_run(name: &'static str, weighings: &str) -> Mistake {
    (name, weighings.to_owned(), TABLE.as_bytes().to_vec())
}

/// A bad table.
fn of_table(name: &'static str, table: impl Into<Vec<u8>>) -> Mistake {
    (name, FROM.to_owned(), table.into())
}

/// A good table with one thing changed.
fn changed(name: &'static str, from: &str, to: &str) -> Mistake {
    of_table(name, TABLE.replace(from, to))
}

fn mistakes_of_the_file() -> Vec<Mistake> {
    let utf_16 = TABLE.encode_utf16().flat_map(u16::to_le_bytes);
    let utf_16: Vec<u8> = [0xff, 0xfe].into_iter().chain(utf_16).collect();
    vec![
        of_run("no such file", "{from: reading.csv}"),
        of_run("a path up", "{from: ../readings.csv}"),
        of_run("an absolute path", "{from: /data/readings.csv}"),
        of_run("a path with backslashes", "{from: 'day\\readings.csv'}"),
        of_run("no path", "{from: }"),
        of_run(
            "an unknown key",
            "{from: readings.csv, colums: {empty: tare}}",
        ),
        of_run(
            "a solution beside it",
            "{from: readings.csv, A: [{empty: 1 g}]}",
        ),
        of_table("empty", ""),
        of_table("UTF-16", utf_16),
        of_table("not UTF-8", *b"solution,empty\xe9,filled"),
        changed("a zero byte", "31.204", "31.2\0"),
        changed("carriage returns alone", "\n", "\r"),
    ]
}

fn mistakes_of_the_heading() -> Vec<Mistake> {
    let columns = |name, columns: &str| of_run(name, &format!("{{from: readings.csv, {columns}}}"));
    let (heading, lines) = TABLE.split_once('\n').expect("a heading");
    let (name, _, table) = changed("unread column missing", "left_out\n", "left_out,operator\n");
    let unread = (
        name,
        "{from: readings.csv, unread: [oprator]}".to_owned(),
        table,
    );
    vec![
        changed("one column", ",", " "),
        changed("two dividers", "empty,filled", "empty;filled"),
        of_table("heading alone", heading),
        of_table("no heading", lines),
        changed("column misspelt", "filled", "filed"),
        changed("optional column misspelt", "left_out", "leftout"),
        changed("column missing", ",volume,", ",capacity of the ware,"),
        changed("unknown column", "left_out", "left_out,balance room"),
        changed("column twice", "liquid", "filled"),
        columns(
            "named column missing",
            "columns: {empty: tare, filled: filed}",
        ),
        columns(
            "column named twice",
            "columns: {empty: filled, filled: filled}",
        ),
        changed(
            "names of the trade",
            "solution,empty,filled",
            "Sample,Tare,Gross",
        ),
        changed(
            "names with units",
            "empty,filled,volume",
            "empty (mg),filled [mg],volume / µL",
        ),
        columns("key of the columns misspelt", "columns: {emty: tare}"),
        columns("column read and unread", "unread: [empty]"),
        unread,
        changed("open quote in the heading", "left_out", "\"left_out"),
        of_table("too many columns", ",".repeat(300) + "x\n"),
    ]
}

fn mistakes_of_lines() -> Vec<Mistake> {
    let one_decimal_comma = changed("decimal comma between commas", "42.480", "42,480");
    let both_signs = TABLE.replace(',', ";").replace("42.480", "42,480");
    let unknown = TABLE.replace("bath 3", "bath3") + "D,1,2,3\n";
    let stranger = "corrections: [{entry: weighings.A.3.filled, was: a, now: b, why: c}]";
    let table = TABLE.replace("42.480", "4z.480") + "C,1,2,x\n";
    let both = (
        "mistakes in both files",
        format!("{FROM}\nplcae: here"),
        table.into_bytes(),
    );
    vec![
        changed("no solution", "bath 3,", ","),
        of_table(
            "a line divided otherwise",
            TABLE.to_owned() + "B;31.203;41.740;10.00;\n",
        ),
        of_table("unknown solution", unknown),
        changed("nothing in a cell", "42.480", ""),
        changed("line too short", "41449 mg,10.00 mL,,\n", "41449 mg\n"),
        of_table("decimal commas and points", both_signs),
        one_decimal_comma,
        changed("line too long", "20.8 °C,", "20.8 °C,,warm"),
        changed("open quote", "bubble", "\"bubble"),
        changed(
            "text after a quote",
            "bubble in the pipette",
            "\"bubble\" in it",
        ),
        changed("not a number", "42.480", "4z.480"),
        changed("wrong dimension", "42.480", "42.480 mL"),
        changed("lighter than empty", "42.480", "24.480"),
        changed("unknown pipette", "liquid", "pipette"),
        of_run("a correction of no entry", &format!("{FROM}\n{stranger}")),
        both,
    ]
}

#[test]
fn each_mistake_of_a_table_is_told() {
    let mut told = String::new();
    let all = [
        mistakes_of_the_file(),
        mistakes_of_the_heading(),
        mistakes_of_lines(),
    ];
    for (mistake, weighings, table) in all.into_iter().flatten() {
        let text = run_file(&weighings);
        let files = beside(&table);
        let (run, problems, sources) =
            pipeline::read_beside("bench/run.yaml", text.as_bytes(), &files);
        assert!(
            run.is_none() && !problems.is_empty(),
            "{mistake}: taken for good"
        );
        assert!(
            problems.len() <= 20,
            "{mistake}: {} problems",
            problems.len()
        );
        writeln!(told, "==== {mistake}").expect("text grows");
        for problem in &problems {
            told += &render(problem, &sources, Rendering { colour: false });
        }
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("bad_tables", told);
    });
}

#[test]
fn a_long_table_is_told_where_to_end() {
    let line = "A,31.204,42.480,10.00,,\n";
    let table = TABLE.replace("bath 3", &format!("{}bath 3", line.repeat(10_001)));
    let (run, problems, _) = pipeline::read_beside(
        "run.yaml",
        run_file(FROM).as_bytes(),
        &beside(table.as_bytes()),
    );
    assert!(run.is_none(), "too long");
    let codes: Vec<_> = problems.iter().map(|problem| problem.code.name()).collect();
    assert_eq!(codes, ["too-many-weighings"], "one problem");
}

#[test]
fn without_files_beside_it_says_so() {
    let text = run_file(FROM);
    let (run, problems) = runfile::read("run.yaml", text.as_bytes());
    assert!(run.is_none(), "it needs its table");
    let shown = render(
        &problems[0],
        &Sources::new("run.yaml", text),
        Rendering { colour: false },
    );
    assert!(shown.contains("readings.csv cannot be read"), "{shown}");
}
