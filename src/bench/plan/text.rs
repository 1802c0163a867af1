//! A proposal in words.

use std::fmt::Write as _;

use super::proposal::Proposal;
use crate::bench::quantity::rounding::{shortest, significant};

/// Returns the proposal for people, lines that end each.
pub fn text(proposal: &Proposal) -> String {
    let two = |x: f64| significant(x, 2).unwrap_or_default();
    let mut text = format!("{}\n\nHow to make it\n", proposal.title);
    for (i, step) in proposal.steps.iter().enumerate() {
        let _ = writeln!(text, "{:>3}. {step}", i + 1);
    }
    let salt = significant(proposal.salt, 4).unwrap_or_default();
    let _ = writeln!(
        text,
        "     In total: {salt} g of salt, about {} mL of water, {} mL made up, {} deliveries.\n",
        proposal.water, proposal.made_up, proposal.deliveries
    );
    text += "Expected results (± expanded uncertainty)\n";
    let rows = proposal.solutions.iter().map(|solution| {
        [
            solution.name.clone(),
            format!("{} {}", short(solution.wanted), solution.unit),
            format!("{} {}", solution.strength, solution.unit),
            format!("{} g/mL", solution.density),
        ]
    });
    let head = ["solution", "wanted", "strength", "density"].map(str::to_owned);
    text += &table([head].into_iter().chain(rows));
    text += "\nThe unknown\n";
    let rows = proposal.unknown.iter().map(|unknown| {
        let (unit, u) = (unknown.unit, two(unknown.expanded_uncertainty));
        [
            format!("at {} {unit}", short(unknown.strength)),
            format!("± {u} {unit}"),
        ]
    });
    text += &table(rows);
    if !proposal.comes_from.is_empty() {
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let parts: Vec<String> = proposal
            .comes_from
            .iter()
            .map(|share| format!("{} {}", percent(share.share), share.of))
            .collect();
        let _ = writeln!(
            text,
            "Sources of its variance in the middle of its range: {}.",
            parts.join("; ")
        );
    }
    if let Some(wanted) = proposal.wanted {
        text += &wish(proposal, wanted);
    }
    for caution in &proposal.cautions {
        let _ = writeln!(text, "{caution}");
    }
    if !proposal.others.is_empty() {
        text += "\nOther ways, best first\n";
        let unit = proposal.unknown.first().map_or("", |unknown| unknown.unit);
        for other in &proposal.others {
            let u = two(other.expanded_uncertainty);
            let _ = writeln!(text, "  ± {u} {unit} at most: {}", other.way);
        }
    }
    let tried = &proposal.tried;
    let _ = writeln!(
        text,
        "\nTried: {} ways of single solutions, {} series, {} runs reduced{}.",
        tried.ways,
        tried.series,
        tried.runs,
        if tried.more {
            "; there are more ways"
        } else {
            ""
        }
    );
    text
}

/// Returns whether what is wanted is reached, and what would reach it.
fn wish(proposal: &Proposal, wanted: f64) -> String {
    let two = |x: f64| significant(x, 2).unwrap_or_default();
    let unit = proposal.unknown.first().map_or("", |unknown| unknown.unit);
    let wanted = format!("± {} {unit}", short(wanted));
    match &proposal.change {
        None if proposal.wanted.is_some_and(|w| proposal.answer() <= w) => {
            format!("Wanted {wanted}: reached.\n")
        }
        None => format!("Wanted {wanted}: not reached by any change tried.\n"),
        Some(change) => {
            let u = two(change.expanded_uncertainty);
            let verdict = if change.reaches {
                "not reached; the cheapest change that reaches it is"
            } else {
                "not reached; the best change found is"
            };
            format!(
                "Wanted {wanted}: {verdict} {}: ± {u} {unit}.\n",
                change.with
            )
        }
    }
}

/// Returns a number as short as it can be written, to six digits.
fn short(x: f64) -> String {
    shortest(x, 6).unwrap_or_default()
}

/// Rows in columns, two blanks before each.
fn table<const N: usize>(rows: impl Iterator<Item = [String; N]>) -> String {
    let rows: Vec<[String; N]> = rows.collect();
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths: [usize; N] = std::array::from_fn(width);
    let mut text = String::new();
    for row in &rows {
        let cells: Vec<String> = row
            .iter()
            .zip(widths)
            .map(|(cell, width)| format!("{cell:width$}"))
            .collect();
        let _ = writeln!(text, "  {}", cells.join("  ").trim_end());
    }
    text
}
