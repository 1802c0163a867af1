//! Finding the instrument of a reading, named or not, and checking that it fits.

use super::apparatus::{Bench, word};
use super::diagnostics::{Diagnostics, Reported};
use super::fields::{Fields, Value};
use super::fitting::{self, Piece};
use super::model::{ApparatusKind, At, Reading, Ref};
use super::vocabulary::{ApparatusName, Key};
use crate::problem::{Code, Problem};

/// The instrument that an entry names, if any; or one that cannot be used.
pub(super) type Instrument = Result<Option<Ref>, Reported>;

impl Bench {
    /// Returns the instrument named at a key.
    pub(super) fn find_named(&self, fields: &Fields<'_>, key: &Key<ApparatusName>) -> Instrument {
        if !fields.has(key) {
            return Ok(None);
        }
        let Some(value) = fields.value(key) else {
            return Err(Reported);
        };
        let Some(name) = value.scalar("the name of a piece of apparatus") else {
            return Err(Reported);
        };
        let Some(index) = self.find(name) else {
            if !self.complete {
                return Err(Reported);
            }
            fields.found.add(|| {
                let problem = value.problem(
                    Code::UnknownApparatus,
                    format!(
                        "{} names {name}, which is not among the apparatus.",
                        value.name
                    ),
                );
                let none = "a name from the section apparatus, which is missing or empty";
                self.suggest(problem, name, none)
            });
            return Err(Reported);
        };
        let allowed = key.form.0;
        match self.get(index) {
            None => Err(Reported),
            Some(item) if !allowed.contains(&item.kind) => {
                let kinds = alternatives(allowed);
                fields.found.add(|| {
                    value
                        .problem(
                            Code::WrongApparatus,
                            format!(
                                "{} names a {} where a {kinds} belongs.",
                                value.name,
                                word(item.kind)
                            ),
                        )
                        .right(format!("the name of a {kinds}"))
                        .also(
                            item.name.entry.span.clone(),
                            format!("{name} is a {}", word(item.kind)),
                        )
                });
                Err(Reported)
            }
            Some(_) => Ok(Some(value.at(index))),
        }
    }

    /// Returns the instrument of `kind` that an entry with these readings is left with when none is named for it: the
    /// only one there is, or none where `stated`, that is where every reading states its own uncertainty.
    pub(super) fn only(&self, kind: ApparatusKind, stated: bool, entry: &Value<'_>) -> Option<Ref> {
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
            (Some((index, Some(item))), None) if all_read => {
                Some(At::new(index, item.name.entry.clone()))
            }
            (None, _) if all_read => {
                let right = format!("a {word} under `apparatus`, or ± with each reading");
                no_instrument(
                    entry,
                    &format!("no {word} is named, and none is among the apparatus"),
                    right,
                );
                None
            }
            (Some(_), Some(_)) => {
                let right = format!("`{word}`: its name");
                no_instrument(
                    entry,
                    &format!("no {word} is named, and there is more than one"),
                    right,
                );
                None
            }
            _ => None,
        }
    }

    /// Returns the balance of an entry: the one it names, or the only one.
    pub(super) fn balance(
        &self,
        named: Instrument,
        stated: bool,
        entry: &Value<'_>,
    ) -> Option<Ref> {
        let only = || self.only(ApparatusKind::Balance, stated, entry);
        named.ok()?.or_else(only)
    }

    /// Returns the only instrument of some kinds, where all could be read and there is one.
    pub(super) fn only_of(&self, kinds: &[ApparatusKind]) -> Option<Ref> {
        self.referred(fitting::only(&self.pieces()?, kinds)?)
    }

    /// Returns the pieces to choose from; `None` if one could not be read.
    fn pieces(&self) -> Option<Vec<Piece<usize>>> {
        if !self.complete {
            return None;
        }
        let pieces = self.items.iter().enumerate().map(|(index, item)| {
            let item = item.as_ref()?;
            Some(Piece {
                item: index,
                kind: item.kind,
                capacity: item.capacity.as_ref().map(|capacity| capacity.value.value),
            })
        });
        pieces.collect()
    }

    /// Returns a reference to apparatus that is not named at an entry.
    fn referred(&self, index: usize) -> Option<Ref> {
        let entry = self.get(index)?.name.entry.clone();
        Some(At::new(index, entry))
    }

    /// Checks a volume against the ware that measures it; where it may be `counted`, it can be several deliveries.
    pub(super) fn check_volume(
        &self,
        found: &Diagnostics,
        ware: &Ref,
        volume: &Reading,
        counted: bool,
    ) {
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
        // Ware is made for capacities of two digits at most: one of more is misread, if the volume is not.
        let (odd, round) = (significant(capacity), significant(volume));
        let other_unit = capacity.value.unit != volume.value.unit
            && (capacity.value.number.value - volume.value.number.value).abs() <= slack;
        let one_mark = item.kind.has_one_mark();
        if one_mark && (measured - holds).abs() > slack && (odd > round.max(2) || other_unit) {
            found.add_once(
                format!("capacity of {name}"),
                &volume.entry.span,
                || {
                    about(
                        capacity,
                        Code::OffTheMark,
                        format!(
                            "The capacity of {name}, which has one mark, is not the volume measured with it."
                        ),
                    )
                    .right(format!(
                        "{}; or other ware for that volume",
                        self::write_reading(volume)
                    ))
                    .also(volume.entry.span.clone(), "the volume")
                },
            );
        } else if one_mark && (measured - holds).abs() > slack {
            found.add(|| {
                about(
                    volume,
                    Code::OffTheMark,
                    format!(
                        "{} is not the volume of {name}, which has one mark.",
                        volume.entry.name
                    ),
                )
                .right(match item.kind {
                    ApparatusKind::Pipette => match whole_times(measured / holds) {
                        Some(times) if counted => {
                            format!("{times} × {}, or other ware", written())
                        }
                        _ => format!("{} for each delivery, or other ware", written()),
                    },
                    _ => format!("{}, or another vessel", written()),
                })
                .also(
                    capacity.entry.span.clone(),
                    format!("the capacity of {name}"),
                )
            });
        } else if measured > holds + slack {
            found.add(|| {
                about(
                    volume,
                    Code::OverCapacity,
                    format!("{} is more than {name} holds.", volume.entry.name),
                )
                .right(format!("{} at most", written()))
                .also(
                    capacity.entry.span.clone(),
                    format!("the capacity of {name}"),
                )
            });
        }
    }
}

/// Returns how many digits a reading has but for zeros at its end and start.
fn significant(reading: &Reading) -> usize {
    let digits = reading.value.number.text.chars();
    let digits: String = digits.filter(char::is_ascii_digit).collect();
    digits.trim_matches('0').len()
}

/// Returns a ratio that is a whole number of deliveries.
fn whole_times(ratio: f64) -> Option<u32> {
    (2..=100).find(|times| (ratio - f64::from(*times)).abs() < 1e-9)
}

/// Returns the words for some kinds: `flask or cylinder`.
fn alternatives(kinds: &[ApparatusKind]) -> String {
    let words: Vec<&str> = kinds.iter().map(|kind| word(*kind)).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// Notes that an instrument is missing.
pub(super) fn no_instrument(entry: &Value<'_>, why: &str, right: String) {
    let span = entry.key_span.as_ref().unwrap_or(&entry.node.span);
    entry.found.add_once(why.to_owned(), span, || {
        Code::NoInstrument
            .error(format!("For {}, {why}.", entry.name))
            .at(entry.name.clone(), Some(span.clone()))
            .right(right)
    });
}

/// Returns a problem with a reading.
pub(super) fn about(reading: &Reading, code: Code, headline: impl Into<String>) -> Problem {
    code.error(headline)
        .at_entry(&reading.entry)
        .read(write_reading(reading))
}

/// Returns a reading's number and unit.
pub(super) fn write_reading(reading: &Reading) -> String {
    reading.value.as_written()
}

/// Returns whether a reading states its own uncertainty.
pub(super) fn states(reading: &Reading) -> bool {
    reading.value.standard_uncertainty.is_some()
}

/// Returns the ware that measures volumes: the one named, or the only one that fits ([`fitting::ware`]). `None` if none
/// is named and every volume states its own uncertainty.
pub(super) fn ware(
    named: Instrument,
    volumes: &[&Reading],
    entry: &Value<'_>,
    key: &'static Key<ApparatusName>,
    bench: &Bench,
) -> Result<Option<Ref>, Reported> {
    /// More names than these do not help.
    const MOST_LISTED: usize = 12;
    let named = named?;
    if named.is_some() || volumes.iter().all(|volume| states(volume)) {
        return Ok(named);
    }
    let pieces = bench.pieces().ok_or(Reported)?;
    let kinds = key.form.0;
    let measured: Vec<f64> = volumes.iter().map(|volume| volume.value.value).collect();
    let only = fitting::ware(&pieces, kinds, &measured);
    if let Some(ware) = only.and_then(|index| bench.referred(index)) {
        return Ok(Some(ware));
    }
    let fits = bench.items.iter().flatten();
    let fits = fits.filter(|item| kinds.contains(&item.kind));
    let names: Vec<&str> = (fits.take(MOST_LISTED))
        .map(|item| item.name.value.as_str())
        .collect();
    let (name, kinds) = (key.name, alternatives(kinds));
    let right = match names.as_slice() {
        [] => format!("a {kinds} under `apparatus`; or ± with the volume"),
        names => format!(
            "`{name}`: one of {}; or ± with the volume",
            names.join(", ")
        ),
    };
    let why = format!("the ware that measured the volume is not named ({name})");
    no_instrument(entry, &why, right);
    Err(Reported)
}
