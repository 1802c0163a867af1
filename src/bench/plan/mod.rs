//! How a series can be made with the ware at hand, and how well its answer will then be known, before a grain is weighed.
//!
//! The flow: a plan file → what cannot be (`wishes`) → the ways of each solution, weighed up by the reduction (`ways`) →
//! series of them (`search`) → what their runs will give, by the reduction that reports go by (`foretell`) → the best,
//! ranked, as data (`proposal`) and in words (`text`). Cost: one reduction of at most [`ways::MOST_WAYS`] solutions for
//! each stock tried, one for each way to weigh ([`MOST_WEIGHING_WAYS`]), three for each series foretold
//! ([`MOST_REDUCED`] solutions in all, six series at least).

mod bench;
mod changes;
mod foretell;
mod proposal;
mod search;
mod series;
mod steps;
#[cfg(test)]
mod tests;
mod text;
mod ways;
mod weighing;
mod wishes;

pub use proposal::{
    Change, Counts, Proposal, Share, SolutionForetold, UnknownForetold, WayInShort,
};
pub use text::text;

use std::cmp::Ordering;

use crate::bench::reduce::molar_mass_of;
use crate::bench::runfile::plan::PlanFile;
use crate::problem::Problem;
use bench::Bench;
use foretell::{Foretold, foretell, printed, reduced};
use search::{Stuck, in_turn};
use series::Series;
use ways::Node;
use weighing::Weighing;

/// Ways to weigh the densities that are tried, with one series.
const MOST_WEIGHING_WAYS: usize = 24;
/// Volumes are weighed in at most so many deliveries.
const MOST_DELIVERIES_WEIGHED: u32 = 4;
/// Solutions reduced in foretelling, all series together; so many series at least are foretold.
const MOST_REDUCED: usize = 700;
const FEWEST_SERIES: usize = 6;
const MOST_SERIES: usize = 48;

/// A series, how it is weighed and what comes of it.
struct Candidate {
    series: Series,
    weighing: Weighing,
    foretold: Foretold,
}

/// What was tried.
#[derive(Default)]
struct Tried {
    ways: usize,
    reduced: usize,
    cut: bool,
}

/// Proposes how to make what a plan asks for.
///
/// # Errors
/// Every wish that cannot be met.
pub fn propose(plan: &PlanFile) -> Result<Proposal, Vec<Problem>> {
    let one = |problem: Problem| vec![problem];
    let molar_mass = molar_mass_of(&plan.solute).map_err(one)?;
    let shape = wishes::shape(plan, molar_mass).map_err(one)?;
    let problems = wishes::impossible(plan, &shape);
    if !problems.is_empty() {
        return Err(problems);
    }
    let Some(bench) = Bench::new(plan, &plan.apparatus, shape) else {
        return Err(Vec::new());
    };
    let problems = wishes::too_little(&bench);
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut tried = Tried::default();
    let found = candidates(&bench, wishes::strongest(plan, &shape), &mut tried)?;
    Ok(proposal::propose(&bench, found, &tried))
}

/// Returns the series foretold, the best first.
fn candidates(
    bench: &Bench,
    saturated: f64,
    tried: &mut Tried,
) -> Result<Vec<Candidate>, Vec<Problem>> {
    let solutions = bench.targets.len() + 3;
    let most = (MOST_REDUCED / (3 * solutions)).clamp(FEWEST_SERIES, MOST_SERIES);
    let all = all_series(bench, saturated, most, tried)?;
    let first = all.first().ok_or_else(Vec::new)?;
    let weighing = weighing(bench, first, tried)?;
    let mut found = Vec::new();
    let mut problems = Vec::new();
    for series in all {
        tried.reduced += 3;
        match foretell(bench, &series, &weighing) {
            Ok(foretold) => found.push(Candidate {
                series,
                weighing: weighing.clone(),
                foretold,
            }),
            Err(more) => problems = more,
        }
    }
    if found.is_empty() {
        return Err(problems);
    }
    found.sort_by(|a, b| ranked(bench, a, b));
    Ok(found)
}

/// Returns the better one: by the uncertainty of the answer as it is printed, then by the work and solution that it
/// takes.
fn ranked(bench: &Bench, a: &Candidate, b: &Candidate) -> Ordering {
    // What differs by rounding alone does not differ.
    let nine_digits = |x: f64| format!("{x:.8e}").parse().unwrap_or(x);
    let key = |c: &Candidate| {
        let key = [
            printed(c.foretold.answer()),
            c.series.work(bench),
            c.series.departure(bench),
            c.foretold.answer(),
        ];
        key.map(nine_digits)
    };
    in_turn(&key(a), &key(b))
}

/// Series with a stock of their own and without, `most` of them.
fn all_series(
    bench: &Bench,
    saturated: f64,
    most: usize,
    tried: &mut Tried,
) -> Result<Vec<Series>, Vec<Problem>> {
    let per_gram = ways::per_gram(bench)?;
    let wanted = search::nodes(bench);
    let only = bench.plan.stock.as_ref().map(|stock| stock.value);
    let only = only.and_then(|stock| wanted.iter().position(|node| node.target == Some(stock)));
    let mut starts: Vec<Vec<Node>> = vec![wanted.clone()];
    if only.is_none() {
        let stocks = search::stocks(bench, &wanted, saturated).into_iter();
        starts.extend(stocks.map(|stock| [&[stock], wanted.as_slice()].concat()));
    }
    let mut rows: Vec<Vec<Series>> = Vec::new();
    let mut why: Option<Stuck> = None;
    for nodes in &starts {
        let ways = ways::all(bench, per_gram, nodes, only)?;
        tried.ways += ways.of.iter().map(Vec::len).sum::<usize>();
        tried.cut |= ways.cut;
        match search::series(bench, nodes, &ways, most) {
            Ok(series) => rows.push(series),
            Err(stuck) if why.is_none() && nodes.len() == wanted.len() => why = Some(stuck),
            Err(_) => {}
        }
    }
    // One of each start in turn, so that none crowds out the others.
    let longest = rows.iter().map(Vec::len).max().unwrap_or(0);
    let in_turn = (0..longest).flat_map(|i| rows.iter().filter_map(move |row| row.get(i)));
    let all: Vec<Series> = in_turn.take(most).cloned().collect();
    match why {
        Some(stuck) if all.is_empty() => Err(vec![wishes::stuck(bench, &wanted, stuck)]),
        _ => Ok(all),
    }
}

/// Finds the way to weigh that gives the least uncertainty in the middle of the range, for a series; of equals, the one
/// of fewest deliveries.
fn weighing(bench: &Bench, series: &Series, tried: &mut Tried) -> Result<Weighing, Vec<Problem>> {
    let mut best: Option<([f64; 3], Weighing)> = None;
    let mut problems = Vec::new();
    let larger_first = (0..bench.deliver.len()).rev();
    let each = larger_first.flat_map(|ware| {
        let balances = bench.balances.iter();
        balances.flat_map(move |balance| {
            (1..=MOST_DELIVERIES_WEIGHED).map(move |count| (ware, *balance, count))
        })
    });
    let each = each.map(|(ware, balance, count)| Weighing {
        balance,
        ware,
        deliveries: bench.deliver[ware].full(count),
        times: bench.plan.weighings,
    });
    let possible = each.filter(|weighing| weighing.is_possible(bench));
    for weighing in possible.take(MOST_WEIGHING_WAYS) {
        tried.reduced += 1;
        match reduced(bench, series, &weighing, 0.5) {
            Ok((.., answer)) => {
                let key = [
                    printed(answer.expanded_uncertainty),
                    f64::from(weighing.deliveries.count),
                    weighing.deliveries.total,
                ];
                let better = best
                    .as_ref()
                    .is_none_or(|(known, _)| in_turn(&key, known).is_lt());
                if better {
                    best = Some((key, weighing));
                }
            }
            Err(more) => problems = more,
        }
    }
    best.map(|(_, weighing)| weighing).ok_or(problems)
}
