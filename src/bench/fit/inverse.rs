//! Reading an unknown back from a straight line.

/// Fieller's interval for the abscissa read back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fieller {
    /// The abscissa read back, (y₀ − b₀)/b₁.
    pub abscissa: f64,
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
    /// g = (k·u(b₁)/b₁)²: how far the slope is from being zero; the nearer to 1, the more lopsided the interval.
    pub g: f64,
}

/// Returns the interval of all x for which y₀ differs from b₀ + b₁x by at most k standard uncertainties of the
/// difference (Fieller, J. R. Stat. Soc. B 16 (1954) 175).
///
/// `reading` is y₀, `line` is b₀ and b₁, `covariance` that of y₀, b₀ and b₁ in this order, so that a reading which
/// shares sources of error with the line is treated rightly; `factor` is k. `None` if no finite interval exists: the
/// slope does not differ from zero at this k, or a number is not finite.
pub fn fieller(
    reading: f64,
    line: [f64; 2],
    covariance: &[[f64; 3]; 3],
    factor: f64,
) -> Option<Fieller> {
    let [intercept, slope] = line;
    let abscissa = (reading - intercept) / slope;
    let square = factor * factor;
    let g = square * (covariance[2][2] / slope / slope);
    // With x = x₀ + d: (b₁ d)² ≤ k² (v − 2 d w + d² u²(b₁)), v and w being the variance of y₀ − b₀ − b₁x₀ and its
    // covariance with −b₁, sign reversed. About x₀, no digits are lost between large numbers.
    let v = covariance[0][0] + covariance[1][1] + abscissa * abscissa * covariance[2][2]
        - 2.0 * covariance[0][1]
        - 2.0 * abscissa * (covariance[0][2] - covariance[1][2]);
    let w = covariance[0][2] - covariance[1][2] - abscissa * covariance[2][2];
    // d² (1 − g) + 2 d h − c ≤ 0.
    let h = square * (w / slope / slope);
    let c = square * (v / slope / slope);
    let root = (h * h + (1.0 - g) * c).sqrt();
    let (low, high) = (
        abscissa + (-h - root) / (1.0 - g),
        abscissa + (-h + root) / (1.0 - g),
    );
    (g < 1.0 && low.is_finite() && high.is_finite()).then_some(Fieller {
        abscissa,
        low,
        high,
        g,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At both ends, the difference is k times its standard uncertainty, correlations included.
    #[test]
    fn bounds_meet_the_definition() {
        let covariance = [[4e-4, 1e-5, 3e-5], [1e-5, 9e-4, -2e-5], [3e-5, -2e-5, 1e-4]];
        let (reading, line, k) = (3.0, [0.7, 1.1], 2.3);
        let found = fieller(reading, line, &covariance, k).unwrap();
        assert!(
            found.low < found.abscissa && found.abscissa < found.high,
            "{found:?}"
        );
        for x in [found.low, found.high] {
            let by = [1.0, -1.0, -x];
            let variance: f64 = (0..3)
                .map(|i| {
                    (0..3)
                        .map(|j| by[i] * covariance[i][j] * by[j])
                        .sum::<f64>()
                })
                .sum();
            let difference = reading - line[0] - line[1] * x;
            assert!(
                (difference.abs() / variance.sqrt() - k).abs() < 1e-10,
                "{x}"
            );
        }
    }

    #[test]
    fn no_interval_without_a_slope() {
        let covariance = [[1e-4, 0.0, 0.0], [0.0, 1e-4, 0.0], [0.0, 0.0, 1.0]];
        assert_eq!(fieller(1.0, [0.0, 1.0], &covariance, 2.0), None);
        assert_eq!(fieller(1.0, [0.0, 0.0], &covariance, 2.0), None);
        assert_eq!(fieller(f64::NAN, [0.0, 9.0], &covariance, 2.0), None);
    }
}
