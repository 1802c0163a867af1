//! Claimed results beside those of the readings, for templates.

use serde::Serialize;

use crate::claims::{Judged, Judgement};
use crate::quantity::rounding::{signed, without_last_zeros};

use super::Material;
use super::words::decimals;

/// The claimed results of a run.
#[derive(Debug, Serialize)]
pub(super) struct ClaimsShown {
    /// How they are judged together, in words.
    summary: String,
    /// Each of them.
    results: Vec<ClaimShown>,
    /// Points earned, and those that could be, in words; empty where no points are given.
    points: String,
}

/// A claimed result.
#[derive(Debug, Serialize)]
pub(super) struct ClaimShown {
    /// What it is of, such as `density of A`.
    step: String,
    /// As written.
    claimed: String,
    /// What the readings lead to, with its unit.
    found: String,
    /// The difference in per cent of that, with its sign.
    percent: String,
    /// How it is judged, in words.
    judged: &'static str,
    /// Whether it departs.
    departs: bool,
    /// Whether its digits are adequate, in words; empty where nothing tells.
    digits: &'static str,
    /// Points earned of those that could be; empty where no points are given.
    points: String,
    /// The mistakes that lead to it, in words: one of them was made, or none.
    mistakes: Vec<String>,
}

/// The claimed results of a run; none where nothing is claimed.
pub(super) fn shown(material: &Material) -> Option<ClaimsShown> {
    let claims = material.claims;
    if claims.is_empty() {
        return None;
    }
    Some(ClaimsShown {
        summary: sentence(&summary(claims)),
        results: claims.iter().map(ClaimShown::of).collect(),
        points: points(claims),
    })
}

impl ClaimShown {
    fn of(judged: &Judged) -> Self {
        let awarded = judged.awarded.map(|a| of_points(a.points, a.of));
        Self {
            step: judged.step.clone(),
            claimed: judged.claimed.clone(),
            found: judged.shown.clone(),
            percent: signed(judged.difference_percent),
            judged: judged.judgement.in_words(),
            departs: judged.judgement == Judgement::Departs,
            digits: judged.digits.map_or("", |digits| digits.in_words()),
            points: awarded.unwrap_or_default(),
            mistakes: judged.mistakes.iter().map(|m| m.words.clone()).collect(),
        }
    }
}

/// How claimed results are judged together: `of 9 claimed results, 8 are right and 1 departs (density of A)`.
pub fn summary(claims: &[Judged]) -> String {
    let departing: Vec<&str> = claims
        .iter()
        .filter(|judged| judged.judgement == Judgement::Departs)
        .map(|judged| judged.step.as_str())
        .collect();
    let count = |judgement| claims.iter().filter(|j| j.judgement == judgement).count();
    let carried = count(Judgement::CarriedOn) + count(Judgement::Repeated);
    let mut parts = Vec::new();
    let right = claims.len() - departing.len() - carried;
    parts.push(format!(
        "{right} {} right",
        if right == 1 { "is" } else { "are" }
    ));
    if carried > 0 {
        let verb = if carried == 1 { "follows" } else { "follow" };
        parts.push(format!("{carried} {verb} from a mistake before"));
    }
    if !departing.is_empty() {
        let verb = if departing.len() == 1 {
            "departs"
        } else {
            "depart"
        };
        parts.push(format!(
            "{} {verb} ({})",
            departing.len(),
            departing.join(", ")
        ));
    }
    let results = if claims.len() == 1 {
        "result"
    } else {
        "results"
    };
    format!(
        "of {} claimed {results}, {}",
        claims.len(),
        parts.join(", ")
    )
}

/// A text with a capital at its beginning.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(chars).collect()
}

/// Points earned of those that could be; empty where no points are given.
pub fn points(claims: &[Judged]) -> String {
    let awarded: Vec<_> = claims.iter().filter_map(|judged| judged.awarded).collect();
    if awarded.is_empty() {
        return String::new();
    }
    let earned = awarded.iter().map(|a| a.points).sum();
    of_points(earned, awarded.iter().map(|a| a.of).sum())
}

fn of_points(earned: f64, of: f64) -> String {
    let plain = |points: f64| without_last_zeros(&decimals(points, 2)).to_owned();
    format!("{} of {}", plain(earned), plain(of))
}
