//! Results that somebody calculated by hand, judged step by step.
//!
//! Each claimed result is right if the readings lead to it within the digits written; right all the same if what was claimed
//! before leads to it, so that a mistake counts once; or it departs, and then the usual mistakes are made in numbers, and
//! all that lead to it are named. Nothing is called wrong that lies within what was rounded before, or within the
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

use crate::quantity::rounding::{printed, significant};
use crate::reduce::results::{Manner, Results};
use crate::reduce::{Preparation, Reduction, Target, Way, composition};
use crate::runfile::model::{Claim, Points, RunFile, Step};
use crate::worksheet::NodeId;
use award::Kind;
use digits::digits;
use mistakes::{Candidate, Mistakes};
use steps::{Given, Line, Steps};

/// The lines that a result may be read from.
const LINES: [Line; 2] = [Line::AsReduced, Line::Ordinary];
/// What is equal to the digits written may differ by so much of half a unit of the last place.
const ROUNDING: f64 = 1.0 + 1e-6;
/// Results that nobody claimed may have been rounded on the way: they move the last digit by one.
const LAST_DIGIT: f64 = 3.0;
/// No claimed result names more mistakes.
const MOST_NAMED: usize = 6;

/// How a claimed result is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judgement {
    /// The readings lead to it, within the digits written.
    Right,
    /// What was claimed before leads to it.
    CarriedOn,
    /// It departs from both by no more than its expanded uncertainty.
    WithinUncertainty,
    /// It departs by a mistake that was made in an earlier result as well.
    Repeated,
    /// It departs.
    Departs,
}

impl Judgement {
    /// By which other programs find it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::CarriedOn => "carried-on",
            Self::WithinUncertainty => "within-uncertainty",
            Self::Repeated => "repeated",
            Self::Departs => "departs",
        }
    }

    /// For people.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::CarriedOn => "right from what was claimed before",
            Self::WithinUncertainty => "agrees within its uncertainty",
            Self::Repeated => "the same mistake again",
            Self::Departs => "departs",
        }
    }

    /// Whether it earns its points: a mistake counts once.
    #[must_use]
    pub fn earns(self) -> bool {
        self != Self::Departs
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
    /// What it is of, such as `density of A`.
    pub step: String,
    /// Its entry in the run file.
    pub entry: String,
    /// As written, with its unit.
    pub claimed: String,
    /// Its value, in the unit of the result.
    pub value: f64,
    /// What the readings lead to, in that unit.
    pub from_readings: f64,
    /// As printed, with its unit.
    pub shown: String,
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
    #[serde(skip)]
    kind: Kind,
    /// All mistakes that lead to it.
    #[serde(skip)]
    fitting: Vec<Mistake>,
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
            awarded: Awarded::of(points, &self),
            ..self
        }
    }
}

/// A number of deliveries in words.
fn deliveries(count: usize) -> String {
    match count {
        1 => "1 delivery".to_owned(),
        n => format!("{n} deliveries"),
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
    fn of(reduction: &Reduction, claim: &'a Claim, target: Target) -> Self {
        let ws = &reduction.worksheet;
        let scaled = |base: f64| match &claim.of {
            Step::Composition(_, scale) => composition::in_unit(*scale, base),
            _ => base,
        };
        let (name, unit) = match target {
            Target::Quantity(id) => (name(reduction, claim, id), ws.node(id).unit),
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
        .map(|(claim, target)| Claimed::of(reduction, claim, *target))
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
        steps: Steps::of(reduction),
        claims,
        mistakes: OnceCell::new(),
        judged: Vec::new(),
    };
    for index in 0..judge.claims.len() {
        let judged = judge.one(index);
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
    /// Found when the first result departs.
    mistakes: OnceCell<Mistakes<'a>>,
    judged: Vec<Judged>,
}

impl Judge<'_> {
    fn one(&self, index: usize) -> Judged {
        let claimed = &self.claims[index];
        let (target, value, half) = (claimed.target, claimed.value, claimed.half);
        let leading = self.steps.leading_to(target);
        let nothing = Given::default();
        let by = |given: &Given| -> Vec<f64> {
            let values = LINES.iter();
            let values = values.filter_map(|line| self.steps.value(target, given, *line));
            values.collect()
        };
        let from_readings = by(&nothing);
        let before = self.before(index, &leading);
        let is_source = |i: &usize| {
            let judgement = self.judged[*i].judgement;
            !matches!(judgement, Judgement::Right | Judgement::CarriedOn)
        };
        let (sources, others): (Vec<usize>, Vec<usize>) = before.iter().partition(|i| is_source(i));
        let (all, departed) = (self.given(&before), self.given(&sources));
        let carried: Vec<f64> = by(&all).into_iter().chain(by(&departed)).collect();
        let first = from_readings.first().copied().unwrap_or(f64::NAN);
        let carried_on = || {
            let moved = by(&departed).first().is_some_and(|value| {
                !sources.is_empty() && (value - first).abs() > ROUNDING * half
            });
            if moved {
                Judgement::CarriedOn
            } else {
                Judgement::Right
            }
        };
        let slack = self.slack(target, &departed, &others);
        let near = |values: &[f64], room: f64| {
            let mut values = values.iter();
            values.any(|found| (found - value).abs() <= room)
        };
        let exact = ROUNDING * half;
        let uncertainty = self.expanded(target);
        let mut mistakes = Vec::new();
        let mut judgement = if near(&from_readings, exact) {
            Judgement::Right
        } else if near(&carried, exact) {
            carried_on()
        } else {
            let room = exact + slack;
            // Whoever makes one goes on from results as claimed, or from those of the readings.
            let mut given = vec![&nothing];
            given.extend((!sources.is_empty()).then_some(&departed));
            given.extend((!others.is_empty()).then_some(&all));
            mistakes = self.mistakes(index, &leading, &given, slack);
            let within = uncertainty.unwrap_or(0.0);
            if near(&from_readings, room) {
                Judgement::Right
            } else if !sources.is_empty() && near(&carried, room.max(within)) {
                Judgement::CarriedOn
            } else if near(&from_readings, within) {
                Judgement::WithinUncertainty
            } else {
                Judgement::Departs
            }
        };
        if judgement == Judgement::Departs {
            let earlier = self.judged.iter();
            let earlier = earlier.filter(|judged| judged.judgement == Judgement::Departs);
            let made: BTreeSet<&Mistake> = earlier.flat_map(|judged| &judged.fitting).collect();
            if mistakes.iter().any(|(_, mistake)| made.contains(mistake)) {
                judgement = Judgement::Repeated;
                mistakes.retain(|(_, mistake)| made.contains(mistake));
            }
        }
        self.state(index, (judgement, mistakes), first, uncertainty)
    }

    fn state(
        &self,
        index: usize,
        (judgement, mistakes): (Judgement, Vec<(f64, Mistake)>),
        from_readings: f64,
        uncertainty: Option<f64>,
    ) -> Judged {
        let claimed = &self.claims[index];
        let shown = match claimed.target {
            Target::Quantity(id) => {
                let rounded = uncertainty.and_then(|u| self.manner.round(id, from_readings, u));
                rounded.map(|rounded| rounded.value())
            }
            Target::Coefficient(_) => significant(from_readings, 5),
        };
        let shown = shown.unwrap_or_else(|| from_readings.to_string());
        let judged = Judged {
            step: claimed.name.clone(),
            entry: claimed.claim.value.entry.name.clone(),
            claimed: with_unit(
                &printed(&claimed.claim.value.value.number.text),
                claimed.claim.value.value.unit.symbol,
            ),
            value: claimed.value,
            from_readings,
            shown: with_unit(&shown, claimed.unit),
            difference_percent: 100.0 * (claimed.value - from_readings) / from_readings,
            judgement,
            mistakes: named(&mistakes),
            fitting: mistakes.into_iter().map(|(_, mistake)| mistake).collect(),
            digits: digits(claimed, self.reduction, self.manner, uncertainty),
            awarded: None,
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
    fn before(&self, index: usize, leading: &BTreeSet<NodeId>) -> Vec<usize> {
        let own = self.claims[index].target;
        let read = matches!(own, Target::Quantity(id) if self.steps.read_back(id).is_some());
        let leads = |i: &usize| match self.claims[*i].target {
            other if other == own => false,
            Target::Quantity(id) => leading.contains(&id),
            Target::Coefficient(_) => read,
        };
        (0..index).filter(leads).collect()
    }

    /// Results as claimed.
    fn given(&self, claims: &[usize]) -> Given {
        let mut given = Given::default();
        for index in claims {
            let claimed = &self.claims[*index];
            match claimed.target {
                Target::Quantity(id) => {
                    given.quantities.insert(id, claimed.value);
                }
                Target::Coefficient(power) => given.line[power] = Some(claimed.value),
            }
        }
        given
    }

    /// By how much the rounding of other results that were claimed before may move a step that rests on some as claimed.
    fn slack(&self, target: Target, given: &Given, others: &[usize]) -> f64 {
        let at = |given: &Given| {
            let mut lines = LINES.iter();
            lines.find_map(|line| self.steps.value(target, given, *line))
        };
        let Some(plain) = at(given) else {
            return 0.0;
        };
        let moved = others.iter().filter_map(|i| {
            let claimed = &self.claims[*i];
            let with = |value: f64| {
                let mut with = given.clone();
                match claimed.target {
                    Target::Quantity(id) => {
                        with.quantities.insert(id, value);
                    }
                    Target::Coefficient(power) => with.line[power] = Some(value),
                }
                at(&with)
            };
            let (own, more) = (with(claimed.value)?, with(claimed.value + claimed.half)?);
            Some((own - plain).abs().max((more - own).abs()))
        });
        moved.sum()
    }

    /// The mistakes that lead to a claimed result, each with what it leads to.
    fn mistakes(
        &self,
        index: usize,
        leading: &BTreeSet<NodeId>,
        given: &[&Given],
        slack: f64,
    ) -> Vec<(f64, Mistake)> {
        let (run, reduction) = (self.run, self.reduction);
        let all = self.mistakes.get_or_init(|| Mistakes::of(run, reduction));
        let claimed = &self.claims[index];
        let target = claimed.target;
        let others = all.of_another(target);
        let usual: Vec<f64> = given
            .iter()
            .flat_map(|given| {
                LINES
                    .iter()
                    .map(|line| self.steps.value(target, given, *line))
            })
            .flatten()
            .collect();
        let mut fitting: Vec<(bool, f64, &Mistake)> = Vec::new();
        let candidates = all.all.iter().chain(&others);
        for candidate in candidates.filter(|one| one.concerns(leading, reduction)) {
            let values = self.values(candidate, (target, leading), given);
            // What a mistake does not change is no sign of it.
            let changes = |value: &f64| usual.iter().all(|usual| !alike(*value, *usual));
            let away = |value: f64| (value - claimed.value).abs();
            let first = usual.first().copied().unwrap_or(f64::NAN);
            let room = |value: f64| {
                let larger = (value / first).abs().max(1.0);
                LAST_DIGIT * claimed.half
                    + if slack.is_finite() {
                        slack * larger
                    } else {
                        0.0
                    }
            };
            let nearest = values.into_iter().filter(changes);
            let nearest = nearest.min_by(|a, b| away(*a).total_cmp(&away(*b)));
            if let Some(value) = nearest.filter(|value| away(*value) <= room(*value)) {
                fitting.push((claimed.agrees(value), value, &candidate.mistake));
            }
        }
        let exactly = fitting.iter().any(|(exactly, ..)| *exactly);
        fitting.retain(|(is_exact, ..)| *is_exact || !exactly);
        // By kind; of a kind, those that concern least come first.
        fitting.sort_by_key(|(_, _, mistake)| mistake.kind);
        let named = fitting.into_iter();
        named
            .map(|(_, value, mistake)| (value, mistake.clone()))
            .collect()
    }

    /// What a step may become by a mistake.
    fn values(
        &self,
        candidate: &Candidate,
        step: (Target, &BTreeSet<NodeId>),
        given: &[&Given],
    ) -> Vec<f64> {
        let mut values = Vec::new();
        for given in given {
            for line in LINES {
                let value = candidate.value(&self.steps, self.reduction, step, given, line);
                values.extend(value.filter(|value| value.is_finite()));
            }
        }
        values
    }

    /// The expanded uncertainty of a step, in its unit; none where it is not known.
    fn expanded(&self, target: Target) -> Option<f64> {
        let id = match target {
            Target::Quantity(id) => id,
            Target::Coefficient(power) => {
                let calibration = self.reduction.calibration.as_ref()?;
                *calibration.coefficients.get(power)?
            }
        };
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
            let single = match solution.density.as_ref().map(|density| &density.way) {
                Some(Way::Pycnometer) => "filling",
                Some(Way::Read) => "reading",
                _ => "weighing",
            };
            format!("density of {}, {single} {number}", solution.name)
        }
        _ => reduction.worksheet.node(id).name.clone(),
    }
}

/// A number with its unit, if it has one.
fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}
