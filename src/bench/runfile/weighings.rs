//! Known volumes weighed.

use super::apparatus::Bench;
use super::conditions::{HERE_OR_THERE, Surroundings};
use super::fields::{Fields, Value};
use super::instrument::{Instrument, about, states, ware};
use super::meant;
use super::model::{Reading, Ref, Replicate};
use super::solutions::Solutions;
use super::tree::Content;
use super::ware_calibration::{EMPTY_VESSEL, heavier};
use super::words::{self, DENSITIES};
use crate::problem::{Code, Problem};

/// Returns the weighings of a solution; `None` if one of them could not be read.
pub(super) fn replicates(section: &Section<'_>, value: &Value<'_>) -> Option<Vec<Replicate>> {
    let items = value.numbered();
    if items.is_empty() || value.node.is_empty() {
        value.found.add(|| {
            Code::NothingWritten
                .error(format!("{} has no weighings.", value.name))
                .at(value.name.clone(), value.key_span.clone())
                .right("one weighing or more, each with `empty`, `filled` and `volume`")
        });
        return None;
    }
    if let Some(problem) = numbers_without_keys(value) {
        value.found.add(|| problem);
        return None;
    }
    let replicates: Vec<Option<Replicate>> =
        items.iter().map(|item| replicate(section, item)).collect();
    let replicates: Vec<Replicate> = replicates.into_iter().collect::<Option<_>>()?;
    if replicates
        .iter()
        .all(|replicate| replicate.left_out.is_some())
    {
        value.found.add(|| {
            Code::AllLeftOut
                .error(format!("Every weighing of {} is left out.", value.name))
                .at(value.name.clone(), value.key_span.clone())
                .right("at least one weighing that is not left out, or none at all")
        });
        return None;
    }
    Some(replicates)
}

/// That a table is named where the weighings themselves, or `from` with its name, belong.
pub(super) fn table_without_from(value: &Value<'_>) -> Option<Problem> {
    let Content::Scalar { text, .. } = &value.node.content else {
        return None;
    };
    let folded = text.trim().to_lowercase();
    let is_table = [".csv", ".tsv", ".txt"]
        .iter()
        .any(|end| folded.ends_with(end));
    (is_table && value.name == words::WEIGHINGS.name).then(|| {
        let headline = format!("{} names a file without the key `from`.", value.name);
        value
            .problem(Code::WrongShape, headline)
            .right(format!("weighings: {{from: {}}}", text.trim()))
    })
}

/// That the readings of a weighing stand in a list without their keys.
fn numbers_without_keys(value: &Value<'_>) -> Option<Problem> {
    let Content::List(items) = &value.node.content else {
        return None;
    };
    let texts: Option<Vec<&str>> = items
        .iter()
        .map(|item| match &item.content {
            Content::Scalar { text, .. } => Some(text.trim()),
            _ => None,
        })
        .collect();
    let texts = texts.filter(|texts| texts.len() > 1)?;
    let headline = format!("{} lists readings without their keys.", value.name);
    let right = match texts.as_slice() {
        [empty, filled, volume] => {
            format!("[{{empty: {empty}, filled: {filled}, volume: {volume}}}]")
        }
        _ => "a section for each weighing: `{empty: …, filled: …, volume: …}`".to_owned(),
    };
    let problem = value.problem(Code::WrongShape, headline);
    Some(problem.read(format!("[{}]", texts.join(", "))).right(right))
}

fn replicate(section: &Section<'_>, value: &Value<'_>) -> Option<Replicate> {
    let fields = value.fields(&words::REPLICATE_KEYS)?;
    let empty = fields.measure(&words::EMPTY);
    let filled = fields.measure(&words::FILLED);
    let volumes = fields.deliveries(&words::VOLUME_WEIGHED);
    let liquid = fields.measure(&words::LIQUID);
    let left_out = fields.explanation(&words::LEFT_OUT);
    let own_balance = section.bench.find_named(&fields, &words::BALANCE);
    let own_pipette = section.bench.find_named(&fields, &words::PIPETTE);
    let rinsed = fields.count(&words::RINSED);
    section.temperature(&fields, value);
    let (empty, filled, volumes) = (empty?, filled?, volumes?);
    // What is left out may well be left out for this.
    if left_out.is_none() {
        let volume = volumes.iter().map(|volume| volume.value.value).sum();
        heavier(value.found, (&empty, EMPTY_VESSEL), &filled, || {
            meant::of_weighing([&empty, &filled], volume)
        })?;
    }
    let stated = states(&empty) && states(&filled);
    let balance = section.balance(own_balance, stated, value);
    let measured: Vec<&Reading> = volumes.iter().collect();
    let pipette = ware(
        own_or(own_pipette, &section.pipette),
        &measured,
        value,
        &words::PIPETTE,
        section.bench,
    )
    .ok()?;
    if let Some(pipette) = &pipette {
        let before = value.found.count();
        for volume in &volumes {
            section
                .bench
                .check_volume(value.found, pipette, volume, volumes.len() == 1);
        }
        // A volume that is wrong makes a wrong density.
        if value.found.count() > before {
            return None;
        }
    }
    if left_out.is_none() {
        let ware = pipette
            .as_ref()
            .and_then(|with| section.bench.get(with.value));
        let measured = ware.is_none_or(|ware| !ware.kind.has_one_mark());
        likely_density(value, [&empty, &filled], &volumes, measured)?;
    }
    Some(Replicate {
        empty,
        filled,
        volumes,
        liquid,
        balance,
        pipette,
        rinsed,
        left_out,
        entry: value.entry(),
    })
}

/// What holds for the whole section unless an entry says otherwise.
pub(super) struct Section<'b> {
    pub(super) bench: &'b Bench,
    pub(super) solutions: &'b Solutions,
    pub(super) balance: Instrument,
    pub(super) pipette: Instrument,
    pub(super) conditions: &'b Surroundings,
}

impl Section<'_> {
    /// Returns the balance of an entry: its own, the section's, or the only one.
    pub(super) fn balance(&self, own: Instrument, stated: bool, entry: &Value<'_>) -> Option<Ref> {
        let balance = own_or(own, &self.balance);
        self.bench.balance(balance, stated, entry)
    }

    /// Notes where the temperature of a liquid is stated neither with an entry nor under the conditions.
    pub(super) fn temperature(&self, fields: &Fields<'_>, entry: &Value<'_>) {
        if !fields.has(&words::LIQUID) {
            self.conditions
                .temperature(entry, &entry.node.span, "liquid", HERE_OR_THERE);
        }
    }
}

pub(super) fn own_or(own: Instrument, section: &Instrument) -> Instrument {
    match own {
        Ok(None) => section.clone(),
        named => named,
    }
}

/// Notes a weighing of an impossible density, with possible corrections. `measured` says whether the volume is a reading,
/// which can be wrong.
fn likely_density(
    value: &Value<'_>,
    masses: [&Reading; 2],
    volumes: &[Reading],
    measured: bool,
) -> Option<()> {
    let [empty, filled] = masses;
    let limits = &DENSITIES;
    let whole: f64 = volumes.iter().map(|volume| volume.value.value).sum();
    let density = (filled.value.value - empty.value.value) / whole;
    if limits.allows(density) {
        return Some(());
    }
    value.found.add(|| {
        let volume = &volumes[0];
        let mut all = meant::of_weighing(masses, whole);
        // Of several deliveries no single volume is corrected.
        if measured && volumes.len() == 1 {
            all.extend(meant::of_volume(volume, density * whole));
        }
        let slip = match all.as_slice() {
            [] => "a slip in one of the three".to_owned(),
            all => format!("perhaps {}", all.join(", or ")),
        };
        let headline = format!(
            "{} gives {density:.3} g/mL, a density that no brine has.",
            value.name
        );
        about(filled, Code::DensityFarOff, headline)
            .right(format!("a density {}; {slip}", limits.limits))
            .also(empty.entry.span.clone(), "the empty vessel")
            .also(volume.entry.span.clone(), "the volume")
    });
    None
}
