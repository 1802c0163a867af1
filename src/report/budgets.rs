//! Uncertainty budgets as tables.

use serde::Serialize;

use crate::bench::reduce::results::Manner;
use crate::bench::reduce::{Reduction, SolutionResult};
use crate::bench::worksheet::{BudgetRow, NodeId, Source, Worksheet};

use super::effects::amount;
use super::shown::ColumnShown;
use super::words::{percent, with_unit};

/// Rows shown of a budget; the rest is summed.
const LONGEST: usize = 10;

/// Smaller shares in the variance are not listed.
const LEAST: f64 = 0.01;

/// The uncertainty budget of one result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Budget {
    /// The result in words.
    of: String,
    /// The result as printed.
    shown: String,
    /// Its unit.
    unit: &'static str,
    /// Its standard uncertainty, with unit.
    standard_uncertainty: String,
    /// Effects not corrected.
    not_corrected: Vec<NotCorrected>,
    /// The largest contributions, largest first.
    rows: Vec<Row>,
    /// Their sensitivity coefficients.
    sensitivities: ColumnShown,
    /// Sensitivity times standard uncertainty of each, in the result's unit.
    contributions: ColumnShown,
    /// The number of other inputs.
    others: usize,
    /// Their share in the variance, %.
    others_share: String,
    /// The same in per mille, for a bar.
    others_per_mille: u32,
}

/// An effect for which the result of a budget is not corrected.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct NotCorrected {
    /// The effect in words.
    name: &'static str,
    /// The correction that the result lacks for it, signed, in the result's unit.
    amount: String,
}

/// A contribution to the uncertainty of a result.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Row {
    /// The input in words.
    input: String,
    /// The causes of its uncertainty.
    causes: String,
    /// Its standard uncertainty, with unit.
    standard_uncertainty: String,
    /// Its share in the variance, %.
    share: String,
    /// The same in per mille, for a bar: `[{{ r.share }}](share:{{ r.per_mille }})`.
    per_mille: u32,
}

/// Returns the results whose budgets are shown: the unknowns' compositions; where there is none, that of the strongest
/// solution, or the highest density.
fn main_results(reduction: &Reduction) -> Vec<NodeId> {
    let ws = &reduction.worksheet;
    let against = reduction.against();
    let unknowns = reduction.unknowns();
    let unknowns = unknowns.filter_map(|s| s.composition.get(against?));
    let unknowns: Vec<NodeId> = unknowns.collect();
    if !unknowns.is_empty() {
        return unknowns;
    }
    let highest = |of: fn(&SolutionResult) -> Option<NodeId>| {
        let results = reduction.solutions.iter().filter_map(of);
        results.max_by(|a, b| ws.value(*a).total_cmp(&ws.value(*b)))
    };
    highest(|s| {
        s.composition
            .mass_percent
            .or(s.composition.mass_concentration)
    })
    .or_else(|| highest(|s| Some(s.density.as_ref()?.density)))
    .into_iter()
    .collect()
}

/// Returns the budgets of the [`main_results`].
pub(super) fn budgets(reduction: &Reduction, manner: &Manner) -> Vec<Budget> {
    main_results(reduction)
        .into_iter()
        .map(|id| budget(&reduction.worksheet, id, manner))
        .collect()
}

fn budget(ws: &Worksheet, id: NodeId, manner: &Manner) -> Budget {
    let (node, shown_in) = (ws.node(id), ws.shown_in(id));
    let stated = manner.state(ws, id);
    let all = ws.budget(id);
    let above = |row: &&BudgetRow| row.share >= LEAST;
    let listed = || all.iter().take(LONGEST).take_while(above);
    let rows: Vec<Row> = listed()
        .map(|row| {
            let (input, input_in) = (ws.node(row.input), ws.shown_in(row.input));
            Row {
                input: input.name.clone(),
                causes: causes(&input.source),
                standard_uncertainty: with_unit(
                    &input_in.significant(row.standard_uncertainty, 2),
                    input_in.unit.symbol,
                ),
                share: percent(row.share),
                per_mille: per_mille(row.share),
            }
        })
        .collect();
    let rest: f64 = all.iter().skip(rows.len()).map(|row| row.share).sum();
    Budget {
        of: node.name.clone(),
        not_corrected: stated
            .not_corrected
            .iter()
            .map(|n| NotCorrected {
                name: n.effect.words(),
                amount: amount(n.lacking, shown_in),
            })
            .collect(),
        shown: stated.in_report(shown_in),
        unit: shown_in.unit.symbol,
        standard_uncertainty: with_unit(
            &shown_in.significant(stated.standard_uncertainty, 2),
            shown_in.unit.symbol,
        ),
        sensitivities: ColumnShown::significant(
            listed().map(|row| {
                let power = shown_in.power - ws.shown_in(row.input).power;
                (row.sensitivity, power)
            }),
            3,
        ),
        contributions: ColumnShown::significant(
            listed().map(|row| (row.contribution, shown_in.power)),
            2,
        ),
        others: all.len() - rows.len(),
        others_share: percent(rest),
        others_per_mille: per_mille(rest),
        rows,
    }
}

fn per_mille(share: f64) -> u32 {
    (1000.0 * share).round() as u32
}

fn causes(source: &Source) -> String {
    match source {
        Source::Input(input) => {
            let causes: Vec<&str> = input
                .components
                .iter()
                .filter(|c| c.standard_uncertainty > 0.0)
                .map(|c| c.cause)
                .collect();
            causes.join(", ")
        }
        _ => String::new(),
    }
}
