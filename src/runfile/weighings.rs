//! Known volumes weighed.

use super::densities::Section;
use super::fields::Value;
use super::found::Found;
use super::instrument::{Instrument, about, states, ware};
use super::model::{Reading, Replicate};
use super::tree::Content;
use super::ware_calibration::{EMPTY_VESSEL, heavier};
use super::words::{self, DENSITY_READ};
use crate::problem::Problem;

/// The weighings of a solution; none where one of them could not be read.
pub(super) fn replicates(
    found: &mut Found,
    section: &Section<'_>,
    value: &Value<'_>,
) -> Option<Vec<Replicate>> {
    let items = value.numbered();
    if items.is_empty() || value.node.is_empty() {
        found.add(|| {
            Problem::error(
                "nothing-written",
                format!("{} has no weighing.", value.name),
            )
            .at(value.name.clone(), value.key_place.clone())
            .right("one weighing or more, each with empty, filled and volume")
        });
        return None;
    }
    if let Some(problem) = numbers_without_keys(value) {
        found.add(|| problem);
        return None;
    }
    let replicates: Vec<Option<Replicate>> = items
        .iter()
        .map(|item| replicate(found, section, item))
        .collect();
    let replicates: Vec<Replicate> = replicates.into_iter().collect::<Option<_>>()?;
    if replicates
        .iter()
        .all(|replicate| replicate.left_out.is_some())
    {
        found.add(|| {
            Problem::error(
                "all-left-out",
                format!("Every weighing of {} is left out.", value.name),
            )
            .at(value.name.clone(), value.key_place.clone())
            .right("one weighing at least that counts, or none at all")
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
        let headline = format!("{} names a file without saying so.", value.name);
        value
            .problem("wrong-shape", headline)
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
        _ => "a section for each weighing: {empty: …, filled: …, volume: …}".to_owned(),
    };
    let problem = value.problem("wrong-shape", headline);
    Some(problem.read(format!("[{}]", texts.join(", "))).right(right))
}

fn replicate(found: &mut Found, section: &Section<'_>, value: &Value<'_>) -> Option<Replicate> {
    let fields = value.fields(found, &words::REPLICATE_KEYS)?;
    let empty = fields.measure(found, &words::EMPTY);
    let filled = fields.measure(found, &words::FILLED);
    let volumes = fields.deliveries(found, &words::VOLUME_WEIGHED);
    let liquid = fields.measure(found, &words::LIQUID);
    let left_out = fields.account(found, &words::LEFT_OUT);
    let own_balance = section.bench.named(found, &fields, &words::BALANCE);
    let own_pipette = section.bench.named(found, &fields, &words::PIPETTE);
    let rinsed = fields.count(found, &words::RINSED);
    section.temperature(found, &fields, value);
    let (empty, filled, volumes) = (empty?, filled?, volumes?);
    // What is left out may well be left out for this.
    if left_out.is_none() {
        heavier(found, (&empty, EMPTY_VESSEL), &filled)?;
    }
    let stated = states(&empty) && states(&filled);
    let balance = section.balance(found, own_balance, stated, value);
    let pipette = ware(
        found,
        own_or(own_pipette, &section.pipette),
        volumes.iter().all(states),
        value,
        words::PIPETTE.name,
        section.bench,
    )
    .ok()?;
    if let Some(pipette) = &pipette {
        let before = found.count();
        for volume in &volumes {
            section
                .bench
                .check_volume(found, pipette, volume, volumes.len() == 1);
        }
        // A volume that is wrong makes a wrong density.
        if found.count() > before {
            return None;
        }
    }
    if left_out.is_none() {
        likely_density(found, value, [&empty, &filled], &volumes)?;
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

pub(super) fn own_or(own: Instrument, section: &Instrument) -> Instrument {
    match own {
        Instrument::Unnamed => section.clone(),
        named => named,
    }
}

/// Notes a weighing whose density no brine has, within the limits of a density that is read. A point that brings it back
/// when it is moved in one of the readings is named.
fn likely_density(
    found: &mut Found,
    value: &Value<'_>,
    [empty, filled]: [&Reading; 2],
    volumes: &[Reading],
) -> Option<()> {
    let limits = &DENSITY_READ.form;
    // Of several deliveries, a slip is looked for in the masses.
    let whole: f64 = volumes.iter().map(|volume| volume.value.value).sum();
    let volume = &volumes[0];
    let readings = if volumes.len() > 1 {
        vec![empty, filled]
    } else {
        vec![empty, filled, volume]
    };
    let density = |read: &[f64]| match *read {
        [empty, filled, volume] => (filled - empty) / volume,
        [empty, filled] => (filled - empty) / whole,
        _ => f64::NAN,
    };
    let read: Vec<f64> = readings.iter().map(|reading| reading.value.value).collect();
    let found_density = density(&read);
    if limits.allows(found_density) {
        return Some(());
    }
    found.add(|| {
        let mut meant = Vec::new();
        for (index, reading) in readings.iter().enumerate() {
            for power in [-3, -2, -1, 1, 2, 3] {
                let mut moved = read.clone();
                moved[index] *= 10f64.powi(power);
                let number = point_moved(reading, power);
                if let Some(number) = number.filter(|_| limits.allows(density(&moved))) {
                    let key = reading.entry.name.rsplit('.').next().unwrap_or_default();
                    meant.push(format!("{key}: {number} {}", reading.value.unit.symbol));
                }
            }
        }
        let slip = match meant.as_slice() {
            [] => "a slip in one of the three".to_owned(),
            meant => format!(
                "perhaps a decimal point lost or moved: {}",
                meant.join(", or ")
            ),
        };
        let headline = format!(
            "{} comes to {found_density:.3} g/mL, which no brine has.",
            value.name
        );
        about(filled, "density-far-off", headline)
            .right(format!("a density {}; {slip}", limits.limits))
            .also(empty.entry.place.clone(), "the vessel empty")
            .also(volume.entry.place.clone(), "the volume")
    });
    None
}

/// A reading's number with its point moved, where it is written without a power of ten and digits stay on both sides.
fn point_moved(reading: &Reading, power: i32) -> Option<String> {
    let number = &reading.value.number;
    let decimals = -(number.last_place + power);
    if number.text.contains(['e', 'E']) || !(0..=6).contains(&decimals) {
        return None;
    }
    let value = number.value * 10f64.powi(power);
    (value >= 0.1).then(|| format!("{value:.*}", decimals.unsigned_abs() as usize))
}
