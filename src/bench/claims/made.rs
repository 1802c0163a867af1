//! What a mistake leads to: the step calculated again with it.

use std::collections::BTreeSet;

use super::mistakes::{Alteration, Candidate, Change, LineMistake, Results, To};
use super::steps::{Given, Line, StepAt, Steps, straight};
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
    /// What a step becomes by it, given the results before it; none where it cannot be made there.
    pub(super) fn value(
        &self,
        steps: &Steps<'_>,
        reduction: &Reduction,
        step: &StepAt,
        given: &Given,
        by: Line,
    ) -> Option<f64> {
        let target = step.target;
        match &self.change {
            Change::Set(set) => {
                let mut with = given.clone();
                for (id, value) in set {
                    with.quantities.entry(*id).or_insert(*value);
                }
                steps.value(target, &with, by)
            }
            Change::ConvertedBy(solutions, density) => {
                let with = converted(reduction, step, solutions, *density, given);
                steps.value(target, &with, by)
            }
            Change::Rounded(which, to) => {
                let with = rounded(steps, reduction, step, (*which, *to), given, by);
                steps.value(target, &with, by)
            }
            Change::Altered(which, alteration) => {
                let with = altered(steps, target, (*which, *alteration), given, by)?;
                steps.value(target, &with, by)
            }
            Change::Times(power) => Some(steps.value(target, given, by)? * 10f64.powi(*power)),
            Change::Is(other) => steps.value(*other, given, by),
            Change::Line(mistake) => by_line(steps, reduction, target, *mistake, given),
        }
    }
}

/// The same with the compositions of some solutions converted by another density.
fn converted(
    reduction: &Reduction,
    step: &StepAt,
    solutions: &[usize],
    density: f64,
    given: &Given,
) -> Given {
    let ws = &reduction.worksheet;
    let mut with = given.clone();
    for i in solutions {
        let solution = &reduction.solutions[*i];
        let Some(own) = &solution.density else {
            continue;
        };
        let mut by_other = given.quantities.clone();
        by_other.insert(own.density, density);
        for id in solution.composition.all() {
            if step.leading.contains(&id) && !given.quantities.contains_key(&id) {
                with.quantities.insert(id, ws.value_with(id, &by_other));
            }
        }
    }
    with
}

/// The same with results on the way rounded, one after the other.
fn rounded(
    steps: &Steps<'_>,
    reduction: &Reduction,
    step: &StepAt,
    (which, to): (Results, To),
    given: &Given,
    by: Line,
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
    let mut with = given.clone();
    // Later results depend only on earlier ones.
    for id in on_way {
        if !given.quantities.contains_key(&id)
            && let Some(value) = steps.value(Target::Quantity(id), &with, Line::AsReduced)
        {
            with.quantities.insert(id, to.round(value));
        }
    }
    if wanted(Results::Line)
        && matches!(target, Target::Quantity(id) if steps.read_back(id).is_some())
    {
        for power in [0, 1] {
            if given.line[power].is_none() {
                let value = steps.value(Target::Coefficient(power), &with, by);
                with.line[power] = value.map(|value| to.round(value));
            }
        }
    }
    with
}

/// The same with one result on the way altered; none where it is claimed, is the step itself, or does not lead there.
fn altered(
    steps: &Steps<'_>,
    target: Target,
    (which, alteration): (Target, Alteration),
    given: &Given,
    by: Line,
) -> Option<Given> {
    let alter = |value: f64| match alteration {
        Alteration::Times(power) => value * 10f64.powi(power),
        Alteration::Rounded(to) => to.round(value),
    };
    let mut with = given.clone();
    match which {
        _ if which == target => return None,
        Target::Quantity(id) if given.quantities.contains_key(&id) => return None,
        Target::Quantity(id) => {
            let value = steps.value(which, given, Line::AsReduced)?;
            with.quantities.insert(id, alter(value));
        }
        Target::Coefficient(power) => {
            let is_read = matches!(target, Target::Quantity(id) if steps.read_back(id).is_some());
            if !is_read || given.line[power].is_some() {
                return None;
            }
            with.line[power] = steps.value(which, given, by).map(alter);
        }
    }
    Some(with)
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

/// What a step becomes by another line than the right one; none where no line leads to it.
fn by_line(
    steps: &Steps<'_>,
    reduction: &Reduction,
    target: Target,
    mistake: LineMistake,
    given: &Given,
) -> Option<f64> {
    let against = reduction.calibration.as_ref()?.against;
    let line = |scale| {
        let unclaimed = Given {
            line: [None; 2],
            ..given.clone()
        };
        steps.ordinary(scale, &unclaimed)
    };
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
            let y = steps.value(Target::Quantity(density), given, Line::AsReduced)?;
            let [b0, b1] = match mistake {
                LineMistake::Fitted => exchanged(steps, against, given)?,
                LineMistake::Read => {
                    let [b0, b1] = steps.ordinary(against, given)?;
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
    let points = steps.points(against, given)?;
    let exchanged: Vec<(f64, f64)> = points.into_iter().map(|(x, y)| (y, x)).collect();
    straight(&exchanged)
}
