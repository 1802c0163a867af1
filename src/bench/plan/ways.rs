//! The ways in which each solution can be made by itself, and how uncertain each leaves its strength.
//!
//! The uncertainties come from the reduction of one run with a solution for each way.

use std::collections::BTreeMap;

use super::bench::{Bench, Deliveries, Mass};
use crate::bench::reduce::{Reduction, reduce};
use crate::bench::runfile;
use crate::bench::runfile::planned_run::{PlannedMade, PlannedRun, PlannedSolution, Readings};
use crate::problem::Problem;

/// A strength reached may depart from the one wanted by this share of it: a calibration loses nothing by that, and its
/// report goes by what was reached. Half a volume of 10 % makes 5.17 %, and is what is done for 5 % (common practice, no
/// source).
pub(super) const DEPARTURE: f64 = 0.05;
/// More deliveries than these into one vessel are tedious, and miscounted (common practice, no source).
pub(super) const MOST_DELIVERIES: u32 = 10;
/// A solution is diluted from one of so many that are next stronger, or of so many of the strongest.
const NEAREST: usize = 3;
const STRONGEST: usize = 2;
/// More ways than these are not weighed up; of one solution always so many.
pub(super) const MOST_WAYS: usize = 800;
const FEWEST_WAYS: usize = 8;

/// A solution to be made: one that is wanted, or a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    /// Which of those wanted; none: a stock that is only diluted.
    pub(super) target: Option<usize>,
    /// Its mass concentration as wanted, g/L.
    pub(super) gamma: f64,
    /// How much of it is needed, mL.
    pub(super) volume: f64,
}

/// A way to make a solution.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    /// The node that it is diluted from; `None` if its salt is weighed.
    pub(super) of: Option<usize>,
    /// The vessel, an index into [`Bench::vessels`].
    pub(super) vessel: usize,
    pub(super) by: By,
    /// The square of the relative standard uncertainty that this way adds.
    pub(super) variance: f64,
}

/// By what a solution is made.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum By {
    /// Salt on a balance, an index into the apparatus.
    Balance {
        balance: usize,
        /// The mass.
        mass: Mass,
        /// What that makes of the solution, g/L.
        gamma: f64,
    },
    /// Ware, an index into [`Bench::deliver`].
    Ware { with: usize, aliquot: Deliveries },
}

/// All ways of all nodes.
#[derive(Debug)]
pub(super) struct Ways {
    /// By node.
    pub(super) of: Vec<Vec<Way>>,
    /// Whether some were left out, as there were more than are weighed up.
    pub(super) cut: bool,
}

/// Returns the aliquots of ware that make a node of a stronger one in a vessel as strong as is wanted, deliveries and
/// all; of ware with one mark the nearest number of deliveries.
pub(super) fn aliquot(
    bench: &Bench,
    with: usize,
    vessel: usize,
    ratio: f64,
) -> Option<(Deliveries, f64)> {
    let volume = bench.vessels[vessel].capacity;
    let aliquot = bench.deliver[with].about(ratio * volume)?;
    let reached = aliquot.total / volume / ratio;
    (aliquot.count <= MOST_DELIVERIES && aliquot.total < volume).then_some((aliquot, reached))
}

/// Returns the nodes that one may be diluted from: the nodes stand in the order of their strength, the strongest first.
pub(super) fn sources(nodes: &[Node], node: usize) -> impl Iterator<Item = usize> {
    let stronger = (0..node).filter({
        let gamma = nodes[node].gamma;
        let nodes = nodes.to_vec();
        move |other| nodes[*other].gamma > gamma * (1.0 + DEPARTURE)
    });
    stronger.filter(move |other| *other < STRONGEST || *other + NEAREST >= node)
}

/// Returns all ways of the nodes; `only`: the one node whose salt may be weighed.
///
/// # Errors
/// What the reduction finds wrong with the bench.
pub(super) fn all(
    bench: &Bench,
    per_gram: f64,
    nodes: &[Node],
    only: Option<usize>,
) -> Result<Ways, Vec<Problem>> {
    let room = (MOST_WAYS / nodes.len().max(1)).max(FEWEST_WAYS);
    let mut cut = false;
    let mut ways: Vec<Vec<Way>> = Vec::new();
    for (at, node) in nodes.iter().enumerate() {
        let mut weighed = Vec::new();
        if only.is_none_or(|only| only == at) {
            weighed = weighed_out(bench, per_gram, node);
        }
        let mut diluted = Vec::new();
        if only != Some(at) {
            diluted = diluted_from(bench, nodes, at);
        }
        cut |= weighed.len() + diluted.len() > room;
        // Neither sort crowds out the other.
        let of_half = |other: usize| (room - room / 2).max(room.saturating_sub(other));
        let (most_weighed, most_diluted) = (of_half(diluted.len()), of_half(weighed.len()));
        weighed.truncate(most_weighed);
        diluted.truncate(most_diluted);
        weighed.extend(diluted);
        ways.push(weighed);
    }
    weigh_up(bench, &mut ways)?;
    Ok(Ways { of: ways, cut })
}

/// Returns the vessels that hold what is needed of a solution.
fn vessels(bench: &Bench, node: &Node) -> impl Iterator<Item = usize> {
    let least = node.volume * (1.0 - 1e-9);
    (0..bench.vessels.len()).filter(move |vessel| bench.vessels[*vessel].capacity >= least)
}

/// Returns the ways to weigh out a solution, the smallest vessel first.
fn weighed_out(bench: &Bench, per_gram: f64, node: &Node) -> Vec<Way> {
    let mut ways = Vec::new();
    for vessel in vessels(bench, node) {
        for balance in &bench.balances {
            let volume = bench.vessels[vessel].capacity;
            let mass = bench.round_to_step(*balance, node.gamma * volume / per_gram);
            if mass.grams > 0.0 {
                ways.push(Way {
                    of: None,
                    vessel,
                    by: By::Balance {
                        balance: *balance,
                        gamma: mass.grams * per_gram / volume,
                        mass,
                    },
                    variance: 0.0,
                });
            }
        }
    }
    ways
}

/// Returns the ways to dilute a stronger node to one, those first that come nearest.
fn diluted_from(bench: &Bench, nodes: &[Node], at: usize) -> Vec<Way> {
    let node = &nodes[at];
    let mut ways = Vec::new();
    for source in sources(nodes, at) {
        let ratio = node.gamma / nodes[source].gamma;
        for vessel in vessels(bench, node) {
            for with in 0..bench.deliver.len() {
                let found = aliquot(bench, with, vessel, ratio);
                let near = found.filter(|(_, reached)| (reached - 1.0).abs() <= DEPARTURE);
                if let Some((aliquot, reached)) = near {
                    let way = Way {
                        of: Some(source),
                        vessel,
                        by: By::Ware { with, aliquot },
                        variance: 0.0,
                    };
                    ways.push(((reached - 1.0).abs(), way));
                }
            }
        }
    }
    ways.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    ways.into_iter().map(|(_, way)| way).collect()
}

/// Returns how many g/L a gram of the salt makes in a millilitre.
///
/// # Errors
/// What the reduction finds wrong with the bench.
pub(super) fn per_gram(bench: &Bench) -> Result<f64, Vec<Problem>> {
    let reduction = of_ways(bench, Vec::new())?;
    Ok(gamma(&reduction, 0).0 / GRAMS * MILLILITRES)
}

/// The solution that ways of dilution are tried with: of known strength.
const GRAMS: f64 = 100.0;
const MILLILITRES: f64 = 1000.0;
const KNOWN: &str = "known";

/// Enters how uncertain each way is. Ways that do the same are one solution of the run.
fn weigh_up(bench: &Bench, ways: &mut [Vec<Way>]) -> Result<(), Vec<Problem>> {
    let mut indices: BTreeMap<(String, usize, usize), usize> = BTreeMap::new();
    let mut solutions = Vec::new();
    let key = |way: &Way| match &way.by {
        By::Balance { balance, mass, .. } => (mass.written.clone(), *balance, way.vessel),
        By::Ware { with, aliquot } => (
            aliquot.written.clone(),
            bench.deliver[*with].index,
            way.vessel,
        ),
    };
    for way in ways.iter().flatten() {
        let vessel = &bench.vessels[way.vessel];
        let (to, vessel) = (vessel.written.clone(), vessel.index);
        indices.entry(key(way)).or_insert_with(|| {
            let made = match &way.by {
                By::Balance { balance, mass, .. } => PlannedMade::Weighed {
                    mass: mass.written.clone(),
                    balance: Some(*balance),
                    to,
                    vessel: Some(vessel),
                },
                By::Ware { with, aliquot } => PlannedMade::Diluted {
                    of: KNOWN.to_owned(),
                    volume: aliquot.written.clone(),
                    with: bench.deliver[*with].index,
                    to,
                    vessel,
                },
            };
            solutions.push(made);
            solutions.len()
        });
    }
    let reduction = of_ways(bench, solutions)?;
    let (of_known, u_known) = gamma(&reduction, 0);
    for way in ways.iter_mut().flatten() {
        let index = indices.get(&key(way)).copied().unwrap_or_default();
        let (value, u) = gamma(&reduction, index);
        // What is known of the salt is common to all; its uncertainty is not the way's.
        way.variance = ((u / value).powi(2) - (u_known / of_known).powi(2)).max(0.0);
    }
    Ok(())
}

/// Returns the mass concentration of a solution of a run, g/L, and its standard uncertainty.
fn gamma(reduction: &Reduction, solution: usize) -> (f64, f64) {
    let found = reduction.solutions.get(solution);
    found
        .and_then(|found| found.composition.mass_concentration)
        .map_or((f64::NAN, f64::NAN), |id| {
            let ws = &reduction.worksheet;
            (ws.value(id), ws.uncertainty(id).standard)
        })
}

/// Reduces a run with the known solution and then one for each way.
fn of_ways(bench: &Bench, ways: Vec<PlannedMade>) -> Result<Reduction, Vec<Problem>> {
    let known = PlannedMade::Weighed {
        mass: format!("{GRAMS} ± 0.000001 g"),
        balance: None,
        to: format!("{MILLILITRES} ± 0.000001 mL"),
        vessel: None,
    };
    let ways = ways.into_iter().enumerate();
    let ways = ways.map(|(i, made)| (format!("way {}", i + 1), made));
    let solutions = [(KNOWN.to_owned(), known)].into_iter().chain(ways);
    let run = PlannedRun {
        plan: bench.plan,
        apparatus: bench.apparatus,
        solutions: solutions
            .map(|(name, made)| PlannedSolution {
                name,
                made,
                weighings: Vec::new(),
            })
            .collect(),
        density: None,
    };
    let text = run.text(Readings::Expected);
    let (run, problems) = runfile::read(&bench.plan.file, text.as_bytes());
    reduce(&run.ok_or(problems)?)
}
