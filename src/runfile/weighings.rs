//! Known volumes weighed.

use super::densities::Section;
use super::fields::Value;
use super::found::Found;
use super::instrument::{Instrument, states, ware};
use super::model::Replicate;
use super::ware_calibration::{EMPTY_VESSEL, heavier};
use super::words;
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

fn replicate(found: &mut Found, section: &Section<'_>, value: &Value<'_>) -> Option<Replicate> {
    let fields = value.fields(found, &words::REPLICATE_KEYS)?;
    let empty = fields.measure(found, &words::EMPTY);
    let filled = fields.measure(found, &words::FILLED);
    let volume = fields.measure(found, &words::VOLUME);
    let liquid = fields.measure(found, &words::LIQUID);
    let left_out = fields.text(found, &words::LEFT_OUT);
    let own_balance = section.bench.named(found, &fields, &words::BALANCE);
    let own_pipette = section.bench.named(found, &fields, &words::PIPETTE);
    let rinsed = fields.count(found, &words::RINSED);
    section.temperature(found, &fields, value);
    let (empty, filled, volume) = (empty?, filled?, volume?);
    // What is left out may well be left out for this.
    if left_out.is_none() {
        heavier(found, (&empty, EMPTY_VESSEL), &filled)?;
    }
    let stated = states(&empty) && states(&filled);
    let balance = section.balance(found, own_balance, stated, value);
    let pipette = ware(
        found,
        own_or(own_pipette, &section.pipette),
        states(&volume),
        value,
        words::PIPETTE.name,
        section.bench,
    )
    .ok()?;
    if let Some(pipette) = &pipette {
        section.bench.check_volume(found, pipette, &volume);
    }
    Some(Replicate {
        empty,
        filled,
        volume,
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
