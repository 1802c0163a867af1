//! Judging replicates: how values scatter, the value that lies furthest out, the variance that is too large for its like.

use super::{f_tail, student_t_tail};

/// Returns the arithmetic mean of numbers in any one unit; NaN of none.
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Returns the sample standard deviation (n − 1), in the unit of the values; NaN of fewer than two.
pub fn standard_deviation(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    (squares / (values.len() as f64 - 1.0)).sqrt()
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
/// `None` for fewer than three values, values all equal, or values not finite. Of equal distances, the first counts.
pub fn grubbs(values: &[f64]) -> Option<Extreme> {
    let [low, high] = grubbs_sides(values)?;
    let order = high.statistic.total_cmp(&low.statistic);
    Some(if order.then(low.index.cmp(&high.index)).is_gt() {
        high
    } else {
        low
    })
}

/// Grubbs' statistic of the smallest value, then of the largest, of numbers in any one unit; both are positive.
///
/// None as [`grubbs`]; of equal values, the first counts.
pub fn grubbs_sides(values: &[f64]) -> Option<[Extreme; 2]> {
    if values.len() < 3 {
        return None;
    }
    let (mean, deviation) = (mean(values), standard_deviation(values));
    // Equal values leave the rounding of their mean.
    if !deviation.is_finite() || deviation <= 4.0 * f64::EPSILON * mean.abs() {
        return None;
    }
    let (mut low, mut high) = (0, 0);
    for (index, value) in values.iter().enumerate() {
        if *value < values[low] {
            low = index;
        }
        if *value > values[high] {
            high = index;
        }
    }
    Some([low, high].map(|index| Extreme {
        index,
        statistic: (values[index] - mean).abs() / deviation,
    }))
}

/// Returns the value that Grubbs' statistic of `count` values exceeds with probability at most `significance`, on
/// either side:
/// [`standardised_critical`] with the tail `significance`/(2n) (Grubbs 1969).
///
/// NaN for fewer than three values, or a significance outside ]0, 1[.
pub fn grubbs_critical(count: usize, significance: f64) -> f64 {
    if !(significance > 0.0 && significance < 1.0) {
        return f64::NAN;
    }
    standardised_critical(count, significance / (2.0 * count as f64))
}

/// Returns the value that one of `count` values, named beforehand, exceeds with probability `tail`, in distances from
/// the mean over the standard deviation of all: (n − 1)/√n · √(t²/(n − 2 + t²)) with t exceeded with probability
/// `tail`.
///
/// NaN for fewer than three values, or a tail outside ]0, 1/2].
pub fn standardised_critical(count: usize, tail: f64) -> f64 {
    if count < 3 {
        return f64::NAN;
    }
    let n = count as f64;
    let t = student_t_tail(tail, n - 2.0);
    // 1/(1 + (n−2)/t²): holds for t without bound.
    (n - 1.0) / n.sqrt() / (1.0 + (n - 2.0) / t / t).sqrt()
}

/// Returns the probability that Grubbs' statistic of `count` values is as large or larger by chance, at most: the
/// significance at which it is [`grubbs_critical`].
///
/// NaN for fewer than three values.
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

/// A variance of a sample, with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SampleVariance {
    /// Unit of the values squared.
    pub variance: f64,
    /// Degrees of freedom, more than 0.
    pub dof: f64,
}

/// The variance that is most clearly larger than the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LargestVariance {
    /// Its index.
    pub index: usize,
    /// It over the pooled variance of the others; infinite where those are 0.
    pub ratio: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// Degrees of freedom of the others.
    pub others_dof: f64,
    /// Probability of such a ratio or a larger one by chance, at most.
    pub p_value: f64,
}

/// Cochran's test (Annals of Eugenics 11 (1941) 47), for unequal degrees of freedom after 't Lam (Analytica Chimica Acta 659
/// (2010) 68, from memory): the largest ratio of one variance to the pooled variance of the others, against F with the
/// probability divided by their number.
///
/// `None` for fewer than two.
pub fn cochran(variances: &[SampleVariance]) -> Option<LargestVariance> {
    let count = variances.len();
    let (squares, dof) = variances.iter().fold((0.0, 0.0), |(squares, dof), each| {
        (squares + each.dof * each.variance, dof + each.dof)
    });
    let tests = variances
        .iter()
        .enumerate()
        .filter(|_| count > 1)
        .map(|(index, each)| {
            let others_dof = dof - each.dof;
            let others = (squares - each.dof * each.variance).max(0.0) / others_dof;
            let ratio = if each.variance > 0.0 {
                each.variance / others
            } else {
                0.0
            };
            LargestVariance {
                index,
                ratio,
                dof: each.dof,
                others_dof,
                p_value: (count as f64 * f_tail(ratio, each.dof, others_dof)).min(1.0),
            }
        });
    tests.min_by(|a, b| {
        a.p_value
            .total_cmp(&b.p_value)
            .then(b.ratio.total_cmp(&a.ratio))
    })
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
    fn the_smallest_and_the_largest_value_are_found() {
        let [low, high] = grubbs_sides(&[2.0, 1.0, 3.0, 1.0, 3.0]).unwrap();
        assert_eq!([low.index, high.index], [1, 2], "the first of equal ones");
        // Equally far out on both sides.
        assert_eq!(grubbs(&[2.0, 3.0, 1.0]).unwrap().index, 1);
        assert_eq!(grubbs(&[2.0, 1.0, 3.0]).unwrap().index, 1);
        assert_eq!(grubbs(&[2.0, 2.0, 2.0, -9.0]).unwrap().index, 3);
    }

    #[test]
    fn a_variance_among_others() {
        let of = |variance, dof| SampleVariance { variance, dof };
        let found = cochran(&[of(1.0, 2.0), of(9.0, 1.0), of(2.0, 3.0)]).unwrap();
        assert_eq!(found.index, 1);
        // (2 · 1 + 3 · 2)/5 = 1.6.
        assert!((found.ratio - 9.0 / 1.6).abs() < 1e-12, "{found:?}");
        assert!((found.p_value - 3.0 * f_tail(9.0 / 1.6, 1.0, 5.0)).abs() < 1e-12);
        // The larger of two ratios, of which the smaller is the rarer by far.
        let found = cochran(&[of(1.0, 50.0), of(3.0, 1.0), of(2.5, 50.0)]).unwrap();
        assert_eq!(found.index, 2, "{found:?}");
        assert_eq!(cochran(&[of(1.0, 2.0)]), None);
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
