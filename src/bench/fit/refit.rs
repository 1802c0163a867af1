//! A fit done over and over for points that differ a little, as a Monte Carlo run asks for it.
//!
//! What the points' uncertainties decide is held as it was at the estimate: the weights of an ordinary or weighted fit;
//! of a generalised fit, the equations H r = 0 that the coefficients solve there (H being its gain) and the adjustments
//! of the abscissae. What is left is linear in the coefficients. Solved is for their correction, so that the estimate's
//! own points give the estimate back.

use super::Estimate;
use super::frame::Frame;
use nalgebra::DMatrix;

/// The most coefficients of a model.
const MOST: usize = 3;

/// Finds the coefficients of a fit again for other points of the same uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct Refit {
    frame: Frame,
    count: usize,
    /// Framed coefficients of the estimate.
    estimate: [f64; MOST],
    /// From framed coefficients to those in the points' units.
    expansion: DMatrix<f64>,
    held: Vec<Held>,
    /// Whether the equations' factors are the powers of the abscissae (least squares) or the gain.
    squares: bool,
}

/// What is held of a point.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Held {
    /// Least squares: the weight, thrice. Generalised: the point's column of the gain.
    factors: [f64; MOST],
    /// Square of the adjustment of the framed abscissa.
    adjustment: f64,
}

impl Refit {
    /// Prepares for points of the framed abscissae given.
    pub(super) fn new(estimate: &Estimate, frame: &Frame, abscissae: &[f64]) -> Self {
        let count = estimate.coefficients.len();
        let held = |(i, x): (usize, &f64)| match &estimate.adjusted {
            None => Held {
                factors: [estimate.uncertainties[i].powi(-2); MOST],
                adjustment: 0.0,
            },
            Some(adjusted) => {
                let mut factors = [0.0; MOST];
                factors
                    .iter_mut()
                    .zip(&estimate.by_y.column(i))
                    .for_each(|(factor, gain)| *factor = *gain);
                Held {
                    factors,
                    adjustment: (x - adjusted[i]).powi(2),
                }
            }
        };
        let mut framed = [0.0; MOST];
        framed
            .iter_mut()
            .zip(&estimate.coefficients)
            .for_each(|(held, found)| *held = *found);
        Self {
            frame: *frame,
            count,
            estimate: framed,
            expansion: frame.expansion(count),
            held: abscissae.iter().enumerate().map(held).collect(),
            squares: estimate.adjusted.is_none(),
        }
    }

    /// Coefficients, rising powers, for other coordinates of the points fitted, in their order.
    ///
    /// Coordinates that do not determine the coefficients give numbers that are not finite. Coordinates or coefficients
    /// beyond those fitted are left alone.
    pub fn solve(&self, x: &[f64], y: &[f64], coefficients: &mut [f64]) {
        let mut equations = [[0.0; MOST + 1]; MOST];
        for ((held, x), y) in self.held.iter().zip(x).zip(y) {
            let t = self.frame.x(*x);
            let powers = [1.0, t, t * t - held.adjustment];
            let fitted: f64 = self
                .estimate
                .iter()
                .zip(powers)
                .map(|(b, power)| b * power)
                .sum();
            let residual = self.frame.y(*y) - fitted;
            for (k, equation) in equations.iter_mut().enumerate().take(self.count) {
                let factor = if self.squares {
                    held.factors[k] * powers[k]
                } else {
                    held.factors[k]
                };
                for (sum, power) in equation.iter_mut().zip(powers) {
                    *sum += factor * power;
                }
                equation[MOST] += factor * residual;
            }
        }
        let correction = eliminate(&mut equations, self.count);
        for (k, coefficient) in coefficients.iter_mut().enumerate().take(self.count) {
            let shift = if k == 0 { self.frame.y_middle } else { 0.0 };
            let framed = (0..self.count)
                .map(|j| self.expansion[(k, j)] * (self.estimate[j] + correction[j]));
            *coefficient = framed.sum::<f64>() + shift;
        }
    }
}

/// Solves `count` linear equations, the right sides in the last column: elimination with row pivots.
fn eliminate(equations: &mut [[f64; MOST + 1]; MOST], count: usize) -> [f64; MOST] {
    for column in 0..count {
        let below = column..count;
        let pivot = below.max_by(|a, b| {
            equations[*a][column]
                .abs()
                .total_cmp(&equations[*b][column].abs())
        });
        equations.swap(column, pivot.unwrap_or(column));
        let leading = equations[column];
        for row in &mut equations[column + 1..count] {
            let share = row[column] / leading[column];
            for (entry, above) in row.iter_mut().zip(leading) {
                *entry -= share * above;
            }
        }
    }
    let mut solution = [0.0; MOST];
    for k in (0..count).rev() {
        let known: f64 = (k + 1..count).map(|j| equations[k][j] * solution[j]).sum();
        solution[k] = (equations[k][MOST] - known) / equations[k][k];
    }
    solution
}

#[cfg(test)]
mod tests {
    use crate::bench::fit::{Fitted, Method, Model, Point, fit};

    /// Points off a bent line, with errors of their own and one that all densities share.
    fn points() -> Vec<Point> {
        let xs = [0.0, 4.1, 8.7, 13.2, 18.4, 22.9];
        let off = [3e-4, -5e-4, 2e-4, 6e-4, -4e-4, -1e-4];
        let point = |(i, (x, off)): (usize, (&f64, &f64))| Point {
            x: *x,
            y: 0.9981 + 0.007 * x + 2.1e-5 * x * x + off,
            x_influences: vec![(i as u32 + 1, 2e-3 * (1.0 + x))],
            y_influences: vec![(0, 4e-4), (i as u32 + 1, 1e-5), (i as u32 + 10, 3e-4)],
        };
        xs.iter().zip(&off).enumerate().map(point).collect()
    }

    fn again(fitted: &Fitted, points: &[Point]) -> Vec<f64> {
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|p| (p.x, p.y)).unzip();
        let mut coefficients = vec![0.0; fitted.model.coefficients()];
        fitted.refit.solve(&x, &y, &mut coefficients);
        coefficients
    }

    fn all(check: impl Fn(Model, Method)) {
        for model in [Model::Straight, Model::Quadratic] {
            for method in [Method::Ordinary, Method::Weighted, Method::Generalised] {
                check(model, method);
            }
        }
    }

    #[test]
    fn the_estimate_comes_back() {
        all(|model, method| {
            let fitted = fit(&points(), model, method).unwrap();
            for (found, first) in again(&fitted, &points()).iter().zip(&fitted.coefficients) {
                assert!(
                    (found - first).abs() <= 1e-12 * first.abs(),
                    "{model:?} {method:?}: {found} for {first}"
                );
            }
        });
    }

    #[test]
    fn weights_held_are_all_that_tells_it_from_a_fit() {
        let mut moved = points();
        for (i, point) in moved.iter_mut().enumerate() {
            point.x += [0.02, -0.01, 0.03, 0.0, -0.02, 0.05][i];
            point.y += [2e-4, 5e-4, -3e-4, 1e-4, -6e-4, 0.0][i];
        }
        all(|model, method| {
            let fitted = fit(&points(), model, method).unwrap();
            let anew = fit(&moved, model, method).unwrap();
            for (k, (found, anew)) in again(&fitted, &moved)
                .iter()
                .zip(&anew.coefficients)
                .enumerate()
            {
                // Ordinary and weighted: nothing else is held. Generalised: the second order of the shifts is left, larger where the
                // points miss the line by much, as these do the straight one.
                let u = fitted.scatter_covariance[k][k].sqrt();
                let room = if method == Method::Generalised {
                    0.05 * u
                } else {
                    1e-11 * anew.abs()
                };
                assert!(
                    (found - anew).abs() <= room,
                    "{model:?} {method:?} {k}: {found} for {anew}, u = {u}"
                );
            }
        });
    }
}
