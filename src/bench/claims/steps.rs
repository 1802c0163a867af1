//! Steps of the calculation with other values put in: readings, results as claimed, results of a mistake.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use crate::bench::fit::{self, Fitted, Method, Model, Point, Refit};
use crate::bench::reduce::{CalibrationResult, Preparation, Reduction, Target};
use crate::bench::runfile::model::{Scale, Step};
use crate::bench::worksheet::{Altered, Instead, NodeId, Recalculation, Source};

/// So many solutions at most are looked at one by one behind a line.
pub(super) const MOST_SEARCHED: usize = 40;

/// Values put in place of those of this reduction.
#[derive(Debug, Clone, Default)]
pub(super) struct Given {
    /// Of quantities of the worksheet.
    pub(super) quantities: Instead,
    /// Of intercept and slope of the straight line.
    pub(super) line: [Option<f64>; 2],
    /// Results that are altered, but for those that have a value here.
    pub(super) altered: Option<AlteredSteps>,
}

/// To what a result is rounded.
#[derive(Debug, Clone, Copy)]
pub(super) enum To {
    Figures(i32),
    Decimals(i32),
}

/// What a mistake does to a result on the way.
#[derive(Debug, Clone, Copy)]
pub(super) enum Alteration {
    /// A power of ten times the right one.
    Times(i32),
    Rounded(To),
}

/// Results that are altered on the way to others.
#[derive(Debug, Clone)]
pub(super) struct AlteredSteps {
    pub(super) how: Alteration,
    pub(super) quantities: BTreeSet<NodeId>,
    /// Intercept and slope of the straight line.
    pub(super) line: [bool; 2],
}

impl Given {
    /// A result has another value.
    pub(super) fn put(&mut self, target: Target, value: f64) {
        match target {
            Target::Quantity(id) => {
                self.quantities.insert(id, value);
            }
            Target::Coefficient(power) => self.line[power] = Some(value),
        }
    }

    /// Returns a value of a quantity, altered if the quantity is.
    fn altered_value(&self, id: NodeId, value: f64) -> f64 {
        let altered = self.altered.as_ref();
        let altered = altered.filter(|altered| altered.quantities.contains(&id));
        altered.map_or(value, |altered| altered.how.apply(value))
    }
}

/// A step of the calculation, with what leads to it.
pub(super) struct StepAt {
    pub(super) target: Target,
    /// All quantities that it rests on, its own among them.
    pub(super) leading: BTreeSet<NodeId>,
    /// The solutions whose single results may be mistaken before it: its own and those that it was taken from; of a line all,
    /// if they are few.
    pub(super) solutions: Vec<usize>,
    /// Whether it rests on a line of many solutions.
    on_long_line: bool,
}

impl StepAt {
    /// Whether all results before it can be looked at, however often.
    pub(super) fn has_few_results_before(&self) -> bool {
        !self.on_long_line
    }
}

/// The ordinary straight line, which is what a person calculates by hand, against a scale.
struct Ordinary {
    /// The compositions of the points, then their densities.
    points: Vec<NodeId>,
    refit: Refit,
}

/// The calculation of a run.
pub(super) struct Steps<'a> {
    reduction: &'a Reduction,
    again: Recalculation<'a>,
    /// The ordinary straight lines against each scale, to be found again for other points.
    ordinary: [OnceCell<Option<Ordinary>>; 4],
}

impl<'a> Steps<'a> {
    pub(super) fn new(reduction: &'a Reduction) -> Self {
        Self {
            reduction,
            again: Recalculation::new(&reduction.worksheet),
            ordinary: Default::default(),
        }
    }

    fn is_straight(calibration: &CalibrationResult) -> bool {
        calibration.fitted.model == Model::Straight
    }

    /// Returns the values of a step, in its unit: by the line as this reduction finds it, then by the ordinary straight line, as far as
    /// they lead there.
    pub(super) fn values(&self, target: Target, given: &Given) -> Vec<f64> {
        let calibration = self.reduction.calibration.as_ref();
        let found = match (target, calibration) {
            (Target::Quantity(id), Some(line)) => match self.read_back(id) {
                Some((on, density)) => self.read(id, (on, density), line, given),
                None => [Some(self.quantity(id, given)), None],
            },
            (Target::Quantity(id), None) => [Some(self.quantity(id, given)), None],
            (Target::Coefficient(power), Some(line)) => {
                let id = line.coefficients.get(power);
                let id = id.filter(|_| Self::is_straight(line));
                let ordinary = self.ordinary(line.against, given, [None; 2]);
                [
                    id.map(|id| self.quantity(*id, given)),
                    ordinary.map(|line| line[power]),
                ]
            }
            (Target::Coefficient(_), None) => [None; 2],
        };
        let values = found.into_iter().flatten();
        values.filter(|value| value.is_finite()).collect()
    }

    /// Returns the values of a composition that is read from the calibration, by either line. It is read on a scale, by a density.
    fn read(
        &self,
        id: NodeId,
        (on, density): (NodeId, NodeId),
        calibration: &CalibrationResult,
        given: &Given,
    ) -> [Option<f64>; 2] {
        let Some(ordinary) = self.ordinary_line(calibration.against) else {
            return [Some(self.quantity(id, given)), None];
        };
        let mut of = vec![id, density];
        of.extend(&ordinary.points);
        let values = self.quantities(&of, given);
        let [b0, b1] = ordinary.through(&values[2..], given, given.line);
        let x = given.quantities.get(&on).copied();
        let x = x.unwrap_or_else(|| given.altered_value(on, (values[1] - b0) / b1));
        let by_ordinary = if id == on {
            x
        } else {
            let mut with = given.clone();
            with.line = [Some(b0), Some(b1)];
            with.quantities.insert(on, x);
            self.quantity(id, &with)
        };
        [Some(values[0]), Some(by_ordinary)]
    }

    /// Returns given values with results on the way to a step altered; given ones are not.
    pub(super) fn altered(
        &self,
        target: Target,
        given: &Given,
        how: Alteration,
        mut quantities: BTreeSet<NodeId>,
        line: [bool; 2],
    ) -> Given {
        let is_read = matches!(target, Target::Quantity(id) if self.read_back(id).is_some());
        let line = if is_read { line } else { [false; 2] };
        let calibration = self.reduction.calibration.as_ref();
        if let Some(found) = calibration.filter(|found| Self::is_straight(found)) {
            let altered = found.coefficients.iter().zip(line);
            quantities.extend(altered.filter_map(|(id, is)| is.then_some(*id)));
        }
        Given {
            altered: Some(AlteredSteps {
                how,
                quantities,
                line,
            }),
            ..given.clone()
        }
    }

    pub(super) fn quantity(&self, id: NodeId, given: &Given) -> f64 {
        self.quantities(&[id], given)[0]
    }

    /// The values of quantities, by the line given where there is one that they are read from.
    fn quantities(&self, of: &[NodeId], given: &Given) -> Vec<f64> {
        let alter = |value: f64| given.altered.as_ref().map_or(value, |a| a.how.apply(value));
        let altered = given.altered.as_ref().map(|altered| Altered {
            quantities: &altered.quantities,
            by: &alter,
        });
        let calibration = self.reduction.calibration.as_ref();
        let line = calibration.filter(|found| Self::is_straight(found));
        let Some(line) = line.filter(|_| given.line != [None; 2]) else {
            return self.again.values(of, &given.quantities, altered.as_ref());
        };
        let mut with = given.quantities.clone();
        let claimed = line.coefficients.iter().zip(given.line);
        with.extend(claimed.filter_map(|(id, value)| Some((*id, value?))));
        self.again.values(of, &with, altered.as_ref())
    }

    /// Returns intercept and slope of the ordinary straight line against a scale, or those stated.
    pub(super) fn ordinary(
        &self,
        against: Scale,
        given: &Given,
        stated: [Option<f64>; 2],
    ) -> Option<[f64; 2]> {
        let ordinary = self.ordinary_line(against)?;
        let points = self.quantities(&ordinary.points, given);
        Some(ordinary.through(&points, given, stated))
    }

    /// Returns compositions and densities, g/mL, of the points of the calibration.
    pub(super) fn points(&self, against: Scale, given: &Given) -> Option<(Vec<f64>, Vec<f64>)> {
        let mut x = self.quantities(&self.ordinary_line(against)?.points, given);
        let y = x.split_off(x.len() / 2);
        Some((x, y))
    }

    fn ordinary_line(&self, against: Scale) -> Option<&Ordinary> {
        let found = || {
            let calibration = self.reduction.calibration.as_ref()?;
            let points = calibration.points.iter();
            let x = points.clone().map(|point| {
                let solution = &self.reduction.solutions[point.solution];
                match solution.preparation {
                    // It stands at zero on every scale.
                    Preparation::Pure => Some(point.x),
                    _ => solution.composition.get(against),
                }
            });
            let of: Option<Vec<NodeId>> = x.chain(points.map(|point| Some(point.y))).collect();
            let of = of?;
            let values: Vec<f64> = of
                .iter()
                .map(|id| self.reduction.worksheet.value(*id))
                .collect();
            let (x, y) = values.split_at(of.len() / 2);
            let refit = straight_line(x, y)?.refit;
            Some(Ordinary { points: of, refit })
        };
        self.ordinary[against as usize].get_or_init(found).as_ref()
    }

    /// Of the composition of an unknown that is read from the calibration: the composition on its scale, and the density
    /// that it is read by.
    pub(super) fn read_back(&self, id: NodeId) -> Option<(NodeId, NodeId)> {
        let calibration = self.reduction.calibration.as_ref()?;
        let unknown = self.reduction.solutions.iter().find(|solution| {
            let mut scales = solution.composition.all();
            solution.preparation == Preparation::Unknown && scales.any(|on| on == id)
        })?;
        let on = unknown.composition.get(calibration.against)?;
        Some((on, unknown.density.as_ref()?.compared()))
    }

    /// A step that is claimed.
    pub(super) fn at(&self, claimed: &Step, target: Target) -> StepAt {
        let solutions = &self.reduction.solutions;
        let of_line = match target {
            Target::Coefficient(_) => true,
            Target::Quantity(id) => self.read_back(id).is_some(),
        };
        let own = match claimed {
            Step::SaltMass(of)
            | Step::Density(of)
            | Step::SingleDensity(of, _)
            | Step::Composition(of, _) => Some(of.value),
            Step::Intercept | Step::Slope => None,
        };
        let taken_from = |of: &usize| match solutions[*of].preparation {
            Preparation::Dilution { of, .. } => Some(of),
            _ => None,
        };
        let many = solutions.len() > MOST_SEARCHED;
        StepAt {
            target,
            leading: self.leading_to(target),
            solutions: if of_line && !many {
                (0..solutions.len()).collect()
            } else {
                std::iter::successors(own, taken_from).collect()
            },
            on_long_line: of_line && many,
        }
    }

    /// All quantities that a step rests on.
    fn leading_to(&self, target: Target) -> BTreeSet<NodeId> {
        let ws = &self.reduction.worksheet;
        let calibration = self.reduction.calibration.as_ref();
        let mut waiting: Vec<NodeId> = match (target, calibration) {
            (Target::Quantity(id), _) => vec![id],
            (Target::Coefficient(_), Some(line)) => {
                line.points.iter().flat_map(|p| [p.x, p.y]).collect()
            }
            (Target::Coefficient(_), None) => Vec::new(),
        };
        let mut all = BTreeSet::new();
        while let Some(id) = waiting.pop() {
            if !all.insert(id) {
                continue;
            }
            match &ws.node(id).source {
                Source::Calculated(_) | Source::Solved(_) => waiting.extend(ws.dependencies(id)),
                Source::Input(_) | Source::Neglected(_) | Source::Correction(_) => {}
            }
        }
        all
    }
}

impl Ordinary {
    /// Returns intercept and slope through points, compositions first, or those stated.
    fn through(&self, points: &[f64], given: &Given, stated: [Option<f64>; 2]) -> [f64; 2] {
        if let [Some(b0), Some(b1)] = stated {
            return [b0, b1];
        }
        let (x, y) = points.split_at(points.len() / 2);
        let mut found = [f64::NAN; 2];
        self.refit.solve(x, y, &mut found);
        if let Some(altered) = &given.altered {
            for (coefficient, _) in found.iter_mut().zip(altered.line).filter(|(_, is)| *is) {
                *coefficient = altered.how.apply(*coefficient);
            }
        }
        [stated[0].unwrap_or(found[0]), stated[1].unwrap_or(found[1])]
    }
}

/// Intercept and slope of the ordinary straight line through points.
pub(super) fn straight(x: &[f64], y: &[f64]) -> Option<[f64; 2]> {
    <[f64; 2]>::try_from(straight_line(x, y)?.coefficients.as_slice()).ok()
}

fn straight_line(x: &[f64], y: &[f64]) -> Option<Fitted> {
    let points = x.iter().zip(y).map(|(x, y)| Point {
        x: *x,
        y: *y,
        ..Point::default()
    });
    fit::fit(
        &points.collect::<Vec<_>>(),
        Model::Straight,
        Method::Ordinary,
    )
    .ok()
}
