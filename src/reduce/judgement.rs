//! Whether the points of a calibration lie on its line: by their stated uncertainties, and by the scatter of weighings.

use std::collections::BTreeMap;

use crate::fit::{
    self, Allowance, Fitted, LackOfFit, Method, Model, Point, Sampled, chi_squared_quantile,
    chi_squared_tail, f_quantile, f_tail,
};
use crate::worksheet::{Estimate, NodeId, Source, Worksheet};

use super::{CalibrationPoint, CalibrationResult, SolutionResult, replicates};

/// Densities that scatter by less than this, g/mL, are equal.
const LEAST_SCATTER: f64 = 1e-12;

/// A statistic against the limit that it exceeds by chance with probability 1 − coverage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// What was found.
    pub observed: f64,
    /// The limit.
    pub limit: f64,
    /// The probability of finding as much or more by chance.
    pub p_value: f64,
}

impl Test {
    /// Whether what was found stays within the limit.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.observed <= self.limit
    }
}

impl CalibrationResult {
    /// χ² of the points about the line against their stated uncertainties (ISO/TS 28037:2010, 6.3), its limit drawn with
    /// allowance for uncertainties that rest on few weighings (see [`Fitted::allowance`]); none for an ordinary fit or
    /// without degrees of freedom.
    ///
    /// [`Fitted::allowance`]: crate::fit::Fitted::allowance
    #[must_use]
    pub fn chi_squared_test(&self, coverage: f64) -> Option<Test> {
        let dof = self.fitted.dof as f64;
        let observed = self.fitted.chi_squared.filter(|_| dof > 0.0)?;
        Some(match self.allowance {
            Some(allowance) => {
                let (factor, (p, few)) = (allowance.factor(), allowance.dof());
                Test {
                    observed,
                    limit: factor * f_quantile(coverage, p, few),
                    p_value: f_tail(observed / factor, p, few),
                }
            }
            None => Test {
                observed,
                limit: chi_squared_quantile(coverage, dof),
                p_value: chi_squared_tail(observed, dof),
            },
        })
    }

    /// The F test of lack of fit; none without replicates.
    #[must_use]
    pub fn lack_of_fit_test(&self, coverage: f64) -> Option<Test> {
        let found = self.lack_of_fit?;
        Some(Test {
            observed: found.f,
            limit: f_quantile(coverage, found.lack_dof as f64, found.pure_dof as f64),
            p_value: found.p_value,
        })
    }

    /// Whether one of the two tests refuses the line.
    #[must_use]
    pub fn refused(&self, coverage: f64) -> bool {
        [
            self.chi_squared_test(coverage),
            self.lack_of_fit_test(coverage),
        ]
        .iter()
        .flatten()
        .any(|test| !test.passed())
    }
}

/// What makes each point's distance from the line uncertain: every source with the part of the standard uncertainty due to
/// it, signed, g/mL.
#[must_use]
pub fn residual_influences(
    ws: &Worksheet,
    fitted: &Fitted,
    points: &[CalibrationPoint],
) -> Vec<BTreeMap<NodeId, f64>> {
    let of = |point: &CalibrationPoint| {
        let mut parts: BTreeMap<NodeId, f64> = ws.influences(point.y).into_iter().collect();
        // Other methods take x as exact.
        if fitted.method == Method::Generalised {
            let slope = fitted.slope(ws.value(point.x));
            for (source, part) in ws.influences(point.x) {
                *parts.entry(source).or_insert(0.0) -= slope * part;
            }
        }
        parts
    };
    points.iter().map(of).collect()
}

/// How many points each source of error reaches.
#[must_use]
pub fn points_reached(influences: &[BTreeMap<NodeId, f64>]) -> BTreeMap<NodeId, usize> {
    let mut reached = BTreeMap::new();
    for source in influences.iter().flat_map(BTreeMap::keys) {
        *reached.entry(*source).or_insert(0) += 1;
    }
    reached
}

/// What is to be allowed, in judging χ², for the errors that were found from samples and are a point's own.
pub(super) fn allowance(
    ws: &Worksheet,
    fitted: &Fitted,
    points: &[CalibrationPoint],
) -> Option<Allowance> {
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

/// Lack of fit of the single weighings: each a point of its own at its solution's composition, all counting alike. None
/// where they scatter less than rounding to the readabilities alone would make them: that is no measure of their errors
/// (JCGM 100:2008, F.2.2.1), and any line would seem to miss their means.
pub(super) fn lack_of_fit(
    ws: &Worksheet,
    model: Model,
    points: &[CalibrationPoint],
    solutions: &[SolutionResult],
) -> Option<LackOfFit> {
    let (mut single, mut groups) = (Vec::new(), Vec::new());
    let mut by_rounding = 0.0;
    for point in points {
        let density = solutions[point.solution].density.as_ref()?;
        // Each is brought to the reference temperature as their mean was.
        let brought = ws.value(density.compared()) - ws.value(density.density);
        let counted = density.replicates.iter().filter(|r| r.left_out.is_none());
        by_rounding += counted.map(|r| r.variation.resolution.powi(2)).sum::<f64>();
        for y in replicates::densities(ws, &density.replicates) {
            single.push(Point {
                x: ws.value(point.x),
                y: y + brought,
                ..Point::default()
            });
            groups.push(point.solution);
        }
    }
    let fitted = fit::fit(&single, model, Method::Ordinary).ok()?;
    let found = fit::lack_of_fit(&fitted, &groups)?;
    // Equal readings leave no more than what doubles round off.
    let least = (by_rounding / groups.len() as f64).max(LEAST_SCATTER.powi(2));
    (found.pure_squares / found.pure_dof as f64 > least).then_some(found)
}
