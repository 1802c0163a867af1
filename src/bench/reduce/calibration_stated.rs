//! The results of a calibration, as they are handed on.

use serde::Serialize;

use super::judgement::PointErrors;
use super::stated::Stated;
use super::{CalibrationResult, DensityResult, Reduction};
use crate::bench::fit::{Method, Model};
use crate::bench::worksheet::{NodeId, Worksheet};

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
    /// The lowest and highest composition of the points.
    pub range: (f64, f64),
    /// Temperature of the points, °C: the reference temperature, or the mean of the temperatures measured.
    pub temperature: TemperatureStated,
    /// The fewest effective degrees of freedom of the fitted density in that range; absent where infinite, and until it is
    /// asked for ([`Results::in_full`](super::results::Results::in_full)).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line_dof: Option<f64>,
    /// Differences of the published density from the line at some compositions in the range, g/mL; absent if none is
    /// published, and until they are asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub published_departures: Vec<(f64, f64)>,
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

/// A temperature, °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TemperatureStated {
    /// Its value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

impl TemperatureStated {
    /// Returns the temperature of the points of a calibration.
    fn new(reduction: &Reduction, c: &CalibrationResult) -> Self {
        let ws = &reduction.worksheet;
        let densities = c
            .points
            .iter()
            .filter_map(|p| reduction.solutions[p.solution].density.as_ref());
        let temperature = |d: &DensityResult| d.at_reference.map_or(d.liquid, |at| at.temperature);
        let all: Vec<NodeId> = densities.map(temperature).collect();
        let count = all.len().max(1) as f64;
        let mean = |of: &dyn Fn(NodeId) -> f64| all.iter().map(|t| of(*t)).sum::<f64>() / count;
        Self {
            // Rounded to 0.01 °C by convention, as in `apart`.
            value: (100.0 * mean(&|t| ws.value(t))).round() / 100.0,
            // The thermometer's own error is common to all.
            standard_uncertainty: mean(&|t| ws.uncertainty(t).standard),
        }
    }
}

/// Compositions from one end of a calibration's range to the other.
fn within(range: (f64, f64)) -> impl Iterator<Item = f64> {
    const PARTS: u32 = 16;
    let (low, high) = range;
    (0..=PARTS).map(move |i| low + (high - low) * f64::from(i) / f64::from(PARTS))
}

/// Returns the fewest effective degrees of freedom of the fitted density in the range of its points.
fn line_dof(ws: &Worksheet, c: &CalibrationResult) -> f64 {
    let errors = PointErrors::new(ws, &c.points);
    let dof = within(c.range(ws)).map(|x| errors.of_reading(&c.fitted, None, x).dof);
    dof.fold(f64::INFINITY, f64::min)
}

/// Differences of the published density from a line, g/mL, from one end of its range to the other.
fn departures(reduction: &Reduction, c: &CalibrationResult) -> Vec<(f64, f64)> {
    let ws = &reduction.worksheet;
    let shape = reduction.published_shape.as_ref();
    let Some(shaped) = shape.and_then(|shape| c.beside(ws, shape)) else {
        return Vec::new();
    };
    let at = within(c.range(ws));
    at.filter_map(|x| Some((x, shaped.departure(x)?))).collect()
}

impl CalibrationStated {
    /// Enters what another run needs to read unknowns from the line.
    pub(super) fn add_for_others(&mut self, reduction: &Reduction, c: &CalibrationResult) {
        let dof = line_dof(&reduction.worksheet, c);
        self.line_dof = Some(dof).filter(|dof| dof.is_finite());
        self.published_departures = departures(reduction, c);
    }
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

/// Returns a calibration, stated.
pub(super) fn calibrated(
    reduction: &Reduction,
    c: &CalibrationResult,
    state: &impl Fn(NodeId) -> Stated,
) -> CalibrationStated {
    let ws = &reduction.worksheet;
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
        against: c.against.label(),
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
        range: c.range(ws),
        temperature: TemperatureStated::new(reduction, c),
        line_dof: None,
        published_departures: Vec::new(),
        residual_sd: Some(c.fitted.residual_sd).filter(|sd| sd.is_finite()),
        r_squared: Some(c.fitted.r_squared).filter(|r| r.is_finite()),
        dof: c.fitted.dof,
        covariance: ws.covariances(&c.coefficients),
        scatter_standard_errors: scatter,
        choice: c.choice.key(),
        chi_squared: tested.map(|test| test.observed),
        chi_squared_p: tested.map(|test| test.p_value),
        consistent: tested.map(|_| !c.agreement.is_refused()),
        patterns: patterns
            .map(|(course, test)| PatternStated {
                course: course.key(),
                t: test.observed,
                p: test.p_value,
            })
            .collect(),
    }
}
