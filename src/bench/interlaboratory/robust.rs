//! Mean and standard deviation that a few wild values move by little: Algorithm A of ISO 13528:2015, C.3.1.
//!
//! The iteration runs on distances from the median, so that a constant added to all values does not change its course.

use super::{Unusable, require};
use crate::bench::fit::{mean, standard_deviation};

/// Makes the median absolute deviation an estimate of the standard deviation of normal values.
const MAD_FACTOR: f64 = 1.483;

/// Values further than this many robust standard deviations from the robust mean are moved there.
const REACH: f64 = 1.5;

/// Makes the standard deviation of values so moved an estimate of that of normal values.
const MOVED_FACTOR: f64 = 1.134;

/// The efficiency of the robust mean, as a factor of its standard uncertainty (ISO 13528:2015, 7.7).
const UNCERTAINTY_FACTOR: f64 = 1.25;

/// In the step after Algorithm A, values further than this many robust standard deviations are moved there.
const FAR_REACH: f64 = 2.5;

/// Makes the standard deviation of values so moved an estimate of that of normal values: 1/√E[min(z², 2.5²)].
const FAR_FACTOR: f64 = 1.0114;

/// The variance of the estimate of a variance by [`refined`], over that of the ordinary estimate, for normal values
/// (simulated: 1.01 to 1.07 for 8 to 100 values).
pub(super) const REFINED: f64 = 1.05;

/// Of fewer values, none can be told to be wild.
const LEAST: usize = 3;

/// Changes below this share of the robust standard deviation are rounding.
const SETTLED: f64 = 1e-12;

/// A robust standard deviation below this share of the first one is on its way to nothing, as where nearly all values are
/// equal.
const NOTHING: f64 = 1e-15;

/// More are needed only where about a quarter of the values stand apart from others that are all but equal.
const MOST_STEPS: usize = 1000;

/// What Algorithm A finds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Robust {
    /// Robust mean x*, unit of the values.
    pub mean: f64,
    /// Robust standard deviation s*, unit of the values; 0 where nearly all of them are equal.
    pub standard_deviation: f64,
    /// How many values.
    pub count: usize,
    /// How many lie so far below that they count as x* − 1.5 s*.
    pub below: usize,
    /// How many lie so far above that they count as x* + 1.5 s*.
    pub above: usize,
    /// Steps of the iteration.
    pub steps: usize,
    /// Whether the last step changed nothing but the rounding.
    pub converged: bool,
}

impl Robust {
    /// Standard uncertainty of the robust mean, 1.25 s*/√p, unit of the values (ISO 13528:2015, 7.7).
    #[must_use]
    pub fn uncertainty(&self) -> f64 {
        UNCERTAINTY_FACTOR * self.standard_deviation / (self.count as f64).sqrt()
    }
}

/// Robust mean and standard deviation of values in any one unit by Algorithm A of ISO 13528:2015, C.3.1: x* and s* start
/// at [`median`] and [`scaled_mad`], values beyond x* ± 1.5 s* are moved there, x* becomes their mean and s* 1.134 times
/// their standard deviation, until nothing changes.
///
/// Where more than half of the values are equal, [`scaled_mad`] is 0 and would stay so. The start is then the ordinary
/// standard deviation, which the standard leaves open.
///
/// # Errors
/// Fewer than three values; a value or its square not finite.
///
/// ```
/// let found = fillmark::bench::interlaboratory::algorithm_a(&[9.9, 10.0, 10.1, 10.0, 25.0])?;
/// assert!((found.mean - 10.0).abs() < 0.1 && found.converged);
/// # Ok::<(), fillmark::bench::interlaboratory::Unusable>(())
/// ```
pub fn algorithm_a(values: &[f64]) -> Result<Robust, Unusable> {
    require(values, LEAST)?;
    let middle = median(values);
    let distances: Vec<f64> = values.iter().map(|v| v - middle).collect();
    let (mut centre, mut deviation) = (0.0, scaled_mad(values));
    if deviation == 0.0 {
        deviation = standard_deviation(&distances);
    }
    let nothing = NOTHING * deviation;
    let (mut steps, mut converged) = (0, false);
    while !converged && steps < MOST_STEPS {
        steps += 1;
        let reach = REACH * deviation;
        let moved: Vec<f64> = distances
            .iter()
            .map(|d| d.max(centre - reach).min(centre + reach))
            .collect();
        let before = (centre, deviation);
        (centre, deviation) = (mean(&moved), MOVED_FACTOR * standard_deviation(&moved));
        let change = (centre - before.0).abs().max((deviation - before.1).abs());
        converged = change <= SETTLED * deviation;
        if deviation < nothing {
            (centre, deviation, converged) = (0.0, 0.0, true);
        }
    }
    let reach = REACH * deviation;
    Ok(Robust {
        mean: middle + centre,
        standard_deviation: deviation,
        count: values.len(),
        below: distances.iter().filter(|d| **d < centre - reach).count(),
        above: distances.iter().filter(|d| **d > centre + reach).count(),
        steps,
        converged,
    })
}

/// Returns mean and standard deviation by one more step after [`algorithm_a`], which moves only values beyond 2.5 of its
/// standard deviations. It withstands as many outliers as Algorithm A, and for normal values it is nearly as efficient as the
/// ordinary estimates (one-step estimators: P. J. Rousseeuw, A. M. Leroy, *Robust Regression and Outlier Detection*, 1987;
/// from memory).
///
/// # Errors
/// As [`algorithm_a`].
pub(super) fn refined(values: &[f64]) -> Result<(f64, f64), Unusable> {
    let robust = algorithm_a(values)?;
    let reach = FAR_REACH * robust.standard_deviation;
    // Distances, so that a constant added to all values changes nothing.
    let moved = values
        .iter()
        .map(|v| (v - robust.mean).clamp(-reach, reach));
    let moved: Vec<f64> = moved.collect();
    let deviation = FAR_FACTOR * standard_deviation(&moved);
    Ok((robust.mean + mean(&moved), deviation))
}

/// The median of numbers in any one unit, of an even number the mean of the middle two; NaN of none, or where one is not a
/// number.
#[must_use]
pub fn median(values: &[f64]) -> f64 {
    if values.is_empty() || values.iter().any(|v| v.is_nan()) {
        return f64::NAN;
    }
    let mut sorted = values.to_vec();
    let half = sorted.len() / 2;
    let (lower, upper, _) = sorted.select_nth_unstable_by(half, f64::total_cmp);
    let upper = *upper;
    if values.len() % 2 == 1 {
        return upper;
    }
    lower
        .iter()
        .copied()
        .max_by(f64::total_cmp)
        .map_or(upper, |lower| f64::midpoint(lower, upper))
}

/// The median distance from the median, times 1.483: an estimate of the standard deviation of normal values, in their unit
/// (ISO 13528:2015, annex C); NaN as [`median`].
#[must_use]
pub fn scaled_mad(values: &[f64]) -> f64 {
    let middle = median(values);
    let distances: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
    MAD_FACTOR * median(&distances)
}
