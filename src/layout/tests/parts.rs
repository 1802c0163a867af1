//! What is parted and kept together.

use std::fmt::Write;

use super::{assert_on_page, laid, points, text_of};
use crate::layout::Laid;
use crate::page::{Mark, Role};

/// What stands in the elements of a role, each with its page and its baselines.
fn said_in(laid: &Laid, role: Role) -> Vec<(String, Vec<(usize, f32)>)> {
    let mut said: Vec<(usize, String, Vec<(usize, f32)>)> = Vec::new();
    for (number, page) in laid.document.pages.iter().enumerate() {
        for item in &page.items {
            let (Some(element), Mark::Glyphs(run)) = (item.element, &item.mark) else {
                continue;
            };
            if laid.document.structure[element].role != role {
                continue;
            }
            match said.last_mut() {
                Some((last, text, places)) if *last == element => {
                    text.push_str(&text_of(run));
                    places.push((number, run.y));
                }
                _ => said.push((element, text_of(run), vec![(number, run.y)])),
            }
        }
    }
    said.into_iter()
        .map(|(_, text, mut places)| {
            places.dedup();
            (text, places)
        })
        .collect()
}

fn count(laid: &Laid, role: Role) -> usize {
    let structure = laid.document.structure.iter();
    structure.filter(|element| element.role == role).count()
}

#[test]
fn columns_without_room_make_further_tables_and_no_number_is_torn() {
    let columns = 14;
    let mut text = String::from("See [](#w).\n\nTable #w: Wide.\n\n| Name |");
    for column in 1..columns {
        let _ = write!(text, " q{column} / (g/mL) |");
    }
    let _ = writeln!(text, "\n|:--|{}", "--:|".repeat(columns - 1));
    for row in 0..40 {
        let _ = write!(text, "| row {row} |");
        for column in 1..columns {
            let _ = write!(text, " {row}.{column:04} ± 0.{column:04} |");
        }
        text.push('\n');
    }
    let laid = laid(&text);
    assert_on_page(&laid);
    let cells = said_in(&laid, Role::Cell);
    for (said, places) in &cells {
        assert_eq!(places.len(), 1, "{said} stands on several lines");
    }
    for column in 1..columns {
        let number = format!("7.{column:04}\u{a0}±\u{a0}0.{column:04}");
        let found = cells.iter().filter(|(said, _)| said.trim() == number);
        assert_eq!(found.count(), 1, "{number}");
    }
    let tables = count(&laid, Role::Table);
    assert!(tables > 1, "{tables}");
    assert_eq!(count(&laid, Role::Row), 41 * tables);
    let names = cells.iter().filter(|(said, _)| said.trim() == "row 7");
    assert_eq!(names.count(), tables, "each part names its rows");
    let captions: Vec<String> = said_in(&laid, Role::Caption)
        .into_iter()
        .map(|(said, _)| said.replace('\u{a0}', " ").trim().to_owned())
        .collect();
    assert_eq!(captions[0], "Table 1. Wide.");
    assert!(
        captions[1..]
            .iter()
            .all(|said| said == "Table 1, further columns."),
        "{captions:?}"
    );
    assert_eq!(captions.len(), tables);
    assert_eq!(laid.document.pages[0].links.len(), 1);
}

#[test]
fn a_number_wider_than_its_column_is_set_smaller() {
    let digits = "1234567890".repeat(30);
    let laid = laid(&format!(
        "| a | b |\n|:--|--:|\n| x | 0.{digits} |\n| y | 0.5 |\n"
    ));
    assert_on_page(&laid);
    let cells = said_in(&laid, Role::Cell);
    assert!(
        cells.iter().all(|(_, places)| places.len() == 1),
        "{cells:?}"
    );
    let points: Vec<f32> = points(&laid).into_iter().map(|(_, x)| x).collect();
    assert!((points[0] - points[1]).abs() < 0.01, "{points:?}");
}

#[test]
fn what_leads_on_is_not_left_behind() {
    for (lead, after) in [
        ("**Flags.**", "a sentence"),
        ("**Flags.**", "1. one\n2. two"),
        ("What was seen", "- one\n- two"),
        ("What was seen", "| a | b |\n|:--|:--|\n| c | d |"),
    ] {
        for lines in 30..60 {
            let before = "A line.\n\n".repeat(lines);
            let laid = laid(&format!("{before}{lead}\n\n{after}\n"));
            for page in &laid.document.pages {
                let last = page.items.iter().rev().find(|item| item.element.is_some());
                let Some(Mark::Glyphs(run)) = last.map(|item| &item.mark) else {
                    continue;
                };
                let said = text_of(run);
                let lead = lead.trim_matches('*');
                assert!(
                    !lead.ends_with(said.trim()),
                    "{said} ends a page, {lines} lines"
                );
            }
        }
    }
}
