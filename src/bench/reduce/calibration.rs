//! Density against composition, and the unknown read back from it.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::bench::fit::{self, FitError, Fitted, Method, Point};
use crate::bench::quantity::Unit;
use crate::bench::runfile::model::{Calibration, FitMethod, Scale};
use crate::bench::worksheet::{NodeId, Solution, Solved, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::choice::{self, Choice, Shaped};
use super::judgement::Agreement;
use super::read_back::Curve;
use super::roots::value_at;
use super::shape::PublishedShape;

/// A point of the calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationPoint {
    /// The solution, an index into the run's solutions.
    pub solution: usize,
    /// Its composition on the calibration's scale.
    pub x: NodeId,
    /// Its density, g/mL.
    pub y: NodeId,
}

/// The calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationResult {
    /// The abscissa.
    pub against: Scale,
    /// The fitted function and its statistics.
    pub fitted: Fitted,
    /// Its coefficients on the worksheet, rising powers.
    pub coefficients: Vec<NodeId>,
    /// The points, in the order of the run's solutions.
    pub points: Vec<CalibrationPoint>,
    /// Solutions of known composition and density kept out of the fit.
    pub kept_out: Vec<CalibrationPoint>,
    /// The ordinary fit of the same points, to stand beside; `None` if the fit wanted is the ordinary one.
    pub ordinary: Option<Fitted>,
    /// Whether the points agree with it.
    pub agreement: Agreement,
    /// Who chose between straight line and curve, and why.
    pub choice: Choice,
}

/// Symbols and names of the coefficients, rising powers.
pub(super) const COEFFICIENTS: [(&str, &str); 3] = [
    ("β_0", "intercept"),
    ("β_1", "slope"),
    ("β_2", "quadratic coefficient"),
];

/// The same of the line that stands beside the one relied on.
const BESIDE: [(&str, &str); 3] = [
    ("β_0'", "intercept of the line asked for"),
    ("β_1'", "slope of the line asked for"),
    ("β_2'", "quadratic coefficient of the curve asked for"),
];

/// The units of the coefficients on a scale, rising powers, by the unit of the scale and its name as a divisor.
macro_rules! coefficient_units {
    ($unit:expr, $divisor:literal) => {
        &const {
            [
                Unit::GRAM_PER_MILLILITRE,
                coefficient_units!(-1, $unit, $divisor),
                coefficient_units!(-2, $unit, concat!($divisor, "²")),
            ]
        }
    };
    ($power:literal, $unit:expr, $divisor:expr) => {
        Unit::derived(
            concat!("(g/mL)/", $divisor),
            &[(Unit::GRAM_PER_MILLILITRE, 1), ($unit, $power)],
        )
        .or_by_cubic_metre(
            &const {
                Unit::derived(
                    concat!("(kg/m³)/", $divisor),
                    &[(Unit::KILOGRAM_PER_CUBIC_METRE, 1), ($unit, $power)],
                )
            },
        )
    };
}

/// Returns the unit of each coefficient, rising powers.
fn coefficient_units(scale: Scale) -> &'static [Unit; 3] {
    match scale {
        Scale::MassPercent => coefficient_units!(Unit::PERCENT, "%"),
        Scale::MassConcentration => coefficient_units!(Unit::GRAM_PER_LITRE, "(g/L)"),
        Scale::Molarity => coefficient_units!(Unit::MOLE_PER_LITRE, "(mol/L)"),
        Scale::Molality => coefficient_units!(Unit::MOLE_PER_KILOGRAM, "(mol/kg)"),
    }
}

/// A calibration that the results rely on, and a line asked for that the points refuse.
pub(super) struct Calibrated {
    pub(super) relied_on: CalibrationResult,
    pub(super) refused: Option<CalibrationResult>,
}

/// Fits the calibration.
///
/// # Errors
/// A problem at the calibration's entry, when no line can be found.
pub(super) fn calibrate(
    ws: &mut Worksheet,
    wanted: &Calibration,
    known: Vec<CalibrationPoint>,
    unknowns: &[NodeId],
    (shape, coverage): (Option<&PublishedShape>, f64),
) -> Result<Calibrated, Problem> {
    let (kept_out, points): (Vec<_>, Vec<_>) = known
        .into_iter()
        .partition(|point| wanted.without.iter().any(|r| r.value == point.solution));
    let method = match wanted.fit {
        FitMethod::Ordinary => Method::Ordinary,
        FitMethod::Weighted => Method::Weighted,
        FitMethod::Generalised => Method::Generalised,
    };
    let given = numbered_points(ws, &points);
    let chosen = choice::choose(
        &choice::Candidates {
            ws: &*ws,
            against: wanted.against,
            points: &points,
            given: &given,
            method,
            unknowns,
            shape,
            coverage,
        },
        wanted.line,
    );
    let chosen = chosen.map_err(|failure| {
        let right = match failure {
            FitError::TooManyShared(..) => "`fit: weighted` under `calibration`, which leaves covariances out, or fewer solutions",
            _ => "solutions of several different, known compositions, each with a density",
        };
        let problem = Code::NoCalibration.error(format!("No calibration line can be found: {failure}."));
        problem
                .at_entry(&wanted.entry)
                .right(right)
    })?;
    let mut result = |judged: choice::Judged, names, choice| CalibrationResult {
        against: wanted.against,
        coefficients: coefficients(ws, &points, &judged.fitted, titles(names, wanted.against)),
        ordinary: match method {
            Method::Ordinary => None,
            Method::Weighted | Method::Generalised => {
                fit::fit(&given, judged.fitted.model, Method::Ordinary).ok()
            }
        },
        agreement: judged.agreement,
        fitted: judged.fitted,
        points: points.clone(),
        kept_out: kept_out.clone(),
        choice,
    };
    Ok(Calibrated {
        relied_on: result(chosen.relied_on, &COEFFICIENTS, chosen.choice),
        refused: chosen
            .refused
            .map(|judged| result(judged, &BESIDE, Choice::Asked)),
    })
}

/// Returns the titles of the coefficients against a scale.
pub(super) fn titles(
    names: &'static [(&'static str, &'static str); 3],
    against: Scale,
) -> impl Iterator<Item = Title> {
    let units = coefficient_units(against);
    let named = names.iter().zip(units);
    named.map(|((symbol, name), unit)| Title::new(*name, *symbol, unit))
}

/// Returns the coefficients of a fit on the worksheet, rising powers, by as many of the titles as there are
/// coefficients.
pub(super) fn coefficients(
    ws: &mut Worksheet,
    points: &[CalibrationPoint],
    fitted: &Fitted,
    titles: impl Iterator<Item = Title>,
) -> Vec<NodeId> {
    let refit = fitted.refit.clone();
    let solution = Arc::new(Solution {
        points: points.iter().map(|p| (p.x, p.y)).collect(),
        count: fitted.coefficients.len(),
        again: Arc::new(move |x: &[f64], y: &[f64], found: &mut [f64]| refit.solve(x, y, found)),
    });
    let found = fitted.coefficients.iter().zip(&fitted.partials);
    found
        .zip(titles)
        .enumerate()
        .map(|(coefficient, ((&value, partials), title))| {
            let onto = points
                .iter()
                .zip(partials)
                .flat_map(|(p, (dx, dy))| [(p.x, *dx), (p.y, *dy)])
                .collect();
            let solution = Arc::clone(&solution);
            let from = Solved {
                solution,
                coefficient,
            };
            ws.solved(title, value, onto, from)
        })
        .collect()
}

/// Returns the points as the fit takes them, sources of error numbered by their place on the worksheet.
pub(super) fn numbered_points(ws: &Worksheet, points: &[CalibrationPoint]) -> Vec<Point> {
    let mut numbers: BTreeMap<NodeId, u32> = BTreeMap::new();
    let mut numbered = |id: NodeId| -> Vec<(u32, f64)> {
        let mut influences: Vec<(u32, f64)> = ws
            .influences(id)
            .into_iter()
            .map(|(source, part)| {
                let next = numbers.len() as u32;
                (*numbers.entry(source).or_insert(next), part)
            })
            .collect();
        influences.sort_by_key(|(number, _)| *number);
        influences
    };
    points
        .iter()
        .map(|p| Point {
            x: ws.value(p.x),
            y: ws.value(p.y),
            x_influences: numbered(p.x),
            y_influences: numbered(p.y),
        })
        .collect()
}

impl CalibrationResult {
    /// Returns the fitted density at a composition on the calibration's scale, g/mL.
    pub fn density_at(&self, x: f64) -> f64 {
        value_at(&self.fitted.coefficients, x)
    }

    /// Returns the lowest and highest composition of the points, on the calibration's scale.
    pub fn range(&self, ws: &Worksheet) -> (f64, f64) {
        let outermost = |(low, high): (f64, f64), x: f64| (low.min(x), high.max(x));
        self.points
            .iter()
            .map(|point| ws.value(point.x))
            .fold((f64::INFINITY, f64::NEG_INFINITY), outermost)
    }

    /// Returns the line or curve that densities are read back from.
    pub(super) fn curve(&self, ws: &Worksheet) -> Curve<'_> {
        Curve {
            against: self.against,
            coefficients: &self.coefficients,
            range: self.range(ws),
        }
    }

    /// Returns the calibration beside the published density; `None` where [`Shaped::new`] gives none.
    pub(super) fn beside<'a>(
        &self,
        ws: &Worksheet,
        shape: &'a PublishedShape,
    ) -> Option<Shaped<'a>> {
        let given = numbered_points(ws, &self.points);
        Shaped::new(shape, self.against, &given, &self.fitted)
    }
}
