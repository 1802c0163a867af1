//! Claimed results beside those of the readings, for templates.

use serde::Serialize;

use crate::bench::claims::{Judged, Judgement};
use crate::bench::quantity::rounding::{shift_point, signed, without_last_zeros};
use crate::bench::quantity::{Quantity, Unit, Written};

use super::Material;
use super::words::{decimals, with_unit, write_quantity};

/// The claimed results of a run.
#[derive(Debug, Serialize)]
pub(super) struct ClaimsShown {
    /// A summary of the judgements, in words.
    summary: String,
    /// Each of them.
    results: Vec<ClaimShown>,
    /// Points earned out of those possible, in words; empty if no points are given.
    points: String,
}

/// A claimed result.
#[derive(Debug, Serialize)]
pub(super) struct ClaimShown {
    /// The quantity, such as `density of A`.
    step: String,
    /// As written; a density or coefficient in the unit of the report.
    claimed: String,
    /// The result from the readings, with its unit.
    found: String,
    /// The difference in percent of that, with its sign.
    percent: String,
    /// The judgement, in words.
    judged: &'static str,
    /// Whether it is incorrect.
    incorrect: bool,
    /// Whether its digits are adequate, in words; empty if that cannot be judged.
    digits: &'static str,
    /// Points earned out of those possible; empty if no points are given.
    points: String,
    /// Mistakes that would lead to it, in words: one of them was made, or none.
    mistakes: Vec<String>,
}

/// Returns the claimed results of a run; `None` if nothing is claimed.
pub(super) fn show(material: &Material) -> Option<ClaimsShown> {
    let claims = material.claims;
    if claims.is_empty() {
        return None;
    }
    Some(ClaimsShown {
        summary: sentence(&summary(claims)),
        results: claims.iter().map(ClaimShown::new).collect(),
        points: points(claims),
    })
}

impl ClaimShown {
    fn new(judged: &Judged) -> Self {
        let awarded = judged.awarded.map(|a| of_points(a.points, a.of));
        Self {
            step: judged.step.clone(),
            claimed: in_unit(judged).unwrap_or_else(|| claimed(judged)),
            found: found_in(judged),
            percent: signed(judged.difference_percent),
            judged: judged.judgement.in_words(),
            incorrect: judged.judgement == Judgement::Incorrect,
            digits: judged.digits.map_or("", |digits| digits.in_words()),
            points: awarded.unwrap_or_default(),
            mistakes: judged.mistakes.iter().map(|m| m.words.clone()).collect(),
        }
    }
}

/// Returns a claimed result in the unit of the report, digit for digit; `None` if that is no other than it is written in.
fn in_unit(judged: &Judged) -> Option<String> {
    let (quantity, shown_in) = (&judged.claimed, judged.shown_in);
    let other =
        shown_in.power != 0 && [Unit::GRAM_PER_MILLILITRE, Unit::ONE].contains(quantity.unit);
    other.then(|| {
        let written = Quantity {
            number: Written {
                text: shift_point(quantity.number.text.clone(), shown_in.power),
                ..quantity.number.clone()
            },
            unit: shown_in.unit,
            ..quantity.clone()
        };
        write_quantity(&written)
    })
}

/// Returns the result from the readings in the unit of the report.
fn found_in(judged: &Judged) -> String {
    let shown_in = judged.shown_in;
    match &judged.rounded {
        Some(rounded) if shown_in.power != 0 => {
            let found = shown_in.rounded(rounded.clone()).value();
            with_unit(&found, shown_in.unit.symbol)
        }
        _ => show_found(judged),
    }
}

/// Returns a claimed result as written.
pub fn claimed(judged: &Judged) -> String {
    write_quantity(&judged.claimed)
}

/// Returns the result from the readings, with its unit.
pub fn show_found(judged: &Judged) -> String {
    with_unit(&judged.shown, judged.unit)
}

/// Returns how claimed results are judged together: `of 9 claimed results, 8 are correct, 1 is incorrect (density of
/// A)`.
pub fn summary(claims: &[Judged]) -> String {
    let incorrect = claims.iter();
    let incorrect = incorrect.filter(|judged| judged.judgement == Judgement::Incorrect);
    let incorrect: Vec<&str> = incorrect.map(|judged| judged.step.as_str()).collect();
    let count = |judgement| claims.iter().filter(|j| j.judgement == judgement).count();
    let forward = count(Judgement::CarriedForward) + count(Judgement::Repeated);
    let be = |count: usize| if count == 1 { "is" } else { "are" };
    let correct = claims.len() - incorrect.len() - forward;
    let mut parts = vec![format!("{correct} {} correct", be(correct))];
    if forward > 0 {
        let verb = if forward == 1 { "follows" } else { "follow" };
        parts.push(format!("{forward} {verb} from an earlier mistake"));
    }
    if !incorrect.is_empty() {
        let (count, named) = (incorrect.len(), incorrect.join(", "));
        parts.push(format!("{count} {} incorrect ({named})", be(count)));
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

/// Returns a text with a capital at its beginning.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(chars).collect()
}

/// Points earned out of those possible; empty if no points are given.
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
