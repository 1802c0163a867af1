//! Steps of the calculation with other values put in: readings, results as claimed, results of a mistake.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use crate::fit::{self, Fitted, Method, Model, Point, Refit};
use crate::reduce::{CalibrationResult, Preparation, Reduction, Target};
use crate::runfile::model::Scale;
use crate::worksheet::{Instead, NodeId, Source};

/// How a line of density against composition is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Line {
    /// As this reduction finds it.
    AsReduced,
    /// As the ordinary straight line, which is what a person calculates by hand.
    Ordinary,
}

/// Values put in place of those of this reduction.
#[derive(Debug, Clone, Default)]
pub(super) struct Given {
    /// Of quantities of the worksheet.
    pub(super) quantities: Instead,
    /// Of intercept and slope of the straight line.
    pub(super) line: [Option<f64>; 2],
}

/// The calculation of a run.
pub(super) struct Steps<'a> {
    reduction: &'a Reduction,
    /// The ordinary straight lines against each scale, to be found again for other points.
    ordinary: [OnceCell<Option<Refit>>; 4],
}

impl<'a> Steps<'a> {
    pub(super) fn of(reduction: &'a Reduction) -> Self {
        Self {
            reduction,
            ordinary: Default::default(),
        }
    }

    fn is_straight(calibration: &CalibrationResult) -> bool {
        calibration.fitted.model == Model::Straight
    }

    /// The value of a step in its unit, by a line; none where it does not lead there.
    pub(super) fn value(&self, target: Target, given: &Given, by: Line) -> Option<f64> {
        let calibration = self.reduction.calibration.as_ref();
        let found = match (target, by) {
            (Target::Quantity(id), Line::AsReduced) => self.quantity(id, given),
            (Target::Quantity(id), Line::Ordinary) => {
                let (on, density) = self.read_back(id)?;
                let [b0, b1] = self.ordinary(calibration?.against, given)?;
                let x = (self.quantity(density, given) - b0) / b1;
                let mut with = given.quantities.clone();
                with.insert(on, x);
                self.reduction.worksheet.value_with(id, &with)
            }
            (Target::Coefficient(power), Line::AsReduced) => {
                let calibration = calibration.filter(|found| Self::is_straight(found))?;
                self.quantity(*calibration.coefficients.get(power)?, given)
            }
            (Target::Coefficient(power), Line::Ordinary) => {
                let unclaimed = Given {
                    line: [None; 2],
                    ..given.clone()
                };
                self.ordinary(calibration?.against, &unclaimed)?[power]
            }
        };
        found.is_finite().then_some(found)
    }

    /// The value of a quantity with a claimed line, where there is one that it is read from.
    fn quantity(&self, id: NodeId, given: &Given) -> f64 {
        let ws = &self.reduction.worksheet;
        let calibration = self.reduction.calibration.as_ref();
        let line = calibration.filter(|found| Self::is_straight(found));
        let Some(line) = line.filter(|_| given.line != [None; 2]) else {
            return ws.value_with(id, &given.quantities);
        };
        let mut with = given.quantities.clone();
        let claimed = line.coefficients.iter().zip(given.line);
        with.extend(claimed.filter_map(|(id, value)| Some((*id, value?))));
        ws.value_with(id, &with)
    }

    /// Intercept and slope of the ordinary straight line against a scale, with those that are given.
    pub(super) fn ordinary(&self, against: Scale, given: &Given) -> Option<[f64; 2]> {
        let found = || {
            let points = self.points(against, given)?;
            let own = || straight_line(&self.points(against, &Given::default())?);
            let refit = self.ordinary[against as usize].get_or_init(|| Some(own()?.refit));
            let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            let mut found = [f64::NAN; 2];
            refit.as_ref()?.solve(&x, &y, &mut found);
            Some(found)
        };
        match given.line {
            [Some(b0), Some(b1)] => Some([b0, b1]),
            [b0, b1] => {
                let [a, b] = found()?;
                Some([b0.unwrap_or(a), b1.unwrap_or(b)])
            }
        }
    }

    /// Composition on a scale and density, g/mL, of the points of the calibration.
    pub(super) fn points(&self, against: Scale, given: &Given) -> Option<Vec<(f64, f64)>> {
        let calibration = self.reduction.calibration.as_ref()?;
        let x = |point: &crate::reduce::CalibrationPoint| {
            let solution = &self.reduction.solutions[point.solution];
            if solution.preparation == Preparation::Pure {
                return Some(0.0);
            }
            Some(self.quantity(solution.composition.on(against)?, given))
        };
        let points = calibration.points.iter();
        points
            .map(|point| Some((x(point)?, self.quantity(point.y, given))))
            .collect()
    }

    /// Of the composition of an unknown that is read from the calibration: the composition on its scale, and the density
    /// that it is read by.
    pub(super) fn read_back(&self, id: NodeId) -> Option<(NodeId, NodeId)> {
        let calibration = self.reduction.calibration.as_ref()?;
        let unknown = self.reduction.solutions.iter().find(|solution| {
            let composition = &solution.composition;
            let scales = [
                composition.mass_percent,
                composition.mass_concentration,
                composition.molarity,
                composition.molality,
            ];
            solution.preparation == Preparation::Unknown && scales.contains(&Some(id))
        })?;
        let on = unknown.composition.on(calibration.against)?;
        Some((on, unknown.density.as_ref()?.compared()))
    }

    /// All quantities that a step rests on.
    pub(super) fn leading_to(&self, target: Target) -> BTreeSet<NodeId> {
        let ws = &self.reduction.worksheet;
        let calibration = self.reduction.calibration.as_ref();
        let points = calibration.into_iter().flat_map(|found| &found.points);
        let of_points = || points.flat_map(|point| [point.x, point.y]);
        let mut waiting: Vec<NodeId> = match target {
            Target::Quantity(id) => vec![id],
            Target::Coefficient(_) => of_points().collect(),
        };
        let mut all = BTreeSet::new();
        while let Some(id) = waiting.pop() {
            if !all.insert(id) {
                continue;
            }
            match &ws.node(id).source {
                Source::Solved(of) => {
                    waiting.extend(of.solution.points.iter().flat_map(|(x, y)| [*x, *y]));
                }
                Source::Calculated(_) => waiting.extend(ws.earlier(id)),
                Source::Input(_) | Source::Neglected(_) | Source::Correction(_) => {}
            }
        }
        all
    }
}

/// Intercept and slope of the ordinary straight line through points.
pub(super) fn straight(points: &[(f64, f64)]) -> Option<[f64; 2]> {
    <[f64; 2]>::try_from(straight_line(points)?.coefficients.as_slice()).ok()
}

fn straight_line(points: &[(f64, f64)]) -> Option<Fitted> {
    let points: Vec<Point> = points
        .iter()
        .map(|(x, y)| Point {
            x: *x,
            y: *y,
            ..Point::default()
        })
        .collect();
    fit::fit(&points, Model::Straight, Method::Ordinary).ok()
}
