//! The results of a calibration, as they are handed on.

use serde::Serialize;

use super::stated::Stated;
use super::{CalibrationResult, composition};
use crate::fit::{Method, Model};
use crate::worksheet::{NodeId, Worksheet};

/// The calibration's results.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CalibrationStated {
    /// The abscissa, in words.
    pub against: &'static str,
    /// `straight` or `curve`.
    pub line: &'static str,
    /// `generalised`, `weighted` or `ordinary`.
    pub fit: &'static str,
    /// Coefficients, rising powers.
    pub coefficients: Vec<Stated>,
    /// Standard deviation of the residuals, g/mL; absent without degrees of freedom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub residual_sd: Option<f64>,
    /// Coefficient of determination.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub r_squared: Option<f64>,
    /// Degrees of freedom of the residuals.
    pub dof: usize,
    /// Covariance of the coefficients, propagated from the readings.
    pub covariance: Vec<Vec<f64>>,
    /// Standard errors of the coefficients from the scatter of the points about the line; absent without degrees of
    /// freedom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scatter_standard_errors: Option<Vec<f64>>,
    /// Who chose between straight line and curve, and why: `asked`, `asked line refused`, `straight enough`, `no curve`,
    /// `bends`, `straight line refused` or `bend not known`.
    pub choice: &'static str,
    /// Observed χ² against the stated uncertainties and covariances; absent without degrees of freedom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chi_squared: Option<f64>,
    /// The probability of such a χ² or a larger one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chi_squared_p: Option<f64>,
    /// Patterns of the residuals with the probability of as much or more.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub patterns: Vec<PatternStated>,
    /// Whether the points agree with the line by all of these tests, at 1 % for all together; absent without any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub consistent: Option<bool>,
}

/// A pattern of the residuals.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PatternStated {
    /// `one side`, `trend`, `bend` or `wave`.
    pub course: &'static str,
    /// The component of the residuals along it over its standard uncertainty.
    pub t: f64,
    /// The probability of as much or more, on either side.
    pub p: f64,
}

/// A calibration, stated.
pub(super) fn calibrated(
    ws: &Worksheet,
    c: &CalibrationResult,
    state: &impl Fn(NodeId) -> Stated,
) -> CalibrationStated {
    let scatter = (c.fitted.dof > 0).then(|| {
        c.fitted
            .scatter_covariance
            .iter()
            .enumerate()
            .map(|(i, row)| row[i].sqrt())
            .collect()
    });
    let tested = c.agreement.chi_squared_test();
    let patterns = c.agreement.pattern_tests();
    CalibrationStated {
        against: composition::label(c.against),
        line: match c.fitted.model {
            Model::Straight => "straight",
            Model::Quadratic => "curve",
        },
        fit: match c.fitted.method {
            Method::Ordinary => "ordinary",
            Method::Weighted => "weighted",
            Method::Generalised => "generalised",
        },
        coefficients: c.coefficients.iter().map(|id| state(*id)).collect(),
        residual_sd: Some(c.fitted.residual_sd).filter(|sd| sd.is_finite()),
        r_squared: Some(c.fitted.r_squared).filter(|r| r.is_finite()),
        dof: c.fitted.dof,
        covariance: ws.covariances(&c.coefficients),
        scatter_standard_errors: scatter,
        choice: c.choice.key(),
        chi_squared: tested.map(|test| test.observed),
        chi_squared_p: tested.map(|test| test.p_value),
        consistent: tested.map(|_| !c.agreement.refused()),
        patterns: patterns
            .map(|(course, test)| PatternStated {
                course: course.key(),
                t: test.observed,
                p: test.p_value,
            })
            .collect(),
    }
}
