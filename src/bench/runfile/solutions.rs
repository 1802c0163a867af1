//! The solutions and how each came to be.

use super::apparatus::Bench;
use super::conditions::Surroundings;
use super::fields::{Fields, Value};
use super::instrument::{about, states, ware, write_reading};
use super::model::{
    Aliquot, At, Delivered, MadeUp, Origin, Reading, Ref, Solution, Solvent, Weighed,
    WeighedReadings,
};
use super::name_table::NameTable;
use super::vocabulary::{Deliveries, Form, Key, Section};
use super::words;
use crate::problem::{Code, Problem, Span};

/// The solutions of the file.
pub(super) type Solutions = NameTable<Solution>;

const ORIGINS: &str = "`pure: true`; `unknown: true`; `weighed` and `made_up`; `weighed` and `solvent`; or `aliquot` and `made_up`";

pub(super) fn read(run: &Fields<'_>, bench: &Bench, conditions: &Surroundings) -> Solutions {
    let named = run
        .value(&words::SOLUTIONS)
        .map(|section| section.read_named("solutions"))
        .unwrap_or_default();
    let complete = run
        .value(&words::SOLUTIONS)
        .is_some_and(Value::has_all_names);
    let mut solutions = Solutions::new(
        named.iter().map(|(name, _)| name.clone()).collect(),
        complete,
    );
    for (name, value) in named {
        let solution = read_one(name, &value, (bench, conditions), &solutions);
        solutions.items.push(solution);
    }
    solutions
}

/// Returns a solution by its name at some entry.
pub(super) fn find(solutions: &Solutions, value: &Value<'_>, name: &At<String>) -> Option<Ref> {
    let index = solutions.find(&name.value);
    if index.is_none() && solutions.complete && solutions.names.is_empty() {
        // One cause, however often the solutions are named.
        value
            .found
            .add_once("no solutions".to_owned(), &name.entry.span, || {
                Code::UnknownSolution
                    .error(format!(
                        "{} names {}, and there are no solutions.",
                        value.name, name.value
                    ))
                    .at(value.name.clone(), Some(name.entry.span.clone()))
                    .read(name.value.as_str())
                    .right("a name from the section solutions, which is missing or empty")
            });
    } else if index.is_none() && solutions.complete {
        value.found.add(|| {
            let problem = Code::UnknownSolution
                .error(format!(
                    "{} names {}, which is not among the solutions.",
                    value.name, name.value
                ))
                .at(value.name.clone(), Some(name.entry.span.clone()))
                .read(name.value.as_str());
            let none = "a name from the section solutions, which is missing or empty";
            solutions.suggest(problem, &name.value, none)
        });
    }
    Some(At::new(index?, name.entry.clone()))
}

/// Returns a section by the names of solutions, each of whose sections `one` reads.
pub(super) fn by_solution<T>(
    section: Option<&Value<'_>>,
    solutions: &Solutions,
    keys: &'static Section,
    one: impl Fn(&Ref, &Fields<'_>, &Value<'_>) -> Option<T>,
) -> Vec<T> {
    let named = section.map(|section| section.read_named("solutions"));
    let read = named.into_iter().flatten().filter_map(|(name, value)| {
        let solution = find(solutions, &value, &name);
        let fields = value.fields(keys)?;
        one(&solution?, &fields, &value)
    });
    read.collect()
}

fn read_one(
    name: At<String>,
    value: &Value<'_>,
    (bench, conditions): (&Bench, &Surroundings),
    solutions: &Solutions,
) -> Option<Solution> {
    let fields = value.fields(&words::SOLUTION_KEYS)?;
    let note = fields.text(&words::NOTE).map(|text| text.value);
    let mixed = fields.explanation(&words::MIXED);
    let pure = fields.mark(&words::PURE);
    let unknown = fields.mark(&words::UNKNOWN);
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
        .map(|part| weighed(part, bench));
    let water = fields
        .value(&words::SOLVENT)
        .map(|part| solvent(part, bench, conditions));
    let taken = fields
        .value(&words::ALIQUOT)
        .map(|part| aliquot(part, bench, solutions));
    let volume = fields
        .value(&words::MADE_UP)
        .map(|part| made_up(part, bench));
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
            value.found.add(|| {
                let given = fields.given_of_ways(&words::SOLUTION_KEYS);
                let name = &value.name;
                let problem = match given.as_slice() {
                    [(only, _)] if parts < 2 => Code::OriginIncomplete.error(format!(
                        "The preparation of {name} is incomplete: it has only `{only}`."
                    )),
                    _ if parts < 2 => Code::OriginIncomplete
                        .error(format!("The preparation of {name} is not stated.")),
                    _ => {
                        Code::TwoOrigins.error(format!("{name} is prepared in more than one way."))
                    }
                };
                let problem = problem
                    .at(name.clone(), value.key_span.clone())
                    .right(ORIGINS);
                with_spans(problem, given)
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

/// Returns the same problem; where several keys contradict each other, with the span of each.
fn with_spans(problem: Problem, given: Vec<(&'static str, Span)>) -> Problem {
    if given.len() < 2 {
        return problem;
    }
    given.into_iter().fold(problem, |problem, (key, span)| {
        problem.also(span, format!("`{key}` is here"))
    })
}

fn weighed(value: &Value<'_>, bench: &Bench) -> Option<Weighed> {
    let fields = value.fields(&words::WEIGHED_KEYS)?;
    weighing(value, &fields, &words::WEIGHED_KEYS, bench)
}

/// Returns the water, weighed or measured out.
fn solvent(value: &Value<'_>, bench: &Bench, conditions: &Surroundings) -> Option<Solvent> {
    let fields = value.fields(&words::SOLVENT_KEYS)?;
    let measured = fields.has(&words::WATER_VOLUME);
    let weighed =
        fields.has(&words::MASS) || fields.has(&words::BEFORE) || fields.has(&words::AFTER);
    if measured && weighed {
        value.found.add(|| {
            let problem = Code::TwoWeighings.error(format!(
                "{} is both weighed and measured by volume.",
                value.name
            ));
            let problem = problem
                .at(value.name.clone(), value.key_span.clone())
                .right("`volume`, or a weighing");
            with_spans(problem, fields.given_of_ways(&words::SOLVENT_KEYS))
        });
        return None;
    }
    if !measured {
        return weighing(value, &fields, &words::SOLVENT_KEYS, bench)
            .map(|weighed| Solvent::Weighed(Box::new(weighed)));
    }
    // Its mass follows from its density.
    let right = "conditions: {liquid: 20.6 °C}";
    conditions.temperature(value, &value.node.span, "water", right);
    let (deliveries, with) = delivered(value, &fields, &words::WATER_VOLUME, bench)?;
    Some(Solvent::Measured(Delivered { deliveries, with }))
}

/// Returns the deliveries at a key, and what delivered them.
fn delivered(
    value: &Value<'_>,
    fields: &Fields<'_>,
    volume: &'static Key<Deliveries>,
    bench: &Bench,
) -> Option<(Vec<Reading>, Option<Ref>)> {
    let named = bench.find_named(fields, &words::WITH);
    let deliveries = fields.deliveries(volume)?;
    let volumes: Vec<&Reading> = deliveries.iter().collect();
    let with = ware(named, &volumes, value, &words::WITH, bench).ok()?;
    if let Some(with) = &with {
        // A count of equal deliveries stands at one place: one problem is enough.
        let mut last = None;
        for delivery in &deliveries {
            if last != Some(&delivery.entry.span) {
                bench.check_volume(value.found, with, delivery, deliveries.len() == 1);
            }
            last = Some(&delivery.entry.span);
        }
    }
    Some((deliveries, with))
}

/// Returns a weighing among the keys of `section`.
fn weighing(
    value: &Value<'_>,
    fields: &Fields<'_>,
    section: &'static Section,
    bench: &Bench,
) -> Option<Weighed> {
    let named = bench.find_named(fields, &words::BALANCE);
    let mass = fields.measure(&words::MASS);
    let before = fields.measure(&words::BEFORE);
    let after = fields.measure(&words::AFTER);
    let readings = match (
        fields.has(&words::MASS),
        fields.has(&words::BEFORE),
        fields.has(&words::AFTER),
    ) {
        (true, false, false) => WeighedReadings::Tared { mass: mass? },
        (false, true, true) => {
            let (before, after) = (before?, after?);
            if after.value.value >= before.value.value {
                value.found.add(|| {
                    about(
                        &after,
                        Code::NothingTaken,
                        format!("{} is not less than the reading before.", after.entry.name),
                    )
                    .right(format!("less than {}", write_reading(&before)))
                    .also(before.entry.span.clone(), "the reading before")
                });
                return None;
            }
            WeighedReadings::Difference { before, after }
        }
        (mass, before, after) => {
            let (code, said) = match (mass, before, after) {
                (true, ..) => (Code::TwoWeighings, "is given in two ways"),
                (_, true, _) => (Code::WeighingIncomplete, "has `before`, but no `after`"),
                (_, _, true) => (Code::WeighingIncomplete, "has `after`, but no `before`"),
                _ => (Code::WeighingIncomplete, "has no reading"),
            };
            value.found.add(|| {
                let problem = code
                    .error(format!("{} {said}.", value.name))
                    .at(value.name.clone(), value.key_span.clone())
                    .right("`before` and `after`, or `mass` alone");
                with_spans(problem, fields.given_of_ways(section))
            });
            return None;
        }
    };
    let stated = match &readings {
        WeighedReadings::Tared { mass } => states(mass),
        WeighedReadings::Difference { before, after } => states(before) && states(after),
    };
    let balance = bench.balance(named, stated, value);
    Some(Weighed { readings, balance })
}

fn made_up(value: &Value<'_>, bench: &Bench) -> Option<MadeUp> {
    let fields = value.fields(&words::MADE_UP_KEYS)?;
    let named = bench.find_named(&fields, &words::IN);
    let rinsed = fields.count(&words::RINSED);
    let over_mark = fields.measure(&words::OVER_MARK);
    let to = fields.measure(&words::TO)?;
    let vessel = ware(named, &[&to], value, &words::IN, bench).ok()?;
    if let Some(vessel) = &vessel {
        bench.check_volume(value.found, vessel, &to, false);
    }
    Some(MadeUp {
        to,
        vessel,
        rinsed,
        over_mark,
    })
}

fn aliquot(value: &Value<'_>, bench: &Bench, solutions: &Solutions) -> Option<Aliquot> {
    let fields = value.fields(&words::ALIQUOT_KEYS)?;
    let rinsed = fields.count(&words::RINSED);
    let of = fields
        .name(&words::OF)
        .and_then(|name| find(solutions, fields.value(&words::OF)?, &name));
    let (deliveries, with) = delivered(value, &fields, &words::ALIQUOT_VOLUME, bench)?;
    Some(Aliquot {
        of: of?,
        deliveries,
        with,
        rinsed,
    })
}
