//! Youden's pairs: each bench measures two similar materials once. What moves both the same way is the bench's own error; what
//! moves them apart is chance (Youden, Industrial Quality Control 15 (1959) 24).

use super::{Unusable, median, require};
use crate::bench::fit::{f_tail, mean, standard_deviation};

/// Of points that scatter by chance alone, so many are within the circle.
const PROBABILITY: f64 = 0.95;

/// What pairs tell, in the unit of their values.
#[derive(Debug, Clone, PartialEq)]
pub struct Youden {
    /// Mean of the first values and of the second: the centre.
    pub mean: [f64; 2],
    /// Median of the first values and of the second.
    pub median: [f64; 2],
    /// Repeatability standard deviation `s_r`: of one value, by the differences within pairs.
    pub repeatability: f64,
    /// Standard deviation of one value by the sums of pairs, in which the error of the bench counts twice.
    pub total: f64,
    /// Degrees of freedom of each of the two.
    pub dof: usize,
    /// Variance between benches as estimated, unit of the values squared; may be below 0.
    pub between_variance: f64,
    /// Standard deviation between benches `s_L`; 0 where its variance is estimated below 0.
    pub between: f64,
    /// The F test of whether benches differ: `total` squared over `repeatability` squared; infinite where all differences
    /// are equal, NaN where the sums are too.
    pub f: f64,
    /// Probability of an F as large by chance.
    pub p_value: f64,
    /// Radius of the circle about the centre that holds 95 % of pairs that scatter by chance alone.
    pub radius: f64,
    /// Each pair in the plot.
    pub pairs: Vec<YoudenPair>,
}

/// Where a pair lies in the plot, in the unit of its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YoudenPair {
    /// Distance from the centre along the line of benches that err on both the same way; more than 0 where both are high.
    pub along: f64,
    /// Distance from this line; more than 0 where the second value is the higher.
    pub across: f64,
    /// Whether it lies outside the circle.
    pub outside: bool,
}

/// Youden's statistics of pairs of values in any one unit, one pair a bench.
///
/// # Errors
/// Fewer than three pairs; a value or its square not finite.
pub fn youden(pairs: &[(f64, f64)]) -> Result<Youden, Unusable> {
    let (first, second): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    require(&first, 3)?;
    require(&second, 3)?;
    // From the first pair on, so that equal pairs have no rounding.
    let rotated = |sign: f64| -> Vec<f64> {
        let from_first = first.iter().zip(&second);
        let both = from_first.map(|(a, b)| ((b - second[0]) + sign * (a - first[0])) / 2f64.sqrt());
        both.collect()
    };
    let (sums, differences) = (rotated(1.0), rotated(-1.0));
    let (total, repeatability) = (standard_deviation(&sums), standard_deviation(&differences));
    let dof = pairs.len() - 1;
    let between_variance = (total.powi(2) - repeatability.powi(2)) / 2.0;
    let f = (total / repeatability).powi(2);
    // The squared distance is s_r² times χ² of two degrees of freedom, whose tail is an exponential.
    let radius = repeatability * (-2.0 * (1.0 - PROBABILITY).ln()).sqrt();
    let (centre_along, centre_across) = (mean(&sums), mean(&differences));
    let places = sums.iter().zip(&differences).map(|(sum, difference)| {
        let (along, across) = (sum - centre_along, difference - centre_across);
        let outside = along.hypot(across) > radius;
        YoudenPair {
            along,
            across,
            outside,
        }
    });
    Ok(Youden {
        mean: [mean(&first), mean(&second)],
        median: [median(&first), median(&second)],
        repeatability,
        total,
        dof,
        between_variance,
        between: between_variance.max(0.0).sqrt(),
        f,
        p_value: f_tail(f, dof as f64, dof as f64),
        radius,
        pairs: places.collect(),
    })
}
