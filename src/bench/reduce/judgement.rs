//! Whether the points of a calibration lie on its line: by χ² against their uncertainties, and by patterns among the
//! residuals.
//!
//! Both tests count the errors of composition as well as those of density, and errors that points share, whatever the
//! method of fitting. An F test of lack of fit against the scatter of single weighings would take compositions as exact,
//! and blame the line for their errors.

use std::collections::BTreeMap;

use crate::bench::fit::{
    self, Allowance, Fitted, Method, Point, Sampled, chi_squared_quantile, chi_squared_tail,
    f_quantile, f_tail, student_t, two_sided_tail,
};
use crate::bench::worksheet::{Estimate, Form, NodeId, Source, Uncertainty, Worksheet};

use super::{CalibrationPoint, CalibrationResult};

/// Probability of refusing a line that the points do lie on, all tests together. It is the share of this judgement in
/// the false alarms of a report, of which one honest run in twenty is to have any.
pub const REFUSAL_LEVEL: f64 = 0.01;

/// Of that level, χ² and the patterns among the residuals have a half each (Bonferroni).
const HALF: f64 = REFUSAL_LEVEL / 2.0;

/// A combination of residuals is zero for every set of points if it, or its uncertainty, is below this share of their size.
const ALWAYS_ZERO: f64 = 1e-6;

/// Points from which residuals on one side are worth a sentence: among four, chance gives them often.
const FEWEST_ON_ONE_SIDE: usize = 5;

/// A statistic against the limit that it exceeds by chance with a stated probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// The value observed.
    pub observed: f64,
    /// The limit.
    pub limit: f64,
    /// The probability of finding as much or more by chance.
    pub p_value: f64,
}

impl Test {
    /// Returns whether the value observed stays within the limit.
    pub fn has_passed(&self) -> bool {
        self.observed <= self.limit
    }
}

/// χ² of the points about a line or curve of the calibration's kind, fitted with all variances and covariances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Consistency {
    /// χ².
    pub chi_squared: f64,
    /// Degrees of freedom of the residuals, at least 1.
    pub dof: usize,
    /// The correction for uncertainties of points that rest on few weighings.
    pub allowance: Option<Allowance>,
}

/// The course of the residuals that a pattern consists in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// On one side.
    OneSide,
    /// Rising or falling.
    Trend,
    /// Higher at both ends than in the middle, or lower.
    Bend,
    /// An S.
    Wave,
}

impl Course {
    /// Courses by the degree of the polynomial that they follow.
    const ALL: [Self; 4] = [Self::OneSide, Self::Trend, Self::Bend, Self::Wave];

    /// Returns its name in the results file.
    pub fn key(self) -> &'static str {
        match self {
            Self::OneSide => "one side",
            Self::Trend => "trend",
            Self::Bend => "bend",
            Self::Wave => "wave",
        }
    }

    /// Returns what residuals of this course do, as a sentence about them goes on.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::OneSide => "lie on one side",
            Self::Trend => "rise or fall with composition",
            Self::Bend => "bend with composition",
            Self::Wave => "follow an S-shaped course",
        }
    }
}

/// A pattern among the residuals: their component along a polynomial orthogonal to those of lower degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pattern {
    /// Its course.
    pub course: Course,
    /// The component over its standard uncertainty, unsigned.
    pub observed: f64,
    /// Effective degrees of freedom of that uncertainty.
    pub dof: f64,
}

impl Pattern {
    /// Returns the probability of as much by chance, on either side.
    fn p_value(&self) -> f64 {
        two_sided_tail(self.observed, self.dof)
    }
}

/// Whether points agree with the line or curve fitted to them.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement {
    /// The points against their uncertainties; `None` without degrees of freedom.
    pub consistency: Option<Consistency>,
    /// Patterns among the residuals; none without degrees of freedom.
    pub patterns: Vec<Pattern>,
}

impl Agreement {
    /// The probability that the limit of χ² is drawn for.
    pub const PROBABILITY: f64 = 1.0 - HALF;

    /// Tests a fit against its points.
    pub(super) fn new(
        ws: &Worksheet,
        fitted: &Fitted,
        given: &[Point],
        points: &[CalibrationPoint],
    ) -> Self {
        Self {
            consistency: consistency(ws, fitted, given, points),
            patterns: PointErrors::new(ws, points).patterns(fitted),
        }
    }

    /// χ² of the points against their uncertainties (ISO/TS 28037:2010, 6.3, with the covariances of clause 10), its limit
    /// drawn with allowance for uncertainties that rest on few weighings (see [`Fitted::allowance`]); `None` without
    /// degrees of freedom.
    ///
    /// [`Fitted::allowance`]: crate::bench::fit::Fitted::allowance
    pub fn chi_squared_test(&self) -> Option<Test> {
        let Consistency {
            chi_squared,
            dof,
            allowance,
        } = self.consistency?;
        Some(match allowance {
            Some(allowance) => {
                let (factor, (p, few)) = (allowance.factor(), allowance.dof());
                Test {
                    observed: chi_squared,
                    limit: factor * f_quantile(Self::PROBABILITY, p, few),
                    p_value: f_tail(chi_squared / factor, p, few),
                }
            }
            None => Test {
                observed: chi_squared,
                limit: chi_squared_quantile(Self::PROBABILITY, dof as f64),
                p_value: chi_squared_tail(chi_squared, dof as f64),
            },
        })
    }

    /// Returns every pattern of the residuals against its limit: Student's *t*, the level divided among the patterns.
    pub fn pattern_tests(&self) -> impl Iterator<Item = (Course, Test)> + '_ {
        let level = HALF / self.patterns.len() as f64;
        self.patterns.iter().map(move |pattern| {
            let test = Test {
                observed: pattern.observed,
                limit: student_t(1.0 - level, pattern.dof),
                p_value: pattern.p_value(),
            };
            (pattern.course, test)
        })
    }

    /// Returns whether the points refuse the line, by one of the tests.
    pub fn is_refused(&self) -> bool {
        let patterns = self.pattern_tests().map(|(_, test)| test);
        let mut tests = self.chi_squared_test().into_iter().chain(patterns);
        tests.any(|test| !test.has_passed())
    }
}

impl CalibrationResult {
    /// Returns whether all residuals lie on one side of the line.
    pub fn is_on_one_side(&self) -> bool {
        let residuals = &self.fitted.residuals;
        residuals.len() >= FEWEST_ON_ONE_SIDE
            && (residuals.iter().all(|r| *r > 0.0) || residuals.iter().all(|r| *r < 0.0))
    }
}

/// The errors of a calibration's points: sensitivities of both coordinates to each input.
pub(super) struct PointErrors<'a> {
    ws: &'a Worksheet,
    abscissae: Vec<f64>,
    x: Vec<&'a [(NodeId, f64)]>,
    y: Vec<&'a [(NodeId, f64)]>,
}

impl<'a> PointErrors<'a> {
    pub(super) fn new(ws: &'a Worksheet, points: &[CalibrationPoint]) -> Self {
        Self {
            ws,
            abscissae: points.iter().map(|p| ws.value(p.x)).collect(),
            x: points.iter().map(|p| ws.sensitivities(p.x)).collect(),
            y: points.iter().map(|p| ws.sensitivities(p.y)).collect(),
        }
    }

    /// Uncertainty of a density less the fitted density at a composition, g/mL; without a density, that of the fitted one.
    pub(super) fn of_reading(
        &self,
        fitted: &Fitted,
        density: Option<NodeId>,
        x: f64,
    ) -> Uncertainty {
        let mut form = Form::default();
        if let Some(density) = density {
            form.add(1.0, self.ws.sensitivities(density));
        }
        let powers: Vec<f64> = (0..fitted.coefficients.len())
            .map(|k| x.powi(k as i32))
            .collect();
        self.take_fitted(&mut form, fitted, &powers);
        self.ws.uncertainty_of_form(form.errors())
    }

    /// Uncertainty of a weighted sum of the residuals, g/mL times the unit of the weights.
    fn of_residuals(&self, fitted: &Fitted, weights: &[f64]) -> Uncertainty {
        let mut form = Form::default();
        let mut powers = vec![0.0; fitted.coefficients.len()];
        for (i, weight) in weights.iter().enumerate() {
            let x = self.abscissae[i];
            form.add(*weight, self.y[i]);
            form.add(-weight * fitted.slope(x), self.x[i]);
            for (k, power) in powers.iter_mut().enumerate() {
                *power += weight * x.powi(k as i32);
            }
        }
        self.take_fitted(&mut form, fitted, &powers);
        self.ws.uncertainty_of_form(form.errors())
    }

    /// Takes away the errors of a sum of coefficients, each times a factor.
    fn take_fitted(&self, form: &mut Form, fitted: &Fitted, factors: &[f64]) {
        for (i, (x, y)) in self.x.iter().zip(&self.y).enumerate() {
            let (mut by_x, mut by_y) = (0.0, 0.0);
            for (factor, partials) in factors.iter().zip(&fitted.partials) {
                by_x += factor * partials[i].0;
                by_y += factor * partials[i].1;
            }
            form.add(-by_x, x);
            form.add(-by_y, y);
        }
    }

    /// Returns the patterns among the residuals of a fit, from those on one side up to the first that the fit could not
    /// follow by a further coefficient; those that a fit of this kind never shows are left out.
    fn patterns(&self, fitted: &Fitted) -> Vec<Pattern> {
        if fitted.dof == 0 {
            return Vec::new();
        }
        let typical = self.of_residuals(fitted, &self.single(fitted)).standard;
        let polynomials = orthonormal(&self.abscissae, fitted.coefficients.len() + 1);
        let courses = Course::ALL.into_iter().zip(&polynomials);
        let pattern = |(course, weights): (Course, &Vec<f64>)| {
            let component: f64 = weights
                .iter()
                .zip(&fitted.residuals)
                .map(|(w, r)| w * r)
                .sum();
            let of = self.of_residuals(fitted, weights);
            // A fit that weights points equally leaves no component along the polynomials fitted, whatever the errors.
            let forced = of.standard <= ALWAYS_ZERO * typical
                || component.abs()
                    < ALWAYS_ZERO * fitted.residuals.iter().map(|r| r * r).sum::<f64>().sqrt();
            (!forced).then(|| Pattern {
                course,
                observed: component.abs() / of.standard,
                dof: of.dof,
            })
        };
        courses.filter_map(pattern).collect()
    }

    /// Weights that pick the residual of the largest size.
    fn single(&self, fitted: &Fitted) -> Vec<f64> {
        let sizes = fitted.residuals.iter().map(|r| r.abs());
        let largest = sizes.enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
        let index = largest.map_or(0, |(index, _)| index);
        (0..self.abscissae.len())
            .map(|i| f64::from(u8::from(i == index)))
            .collect()
    }
}

/// Polynomials of degree 0, 1, … at the abscissae, orthogonal to each other and of unit length, as far as the abscissae
/// tell them apart.
fn orthonormal(abscissae: &[f64], degrees: usize) -> Vec<Vec<f64>> {
    let ends = abscissae
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(*x), high.max(*x))
        });
    let framed = |x: f64| (2.0 * x - ends.0 - ends.1) / (ends.1 - ends.0);
    let mut found: Vec<Vec<f64>> = Vec::new();
    for degree in 0..degrees.min(abscissae.len()) {
        let mut next: Vec<f64> = abscissae
            .iter()
            .map(|x| framed(*x).powi(degree as i32))
            .collect();
        for earlier in &found {
            let along: f64 = earlier.iter().zip(&next).map(|(a, b)| a * b).sum();
            next.iter_mut()
                .zip(earlier)
                .for_each(|(n, e)| *n -= along * e);
        }
        let length = next.iter().map(|n| n * n).sum::<f64>().sqrt();
        // What rounding leaves of a polynomial that repeats those before it.
        if length < 1e-9 {
            break;
        }
        for n in &mut next {
            *n /= length;
        }
        found.push(next);
    }
    found
}

/// χ² of the points about a function of the fitted kind; `None` without degrees of freedom, or where their uncertainties
/// determine no fit.
fn consistency(
    ws: &Worksheet,
    fitted: &Fitted,
    given: &[Point],
    points: &[CalibrationPoint],
) -> Option<Consistency> {
    let generalised = match fitted.method {
        Method::Generalised => fitted.clone(),
        Method::Ordinary | Method::Weighted => {
            fit::fit(given, fitted.model, Method::Generalised).ok()?
        }
    };
    Some(Consistency {
        chi_squared: generalised.chi_squared?,
        dof: Some(generalised.dof).filter(|dof| *dof > 0)?,
        allowance: allowance(ws, &generalised, points),
    })
}

/// Returns what makes each point's distance from the line uncertain: every source with the part of the standard
/// uncertainty due to it, signed, g/mL, by rising place.
pub fn residual_influences(
    ws: &Worksheet,
    fitted: &Fitted,
    points: &[CalibrationPoint],
) -> Vec<Vec<(NodeId, f64)>> {
    let of = |point: &CalibrationPoint| {
        let mut parts = ws.influences(point.y);
        // Other methods take x as exact.
        if fitted.method == Method::Generalised {
            let slope = fitted.slope(ws.value(point.x));
            let by_x = ws.influences(point.x).into_iter();
            parts.extend(by_x.map(|(source, part)| (source, -slope * part)));
            parts.sort_by_key(|(source, _)| *source);
            parts.dedup_by(|next, part| {
                let same = next.0 == part.0;
                part.1 += if same { next.1 } else { 0.0 };
                same
            });
        }
        parts
    };
    points.iter().map(of).collect()
}

/// Returns how many points each source of error reaches.
pub fn points_reached(influences: &[Vec<(NodeId, f64)>]) -> BTreeMap<NodeId, usize> {
    let mut reached = BTreeMap::new();
    for (source, _) in influences.iter().flatten() {
        *reached.entry(*source).or_insert(0) += 1;
    }
    reached
}

/// Returns what is to be allowed, in judging χ², for the errors that were found from samples and are a point's own.
fn allowance(ws: &Worksheet, fitted: &Fitted, points: &[CalibrationPoint]) -> Option<Allowance> {
    let influences = residual_influences(ws, fitted, points);
    let reached = points_reached(&influences);
    let mut sampled = Vec::new();
    for (point, parts) in influences.iter().enumerate() {
        for (source, part) in parts.iter().filter(|(source, _)| reached[source] == 1) {
            let Source::Input(input) = &ws.node(*source).source else {
                continue;
            };
            let whole = input.standard_uncertainty();
            for component in input.components.iter().filter(|c| c.dof.is_finite()) {
                sampled.push(Sampled {
                    point,
                    standard_uncertainty: part.abs() * component.standard_uncertainty / whole,
                    dof: component.dof,
                    estimate: component.estimate.map(Estimate::number),
                });
            }
        }
    }
    fitted.allowance(&sampled)
}
