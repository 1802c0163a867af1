//! The Monte Carlo check as a table.

use serde::Serialize;

use crate::bench::reduce::monte_carlo::{CheckStated, MonteCarloStated};

/// The Monte Carlo check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct CheckShown {
    /// The number of draws, in groups of three digits.
    draws: String,
    /// The seed of the random numbers.
    seed: u64,
    /// The results checked.
    rows: Vec<Row>,
    /// The number of results that the check does not confirm.
    apart: usize,
    /// The number of verdicts that more draws might change.
    unsettled: usize,
}

/// A result checked by Monte Carlo.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Row {
    /// Name of the solution.
    solution: String,
    /// The result in words.
    of: String,
    /// Its unit.
    unit: &'static str,
    /// The first-order interval.
    first_order: String,
    /// The interval by Monte Carlo.
    monte_carlo: String,
    /// Whether the check confirms the first-order interval.
    verdict: &'static str,
    /// Whether more draws would not change the verdict.
    settled: bool,
}

impl CheckShown {
    pub(super) fn new(check: &MonteCarloStated) -> Self {
        let rows: Vec<Row> = check.results.iter().map(row).collect();
        Self {
            draws: grouped(check.draws),
            seed: check.seed,
            apart: check
                .results
                .iter()
                .filter(|result| !result.validated)
                .count(),
            unsettled: check
                .results
                .iter()
                .filter(|result| !result.settled)
                .count(),
            rows,
        }
    }
}

fn row(result: &CheckStated) -> Row {
    let shown_in = result.shown_in;
    let end = |end: f64| shown_in.to_place(end, result.last_place(end));
    let interval = |ends: [f64; 2]| ends.map(end).join(" to ");
    Row {
        solution: result.name.clone(),
        of: result
            .quantity
            .replace('_', " ")
            .replace("molarity", "amount concentration"),
        unit: shown_in.unit.symbol,
        first_order: interval(result.first_order),
        monte_carlo: interval([result.low, result.high]),
        verdict: match (result.undefined > 0, result.validated) {
            (true, _) => "not always defined",
            (false, true) => "confirmed",
            (false, false) => "not confirmed",
        },
        settled: result.settled,
    }
}

/// Returns a count with its digits in groups of three.
fn grouped(count: usize) -> String {
    let digits = count.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_stand_in_threes() {
        assert_eq!(grouped(1_000_000), "1\u{202f}000\u{202f}000");
        assert_eq!(grouped(10_000), "10\u{202f}000");
        assert_eq!(grouped(7), "7");
    }
}
