//! Ware calibrated by weighing the water it delivers or holds.

use super::apparatus::{Bench, word};
use super::conditions::{HERE_OR_THERE, Surroundings};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::instrument::{about, states, write_reading};
use super::model::{At, Reading, Ref, WareCalibration, WaterWeighing};
use super::words;
use crate::problem::{Code, Problem};

/// Returns the calibrations; `None` if one of them could not be read.
pub(super) fn read(
    run: &Fields<'_>,
    bench: &Bench,
    conditions: &Surroundings,
) -> Option<Vec<WareCalibration>> {
    let Some(section) = run.value(&words::WARE_CALIBRATION) else {
        return (!run.has(&words::WARE_CALIBRATION)).then(Vec::new);
    };
    let mut all = Some(Vec::new());
    for (name, value) in section.read_named("ware calibrated") {
        let one = read_one(&name, &value, bench, conditions);
        match (one, &mut all) {
            (Some(one), Some(all)) => all.push(one),
            _ => all = None,
        }
    }
    all
}

fn read_one(
    name: &At<String>,
    value: &Value<'_>,
    bench: &Bench,
    conditions: &Surroundings,
) -> Option<WareCalibration> {
    let ware = ware(value.found, name, bench);
    let fields = value.fields(&words::WARE_CALIBRATION_KEYS)?;
    let liquid = fields.measure(&words::LIQUID);
    if !fields.has(&words::LIQUID) {
        let span = value.key_span.as_ref().unwrap_or(&value.node.span);
        conditions.temperature(value, span, "water", HERE_OR_THERE);
    }
    let volume = fields.measure(&words::CALIBRATED_VOLUME);
    let named = bench.find_named(&fields, &words::BALANCE);
    let list = fields.value(&words::WATER_WEIGHINGS)?;
    let weighings: Vec<Option<WaterWeighing>> =
        list.items().iter().map(|item| weighing(item)).collect();
    let weighings: Vec<WaterWeighing> = weighings.into_iter().collect::<Option<_>>()?;
    if weighings.iter().all(|weighing| weighing.left_out.is_some()) {
        value.found.add(|| {
            Code::AllLeftOut
                .error(format!("All weighings of {} are left out.", value.name))
                .at(list.name.clone(), list.key_span.clone())
                .right("at least one weighing that is not left out")
        });
        return None;
    }
    let stated = weighings
        .iter()
        .all(|w| states(&w.empty) && states(&w.filled));
    let balance = bench.balance(named, stated, value);
    let ware = ware?;
    if let Some(volume) = &volume {
        bench.check_volume(value.found, &ware, volume, false);
    }
    Some(WareCalibration {
        ware,
        volume,
        liquid,
        balance,
        weighings,
        entry: value.entry(),
    })
}

/// Returns the ware of a name.
fn ware(found: &Diagnostics, name: &At<String>, bench: &Bench) -> Option<Ref> {
    let entry = &name.entry;
    let at = |problem: Problem| problem.at_entry(entry).read(name.value.as_str());
    let Some(index) = bench.find(&name.value) else {
        if bench.complete {
            found.add(|| {
                let headline = format!("{} is not among the apparatus.", name.value);
                let none = "a name from the section apparatus, which is missing or empty";
                let problem = at(Code::UnknownApparatus.error(headline));
                bench.suggest(problem, &name.value, none)
            });
        }
        return None;
    };
    let item = bench.get(index)?;
    if item.capacity.is_none() {
        let kind = word(item.kind);
        found.add(|| {
            let headline = format!("{} is a {kind}, which holds no volume.", name.value);
            at(Code::WrongApparatus.error(headline))
                .right("the name of a pipette, burette, flask or cylinder")
        });
        return None;
    }
    Some(At::new(index, entry.clone()))
}

fn weighing(value: &Value<'_>) -> Option<WaterWeighing> {
    let fields = value.fields(&words::WATER_WEIGHING_KEYS)?;
    let empty = fields.measure(&words::EMPTY);
    let filled = fields.measure(&words::FILLED);
    let left_out = fields.explanation(&words::LEFT_OUT);
    let (empty, filled) = (empty?, filled?);
    if left_out.is_none() {
        heavier(value.found, (&empty, EMPTY_VESSEL), &filled, Vec::new)?;
    }
    Some(WaterWeighing {
        empty,
        filled,
        left_out,
        entry: value.entry(),
    })
}

/// What a filled vessel is heavier than.
pub(super) const EMPTY_VESSEL: &str = "the empty vessel";

/// Checks that a mass is larger than the one before it, named as `called`; otherwise notes a problem with the corrections
/// that `meant` finds.
pub(super) fn heavier(
    found: &Diagnostics,
    (before, called): (&Reading, &str),
    filled: &Reading,
    meant: impl FnOnce() -> Vec<String>,
) -> Option<()> {
    if filled.value.value > before.value.value {
        return Some(());
    }
    found.add(|| {
        let perhaps = match meant().as_slice() {
            [] => String::new(),
            meant => format!("; perhaps {}", meant.join(", or ")),
        };
        about(
            filled,
            Code::FilledNotHeavier,
            format!("{} is not heavier than {called}.", filled.entry.name),
        )
        .right(format!("more than {}{perhaps}", write_reading(before)))
        .also(before.entry.span.clone(), called)
    });
    None
}
