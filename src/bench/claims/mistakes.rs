//! The usual mistakes in such calculations, each as a change of one step.
//!
//! A mistake is found by making it: what it leads to is calculated by the formulas of the worksheet and compared with what
//! is claimed. The list is common practice, no source.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use serde::Serialize;

use super::steps::{Alteration, MOST_SEARCHED, StepAt, To};
use crate::bench::reduce::{Preparation, Reduction, SolutionResult, Target};
use crate::bench::reference::water;
use crate::bench::runfile::model::{Origin, RunFile, Scale, WeighedReadings, Weighings};
use crate::bench::worksheet::{Expr, NodeId, Source};

/// A kind of mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MistakeKind {
    /// The volume made up to over the volume taken, in place of its inverse.
    DilutionInverted,
    /// The strength of what was diluted, as if nothing had been.
    DilutionLeftOut,
    /// One delivery too many or too few, or only one counted.
    DeliveryMiscounted,
    /// The empty vessel not subtracted.
    TareNotSubtracted,
    /// Mass of salt per volume of solution taken for the mass percent.
    MassPerVolume,
    /// The density of water in place of the solution's.
    DensityOfWater,
    /// The purity of the salt left out.
    PurityLeftOut,
    /// Wrong by a power of ten.
    PowerOfTen,
    /// Rounded too early.
    RoundedEarly,
    /// x and y of the line exchanged.
    AxesExchanged,
    /// Another line than the one asked for.
    OtherLine,
    /// The result of another solution.
    OtherSolution,
}

/// A mistake that leads to a claimed result.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Mistake {
    /// Its kind.
    pub kind: MistakeKind,
    /// In words.
    pub words: String,
}

/// A mistake and what it does.
pub(super) struct Candidate {
    kind: MistakeKind,
    /// The mistake in words, without how a result is altered: most candidates are never named.
    words: Rc<str>,
    pub(super) change: Change,
}

impl Candidate {
    /// Returns the mistake with all its words.
    pub(super) fn mistake(&self) -> Mistake {
        let words = &self.words;
        let words = match self.change {
            Change::Times(power) => times(power),
            Change::Altered(_, Alteration::Times(power)) => format!("{words} {}", times(power)),
            Change::Altered(_, Alteration::Rounded(to)) | Change::Rounded(_, to) => {
                format!("{words} rounded to {} first", to.in_words())
            }
            _ => words.to_string(),
        };
        Mistake {
            kind: self.kind,
            words,
        }
    }
}

pub(super) enum Change {
    /// Quantities have other values.
    Set(Vec<(NodeId, f64)>),
    /// Masses and volumes of some solutions are converted by another density, g/mL.
    ConvertedBy(Vec<usize>, f64),
    /// Results on the way are rounded.
    Rounded(Results, To),
    /// One result on the way is altered.
    Altered(Target, Alteration),
    /// The result itself is a power of ten times the right one.
    Times(i32),
    /// The result is that of another step.
    Is(Target),
    Line(LineMistake),
}

#[derive(Clone, Copy)]
pub(super) enum LineMistake {
    /// Fitted with x and y exchanged, and read as if they were not.
    Fitted,
    /// Fitted as it should be, and written or read the other way round.
    Read,
    /// Against another scale.
    Against(Scale),
}

/// Results on the way.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Results {
    All,
    Masses,
    Densities,
    Compositions,
    Line,
}

/// The powers of ten that results are wrong by.
const POWERS: [i32; 6] = [1, -1, 2, -2, 3, -3];

/// A power of ten in words.
fn times(power: i32) -> String {
    let factor = 10_i32.pow(power.unsigned_abs());
    let which = if power > 0 { "large" } else { "small" };
    format!("{factor} times too {which}")
}

impl To {
    /// To one significant figure, to no decimals, and so on.
    fn all() -> impl Iterator<Item = Self> {
        (1..=4).flat_map(|count| [Self::Figures(count), Self::Decimals(count - 1)])
    }

    fn in_words(self) -> String {
        match self {
            Self::Figures(1) => "1 significant figure".to_owned(),
            Self::Figures(count) => format!("{count} significant figures"),
            Self::Decimals(1) => "1 decimal".to_owned(),
            Self::Decimals(count) => format!("{count} decimals"),
        }
    }
}

/// What the usual mistakes are made from.
pub(super) struct Mistakes<'a> {
    run: &'a RunFile,
    reduction: &'a Reduction,
    /// The quantity that an entry of the run file was read as.
    read: BTreeMap<&'a str, NodeId>,
}

impl<'a> Mistakes<'a> {
    pub(super) fn new(run: &'a RunFile, reduction: &'a Reduction) -> Self {
        let nodes = reduction.worksheet.nodes();
        let read = nodes.filter_map(|(id, node)| match &node.source {
            Source::Input(input) if !input.origin.is_empty() && !input.unseen => {
                Some((input.origin.as_str(), id))
            }
            _ => None,
        });
        Self {
            run,
            reduction,
            read: read.collect(),
        }
    }

    /// The mistakes that may lead to a step.
    pub(super) fn behind(&self, step: &StepAt) -> Vec<Candidate> {
        let all = List {
            from: self,
            candidates: Vec::new(),
        };
        all.candidates_for(step)
    }
}

/// The mistakes that may lead to a step, in the course of being listed.
struct List<'m> {
    from: &'m Mistakes<'m>,
    candidates: Vec<Candidate>,
}

impl List<'_> {
    fn candidates_for(mut self, step: &StepAt) -> Vec<Candidate> {
        let reduction = self.from.reduction;
        // What changes least comes first.
        for power in POWERS {
            self.add(MistakeKind::PowerOfTen, "", Change::Times(power));
        }
        for solution in &step.solutions {
            self.altered(*solution);
            self.salt(*solution);
            self.dilution(*solution);
            self.conversion(&[*solution]);
        }
        self.altered_line();
        let weighed: Vec<&Weighings> = self.from.run.densities.weighings.iter().collect();
        for weighings in &weighed {
            if step.solutions.contains(&weighings.solution.value) {
                self.tares(weighings);
            }
        }
        if weighed.len() > 1 {
            let every = weighed.iter().flat_map(|weighings| self.empties(weighings));
            let change = Change::Set(every.map(|(_, id)| (id, 0.0)).collect());
            let words = "the empty vessels not subtracted (all weighings)";
            self.add(MistakeKind::TareNotSubtracted, words, change);
        }
        if let Some(purity) = reduction.purity {
            let change = Change::Set(vec![(purity, 1.0)]);
            let words = "the purity of the salt omitted";
            self.add(MistakeKind::PurityLeftOut, words, change);
        }
        if reduction.solutions.len() <= MOST_SEARCHED {
            let every: Vec<usize> = (0..reduction.solutions.len()).collect();
            self.conversion(&every);
        }
        if step.has_few_results_before() {
            self.rounding();
        }
        self.line();
        self.of_another(step.target);
        let leads = |candidate: &Candidate| candidate.change.concerns(&step.leading, reduction);
        self.candidates.retain(leads);
        self.candidates
    }

    fn add(&mut self, kind: MistakeKind, words: impl Into<Rc<str>>, change: Change) {
        self.candidates.push(Candidate {
            kind,
            words: words.into(),
            change,
        });
    }

    /// The vessel with what was left in it of the salt, not subtracted.
    fn salt(&mut self, solution: usize) {
        let (Origin::MadeUp { weighed, .. } | Origin::ByMass { weighed, .. }) =
            &self.from.run.solutions[solution].origin
        else {
            return;
        };
        let WeighedReadings::Difference { after, .. } = &weighed.readings else {
            return;
        };
        if let Some(id) = self.from.read.get(after.entry.name.as_str()) {
            let words = format!(
                "the vessel without the salt not subtracted ({})",
                after.entry.name
            );
            let change = Change::Set(vec![(*id, 0.0)]);
            self.add(MistakeKind::TareNotSubtracted, words, change);
        }
    }

    /// What was taken and made up.
    fn dilution(&mut self, solution: usize) {
        let reduction = self.from.reduction;
        let found = &reduction.solutions[solution];
        let (name, ws) = (&found.name, &reduction.worksheet);
        let Preparation::Dilution {
            deliveries, volume, ..
        } = &found.preparation
        else {
            return;
        };
        let count = deliveries.len();
        let taken: f64 = deliveries.iter().map(|id| ws.value(*id)).sum();
        let whole = ws.value(*volume);
        let each = |sum: f64| {
            let each = deliveries.iter().map(move |id| (*id, sum / count as f64));
            each.collect::<Vec<_>>()
        };
        let mut inverted = each(whole);
        inverted.push((*volume, taken));
        let (first, left_out) = (deliveries.first().copied(), each(whole));
        self.add(
            MistakeKind::DilutionInverted,
            format!("the dilution factor of {name} inverted"),
            Change::Set(inverted),
        );
        self.add(
            MistakeKind::DilutionLeftOut,
            format!("the dilution of {name} omitted"),
            Change::Set(left_out),
        );
        let one = first.map_or(0.0, |id| ws.value(id));
        let mut others = BTreeSet::from([count + 1, 1]);
        others.extend(count.checked_sub(1).filter(|fewer| *fewer > 0));
        others.remove(&count);
        for other in others {
            let sum = taken + one * (other as f64 - count as f64);
            let words = format!("deliveries into {name} counted as {other}, not {count}");
            self.add(
                MistakeKind::DeliveryMiscounted,
                words,
                Change::Set(each(sum)),
            );
        }
    }

    /// The readings of the empty vessel in the weighings that count, each with the entry of the weighing.
    fn empties(&self, weighings: &Weighings) -> Vec<(String, NodeId)> {
        let counted = weighings.replicates.iter();
        let counted = counted.filter(|replicate| replicate.left_out.is_none());
        let empties = counted.filter_map(|replicate| {
            // An empty vessel that was read once is one quantity, by its first entry.
            let id = self.from.read.get(replicate.empty.entry.name.as_str())?;
            Some((replicate.entry.name.clone(), *id))
        });
        empties.collect()
    }

    /// Empty vessels not subtracted and deliveries miscounted, in single weighings of a solution and in all of them.
    fn tares(&mut self, weighings: &Weighings) {
        let (run, ws) = (self.from.run, &self.from.reduction.worksheet);
        let name = &run.solutions[weighings.solution.value].name.value;
        let empties = self.empties(weighings);
        let all: Vec<(NodeId, f64)> = empties.iter().map(|(_, id)| (*id, 0.0)).collect();
        if empties.len() > 1 {
            for (entry, id) in &empties {
                self.add(
                    MistakeKind::TareNotSubtracted,
                    format!("the empty vessel not subtracted ({entry})"),
                    Change::Set(vec![(*id, 0.0)]),
                );
            }
        }
        self.add(
            MistakeKind::TareNotSubtracted,
            format!("the empty vessel not subtracted (weighings of {name})"),
            Change::Set(all),
        );
        let (mut fewer, mut more) = (Vec::new(), Vec::new());
        for replicate in &weighings.replicates {
            let counts = replicate.left_out.is_none() && replicate.volumes.len() > 1;
            let last = replicate.volumes.last().filter(|_| counts);
            let last = last.and_then(|last| self.from.read.get(last.entry.name.as_str()));
            if let Some(last) = last {
                fewer.push((*last, 0.0));
                more.push((*last, 2.0 * ws.value(*last)));
            }
        }
        for (change, words) in [
            (fewer, "one delivery too few"),
            (more, "one delivery too many"),
        ] {
            if !change.is_empty() {
                let words = format!("{words} counted (weighings of {name})");
                self.add(MistakeKind::DeliveryMiscounted, words, Change::Set(change));
            }
        }
    }

    /// Conversions between mass and volume by another density than the solution's.
    fn conversion(&mut self, solutions: &[usize]) {
        let reduction = self.from.reduction;
        let mut waters: Vec<f64> = Vec::new();
        for solution in solutions {
            if let Some(density) = &reduction.solutions[*solution].density {
                let t = reduction.worksheet.value(density.liquid);
                let water = water::density(Expr::number(t)).value(&|_| f64::NAN);
                waters.extend([
                    water,
                    (water * 1e3).round() / 1e3,
                    (water * 1e4).round() / 1e4,
                ]);
            }
        }
        if waters.is_empty() {
            return;
        }
        let measured = reduction.solutions.iter();
        let measured = measured.filter(|solution| solution.preparation == Preparation::Pure);
        let measured = measured.filter_map(|solution| solution.density.as_ref());
        waters.extend(measured.map(|density| reduction.worksheet.value(density.density)));
        waters.sort_by(f64::total_cmp);
        waters.dedup();
        let whose = match solutions {
            [one] => format!("of {}", reduction.solutions[*one].name),
            _ => "of each solution".to_owned(),
        };
        let convert = |density| Change::ConvertedBy(solutions.to_vec(), density);
        self.add(
            MistakeKind::MassPerVolume,
            format!("mass per volume taken for mass percent (not divided by the density {whose})"),
            convert(1.0),
        );
        for water in waters {
            self.add(
                MistakeKind::DensityOfWater,
                format!("the density of water used in place of that {whose}"),
                convert(water),
            );
        }
    }

    fn rounding(&mut self) {
        let results = [
            (Results::All, "all intermediate results"),
            (Results::Masses, "masses"),
            (Results::Densities, "densities"),
            (Results::Compositions, "compositions"),
            (Results::Line, "intercept and slope"),
        ];
        for (which, name) in results {
            for to in To::all() {
                let change = Change::Rounded(which, to);
                self.add(MistakeKind::RoundedEarly, name, change);
            }
        }
    }

    /// Results of a solution on the way, which need not be claimed.
    fn altered(&mut self, solution: usize) {
        let solution = &self.from.reduction.solutions[solution];
        let mut results: Vec<(NodeId, String)> = Vec::new();
        let name = &solution.name;
        if let Preparation::MadeUp { mass, .. } | Preparation::ByMass { mass, .. } =
            solution.preparation
        {
            results.push((mass, format!("the mass of salt in {name}")));
        }
        if let Some(density) = &solution.density {
            let singles = density.replicates.iter();
            let singles = singles.filter(|single| single.density != density.density);
            let singles =
                singles.map(|one| (one.density, format!("the density from {}", one.entry)));
            results.extend(singles);
            results.push((density.density, format!("the density of {name}")));
        }
        for scale in [Scale::MassConcentration, Scale::MassPercent] {
            if let Some(id) = solution.composition.get(scale) {
                results.push((id, format!("the {} of {name}", scale.label())));
            }
        }
        for (id, what) in results {
            self.alter(Target::Quantity(id), what);
        }
    }

    /// Intercept and slope, which need not be claimed either.
    fn altered_line(&mut self) {
        if self.from.reduction.calibration.is_some() {
            self.alter(Target::Coefficient(0), "the intercept");
            self.alter(Target::Coefficient(1), "the slope");
        }
    }

    fn alter(&mut self, target: Target, what: impl Into<Rc<str>>) {
        let what: Rc<str> = what.into();
        for power in POWERS {
            let change = Change::Altered(target, Alteration::Times(power));
            self.add(MistakeKind::PowerOfTen, Rc::clone(&what), change);
        }
        for to in To::all() {
            let change = Change::Altered(target, Alteration::Rounded(to));
            self.add(MistakeKind::RoundedEarly, Rc::clone(&what), change);
        }
    }

    fn line(&mut self) {
        let Some(calibration) = &self.from.reduction.calibration else {
            return;
        };
        for (words, mistake) in [
            ("x and y exchanged in the fit", LineMistake::Fitted),
            ("x and y exchanged in reading the line", LineMistake::Read),
        ] {
            self.add(MistakeKind::AxesExchanged, words, Change::Line(mistake));
        }
        let others = Scale::ALL.into_iter();
        for scale in others.filter(|scale| *scale != calibration.against) {
            let words = format!("the line against {} used", scale.label());
            let change = Change::Line(LineMistake::Against(scale));
            self.add(MistakeKind::OtherLine, words, change);
        }
    }

    /// The result of another solution in place of that of a solution.
    fn of_another(&mut self, target: Target) {
        let solutions = &self.from.reduction.solutions;
        let density = |of: &SolutionResult| of.density.as_ref().map(|density| density.density);
        let Target::Quantity(id) = target else {
            return;
        };
        let has = |of: &SolutionResult| {
            density(of) == Some(id) || of.composition.all().any(|on| on == id)
        };
        let Some(own) = solutions.iter().find(|solution| has(solution)) else {
            return;
        };
        let on = Scale::ALL
            .into_iter()
            .find(|on| own.composition.get(*on) == Some(id));
        let others = solutions.iter().filter(|other| other.name != own.name);
        for other in others.take(MOST_SEARCHED) {
            let result = match on {
                Some(scale) => other.composition.get(scale),
                None => density(other),
            };
            if let Some(result) = result {
                let words = format!("the result of {} used", other.name);
                let change = Change::Is(Target::Quantity(result));
                self.add(MistakeKind::OtherSolution, words, change);
            }
        }
    }
}
