//! Judging a fit and replicates: lack of fit, and the reading that lies furthest out.

use super::{Fitted, f_tail, student_t_tail};
use std::collections::BTreeMap;

/// The F test of lack of fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LackOfFit {
    /// Sum of squares of the residuals, unit of y squared.
    pub residual_squares: f64,
    /// The part of it within groups of replicates: pure error.
    pub pure_squares: f64,
    /// Degrees of freedom of lack of fit.
    pub lack_dof: usize,
    /// Degrees of freedom of pure error.
    pub pure_dof: usize,
    /// F; infinite when the replicates agree perfectly and the curve misses them.
    pub f: f64,
    /// Probability of an F as large, were the model right.
    pub p_value: f64,
}

/// Lack of fit against the scatter of replicates (Draper and Smith 1998, section 2.1): do the group means miss the
/// curve by more than replicates scatter?
///
/// `groups` labels each point; points of one label must share their x. Meant for ordinary fits, in whose terms every
/// point has the same variance. None where the labels do not match the points, nothing is replicated, or there are no
/// more groups than coefficients.
#[must_use]
pub fn lack_of_fit(fitted: &Fitted, groups: &[usize]) -> Option<LackOfFit> {
    let residuals = &fitted.residuals;
    if groups.len() != residuals.len() {
        return None;
    }
    let mut members: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (&group, &residual) in groups.iter().zip(residuals) {
        members.entry(group).or_default().push(residual);
    }
    let pure_dof = residuals.len() - members.len();
    let lack_dof = members.len().checked_sub(fitted.coefficients.len())?;
    if pure_dof == 0 || lack_dof == 0 {
        return None;
    }
    // At one x, residuals differ just as the ordinates do.
    let (mut pure_squares, mut lack_squares) = (0.0, 0.0);
    for group in members.values() {
        let mean = group.iter().sum::<f64>() / group.len() as f64;
        pure_squares += group.iter().map(|r| (r - mean).powi(2)).sum::<f64>();
        lack_squares += group.len() as f64 * mean * mean;
    }
    let f = (lack_squares / lack_dof as f64) / (pure_squares / pure_dof as f64);
    let p_value = f_tail(f, lack_dof as f64, pure_dof as f64);
    let residual_squares = pure_squares + lack_squares;
    (!f.is_nan()).then_some(LackOfFit {
        residual_squares,
        pure_squares,
        lack_dof,
        pure_dof,
        f,
        p_value,
    })
}

/// The value that lies furthest from the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Its index.
    pub index: usize,
    /// Its distance from the mean over the standard deviation of all values.
    pub statistic: f64,
}

/// Grubbs' statistic (Technometrics 11 (1969) 1; ISO 5725-2:2019): the value furthest from the mean on either side,
/// of numbers in any one unit.
///
/// None for fewer than three values, values all equal, or values not finite. Of equal distances, the first counts.
#[must_use]
pub fn grubbs(values: &[f64]) -> Option<Extreme> {
    if values.len() < 3 {
        return None;
    }
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let deviation = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt();
    // Equal values leave the rounding of their mean.
    if !deviation.is_finite() || deviation <= 4.0 * f64::EPSILON * mean.abs() {
        return None;
    }
    let mut extreme = Extreme {
        index: 0,
        statistic: f64::NEG_INFINITY,
    };
    for (index, value) in values.iter().enumerate() {
        let statistic = (value - mean).abs() / deviation;
        if statistic > extreme.statistic {
            extreme = Extreme { index, statistic };
        }
    }
    extreme.statistic.is_finite().then_some(extreme)
}

/// The value that Grubbs' statistic of `count` values exceeds with probability at most `significance`, on either side:
/// (n − 1)/√n · √(t²/(n − 2 + t²)) with t exceeded with probability `significance`/(2n) (Grubbs 1969).
///
/// NaN for fewer than three values, or a significance outside ]0, 1[.
#[must_use]
pub fn grubbs_critical(count: usize, significance: f64) -> f64 {
    if count < 3 || !(significance > 0.0 && significance < 1.0) {
        return f64::NAN;
    }
    let n = count as f64;
    let t = student_t_tail(significance / (2.0 * n), n - 2.0);
    // 1/(1 + (n−2)/t²): holds for t without bound.
    (n - 1.0) / n.sqrt() / (1.0 + (n - 2.0) / t / t).sqrt()
}

/// The probability that Grubbs' statistic of `count` values is as large or larger by chance, at most: the significance at
/// which it is [`grubbs_critical`].
///
/// NaN for fewer than three values.
#[must_use]
pub fn grubbs_tail(statistic: f64, count: usize) -> f64 {
    if count < 3 {
        return f64::NAN;
    }
    let n = count as f64;
    let square = n * statistic * statistic;
    let rest = (n - 1.0).powi(2) - square;
    if rest <= 0.0 {
        return 0.0;
    }
    (n * f_tail((n - 2.0) * square / rest, 1.0, n - 2.0)).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_furthest_value_is_found() {
        let found = grubbs(&[1.0, 1.1, 0.9, 1.0, 3.0]).unwrap();
        assert_eq!(found.index, 4);
        // Mean 1.4, deviations −0.4, −0.3, −0.5, −0.4, 1.6: s² = 3.22/4.
        assert!(
            (found.statistic - 1.6 / (3.22_f64 / 4.0).sqrt()).abs() < 1e-12,
            "{found:?}"
        );
        assert!(found.statistic > grubbs_critical(5, 0.05), "{found:?}");
    }

    #[test]
    fn the_tail_of_grubbs_statistic_belongs_to_its_critical_value() {
        for (count, significance) in [(3, 0.05), (5, 0.01), (12, 0.002)] {
            let p = grubbs_tail(grubbs_critical(count, significance), count);
            assert!((p / significance - 1.0).abs() < 1e-6, "{count}: {p}");
        }
        assert!(grubbs_tail(1.0, 2).is_nan());
        // Two equal of three: the largest statistic that there is.
        assert!(grubbs_tail(2.0 / 3f64.sqrt(), 3) < 1e-6);
    }

    #[test]
    fn nothing_to_judge_gives_none() {
        assert_eq!(grubbs(&[1.0, 2.0]), None);
        assert_eq!(grubbs(&[0.1, 0.1, 0.1]), None);
        assert_eq!(grubbs(&[1.0, f64::NAN, 2.0]), None);
        assert!(grubbs_critical(2, 0.05).is_nan(), "two values");
        assert!(grubbs_critical(5, 0.0).is_nan(), "no significance");
    }
}
