//! Known volumes weighed.

use super::apparatus::Bench;
use super::fields::{Fields, Value};
use super::found::Found;
use super::instrument::{Instrument, states, ware};
use super::model::{ApparatusKind, Replicate, Weighings};
use super::sections::Surroundings;
use super::solutions::{Solutions, find};
use super::ware_calibration::heavier;
use super::words;
use crate::problem::Problem;

/// The weighings; none where one of them could not be read.
pub(super) fn read(
    found: &mut Found,
    run: &Fields<'_>,
    bench: &Bench,
    solutions: &Solutions,
    conditions: &Surroundings,
) -> Option<Vec<Weighings>> {
    if !run.has(&words::DENSITY) {
        return Some(Vec::new());
    }
    let fields = run
        .value(&words::DENSITY)?
        .fields(found, &words::DENSITY_KEYS)?;
    let section = Section {
        bench,
        balance: bench.named(found, &fields, &words::BALANCE),
        pipette: bench.named(found, &fields, &words::PIPETTE),
        liquid_stated: conditions.liquid_stated,
    };
    let list = Value {
        name: words::WEIGHINGS.name.to_owned(),
        ..fields.value(&words::WEIGHINGS)?.clone()
    };
    let mut all = Some(Vec::new());
    for (name, value) in list.named(found, "solutions weighed") {
        let solution = find(found, solutions, &value, &name);
        let replicates = section.replicates(found, &value);
        match (solution, replicates, &mut all) {
            (Some(solution), Some(replicates), Some(all)) => all.push(Weighings {
                solution,
                replicates,
            }),
            _ => all = None,
        }
    }
    all
}

/// What holds for all weighings of the section unless they say otherwise.
struct Section<'b> {
    bench: &'b Bench,
    balance: Instrument,
    pipette: Instrument,
    liquid_stated: bool,
}

impl Section<'_> {
    fn replicates(&self, found: &mut Found, value: &Value<'_>) -> Option<Vec<Replicate>> {
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
            .map(|item| self.replicate(found, item))
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

    fn replicate(&self, found: &mut Found, value: &Value<'_>) -> Option<Replicate> {
        let fields = value.fields(found, &words::REPLICATE_KEYS)?;
        let empty = fields.measure(found, &words::EMPTY);
        let filled = fields.measure(found, &words::FILLED);
        let volume = fields.measure(found, &words::VOLUME);
        let liquid = fields.measure(found, &words::LIQUID);
        let left_out = fields.text(found, &words::LEFT_OUT);
        let own_balance = self.bench.named(found, &fields, &words::BALANCE);
        let own_pipette = self.bench.named(found, &fields, &words::PIPETTE);
        if !self.liquid_stated && !fields.has(&words::LIQUID) {
            let place = &value.node.place;
            found.add_once("no-temperature".to_owned(), place, || {
                Problem::error(
                    "no-temperature",
                    format!(
                        "The temperature of the liquid is not known for {}.",
                        value.name
                    ),
                )
                .at(value.name.clone(), Some(place.clone()))
                .right("liquid: 20.6 °C, under conditions or with the weighing")
            });
        }
        let (empty, filled, volume) = (empty?, filled?, volume?);
        // What is left out may well be left out for this.
        if left_out.is_none() {
            heavier(found, &empty, &filled)?;
        }
        let stated = states(&empty) && states(&filled);
        let balance = match own_or(own_balance, &self.balance) {
            Instrument::Named(balance) => Some(balance),
            Instrument::Unusable => None,
            Instrument::Unnamed => self
                .bench
                .only(found, ApparatusKind::Balance, stated, value),
        };
        let pipette = ware(
            found,
            own_or(own_pipette, &self.pipette),
            states(&volume),
            value,
            words::PIPETTE.name,
            self.bench,
        )
        .ok()?;
        if let Some(pipette) = &pipette {
            self.bench.check_volume(found, pipette, &volume);
        }
        Some(Replicate {
            empty,
            filled,
            volume,
            liquid,
            balance,
            pipette,
            left_out,
            entry: value.entry(),
        })
    }
}

fn own_or(own: Instrument, section: &Instrument) -> Instrument {
    match own {
        Instrument::Unnamed => section.clone(),
        named => named,
    }
}
