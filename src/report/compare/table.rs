//! The comparison as a table for spreadsheets: a bench in each line.

use super::claims;
use super::found::Row;
use super::group::Group;
use crate::bench::claims::Awarded;

/// How the table begins, by which it is known as ours.
pub const BEGINNING: &str = "bench,analysts,date,problem,flags,slips";

/// Returns the table as CSV. A bench that could not be read has its first problem in its line, and no results.
pub fn table(rows: &[Row], group: &Group) -> String {
    let mut text = BEGINNING.to_owned() + ",apart from the class,slips in the class";
    for quantity in &group.quantities {
        let name = format!(
            "{} of {} in {}",
            quantity.name, quantity.solution, quantity.unit
        );
        for column in ["", "U of ", "z of ", "En of ", "zeta of "] {
            text += &format!(",{}", cell(&format!("{column}{name}")));
        }
    }
    let steps = claims::steps(rows);
    for step in &steps {
        for column in [
            "claimed ",
            "difference in % of ",
            "judgement of ",
            "mistakes in ",
        ] {
            text += &format!(",{}", cell(&format!("{column}{step}")));
        }
    }
    if !steps.is_empty() {
        text += ",points,points of";
    }
    text.push('\n');
    for (index, row) in rows.iter().enumerate() {
        let found = row.found.as_ref();
        let apart = found.and_then(|found| found.apart.as_ref());
        let listed = |all: Option<&Vec<String>>| all.map_or_else(String::new, |all| all.join("; "));
        let cells = [
            row.name.clone(),
            row.analysts.clone(),
            row.date.map_or_else(String::new, |date| date.to_string()),
            row.problem.clone().unwrap_or_default(),
            listed(found.map(|found| &found.flags)),
            listed(found.map(|found| &found.slips)),
            apart.map_or_else(String::new, |apart| apart.words.clone()),
            listed(apart.map(|apart| &apart.slips)),
        ];
        text += &cells.map(|text| cell(&text)).join(",");
        for quantity in &group.quantities {
            let score = quantity.scores.get(&index);
            let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
            let measured = quantity.values.get(&index);
            text += &format!(
                ",{},{},{},{},{}",
                number(measured.map(|measured| measured.value)),
                number(measured.map(|measured| measured.expanded_uncertainty)),
                number(score.and_then(|score| score.z)),
                number(score.and_then(|score| score.en)),
                number(score.and_then(|score| score.zeta)),
            );
        }
        for step in &steps {
            let Some(judged) = claims::find_claim(row, step) else {
                text += ",,,,";
                continue;
            };
            let mistakes: Vec<&str> = judged.mistakes.iter().map(|m| m.words.as_str()).collect();
            text += &format!(
                ",{},{},{},{}",
                cell(judged.claimed.as_written().trim_end()),
                judged.difference_percent,
                judged.judgement.word(),
                cell(&mistakes.join("; "))
            );
        }
        if !steps.is_empty() {
            let claims = found.map_or(&[][..], |found| &found.claims);
            let awarded: Vec<_> = claims.iter().filter_map(|judged| judged.awarded).collect();
            let sum = |of: fn(&Awarded) -> f64| match awarded.as_slice() {
                [] => String::new(),
                all => all.iter().map(of).sum::<f64>().to_string(),
            };
            text += &format!(",{},{}", sum(|a| a.points), sum(|a| a.of));
        }
        text.push('\n');
    }
    text
}

/// Returns a text as a cell. What a spreadsheet would take for a formula, which may come from somebody else's run file,
/// is marked as text by an apostrophe.
pub fn cell(text: &str) -> String {
    let marked = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if marked.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", marked.replace('"', "\"\""))
    } else {
        marked
    }
}
