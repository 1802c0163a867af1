//! The calibration and what is read back from it, as templates see them.

use serde::Serialize;

use crate::bench::fit::{Method, Model};
use crate::bench::quantity::rounding::Rounded;
use crate::bench::reduce::results::FiellerStated;
use crate::bench::reduce::{Bands, CalibrationResult, Course, Preparation, REFUSAL_LEVEL, Test};
use crate::bench::reference::brine;
use crate::bench::worksheet::NodeId;
use crate::maths::handles::Handles;

use super::line_choice::ChoiceShown;
use super::shown::{ColumnShown, CompositionShown, ResultShown, celsius};
use super::words::{self, figures};
use super::{Material, contrast};

/// From this g on, Fieller's interval is shown beside the symmetric one. Its middle lies off the value by at most √g of
/// the expanded uncertainty, and it is longer by about g/2: below, neither end moves by more than a tenth of it.
pub(super) const NOT_NEGLIGIBLE: f64 = 0.01;

/// The calibration line or curve.
#[derive(Debug, Serialize)]
pub(super) struct CalibrationShown {
    /// The quantity on the abscissa, in words.
    against: &'static str,
    /// Its symbol, to stand between `$`.
    symbol: &'static str,
    /// Its unit.
    unit: &'static str,
    /// Its unit as a divisor in the head of a table: in brackets if it is a product or quotient of others.
    divisor: String,
    /// Whether the line is a quadratic.
    curve: bool,
    /// The fit: `generalised`, `weighted` or `ordinary`.
    fit: &'static str,
    /// The points, in the order of the run file.
    points: Vec<PointShown>,
    /// Solutions kept out of the fit.
    kept_out: Vec<String>,
    /// Intercept, slope, and the quadratic coefficient of a curve.
    coefficients: Vec<CoefficientShown>,
    /// They with their expanded uncertainties, for a table.
    coefficient_values: ColumnShown,
    /// Their standard uncertainties from the errors of all readings.
    standard_uncertainties: ColumnShown,
    /// Their standard errors from the scatter about an ordinary fit alone.
    scatter_standard_errors: ColumnShown,
    /// The residual standard deviation, in `units.density_difference`.
    residual_sd: Option<String>,
    /// The coefficient of determination, *R*².
    r_squared: Option<String>,
    /// The degrees of freedom.
    dof: usize,
    /// The choice between straight line and curve, with its reason.
    choice: ChoiceShown,
    /// Whether there are enough points for confidence bands.
    bands: bool,
    /// χ² of the points against their uncertainties.
    chi_squared: Option<TestShown>,
    /// Tests for patterns of the residuals.
    patterns: Vec<PatternShown>,
    /// The probability that one of these tests rejects a correct calibration, %.
    level: String,
    /// Whether one of these tests rejects the line.
    refused: bool,
    /// Sentences on residuals that all lie on one side, and on errors that the points share.
    remarks: Vec<String>,
    /// The standard uncertainty of one more density from its own errors alone, in `units.density_difference`.
    own_deviation: String,
    /// The coefficients of the ordinary fit, if another fit was made.
    ordinary: Option<ColumnShown>,
    /// Why they differ from those of the fit made.
    ordinary_differs: Option<String>,
    /// The line asked for, if the points do not lie on it and another is used.
    asked_for: Option<AskedForShown>,
}

/// A line asked for, on which the points do not lie.
#[derive(Debug, Serialize)]
struct AskedForShown {
    /// Its coefficients, rounded.
    coefficients: Vec<String>,
    /// χ² of the points against their uncertainties.
    chi_squared: Option<TestShown>,
    /// Tests for patterns of the residuals.
    patterns: Vec<PatternShown>,
}

/// A test for a pattern of the residuals.
#[derive(Debug, Serialize)]
struct PatternShown {
    /// The pattern of the residuals, as a verb.
    course: &'static str,
    /// The test.
    test: TestShown,
}

fn patterns(calibration: &CalibrationResult) -> Vec<PatternShown> {
    let shown = |(course, test): (Course, Test)| PatternShown {
        course: course.in_words(),
        test: TestShown::new(test, String::new()),
    };
    calibration.agreement.pattern_tests().map(shown).collect()
}

fn chi_squared(calibration: &CalibrationResult) -> Option<TestShown> {
    let consistency = calibration.agreement.consistency?;
    let test = calibration.agreement.chi_squared_test()?;
    Some(TestShown {
        few_weighings: consistency.allowance.is_some(),
        ..TestShown::new(test, consistency.dof.to_string())
    })
}

/// Smaller probabilities are said to be smaller than this.
const LEAST_P: f64 = 1e-4;

/// A test of the calibration.
#[derive(Debug, Serialize)]
struct TestShown {
    /// The statistic observed.
    observed: String,
    /// Its critical value.
    limit: String,
    /// The relation of the *p*-value to `p`: `=` or `<`.
    p_is: &'static str,
    /// The *p*-value, or the smallest that is printed.
    p: String,
    /// The degrees of freedom of χ².
    dof: String,
    /// Whether the statistic is within the limit.
    passed: bool,
    /// Whether the limit allows for uncertainties found from few weighings.
    few_weighings: bool,
}

impl TestShown {
    fn new(test: Test, dof: String) -> Self {
        Self {
            few_weighings: false,
            observed: figures(test.observed, 3),
            limit: figures(test.limit, 3),
            p_is: if test.p_value < LEAST_P { "<" } else { "=" },
            p: figures(test.p_value.max(LEAST_P), 2),
            dof,
            passed: test.has_passed(),
        }
    }
}

/// A point of the calibration.
#[derive(Debug, Serialize)]
struct PointShown {
    /// Name of the solution.
    solution: String,
    /// Its composition, in the calibration's unit.
    x: String,
    /// Its density.
    y: String,
    /// Measured minus fitted density, in `units.density_difference`.
    residual: String,
    /// The residual over its standard uncertainty.
    standardised: String,
}

/// A coefficient of the calibration.
#[derive(Debug, Serialize)]
pub(super) struct CoefficientShown {
    /// Formula of its symbol.
    symbol: String,
    /// Its name in words.
    name: String,
    /// The coefficient.
    result: ResultShown,
}

impl CoefficientShown {
    pub(super) fn each(material: &Material, ids: &[NodeId], handles: &Handles) -> Vec<Self> {
        let ws = &material.reduction.worksheet;
        let each = ids.iter().map(|id| Self {
            symbol: handles.text(ws.node(*id).symbol.whole()),
            name: ws.node(*id).name.clone(),
            result: ResultShown::new(&material.results.manner.state(ws, *id)),
        });
        each.collect()
    }
}

/// The result of an unknown.
#[derive(Debug, Serialize)]
pub(super) struct UnknownShown {
    /// Its name.
    solution: String,
    /// Its density.
    density: ResultShown,
    /// The temperature of the liquid, °C.
    liquid: String,
    /// Its composition on every scale.
    composition: CompositionShown,
    /// The result on the calibration's scale.
    headline: ResultShown,
    /// The name of that scale.
    headline_name: &'static str,
    /// Formula of its symbol.
    headline_symbol: &'static str,
    /// Fieller's interval, if it differs visibly from the symmetric one.
    fieller: Option<FiellerShown>,
    /// Whether Fieller's interval has no finite ends.
    unbounded: bool,
    /// The range of the calibration, if the result lies outside it.
    beyond: Option<RangeShown>,
    /// The result from the line asked for, if the points do not lie on it and another is used.
    by_line_asked_for: Option<ResultShown>,
    /// The departure of the published density from the line used, if it matters.
    departure: Option<DepartureShown>,
}

/// A departure of the published density from the calibration line.
#[derive(Debug, Serialize)]
struct DepartureShown {
    /// Its size, in the headline's unit.
    size: String,
    /// Whether it is part of the uncertainty; not if the run file asks for the line.
    counted: bool,
}

/// The range of the calibration's points.
#[derive(Debug, Serialize)]
struct RangeShown {
    /// Its lower end, in the headline's unit.
    low: String,
    /// Its upper end, in the headline's unit.
    high: String,
}

/// Fieller's interval.
#[derive(Debug, Serialize)]
struct FiellerShown {
    /// Its lower end, in the headline's unit.
    low: String,
    /// Its upper end, in the headline's unit.
    high: String,
    /// Fieller's *g*.
    g: String,
}

pub(super) fn calibration(
    material: &Material,
    calibration: &CalibrationResult,
    handles: &Handles,
) -> CalibrationShown {
    let Material {
        reduction, results, ..
    } = *material;
    let ws = &reduction.worksheet;
    let (fitted, ids) = (&calibration.fitted, &calibration.coefficients);
    let state = |id| ResultShown::new(&results.manner.state(ws, id));
    let unit = calibration.against.unit();
    CalibrationShown {
        against: calibration.against.label(),
        symbol: calibration.against.symbol(),
        unit: unit.symbol,
        divisor: unit.as_divisor(),
        curve: fitted.model == Model::Quadratic,
        fit: match fitted.method {
            Method::Ordinary => "ordinary",
            Method::Weighted => "weighted",
            Method::Generalised => "generalised",
        },
        points: calibration
            .points
            .iter()
            .enumerate()
            .map(|(i, p)| PointShown {
                solution: reduction.solutions[p.solution].name.clone(),
                x: match reduction.solutions[p.solution].preparation {
                    Preparation::Pure => "0".into(),
                    _ => state(p.x).shown,
                },
                y: state(p.y).shown,
                residual: words::decimals(1000.0 * fitted.residuals[i], 2),
                standardised: words::decimals(fitted.standardised[i], 2),
            })
            .collect(),
        kept_out: calibration
            .kept_out
            .iter()
            .map(|p| reduction.solutions[p.solution].name.clone())
            .collect(),
        coefficients: CoefficientShown::each(material, ids, handles),
        coefficient_values: ColumnShown::stated(material, ids),
        standard_uncertainties: ColumnShown::standard_uncertainties(ws, ids),
        scatter_standard_errors: ColumnShown::new(ids.iter().enumerate().map(|(k, id)| {
            // Of the other methods the covariance follows from the weights, not from the scatter.
            let ordinary = calibration.ordinary.as_ref().unwrap_or(fitted);
            let error = ordinary.scatter_covariance[k][k].sqrt();
            let error = Rounded::significant(error, 2).filter(|_| fitted.dof > 0)?;
            Some(ws.shown_in(*id).rounded(error))
        })),
        residual_sd: (fitted.dof > 0).then(|| figures(1000.0 * fitted.residual_sd, 2)),
        r_squared: (fitted.dof > 0 && fitted.r_squared.is_finite())
            .then(|| determination(fitted.r_squared)),
        dof: fitted.dof,
        choice: ChoiceShown::new(reduction, calibration),
        bands: has_bands(calibration),
        chi_squared: chi_squared(calibration),
        patterns: patterns(calibration),
        level: figures(100.0 * REFUSAL_LEVEL, 1),
        refused: calibration.agreement.is_refused(),
        remarks: remarks(material, calibration),
        own_deviation: figures(1000.0 * Bands::new(ws, calibration).own().standard, 2),
        ordinary: calibration.ordinary.as_ref().map(|fitted| {
            let each = fitted.coefficients.iter().zip(ids);
            ColumnShown::significant(each.map(|(b, id)| (*b, ws.shown_in(*id).power)), 6)
        }),
        ordinary_differs: calibration
            .ordinary
            .as_ref()
            .and_then(|_| contrast::in_words(reduction, calibration)),
        asked_for: reduction.refused_line.as_ref().map(|line| AskedForShown {
            coefficients: line
                .fitted
                .coefficients
                .iter()
                .zip(&line.coefficients)
                .map(|(b, id)| ws.shown_in(*id).significant(*b, 6))
                .collect(),
            chi_squared: chi_squared(line),
            patterns: patterns(line),
        }),
    }
}

/// Returns what is to be said of residuals and bars that seem to disagree.
fn remarks(material: &Material, calibration: &CalibrationResult) -> Vec<String> {
    let on_one_side = calibration
        .is_on_one_side()
        .then(|| "All residuals lie on one side of the fitted function.".to_owned());
    let shared = contrast::shared_in_words(material.reduction, calibration);
    on_one_side.into_iter().chain(shared).collect()
}

/// Returns whether a calibration has points enough for bands: a line through two or three points is not shown as if its
/// course between them had been tested.
pub(super) fn has_bands(calibration: &CalibrationResult) -> bool {
    calibration.points.len() > 3
}

pub(super) fn unknowns(material: &Material) -> Vec<UnknownShown> {
    let Material {
        reduction, results, ..
    } = *material;
    let ws = &reduction.worksheet;
    let Some(against) = reduction.against() else {
        return Vec::new();
    };
    let calibration = reduction.calibration.as_ref();
    let straight = calibration.is_some_and(|line| line.fitted.model == Model::Straight);
    let mut shown = Vec::new();
    for solution in reduction.unknowns() {
        let mut all = results.unknowns.iter();
        let Some((_, stated)) = all.find(|(name, _)| *name == solution.name) else {
            continue;
        };
        let (Some(density), Some(x), Some(measured)) = (
            &stated.density,
            solution.composition.get(against),
            &solution.density,
        ) else {
            continue;
        };
        let Some(headline) = stated.composition.on(against) else {
            continue;
        };
        let on_line = stated.density_at_reference.as_ref().map(|at| &at.density);
        let on_line = on_line.filter(|_| reduction.from_published.is_none());
        shown.push(UnknownShown {
            fieller: stated
                .fieller
                .filter(|found| found.g >= NOT_NEGLIGIBLE)
                .map(|found| {
                    let expanded = headline.expanded_uncertainty;
                    fieller(&found, |end| results.manner.round(x, end, expanded))
                }),
            unbounded: straight && stated.fieller.is_none(),
            beyond: reduction.beyond(ws.value(x)).map(|(low, high)| RangeShown {
                low: figures(low, 4),
                high: figures(high, 4),
            }),
            by_line_asked_for: stated.by_line_asked_for.as_deref().map(ResultShown::new),
            departure: stated.departure.map(|departure| DepartureShown {
                size: departure.shown(),
                counted: departure.counted,
            }),
            solution: solution.name.clone(),
            density: ResultShown::new(on_line.unwrap_or(density)),
            liquid: celsius(ws, measured.liquid),
            composition: CompositionShown::new(&stated.composition),
            headline: ResultShown::new(headline),
            headline_name: against.label(),
            headline_symbol: against.symbol(),
        });
    }
    shown
}

/// The published densities from which unknowns are found.
#[derive(Debug, Serialize)]
pub(super) struct FromPublished {
    /// The salt of the solutions.
    salt: &'static str,
    /// Their source.
    source: &'static str,
    /// Their standard uncertainty in the units of the density, up to a strength and above it.
    uncertainty: String,
}

pub(super) fn from_published(material: &Material) -> Option<FromPublished> {
    let reduction = material.reduction;
    let salt = reduction.from_published.and(reduction.salt)?;
    let [weak, strong] = [0.0, 1.0].map(|w| figures(1000.0 * salt.standard_uncertainty(w), 1));
    let percent = figures(100.0 * brine::STRONG_BRINE, 2);
    let unit = reduction.worksheet.density_unit.of_difference();
    Some(FromPublished {
        salt: salt.name,
        source: brine::SOURCE,
        uncertainty: format!("{weak} {unit} up to {percent} % by mass and {strong} {unit} above"),
    })
}

fn fieller(found: &FiellerStated, round: impl Fn(f64) -> Option<Rounded>) -> FiellerShown {
    let end =
        |value: f64| round(value).map_or_else(|| figures(value, 6), |rounded| rounded.value());
    FiellerShown {
        low: end(found.low),
        high: end(found.high),
        g: figures(found.g, 2),
    }
}

/// Returns a coefficient of determination, with two digits of what it lacks of one.
fn determination(r_squared: f64) -> String {
    let lacking = 1.0 - r_squared;
    let place = Rounded::new(lacking, lacking.abs(), 2).filter(|_| lacking > 1e-12);
    place.map_or_else(
        || figures(r_squared, 6),
        |lacking| words::decimals(r_squared, lacking.last_place().min(0).unsigned_abs()),
    )
}
