//! Lines and curves through points whose errors are known: numbers in, numbers out.
//!
//! Points are given with their *influences*: contributions of independent sources of error, each of unit variance,
//! identified by a number. Two coordinates that name the same source are correlated, across points too; this is how a
//! shared pipette, balance or stock enters. The full covariance matrix is never formed.

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

/// How points are weighed against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Every point counts the same; x taken as exact in finding the line.
    Ordinary,
    /// Weights 1/u²(y); x and covariances disregarded in finding the line.
    Weighted,
    /// All variances and covariances of x and y (ISO/TS 28037:2010, the general case).
    Generalised,
}

/// Why no line could be found.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// Fewer points (the first number) than the model needs (the second).
    TooFewPoints(usize, usize),
    /// The points' x do not differ enough.
    NoSpread,
    /// A point (by index) has no uncertainty, where weights need one.
    NoUncertainty(usize),
    /// The iteration did not settle within so many steps.
    NotConverged(usize),
    /// A value is not finite.
    NotFinite,
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
    /// weighted and generalised, over the stated standard uncertainty of the residual.
    pub standardised: Vec<f64>,
    /// Degrees of freedom of the residuals.
    pub dof: usize,
    /// Residual standard deviation, unit of y (unweighted residuals; NaN when dof is 0).
    pub residual_sd: f64,
    /// Coefficient of determination of the unweighted residuals.
    pub r_squared: f64,
    /// Covariance of the coefficients from the residual scatter, s²(XᵀX)⁻¹ (ordinary), or from the stated weights alone.
    pub scatter_covariance: Vec<Vec<f64>>,
    /// Observed χ² of the model against the stated uncertainties; none for ordinary.
    pub chi_squared: Option<f64>,
}
