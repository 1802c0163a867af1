//! Vessels and instruments.

use super::fields::{Fields, Value};
use super::found::Found;
use super::model::{Apparatus, ApparatusKind, At, Glass, Spread};
use super::register::Register;
use super::slips;
use super::vocabulary::Described;
use super::words;
use crate::problem::{Code, Problem};

/// The apparatus of the file.
pub(super) type Bench = Register<Apparatus>;

pub(super) fn read(found: &mut Found, run: &Fields<'_>) -> Bench {
    let named = run
        .value(&words::APPARATUS)
        .map(|section| section.named(found, "apparatus"))
        .unwrap_or_default();
    let complete = !run.has(&words::APPARATUS)
        || run
            .value(&words::APPARATUS)
            .is_some_and(Value::has_all_names);
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
    let (section, _) = words::APPARATUS_KEYS
        .iter()
        .find(|(_, kinds)| kinds.contains(&kind))?;
    let fields = value.fields(found, section)?;
    let mut apparatus = Apparatus {
        name,
        kind,
        capacity: None,
        division: None,
        class: None,
        tolerance: None,
        spread: Spread::Triangular,
        glass: Glass::Borosilicate,
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
        ApparatusKind::Hydrometer | ApparatusKind::DensityMeter => {
            apparatus.readability = fields.measure(found, &words::DENSITY_READABILITY);
            apparatus.repeatability = fields.measure(found, &words::DENSITY_REPEATABILITY);
            apparatus.accuracy = fields.measure(found, &words::DENSITY_ACCURACY);
            let stated =
                fields.has(&words::DENSITY_READABILITY) || fields.has(&words::DENSITY_ACCURACY);
            if !stated {
                found.add(|| {
                    limits_unknown(
                        value,
                        "neither readability nor accuracy",
                        "readability: 0.0005 g/mL, or accuracy: 0.001 g/mL",
                    )
                });
            }
            stated
        }
        _ => {
            apparatus.capacity = fields.measure(found, &words::CAPACITY);
            if kind == ApparatusKind::Burette {
                apparatus.division = fields.measure(found, &words::DIVISION);
            }
            apparatus.class = fields.choice(found, &words::CLASS);
            apparatus.tolerance = fields.measure(found, &words::TOLERANCE);
            apparatus.spread = fields
                .choice(found, &words::SPREAD)
                .map_or(Spread::Triangular, |spread| spread.value);
            apparatus.glass = fields
                .choice(found, &words::GLASS)
                .map_or(Glass::Borosilicate, |glass| glass.value);
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
    static KIND_ALONE: super::vocabulary::Section =
        super::vocabulary::Section::of("apparatus", &[&words::KIND]);
    let Content::Map(pairs) = &value.node.content else {
        return value.fields(found, &KIND_ALONE).and(None);
    };
    let Some((key, node)) = pairs.iter().find(|(key, _)| key.text == words::KIND.name) else {
        let slip = (0..pairs.len()).find_map(|index| slips::at(value, pairs, index, &KIND_ALONE));
        if let Some(slip) = slip {
            found.add(|| slip.problem);
            return None;
        }
        found.add(|| {
            Problem::error(Code::MissingKey, format!("{} has no kind.", value.name))
                .at(value.child(words::KIND.name), value.key_place.clone())
                .right(words::KIND.wanted())
        });
        return None;
    };
    let alone = Value {
        node,
        name: value.child(&key.text),
        key_place: Some(key.place.clone()),
    };
    if node.is_empty() {
        found.add(|| alone.blank(words::KIND.wanted()));
        return None;
    }
    Fields::of_one(value.clone(), words::KIND.name, alone)
        .choice(found, &words::KIND)
        .map(|kind| kind.value)
}

fn limits_unknown(value: &Value<'_>, lacking: &str, right: &str) -> Problem {
    Problem::error(
        Code::LimitsUnknown,
        format!("{} has {lacking}.", value.name),
    )
    .at(value.name.clone(), value.key_place.clone())
    .right(right)
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
