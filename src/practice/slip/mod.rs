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
use excerpt::Difference;

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
pub(super) struct Slip {
    /// What happened, to follow "as if ".
    pub(super) told: String,
    /// `E_n` of the density without it.
    pub(super) en: f64,
}

/// A slip to be tried.
struct Trial {
    candidate: Candidate,
    /// The solution, by its place in the excerpt.
    own: usize,
    /// The differences as the run was read.
    before: Rc<[Option<Difference>]>,
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
    let family = family(run, solution);
    let mut trials: Vec<Trial> = Vec::new();
    let mut counts: BTreeMap<Kind, usize> = BTreeMap::new();
    let mut add = |part: &RunFile, own: usize, candidates: Vec<Candidate>| {
        let before: Rc<[Option<Difference>]> = excerpt::differences(part).into();
        for candidate in candidates {
            *counts.entry(candidate.kind).or_insert(0) += 1;
            let before = Rc::clone(&before);
            trials.push(Trial {
                candidate,
                own,
                before,
            });
        }
    };
    if not_only_swaps {
        let part = excerpt::of(run, &family);
        let own = family.iter().position(|i| *i == solution)?;
        add(&part, own, candidates::of(&part, own));
    }
    let partners = (0..run.solutions.len()).filter(|&other| other != solution && compared[other]);
    for partner in partners.take(MOST_PARTNERS) {
        let mut kept = family.clone();
        kept.extend(ancestry(run, partner));
        kept.sort_unstable();
        kept.dedup();
        let place = |of: usize| kept.iter().position(|i| *i == of);
        let (own, other) = (place(solution)?, place(partner)?);
        let part = excerpt::of(run, &kept);
        add(&part, own, vec![candidates::swapped(&part, own, other)]);
    }
    let mut best: Option<(f64, Slip)> = None;
    for trial in trials {
        let Trial {
            candidate,
            own,
            before,
        } = trial;
        let after = excerpt::differences(&candidate.run);
        let pairs = || before.iter().zip(&after);
        // Over the uncertainty as it was read.
        let scaled = |before: &Difference, after: &Difference| after.value / before.expanded;
        let Some((was, is)) = before[own].zip(after[own]) else {
            continue;
        };
        let en = scaled(&was, &is);
        let scatters = pairs().any(|(before, after)| {
            let both = before.as_ref().zip(after.as_ref());
            both.is_some_and(|(before, after)| after.expanded > MOST_GROWTH * before.expanded)
        });
        let spoilt = pairs().any(|(before, after)| {
            before.as_ref().is_some_and(|before| {
                let now = after.as_ref().map(|after| scaled(before, after).abs());
                before.value.abs() <= before.expanded && now.is_none_or(|en| en > 1.0)
            })
        });
        if en.abs() > 1.0 || scatters || spoilt {
            continue;
        }
        let change: f64 = pairs()
            .filter_map(|(before, after)| before.as_ref().zip(after.as_ref()))
            .map(|(before, after)| {
                (after.value.powi(2) - before.value.powi(2)) / before.standard.powi(2)
            })
            .sum();
        let kinds = counts.get(&candidate.kind).copied().unwrap_or(1);
        let score = change + 2.0 * (kinds as f64).ln();
        if score < -LEAST_FALL && best.as_ref().is_none_or(|(least, _)| score < *least) {
            let told = candidate.told;
            best = Some((score, Slip { told, en }));
        }
    }
    best.map(|(_, slip)| slip)
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
