//! Reading the values of a section by its keys, every problem noted, none stopping the rest.

use super::model::{At, Entry, Reading};
use super::tree::{Content, Node};
use super::vocabulary::{
    Choice, Day, Deliveries, Key, Mark, Measure, Section, SolutionName, Text, Texts,
};
use crate::problem::{Place, Problem, nearest};
use crate::quantity::{NotAQuantity, Quantity, Unit};
use std::collections::btree_map::Entry as Slot;
use std::collections::{BTreeMap, BTreeSet};

/// No more problems are listed than these; someone mends the first ones first.
const MOST_PROBLEMS: usize = 200;

/// A value in any base unit beyond this is nothing that was measured.
const FAR_BEYOND: f64 = 1e9;

/// The problems found so far.
#[derive(Default)]
pub(super) struct Found {
    problems: Vec<Problem>,
    unlisted: usize,
    /// The problem of each cause that shows in many places.
    by_cause: BTreeMap<String, usize>,
}

impl Found {
    /// Whether further problems are only counted.
    fn is_full(&self) -> bool {
        self.problems.len() >= MOST_PROBLEMS
    }

    /// Notes a problem. It is made only if it will be listed.
    pub(super) fn add(&mut self, problem: impl FnOnce() -> Problem) {
        if self.is_full() {
            self.unlisted += 1;
        } else {
            self.problems.push(problem());
        }
    }

    /// Notes a problem whose one cause may show in many places: only the first time, with the others listed.
    pub(super) fn add_once(
        &mut self,
        cause: String,
        place: &Place,
        problem: impl FnOnce() -> Problem,
    ) {
        /// More places than these do not help.
        const MOST_PLACES: usize = 20;
        match self
            .by_cause
            .get(&cause)
            .and_then(|index| self.problems.get_mut(*index))
        {
            Some(first) if first.also.len() < MOST_PLACES => {
                first.also.push((place.clone(), "the same here".to_owned()));
            }
            Some(_) => {}
            None => {
                self.by_cause.insert(cause, self.problems.len());
                self.add(problem);
            }
        }
    }

    /// All of them, in the order of the file.
    pub(super) fn into_problems(self) -> Vec<Problem> {
        let mut problems = self.problems;
        crate::problem::sort(&mut problems);
        if self.unlisted > 0 {
            problems.push(Problem::error(
                "more-problems",
                format!("{} more problems are not listed.", self.unlisted),
            ));
        }
        problems
    }
}

/// A value with its name, and the place of its key for when something is missing inside.
#[derive(Clone)]
pub(super) struct Value<'n> {
    pub(super) node: &'n Node,
    pub(super) name: String,
    pub(super) key_place: Option<Place>,
}

impl<'n> Value<'n> {
    /// Its entry.
    pub(super) fn entry(&self) -> Entry {
        Entry {
            name: self.name.clone(),
            place: self.node.place.clone(),
        }
    }

    fn at<T>(&self, value: T) -> At<T> {
        At {
            value,
            entry: self.entry(),
        }
    }

    /// A problem with this very value.
    pub(super) fn problem(&self, code: &'static str, headline: impl Into<String>) -> Problem {
        let problem =
            Problem::error(code, headline).at(self.name.clone(), Some(self.node.place.clone()));
        match &self.node.content {
            Content::Scalar { text, .. } if !text.is_empty() => problem.read(text.trim_end()),
            _ => problem,
        }
    }

    fn wrong_shape(&self, right: &str) -> Problem {
        self.problem(
            "wrong-shape",
            format!("{} is {}.", self.title(), self.node.described()),
        )
        .right(right)
    }

    /// How it is called at the start of a sentence.
    pub(super) fn title(&self) -> &str {
        if self.name.is_empty() {
            "The file"
        } else {
            &self.name
        }
    }

    /// The text of a single value.
    pub(super) fn scalar(&self, found: &mut Found, right: &str) -> Option<&'n str> {
        match &self.node.content {
            Content::Scalar { text, .. } => Some(text.trim()),
            _ => {
                found.add(|| self.wrong_shape(right));
                None
            }
        }
    }

    /// Its items: those of a list, or itself where it is not one.
    pub(super) fn items(&self) -> Vec<Value<'n>> {
        match &self.node.content {
            Content::List(nodes) => nodes
                .iter()
                .enumerate()
                .map(|(i, node)| Value {
                    node,
                    name: format!("{}.{}", self.name, i + 1),
                    key_place: self.key_place.clone(),
                })
                .collect(),
            _ => vec![self.clone()],
        }
    }

    /// Its items, with numbers even where it is one alone.
    pub(super) fn numbered(&self) -> Vec<Value<'n>> {
        match self.node.content {
            Content::List(_) => self.items(),
            _ => vec![Value {
                name: format!("{}.1", self.name),
                ..self.clone()
            }],
        }
    }

    /// The keys and values of a section whose keys are names; a name used twice is noted and kept once.
    pub(super) fn named(&self, found: &mut Found, what: &str) -> Vec<(At<String>, Value<'n>)> {
        let Content::Map(pairs) = &self.node.content else {
            found.add(|| {
                self.wrong_shape(&format!("names of {what}, each with a section of its own"))
            });
            return Vec::new();
        };
        let mut seen: BTreeMap<&str, &Place> = BTreeMap::new();
        let mut values = Vec::new();
        for (key, node) in pairs {
            let text = key.text.trim();
            let name = format!("{}.{text}", self.name);
            if text.is_empty() {
                found.add(|| {
                    Problem::error("no-name", format!("One of the {what} has no name."))
                        .at(name.clone(), Some(key.place.clone()))
                });
                continue;
            }
            match seen.entry(text) {
                Slot::Occupied(first) => found.add(|| {
                    Problem::error(
                        "name-used-twice",
                        format!("The name {text} is used twice among the {what}."),
                    )
                    .at(name.clone(), Some(key.place.clone()))
                    .right("a name of its own for each")
                    .also((*first.get()).clone(), "used here first")
                }),
                Slot::Vacant(slot) => {
                    slot.insert(&key.place);
                    let entry = Entry {
                        name: name.clone(),
                        place: key.place.clone(),
                    };
                    values.push((
                        At {
                            value: text.to_owned(),
                            entry,
                        },
                        Value {
                            node,
                            name,
                            key_place: Some(key.place.clone()),
                        },
                    ));
                }
            }
        }
        values
    }

    /// The values of a section with a fixed set of keys. Keys that are unknown, used twice, missing or empty are noted.
    pub(super) fn fields(
        &self,
        found: &mut Found,
        section: &'static Section,
    ) -> Option<Fields<'n>> {
        let Content::Map(pairs) = &self.node.content else {
            found.add(|| {
                self.wrong_shape(&format!(
                    "keys of {} with their values: {}",
                    section.what,
                    key_names(section)
                ))
            });
            return None;
        };
        let mut fields = Fields {
            section: self.clone(),
            values: BTreeMap::new(),
        };
        let mut first: BTreeMap<&str, &Place> = BTreeMap::new();
        // A misspelt key is not missing as well.
        let mut misspelt: BTreeSet<&str> = BTreeSet::new();
        for (key, node) in pairs {
            let text = key.text.as_str();
            let known = section.keys.iter().find(|known| known.name() == text);
            let Some(known) = known else {
                let known_names = || section.keys.iter().map(|known| known.name());
                let meant = if found.is_full() {
                    None
                } else {
                    nearest(text, known_names())
                };
                found.add(|| unknown_key(self, text, &key.place, section, meant));
                misspelt.extend(meant);
                continue;
            };
            let value = Value {
                node,
                name: self.child(text),
                key_place: Some(key.place.clone()),
            };
            match first.entry(known.name()) {
                Slot::Occupied(slot) => found.add(|| {
                    Problem::error("key-used-twice", format!("{} stands twice.", value.name))
                        .at(value.name.clone(), Some(key.place.clone()))
                        .right("one of them only")
                        .also((*slot.get()).clone(), "stands here first")
                }),
                Slot::Vacant(slot) => {
                    slot.insert(&key.place);
                    if node.is_empty() {
                        found.add(|| {
                            Problem::error(
                                "nothing-written",
                                format!("Nothing is written at {}.", value.name),
                            )
                            .at(value.name.clone(), Some(key.place.clone()))
                            .right("a value, or the line taken out")
                        });
                        fields.values.insert(known.name(), None);
                    } else {
                        fields.values.insert(known.name(), Some(value));
                    }
                }
            }
        }
        for key in section.keys.iter().filter(|key| {
            key.required() && !first.contains_key(key.name()) && !misspelt.contains(key.name())
        }) {
            found.add(|| fields.missing(key.name(), key.about()));
        }
        Some(fields)
    }

    /// Whether it is a section of keys and values.
    pub(super) fn is_map(&self) -> bool {
        matches!(self.node.content, Content::Map(_))
    }

    /// The name of what stands at a key inside.
    pub(super) fn child(&self, key: &str) -> String {
        if self.name.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.name)
        }
    }
}

fn key_names(section: &Section) -> String {
    section
        .keys
        .iter()
        .map(|key| key.name())
        .collect::<Vec<_>>()
        .join(", ")
}

fn unknown_key(
    section_value: &Value<'_>,
    text: &str,
    place: &Place,
    section: &'static Section,
    meant: Option<&str>,
) -> Problem {
    let problem = Problem::error(
        "unknown-key",
        format!("{text} is not a key of {}.", section.what),
    )
    .at(section_value.child(text), Some(place.clone()))
    .read(text);
    match meant {
        Some(meant) => problem.right(format!(
            "perhaps {meant}; its keys are {}",
            key_names(section)
        )),
        None => problem.right(format!("one of {}", key_names(section))),
    }
}

/// The values of a section by key.
pub(super) struct Fields<'n> {
    pub(super) section: Value<'n>,
    /// None where a key stands without a usable value, which has been noted.
    values: BTreeMap<&'static str, Option<Value<'n>>>,
}

impl<'n> Fields<'n> {
    /// A single value of a section, where the rest of it is read elsewhere.
    pub(super) fn of_one(section: Value<'n>, key: &'static str, value: Value<'n>) -> Self {
        let usable = Some(value).filter(|value| !value.node.is_empty());
        Self {
            section,
            values: BTreeMap::from([(key, usable)]),
        }
    }

    /// Whether the key stands in the section, with a value or without.
    pub(super) fn has<F>(&self, key: &Key<F>) -> bool {
        self.values.contains_key(key.name)
    }

    /// The value at a key.
    pub(super) fn value<F>(&self, key: &Key<F>) -> Option<&Value<'n>> {
        self.values.get(key.name)?.as_ref()
    }

    /// That a key is missing.
    pub(super) fn missing(&self, key: &str, about: &str) -> Problem {
        let name = self.section.child(key);
        let place = self.section.key_place.clone();
        let headline = match self.section.name.as_str() {
            "" => format!("The file has no {key}."),
            section => format!("{section} has no {key}."),
        };
        Problem::error("missing-key", headline)
            .at(name, place)
            .right(format!("{key}: {about}"))
    }

    pub(super) fn text(&self, found: &mut Found, key: &Key<Text>) -> Option<At<String>> {
        let value = self.value(key)?;
        Some(value.at(value.scalar(found, "one text")?.to_owned()))
    }

    pub(super) fn name(&self, found: &mut Found, key: &Key<SolutionName>) -> Option<At<String>> {
        let value = self.value(key)?;
        Some(value.at(value.scalar(found, "the name of a solution")?.to_owned()))
    }

    pub(super) fn texts(&self, found: &mut Found, key: &Key<Texts>) -> Vec<String> {
        let items = self.value(key).map(Value::items).unwrap_or_default();
        let mut texts = Vec::with_capacity(items.len());
        for item in items {
            if item.node.is_empty() {
                found.add(|| {
                    item.problem(
                        "nothing-written",
                        format!("Nothing is written at {}.", item.name),
                    )
                    .right("a text, or the item taken out")
                });
            } else if let Some(text) = item.scalar(found, "a text or a list of texts") {
                texts.push(text.to_owned());
            }
        }
        texts
    }

    pub(super) fn day(&self, found: &mut Found, key: &Key<Day>) -> Option<At<String>> {
        let value = self.value(key)?;
        let text = value.scalar(found, "a day, YYYY-MM-DD")?;
        if !is_day(text) {
            found.add(|| {
                value
                    .problem(
                        "not-a-day",
                        format!("{} is not a day of the calendar.", value.name),
                    )
                    .right("a day that exists, as YYYY-MM-DD")
            });
            return None;
        }
        Some(value.at(text.to_owned()))
    }

    /// Whether a key is marked `true`.
    pub(super) fn mark(&self, found: &mut Found, key: &Key<Mark>) -> bool {
        let Some(value) = self.value(key) else {
            return false;
        };
        let marked = value
            .scalar(found, "true")
            .is_none_or(|text| text == "true");
        if !marked {
            found.add(|| {
                value
                    .problem("not-true", format!("{} can only be true.", value.name))
                    .right("true, or the key taken out")
            });
        }
        true
    }

    pub(super) fn choice<T: Copy>(&self, found: &mut Found, key: &Key<Choice<T>>) -> Option<At<T>> {
        let value = self.value(key)?;
        let words = || key.form.0.iter().map(|(word, _)| *word);
        let listed = || words().collect::<Vec<_>>().join(", ");
        let text = value.scalar(found, &format!("one of {}", listed()))?;
        let fold = |word: &str| word.to_lowercase().replace(['_', '-'], " ");
        if let Some((_, meaning)) = key.form.0.iter().find(|(word, _)| fold(word) == fold(text)) {
            return Some(value.at(*meaning));
        }
        found.add(|| {
            let problem = value.problem(
                "unknown-choice",
                format!("{} cannot be {text}.", value.name),
            );
            match nearest(text, words()) {
                Some(meant) => problem.right(format!("perhaps {meant}; known are {}", listed())),
                None => problem.right(format!("one of {}", listed())),
            }
        });
        None
    }

    pub(super) fn measure(&self, found: &mut Found, key: &'static Key<Measure>) -> Option<Reading> {
        let value = self.value(key)?;
        let text = value.scalar(found, "one quantity")?;
        Some(value.at(quantity(found, value, text, &key.form)?))
    }

    /// One or more quantities, each with its own name where there are several.
    pub(super) fn deliveries(
        &self,
        found: &mut Found,
        key: &'static Key<Deliveries>,
    ) -> Option<Vec<Reading>> {
        /// Nobody empties a pipette more often into one flask.
        const MOST: usize = 1000;
        let measure = &key.form.0;
        let value = self.value(key)?;
        if let Content::Scalar { text, .. } = &value.node.content {
            let Some((count, each)) = times(text.trim()) else {
                return Some(vec![value.at(quantity(
                    found,
                    value,
                    text.trim(),
                    measure,
                )?)]);
            };
            let count = count
                .parse::<usize>()
                .ok()
                .filter(|count| (1..=MOST).contains(count));
            let Some(count) = count else {
                found.add(|| {
                    value
                        .problem(
                            "not-a-count",
                            format!("{} does not begin with a number of deliveries.", value.name),
                        )
                        .right(format!("a whole number from 1 to {MOST} before the ×"))
                });
                return None;
            };
            let each = quantity(found, value, each, measure)?;
            let delivery = |i| At {
                value: each.clone(),
                entry: Entry {
                    name: format!("{}.{i}", value.name),
                    place: value.node.place.clone(),
                },
            };
            return Some((1..=count).map(delivery).collect());
        }
        let items = value.items();
        if items.is_empty() || items.len() > MOST || matches!(value.node.content, Content::Map(_)) {
            found.add(|| {
                value
                    .problem(
                        "wrong-shape",
                        format!("{} is not a list of deliveries.", value.name),
                    )
                    .right(format!("one volume, or a list of 1 to {MOST}"))
            });
            return None;
        }
        let readings = items.iter().map(|item| {
            let text = item.scalar(found, "one quantity")?;
            Some(item.at(quantity(found, item, text, measure)?))
        });
        // All of them are read before one that failed ends it.
        let readings: Vec<Option<Reading>> = readings.collect();
        readings.into_iter().collect()
    }
}

/// `4 × 5.00 mL` into count and volume.
fn times(text: &str) -> Option<(&str, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .filter(|end| *end > 0)?;
    let each = text[end..]
        .trim_start()
        .strip_prefix(['×', 'x', 'X', '*'])?;
    // `0x10` is a misspelt number, not no deliveries.
    (&text[..end] != "0").then_some((&text[..end], each.trim()))
}

fn quantity(
    found: &mut Found,
    value: &Value<'_>,
    text: &str,
    measure: &'static Measure,
) -> Option<Quantity> {
    let name = &value.name;
    let wanted = measure.unit.dimension;
    let quantity = match Quantity::parse(text, &measure.unit) {
        Ok(quantity) => quantity,
        Err(error) => {
            found.add(|| {
                let units = || Unit::symbols(wanted).collect::<Vec<_>>().join(", ");
                match &error {
                    NotAQuantity::Number(why) => value
                        .problem(
                            "not-a-number",
                            format!("{name} cannot be read as a number: {why}."),
                        )
                        .right(format!("a decimal number{}", measure.unless_written())),
                    NotAQuantity::Uncertainty(_) => {
                        value.problem("not-an-uncertainty", format!("{name}: {error}."))
                    }
                    NotAQuantity::UnknownUnit { unit, .. } => {
                        let problem = value.problem("unknown-unit", format!("{name}: {error}."));
                        match nearest(unit, Unit::symbols(wanted)) {
                            Some(meant) => {
                                problem.right(format!("perhaps {meant}; known are {}", units()))
                            }
                            None => problem.right(format!("one of {}", units())),
                        }
                    }
                    NotAQuantity::WrongDimension { unit, .. } => value
                        .problem(
                            "wrong-dimension",
                            format!("{name} has {} where a {wanted} belongs.", unit.symbol),
                        )
                        .right(format!("one of {}", units())),
                }
            });
            return None;
        }
    };
    if !measure.allows(quantity.value) {
        found.add(|| {
            let problem = value.problem(
                "out-of-range",
                if quantity.value > FAR_BEYOND {
                    format!("{name} is far beyond what a bench knows.")
                } else {
                    format!("{name} must be {}.", measure.limits)
                },
            );
            let bare_percent = measure.unit == Unit::ONE
                && quantity.unit == &Unit::ONE
                && quantity.value > 1.0
                && quantity.value <= 100.0;
            if bare_percent {
                problem.right(format!("{} %", quantity.number.text))
            } else {
                problem
            }
        });
        return None;
    }
    Some(quantity)
}

/// Whether a text is a day of the Gregorian calendar as `YYYY-MM-DD` (ISO 8601).
fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else {
        return false;
    };
    let number = |text: &str, length: usize| {
        (text.len() == length && text.bytes().all(|b| b.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())
            .flatten()
    };
    let (Some(year), Some(month), Some(day)) = (number(year, 4), number(month, 2), number(day, 2))
    else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    year > 0 && (1..=length).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_exist_or_not() {
        for (text, exists) in [
            ("2026-03-04", true),
            ("2024-02-29", true),
            ("2000-02-29", true),
            ("2026-02-29", false),
            ("1900-02-29", false),
            ("2026-13-01", false),
            ("2026-00-10", false),
            ("2026-04-31", false),
            ("2026-3-4", false),
            ("04.03.2026", false),
            ("0000-01-01", false),
        ] {
            assert_eq!(is_day(text), exists, "{text}");
        }
    }

    #[test]
    fn deliveries_are_counted() {
        assert_eq!(times("4 × 5.00 mL"), Some(("4", "5.00 mL")), "sign");
        assert_eq!(times("4x5.00"), Some(("4", "5.00")), "letter");
        assert_eq!(times("5.00 mL"), None, "one");
        assert_eq!(times("0x10"), None, "hexadecimal");
    }
}
