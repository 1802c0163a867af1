//! Control chart of single values with their moving range (ISO 7870-2:2013): what a process does while nothing disturbs it,
//! and which values leave that.
//!
//! The standard deviation comes from the distances between neighbours, since a slow drift would be part of that of all.

use std::f64::consts::{FRAC_2_SQRT_PI, PI};

use super::run_rules::{Rule, Signal, signals};
use super::{Unusable, require};

/// Mean distance of two normal values, in standard deviations: 2/√π, in tables 1.128.
const D2: f64 = FRAC_2_SQRT_PI;

/// Limits lie so many standard deviations from the centre line.
const WIDTH: f64 = 3.0;

/// What centre line and limits rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// The first so many of the values.
    First(usize),
    /// Stated beforehand.
    Stated {
        /// Centre line, unit of the values.
        centre: f64,
        /// Standard deviation of a value, its unit; more than 0.
        standard_deviation: f64,
    },
}

/// A chart of single values in the order of their dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Centre line, unit of the values.
    pub centre: f64,
    /// Standard deviation of a value, its unit.
    pub standard_deviation: f64,
    /// Lower limit, three standard deviations below the centre line; unit of the values.
    pub lower: f64,
    /// Upper limit; unit of the values.
    pub upper: f64,
    /// Distance of each value from the one before it, unit of the values: one fewer than there are values.
    pub moving_ranges: Vec<f64>,
    /// Centre line of the moving ranges, unit of the values.
    pub mean_moving_range: f64,
    /// Upper limit of the moving ranges, unit of the values; the lower one is 0.
    pub moving_range_upper: f64,
    /// Indices of the values outside their limits.
    pub outside: Vec<usize>,
    /// Indices of the values whose moving range is above its limit.
    pub jumps: Vec<usize>,
}

impl Chart {
    /// Where the values of the chart, in their unit and order, meet some rules.
    #[must_use]
    pub fn signals(&self, values: &[f64], rules: &[Rule]) -> Vec<Signal> {
        let standardised = values
            .iter()
            .map(|v| (v - self.centre) / self.standard_deviation);
        signals(&standardised.collect::<Vec<_>>(), rules)
    }
}

/// The chart of values in any one unit and the order of their dates: the limits lie at x̄ ± 3 R̄/d₂ = x̄ ± 2.66 R̄, that of
/// the moving range at 3.267 R̄.
///
/// # Errors
/// Fewer than two values, or values in the basis, or more in the basis than there are; a value or its square not finite; a
/// basis that does not scatter.
///
/// ```
/// use fillmark::bench::interlaboratory::{Basis, individuals};
/// let chart = individuals(&[10.0, 10.1, 10.0, 9.9, 11.0], Basis::First(4))?;
/// assert_eq!(chart.outside, [4]);
/// # Ok::<(), fillmark::bench::interlaboratory::Unusable>(())
/// ```
pub fn individuals(values: &[f64], basis: Basis) -> Result<Chart, Unusable> {
    require(values, 2)?;
    let moving_ranges: Vec<f64> = values.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
    let (centre, standard_deviation) = match basis {
        Basis::First(count) if count < 2 => return Err(Unusable::TooFew(count, 2)),
        Basis::First(count) if count > values.len() => {
            return Err(Unusable::TooFew(values.len(), count));
        }
        Basis::First(count) => {
            let mean_range = crate::bench::fit::mean(&moving_ranges[..count - 1]);
            (crate::bench::fit::mean(&values[..count]), mean_range / D2)
        }
        Basis::Stated {
            centre,
            standard_deviation,
        } => {
            require(&[centre, standard_deviation], 2)?;
            (centre, standard_deviation)
        }
    };
    if standard_deviation <= 0.0 {
        return Err(Unusable::NoScatter);
    }
    let (lower, upper) = (
        centre - WIDTH * standard_deviation,
        centre + WIDTH * standard_deviation,
    );
    // Mean and standard deviation of the distance of two normal values: 1.128 and 0.853, together 3.267 · 1.128.
    let mean_moving_range = D2 * standard_deviation;
    let moving_range_upper =
        mean_moving_range + WIDTH * (2.0 - 4.0 / PI).sqrt() * standard_deviation;
    let outside = |v: &f64| *v < lower || *v > upper;
    Ok(Chart {
        centre,
        standard_deviation,
        lower,
        upper,
        mean_moving_range,
        moving_range_upper,
        outside: positions(values, outside),
        jumps: positions(&moving_ranges, |range| *range > moving_range_upper)
            .into_iter()
            .map(|i| i + 1)
            .collect(),
        moving_ranges,
    })
}

fn positions(values: &[f64], are: impl Fn(&f64) -> bool) -> Vec<usize> {
    let found = values.iter().enumerate().filter(|(_, v)| are(v));
    found.map(|(i, _)| i).collect()
}
