//! The solutions and how each came to be.

use super::apparatus::Bench;
use super::fields::{Fields, Value};
use super::found::Found;
use super::instrument::{Instrument, about, states, ware, written};
use super::model::{
    Aliquot, ApparatusKind, At, MadeUp, Origin, Ref, Solution, Weighed, WeighedReadings,
};
use super::register::Register;
use super::vocabulary::{Form, Key};
use super::words;
use crate::problem::{Place, Problem};

/// The solutions of the file.
pub(super) type Solutions = Register<Solution>;

const ORIGINS: &str =
    "pure: true; unknown: true; weighed and made_up; weighed and solvent; or aliquot and made_up";

pub(super) fn read(found: &mut Found, run: &Fields<'_>, bench: &Bench) -> Solutions {
    let named = run
        .value(&words::SOLUTIONS)
        .map(|section| section.named(found, "solutions"))
        .unwrap_or_default();
    let complete = run
        .value(&words::SOLUTIONS)
        .is_some_and(Value::has_all_names);
    let mut solutions = Solutions::new(
        named.iter().map(|(name, _)| name.clone()).collect(),
        complete,
    );
    for (name, value) in named {
        let solution = one(found, name, &value, bench, &solutions);
        solutions.items.push(solution);
    }
    solutions
}

/// A solution by its name at some entry.
pub(super) fn find(
    found: &mut Found,
    solutions: &Solutions,
    value: &Value<'_>,
    name: &At<String>,
) -> Option<Ref> {
    let index = solutions.find(&name.value);
    if index.is_none() && solutions.complete && solutions.names.is_empty() {
        // One cause, however often the solutions are named.
        found.add_once("no solutions".to_owned(), &name.entry.place, || {
            Problem::error(
                "unknown-solution",
                format!(
                    "{} names {}, and there are no solutions.",
                    value.name, name.value
                ),
            )
            .at(value.name.clone(), Some(name.entry.place.clone()))
            .read(name.value.as_str())
            .right("a name from the section solutions, which is missing or empty")
        });
    } else if index.is_none() && solutions.complete {
        found.add(|| {
            let problem = Problem::error(
                "unknown-solution",
                format!(
                    "{} names {}, which is not among the solutions.",
                    value.name, name.value
                ),
            )
            .at(value.name.clone(), Some(name.entry.place.clone()))
            .read(name.value.as_str());
            let none = "a name from the section solutions, which is missing or empty";
            solutions.suggest(problem, &name.value, none)
        });
    }
    Some(At {
        value: index?,
        entry: name.entry.clone(),
    })
}

fn one(
    found: &mut Found,
    name: At<String>,
    value: &Value<'_>,
    bench: &Bench,
    solutions: &Solutions,
) -> Option<Solution> {
    let fields = value.fields(found, &words::SOLUTION_KEYS)?;
    let note = fields.text(found, &words::NOTE).map(|text| text.value);
    let mixed = fields.account(found, &words::MIXED);
    let pure = fields.mark(found, &words::PURE);
    let unknown = fields.mark(found, &words::UNKNOWN);
    let has = |key: &Key<Form>| fields.has(key);
    let ways = (
        fields.has(&words::PURE),
        fields.has(&words::UNKNOWN),
        has(&words::WEIGHED),
        has(&words::SOLVENT),
        has(&words::ALIQUOT),
        has(&words::MADE_UP),
    );
    let salt = fields
        .value(&words::WEIGHED)
        .map(|part| weighed(found, part, bench));
    let water = fields
        .value(&words::SOLVENT)
        .map(|part| weighed(found, part, bench));
    let taken = fields
        .value(&words::ALIQUOT)
        .map(|part| aliquot(found, part, bench, solutions));
    let volume = fields
        .value(&words::MADE_UP)
        .map(|part| made_up(found, part, bench));
    let origin = match ways {
        (true, false, false, false, false, false) => pure.then_some(Origin::Pure),
        (false, true, false, false, false, false) => unknown.then_some(Origin::Unknown),
        (false, false, true, false, false, true) => Some(Origin::MadeUp {
            weighed: salt??,
            made_up: volume??,
        }),
        (false, false, true, true, false, false) => Some(Origin::ByMass {
            weighed: salt??,
            solvent: water??,
        }),
        (false, false, false, false, true, true) => Some(Origin::Dilution {
            aliquot: taken??,
            made_up: volume??,
        }),
        (pure, unknown, weighed, solvent, aliquot, made_up) => {
            let parts = [pure, unknown, weighed, solvent, aliquot, made_up]
                .iter()
                .filter(|part| **part)
                .count();
            found.add(|| {
                let given = fields.given_of_ways(&words::SOLUTION_KEYS);
                let name = &value.name;
                let problem = match given.as_slice() {
                    [(only, _)] if parts < 2 => Problem::error(
                        "origin-incomplete",
                        format!("{name} has only {only}, which does not say how it came to be."),
                    ),
                    _ if parts < 2 => Problem::error(
                        "origin-incomplete",
                        format!("{name} does not say how it came to be."),
                    ),
                    _ => Problem::error(
                        "two-origins",
                        format!("{name} is said to have come to be in more than one way."),
                    ),
                };
                let problem = problem
                    .at(name.clone(), value.key_place.clone())
                    .right(ORIGINS);
                with_places(problem, given)
            });
            None
        }
    };
    Some(Solution {
        name,
        origin: origin?,
        mixed,
        note,
    })
}

/// The same problem; where several keys contradict each other, with the place of each.
fn with_places(problem: Problem, given: Vec<(&'static str, Place)>) -> Problem {
    if given.len() < 2 {
        return problem;
    }
    given.into_iter().fold(problem, |problem, (key, place)| {
        problem.also(place, format!("{key} stands here"))
    })
}

fn weighed(found: &mut Found, value: &Value<'_>, bench: &Bench) -> Option<Weighed> {
    let fields = value.fields(found, &words::WEIGHED_KEYS)?;
    let named = bench.named(found, &fields, &words::BALANCE);
    let mass = fields.measure(found, &words::MASS);
    let before = fields.measure(found, &words::BEFORE);
    let after = fields.measure(found, &words::AFTER);
    let readings = match (
        fields.has(&words::MASS),
        fields.has(&words::BEFORE),
        fields.has(&words::AFTER),
    ) {
        (true, false, false) => WeighedReadings::Tared { mass: mass? },
        (false, true, true) => {
            let (before, after) = (before?, after?);
            if after.value.value >= before.value.value {
                found.add(|| {
                    about(
                        &after,
                        "nothing-taken",
                        format!("{} is not less than the reading before.", after.entry.name),
                    )
                    .right(format!("less than {}", written(&before)))
                    .also(before.entry.place.clone(), "the reading before")
                });
                return None;
            }
            WeighedReadings::Difference { before, after }
        }
        (mass, before, after) => {
            let (code, said) = match (mass, before, after) {
                (true, ..) => ("two-weighings", "is weighed in two ways"),
                (_, true, _) => ("weighing-incomplete", "has before, but no after"),
                (_, _, true) => ("weighing-incomplete", "has after, but no before"),
                _ => ("weighing-incomplete", "has no reading"),
            };
            found.add(|| {
                let problem = Problem::error(code, format!("{} {said}.", value.name))
                    .at(value.name.clone(), value.key_place.clone())
                    .right("before and after, or mass alone");
                with_places(problem, fields.given_of_ways(&words::WEIGHED_KEYS))
            });
            return None;
        }
    };
    let stated = match &readings {
        WeighedReadings::Tared { mass } => states(mass),
        WeighedReadings::Difference { before, after } => states(before) && states(after),
    };
    let balance = match named {
        Instrument::Named(balance) => Some(balance),
        Instrument::Unusable => None,
        Instrument::Unnamed => bench.only(found, ApparatusKind::Balance, stated, value),
    };
    Some(Weighed { readings, balance })
}

fn made_up(found: &mut Found, value: &Value<'_>, bench: &Bench) -> Option<MadeUp> {
    let fields = value.fields(found, &words::MADE_UP_KEYS)?;
    let named = bench.named(found, &fields, &words::IN);
    let rinsed = fields.count(found, &words::RINSED);
    let over_mark = fields.measure(found, &words::OVER_MARK);
    let to = fields.measure(found, &words::TO)?;
    let vessel = ware(found, named, states(&to), value, "in", bench).ok()?;
    if let Some(vessel) = &vessel {
        bench.check_volume(found, vessel, &to, false);
    }
    Some(MadeUp {
        to,
        vessel,
        rinsed,
        over_mark,
    })
}

fn aliquot(
    found: &mut Found,
    value: &Value<'_>,
    bench: &Bench,
    solutions: &Solutions,
) -> Option<Aliquot> {
    let fields = value.fields(found, &words::ALIQUOT_KEYS)?;
    let named = bench.named(found, &fields, &words::WITH);
    let rinsed = fields.count(found, &words::RINSED);
    let deliveries = fields.deliveries(found, &words::ALIQUOT_VOLUME);
    let of = fields
        .name(found, &words::OF)
        .and_then(|name| find(found, solutions, fields.value(&words::OF)?, &name));
    let deliveries = deliveries?;
    let with = ware(
        found,
        named,
        deliveries.iter().all(states),
        value,
        "with",
        bench,
    )
    .ok()?;
    if let Some(with) = &with {
        // A count of equal deliveries stands at one place: one problem is enough.
        let mut last = None;
        for delivery in &deliveries {
            if last != Some(&delivery.entry.place) {
                bench.check_volume(found, with, delivery, deliveries.len() == 1);
            }
            last = Some(&delivery.entry.place);
        }
    }
    Some(Aliquot {
        of: of?,
        deliveries,
        with,
        rinsed,
    })
}
