//! Limits of the strengths of solutions, and the rule by which a result near a limit is decided.

use super::at::{Reading, Ref};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::model::{Limits, Rule};
use super::solutions::{Solutions, by_solution};
use super::tree::Content;
use super::words;
use crate::problem::{Code, Problem};

/// Returns the limits of the file.
pub(super) fn read(run: &Fields<'_>, solutions: &Solutions) -> Vec<Limits> {
    let section = run.value(&words::LIMITS);
    let all = by_solution(section, solutions, &words::LIMIT_KEYS, of_one);
    all.into_iter().flatten().collect()
}

fn of_one(solution: &Ref, fields: &Fields<'_>, _: &Value<'_>) -> Option<Vec<Limits>> {
    let rule = rule(fields);
    let keys = words::LIMITS_ON_SCALES.iter();
    let given: Vec<_> = keys.filter(|(key, _)| fields.has(*key)).collect();
    if given.is_empty() {
        let right =
            "`mass percent: 18.0 to 20.0 %`; or `mass concentration`, `molarity` or `molality`";
        fields
            .found
            .add(|| fields.missing(words::PERCENT_LIMITS.name, right.to_owned()));
    }
    let read = given.into_iter().map(|(key, scale)| {
        let [low, high] = fields.interval(key)?;
        let entry = fields.value(key)?.entry();
        let limits = Limits {
            solution: solution.clone(),
            scale: *scale,
            low,
            high,
            rule: rule.clone()?,
            entry,
        };
        are_sound(fields.found, &limits).then_some(limits)
    });
    read.collect()
}

/// Returns the decision rule; `None` if it could not be read.
fn rule(fields: &Fields<'_>) -> Option<Rule> {
    let Some(value) = fields.value(&words::RULE) else {
        return (!fields.has(&words::RULE)).then_some(Rule::Simple);
    };
    if let Content::Scalar { text, .. } = &value.node.content {
        match text.trim() {
            words::SIMPLE => return Some(Rule::Simple),
            words::GUARDED => return Some(Rule::Guarded),
            _ => {}
        }
    }
    let fields = value.fields(&words::RULE_KEYS)?;
    let (_, guard_band) = fields.strength(&words::GUARD_BAND)?;
    Some(Rule::GuardBand(guard_band))
}

/// Notes limits with uncertainties, and a guard band that has another unit or leaves no room.
fn are_sound(found: &Diagnostics, limits: &Limits) -> bool {
    let ends: Vec<&Reading> = [&limits.low, &limits.high].into_iter().flatten().collect();
    let stated = ends
        .iter()
        .find(|end| end.value.standard_uncertainty.is_some());
    if let Some(stated) = stated {
        let headline = format!("{} states the uncertainty of a limit.", stated.entry.name);
        found.add(|| {
            problem_at(stated, Code::LimitWithUncertainty, headline)
                .right("limits without ±; the result has the uncertainty")
        });
        return false;
    }
    let Rule::GuardBand(guard) = &limits.rule else {
        return true;
    };
    let other = |end: &&&Reading| end.value.unit.dimension != guard.value.unit.dimension;
    if let Some(end) = ends.iter().find(other) {
        let headline = format!("{} is not in the unit of the limits.", guard.entry.name);
        found.add(|| {
            problem_at(guard, Code::WrongDimension, headline)
                .right(format!("a guard band in {}", end.value.unit.symbol))
        });
        return false;
    }
    if let (Some(low), Some(high)) = (&limits.low, &limits.high)
        && low.value.value + guard.value.value >= high.value.value - guard.value.value
    {
        let headline = format!(
            "The guard band leaves no room between the limits of {}.",
            limits.entry.name
        );
        found.add(|| {
            problem_at(guard, Code::NoRoomBetweenLimits, headline)
                .right("a guard band of less than half the distance between the limits")
        });
        return false;
    }
    true
}

/// Returns a problem at a reading.
fn problem_at(reading: &Reading, code: Code, headline: String) -> Problem {
    code.error(headline).at_entry(&reading.entry).read(format!(
        "{} {}",
        reading.value.number.text, reading.value.unit.symbol
    ))
}
