//! Whether a calibration is a straight line or a curve.
//!
//! A run file may choose. If it does not, the choice follows from what is known before any density is read: the shape of
//! the published density over the points. A straight line serves if that shape departs from it by less than a tenth of the
//! uncertainty; in every other case, three solutions or more are fitted with a curve. A choice by the points themselves,
//! the straight line until they refuse it, would keep a line whose departure is as large as its uncertainty, and state an
//! interval that is too short; a curve, where a line would have done, costs a few per cent of the uncertainty.

use crate::bench::fit::{self, FitError, Fitted, Method, Model, Point};
use crate::bench::runfile::model::{Line, Scale};
use crate::bench::worksheet::{NodeId, Worksheet};

use super::CalibrationPoint;
use super::coverage_factor::coverage_factor;
use super::judgement::{Agreement, PointErrors};
use super::roots::{single_root, value_at};
use super::shape::PublishedShape;

/// A departure below this share of the expanded uncertainty is negligible: an interval that leaves it out still holds the
/// truth in 94.6 % of runs instead of 95 %.
pub(super) const NEGLIGIBLE: f64 = 0.1;

/// Compositions between the outermost points at which a departure is looked for, where there is no unknown.
const BETWEEN: usize = 20;

/// Who chose the line that results rely on, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Choice {
    /// The run file.
    Asked,
    /// The run file asks for a straight line, which the points refuse; a curve is relied on.
    AskedLineRefused,
    /// A straight line, since the published density is straight enough over the points.
    StraightEnough(Departure),
    /// A straight line, since no curve can be found: with two points, or where it turns or gives no answer.
    NoCurve,
    /// A curve, since the published density bends too much over the points.
    Bends(Departure),
    /// A curve, since the points refuse a straight line.
    StraightLineRefused,
    /// A curve, since no published density tells how much the density bends.
    BendNotKnown,
}

impl Choice {
    /// Returns its name in the results file.
    pub fn key(self) -> &'static str {
        match self {
            Self::Asked => "asked",
            Self::AskedLineRefused => "asked line refused",
            Self::StraightEnough(_) => "straight enough",
            Self::NoCurve => "no curve",
            Self::Bends(_) => "bends",
            Self::StraightLineRefused => "straight line refused",
            Self::BendNotKnown => "bend not known",
        }
    }
}

/// How far the published density departs from a fitted line or curve where that matters most: at an unknown, or between
/// the points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Departure {
    /// Published less fitted density, g/mL.
    pub density: f64,
    /// Its size as a share of the expanded uncertainty that it adds to.
    pub share: f64,
}

/// What a choice is made among.
pub(super) struct Candidates<'a> {
    pub(super) ws: &'a Worksheet,
    pub(super) against: Scale,
    pub(super) points: &'a [CalibrationPoint],
    pub(super) given: &'a [Point],
    pub(super) method: Method,
    /// Densities of the unknowns.
    pub(super) unknowns: &'a [NodeId],
    pub(super) shape: Option<&'a PublishedShape>,
    pub(super) coverage: f64,
}

/// A fit with its tests.
pub(super) struct Judged {
    pub(super) fitted: Fitted,
    pub(super) agreement: Agreement,
}

/// The line that results rely on, and the one asked for if that is another.
pub(super) struct Chosen {
    pub(super) relied_on: Judged,
    pub(super) refused: Option<Judged>,
    pub(super) choice: Choice,
}

/// Chooses a line.
///
/// # Errors
/// [`FitError`], if the line asked for cannot be fitted, or not even a straight one.
pub(super) fn choose(among: &Candidates, wanted: Line) -> Result<Chosen, FitError> {
    let alone = |relied_on, choice| Chosen {
        relied_on,
        refused: None,
        choice,
    };
    let straight = match wanted {
        Line::Curve => return Ok(alone(among.fit(Model::Quadratic)?, Choice::Asked)),
        Line::Straight | Line::LeftOpen => among.fit(Model::Straight)?,
    };
    let curve = among
        .fit(Model::Quadratic)
        .ok()
        .filter(|c| among.answers(&c.fitted));
    if wanted == Line::Straight {
        return Ok(
            match curve
                .filter(|curve| straight.agreement.is_refused() && !curve.agreement.is_refused())
            {
                Some(curve) => Chosen {
                    relied_on: curve,
                    refused: Some(straight),
                    choice: Choice::AskedLineRefused,
                },
                None => alone(straight, Choice::Asked),
            },
        );
    }
    let Some(curve) = curve else {
        return Ok(alone(straight, Choice::NoCurve));
    };
    Ok(match among.departure(&straight.fitted) {
        None => alone(curve, Choice::BendNotKnown),
        Some(departure) if departure.share > NEGLIGIBLE => alone(curve, Choice::Bends(departure)),
        Some(_) if straight.agreement.is_refused() && !curve.agreement.is_refused() => {
            alone(curve, Choice::StraightLineRefused)
        }
        Some(departure) => alone(straight, Choice::StraightEnough(departure)),
    })
}

impl Candidates<'_> {
    fn fit(&self, model: Model) -> Result<Judged, FitError> {
        let fitted = fit::fit(self.given, model, self.method)?;
        Ok(Judged {
            agreement: Agreement::new(self.ws, &fitted, self.given, self.points),
            fitted,
        })
    }

    /// Returns whether a fit gives one composition for the density of each unknown.
    fn answers(&self, fitted: &Fitted) -> bool {
        let range = range(self.given);
        self.unknowns.iter().all(|density| {
            single_root(&fitted.coefficients, self.ws.value(*density), range).is_ok()
        })
    }

    /// Returns how far the published density departs from a fit of this kind; `None` if it is not published for the
    /// points, or if an unknown lies outside the published range.
    fn departure(&self, fitted: &Fitted) -> Option<Departure> {
        let shape = Shaped::new(self.shape?, self.against, self.given, fitted)?;
        let errors = PointErrors::new(self.ws, self.points);
        let at = |density: Option<NodeId>, x: f64| {
            let departure = shape.departure(x)?;
            let uncertainty = errors.of_reading(fitted, density, x);
            let expanded = coverage_factor(self.coverage, &uncertainty) * uncertainty.standard;
            Some(Departure {
                density: departure,
                share: departure.abs() / expanded,
            })
        };
        let departures: Option<Vec<Departure>> = if self.unknowns.is_empty() {
            let (low, high) = range(self.given);
            let step = (high - low) / BETWEEN as f64;
            (0..=BETWEEN)
                .map(|i| at(None, low + step * i as f64))
                .collect()
        } else {
            let root = |density: &NodeId| {
                let y = self.ws.value(*density);
                single_root(&fitted.coefficients, y, range(self.given)).ok()
            };
            self.unknowns
                .iter()
                .map(|density| at(Some(*density), root(density)?))
                .collect()
        };
        departures?
            .into_iter()
            .max_by(|a, b| a.share.total_cmp(&b.share))
    }
}

/// A fit beside the same fit through published densities.
pub(super) struct Shaped<'a> {
    shape: &'a PublishedShape,
    against: Scale,
    /// Coefficients, rising powers.
    published: Vec<f64>,
}

impl<'a> Shaped<'a> {
    /// `None` where [`PublishedShape::fitted`] gives none.
    pub(super) fn new(
        shape: &'a PublishedShape,
        against: Scale,
        given: &[Point],
        fitted: &Fitted,
    ) -> Option<Self> {
        Some(Self {
            published: shape.fitted(against, given, fitted)?,
            shape,
            against,
        })
    }

    /// Published density less the fit through published densities at a composition, g/mL; below zero, that of water.
    /// `None` above the published range.
    pub(super) fn departure(&self, x: f64) -> Option<f64> {
        let x = x.max(0.0);
        let fitted = value_at(&self.published, x);
        Some(self.shape.density(self.against, x)? - fitted)
    }
}

/// Returns the lowest and highest abscissa.
fn range(points: &[Point]) -> (f64, f64) {
    points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), point| {
            (low.min(point.x), high.max(point.x))
        })
}
