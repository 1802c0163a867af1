//! A proposal in words.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::bench::Bench;
use super::foretell::Weighing;
use super::proposal::{Proposal, names};
use super::series::{Making, Series};
use crate::practice::conditioning::COMMON;
use crate::quantity::rounding::significant;

/// More solutions than these are told by their number.
const MOST_NAMED: usize = 8;

/// What is to be done, in order.
pub(super) fn steps(bench: &Bench, series: &Series, weighing: &Weighing) -> Vec<String> {
    let names = names(bench);
    let salt = &bench.plan.solute.name.value;
    // What each piece of ware last held.
    let mut held: BTreeMap<usize, String> = BTreeMap::new();
    let mut steps = Vec::new();
    for step in &series.steps {
        let name = names.step(bench, step);
        let vessel = &bench.vessels[step.vessel()];
        let mut text = format!("{name}: ");
        match &step.making {
            Making::Weighed { mass, balance, .. } => {
                let on = match bench.balances.len() {
                    1 => String::new(),
                    _ => format!(" on {}", bench.name(*balance)),
                };
                let _ = write!(
                    text,
                    "weigh {mass} of {salt}{on} into a tared vessel, dissolve it"
                );
            }
            Making::Diluted {
                of, with, aliquot, ..
            } => {
                let ware = &bench.deliver[*with];
                let of = names.step(bench, &series.steps[*of]).to_owned();
                let pipette = bench.name(ware.index);
                let last = held.insert(ware.index, of.clone());
                if last.as_deref() != Some(&of) {
                    let _ = write!(text, "rinse {pipette} {COMMON} times with {of}; ");
                }
                let _ = write!(text, "take {} of {of} with {pipette}", aliquot.written);
            }
        }
        let flask = bench.name(vessel.index);
        let rinse = match held.insert(vessel.index, name.to_owned()) {
            Some(_) => format!(" rinsed {COMMON} times with water"),
            None => String::new(),
        };
        let _ = write!(
            text,
            ", make up to {} in {flask}{rinse}, mix",
            vessel.written
        );
        if step.target.is_none() {
            let gamma = significant(step.gamma, 4).unwrap_or_default();
            let _ = write!(text, " ({gamma} g/L; it is not weighed)");
        }
        steps.push(text + ".");
    }
    let ware = bench.name(bench.deliver[weighing.ware].index);
    let count = bench.targets.len() + 2;
    let balance = match bench.balances.len() {
        1 => String::new(),
        _ => format!(" on {}", bench.name(weighing.balance)),
    };
    steps.push(format!(
        "Densities: weigh {} with {ware}{balance}, {} of each of {count} liquids ({}, the solutions, {}); before each liquid rinse {ware} {COMMON} times with it.",
        weighing.deliveries.written,
        match weighing.times {
            1 => "one weighing".to_owned(),
            times => format!("{times} weighings"),
        },
        names.water,
        names.unknown,
    ));
    steps
}

/// What of a series is weighed out, and whether the rest is a chain: what tells one sort of way from another.
pub(super) fn weighed_out(bench: &Bench, series: &Series) -> (Vec<String>, bool) {
    let names = names(bench);
    let weighed = series.steps.iter().filter_map(|step| match step.making {
        Making::Weighed { .. } if step.target.is_none() => {
            let gamma = significant(step.gamma, 4).unwrap_or_default();
            Some(format!("a stock of {gamma} g/L"))
        }
        Making::Weighed { .. } => Some(names.step(bench, step).to_owned()),
        Making::Diluted { .. } => None,
    });
    (weighed.collect(), series.is_chain())
}

/// A series in a few words.
pub(super) fn in_short(bench: &Bench, series: &Series) -> String {
    let (weighed, is_chain) = weighed_out(bench, series);
    let weighed = if weighed.len() > MOST_NAMED {
        format!("{} solutions", weighed.len())
    } else {
        weighed.join(", ")
    };
    let chain = if is_chain { " in a chain" } else { "" };
    match series.deliveries() {
        0 => format!("{weighed} weighed out"),
        1 => format!("{weighed} weighed out; the others diluted{chain}, 1 delivery"),
        n => format!("{weighed} weighed out; the others diluted{chain}, {n} deliveries"),
    }
}

/// The proposal for people, lines that end each.
#[must_use]
pub fn text(proposal: &Proposal) -> String {
    let two = |x: f64| significant(x, 2).unwrap_or_default();
    let mut text = format!("{}\n\nHow to make it\n", proposal.title);
    for (i, step) in proposal.steps.iter().enumerate() {
        let _ = writeln!(text, "{:>3}. {step}", i + 1);
    }
    let salt = significant(proposal.salt, 4).unwrap_or_default();
    let _ = writeln!(
        text,
        "     In all: {salt} g of salt, about {} mL of water, {} mL made up, {} deliveries.\n",
        proposal.water, proposal.made_up, proposal.deliveries
    );
    text += "What it will give (± expanded uncertainty)\n";
    let rows = proposal.solutions.iter().map(|solution| {
        [
            solution.name.clone(),
            format!("{} {}", shortest(solution.wanted), solution.unit),
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
            format!("at {} {unit}", shortest(unknown.strength)),
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
            "Its variance in the middle comes from: {}.",
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
        text += "\nOther ways, the best first\n";
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

/// Whether what is wanted is reached, and what would reach it.
fn wish(proposal: &Proposal, wanted: f64) -> String {
    let two = |x: f64| significant(x, 2).unwrap_or_default();
    let unit = proposal.unknown.first().map_or("", |unknown| unknown.unit);
    let wanted = format!("± {} {unit}", shortest(wanted));
    match &proposal.change {
        None if proposal.wanted.is_some_and(|w| proposal.answer() <= w) => {
            format!("Wanted {wanted}: reached.\n")
        }
        None => format!("Wanted {wanted}: not reached, and nothing that was tried changes that.\n"),
        Some(change) => {
            let u = two(change.expanded_uncertainty);
            let verdict = if change.reaches {
                "not reached; the cheapest change that reaches it is"
            } else {
                "not reached; the best that was found is"
            };
            format!(
                "Wanted {wanted}: {verdict} {}: ± {u} {unit}.\n",
                change.with
            )
        }
    }
}

/// A number as short as it can be written, to six digits.
fn shortest(x: f64) -> String {
    let text = significant(x, 6).unwrap_or_default();
    if text.contains('.') && !text.contains('×') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
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
