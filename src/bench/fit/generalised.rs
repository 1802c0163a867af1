//! Generalised least squares: x and y uncertain, errors shared between coordinates and points.
//!
//! Sought are the coefficients b and the draws e of all sources, of least eᵀe, for which every point lies on the curve
//! after correction: yᵢ − (y part of e)ᵢ = f(xᵢ − (x part of e)ᵢ; b). For a regular joint covariance of x and y this is
//! the general case of ISO/TS 28037:2010 (clause 10), whose adjusted abscissae are the corrected x; for a straight line
//! it is the minimum of r(b)ᵀ C(b)⁻¹ r(b) with r = y − f(x; b) and C the covariance of y − f′·x. It stays meaningful
//! where that covariance is singular: sources of correlated coordinates, points without error.
//!
//! Each step (Gauss–Newton) solves the problem made linear at the present curve and adjusted abscissae ξ:
//! y − f(ξ) − f′(ξ)(x − ξ) = J(ξ) δ + (y part − f′ · x part) e.

use super::constrained::{Problem, solve};
use super::estimated::Left;
use super::frame::{Frame, design, value_and_slope};
use super::sources::Sources;
use super::{Estimate, FitError, Point, linear};
use nalgebra::{DMatrix, DVector};

/// Steps after which hope is given up.
const STEPS: usize = 200;
/// A step that changes the framed curve and abscissae by less has arrived.
const SETTLED: f64 = 1e-13;
/// A step that is this small and no longer falls is rounding.
const ROUNDING: f64 = 1e-9;

/// Returns a polynomial of so many coefficients, all covariances heeded.
pub(super) fn fit(points: &[Point], frame: &Frame, count: usize) -> Result<Estimate, FitError> {
    let sources = Sources::new(points, frame)?;
    let x = DVector::from_iterator(points.len(), points.iter().map(|p| frame.x(p.x)));
    let y = DVector::from_iterator(points.len(), points.iter().map(|p| frame.y(p.y)));
    let mut coefficients =
        linear::fit(points, frame, count, &vec![1.0; points.len()])?.coefficients;
    let mut adjusted = x.clone();
    let slack = 1e-10_f64.max(64.0 * frame.rounding());
    let (mut damping, mut last) = (1.0_f64, f64::INFINITY);

    for _ in 0..STEPS {
        let curve: Vec<(f64, f64)> = adjusted
            .iter()
            .map(|&xi| value_and_slope(&coefficients, xi))
            .collect();
        let along: Vec<(f64, f64)> = sources
            .private
            .iter()
            .zip(&curve)
            .map(|(private, &(_, slope))| private.along(slope))
            .collect();
        let private: Vec<f64> = along.iter().map(|&(uncertainty, _)| uncertainty).collect();
        let shared = DMatrix::from_fn(points.len(), sources.x.ncols(), |i, s| {
            sources.y[(i, s)] - curve[i].1 * sources.x[(i, s)]
        });
        let right = DVector::from_fn(points.len(), |i, _| {
            y[i] - curve[i].0 - curve[i].1 * (x[i] - adjusted[i])
        });
        let solution = solve(&Problem {
            design: &design(adjusted.as_slice(), count),
            shared: &shared,
            private: &private,
            right: &right,
            slack,
        })?;

        let drawn = &sources.x * &solution.sources;
        let shift = DVector::from_fn(points.len(), |i, _| {
            x[i] - drawn[i] - along[i].1 * solution.remainder[i] - adjusted[i]
        });
        let size = (solution.step.amax() / coefficients.amax().max(1.0)).max(shift.amax());
        if !size.is_finite() {
            return Err(FitError::NotFinite);
        }
        if size <= SETTLED || (size <= ROUNDING && size >= last) {
            let mut by_x = solution.gain.clone();
            for (mut column, (_, slope)) in by_x.column_iter_mut().zip(&curve) {
                column *= -slope;
            }
            return Ok(Estimate {
                residuals: &y - design(x.as_slice(), count) * &coefficients,
                coefficients,
                adjusted: Some(adjusted),
                by_x,
                by_y: solution.gain,
                covariance: solution.covariance,
                uncertainties: solution.total,
                chi_squared: solution.chi_squared,
                redundant: solution.redundant,
                left: Left {
                    basis: solution.basis,
                    private,
                },
            });
        }
        // Steps that grow have overshot: shorter ones follow until they fall again.
        damping = if size > last {
            (0.5 * damping).max(1.0 / 64.0)
        } else {
            (1.5 * damping).min(1.0)
        };
        last = size;
        coefficients += solution.step * damping;
        adjusted += shift * damping;
    }
    Err(FitError::NotConverged(STEPS))
}
