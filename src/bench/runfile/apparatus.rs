//! Vessels and instruments.

use super::diagnostics::{Diagnostics, Reported};
use super::fields::{Fields, Value};
use super::model::{
    Apparatus, ApparatusKind, At, Glass, InstrumentScale, Reading, ScaleKind, Shows, Spread,
};
use super::name_table::NameTable;
use super::slips;
use super::vocabulary::KeyInfo;
use super::words;
use crate::bench::quantity::Dimension;
use crate::problem::{Code, Problem};

/// The apparatus of the file.
pub(super) type Bench = NameTable<Apparatus>;

pub(super) fn read(run: &Fields<'_>) -> Bench {
    let named = run
        .value(&words::APPARATUS)
        .map(|section| section.read_named("apparatus"))
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
        let item = read_one(name, &value);
        bench.items.push(item);
    }
    bench
}

fn read_one(name: At<String>, value: &Value<'_>) -> Option<Apparatus> {
    let kind = kind_of(value)?;
    let (section, _) = words::APPARATUS_KEYS
        .iter()
        .find(|(_, kinds)| kinds.contains(&kind))?;
    let fields = value.fields(section)?;
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
        scale: None,
        note: fields.text(&words::NOTE).map(|text| text.value),
    };
    let complete = match kind {
        ApparatusKind::Balance => {
            apparatus.readability = fields.measure(&words::BALANCE_READABILITY);
            apparatus.repeatability = fields.measure(&words::BALANCE_REPEATABILITY);
            apparatus.linearity = fields.measure(&words::LINEARITY);
            apparatus.readability.is_some()
        }
        ApparatusKind::Thermometer => {
            apparatus.readability = fields.measure(&words::THERMOMETER_READABILITY);
            apparatus.repeatability = fields.measure(&words::THERMOMETER_REPEATABILITY);
            apparatus.accuracy = fields.measure(&words::ACCURACY);
            let stated =
                fields.has(&words::THERMOMETER_READABILITY) || fields.has(&words::ACCURACY);
            note_limits(
                value,
                stated,
                "neither readability nor accuracy",
                "`readability: 0.1 °C`, or `accuracy: 0.2 °C`",
            );
            stated
        }
        ApparatusKind::Hydrometer | ApparatusKind::DensityMeter => {
            apparatus.readability = fields.scaled(&words::DENSITY_READABILITY);
            apparatus.repeatability = fields.scaled(&words::DENSITY_REPEATABILITY);
            apparatus.accuracy = fields.scaled(&words::DENSITY_ACCURACY);
            let scale = scale(&fields);
            let sound = scale.is_ok();
            apparatus.scale = scale.unwrap_or_default();
            if sound {
                on_its_scale(value.found, &apparatus);
            }
            let stated =
                fields.has(&words::DENSITY_READABILITY) || fields.has(&words::DENSITY_ACCURACY);
            note_limits(
                value,
                stated,
                "neither readability nor accuracy",
                "`readability: 0.0005 g/mL`, or `accuracy: 0.001 g/mL`",
            );
            stated && sound
        }
        _ => {
            apparatus.capacity = fields.measure(&words::CAPACITY);
            if kind == ApparatusKind::Burette {
                apparatus.division = fields.measure(&words::DIVISION);
            }
            apparatus.class = fields.choice(&words::CLASS);
            apparatus.tolerance = fields.measure(&words::TOLERANCE);
            apparatus.spread = fields
                .choice(&words::SPREAD)
                .map_or(Spread::Triangular, |spread| spread.value);
            apparatus.glass = fields
                .choice(&words::GLASS)
                .map_or(Glass::Borosilicate, |glass| glass.value);
            apparatus.repeatability = fields.measure(&words::WARE_REPEATABILITY);
            let stated = fields.has(&words::CLASS) || fields.has(&words::TOLERANCE);
            note_limits(
                value,
                stated,
                "neither class nor tolerance",
                "`class: A`, `class: B`, or `tolerance: 0.05 mL`",
            );
            stated && apparatus.capacity.is_some()
        }
    };
    complete.then_some(apparatus)
}

/// Returns the scale of a hydrometer or density meter; or an error if its definition is not complete.
fn scale(fields: &Fields<'_>) -> Result<Option<InstrumentScale>, Reported> {
    let kind = fields.choice(&words::SCALE);
    let standard = fields.measure(&words::STANDARD);
    let water = fields.measure(&words::SCALE_WATER);
    let modulus = fields.measure(&words::MODULUS);
    let saturated = fields.measure(&words::SATURATED);
    let unread = fields.has(&words::SCALE) && kind.is_none()
        || fields.has(&words::STANDARD) && standard.is_none()
        || fields.has(&words::SCALE_WATER) && water.is_none()
        || fields.has(&words::MODULUS) && modulus.is_none()
        || fields.has(&words::SATURATED) && saturated.is_none();
    if unread {
        return Err(Reported);
    }
    let told = kind.as_ref().map(|kind| kind.entry.clone());
    let told = told.or_else(|| standard.as_ref().map(|standard| standard.entry.clone()));
    let kind = kind.map_or(ScaleKind::Density, |kind| kind.value);
    for (given, belongs, of) in [
        (&water, ScaleKind::SpecificGravity, "a specific gravity"),
        (&modulus, ScaleKind::DegreesBaume, "degrees Baumé"),
        (&saturated, ScaleKind::Saturation, "percent of saturation"),
    ] {
        if let Some(stray) = given.as_ref().filter(|_| kind != belongs) {
            fields.found.add(|| {
                Code::NotOfThisScale
                    .error(format!("{} belongs to a scale of {of}.", stray.entry.name))
                    .at_entry(&stray.entry)
                    .right("no such key, or the scale of the instrument")
            });
            return Err(Reported);
        }
    }
    let Some(entry) = told else {
        return Ok(None);
    };
    let lacking = |key: &str, right: &str| {
        let why = format!("{key}: {right}");
        fields.found.add(|| fields.missing(key, why));
    };
    let shows = match (kind, modulus, saturated) {
        (ScaleKind::Density, ..) => Some(Shows::Density),
        (ScaleKind::SpecificGravity, ..) => Some(Shows::SpecificGravity(water)),
        (ScaleKind::DegreesBaume, Some(modulus), _) => Some(Shows::DegreesBaume(modulus)),
        (ScaleKind::Saturation, _, Some(saturated)) => Some(Shows::Saturation(saturated)),
        (ScaleKind::DegreesBaume, ..) => {
            lacking(
                words::MODULUS.name,
                "145, 144, 144.3 or 146.78, as marked on its scale; several are in use",
            );
            None
        }
        (ScaleKind::Saturation, ..) => {
            lacking(
                words::SATURATED.name,
                "26.395 %, 26.5 % or 25 %, as marked on its scale; several are in use",
            );
            None
        }
    };
    if standard.is_none() {
        lacking(
            words::STANDARD.name,
            "the reference temperature of its scale, such as 60 °F or 20 °C",
        );
    }
    match (shows, standard) {
        (Some(shows), Some(standard)) => Ok(Some(InstrumentScale {
            shows,
            standard,
            entry,
        })),
        _ => Err(Reported),
    }
}

/// Notes what is stated of an instrument on another scale than its own.
fn on_its_scale(found: &Diagnostics, apparatus: &Apparatus) {
    let stated = [
        &apparatus.readability,
        &apparatus.repeatability,
        &apparatus.accuracy,
    ];
    for reading in stated.into_iter().flatten() {
        is_on_another_scale(found, reading, apparatus);
    }
}

/// Notes a quantity that is on another scale than the instrument's.
pub(super) fn is_on_another_scale(
    found: &Diagnostics,
    reading: &Reading,
    apparatus: &Apparatus,
) -> bool {
    let scale = apparatus.scale.as_ref();
    let wanted = scale.map_or(Dimension::Density, |scale| scale.shows.kind().dimension());
    let given = reading.value.unit.dimension;
    if given == wanted {
        return false;
    }
    let form = |dimension| match dimension {
        Dimension::SpecificGravity => "specific gravity 1.152",
        Dimension::DegreesBaume => "19.1 °Bé",
        Dimension::Saturation => "76 % saturation",
        _ => "1.1500 g/mL",
    };
    found.add(|| {
        let name = &apparatus.name.value;
        let problem = Code::OnAnotherScale
            .error(format!(
                "{} is a {given}, but {name} shows a {wanted}.",
                reading.entry.name
            ))
            .at_entry(&reading.entry)
            .read(reading.value.number.text.as_str());
        let problem = problem.right(format!(
            "written as {}, or the scale of {name} under its `{}`",
            form(wanted),
            words::SCALE.name
        ));
        match scale {
            Some(scale) => problem.also(scale.entry.span.clone(), "its scale"),
            None => problem,
        }
    });
    true
}

/// Returns the kind, read ahead of the other keys because it decides which they are.
fn kind_of(value: &Value<'_>) -> Option<ApparatusKind> {
    use super::tree::Content;
    static KIND_ALONE: super::vocabulary::Section =
        super::vocabulary::Section::new("apparatus", &[&words::KIND]);
    let Content::Map(pairs) = &value.node.content else {
        return value.fields(&KIND_ALONE).and(None);
    };
    let Some((key, node)) = pairs.iter().find(|(key, _)| key.text == words::KIND.name) else {
        let slip =
            (0..pairs.len()).find_map(|index| slips::find(&value.name, pairs, index, &KIND_ALONE));
        if let Some(slip) = slip {
            value.found.add(|| slip.problem);
            return None;
        }
        value.found.add(|| {
            Code::MissingKey
                .error(format!("`kind` is missing in {}.", value.name))
                .at(value.child(words::KIND.name), value.key_span.clone())
                .right(words::KIND.expected())
        });
        return None;
    };
    let alone = Value::at_key(value.found, (key, node), value.child(&key.text));
    if node.is_empty() {
        value.found.add(|| alone.blank(words::KIND.expected()));
        return None;
    }
    Fields::of_one(value.clone(), words::KIND.name, alone)
        .choice(&words::KIND)
        .map(|kind| kind.value)
}

/// Notes where limits of error are not stated.
fn note_limits(value: &Value<'_>, stated: bool, lacking: &str, right: &str) {
    if !stated {
        value.found.add(|| limits_unknown(value, lacking, right));
    }
}

fn limits_unknown(value: &Value<'_>, lacking: &str, right: &str) -> Problem {
    Code::LimitsUnknown
        .error(format!("{} has {lacking}.", value.name))
        .at(value.name.clone(), value.key_span.clone())
        .right(right)
}

/// Returns the kind that a word names.
pub(super) fn kind(text: &str) -> Option<ApparatusKind> {
    words::meaning(&words::KIND.form, text)
}

/// Returns the word for a kind.
pub(super) fn word(kind: ApparatusKind) -> &'static str {
    words::KIND
        .form
        .0
        .iter()
        .find(|(_, listed)| *listed == kind)
        .map_or("", |(word, _)| word)
}
