//! Tests for what does not belong: Cochran's of the largest scatter, Grubbs' of the one or two smallest and largest means
//! (ISO 5725-2:1994, 7.3.3 and 7.3.4).
//!
//! ISO 5725-2 tests the scatter first, and two at a time only where one alone does not stand out. Which of the tests to
//! make is left to who asks.

use super::precision::cells;
use super::{Critical, Standing, Unusable, require};
use crate::bench::fit::{
    Extreme, SampleVariance, cochran, f_quantile, grubbs_critical, grubbs_sides, mean,
};

/// What a test found.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// Indices of what was tested, the outermost first.
    pub which: Vec<usize>,
    /// The statistic, a pure number.
    pub statistic: f64,
    /// Its critical values.
    pub critical: Critical,
    /// What it says.
    pub standing: Standing,
}

/// Cochran's test of the cell whose values scatter most, in any one unit: its sum of squares as a share of that of all,
/// which is C = s²/Σs² where all cells have the same number of values (ISO 5725-2:1994, 7.3.3).
///
/// Cells of different numbers of values are compared after 't Lam, as [`cochran`] is; cells of one value are passed over.
///
/// # Errors
/// Fewer than two cells, or than two of several values; a cell without values, a value or its square not finite, no cell that scatters.
pub fn cochran_test(values: &[Vec<f64>]) -> Result<Tested, Unusable> {
    let cells = cells(values)?;
    let several: Vec<usize> = (0..cells.len()).filter(|i| cells[*i].count > 1).collect();
    if several.is_empty() {
        return Err(Unusable::NoRepeats);
    }
    let variances: Vec<SampleVariance> = several
        .iter()
        .map(|i| {
            let dof = cells[*i].count as f64 - 1.0;
            let variance = cells[*i].squares / dof;
            SampleVariance { variance, dof }
        })
        .collect();
    if variances.iter().all(|each| each.variance == 0.0) {
        return Err(Unusable::NoScatter);
    }
    let found = cochran(&variances).ok_or(Unusable::TooFew(several.len(), 2))?;
    let critical = Critical::by(|level| {
        share_critical(level / several.len() as f64, found.dof, found.others_dof)
    });
    let statistic = share(found.ratio, found.dof, found.others_dof);
    Ok(Tested {
        which: vec![several[found.index]],
        statistic,
        critical,
        standing: critical.of_large(statistic),
    })
}

/// The C that Cochran's test of a number of `cells` of `size` values each exceeds with probability at most `significance`:
/// 1/(1 + (p − 1)/F) with F of n − 1 and (p − 1)(n − 1) degrees of freedom, exceeded with probability `significance`/p.
///
/// NaN for fewer than two cells or two values, or a significance outside ]0, 1[.
#[must_use]
pub fn cochran_critical(cells: usize, size: usize, significance: f64) -> f64 {
    if !(significance > 0.0 && significance < 1.0) {
        return f64::NAN;
    }
    let (count, dof) = (cells as f64, size as f64 - 1.0);
    share_critical(significance / count, dof, (count - 1.0) * dof)
}

/// The share in all squares that one variance has, by its ratio to the variance of the others.
fn share(ratio: f64, dof: f64, others_dof: f64) -> f64 {
    1.0 / (1.0 + others_dof / dof / ratio)
}

/// The share that one variance named beforehand exceeds with probability `tail`.
pub(super) fn share_critical(tail: f64, dof: f64, others_dof: f64) -> f64 {
    share(f_quantile(1.0 - tail, dof, others_dof), dof, others_dof)
}

/// Grubbs' tests of the smallest value, then of the largest, in any one unit: its distance from the mean over the standard
/// deviation of all, against the value that either exceeds with probability 5 % or 1 % (ISO 5725-2:1994, 7.3.4).
///
/// # Errors
/// Fewer than three values, a value or its square not finite, values all equal.
pub fn grubbs_test(values: &[f64]) -> Result<[Tested; 2], Unusable> {
    require(values, 3)?;
    let critical = Critical::by(|level| grubbs_critical(values.len(), level));
    let sides = grubbs_sides(values).ok_or(Unusable::NoScatter)?;
    Ok(sides.map(|Extreme { index, statistic }| Tested {
        which: vec![index],
        statistic,
        critical,
        standing: critical.of_large(statistic),
    }))
}

/// Grubbs' tests of the two smallest values, then of the two largest, in any one unit: the sum of squares without them over
/// that of all, which stands out where it is small (Grubbs and Beck, Technometrics 14 (1972) 847; ISO 5725-2:1994, 7.3.4).
///
/// # Errors
/// Fewer than four values, more than 40, a value or its square not finite, values all equal.
pub fn grubbs_pair_test(values: &[f64]) -> Result<[Tested; 2], Unusable> {
    require(values, FEWEST_OF_PAIRS)?;
    let most = FEWEST_OF_PAIRS + PAIRS.len() - 1;
    let critical =
        grubbs_pair_critical(values.len()).ok_or(Unusable::TooMany(values.len(), most))?;
    // Equal values give the same error as in the test of a single value.
    grubbs_sides(values).ok_or(Unusable::NoScatter)?;
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let sorted: Vec<f64> = order.iter().map(|i| values[*i]).collect();
    let last = sorted.len() - 1;
    let all = squares(&sorted);
    let tested = |rest: &[f64], which| {
        let statistic = squares(rest) / all;
        Tested {
            which,
            statistic,
            critical,
            standing: critical.of_small(statistic),
        }
    };
    Ok([
        tested(&sorted[2..], vec![order[0], order[1]]),
        tested(&sorted[..last - 1], vec![order[last], order[last - 1]]),
    ])
}

fn squares(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|v| (v - mean).powi(2)).sum()
}

/// The numbers that Grubbs' statistic of the two smallest or two largest of `count` values is below with probability 5 %
/// and 1 %, one side or the other; `None` for fewer than 4 or more than 40.
///
/// There is no formula for them: they are the table of ISO 5725-2:1994 (Table 5), from memory. Samples of normal values, a
/// million of each number, agree with every one of them to 0.0007.
#[must_use]
pub fn grubbs_pair_critical(count: usize) -> Option<Critical> {
    let (at_1, at_5) = *PAIRS.get(count.checked_sub(FEWEST_OF_PAIRS)?)?;
    Some(Critical { at_5, at_1 })
}

/// The number of values that the table starts with.
const FEWEST_OF_PAIRS: usize = 4;

/// Critical values at 1 % and at 5 % for 4 values and more.
#[allow(
    clippy::approx_constant,
    reason = "a tabulated value that happens to be near π/8"
)]
const PAIRS: [(f64, f64); 37] = [
    (0.0000, 0.0002),
    (0.0018, 0.0090),
    (0.0116, 0.0349),
    (0.0308, 0.0708),
    (0.0563, 0.1101),
    (0.0851, 0.1492),
    (0.1150, 0.1864),
    (0.1448, 0.2213),
    (0.1738, 0.2537),
    (0.2016, 0.2836),
    (0.2280, 0.3112),
    (0.2530, 0.3367),
    (0.2767, 0.3603),
    (0.2990, 0.3822),
    (0.3200, 0.4025),
    (0.3398, 0.4214),
    (0.3585, 0.4391),
    (0.3761, 0.4556),
    (0.3927, 0.4711),
    (0.4085, 0.4857),
    (0.4234, 0.4994),
    (0.4376, 0.5123),
    (0.4510, 0.5245),
    (0.4638, 0.5360),
    (0.4759, 0.5470),
    (0.4875, 0.5574),
    (0.4985, 0.5672),
    (0.5091, 0.5766),
    (0.5192, 0.5856),
    (0.5288, 0.5941),
    (0.5381, 0.6023),
    (0.5469, 0.6101),
    (0.5554, 0.6175),
    (0.5636, 0.6247),
    (0.5714, 0.6316),
    (0.5789, 0.6382),
    (0.5862, 0.6445),
];
