//! Lines and curves through points whose errors are known: numbers in, numbers out.
//!
//! Points are given with their *influences*: contributions of independent sources of error, each of unit variance,
//! identified by a number. Two coordinates that name the same source are correlated, across points too; this is how a
//! shared pipette, balance or stock enters. The full covariance matrix is never formed.
//!
//! Every fit is computed in a frame of shifted and scaled coordinates by one kernel, least squares with shared
//! sources of error; [`Method`] says what it is given. Beside [`fit`] stand the statistics that judge a fit and the
//! read-back of an unknown from it.

mod constrained;
mod distributions;
mod estimated;
mod frame;
mod generalised;
mod inverse;
mod linear;
mod refit;
mod sources;
mod statistics;

pub use distributions::{
    chi_squared_quantile, chi_squared_tail, f_quantile, f_tail, rectangular_and_normal,
    rectangular_and_normal_below, shifted_t, student_t, student_t_below, student_t_tail,
    two_sided_tail,
};
pub use estimated::{Allowance, Sampled};
pub use inverse::{Fieller, fieller};
pub use refit::Refit;
pub use statistics::{
    Extreme, LargestVariance, SampleVariance, cochran, grubbs, grubbs_critical, grubbs_sides,
    grubbs_tail, mean, standard_deviation, standardised_critical,
};

use estimated::Left;
use frame::Frame;
use nalgebra::{DMatrix, DVector};

/// One influence on a coordinate: the source's number, and the coordinate's standard uncertainty due to it, signed.
pub type Influence = (u32, f64);

/// A point to fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Point {
    /// Abscissa.
    pub x: f64,
    /// Ordinate.
    pub y: f64,
    /// What makes x uncertain, by rising source number; empty where x is exact.
    pub x_influences: Vec<Influence>,
    /// What makes y uncertain, by rising source number.
    pub y_influences: Vec<Influence>,
}

/// The function fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// y = b0 + b1 x.
    Straight,
    /// y = b0 + b1 x + b2 x².
    Quadratic,
}

impl Model {
    /// Returns how many coefficients it has.
    pub fn coefficients(self) -> usize {
        match self {
            Self::Straight => 2,
            Self::Quadratic => 3,
        }
    }
}

/// How points are weighed against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Every point counts the same; x taken as exact in finding the line.
    Ordinary,
    /// Weights 1/u²(y); x and covariances disregarded in finding the line.
    Weighted,
    /// All variances and covariances of x and y (ISO/TS 28037:2010, the general case). A point without any
    /// uncertainty is met exactly.
    Generalised,
}

/// Why no line could be found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Fewer points (the first number) than the model needs (the second).
    #[error("{0} points, but {1} are needed")]
    TooFewPoints(usize, usize),
    /// The points' x do not differ enough.
    #[error("the points do not differ enough in their abscissa")]
    NoSpread,
    /// A point (by index) has no uncertainty, where weights need one.
    #[error("point {} has no uncertainty, so it cannot be weighted", .0 + 1)]
    NoUncertainty(usize),
    /// The iteration did not settle within so many steps.
    #[error("no line found within {0} steps")]
    NotConverged(usize),
    /// A value is not finite, or becomes so on the way.
    #[error("a value is not finite")]
    NotFinite,
    /// More sources of error (the first number) are shared among so many points than the cost of all their covariances
    /// allows (the second).
    #[error(
        "{0} independent errors are each shared by several points; for so many points, the covariances of at \
         most {1} are taken into account"
    )]
    TooManyShared(usize, usize),
    /// Points that leave no room for error do not lie on one curve; the one named (by index) is missed most.
    #[error("point {} leaves no room for error and contradicts others", .0 + 1)]
    Contradiction(usize),
}

/// A fitted function.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Which function.
    pub model: Model,
    /// Which method.
    pub method: Method,
    /// Coefficients, rising powers.
    pub coefficients: Vec<f64>,
    /// Partial derivatives of each coefficient (outer) with respect to each point's x and y (inner), for propagation.
    /// Ordinary and weighted: exact derivatives of the estimator, weights held. Generalised: the Gauss–Newton form at the adjusted points, whose
    /// covariance is that of ISO/TS 28037.
    pub partials: Vec<Vec<(f64, f64)>>,
    /// Observed y minus fitted y at observed x.
    pub residuals: Vec<f64>,
    /// Standardised residuals: ordinary, residual over its own standard deviation from the residual scatter (internally studentised);
    /// weighted and generalised, over the stated standard uncertainty of the residual. Zero for a point that cannot have
    /// a residual, being met by every fit.
    pub standardised: Vec<f64>,
    /// Degrees of freedom of the residuals: points less coefficients, less points without room for error that only
    /// repeat others.
    pub dof: usize,
    /// Residual standard deviation, unit of y (unweighted residuals; NaN when dof is 0).
    pub residual_sd: f64,
    /// Coefficient of determination of the unweighted residuals (NaN when all y are equal).
    pub r_squared: f64,
    /// Covariance of the coefficients from the residual scatter, s²(XᵀX)⁻¹ (ordinary; NaN when dof is 0), or from the
    /// stated weights alone: (XᵀWX)⁻¹ (weighted), (JᵀC⁻¹J)⁻¹ (generalised).
    pub scatter_covariance: Vec<Vec<f64>>,
    /// Observed χ² of the model against the stated uncertainties; `None` for ordinary.
    pub chi_squared: Option<f64>,
    /// Finds the coefficients again for other points, weights held.
    pub refit: Refit,
    /// What is left of each point's private error.
    left: Left,
}

impl Fitted {
    /// Slope of the function at an abscissa.
    pub fn slope(&self, x: f64) -> f64 {
        let powers = self.coefficients.iter().enumerate().skip(1);
        powers
            .map(|(power, b)| power as f64 * b * x.powi(power as i32 - 1))
            .sum()
    }
}

/// What a method finds, in the frame.
struct Estimate {
    coefficients: DVector<f64>,
    /// Framed abscissae adjusted by the fit; `None` if x is taken as exact.
    adjusted: Option<DVector<f64>>,
    /// Derivatives of the coefficients by the framed x of each point, coefficients × points.
    by_x: DMatrix<f64>,
    /// The same by framed y.
    by_y: DMatrix<f64>,
    /// From the weights handed in.
    covariance: DMatrix<f64>,
    /// Observed y less fitted y at observed x.
    residuals: DVector<f64>,
    /// Standard uncertainty of each residual before fitting, as handed in.
    uncertainties: Vec<f64>,
    chi_squared: f64,
    /// Points without room for error that only repeat others.
    redundant: usize,
    /// What is left of each point's private error, in the frame.
    left: Left,
}

/// Fits a function to points.
///
/// Units are the points' own; the result does not depend on them, nor on the order of the points, except in rounding.
///
/// Sources: ordinary and weighted least squares, ISO/TS 28037:2010 clauses 6 and annex E; generalised, clauses 7 to 10,
/// of which it is the common case.
///
/// # Errors
/// See [`FitError`].
///
/// ```
/// use fillmark::bench::fit::{fit, Method, Model, Point};
/// let points = [(0.0, 1.0), (1.0, 3.1), (2.0, 4.9)].map(|(x, y)| Point { x, y, ..Point::default() });
/// let line = fit(&points, Model::Straight, Method::Ordinary)?;
/// assert!((line.coefficients[1] - 1.95).abs() < 1e-12);
/// # Ok::<(), fillmark::bench::fit::FitError>(())
/// ```
pub fn fit(points: &[Point], model: Model, method: Method) -> Result<Fitted, FitError> {
    let count = model.coefficients();
    if points.len() < count {
        return Err(FitError::TooFewPoints(points.len(), count));
    }
    let influences = |p: &Point| {
        p.x_influences
            .iter()
            .chain(&p.y_influences)
            .all(|(_, u)| u.is_finite())
    };
    if !points
        .iter()
        .all(|p| p.x.is_finite() && p.y.is_finite() && influences(p))
    {
        return Err(FitError::NotFinite);
    }
    let frame = Frame::new(points)?;
    let abscissae: Vec<f64> = points.iter().map(|p| frame.x(p.x)).collect();
    frame::require_spread(&abscissae, count)?;
    let estimate = match method {
        Method::Ordinary => linear::fit(points, &frame, count, &vec![1.0; points.len()])?,
        Method::Weighted => linear::fit(
            points,
            &frame,
            count,
            &linear::uncertainties(points, &frame)?,
        )?,
        Method::Generalised => generalised::fit(points, &frame, count)?,
    };
    finish(&estimate, &frame, &abscissae, model, method)
}

/// From the frame to the points' own units, with the statistics of the residuals.
fn finish(
    estimate: &Estimate,
    frame: &Frame,
    abscissae: &[f64],
    model: Model,
    method: Method,
) -> Result<Fitted, FitError> {
    let points = abscissae.len();
    // More redundant points than degrees of freedom there cannot be; a rank misjudged must not wrap around.
    let dof = (points - model.coefficients()).saturating_sub(estimate.redundant);
    let squares = estimate.residuals.norm_squared();
    let variance = if dof == 0 {
        f64::NAN
    } else {
        squares / dof as f64
    };
    // Fitted ordinates are what the residuals leave of the observed ones.
    let observed = frame::design(abscissae, model.coefficients()) * &estimate.coefficients
        + &estimate.residuals;
    let mean = observed.sum() / points as f64;
    let total: f64 = observed.iter().map(|v| (v - mean).powi(2)).sum();

    let scatter = if method == Method::Ordinary {
        variance
    } else {
        1.0
    };
    let design = frame::design(abscissae, model.coefficients());
    let standardised = (0..points).map(|i| {
        let row = design.row(i);
        let own = estimate.uncertainties[i].powi(2);
        let room = 1.0 - (row * &estimate.covariance * row.transpose())[(0, 0)] / own;
        // Rounding of a leverage of one.
        if own > 0.0 && room > 1e-12 {
            estimate.residuals[i] / (scatter * own * room).sqrt()
        } else {
            0.0
        }
    });
    let fitted = Fitted {
        model,
        method,
        coefficients: frame.coefficients(&estimate.coefficients),
        partials: frame.partials(&estimate.by_x, &estimate.by_y),
        residuals: estimate
            .residuals
            .iter()
            .map(|r| r * frame.y_scale)
            .collect(),
        standardised: standardised.collect(),
        dof,
        residual_sd: variance.sqrt() * frame.y_scale,
        r_squared: if total > 0.0 {
            1.0 - squares / total
        } else {
            f64::NAN
        },
        scatter_covariance: frame.covariance(&(&estimate.covariance * scatter)),
        chi_squared: (method != Method::Ordinary).then_some(estimate.chi_squared),
        refit: Refit::new(estimate, frame, abscissae),
        left: Left {
            basis: estimate.left.basis.clone(),
            private: estimate
                .left
                .private
                .iter()
                .map(|u| u * frame.y_scale)
                .collect(),
        },
    };
    let numbers = fitted
        .coefficients
        .iter()
        .chain(&fitted.residuals)
        .chain(&fitted.standardised);
    let partials = fitted
        .partials
        .iter()
        .flatten()
        .all(|(x, y)| x.is_finite() && y.is_finite());
    let covariances = dof == 0
        || fitted
            .scatter_covariance
            .iter()
            .flatten()
            .all(|c| c.is_finite());
    let finite =
        numbers.chain(&fitted.chi_squared).all(|v| v.is_finite()) && partials && covariances;
    if finite {
        Ok(fitted)
    } else {
        Err(FitError::NotFinite)
    }
}
