//! A report in kg/m³ says what the same report in g/mL says: the points of its densities lie three places further right,
//! and nothing else differs.

use crate::common::{good_runs, path, read, reduced, sample_runs};
use crate::screen_reader;
use fillmark::bench::quantity::Unit;
use fillmark::cli::other_formats::{Form, forms};
use fillmark::pipeline::{self, Run};
use fillmark::print::layout::Style;
use fillmark::print::manuscript::said::plain_text;
use fillmark::print::manuscript::walk::each_block;
use fillmark::print::manuscript::{Block, Inline, Manuscript, Table};
use fillmark::report::templates::{SHIPPED, Templates};
use std::collections::BTreeMap;

/// Returns a run file whose report states densities in kg/m³.
pub(crate) fn in_cubic_metres(yaml: &str) -> String {
    let key = "report: {density_unit: kg/m³";
    if yaml.contains("\nreport: {") {
        yaml.replace("\nreport: {", &format!("\n{key}, "))
    } else {
        format!("{yaml}\n{key}}}\n")
    }
}

fn manuscript(run: &Run, yaml: &str, templates: &Templates) -> Manuscript {
    let made = run.manuscript_in(yaml.as_bytes(), templates, &Style::default());
    made.expect("a manuscript")
}

/// Returns a report in all its forms, spaces of all kinds made plain.
fn all_forms(run: &Run, yaml: &str) -> Vec<(String, String)> {
    let style = Style::default();
    let mut all = Vec::new();
    for shipped in SHIPPED {
        let templates = Templates::shipped(shipped.name).expect("templates");
        let manuscript = manuscript(run, yaml, &templates);
        let both = [Form::Markdown, Form::Html];
        let others = forms(&manuscript, &style, "run".as_ref(), "", &both).expect("other forms");
        let attachments = run.attachments(yaml.as_bytes(), "").expect("attachments");
        let (pdf, _) = pipeline::set(manuscript, attachments, &style, "").expect("a report");
        all.push(("pdf".to_owned(), screen_reader::read(&pdf).root.shown()));
        all.extend(others);
    }
    let plain = |text: String| text.replace(['\u{a0}', '\u{202f}', '\u{2009}', '\\'], " ");
    all.into_iter()
        .map(|(name, text)| (name, plain(text)))
        .collect()
}

#[test]
fn no_density_is_left_in_the_other_unit() {
    for (name, yaml) in good_runs() {
        let yaml = in_cubic_metres(&yaml);
        let run = reduced(&yaml);
        // What was written in the run file stands as it was written.
        let written: Vec<&str> = yaml
            .match_indices(" g/mL")
            .map(|(at, unit)| {
                let before = yaml[..at].rfind(' ').map_or(0, |space| space + 1);
                &yaml[before..at + unit.len()]
            })
            .collect();
        for (form, text) in all_forms(&run, &yaml) {
            assert!(text.contains("kg/m³"), "{name}, {form}");
            for (at, unit) in text.match_indices("g/mL") {
                let until = &text[..at + unit.len()];
                let from = until.char_indices().rev().nth(60).map_or(0, |(at, _)| at);
                assert!(
                    written.iter().any(|written| until.ends_with(written)),
                    "{name}, {form}: …{}",
                    &until[from..]
                );
            }
        }
    }
}

/// Constants of published equations stand in the appendix, in the unit of their source.
#[test]
fn the_body_of_a_report_in_millilitres_has_no_cubic_metre() {
    for (name, yaml) in good_runs() {
        let run = reduced(&yaml);
        let manuscript = manuscript(&run, &yaml, &Templates::default());
        let style = Style::default();
        let made = forms(&manuscript, &style, "run".as_ref(), "", &[Form::Html]);
        let (_, html) = &made.expect("a page")[0];
        let (body, _) = html.split_once("id=\"calculations\"").expect("an appendix");
        let written = yaml.matches("kg/m").count();
        let shown = body.matches("kg/m³").count();
        assert!(shown <= written, "{name}: {shown} times, {written} written");
    }
}

/// Returns the tables of a report's body by their labels.
fn tables(manuscript: &Manuscript) -> BTreeMap<String, Table> {
    let mut tables = BTreeMap::new();
    each_block(&manuscript.blocks, &mut |block| {
        if let Block::Table(table) = block
            && let Some(label) = &table.label
        {
            tables.insert(label.clone(), table.clone());
        }
    });
    // How many columns there is room for depends on their widths.
    tables.retain(|label, _| !label.starts_with("tab-uses"));
    tables
}

/// Returns the numbers of a cell with their powers of ten written out in exponents, each as digits and place of the last.
fn numbers(cell: &str, power: i32) -> Vec<(String, i32)> {
    let cell = cell.replace(['\u{a0}', '\u{202f}', '(', ')', '+', '−'], " ");
    let (numbers, own) = match cell.split_once("× 10") {
        Some((numbers, raised)) => (numbers.to_owned(), exponent(raised)),
        None => (cell.clone(), 0),
    };
    let words = numbers.split_whitespace();
    let each = words
        .filter(|word| word.parse::<f64>().is_ok())
        .map(|word| {
            let decimals = word.split_once('.').map_or("", |(_, decimals)| decimals);
            let digits = word.replace('.', "");
            let digits = digits.trim_start_matches('0');
            let place = own + power - decimals.len() as i32;
            if digits.is_empty() {
                (String::new(), 0)
            } else {
                (digits.to_owned(), place)
            }
        });
    each.collect()
}

fn exponent(raised: &str) -> i32 {
    let plain: String = raised
        .chars()
        .map_while(|c| match "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|r| r == c) {
            Some(digit) => char::from_digit(digit as u32, 10),
            None => (c == '⁻').then_some('-'),
        })
        .collect();
    plain.parse().unwrap_or(0)
}

#[test]
fn every_cell_is_that_of_the_other_report_with_its_point_moved() {
    let (mut moved, mut alike) = (0, 0);
    for file in sample_runs() {
        let yaml = read(&file);
        let [plain, shifted] = [yaml.clone(), in_cubic_metres(&yaml)]
            .map(|yaml| tables(&manuscript(&reduced(&yaml), &yaml, &Templates::default())));
        assert!(plain.keys().eq(shifted.keys()), "{}", file.display());
        for (label, table) in &plain {
            let other = &shifted[label];
            let power_of = |head: &str| head.split_once("10").map_or(0, |(_, of)| exponent(of));
            for (row, (cells, others)) in table.rows.iter().zip(&other.rows).enumerate() {
                // The unit of a coefficient stands in a cell of its row.
                let of_density =
                    label == "tab-coefficients" && plain_text(&cells[3]).contains("g/mL");
                for (column, (cell, other_cell)) in cells.iter().zip(others).enumerate() {
                    let [head, other_head] = [table, other].map(|t| plain_text(&t.head[column]));
                    let [cell, other_cell] = [cell, other_cell].map(|cell| plain_text(cell));
                    let what = format!("{label}, {row}, {head}: {cell} and {other_cell}");
                    // A sensitivity and the standard uncertainty of an input have a unit for each row.
                    let moves = of_density && column != 1 && column != 3
                        || head.contains("g/mL") && !head.contains("mg/mL")
                        || cell.contains("g/mL");
                    if !moves {
                        if head.contains("Sensitivity") || of_density {
                            continue;
                        }
                        assert_eq!(cell, other_cell, "{what}");
                        alike += 1;
                        continue;
                    }
                    let [ours, theirs] = [(&cell, &head), (&other_cell, &other_head)]
                        .map(|(cell, head)| numbers(cell, power_of(head)));
                    let ours = ours.into_iter();
                    let ours = ours.map(|(digits, place)| match digits.as_str() {
                        "" => (digits, place),
                        _ => (digits, place + 3),
                    });
                    assert!(ours.eq(theirs), "{what}");
                    moved += 1;
                }
            }
        }
    }
    assert!(moved > 100 && alike > 100, "{moved} moved, {alike} alike");
}

#[test]
fn results_for_other_programs_do_not_depend_on_the_unit() {
    let yaml = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let results = |yaml: &str| {
        let mut written = Vec::new();
        let run = reduced(yaml);
        let value = serde_json::to_value(&run.results).expect("results");
        serde_json::to_writer(&mut written, &value).expect("JSON");
        String::from_utf8(written).expect("text")
    };
    assert_eq!(results(&yaml), results(&in_cubic_metres(&yaml)));
}

#[test]
fn the_factor_for_plain_numbers_is_said_once() {
    let yaml = read(&path("sample_runs/creamery_brine_bath.yaml"));
    for (yaml, times) in [(in_cubic_metres(&yaml), 1), (yaml, 0)] {
        let manuscript = manuscript(&reduced(&yaml), &yaml, &Templates::default());
        let mut said = 0;
        each_block(&manuscript.blocks, &mut |block| {
            let factor = |text: &&[Inline]| plain_text(text).contains("by 1000 to give a density");
            said += block.texts().iter().filter(|text| factor(text)).count();
        });
        assert_eq!(said, times);
    }
}

#[test]
fn changes_of_an_issue_are_recorded_as_its_report_prints_them() {
    let before = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let after = in_cubic_metres(&before.replace("filled: 39.658 g", "filled: 39.668 g"));
    let changes = reduced(&after).changes_since(&reduced(&before));
    let density = changes.results.iter().find(|result| result.of == "density");
    let density = density.expect("a density that changed");
    assert_eq!(density.unit, "kg/m³");
    assert_eq!(density.was, "1134.6 ± 2.8");
    assert_eq!(density.now, "1134.9 ± 2.8");
    assert!((density.change - 0.333).abs() < 0.001, "{}", density.change);
    let same = reduced(&in_cubic_metres(&before)).changes_since(&reduced(&before));
    assert!(same.results.is_empty(), "{:?}", same.results);
}

#[test]
fn claims_stand_in_the_unit_of_the_report() {
    let yaml = in_cubic_metres(&read(&path("tests/runs/by_hand.yaml")));
    let tables = tables(&manuscript(&reduced(&yaml), &yaml, &Templates::default()));
    let rows = &tables["tab-claims"].rows;
    let row = |step: &str| {
        let row = rows
            .iter()
            .map(|row| row.iter().map(|cell| plain_text(cell)));
        let mut rows = row.map(Iterator::collect::<Vec<String>>);
        let found = rows.find(|row| row[0] == step);
        found.unwrap_or_else(|| panic!("no {step}"))[1..3]
            .join("; ")
            .replace(['\u{a0}', '\u{202f}'], " ")
    };
    assert_eq!(row("density of A"), "1064.7 kg/m³; 1064.6 kg/m³");
    assert_eq!(row("slope"), "7.18 (kg/m³)/%; 7.2169 (kg/m³)/%");
}

#[test]
fn a_unit_without_a_counterpart_is_asked_for_with_those_that_are_known() {
    let yaml = read(&path("tests/bad_runs/density_unit_unknown.yaml"));
    let (run, problems) = pipeline::read("run.yaml", yaml.as_bytes());
    assert!(run.is_none() && problems.len() == 1, "{problems:#?}");
    let right = problems[0].right.as_deref().unwrap_or_default();
    assert!(right.contains("g/mL") && right.contains("kg/m³"), "{right}");
}

#[test]
fn a_thousandth_of_every_unit_of_densities_is_the_other() {
    for (_, yaml) in good_runs() {
        let run = reduced(&in_cubic_metres(&yaml));
        let ws = &run.reduction.worksheet;
        for (id, node) in ws.nodes() {
            let shown = ws.shown_in(id);
            let (of_node, of_shown) = match shown.power {
                0 => (Unit::GRAM, Unit::GRAM),
                _ => (Unit::GRAM, Unit::KILOGRAM),
            };
            assert_eq!(
                node.unit.in_si().times(of_node.in_si()),
                shown.unit.in_si().times(of_shown.in_si()),
                "{} and {}",
                node.unit,
                shown.unit
            );
            assert_ne!(*shown.unit, Unit::GRAM_PER_MILLILITRE, "{}", node.name);
        }
    }
}
