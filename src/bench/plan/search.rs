//! The search: which ways, taken together, make a series.
//!
//! Solutions are taken from the strongest to the weakest. Of the series begun so far, the best [`KEPT`] by each of the
//! [`Criterion`]s go on; where there are no more than these, every series there is. So the cost is bounded by the ways
//! ([`super::ways::MOST_WAYS`] for each stock tried) times the series kept.

use std::cmp::Ordering;

use super::bench::{Bench, last_place};
use super::series::{Recipe, Series, Step, work};
use super::ways::{By, DEPARTURE, MOST_DELIVERIES, Node, Way, Ways};

/// Series begun that go on, by each criterion.
const KEPT: usize = 8;
/// The number of strengths tried for a separate stock, and the number that they are chosen from.
const STOCKS: usize = 3;
const STRENGTHS: usize = 200;
/// Salt that dissolves slowly is no stock: so much of a saturated solution at most.
const OF_SATURATION: f64 = 0.9;

/// A series in the making.
#[derive(Debug, Clone)]
struct Begun {
    steps: Vec<Step>,
    /// Square of the relative standard uncertainty of each solution.
    variances: Vec<f64>,
    /// What is left of each for others, mL.
    spare: Vec<f64>,
    deliveries: u32,
    weighed: u32,
    volume: f64,
    departure: f64,
}

/// A measure for comparing series before their uncertainties are foretold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Criterion {
    Certainty,
    Work,
    Volume,
    FewWeighed,
}

impl Criterion {
    const ALL: [Self; 4] = [Self::Certainty, Self::Work, Self::Volume, Self::FewWeighed];

    /// Returns the lower, the better; what comes first counts first.
    fn rank(self, begun: &Begun) -> [f64; 4] {
        let certainty: f64 = begun.variances.iter().sum();
        let work = work(begun.deliveries, begun.weighed, begun.volume);
        match self {
            Self::Certainty => [certainty, work, begun.volume, begun.departure],
            Self::Work => [work, begun.departure, begun.volume, certainty],
            Self::Volume => [begun.volume, work, begun.departure, certainty],
            Self::FewWeighed => [
                f64::from(begun.weighed),
                work,
                begun.departure,
                begun.volume,
            ],
        }
    }
}

/// Compares measures one after the other.
pub(super) fn in_turn(one: &[f64], other: &[f64]) -> Ordering {
    let pairs = one.iter().zip(other);
    let mut orderings = pairs.map(|(a, b)| a.total_cmp(b));
    orderings.find(|o| o.is_ne()).unwrap_or(Ordering::Equal)
}

/// Returns the best of some series by each criterion, each once.
fn best(mut all: Vec<Begun>, kept: usize) -> Vec<Begun> {
    if all.len() <= kept * Criterion::ALL.len() {
        return all;
    }
    let mut chosen = vec![false; all.len()];
    for criterion in Criterion::ALL {
        let keys: Vec<[f64; 4]> = all.iter().map(|begun| criterion.rank(begun)).collect();
        let mut order: Vec<usize> = (0..all.len()).collect();
        order.sort_by(|a, b| in_turn(&keys[*a], &keys[*b]).then(a.cmp(b)));
        for at in order.into_iter().take(kept) {
            chosen[at] = true;
        }
    }
    let mut chosen = chosen.into_iter();
    all.retain(|_| chosen.next().unwrap_or_default());
    all
}

/// Why no series is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stuck {
    /// The node that cannot be made.
    pub(super) node: usize,
    /// Whether it could be, if there were more of what it is diluted from.
    pub(super) for_want_of_stock: bool,
}

/// Series of the nodes, at most `most` of them, those that are best by any criterion.
pub(super) fn series(
    bench: &Bench,
    nodes: &[Node],
    ways: &Ways,
    most: usize,
) -> Result<Vec<Series>, Stuck> {
    let mut begun = vec![Begun {
        steps: Vec::new(),
        variances: Vec::new(),
        spare: Vec::new(),
        deliveries: 0,
        weighed: 0,
        volume: 0.0,
        departure: 0.0,
    }];
    for (at, node) in nodes.iter().enumerate() {
        let mut next = Vec::new();
        for begun in &begun {
            next.extend(
                ways.of[at]
                    .iter()
                    .filter_map(|way| begun.with(bench, node, way)),
            );
        }
        if next.is_empty() {
            return Err(Stuck {
                node: at,
                for_want_of_stock: !ways.of[at].is_empty(),
            });
        }
        begun = best(next, KEPT);
    }
    // A stock that nothing is diluted from is none.
    begun.retain(Begun::uses_its_stock);
    let begun = best(begun, most.div_ceil(Criterion::ALL.len()));
    Ok(begun
        .into_iter()
        .map(|begun| Series { steps: begun.steps })
        .collect())
}

impl Begun {
    /// Returns the same with another solution; `None` if there is not enough of what it is diluted from, or its
    /// strength would be off by more than is allowed.
    fn with(&self, bench: &Bench, node: &Node, way: &Way) -> Option<Self> {
        let mut next = self.clone();
        let volume = bench.vessels[way.vessel].capacity;
        let (making, gamma, variance) = match &way.by {
            By::Balance {
                balance,
                mass,
                gamma,
            } => {
                next.departure += (gamma / node.gamma - 1.0).abs();
                next.weighed += 1;
                let making = Recipe::Weighed {
                    mass: mass.clone(),
                    balance: *balance,
                    vessel: way.vessel,
                };
                (making, *gamma, way.variance)
            }
            By::Ware { with, aliquot } => {
                let of = way.of?;
                let source = &self.steps[of];
                let gamma = source.gamma * (aliquot.total / volume);
                let departure = (gamma / node.gamma - 1.0).abs();
                let taken = aliquot.total + bench.deliver[*with].conditioning();
                if departure > DEPARTURE || taken > self.spare[of] * (1.0 + 1e-9) {
                    return None;
                }
                next.spare[of] -= taken;
                next.deliveries += aliquot.count;
                next.departure += departure;
                let making = Recipe::Diluted {
                    of,
                    with: *with,
                    aliquot: aliquot.clone(),
                    vessel: way.vessel,
                };
                (making, gamma, self.variances[of] + way.variance)
            }
        };
        next.volume += volume;
        next.spare.push(volume - node.volume);
        next.variances.push(variance);
        next.steps.push(Step {
            target: node.target,
            making,
            gamma,
        });
        Some(next)
    }

    fn uses_its_stock(&self) -> bool {
        let used = |stock: usize| {
            let mut steps = self.steps.iter();
            steps.any(|step| matches!(step.making, Recipe::Diluted { of, .. } if of == stock))
        };
        (0..self.steps.len()).all(|at| self.steps[at].target.is_some() || used(at))
    }
}

/// Returns the solutions wanted as nodes, the strongest first; of equals, the earlier.
pub(super) fn nodes(bench: &Bench) -> Vec<Node> {
    let targets = bench.targets.iter().enumerate();
    let mut nodes: Vec<Node> = targets
        .map(|(target, wanted)| Node {
            target: Some(target),
            gamma: wanted.gamma,
            volume: wanted.volume,
        })
        .collect();
    nodes.sort_by(|a, b| b.gamma.total_cmp(&a.gamma).then(a.target.cmp(&b.target)));
    nodes
}

/// Stocks stronger than all that is wanted, from which most of it can be diluted; `saturated` is the mass concentration
/// of the saturated solution, g/L. The strengths tried are those from which some ware makes the strongest just as wanted.
pub(super) fn stocks(bench: &Bench, nodes: &[Node], saturated: f64) -> Vec<Node> {
    let Some(strongest) = nodes.first() else {
        return Vec::new();
    };
    let mut strengths: Vec<f64> = Vec::new();
    for vessel in &bench.vessels {
        for ware in &bench.deliver {
            for count in 1..=MOST_DELIVERIES {
                let ratio = ware.full(count).total / vessel.capacity;
                let gamma = strongest.gamma / ratio;
                let stronger =
                    ratio < 1.0 / (1.0 + DEPARTURE) && gamma <= OF_SATURATION * saturated;
                let room = strengths.len() < STRENGTHS;
                if stronger
                    && room
                    && strengths
                        .iter()
                        .all(|known| (known / gamma - 1.0).abs() > 1e-9)
                {
                    strengths.push(gamma);
                }
            }
        }
    }
    let mut judged: Vec<(usize, f64, f64)> = strengths
        .into_iter()
        .map(|gamma| {
            let departures = nodes.iter().filter_map(|node| {
                let ratio = node.gamma / gamma;
                let each = (0..bench.vessels.len())
                    .filter(|v| bench.vessels[*v].capacity >= node.volume)
                    .flat_map(|vessel| (0..bench.deliver.len()).map(move |with| (with, vessel)))
                    .filter_map(|(with, vessel)| super::ways::aliquot(bench, with, vessel, ratio))
                    .map(|(_, reached)| (reached - 1.0).abs());
                each.min_by(f64::total_cmp).filter(|off| *off <= DEPARTURE)
            });
            let departures: Vec<f64> = departures.collect();
            (departures.len(), departures.iter().sum(), gamma)
        })
        .collect();
    judged.sort_by(|a, b| {
        b.0.cmp(&a.0)
            .then(a.1.total_cmp(&b.1))
            .then(a.2.total_cmp(&b.2))
    });
    let stock = |(_, _, gamma): (usize, f64, f64)| Node {
        target: None,
        gamma: rounded(gamma),
        volume: 0.0,
    };
    judged.into_iter().take(STOCKS).map(stock).collect()
}

/// Rounds a strength to four digits; the mass weighed has no more.
fn rounded(gamma: f64) -> f64 {
    let place = 10f64.powi(last_place(gamma) - 5);
    (gamma / place).round() * place
}
