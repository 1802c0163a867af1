//! The likeliest slip behind a density that is not what its preparation says.
//!
//! Every candidate is tried: the run is reduced as it would read without the slip, and only what brings the density
//! back to the published one, and puts no other off it, is named. Differences are judged by the uncertainties that the
//! densities have as they were read, so that a change that only makes replicates scatter explains nothing. Among those
//! left the likeliest is the one by which the sum of squares of differences over their standard uncertainties falls
//! most, with 2 ln N added for a kind of slip with N candidates: as when each of them is as likely as any other, and the
//! kinds are too. A fall that chance might make names nothing.

mod candidates;
mod excerpt;

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::runfile::model::{Origin, RunFile};
use candidates::{Candidate, Kind};
use excerpt::{Compared, Difference};

/// With more densities off than this the bench is, and slips are not to be told from it.
pub(super) const MOST_OFF: usize = 6;
/// By so much at least the sum of squares must fall: a slip is taken to be twenty times less likely than none.
const LEAST_FALL: f64 = 6.0;
/// A slip undone does not make replicates scatter: by more than this the uncertainty must not grow.
const MOST_GROWTH: f64 = 1.5;
/// So many of the solutions made from one are looked at with it.
const MOST_DESCENDANTS: usize = 8;
/// So many other solutions are tried as the one it was taken for.
const MOST_PARTNERS: usize = 24;

/// A slip that would explain a density.
#[derive(Debug, Clone)]
pub(super) struct Slip {
    /// What happened, to follow "as if ".
    pub(super) told: String,
    /// `E_n` of the density without it.
    pub(super) en: f64,
    /// `E_n` without it of each other density that was off and then agrees, with the solution's place in the run.
    pub(super) also: Vec<(usize, f64)>,
}

/// A slip to be tried.
struct Trial {
    candidate: Candidate,
    part: Rc<Part>,
}

/// A part of the run in which slips are tried.
struct Part {
    run: RunFile,
    /// The place in the whole run of each solution.
    kept: Vec<usize>,
    /// The solution, by its place in the excerpt.
    own: usize,
    /// Each density as the run was read.
    before: Vec<Compared>,
}

impl Part {
    fn of(run: &RunFile, kept: Vec<usize>, solution: usize) -> Option<Rc<Self>> {
        let part = excerpt::of(run, &kept);
        Some(Rc::new(Self {
            before: excerpt::compared(&part),
            own: kept.iter().position(|i| *i == solution)?,
            run: part,
            kept,
        }))
    }
}

/// The likeliest slip behind the density of a solution; none where nothing brings it back. `compared` tells of each
/// solution whether it has a published density, `not_only_swaps` whether slips of making and writing are to be tried beside
/// swaps.
pub(super) fn likeliest(
    run: &RunFile,
    solution: usize,
    compared: &[bool],
    not_only_swaps: bool,
) -> Option<Slip> {
    let mut trials: Vec<Trial> = Vec::new();
    let mut counts: BTreeMap<Kind, usize> = BTreeMap::new();
    let mut add = |part: &Rc<Part>, candidates: Vec<Candidate>| {
        for candidate in candidates {
            *counts.entry(candidate.kind).or_insert(0) += 1;
            trials.push(Trial {
                candidate,
                part: Rc::clone(part),
            });
        }
    };
    let family = family(run, solution);
    if not_only_swaps {
        let part = Part::of(run, family.clone(), solution)?;
        // What happened to a stock shows in what was taken from it.
        for maker in ancestry(run, solution) {
            let place = part.kept.iter().position(|i| *i == maker)?;
            add(&part, candidates::of(&part.run, place, maker == solution));
        }
    }
    let partners = (0..run.solutions.len()).filter(|&other| other != solution && compared[other]);
    for partner in partners.take(MOST_PARTNERS) {
        let mut kept = family.clone();
        kept.extend(ancestry(run, partner));
        kept.sort_unstable();
        kept.dedup();
        let other = kept.iter().position(|i| *i == partner)?;
        let part = Part::of(run, kept, solution)?;
        let swapped = candidates::swapped(&part.run, part.own, other);
        add(&part, vec![swapped]);
    }
    let mut best: Option<(Rank, Slip)> = None;
    for trial in trials {
        let kind = trial.candidate.kind;
        let Some((rank, slip)) = trial.judged(counts.get(&kind).copied().unwrap_or(1)) else {
            continue;
        };
        if best.as_ref().is_none_or(|(least, _)| rank.before(least)) {
            best = Some((rank, slip));
        }
    }
    best.map(|(_, slip)| slip)
}

/// How likely a slip is among others.
struct Rank {
    /// Solutions whose composition is still impossible without it.
    impossible: usize,
    /// Change of the sum of squares, with what the number of its kind takes from it.
    score: f64,
}

impl Rank {
    /// Whether it is the likelier of two.
    fn before(&self, other: &Self) -> bool {
        (self.impossible, self.score) < (other.impossible, other.score)
    }
}

impl Trial {
    /// The slip, where the run without it explains the density; `alike` is how many of its kind are tried.
    fn judged(self, alike: usize) -> Option<(Rank, Slip)> {
        let Self { candidate, part } = self;
        let after = excerpt::compared(&candidate.run);
        let pairs = || part.before.iter().zip(&after);
        // Over the uncertainty as it was read.
        let scaled = |before: &Difference, after: &Difference| after.value / before.expanded;
        let both = |before: &Compared, after: &Compared| before.known().zip(after.known());

        let (was, is) = both(&part.before[part.own], &after[part.own])?;
        let en = scaled(&was, &is);
        let scatters = pairs()
            .filter_map(|(before, after)| both(before, after))
            .any(|(before, after)| after.expanded > MOST_GROWTH * before.expanded);
        let spoilt = pairs().any(|(before, after)| {
            before.known().is_some_and(|before| {
                let now = after.known().map(|after| scaled(&before, &after).abs());
                before.agrees() && now.is_none_or(|en| en > 1.0)
            })
        });
        if en.abs() > 1.0 || scatters || spoilt {
            return None;
        }
        let change: f64 = pairs()
            .filter_map(|(before, after)| both(before, after))
            .map(|(before, after)| {
                (after.value.powi(2) - before.value.powi(2)) / before.standard.powi(2)
            })
            .sum();
        let score = change + 2.0 * (alike as f64).ln();
        if score >= -LEAST_FALL {
            return None;
        }
        let also = pairs()
            .zip(&part.kept)
            .filter_map(|((before, after), place)| {
                let (before, after) = both(before, after)?;
                let en = scaled(&before, &after);
                (!before.agrees() && en.abs() <= 1.0).then_some((*place, en))
            });
        let also = also
            .filter(|(place, _)| *place != part.kept[part.own])
            .collect();
        let impossible = after
            .iter()
            .filter(|c| matches!(c, Compared::Beyond))
            .count();
        let told = candidate.told;
        Some((Rank { impossible, score }, Slip { told, en, also }))
    }
}

/// A transposition that would explain why the weighings of a solution scatter.
pub(super) struct Transposed {
    /// What happened, to follow "as if ".
    pub(super) told: String,
    /// The density without it, g/mL.
    pub(super) density: f64,
}

/// The transposition of two digits without which the weighings of a solution scatter least, if they then scatter by no
/// more than `limit` explains (χ² of their standard deviation against the stated one).
pub(super) fn transposed(run: &RunFile, solution: usize, limit: f64) -> Option<Transposed> {
    let part = excerpt::of(run, &ancestry(run, solution));
    let own = ancestry(run, solution)
        .iter()
        .position(|i| *i == solution)?;
    let mut tried = Vec::new();
    candidates::weighed_digits(&part, own, &mut tried);
    let scatter = |run: &RunFile| {
        let reduction = crate::reduce::reduce_for_trial(run).ok()?;
        let density = reduction.solutions[own].density.as_ref()?;
        let (found, stated) = (density.standard_deviation?, density.stated_deviation?);
        let chi_squared = (density.used as f64 - 1.0) * (found / stated).powi(2);
        Some((chi_squared, reduction.worksheet.value(density.density)))
    };
    let (before, _) = scatter(&part)?;
    let alike = (tried.len().max(1) as f64).ln();
    let best = tried
        .into_iter()
        .filter_map(|candidate| Some((scatter(&candidate.run)?, candidate.told)))
        .min_by(|((a, _), _), ((b, _), _)| a.total_cmp(b));
    let ((chi_squared, density), told) = best?;
    let falls = chi_squared - before + 2.0 * alike < -LEAST_FALL;
    (chi_squared <= limit && falls).then_some(Transposed { told, density })
}

/// A solution, those it was taken from, and some of those that were taken from it: what happened to a stock shows in its
/// dilutions.
fn family(run: &RunFile, solution: usize) -> Vec<usize> {
    let mut all = ancestry(run, solution);
    let descendants = (0..run.solutions.len())
        .filter(|&other| other != solution && ancestry(run, other).contains(&solution));
    for descendant in descendants.take(MOST_DESCENDANTS) {
        all.extend(ancestry(run, descendant));
    }
    all.sort_unstable();
    all.dedup();
    all
}

/// A solution and those it was taken from, by rising place.
fn ancestry(run: &RunFile, solution: usize) -> Vec<usize> {
    let mut all = vec![solution];
    let mut last = solution;
    while let Origin::Dilution { aliquot, .. } = &run.solutions[last].origin {
        last = aliquot.of.value;
        // The reader of run files lets no ring through.
        all.push(last);
    }
    all.sort_unstable();
    all
}
