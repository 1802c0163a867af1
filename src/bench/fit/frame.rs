//! The frame in which fits are computed: both coordinates shifted to their mid-range and scaled to ±1.
//!
//! Powers of such an abscissa are nearly independent of each other, so that no digits are lost, whatever the units.
//! Mid-range and half-range do not depend on the order of the points. The frame is a mere change of variables: nothing
//! in the result depends on it, and its own dependence on the points adds nothing to a derivative.

use super::{FitError, Point};
use nalgebra::{DMatrix, DVector};

/// Half-ranges below so many rounding errors of the abscissa itself are no spread.
const ROUNDING_ERRORS: f64 = 8.0;
/// Pivots of the framed design below this share of the largest mean that the points do not determine the curve.
const LEAST_SPREAD: f64 = 1e-10;

/// Shift and scale of both coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    /// Shift of x.
    x_middle: f64,
    /// Scale of x.
    pub(super) x_scale: f64,
    /// Shift of y.
    pub(super) y_middle: f64,
    /// Scale of y.
    pub(super) y_scale: f64,
}

/// Returns a power of a small exponent.
pub(super) fn power(base: f64, exponent: usize) -> f64 {
    (0..exponent).fold(1.0, |product, _| product * base)
}

/// Middle and half-width of a set of values.
fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    (0.5 * low + 0.5 * high, 0.5 * high - 0.5 * low)
}

impl Frame {
    /// Returns the frame of the points; fails where their x do not spread.
    pub(super) fn new(points: &[Point]) -> Result<Self, FitError> {
        let (x_middle, x_scale) = range(points.iter().map(|p| p.x));
        let (y_middle, y_spread) = range(points.iter().map(|p| p.y));
        let largest = x_middle.abs() + x_scale;
        if x_scale <= ROUNDING_ERRORS * f64::EPSILON * largest {
            return Err(FitError::NoSpread);
        }
        // Equal ordinates leave the scale to what makes them uncertain.
        let y_scale = if y_spread > 0.0 {
            y_spread
        } else {
            let influences = points.iter().flat_map(|p| &p.y_influences);
            let uncertainty = influences.fold(0.0_f64, |most, &(_, u)| most.max(u.abs()));
            if uncertainty > 0.0 { uncertainty } else { 1.0 }
        };
        Ok(Self {
            x_middle,
            x_scale,
            y_middle,
            y_scale,
        })
    }

    /// Framed abscissa.
    pub(super) fn x(&self, x: f64) -> f64 {
        (x - self.x_middle) / self.x_scale
    }

    /// Framed ordinate.
    pub(super) fn y(&self, y: f64) -> f64 {
        (y - self.y_middle) / self.y_scale
    }

    /// Rounding error of a framed residual: that of the points' own coordinates.
    pub(super) fn rounding(&self) -> f64 {
        f64::EPSILON
            * (2.0 + (self.x_middle / self.x_scale).abs() + (self.y_middle / self.y_scale).abs())
    }

    /// Returns the matrix that takes framed coefficients, but for the shift of y, to those in the points' units:
    /// y = q Σ βⱼ ((x − c)/h)ʲ, expanded by the binomial theorem.
    pub(super) fn expansion(&self, count: usize) -> DMatrix<f64> {
        let step = -self.x_middle / self.x_scale;
        DMatrix::from_fn(count, count, |k, j| {
            if j < k {
                return 0.0;
            }
            let ways = (0..k).fold(1.0, |ways, i| ways * (j - i) as f64 / (i + 1) as f64);
            self.y_scale * ways * power(step, j - k) / power(self.x_scale, k)
        })
    }

    /// Coefficients in the points' units.
    pub(super) fn coefficients(&self, framed: &DVector<f64>) -> Vec<f64> {
        let mut coefficients = self.expansion(framed.len()) * framed;
        coefficients[0] += self.y_middle;
        coefficients.iter().copied().collect()
    }

    /// Covariance of the coefficients in the points' units.
    pub(super) fn covariance(&self, framed: &DMatrix<f64>) -> Vec<Vec<f64>> {
        let expansion = self.expansion(framed.nrows());
        let covariance = &expansion * framed * expansion.transpose();
        covariance
            .row_iter()
            .map(|row| row.iter().copied().collect())
            .collect()
    }

    /// Derivatives of the coefficients, coefficient × point, in the points' units, from those by framed x and framed y.
    pub(super) fn partials(
        &self,
        by_x: &DMatrix<f64>,
        by_y: &DMatrix<f64>,
    ) -> Vec<Vec<(f64, f64)>> {
        let expansion = self.expansion(by_x.nrows());
        let (by_x, by_y) = (
            &expansion * by_x / self.x_scale,
            &expansion * by_y / self.y_scale,
        );
        let pairs = by_x.row_iter().zip(by_y.row_iter());
        pairs
            .map(|(x, y)| x.iter().copied().zip(y.iter().copied()).collect())
            .collect()
    }
}

/// Returns the design of a polynomial of so many coefficients: powers 0, 1, … of each abscissa, one row a point.
pub(super) fn design(abscissae: &[f64], count: usize) -> DMatrix<f64> {
    DMatrix::from_fn(abscissae.len(), count, |i, k| power(abscissae[i], k))
}

/// Fails where the abscissae do not determine so many coefficients.
pub(super) fn require_spread(abscissae: &[f64], count: usize) -> Result<(), FitError> {
    let pivots = design(abscissae, count).col_piv_qr().r().diagonal().abs();
    if pivots.min() > LEAST_SPREAD * pivots.max() {
        Ok(())
    } else {
        Err(FitError::NoSpread)
    }
}

/// Value and slope of the polynomial at an abscissa.
pub(super) fn value_and_slope(coefficients: &DVector<f64>, abscissa: f64) -> (f64, f64) {
    coefficients
        .iter()
        .rev()
        .fold((0.0, 0.0), |(value, slope), &coefficient| {
            (value * abscissa + coefficient, slope * abscissa + value)
        })
}
