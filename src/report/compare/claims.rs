//! Claimed results of all benches: by step, and by bench.

use std::collections::BTreeMap;

use serde::Serialize;

use super::found::Row;
use crate::bench::claims::{Judged, Judgement, Mistake};
use crate::report::claims::{claimed, points, show_found};

/// The claimed results of the runs compared.
#[derive(Debug, Serialize)]
pub(super) struct ComparedClaimsShown {
    /// The steps, in the order of the calculation.
    steps: Vec<ClaimedStepShown>,
    /// The benches that claim anything.
    benches: Vec<ClaimingBenchShown>,
    /// Whether points are given.
    points: bool,
}

/// A step of the calculation.
#[derive(Debug, Serialize)]
pub(super) struct ClaimedStepShown {
    /// The claimed quantity, such as `density of A`.
    step: String,
    /// The number of benches that claim it.
    count: usize,
    /// The number that are correct, or agree within their uncertainty.
    correct: usize,
    /// The number that follow from an earlier mistake.
    forward: usize,
    /// The number that are incorrect.
    incorrect: usize,
    /// The mistakes that lead to the incorrect ones, the most frequent first.
    mistakes: Vec<String>,
}

/// A bench that claims results.
#[derive(Debug, Serialize)]
pub(super) struct ClaimingBenchShown {
    /// The bench.
    name: String,
    /// The number of results that it claims.
    count: usize,
    /// The number that are correct, or agree within their uncertainty.
    correct: usize,
    /// The number that follow from an earlier mistake.
    forward: usize,
    /// The number that are incorrect.
    incorrect: usize,
    /// The number with more or fewer digits than their uncertainty supports.
    digits: usize,
    /// Points earned out of those possible; empty if none are given.
    points: String,
    /// The incorrect results, with the claimed and the right value and the mistakes that lead to them.
    wrong: Vec<String>,
}

/// So many mistakes are named of a step.
const MOST_NAMED: usize = 3;

/// How claimed results are judged.
#[derive(Debug, Clone, Copy, Default)]
struct Counts {
    correct: usize,
    forward: usize,
    incorrect: usize,
}

impl Counts {
    fn new<'j>(all: impl Iterator<Item = &'j Judged>) -> Self {
        let mut counts = Self::default();
        for judged in all {
            *match judged.judgement {
                Judgement::Correct | Judgement::WithinUncertainty => &mut counts.correct,
                Judgement::CarriedForward | Judgement::Repeated => &mut counts.forward,
                Judgement::Incorrect => &mut counts.incorrect,
            } += 1;
        }
        counts
    }
}

/// Returns the claims of a row.
fn claims(row: &Row) -> &[Judged] {
    row.found.as_ref().map_or(&[], |found| &found.claims)
}

/// Returns the steps that any row claims, each once, in the order of the calculation as far as the rows tell it.
pub(super) fn steps(rows: &[Row]) -> Vec<&str> {
    let mut steps: Vec<&str> = Vec::new();
    for row in rows {
        let mut after = 0;
        for judged in claims(row) {
            let known = steps.iter().position(|step| *step == judged.step);
            if known.is_none() {
                steps.insert(after, &judged.step);
            }
            after = known.unwrap_or(after) + 1;
        }
    }
    steps
}

/// Returns what a row claims at a step.
pub(super) fn find_claim<'r>(row: &'r Row, step: &str) -> Option<&'r Judged> {
    claims(row).iter().find(|judged| judged.step == step)
}

/// Returns the claims of the runs; `None` if nothing is claimed.
pub(super) fn show(rows: &[Row]) -> Option<ComparedClaimsShown> {
    let steps = steps(rows);
    if steps.is_empty() {
        return None;
    }
    let claiming = rows.iter().filter(|row| !claims(row).is_empty());
    let benches: Vec<ClaimingBenchShown> = claiming.map(ClaimingBenchShown::new).collect();
    Some(ComparedClaimsShown {
        points: benches.iter().any(|bench| !bench.points.is_empty()),
        steps: steps
            .into_iter()
            .map(|step| ClaimedStepShown::new(step, rows))
            .collect(),
        benches,
    })
}

impl ClaimedStepShown {
    fn new(step: &str, rows: &[Row]) -> Self {
        let all: Vec<&Judged> = rows
            .iter()
            .filter_map(|row| find_claim(row, step))
            .collect();
        let counts = Counts::new(all.iter().copied());
        let wrong = all.iter().filter(|j| j.judgement == Judgement::Incorrect);
        let mut times: BTreeMap<&Mistake, usize> = BTreeMap::new();
        for mistake in wrong.flat_map(|judged| &judged.mistakes) {
            *times.entry(mistake).or_default() += 1;
        }
        let mut times: Vec<(&Mistake, usize)> = times.into_iter().collect();
        times.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let named = times.iter().take(MOST_NAMED);
        Self {
            step: step.to_owned(),
            count: all.len(),
            correct: counts.correct,
            forward: counts.forward,
            incorrect: counts.incorrect,
            mistakes: named
                .map(|(mistake, count)| match count {
                    1 => mistake.words.clone(),
                    count => format!("{} ({count} benches)", mistake.words),
                })
                .collect(),
        }
    }
}

impl ClaimingBenchShown {
    fn new(row: &Row) -> Self {
        let claims = claims(row);
        let counts = Counts::new(claims.iter());
        let wrong = claims.iter();
        let wrong = wrong.filter(|judged| judged.judgement == Judgement::Incorrect);
        Self {
            name: row.name.clone(),
            count: claims.len(),
            correct: counts.correct,
            forward: counts.forward,
            incorrect: counts.incorrect,
            digits: claims
                .iter()
                .filter(|judged| judged.has_other_digits())
                .count(),
            points: points(claims),
            wrong: wrong.map(in_words).collect(),
        }
    }
}

/// Returns an incorrect result in words.
fn in_words(judged: &Judged) -> String {
    let words: Vec<&str> = judged.mistakes.iter().map(|m| m.words.as_str()).collect();
    let led = match words.as_slice() {
        [] => "no usual mistake explains it".to_owned(),
        [one] => (*one).to_owned(),
        many => format!("one of: {}", many.join("; ")),
    };
    let (claimed, found) = (claimed(judged), show_found(judged));
    format!("{}, {claimed} instead of {found}: {led}", judged.step)
}
