//! Ordinary and weighted least squares: x exact, errors independent.

use super::constrained::{Problem, Solution, solve};
use super::estimated::Left;
use super::frame::{Frame, design, power, value_and_slope};
use super::sources::combined;
use super::{Estimate, FitError, Point};
use nalgebra::{DMatrix, DVector};

/// Standard uncertainties of the ordinates in the frame, none of them zero.
pub(super) fn uncertainties(points: &[Point], frame: &Frame) -> Result<Vec<f64>, FitError> {
    let framed = |(i, point): (usize, &Point)| {
        let uncertainty = combined(&point.y_influences) / frame.y_scale;
        if uncertainty > 0.0 {
            Ok(uncertainty)
        } else {
            Err(FitError::NoUncertainty(i))
        }
    };
    points.iter().enumerate().map(framed).collect()
}

/// Returns a polynomial of so many coefficients through points whose framed ordinates have these standard
/// uncertainties.
pub(super) fn fit(
    points: &[Point],
    frame: &Frame,
    count: usize,
    uncertainties: &[f64],
) -> Result<Estimate, FitError> {
    let abscissae: Vec<f64> = points.iter().map(|p| frame.x(p.x)).collect();
    let observed = DVector::from_iterator(points.len(), points.iter().map(|p| frame.y(p.y)));
    let (coefficients, residuals, solution) =
        polynomial(&abscissae, &observed, count, uncertainties)?;

    // β = (AᵀWA)⁻¹AᵀWv, so dβ = (AᵀWA)⁻¹(dAᵀ W r − AᵀW dA β); row i of dA is the slope of its powers.
    let mut by_x = DMatrix::zeros(count, points.len());
    for (i, &t) in abscissae.iter().enumerate() {
        let powers = DVector::from_fn(count, |k, _| {
            if k == 0 {
                0.0
            } else {
                k as f64 * power(t, k - 1)
            }
        });
        let pull = residuals[i] / uncertainties[i] / uncertainties[i];
        let (_, slope) = value_and_slope(&coefficients, t);
        by_x.set_column(
            i,
            &(&solution.covariance * powers * pull - solution.gain.column(i) * slope),
        );
    }
    Ok(Estimate {
        coefficients,
        adjusted: None,
        by_x,
        by_y: solution.gain,
        covariance: solution.covariance,
        residuals,
        uncertainties: solution.total,
        chi_squared: solution.chi_squared,
        redundant: 0,
        left: Left {
            basis: solution.basis,
            private: uncertainties.to_vec(),
        },
    })
}

/// Coefficients, residuals and the kernel's last solution.
fn polynomial(
    abscissae: &[f64],
    observed: &DVector<f64>,
    count: usize,
    uncertainties: &[f64],
) -> Result<(DVector<f64>, DVector<f64>, Solution), FitError> {
    let design = design(abscissae, count);
    let shared = DMatrix::zeros(abscissae.len(), 0);
    // The second solution is for the residuals of the first: it takes away what rounding did (iterative refinement).
    let within = |right: &DVector<f64>| {
        solve(&Problem {
            design: &design,
            shared: &shared,
            private: uncertainties,
            right,
            slack: f64::INFINITY,
        })
    };
    let first = within(observed)?;
    let second = within(&(observed - &design * &first.step))?;
    let coefficients = &first.step + &second.step;
    let residuals = observed - &design * &coefficients;
    Ok((coefficients, residuals, second))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    /// `Wampler2` of the NIST Statistical Reference Datasets: a polynomial of the fifth degree without scatter.
    #[test]
    fn wampler2_to_its_certified_digits() {
        let text = include_str!("../../../tests/published/line_fits.json");
        let cases: Vec<Value> = serde_json::from_str(text).unwrap();
        let case = cases
            .iter()
            .find(|case| case["id"] == "nist.Wampler2")
            .unwrap();
        let numbers = |value: &Value| -> Vec<f64> {
            value
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_f64().unwrap())
                .collect()
        };
        let (x, y) = (numbers(&case["inputs"]["x"]), numbers(&case["inputs"]["y"]));
        let points: Vec<Point> = x
            .iter()
            .zip(&y)
            .map(|(&x, &y)| Point {
                x,
                y,
                ..Point::default()
            })
            .collect();
        let frame = Frame::new(&points).unwrap();
        let estimate = fit(&points, &frame, 6, &[1.0; 21]).unwrap();
        let certified = numbers(&case["expected"]["coefficients_ascending"]);
        let found = frame.coefficients(&estimate.coefficients);
        let relative = case["tolerance"]["rel"].as_f64().unwrap();
        for (found, certified) in found.iter().zip(&certified) {
            assert!(
                (found - certified).abs() <= relative * certified,
                "{found} against {certified}"
            );
        }
        let sd = (estimate.residuals.norm_squared() / 15.0).sqrt() * frame.y_scale;
        assert!(
            sd <= case["tolerance"]["zero_abs"].as_f64().unwrap(),
            "residual sd {sd}"
        );
    }
}
