//! What a mistake leads to: the step calculated again with it.

use std::collections::BTreeSet;

use super::mistakes::{Candidate, Change, LineMistake, Results};
use super::steps::{Alteration, Given, StepAt, Steps, To, straight};
use crate::bench::reduce::{Composition, Preparation, Reduction, Target};
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::NodeId;

impl Change {
    /// Whether it can change a step that rests on some quantities.
    pub(super) fn concerns(&self, leading: &BTreeSet<NodeId>, reduction: &Reduction) -> bool {
        match self {
            Self::Set(set) => set.iter().any(|(id, _)| leading.contains(id)),
            Self::ConvertedBy(solutions, _) => {
                let compositions = solutions
                    .iter()
                    .map(|i| &reduction.solutions[*i].composition);
                let mut all = compositions.flat_map(Composition::all);
                all.any(|id| leading.contains(&id))
            }
            Self::Altered(Target::Quantity(id), _) => leading.contains(id),
            Self::Altered(Target::Coefficient(_), _)
            | Self::Rounded(..)
            | Self::Times(_)
            | Self::Is(_)
            | Self::Line(_) => true,
        }
    }
}

impl Candidate {
    /// Returns the values that a step has with this mistake, given the results before it; empty where it cannot be made.
    pub(super) fn values(
        &self,
        steps: &Steps<'_>,
        reduction: &Reduction,
        step: &StepAt,
        given: &Given,
    ) -> Vec<f64> {
        let target = step.target;
        let with = match &self.change {
            Change::Set(set) => {
                let mut with = given.clone();
                for (id, value) in set {
                    with.quantities.entry(*id).or_insert(*value);
                }
                Some(with)
            }
            Change::ConvertedBy(solutions, density) => Some(converted(
                steps, reduction, step, solutions, *density, given,
            )),
            Change::Rounded(which, to) => {
                Some(rounded(steps, reduction, step, (*which, *to), given))
            }
            Change::Altered(which, how) => altered(steps, target, (*which, *how), given),
            Change::Times(power) => {
                let right = steps.values(target, given).into_iter();
                return right.map(|value| value * 10f64.powi(*power)).collect();
            }
            Change::Is(other) => return steps.values(*other, given),
            Change::Line(mistake) => {
                let value = by_line(steps, reduction, target, *mistake, given);
                return value.into_iter().collect();
            }
        };
        with.map_or_else(Vec::new, |with| steps.values(target, &with))
    }
}

/// The same with the compositions of some solutions converted by another density.
fn converted(
    steps: &Steps<'_>,
    reduction: &Reduction,
    step: &StepAt,
    solutions: &[usize],
    density: f64,
    given: &Given,
) -> Given {
    let mut with = given.clone();
    for i in solutions {
        let solution = &reduction.solutions[*i];
        let Some(own) = &solution.density else {
            continue;
        };
        let mut by_other = given.clone();
        by_other.quantities.insert(own.density, density);
        for id in solution.composition.all() {
            if step.leading.contains(&id) && !given.quantities.contains_key(&id) {
                with.quantities.insert(id, steps.quantity(id, &by_other));
            }
        }
    }
    with
}

/// Rounds results on the way, each before others are calculated from it.
fn rounded(
    steps: &Steps<'_>,
    reduction: &Reduction,
    step: &StepAt,
    (which, to): (Results, To),
    given: &Given,
) -> Given {
    let wanted = |results: Results| which == Results::All || which == results;
    let mut on_way: BTreeSet<NodeId> = BTreeSet::new();
    for solution in &reduction.solutions {
        if let (true, Preparation::MadeUp { mass, .. } | Preparation::ByMass { mass, .. }) =
            (wanted(Results::Masses), &solution.preparation)
        {
            on_way.insert(*mass);
        }
        if let (true, Some(density)) = (wanted(Results::Densities), &solution.density) {
            on_way.extend(density.replicates.iter().map(|single| single.density));
            on_way.insert(density.density);
        }
        if wanted(Results::Compositions) {
            let composition = &solution.composition;
            on_way.extend(composition.mass_percent);
            on_way.extend(composition.mass_concentration);
        }
    }
    let target = step.target;
    on_way.retain(|id| step.leading.contains(id) && target != Target::Quantity(*id));
    let line = [wanted(Results::Line); 2];
    steps.altered(target, given, Alteration::Rounded(to), on_way, line)
}

/// The same with one result on the way altered; `None` if it is claimed, is the step itself, or does not lead there.
fn altered(
    steps: &Steps<'_>,
    target: Target,
    (which, how): (Target, Alteration),
    given: &Given,
) -> Option<Given> {
    let (mut quantities, mut line) = (BTreeSet::new(), [false; 2]);
    match which {
        _ if which == target => return None,
        Target::Quantity(id) if given.quantities.contains_key(&id) => return None,
        Target::Quantity(id) => {
            quantities.insert(id);
        }
        Target::Coefficient(power) => {
            let is_read = matches!(target, Target::Quantity(id) if steps.read_back(id).is_some());
            if !is_read || given.line[power].is_some() {
                return None;
            }
            line[power] = true;
        }
    }
    Some(steps.altered(target, given, how, quantities, line))
}

impl Alteration {
    /// Returns a value as this alters it.
    pub(super) fn apply(self, value: f64) -> f64 {
        match self {
            Self::Times(power) => value * 10f64.powi(power),
            Self::Rounded(to) => to.round(value),
        }
    }
}

impl To {
    fn round(self, value: f64) -> f64 {
        let decimals = match self {
            Self::Decimals(decimals) => decimals,
            Self::Figures(figures) if value != 0.0 => {
                figures - 1 - value.abs().log10().floor() as i32
            }
            Self::Figures(_) => return value,
        };
        let scale = 10f64.powi(decimals);
        (value * scale).round() / scale
    }
}

/// What a step becomes by another line than the right one; `None` if no line leads to it.
fn by_line(
    steps: &Steps<'_>,
    reduction: &Reduction,
    target: Target,
    mistake: LineMistake,
    given: &Given,
) -> Option<f64> {
    let against = reduction.calibration.as_ref()?.against;
    let line = |scale| steps.ordinary(scale, given, [None; 2]);
    match target {
        Target::Coefficient(power) => match mistake {
            LineMistake::Fitted => exchanged(steps, against, given).map(|line| line[power]),
            LineMistake::Read => {
                let [b0, b1] = line(against)?;
                Some([-b0 / b1, 1.0 / b1][power])
            }
            LineMistake::Against(scale) => line(scale).map(|line| line[power]),
        },
        Target::Quantity(id) => {
            let (_, density) = steps.read_back(id)?;
            let y = steps.quantity(density, given);
            let [b0, b1] = match mistake {
                LineMistake::Fitted => exchanged(steps, against, given)?,
                LineMistake::Read => {
                    let [b0, b1] = steps.ordinary(against, given, given.line)?;
                    return Some(b0 + b1 * y);
                }
                LineMistake::Against(scale) => line(scale)?,
            };
            Some((y - b0) / b1)
        }
    }
}

/// Intercept and slope of composition against density.
fn exchanged(steps: &Steps<'_>, against: Scale, given: &Given) -> Option<[f64; 2]> {
    let (x, y) = steps.points(against, given)?;
    straight(&y, &x)
}
