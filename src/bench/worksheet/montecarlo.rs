//! Propagation of distributions by a Monte Carlo method (JCGM 101:2008), and the check of the first-order result by it.
//!
//! Draws come in blocks, each from its own stretch of the generator's sequence, and are put together in the order of the
//! blocks: the numbers depend on the seed and the number of draws, not on how many threads shared the work. A Student's t component
//! of ν degrees of freedom is drawn as t times its standard uncertainty (6.4.9), and so spreads wider than that.
//!
//! What a worksheet neglects is drawn as what it is, so that the draws of a result lie about its best estimate. Its interval
//! is to hold them about the uncorrected value all the same: the one about the best estimate is moved there by the bias, and
//! widened by the same on either side until it holds as much as it is to hold. First order does the same
//! ([`super::Uncertainty`]).
//!
//! The generator is PCG64-DXSM, of period 2¹²⁸: small, fast, and able to step far ahead in no time.

use std::num::NonZeroUsize;

use rand_pcg::Pcg64Dxsm;

use super::program::{BATCH, Program};
use super::{NodeId, Source, Worksheet};
use crate::threads::{make_each, processors};

/// Draws of a block; those asked for are rounded up to whole blocks (JCGM 101:2008, 7.9.4 takes the same number).
pub const BLOCK: usize = 10_000;

/// Values held at a time, over all results: 160 MB.
const MOST_HELD: usize = 20_000_000;

/// How far apart in the generator's sequence blocks begin: the golden section of its period, of which no two small
/// multiples come near each other.
const APART: u128 = 0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835;

/// How a Monte Carlo run is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Draws wanted; at least one block is done.
    pub draws: usize,
    /// Seed of the generator.
    pub seed: u64,
    /// Coverage probability of the intervals, above 0 and below 1.
    pub coverage: f64,
    /// Threads to share the work; as many as there are processors where none are named. The numbers do not depend on it.
    pub threads: Option<NonZeroUsize>,
}

/// A coverage interval, in the unit of the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
}

/// What a Monte Carlo run says of a result.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulated {
    /// Draws done.
    pub draws: usize,
    /// Draws in which the result has no finite value; they are left out of all else.
    pub undefined: usize,
    /// Mean of the draws; `None` if a component with at most 1 degree of freedom keeps it from existing.
    pub mean: Option<f64>,
    /// Standard deviation of the draws; `None` if a component with at most 2 degrees of freedom keeps it from existing.
    pub standard_deviation: Option<f64>,
    /// The interval that leaves out as much above as below (JCGM 101:2008, 7.7.2); of a biased result, that one moved to
    /// the uncorrected value and widened. Not numbers where no draw is defined.
    pub symmetric: Interval,
    /// The shortest interval (JCGM 101:2008, 5.3.4).
    pub shortest: Interval,
    /// Standard deviations of the estimates of the symmetric interval's ends, from their scatter between blocks
    /// (JCGM 101:2008, 7.9.4); not numbers where there is one block alone.
    pub noise: Interval,
}

/// The check of a first-order interval against the symmetric one of a Monte Carlo run (JCGM 101:2008, clause 8).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Validation {
    /// Numerical tolerance δ of a standard uncertainty of two significant digits (7.9.2).
    pub tolerance: f64,
    /// Distance of the lower ends.
    pub low: f64,
    /// Distance of the upper ends.
    pub high: f64,
    /// Whether both distances are at most the tolerance.
    pub validated: bool,
    /// Whether twice the noise of the ends is at most a fifth of the tolerance, as clause 8.2 wants it.
    pub enough_draws: bool,
    /// Whether more draws are unlikely to change the verdict: twice the noise does not bridge what a distance lacks to
    /// the tolerance, or has beyond it.
    pub settled: bool,
}

impl Validation {
    /// Compares an interval of half-width `expanded` about `value` with a Monte Carlo run; `standard` is the first-order
    /// standard uncertainty, above 0.
    pub fn compare(value: f64, standard: f64, expanded: f64, simulated: &Simulated) -> Self {
        let tolerance = tolerance(standard);
        let low = (value - expanded - simulated.symmetric.low).abs();
        let high = (value + expanded - simulated.symmetric.high).abs();
        let noise = simulated.noise;
        let within = low <= tolerance && high <= tolerance;
        let surely = |distance: f64, noise: f64| distance + 2.0 * noise <= tolerance;
        let beyond = |distance: f64, noise: f64| distance - 2.0 * noise > tolerance;
        Self {
            tolerance,
            low,
            high,
            validated: within,
            enough_draws: 2.0 * noise.low.max(noise.high) <= tolerance / 5.0,
            settled: if within {
                surely(low, noise.low) && surely(high, noise.high)
            } else {
                beyond(low, noise.low) || beyond(high, noise.high)
            },
        }
    }
}

/// Returns half of the second significant digit's place: with u = c × 10^l, c a whole number of two digits, 10^l / 2
/// (JCGM 101:2008, 7.9.2).
fn tolerance(standard: f64) -> f64 {
    let first = crate::bench::quantity::rounding::first_place(standard, -343).unwrap_or(0);
    // 0.0996 is 0.10 in two digits.
    let first = crate::bench::quantity::rounding::first_place(standard, first - 1).unwrap_or(first);
    0.5 * 10f64.powi(first - 1)
}

impl Worksheet {
    /// Propagates the distributions of the inputs to some results, told in their order.
    pub fn monte_carlo(&self, results: &[NodeId], plan: &Plan) -> Vec<Simulated> {
        let program = Program::new(self, results);
        let blocks = plan.draws.div_ceil(BLOCK).max(1);
        let held = (MOST_HELD / BLOCK / results.len().max(1)).clamp(1, blocks);
        let mut gathered: Vec<Gathered> = results
            .iter()
            .map(|id| Gathered::about(self.value(*id), self.uncertainty(*id).bias))
            .collect();
        // What does not fit into memory is done in stretches, whose intervals are averaged.
        let threads = plan.threads.map_or_else(processors, NonZeroUsize::get);
        let mut values = vec![0.0; held * BLOCK * results.len()];
        for first in (0..blocks).step_by(held) {
            let count = held.min(blocks - first);
            let values = &mut values[..count * BLOCK * results.len()];
            let of_block = values.chunks_mut((BLOCK * results.len()).max(1));
            make_each(threads, of_block.enumerate(), |(block, values)| {
                fill(&program, plan.seed, first + block, values);
            });
            let values = &*values;
            make_each(
                threads,
                gathered.iter_mut().enumerate(),
                |(index, gathered)| {
                    let blocks = values.chunks(BLOCK).skip(index).step_by(results.len());
                    gathered.stretch(blocks, plan.coverage);
                },
            );
        }
        let freedom = results.iter().map(|id| self.least_freedom(*id));
        gathered
            .into_iter()
            .zip(freedom)
            .map(|(gathered, dof)| gathered.finish(dof))
            .collect()
    }

    /// Returns the fewest degrees of freedom of any component that a result depends on.
    fn least_freedom(&self, result: NodeId) -> f64 {
        let of = |(id, _): &(NodeId, f64)| match &self.node(*id).source {
            Source::Input(input) => {
                let uncertain = input
                    .components
                    .iter()
                    .filter(|c| c.standard_uncertainty > 0.0);
                uncertain.map(|c| c.dof).fold(f64::INFINITY, f64::min)
            }
            _ => f64::INFINITY,
        };
        self.sensitivities(result)
            .iter()
            .map(of)
            .fold(f64::INFINITY, f64::min)
    }
}

/// Fills a block: the values of each result one after the other.
fn fill(program: &Program, seed: u64, block: usize, values: &mut [f64]) {
    let mut random = Pcg64Dxsm::new(u128::from(seed), 0);
    random.advance(APART.wrapping_mul(block as u128));
    let mut slots = program.slots();
    for batch in (0..BLOCK).step_by(BATCH) {
        program.run(&mut slots, &mut random);
        for (index, of_result) in values.chunks_mut(BLOCK).enumerate() {
            program.result(&slots, index, &mut of_result[batch..batch + BATCH]);
        }
    }
}

/// What is known of a result after some stretches of draws.
struct Gathered {
    /// The worksheet's value; sums are of departures from it.
    about: f64,
    /// What the draws lie beside it.
    bias: f64,
    defined: usize,
    undefined: usize,
    sum: f64,
    squares: f64,
    /// Ends of the intervals, each times the draws of its stretch.
    symmetric: Interval,
    shortest: Interval,
    /// Ends of the symmetric interval of each block.
    ends: Vec<Interval>,
}

impl Gathered {
    fn about(about: f64, bias: f64) -> Self {
        let none = Interval {
            low: 0.0,
            high: 0.0,
        };
        Self {
            about,
            bias,
            defined: 0,
            undefined: 0,
            sum: 0.0,
            squares: 0.0,
            symmetric: none,
            shortest: none,
            ends: Vec::new(),
        }
    }

    fn stretch<'a>(&mut self, blocks: impl Iterator<Item = &'a [f64]>, coverage: f64) {
        let mut all = Vec::new();
        for block in blocks {
            let from = all.len();
            all.extend(block.iter().filter(|value| value.is_finite()));
            let block = &mut all[from..];
            let (sum, squares) = block.iter().fold((0.0, 0.0), |(sum, squares), value| {
                let departure = value - self.about;
                (sum + departure, squares + departure * departure)
            });
            self.sum += sum;
            self.squares += squares;
            self.undefined += BLOCK - block.len();
            if let Some((low, high)) = ends(block.len(), coverage) {
                // Selecting reorders the block, which is no matter.
                let low = *block.select_nth_unstable_by(low, f64::total_cmp).1;
                let high = *block.select_nth_unstable_by(high, f64::total_cmp).1;
                self.ends.push(Interval { low, high });
            }
        }
        all.sort_unstable_by(f64::total_cmp);
        self.defined += all.len();
        let Some((low, high)) = ends(all.len(), coverage) else {
            return;
        };
        let weight = all.len() as f64;
        let add = |onto: &mut Interval, low: f64, high: f64| {
            onto.low += weight * low;
            onto.high += weight * high;
        };
        let about_value = about_value(&all, all[low] - self.bias, all[high] - self.bias, coverage);
        add(&mut self.symmetric, about_value.low, about_value.high);
        let within = high - low;
        let shortest = (0..all.len() - within).min_by(|a, b| {
            let length = |low: usize| all[low + within] - all[low];
            length(*a).total_cmp(&length(*b))
        });
        let low = shortest.unwrap_or(low);
        add(&mut self.shortest, all[low], all[low + within]);
    }

    fn finish(self, least_freedom: f64) -> Simulated {
        let count = self.defined as f64;
        let mean = self.sum / count;
        let variance = (self.squares - count * mean * mean) / (count - 1.0);
        let over = |sums: Interval| Interval {
            low: sums.low / count,
            high: sums.high / count,
        };
        Simulated {
            draws: self.defined + self.undefined,
            undefined: self.undefined,
            mean: (least_freedom > 1.0).then_some(self.about + mean),
            standard_deviation: (least_freedom > 2.0).then(|| variance.max(0.0).sqrt()),
            symmetric: over(self.symmetric),
            shortest: over(self.shortest),
            noise: Interval {
                low: standard_error(self.ends.iter().map(|ends| ends.low)),
                high: standard_error(self.ends.iter().map(|ends| ends.high)),
            },
        }
    }
}

/// Ranks, from 0, of the ends of the symmetric interval among so many values in order (JCGM 101:2008, 7.7.2); `None` if
/// there are too few.
fn ends(count: usize, coverage: f64) -> Option<(usize, usize)> {
    let within = (coverage * count as f64 + 0.5) as usize;
    let low = (count.checked_sub(within)?).div_ceil(2).checked_sub(1)?;
    (low + within < count).then_some((low, low + within))
}

/// Returns an interval widened by the same on either side until it holds a share `coverage` of the values in order.
fn about_value(values: &[f64], low: f64, high: f64, coverage: f64) -> Interval {
    let wanted = (coverage * values.len() as f64 + 0.5) as usize;
    let holds = |by: f64| {
        let below = values.partition_point(|value| *value < low - by);
        let within = values.partition_point(|value| *value <= high + by);
        within.saturating_sub(below) >= wanted
    };
    let reach = values.first().zip(values.last());
    let reach = reach.map_or(0.0, |(first, last)| (low - first).max(last - high));
    let (mut short, mut enough) = (0.0, reach.max(0.0));
    if holds(short) {
        enough = short;
    }
    while enough - short > 1e-9 * enough {
        let middle = 0.5 * (short + enough);
        if holds(middle) {
            enough = middle;
        } else {
            short = middle;
        }
    }
    Interval {
        low: low - enough,
        high: high + enough,
    }
}

/// Standard deviation of a mean, from what it is the mean of; not a number for one value alone.
fn standard_error(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let count = values.clone().count() as f64;
    let mean = values.clone().sum::<f64>() / count;
    (values.map(|value| (value - mean).powi(2)).sum::<f64>() / (count * (count - 1.0))).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_ranked_as_in_the_standard() {
        // M = 10 000, p = 0.95: q = 9500, r = 250, from 1.
        assert_eq!(ends(10_000, 0.95), Some((249, 9749)));
        assert_eq!(ends(3, 0.95), None);
        assert_eq!(ends(0, 0.95), None);
    }

    #[test]
    fn an_interval_is_widened_until_it_holds_enough() {
        let values: Vec<f64> = (0..1000).map(f64::from).collect();
        let as_it_is = about_value(&values, 24.0, 974.0, 0.95);
        assert_eq!((as_it_is.low, as_it_is.high), (24.0, 974.0));
        // Moved down by 100, it holds 875 of them; nothing is left below 0, so that all is gained above.
        let moved = about_value(&values, -76.0, 874.0, 0.95);
        assert!((moved.low + 151.0).abs() < 1e-3, "{moved:?}");
        assert!((moved.high - 949.0).abs() < 1e-3, "{moved:?}");
    }

    #[test]
    fn tolerance_is_half_the_second_digit() {
        for (u, expected) in [
            (0.0539, 0.0005),
            (1.0, 0.05),
            (0.099_6, 0.005),
            (2.0e3, 50.0),
        ] {
            let found = tolerance(u);
            assert!((found / expected - 1.0_f64).abs() < 1e-12, "{u}: {found}");
        }
    }
}
