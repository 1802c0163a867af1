//! Results that somebody calculated by hand, judged step by step.
//!
//! Each claimed result is correct if the readings lead to it within the digits written. An error carried forward counts
//! once: what follows from an earlier claimed result is accepted. If a result is wrong, the usual mistakes are made in
//! numbers, and all that lead to it are named. Nothing is called wrong that lies within what was rounded before, or within the
//! expanded uncertainty. Digits are judged apart.
//!
//! A line of density against composition may be the one of this reduction or the ordinary straight line, which is what a
//! person calculates by hand.

mod award;
mod digits;
mod made;
mod mistakes;
mod steps;

use std::cell::OnceCell;
use std::collections::BTreeSet;

use serde::{Serialize, Serializer};

pub use award::Awarded;
pub use digits::DigitsJudged;
pub use mistakes::{Mistake, MistakeKind};

use crate::bench::quantity::rounding::Rounded;
use crate::bench::quantity::{Quantity, ShownIn};
use crate::bench::reduce::results::{Manner, Results};
use crate::bench::reduce::{Preparation, Reduction, Target};
use crate::bench::runfile::model::{Claim, DensityMethod, Points, RunFile, Step};
use crate::bench::worksheet::NodeId;
use award::Kind;
use digits::digits;
use mistakes::{Change, Mistakes};
use steps::{Given, StepAt, Steps};

/// Half a unit of the last place, with room for rounding in the machine.
const ROUNDING: f64 = 1.0 + 1e-6;
/// Results that nobody claimed may have been rounded on the way: they move the last digit by one.
const LAST_DIGIT: f64 = 3.0;
/// No claimed result names more mistakes.
const MOST_NAMED: usize = 6;

/// How a claimed result is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judgement {
    /// The readings lead to it, within the digits written.
    Correct,
    /// What was claimed before leads to it.
    CarriedForward,
    /// It differs from both by no more than its expanded uncertainty.
    WithinUncertainty,
    /// It is wrong by a mistake that was made in an earlier result as well.
    Repeated,
    /// It is wrong.
    Incorrect,
}

impl Judgement {
    /// By which other programs find it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Correct => "correct",
            Self::CarriedForward => "carried-forward",
            Self::WithinUncertainty => "within-uncertainty",
            Self::Repeated => "repeated",
            Self::Incorrect => "incorrect",
        }
    }

    /// For people.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Correct => "correct",
            Self::CarriedForward => "follows from an earlier result",
            Self::WithinUncertainty => "agrees within its uncertainty",
            Self::Repeated => "the same mistake again",
            Self::Incorrect => "incorrect",
        }
    }

    /// Whether it earns its points: a mistake counts once.
    #[must_use]
    pub fn earns(self) -> bool {
        self != Self::Incorrect
    }
}

impl Serialize for Judgement {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

/// A claimed result, judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// The quantity, such as `density of A`.
    pub step: String,
    /// Its entry in the run file.
    pub entry: String,
    /// As written, with its unit.
    #[serde(serialize_with = "as_written")]
    pub claimed: Quantity,
    /// Its value, in the unit of the result.
    pub value: f64,
    /// What the readings lead to, in that unit.
    pub from_readings: f64,
    /// The same as printed, without its unit.
    pub shown: String,
    /// Its unit; empty for a slope.
    pub unit: &'static str,
    /// The difference from that in per cent of it.
    pub difference_percent: f64,
    /// How it is judged.
    pub judgement: Judgement,
    /// The mistakes that lead to it: one of them was made, or none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub mistakes: Vec<Mistake>,
    /// How its digits are judged; absent where it has no uncertainty to judge them by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub digits: Option<DigitsJudged>,
    /// What it earns, where points are given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub awarded: Option<Awarded>,
    /// The unit that the report shows it in.
    #[serde(skip)]
    pub shown_in: ShownIn,
    /// What the readings lead to, rounded; `None` if it is not finite.
    #[serde(skip)]
    pub rounded: Option<Rounded>,
    #[serde(skip)]
    kind: Kind,
}

impl Judged {
    /// Whether it is written with other digits than its uncertainty supports.
    #[must_use]
    pub fn has_other_digits(&self) -> bool {
        self.digits
            .is_some_and(|digits| digits != DigitsJudged::Adequate)
    }

    /// The same with other points.
    #[must_use]
    pub fn with_points(self, points: &Points) -> Self {
        Self {
            awarded: Awarded::new(points, &self),
            ..self
        }
    }
}

/// A claimed result beside the one of this reduction.
struct Claimed<'a> {
    claim: &'a Claim,
    target: Target,
    name: String,
    unit: &'static str,
    /// In that unit, with half of the last place written.
    value: f64,
    half: f64,
}

impl<'a> Claimed<'a> {
    fn new(reduction: &Reduction, claim: &'a Claim, target: Target) -> Self {
        let ws = &reduction.worksheet;
        let scaled = |base: f64| match &claim.of {
            Step::Composition(_, scale) => scale.in_unit(base),
            _ => base,
        };
        let (name, unit) = match target {
            Target::Quantity(id) => (name(reduction, claim, id), ws.node(id).unit.symbol),
            Target::Coefficient(0) => ("intercept".to_owned(), "g/mL"),
            Target::Coefficient(_) => ("slope".to_owned(), ""),
        };
        let quantity = &claim.value.value;
        Self {
            claim,
            target,
            name,
            unit,
            value: scaled(quantity.value),
            half: scaled(quantity.half_last_place()),
        }
    }

    fn agrees(&self, value: f64) -> bool {
        (self.value - value).abs() <= ROUNDING * self.half
    }
}

/// Judges the claimed results of a run, in the order in which they follow from each other.
#[must_use]
pub fn judge(run: &RunFile, reduction: &Reduction, results: &Results) -> Vec<Judged> {
    if run.claimed.is_empty() {
        return Vec::new();
    }
    let claims = run.claimed.iter().zip(&reduction.claimed);
    let mut claims: Vec<Claimed> = claims
        .map(|(claim, target)| Claimed::new(reduction, claim, *target))
        .collect();
    claims.sort_by_key(|claimed| match claimed.target {
        // What is read from a line comes after it.
        Target::Quantity(id) => {
            let after = reduction.calibration.as_ref();
            let after = after.and_then(|line| line.coefficients.last());
            (after.is_some_and(|last| id > *last), Some(id), 0)
        }
        Target::Coefficient(power) => (true, None, power),
    });
    let mut judge = Judge {
        run,
        reduction,
        manner: &results.manner,
        steps: Steps::new(reduction),
        claims,
        mistakes: OnceCell::new(),
        judged: Vec::new(),
        made: BTreeSet::new(),
    };
    for index in 0..judge.claims.len() {
        let (judged, mistakes) = judge.one(index);
        if judged.judgement == Judgement::Incorrect {
            judge.made.extend(mistakes);
        }
        judge.judged.push(judged);
    }
    judge.judged
}

struct Judge<'a> {
    run: &'a RunFile,
    reduction: &'a Reduction,
    manner: &'a Manner,
    steps: Steps<'a>,
    claims: Vec<Claimed<'a>>,
    /// Found when the first result is not right to the digit.
    mistakes: OnceCell<Mistakes<'a>>,
    judged: Vec<Judged>,
    /// All mistakes that lead to incorrect results.
    made: BTreeSet<Mistake>,
}

impl Judge<'_> {
    /// Judges a result; returns all mistakes that lead to it, too.
    fn one(&self, index: usize) -> (Judged, impl Iterator<Item = Mistake> + use<>) {
        let claimed = &self.claims[index];
        let step = self.steps.at(&claimed.claim.of, claimed.target);
        let before = self.before(index, &step);
        // An error carried forward begins where a result is neither right nor follows from those before.
        let begins = |i: &usize| {
            let judgement = self.judged[*i].judgement;
            !matches!(judgement, Judgement::Correct | Judgement::CarriedForward)
        };
        let (wrong, others): (Vec<usize>, Vec<usize>) = before.iter().partition(|i| begins(i));
        let (nothing, with_wrong, with_all) =
            (Given::default(), self.given(&wrong), self.given(&before));
        let from_readings = self.steps.values(claimed.target, &nothing);
        let from_wrong = self.steps.values(claimed.target, &with_wrong);
        let from_all = self.steps.values(claimed.target, &with_all);
        let near = |values: &[f64], room: f64| {
            let mut values = values.iter();
            values.any(|found| (found - claimed.value).abs() <= room)
        };
        let first = from_readings.first().copied().unwrap_or(f64::NAN);
        let exact = ROUNDING * claimed.half;
        let moved = from_wrong.first().copied().unwrap_or(first) - first;
        let uncertainty = self.expanded(claimed.target);
        let mut mistakes = Vec::new();
        let mut judgement = if near(&from_readings, exact) {
            Judgement::Correct
        } else if near(&from_wrong, exact) || near(&from_all, exact) {
            if moved.abs() > exact {
                Judgement::CarriedForward
            } else {
                Judgement::Correct
            }
        } else {
            let by_first_line =
                |given: &Given| self.steps.values(claimed.target, given).into_iter().next();
            let slack = self.slack(by_first_line, &with_wrong, &others);
            let room = exact + slack;
            let within = uncertainty.unwrap_or(0.0);
            // A mistake is made in what the readings give, or in what was claimed before.
            let mut given = vec![&nothing];
            given.extend((!wrong.is_empty()).then_some(&with_wrong));
            given.extend((!others.is_empty()).then_some(&with_all));
            mistakes = self.mistakes(claimed, &step, &given, (slack, &others));
            if near(&from_readings, room) {
                Judgement::Correct
            } else if !wrong.is_empty()
                && (near(&from_wrong, room.max(within)) || near(&from_all, room.max(within)))
            {
                Judgement::CarriedForward
            } else if near(&from_readings, within) {
                Judgement::WithinUncertainty
            } else {
                Judgement::Incorrect
            }
        };
        let again = |(_, mistake): &(f64, Mistake)| self.made.contains(mistake);
        if judgement == Judgement::Incorrect && mistakes.iter().any(again) {
            judgement = Judgement::Repeated;
            mistakes.retain(again);
        }
        let judged = self.state(claimed, (judgement, &mistakes), first, uncertainty);
        (judged, mistakes.into_iter().map(|(_, mistake)| mistake))
    }

    fn state(
        &self,
        claimed: &Claimed<'_>,
        (judgement, mistakes): (Judgement, &[(f64, Mistake)]),
        from_readings: f64,
        uncertainty: Option<f64>,
    ) -> Judged {
        let rounded = match claimed.target {
            Target::Quantity(id) => {
                uncertainty.and_then(|u| self.manner.round(id, from_readings, u))
            }
            Target::Coefficient(_) => Rounded::significant(from_readings, 5),
        };
        let shown = rounded.as_ref().map(|rounded| match claimed.target {
            Target::Quantity(_) => rounded.value(),
            Target::Coefficient(_) => rounded.to_string(),
        });
        let shown = shown.unwrap_or_else(|| from_readings.to_string());
        let judged = Judged {
            step: claimed.name.clone(),
            entry: claimed.claim.value.entry.name.clone(),
            claimed: claimed.claim.value.value.clone(),
            value: claimed.value,
            from_readings,
            shown,
            unit: claimed.unit,
            difference_percent: 100.0 * (claimed.value - from_readings) / from_readings,
            judgement,
            mistakes: named(mistakes),
            digits: digits(claimed, self.reduction, self.manner, uncertainty),
            awarded: None,
            shown_in: self.shown_in(claimed.target),
            rounded,
            kind: self.kind(claimed),
        };
        match &self.run.points {
            Some(points) => judged.with_points(points),
            None => judged,
        }
    }

    fn kind(&self, claimed: &Claimed<'_>) -> Kind {
        match &claimed.claim.of {
            Step::SaltMass(_) => Kind::SaltMass,
            Step::Density(_) | Step::SingleDensity(..) => Kind::Density,
            Step::Composition(of, scale) => match self.reduction.solutions[of.value].preparation {
                Preparation::Unknown => Kind::Unknown,
                _ => Kind::Composition(*scale),
            },
            Step::Intercept => Kind::Coefficient(0),
            Step::Slope => Kind::Coefficient(1),
        }
    }

    /// The results claimed before that a step rests on.
    fn before(&self, index: usize, step: &StepAt) -> Vec<usize> {
        let own = step.target;
        let read = matches!(own, Target::Quantity(id) if self.steps.read_back(id).is_some());
        let leads = |i: &usize| match self.claims[*i].target {
            other if other == own => false,
            Target::Quantity(id) => step.leading.contains(&id),
            Target::Coefficient(_) => read,
        };
        (0..index).filter(leads).collect()
    }

    /// Results as claimed.
    fn given(&self, claims: &[usize]) -> Given {
        let mut given = Given::default();
        for claimed in claims.iter().map(|index| &self.claims[*index]) {
            given.put(claimed.target, claimed.value);
        }
        given
    }

    /// By how much the rounding of other results that were claimed before may move one that is calculated from some as claimed.
    fn slack(&self, at: impl Fn(&Given) -> Option<f64>, given: &Given, others: &[usize]) -> f64 {
        let Some(plain) = at(given) else {
            return 0.0;
        };
        let moved = others.iter().filter_map(|index| {
            let claimed = &self.claims[*index];
            let with = |value: f64| {
                let mut with = given.clone();
                with.put(claimed.target, value);
                at(&with)
            };
            let (own, more) = (with(claimed.value)?, with(claimed.value + claimed.half)?);
            let moved = (own - plain).abs().max((more - own).abs());
            moved.is_finite().then_some(moved)
        });
        moved.sum()
    }

    /// The mistakes that lead to a claimed result, each with the value that it leads to.
    fn mistakes(
        &self,
        claimed: &Claimed<'_>,
        step: &StepAt,
        given: &[&Given],
        (slack, others): (f64, &[usize]),
    ) -> Vec<(f64, Mistake)> {
        let (run, reduction) = (self.run, self.reduction);
        let all = self.mistakes.get_or_init(|| Mistakes::new(run, reduction));
        let usual = given.iter();
        let usual = usual.flat_map(|given| self.steps.values(step.target, given));
        let usual: Vec<f64> = usual.collect();
        let first = usual.first().copied().unwrap_or(f64::NAN);
        let away = |value: f64| (value - claimed.value).abs();
        // Larger numbers were rounded by more.
        let room = |value: f64| LAST_DIGIT * claimed.half + slack * (value / first).abs().max(1.0);
        let mut fitting: Vec<(bool, f64, Mistake)> = Vec::new();
        for candidate in all.behind(step) {
            let leads_to = |given: &Given| candidate.values(&self.steps, reduction, step, given);
            let values = given.iter().flat_map(|given| {
                let by_line = leads_to(given).into_iter().enumerate();
                by_line.map(move |(line, value)| (value, *given, line))
            });
            // What a mistake does not change is no sign of it.
            let changes = |value: f64| usual.iter().all(|usual| !alike(value, *usual));
            let values = values.filter(|(value, ..)| value.is_finite() && changes(*value));
            let nearest = values.min_by(|(a, ..), (b, ..)| away(*a).total_cmp(&away(*b)));
            let fits = |(value, given, line): &(f64, &Given, usize)| {
                let by_line = |given: &Given| leads_to(given).get(*line).copied();
                // Rounding has another effect on a wrong line than on the right one.
                away(*value) <= room(*value)
                    || matches!(candidate.change, Change::Line(_))
                        && away(*value)
                            <= LAST_DIGIT * claimed.half + self.slack(by_line, given, others)
            };
            if let Some((value, ..)) = nearest.filter(fits) {
                fitting.push((claimed.agrees(value), value, candidate.mistake()));
            }
        }
        let exactly = fitting.iter().any(|(exactly, ..)| *exactly);
        fitting.retain(|(is_exact, ..)| *is_exact || !exactly);
        // By kind; of a kind, those that change least come first.
        fitting.sort_by_key(|(_, _, mistake)| mistake.kind);
        let named = fitting.into_iter();
        named.map(|(_, value, mistake)| (value, mistake)).collect()
    }

    /// Returns the unit that the report shows a step in.
    fn shown_in(&self, target: Target) -> ShownIn {
        let ws = &self.reduction.worksheet;
        let id = self.quantity(target);
        id.map_or(ws.density_unit.of_density(), |id| ws.shown_in(id))
    }

    fn quantity(&self, target: Target) -> Option<NodeId> {
        match target {
            Target::Quantity(id) => Some(id),
            Target::Coefficient(power) => {
                let calibration = self.reduction.calibration.as_ref()?;
                calibration.coefficients.get(power).copied()
            }
        }
    }

    /// The expanded uncertainty of a step, in its unit; `None` if it is not known.
    fn expanded(&self, target: Target) -> Option<f64> {
        let id = self.quantity(target)?;
        let stated = self.manner.state(&self.reduction.worksheet, id);
        Some(stated.expanded_uncertainty).filter(|u| u.is_finite() && *u > 0.0)
    }
}

/// Whether two results are the same but for rounding in the machine.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs()
}

/// Of some mistakes with what they lead to, those that are named: of those of a kind that lead to the same, the first.
fn named(mistakes: &[(f64, Mistake)]) -> Vec<Mistake> {
    let mut named: Vec<&(f64, Mistake)> = Vec::new();
    for (value, mistake) in mistakes {
        let same = |(other, known): &(f64, Mistake)| {
            known.kind == mistake.kind && (known.words == mistake.words || alike(*other, *value))
        };
        if !named.iter().any(|one| same(one)) {
            named.extend(mistakes.iter().find(|(_, one)| one == mistake));
        }
    }
    let named = named.into_iter().take(MOST_NAMED);
    named.map(|(_, mistake)| mistake.clone()).collect()
}

/// What a claimed quantity is called.
fn name(reduction: &Reduction, claim: &Claim, id: NodeId) -> String {
    match &claim.of {
        Step::SingleDensity(of, number) => {
            let solution = &reduction.solutions[of.value];
            let density = solution.density.as_ref();
            let method = density.map_or(DensityMethod::Weighings, |density| density.method);
            let single = method.single();
            format!("density of {}, {single} {number}", solution.name)
        }
        _ => reduction.worksheet.node(id).name.clone(),
    }
}

/// A quantity as it was written.
fn as_written<S: Serializer>(quantity: &Quantity, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(quantity.as_written().trim_end())
}
