//! The level of significance that all judging flags of a run share.
//!
//! A flag judges where it calls chance an insufficient explanation. Each such test of a run hands in the probability that
//! an honest run shows as much; all of them together are judged here, so that at most one honest run in twenty carries
//! such a flag, however many solutions and tests it has.
//!
//! **Source:** S. Holm, Scandinavian Journal of Statistics 6 (1979) 65–70: the level holds whatever the dependence
//! between the tests.
//!
//! | test | of | against |
//! |---|---|---|
//! | `density-off-published`, `water-off-published` | each difference from the published density | its own uncertainty |
//! | the same | each difference but that of pure water, given all others | the covariance of the differences: errors of balance, ware and thermometer that all solutions share cancel |
//! | the same | a stock with all that was made from it | the same, along the change that a wrong concentration makes |
//! | `spread-unexplained` | χ² of weighings, or of the steps of a cumulative series | stated repeatabilities, or else common practice (`series.rs`) |
//! | `suspect-weighing` | Grubbs' statistic | the scatter of the same weighings |
//! | the others that judge | their own files say | |
//!
//! The choice of the calibration's line is judged before, at the 1 % that remain of 5 %.

use crate::bench::reduce::REFUSAL_LEVEL;

/// The probability that an honest run carries a flag that judges.
const ANY: f64 = 0.05;

/// The same of the flags that are judged here: the calibration's line is judged before, at a share of its own.
const LEVEL: f64 = ANY - REFUSAL_LEVEL;

/// A flag with an effect below this share of the result's expanded uncertainty is not raised.
pub(super) const NEGLIGIBLE: f64 = 0.05;

/// A test of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tested {
    /// What it tests: an index whose meaning is its judge's own, mostly of a solution.
    pub(super) of: usize,
    /// The probability of as much or more by chance.
    pub(super) p: f64,
}

/// Returns which of some tests are refused at [`LEVEL`] for all of them together.
pub(super) fn find_refused(p: &[f64]) -> Vec<bool> {
    let mut order: Vec<usize> = (0..p.len()).filter(|i| !p[*i].is_nan()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]).then(a.cmp(b)));
    let mut refused = vec![false; p.len()];
    let count = order.len();
    for (rank, index) in order.into_iter().enumerate() {
        if p[index] > LEVEL / (count - rank) as f64 {
            break;
        }
        refused[index] = true;
    }
    refused
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_level_is_divided_among_the_tests() {
        // Holm 1979: 0.04/4, 0.04/3, 0.04/2, 0.04/1 in rising order of p.
        assert_eq!(
            find_refused(&[0.03, 0.009, 0.012, f64::NAN, 0.9]),
            [false, true, true, false, false]
        );
        assert_eq!(find_refused(&[0.013, 0.02, 0.02, 0.02]), [false; 4]);
        assert_eq!(find_refused(&[0.039]), [true]);
        assert_eq!(find_refused(&[]), [false; 0]);
    }
}
