//! Whether the points of a calibration lie on its line: by their stated uncertainties, and by the scatter of weighings.

use crate::fit::{
    self, LackOfFit, Method, Model, Point, chi_squared_quantile, chi_squared_tail, f_quantile,
};
use crate::worksheet::Worksheet;

use super::{CalibrationPoint, CalibrationResult, SolutionResult, replicates};

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
    /// χ² of the points about the line against their stated uncertainties (ISO/TS 28037:2010, 6.3); none for an ordinary
    /// fit or without degrees of freedom.
    #[must_use]
    pub fn chi_squared_test(&self, coverage: f64) -> Option<Test> {
        let dof = self.fitted.dof as f64;
        let observed = self.fitted.chi_squared.filter(|_| dof > 0.0)?;
        Some(Test {
            observed,
            limit: chi_squared_quantile(coverage, dof),
            p_value: chi_squared_tail(observed, dof),
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

/// Lack of fit of the single weighings: each a point of its own at its solution's composition, all counting alike.
pub(super) fn lack_of_fit(
    ws: &Worksheet,
    model: Model,
    points: &[CalibrationPoint],
    solutions: &[SolutionResult],
) -> Option<LackOfFit> {
    let (mut single, mut groups) = (Vec::new(), Vec::new());
    for point in points {
        let density = solutions[point.solution].density.as_ref()?;
        // Each is brought to the reference temperature as their mean was.
        let brought = ws.value(density.compared()) - ws.value(density.density);
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
    fit::lack_of_fit(&fitted, &groups)
}
