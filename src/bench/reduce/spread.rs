//! The standard deviation of one weighing, filling or reading: from which of them it is taken, and with what degrees of
//! freedom.
//!
//! Only what is of one kind is taken together: the same ware, balance and instrument at about the same volume. Unless the
//! run file chooses, the spreads of a kind are pooled where they are alike by Cochran's test ([`fit::cochran`]), since a
//! spread of one or two degrees of freedom is too poor an estimate to weigh a density by. A spread that is too large for its
//! kind keeps its solution to itself, and the others are tested again.
//!
//! A stated repeatability and a spread describe the same scatter, so they are combined and never added. One weighing alone
//! has the spread of others weighed in the same way, or else the stated repeatability, or else a customary one; with none,
//! 11 to 20 % of intervals meant for 95 % held the composition of an unknown weighed once. A stated repeatability is an
//! estimate too, of 8 degrees of freedom (JCGM 100:2008, G.4.2: reliable to 25 %): it and the spread are combined by their
//! degrees of freedom, unless the spread is larger by more than chance.
//!
//! With spreads of their own from two or three weighings, 86 to 92 % of the intervals of the generalised fit held the truth
//! where 95 % should: it takes its weights as known.

use std::collections::{BTreeMap, BTreeSet};

use crate::bench::fit::{self, SampleVariance, f_quantile, standard_deviation};
use crate::bench::runfile::model::{Ref, ReplicateSpread, RunFile, Weighings};
use crate::bench::worksheet::{Component, Estimate, Worksheet};

use super::one_empty::has_one_empty;

/// The probability with which like spreads are found unlike, and a stated repeatability that holds is found too small.
const LEVEL: f64 = 0.05;

/// Degrees of freedom of a stated repeatability: those of a standard uncertainty that is itself reliable to 25 % (JCGM
/// 100:2008, G.4.2, whose example this is). The ten readings by which a repeatability is customarily found give 9.
const STATED_DOF: f64 = 8.0;

/// What makes spreads comparable: balance or instrument, ware, and about how much it delivers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Weighings of a known volume.
    Weighings {
        /// Balance, ware, deliveries, and the class of their volume.
        each: Vec<(Option<usize>, Option<usize>, usize, i64)>,
        /// Whether one reading of the empty vessel serves all.
        one_empty: bool,
    },
    /// Fillings of the pycnometer.
    Fillings,
    /// Readings of instruments.
    Readings(Vec<Option<usize>>),
}

impl Kind {
    /// Returns the kind of the weighings of a solution that count, where those of some kinds are `seen` to scatter. One
    /// weighing alone is of either kind of vessel, best of those emptied and weighed each time.
    pub(super) fn among(weighings: &Weighings, seen: &BTreeSet<Self>) -> Self {
        let kind = Self::from_weighings(weighings);
        match kind {
            Self::Weighings { each, .. } if weighings.counted() == 1 => {
                let [every_time, once] = [false, true].map(|one_empty| Self::Weighings {
                    each: each.clone(),
                    one_empty,
                });
                if seen.contains(&once) && !seen.contains(&every_time) {
                    once
                } else {
                    every_time
                }
            }
            kind => kind,
        }
    }

    /// Returns whether the spread of the kind does not show that of the empty vessel.
    pub(super) fn has_one_empty(&self) -> bool {
        matches!(
            self,
            Self::Weighings {
                one_empty: true,
                ..
            }
        )
    }

    /// Returns the kind of the weighings of a solution that count.
    fn from_weighings(weighings: &Weighings) -> Self {
        let counted = weighings.replicates.iter().filter(|r| r.left_out.is_none());
        let mut each: Vec<_> = counted
            .map(|r| {
                // The scatter of a delivery goes with its size; classes of a factor of 2 part no usual capacity from
                // volumes near it.
                let volume: f64 = r.volumes.iter().map(|v| v.value.value).sum();
                let class = volume.log2().round() as i64;
                let of = |instrument: &Option<Ref>| instrument.as_ref().map(|i| i.value);
                (of(&r.balance), of(&r.pipette), r.volumes.len(), class)
            })
            .collect();
        each.sort_unstable();
        each.dedup();
        Self::Weighings {
            each,
            one_empty: has_one_empty(weighings),
        }
    }
}

/// Returns the kinds of weighings whose spread is seen in some that were done several times, and serves one alone as
/// well; none where the run file wants each solution's own.
pub(super) fn find_kinds(run: &RunFile) -> BTreeSet<Kind> {
    let pooled =
        run.densities.replicate_spread.as_ref().map(|at| at.value) != Some(ReplicateSpread::Own);
    let several = run
        .densities
        .weighings
        .iter()
        .filter(|w| pooled && w.counted() > 1);
    several.map(Kind::from_weighings).collect()
}

/// What was weighed, filled or read of one liquid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sample {
    pub(super) of: Liquid,
    pub(super) kind: Kind,
    /// Those that count, g/mL.
    pub(super) densities: Vec<f64>,
    /// Standard deviation of one of them as the instruments state it, g/mL, where all of them do.
    pub(super) stated: Option<f64>,
    /// Standard deviation of one of them by rounding alone, g/mL.
    pub(super) resolution: f64,
}

impl Sample {
    fn own(&self) -> OwnSpread {
        OwnSpread {
            of: self.of,
            standard_deviation: variance(&self.densities).sqrt(),
            dof: self.densities.len() - 1,
        }
    }
}

/// A liquid whose density was found several times, or is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Liquid {
    /// A solution, an index into the run's solutions.
    Solution(usize),
    /// The water that calibrates the pycnometer.
    Water,
}

/// What became of the repeatability that the instruments state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StatedSpread {
    /// Not all of them state one.
    None,
    /// It is combined with the spread found; standard deviation, g/mL.
    Combined(f64),
    /// The spread found exceeds it by more than chance and is taken alone; standard deviation, g/mL.
    Exceeded(f64),
}

/// Why a spread rests on the liquids that it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grounds {
    /// The run file wants it so.
    Chosen,
    /// No other liquid of the kind was measured several times.
    Alone,
    /// The spreads are alike by Cochran's test.
    Alike,
    /// It is larger than those of its kind by more than chance.
    Unlike,
    /// Nothing of the kind was measured several times: the repeatability that the run file states.
    Stated,
    /// Nothing of the kind was measured several times and no repeatability is stated: a customary one.
    Customary,
}

/// Cochran's test of several spreads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cochran {
    /// The liquid of the largest spread.
    pub largest: Liquid,
    /// Its variance over the pooled variance of the others.
    pub ratio: f64,
    /// The ratio that is exceeded by chance once in twenty times.
    pub limit: f64,
    /// Probability of such a ratio or a larger one by chance.
    pub p_value: f64,
}

/// The spread that one liquid shows by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnSpread {
    /// The liquid.
    pub of: Liquid,
    /// g/mL.
    pub standard_deviation: f64,
    /// Degrees of freedom.
    pub dof: usize,
}

/// An estimate of the standard deviation of one weighing, filling or reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// The estimate, g/mL.
    pub standard_deviation: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// Standard deviation as found, g/mL: the root of Σ ν s² / Σ ν.
    pub observed: f64,
    /// Σ ν.
    pub observed_dof: usize,
    /// What the instruments state.
    pub stated: StatedSpread,
    /// The spreads that it rests on.
    pub from: Vec<OwnSpread>,
    /// Those whose densities rest on it.
    pub serves: Vec<Liquid>,
    /// Why these.
    pub grounds: Grounds,
    /// How alike the spreads of their kind are, where there are several.
    pub test: Option<Cochran>,
    estimate: Option<Estimate>,
}

impl Spread {
    /// Returns the error of a mean of `count` (type A).
    pub(super) fn component(&self, count: usize) -> Component {
        let standard = self.standard_deviation / (count as f64).sqrt();
        let component = Component::sampled(self.cause(), standard, self.dof);
        match self.estimate {
            Some(estimate) => component.with_estimate(estimate),
            None => component,
        }
    }

    /// Returns a standard deviation that is not found here, g/mL.
    pub(super) fn known(standard_deviation: f64, serves: Vec<Liquid>, grounds: Grounds) -> Self {
        Self {
            standard_deviation,
            dof: f64::INFINITY,
            observed: f64::NAN,
            observed_dof: 0,
            stated: StatedSpread::None,
            from: Vec::new(),
            serves,
            grounds,
            test: None,
            estimate: None,
        }
    }

    fn cause(&self) -> &'static str {
        match self.from.len() {
            0 | 1 => "repeatability",
            _ => "pooled repeatability",
        }
    }

    /// From some samples for some liquids.
    fn new(
        ws: &mut Worksheet,
        from: &[&Sample],
        serves: Vec<Liquid>,
        grounds: Grounds,
        test: Option<Cochran>,
    ) -> Self {
        let (squares, observed_dof) = from.iter().fold((0.0, 0), |(squares, dof), sample| {
            let nu = sample.densities.len() - 1;
            (squares + nu as f64 * variance(&sample.densities), dof + nu)
        });
        let nu = observed_dof as f64;
        let observed = squares / nu;
        let stated = from
            .iter()
            .map(|sample| sample.stated.map(|sd| sd * sd))
            .sum::<Option<f64>>()
            .map(|sum| sum / from.len() as f64)
            .filter(|variance| *variance > 0.0);
        let (variance, dof, stated) = match stated {
            None => (observed, nu, StatedSpread::None),
            Some(known) if observed > known * f_quantile(1.0 - LEVEL, nu, STATED_DOF) => {
                (observed, nu, StatedSpread::Exceeded(known.sqrt()))
            }
            Some(known) => (
                (squares + STATED_DOF * known) / (nu + STATED_DOF),
                nu + STATED_DOF,
                StatedSpread::Combined(known.sqrt()),
            ),
        };
        Self {
            standard_deviation: variance.sqrt(),
            dof,
            observed: observed.sqrt(),
            observed_dof,
            stated,
            from: from.iter().map(|sample| sample.own()).collect(),
            estimate: (serves.len() > 1).then(|| ws.estimate()),
            serves,
            grounds,
            test,
        }
    }
}

/// Returns the spreads of all samples, as the run file wants them or as they are alike.
pub(super) fn spreads(
    ws: &mut Worksheet,
    wanted: Option<ReplicateSpread>,
    samples: &[Sample],
) -> Vec<Spread> {
    let mut kinds: BTreeMap<&Kind, Vec<&Sample>> = BTreeMap::new();
    for sample in samples {
        kinds.entry(&sample.kind).or_default().push(sample);
    }
    let mut found = Vec::new();
    for (_, samples) in kinds {
        let several = samples.iter().filter(|s| s.densities.len() > 1);
        let mut several: Vec<&Sample> = several.copied().collect();
        let once = samples.iter().filter(|s| s.densities.len() == 1);
        let once = once.map(|s| s.of);
        if several.is_empty() {
            continue;
        }
        let own = |ws: &mut Worksheet, sample: &Sample, grounds, test| {
            Spread::new(ws, &[sample], vec![sample.of], grounds, test)
        };
        if wanted == Some(ReplicateSpread::Own) {
            found.extend(several.iter().map(|s| own(ws, s, Grounds::Chosen, None)));
            continue;
        }
        let mut test = cochran(&several);
        while let (None, Some(refused)) = (wanted, test.filter(|test| test.ratio > test.limit)) {
            let at = several.iter().position(|s| s.of == refused.largest);
            let unlike = several.remove(at.unwrap_or_default());
            found.push(own(ws, unlike, Grounds::Unlike, test));
            test = cochran(&several);
        }
        let grounds = match (wanted, several.len()) {
            (Some(_), _) => Grounds::Chosen,
            (None, 1) => Grounds::Alone,
            (None, _) => Grounds::Alike,
        };
        let serves = several.iter().map(|s| s.of).chain(once).collect();
        found.push(Spread::new(ws, &several, serves, grounds, test));
    }
    found.sort_by(|a, b| a.serves.cmp(&b.serves));
    found
}

/// Tests whether several spreads differ (Cochran); `None` for fewer than two. A spread smaller than that of rounding is
/// replaced by it, as equal readings do not show that there is no scatter.
fn cochran(samples: &[&Sample]) -> Option<Cochran> {
    let variances: Vec<SampleVariance> = samples
        .iter()
        .map(|s| SampleVariance {
            variance: variance(&s.densities).max(s.resolution.powi(2)),
            dof: s.densities.len() as f64 - 1.0,
        })
        .collect();
    let found = fit::cochran(&variances)?;
    let level = LEVEL / samples.len() as f64;
    Some(Cochran {
        largest: samples[found.index].of,
        ratio: found.ratio,
        limit: f_quantile(1.0 - level, found.dof, found.others_dof),
        p_value: found.p_value,
    })
}

/// Sample variance (n − 1).
fn variance(values: &[f64]) -> f64 {
    standard_deviation(values).powi(2)
}
