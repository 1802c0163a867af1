//! Reading single values: texts, days, words, quantities.

use super::commas;
use super::days;
use super::fields::{Fields, Value};
use super::model::{At, Reading};
use super::quantity_suggestions;
use super::vocabulary::{
    Choice, Choices, Count, Day, Explanation, Interval, Key, KeyInfo, Mark, Measure, Range, Scaled,
    SolutionName, SolutionNames, Strength, Text, Texts,
};
use super::words;
use crate::bench::quantity::{NotAQuantity, Quantity, Unit};
use crate::problem::{Code, nearest};
use time::Date;

/// A value in any base unit beyond this is nothing that was measured.
const FAR_BEYOND: f64 = 1e9;

impl Fields<'_> {
    pub(super) fn text(&self, key: &Key<Text>) -> Option<At<String>> {
        let value = self.value(key)?;
        Some(value.at(value.scalar("one text")?.to_owned()))
    }

    /// Returns the text at a key that asks how or why. One that does not say it is noted and handed on, as it is not
    /// known what was meant.
    pub(super) fn explanation(&self, key: &'static Key<Explanation>) -> Option<At<String>> {
        if let Some(value) = self.blank(key).filter(|_| !key.form.may_be_blank) {
            self.found.add(|| value.blank(key.form.right));
        }
        let value = self.value(key)?;
        let account = value.at(value.scalar("one text")?.to_owned());
        if key
            .form
            .not
            .contains(&account.value.to_lowercase().as_str())
        {
            self.found.add(|| {
                value
                    .problem(
                        Code::NoReason,
                        format!("{} does not say {}.", value.name, key.form.asks),
                    )
                    .right(key.form.right)
            });
        }
        Some(account)
    }

    pub(super) fn name(&self, key: &Key<SolutionName>) -> Option<At<String>> {
        let value = self.value(key)?;
        Some(value.at(value.scalar("the name of a solution")?.to_owned()))
    }

    /// Returns the names listed, each with what it stands in.
    pub(super) fn names(&self, key: &Key<SolutionNames>) -> Vec<(Value<'_>, At<String>)> {
        let items = self.value(key).map(Value::items).unwrap_or_default();
        let mut names = Vec::with_capacity(items.len());
        for item in items {
            if let Some(name) = item.scalar("the name of a solution") {
                let name = item.at(name.to_owned());
                names.push((item, name));
            }
        }
        names
    }

    pub(super) fn texts(&self, key: &'static Key<Texts>) -> Vec<String> {
        let items = self.value(key).map(Value::items).unwrap_or_default();
        if let Some(value) = self.value(key).filter(|_| key.required && items.is_empty()) {
            self.found.add(|| value.blank(key.expected()));
        }
        let mut texts = Vec::with_capacity(items.len());
        for item in items {
            if item.node.is_empty() {
                self.found.add(|| item.blank("a text, or no such item"));
            } else if let Some(text) = item.scalar("a text or a list of texts") {
                texts.push(text.to_owned());
            }
        }
        texts
    }

    pub(super) fn day(&self, key: &Key<Day>) -> Option<At<Date>> {
        let value = self.value(key)?;
        let text = value.scalar("a date, YYYY-MM-DD")?;
        let day = days::day(text);
        if day.is_none() {
            self.found.add(|| match days::suggest(text) {
                Some(day) => value
                    .problem(
                        Code::NotADay,
                        format!("{} is not written as YYYY-MM-DD.", value.name),
                    )
                    .right(day.to_string()),
                None => value
                    .problem(
                        Code::NotADay,
                        format!("{} is not a valid date as YYYY-MM-DD.", value.name),
                    )
                    .right("an existing date, as YYYY-MM-DD"),
            });
        }
        Some(value.at(day?))
    }

    /// Returns whether a key is marked `true`.
    pub(super) fn mark(&self, key: &Key<Mark>) -> bool {
        let Some(value) = self.value(key) else {
            return false;
        };
        let marked = value.scalar("true").is_none_or(|text| text == "true");
        if !marked {
            self.found.add(|| {
                value
                    .problem(Code::NotTrue, format!("{} can only be true.", value.name))
                    .right("true, or no such key")
            });
        }
        true
    }

    /// Returns a whole number.
    pub(super) fn count(&self, key: &Key<Count>) -> Option<At<u32>> {
        let value = self.value(key)?;
        let right = format!("a whole number from 0 to {}", key.form.0);
        let text = value.scalar(&right)?;
        let count = text.parse().ok().filter(|count| *count <= key.form.0);
        if count.is_none() {
            self.found.add(|| {
                value
                    .problem(
                        Code::NotACount,
                        format!("{} is not a whole number.", value.name),
                    )
                    .right(right)
            });
        }
        Some(value.at(count?))
    }

    pub(super) fn choice<T: Copy>(&self, key: &Key<Choice<T>>) -> Option<At<T>> {
        chosen(self.value(key)?, &key.form)
    }

    /// Returns the choices listed, each once.
    pub(super) fn choices<T: Copy + PartialEq>(&self, key: &'static Key<Choices<T>>) -> Vec<At<T>> {
        let mut all: Vec<At<T>> = Vec::new();
        for item in self.value(key).map(Value::items).unwrap_or_default() {
            let Some(one) = chosen(&item, &key.form.0) else {
                continue;
            };
            if all.iter().all(|other| other.value != one.value) {
                all.push(one);
            }
        }
        all
    }

    pub(super) fn measure(&self, key: &'static Key<Measure>) -> Option<Reading> {
        named_quantity(self.value(key)?, key)
    }

    /// Returns a quantity on one of several scales.
    pub(super) fn scaled(&self, key: &'static Key<Scaled>) -> Option<Reading> {
        let (_, reading) = named_on_scale(self.value(key)?, key)?;
        Some(reading)
    }

    /// Returns a quantity in one of several measures, and which of them it is in.
    pub(super) fn strength(&self, key: &'static Key<Strength>) -> Option<(usize, Reading)> {
        let value = self.value(key)?;
        let text = value.scalar("one quantity")?;
        in_one_of(value, text, key.form.0)
    }

    /// Returns two quantities in one of several measures, the lower one first, and which of them they are in.
    pub(super) fn range(&self, key: &'static Key<Range>) -> Option<(usize, [Reading; 2])> {
        let value = self.value(key)?;
        let text = value.scalar("a range, such as 3 to 8 %")?;
        let Some((low, high)) = text.split_once(" to ") else {
            self.found.add(|| {
                value
                    .problem(Code::NotARange, format!("{} is not a range.", value.name))
                    .right(key.expected())
            });
            return None;
        };
        from_to(value, (low, high), key.form.0)
    }

    /// Returns the lower and the upper limit of a quantity, of which one may be left open.
    pub(super) fn interval(&self, key: &'static Key<Interval>) -> Option<[Option<Reading>; 2]> {
        let value = self.value(key)?;
        let right = key.expected();
        let text = value.scalar(&right)?;
        let measures = std::slice::from_ref(&key.form.0);
        if let Some(low) = text.strip_prefix("at least ") {
            let (_, low) = in_one_of(value, low.trim(), measures)?;
            return Some([Some(low), None]);
        }
        if let Some(high) = text.strip_prefix("at most ") {
            let (_, high) = in_one_of(value, high.trim(), measures)?;
            return Some([None, Some(high)]);
        }
        if let Some(ends) = text.split_once(" to ") {
            let (_, ends) = from_to(value, ends, measures)?;
            return Some(ends.map(Some));
        }
        let headline = format!("{} states no limits.", value.name);
        self.found
            .add(|| value.problem(Code::NotARange, headline).right(right));
        None
    }
}

/// Returns a quantity at a name, as at a key.
pub(super) fn named_quantity(value: &Value<'_>, key: &'static Key<Measure>) -> Option<Reading> {
    let text = value.scalar("one quantity")?;
    Some(value.at(quantity(value, text, &key.form)?))
}

/// Returns a quantity at a name on one of several scales, as at a key, and which of them it is.
pub(super) fn named_on_scale(
    value: &Value<'_>,
    key: &'static Key<Scaled>,
) -> Option<(usize, Reading)> {
    let text = value.scalar("one quantity")?;
    let (measure, text) = scale_of(text, key.form.0)?;
    let mut scales = key.form.0.iter();
    let scale = scales.position(|scale| std::ptr::eq(scale, measure))?;
    Some((scale, value.at(quantity(value, text, measure)?)))
}

/// Returns the scale that a quantity is written on, and the quantity without the name of the scale: the first where
/// none of the others is meant.
pub fn scale_of<'t>(
    text: &'t str,
    measures: &'static [Measure],
) -> Option<(&'static Measure, &'t str)> {
    for measure in measures {
        if let Some(prefix) = measure.prefix()
            && let Some((name, rest)) = text.split_at_checked(prefix.len())
            && name.eq_ignore_ascii_case(prefix)
        {
            return Some((measure, rest.trim_start()));
        }
        if Quantity::parse(text, &measure.unit).is_ok() {
            return Some((measure, text));
        }
    }
    Some((measures.first()?, text))
}

/// Returns a quantity by the one of some measures that its unit belongs to.
fn in_one_of(
    value: &Value<'_>,
    text: &str,
    measures: &'static [Measure],
) -> Option<(usize, Reading)> {
    let belongs = |measure: &'static Measure| {
        Quantity::parse(text, &measure.unit)
            .is_ok_and(|read| read.unit.dimension == measure.unit.dimension)
    };
    if text.ends_with(|c: char| c.is_ascii_digit()) && measures.iter().any(belongs) {
        value.found.add(|| {
            let units: Vec<&str> = measures.iter().map(|m| m.unit.symbol).collect();
            value
                .problem(Code::UnknownUnit, format!("{} has no unit.", value.name))
                .right(match units.as_slice() {
                    [unit] => format!("with its unit: {unit}"),
                    units => format!("with its unit: one of {}", units.join(", ")),
                })
        });
        return None;
    }
    let measure = measures.iter().position(belongs).unwrap_or(0);
    Some((
        measure,
        value.at(quantity(value, text, &measures[measure])?),
    ))
}

/// Returns two quantities in one of some measures, the lower one first, and which of the measures they are in. A unit
/// written once holds for both.
fn from_to(
    value: &Value<'_>,
    (low, high): (&str, &str),
    measures: &'static [Measure],
) -> Option<(usize, [Reading; 2])> {
    let (measure, high) = in_one_of(value, high.trim(), measures)?;
    let unit = high.value.unit.symbol;
    let low = low.trim();
    let bare = low.ends_with(|c: char| c.is_ascii_digit() || c == '.');
    let low = if bare {
        format!("{low} {unit}")
    } else {
        low.to_owned()
    };
    let low = value.at(quantity(value, &low, &measures[measure])?);
    if low.value.value < high.value.value {
        return Some((measure, [low, high]));
    }
    value.found.add(|| {
        let headline = format!("{} does not have its lower value first.", value.name);
        let right = format!("the lower value first, as in 3 to 8 {unit}");
        value.problem(Code::NotARange, headline).right(right)
    });
    None
}

/// Returns the choice that a value names.
fn chosen<T: Copy>(value: &Value<'_>, choice: &Choice<T>) -> Option<At<T>> {
    let listed = || choice.words().collect::<Vec<_>>().join(", ");
    let text = value.scalar(&format!("one of {}", listed()))?;
    if let Some(meaning) = words::meaning(choice, text) {
        return Some(value.at(meaning));
    }
    value.found.add(|| {
        let problem = value.problem(
            Code::UnknownChoice,
            format!("{} cannot be {text}.", value.name),
        );
        problem.perhaps(nearest(text, choice.words()), &listed())
    });
    None
}

/// Returns the quantity that `text` at a value says.
pub(super) fn quantity(
    value: &Value<'_>,
    text: &str,
    measure: &'static Measure,
) -> Option<Quantity> {
    let name = &value.name;
    if value.node.is_empty() {
        value
            .found
            .add(|| value.blank(format!("a quantity{}", measure.unless_written())));
        return None;
    }
    let wanted = measure.unit.dimension;
    let quantity = match Quantity::parse(text, &measure.unit) {
        Ok(quantity) => quantity,
        Err(error) => {
            value.found.add(|| {
                let units = || Unit::symbols(wanted).collect::<Vec<_>>().join(", ");
                if let Some((amiss, right)) = quantity_suggestions::suggest(text, measure) {
                    return value
                        .problem(Code::NotANumber, format!("{name} {amiss}."))
                        .right(right);
                }
                match &error {
                    NotAQuantity::Number(_) if text.contains(',') => {
                        let (numbers, why) = commas::suggest(text, measure).unwrap_or_default();
                        let why = if numbers.is_empty() {
                            error.to_string()
                        } else {
                            why.to_owned()
                        };
                        let headline = format!("{name} cannot be read as a number: {why}.");
                        value
                            .problem(Code::NotANumber, headline)
                            .right(if numbers.is_empty() {
                                format!("a decimal number{}", measure.unless_written())
                            } else {
                                numbers.join(" or ")
                            })
                    }
                    NotAQuantity::Number(why) => value
                        .problem(
                            Code::NotANumber,
                            format!("{name} cannot be read as a number: {why}."),
                        )
                        .right(format!("a decimal number{}", measure.unless_written())),
                    NotAQuantity::Uncertainty(why) => value
                        .problem(
                            Code::NotAnUncertainty,
                            format!("The uncertainty of {name} cannot be read: {why}."),
                        )
                        .right(
                            "a standard uncertainty after ±, as in 12.340 ± 0.002; or no ± at all",
                        ),
                    NotAQuantity::UnknownUnit { unit, .. } => {
                        let problem = value.problem(Code::UnknownUnit, format!("{name}: {error}."));
                        let meant = quantity_suggestions::unit_named(unit)
                            .filter(|symbol| Unit::symbols(wanted).any(|known| known == *symbol))
                            .or_else(|| nearest(unit, Unit::symbols(wanted)));
                        problem.perhaps(meant, &units())
                    }
                    NotAQuantity::WrongDimension { unit, .. } => value
                        .problem(
                            Code::WrongDimension,
                            format!("{name} has {} where a {wanted} belongs.", unit.symbol),
                        )
                        .right(format!("one of {}", units())),
                }
            });
            return None;
        }
    };
    if !measure.allows(quantity.value) {
        value.found.add(|| {
            let problem = value.problem(
                Code::OutOfRange,
                if quantity.value > FAR_BEYOND {
                    format!("{name} is far too large for a bench.")
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
