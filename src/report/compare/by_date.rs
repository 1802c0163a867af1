//! Results of one liquid in the order of their days: a control chart of individuals, and patterns that chance seldom makes.

use std::collections::BTreeSet;

use super::found::Row;
use super::group::{Group, Quantity};
use crate::bench::interlaboratory::{Basis, Chart, Rule, Signal, individuals};

/// Of fewer days there is no chart.
const LEAST_DAYS: usize = 8;
/// Centre line and control limits rest on the first so many results; on all where there are fewer.
const MOST_IN_BASIS: usize = 20;
/// The patterns looked for: those of a bath that jumps, shifts or drifts.
const RULES: [Rule; 4] = [
    Rule::Beyond,
    Rule::TwoOfThree,
    Rule::OneSide,
    Rule::Steadily,
];

/// A quantity by date.
#[derive(Debug)]
pub(super) struct ByDate {
    /// Its index among the quantities.
    pub(super) quantity: usize,
    /// The rows that have it, by index, in the order of their days.
    pub(super) order: Vec<usize>,
    /// On how many of them the control limits rest.
    pub(super) basis: usize,
    pub(super) chart: Chart,
    /// Patterns, by places in the order.
    pub(super) signals: Vec<Signal>,
}

/// Returns the unknowns that were measured on days enough.
pub(super) fn by_date(rows: &[Row], group: &Group) -> Vec<ByDate> {
    let quantities = group.quantities.iter().enumerate();
    let answers = quantities.filter(|(_, quantity)| quantity.is_answer);
    answers
        .filter_map(|(index, quantity)| charted(rows, index, quantity))
        .collect()
}

fn charted(rows: &[Row], index: usize, quantity: &Quantity) -> Option<ByDate> {
    let dated = |row: &&usize| rows[**row].date.is_some();
    let mut order: Vec<usize> = quantity.values.keys().filter(dated).copied().collect();
    order.sort_by_key(|row| rows[*row].date);
    let days: BTreeSet<_> = order.iter().map(|row| rows[*row].date).collect();
    if days.len() < LEAST_DAYS {
        return None;
    }
    let values: Vec<f64> = order.iter().map(|row| quantity.values[row].value).collect();
    let basis = values.len().min(MOST_IN_BASIS);
    let chart = individuals(&values, Basis::First(basis)).ok()?;
    let signals = chart.signals(&values, &RULES);
    Some(ByDate {
        quantity: index,
        order,
        basis,
        chart,
        signals,
    })
}
