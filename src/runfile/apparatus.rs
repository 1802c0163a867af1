//! Vessels and instruments, and finding them by name.

use super::fields::{Fields, Found, Value};
use super::model::{Apparatus, ApparatusKind, At, Reading, Ref, Spread};
use super::vocabulary::{ApparatusName, Key};
use super::words;
use crate::problem::{Problem, nearest};
use std::collections::BTreeMap;

/// Things by name. Those that could not be read keep their place, so that references to them are no second problem.
pub(super) struct Register<T> {
    pub(super) items: Vec<Option<T>>,
    pub(super) names: Vec<At<String>>,
    by_name: BTreeMap<String, usize>,
    /// Whether the section itself could be read; if not, a name that is not here is no second problem.
    pub(super) complete: bool,
}

impl<T> Register<T> {
    /// Of nothing yet, with the names it will have.
    pub(super) fn new(names: Vec<At<String>>, complete: bool) -> Self {
        let by_name = names
            .iter()
            .enumerate()
            .map(|(i, name)| (name.value.clone(), i))
            .collect();
        Self {
            items: Vec::with_capacity(names.len()),
            names,
            by_name,
            complete,
        }
    }

    pub(super) fn find(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }

    pub(super) fn get(&self, index: usize) -> Option<&T> {
        self.items.get(index)?.as_ref()
    }

    /// What would be right in place of a name that is not here.
    pub(super) fn suggest(&self, name: &str, none: &str) -> String {
        /// More names than these do not help.
        const MOST_LISTED: usize = 12;
        let names = || self.names.iter().map(|name| name.value.as_str());
        let listed = names().take(MOST_LISTED).collect::<Vec<_>>().join(", ");
        let more = if self.names.len() > MOST_LISTED {
            ", …"
        } else {
            ""
        };
        match nearest(name, names()) {
            _ if self.names.is_empty() => none.to_owned(),
            Some(meant) => format!("perhaps {meant}; named are {listed}{more}"),
            None => format!("one of {listed}{more}"),
        }
    }

    /// All of them, if all could be read.
    pub(super) fn into_items(self) -> Option<Vec<T>> {
        self.items.into_iter().collect()
    }
}

/// The apparatus of the file.
pub(super) type Bench = Register<Apparatus>;

/// An instrument that an entry may name.
#[derive(Clone)]
pub(super) enum Instrument {
    /// None is named.
    Unnamed,
    /// One is named that cannot be used; that has been noted.
    Unusable,
    /// This one.
    Named(Ref),
}

pub(super) fn read(found: &mut Found, run: &Fields<'_>) -> Bench {
    let named = run
        .value(&words::APPARATUS)
        .map(|section| section.named(found, "apparatus"))
        .unwrap_or_default();
    let complete =
        !run.has(&words::APPARATUS) || run.value(&words::APPARATUS).is_some_and(Value::is_map);
    let mut bench = Bench::new(
        named.iter().map(|(name, _)| name.clone()).collect(),
        complete,
    );
    for (name, value) in named {
        let item = one(found, name, &value);
        bench.items.push(item);
    }
    bench
}

fn one(found: &mut Found, name: At<String>, value: &Value<'_>) -> Option<Apparatus> {
    let kind = kind_of(found, value)?;
    let section = match kind {
        ApparatusKind::Balance => &words::BALANCE_KEYS,
        ApparatusKind::Thermometer => &words::THERMOMETER_KEYS,
        _ => &words::WARE_KEYS,
    };
    let fields = value.fields(found, section)?;
    let mut apparatus = Apparatus {
        name,
        kind,
        capacity: None,
        class: None,
        tolerance: None,
        spread: Spread::Triangular,
        readability: None,
        repeatability: None,
        linearity: None,
        accuracy: None,
        note: fields.text(found, &words::NOTE).map(|text| text.value),
    };
    let complete = match kind {
        ApparatusKind::Balance => {
            apparatus.readability = fields.measure(found, &words::BALANCE_READABILITY);
            apparatus.repeatability = fields.measure(found, &words::BALANCE_REPEATABILITY);
            apparatus.linearity = fields.measure(found, &words::LINEARITY);
            apparatus.readability.is_some()
        }
        ApparatusKind::Thermometer => {
            apparatus.readability = fields.measure(found, &words::THERMOMETER_READABILITY);
            apparatus.repeatability = fields.measure(found, &words::THERMOMETER_REPEATABILITY);
            apparatus.accuracy = fields.measure(found, &words::ACCURACY);
            let stated =
                fields.has(&words::THERMOMETER_READABILITY) || fields.has(&words::ACCURACY);
            if !stated {
                found.add(|| {
                    limits_unknown(
                        value,
                        "neither readability nor accuracy",
                        "readability: 0.1 °C, or accuracy: 0.2 °C",
                    )
                });
            }
            stated
        }
        _ => {
            apparatus.capacity = fields.measure(found, &words::CAPACITY);
            apparatus.class = fields.choice(found, &words::CLASS);
            apparatus.tolerance = fields.measure(found, &words::TOLERANCE);
            apparatus.spread = fields
                .choice(found, &words::SPREAD)
                .map_or(Spread::Triangular, |spread| spread.value);
            apparatus.repeatability = fields.measure(found, &words::WARE_REPEATABILITY);
            let stated = fields.has(&words::CLASS) || fields.has(&words::TOLERANCE);
            if !stated {
                found.add(|| {
                    limits_unknown(
                        value,
                        "neither class nor tolerance",
                        "class: A, class: B, or tolerance: 0.05 mL",
                    )
                });
            }
            stated && apparatus.capacity.is_some()
        }
    };
    complete.then_some(apparatus)
}

/// The kind, read ahead of the other keys because it decides which they are.
fn kind_of(found: &mut Found, value: &Value<'_>) -> Option<ApparatusKind> {
    use super::tree::Content;
    static KIND_ALONE: super::vocabulary::Section = super::vocabulary::Section {
        what: "apparatus",
        keys: &[&words::KIND],
    };
    let Content::Map(pairs) = &value.node.content else {
        return value.fields(found, &KIND_ALONE).and(None);
    };
    let Some((key, node)) = pairs.iter().find(|(key, _)| key.text == words::KIND.name) else {
        let kinds = words::KIND
            .form
            .0
            .iter()
            .map(|(word, _)| *word)
            .collect::<Vec<_>>()
            .join(", ");
        found.add(|| {
            Problem::error("missing-key", format!("{} has no kind.", value.name))
                .at(value.child(words::KIND.name), value.key_place.clone())
                .right(format!("kind: one of {kinds}"))
        });
        return None;
    };
    let alone = Value {
        node,
        name: value.child(&key.text),
        key_place: Some(key.place.clone()),
    };
    Fields::of_one(value.clone(), words::KIND.name, alone)
        .choice(found, &words::KIND)
        .map(|kind| kind.value)
}

fn limits_unknown(value: &Value<'_>, lacking: &str, right: &str) -> Problem {
    Problem::error("limits-unknown", format!("{} has {lacking}.", value.name))
        .at(value.name.clone(), value.key_place.clone())
        .right(right)
}

/// The words for some kinds: `flask or cylinder`.
fn alternatives(kinds: &[ApparatusKind]) -> String {
    let words: Vec<&str> = kinds.iter().map(|kind| word(*kind)).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// The word for a kind.
pub(super) fn word(kind: ApparatusKind) -> &'static str {
    words::KIND
        .form
        .0
        .iter()
        .find(|(_, listed)| *listed == kind)
        .map_or("", |(word, _)| word)
}

impl Bench {
    /// The instrument named at a key.
    pub(super) fn named(
        &self,
        found: &mut Found,
        fields: &Fields<'_>,
        key: &Key<ApparatusName>,
    ) -> Instrument {
        if !fields.has(key) {
            return Instrument::Unnamed;
        }
        let Some(value) = fields.value(key) else {
            return Instrument::Unusable;
        };
        let Some(name) = value.scalar(found, "the name of a piece of apparatus") else {
            return Instrument::Unusable;
        };
        let Some(index) = self.find(name) else {
            if !self.complete {
                return Instrument::Unusable;
            }
            found.add(|| {
                value
                    .problem(
                        "unknown-apparatus",
                        format!(
                            "{} names {name}, which is not among the apparatus.",
                            value.name
                        ),
                    )
                    .right(self.suggest(
                        name,
                        "a name from the section apparatus, which is missing or empty",
                    ))
            });
            return Instrument::Unusable;
        };
        let allowed = key.form.0;
        match self.get(index) {
            None => Instrument::Unusable,
            Some(item) if !allowed.contains(&item.kind) => {
                let kinds = alternatives(allowed);
                found.add(|| {
                    value
                        .problem(
                            "wrong-apparatus",
                            format!(
                                "{} names a {} where a {kinds} belongs.",
                                value.name,
                                word(item.kind)
                            ),
                        )
                        .right(format!("the name of a {kinds}"))
                        .also(
                            item.name.entry.place.clone(),
                            format!("{name} is a {}", word(item.kind)),
                        )
                });
                Instrument::Unusable
            }
            Some(_) => Instrument::Named(At {
                value: index,
                entry: value.entry(),
            }),
        }
    }

    /// The instrument of `kind` that an entry with these readings is left with when none is named for it: the only one
    /// there is, or none where `stated`, that is where every reading states its own uncertainty.
    pub(super) fn only(
        &self,
        found: &mut Found,
        kind: ApparatusKind,
        stated: bool,
        entry: &Value<'_>,
    ) -> Option<Ref> {
        if stated {
            return None;
        }
        // One that could not be read may be of this kind.
        let all_read = self.complete && self.items.iter().all(Option::is_some);
        let mut of_kind = self
            .items
            .iter()
            .enumerate()
            .filter(|(_, item)| item.as_ref().is_some_and(|item| item.kind == kind));
        let (first, second) = (of_kind.next(), of_kind.next());
        let word = word(kind);
        match (first, second) {
            (Some((index, Some(item))), None) if all_read => Some(At {
                value: index,
                entry: item.name.entry.clone(),
            }),
            (None, _) if all_read => {
                let right = format!("a {word} under apparatus, or ± with each reading");
                no_instrument(
                    found,
                    entry,
                    &format!("no {word} is named, and none is among the apparatus"),
                    right,
                );
                None
            }
            (Some(_), Some(_)) => {
                let right = format!("{word}: its name");
                no_instrument(
                    found,
                    entry,
                    &format!("no {word} is named, and there is more than one to choose from"),
                    right,
                );
                None
            }
            _ => None,
        }
    }

    /// Checks a volume against the ware that measures it.
    pub(super) fn check_volume(&self, found: &mut Found, ware: &Ref, volume: &Reading) {
        let Some(item) = self.get(ware.value) else {
            return;
        };
        let Some(capacity) = &item.capacity else {
            return;
        };
        let (measured, holds) = (volume.value.value, capacity.value.value);
        let slack = 1e-9 * holds;
        let name = &item.name.value;
        let written = || {
            format!(
                "{} {}",
                capacity.value.number.text, capacity.value.unit.symbol
            )
        };
        let one_mark = matches!(item.kind, ApparatusKind::Pipette | ApparatusKind::Flask);
        if one_mark && (measured - holds).abs() > slack {
            found.add(|| {
                about(
                    volume,
                    "off-the-mark",
                    format!(
                        "{} is not the volume of {name}, which has one mark.",
                        volume.entry.name
                    ),
                )
                .right(match item.kind {
                    ApparatusKind::Pipette => {
                        format!("{} for each delivery, or other ware", written())
                    }
                    _ => format!("{}, or another vessel", written()),
                })
                .also(
                    capacity.entry.place.clone(),
                    format!("the capacity of {name}"),
                )
            });
        } else if measured > holds + slack {
            found.add(|| {
                about(
                    volume,
                    "over-capacity",
                    format!("{} is more than {name} holds.", volume.entry.name),
                )
                .right(format!("{} at most", written()))
                .also(
                    capacity.entry.place.clone(),
                    format!("the capacity of {name}"),
                )
            });
        }
    }
}

/// Notes that an instrument is missing.
pub(super) fn no_instrument(found: &mut Found, entry: &Value<'_>, why: &str, right: String) {
    let place = entry.key_place.as_ref().unwrap_or(&entry.node.place);
    found.add_once(why.to_owned(), place, || {
        Problem::error("no-instrument", format!("For {} {why}.", entry.name))
            .at(entry.name.clone(), Some(place.clone()))
            .right(right)
    });
}

/// A problem with a reading.
pub(super) fn about(reading: &Reading, code: &'static str, headline: impl Into<String>) -> Problem {
    Problem::error(code, headline)
        .at(
            reading.entry.name.clone(),
            Some(reading.entry.place.clone()),
        )
        .read(written(reading))
}

/// A reading's number and unit.
pub(super) fn written(reading: &Reading) -> String {
    format!(
        "{} {}",
        reading.value.number.text, reading.value.unit.symbol
    )
}
