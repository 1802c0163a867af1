//! Corrections asked for, and what each needs to be made.

use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value};
use super::model::{AirBuoyancy, AllowFor, Entry, Origin, Solute, Solvent};
use super::solutions::Solutions;
use super::tree::Content;
use super::words;
use crate::problem::Code;

pub(super) fn read(run: &Fields<'_>) -> AllowFor {
    let Some(fields) = run
        .value(&words::ALLOW_FOR)
        .and_then(|section| section.fields(&words::ALLOW_FOR_KEYS))
    else {
        return AllowFor::default();
    };
    let ware = fields.mark(&words::WARE_TEMPERATURE);
    AllowFor {
        air_buoyancy: fields
            .value(&words::AIR_BUOYANCY)
            .and_then(|value| air_buoyancy(value)),
        ware_temperature: fields
            .value(&words::WARE_TEMPERATURE)
            .filter(|_| ware)
            .map(Value::entry),
        density_at: fields.measure(&words::DENSITY_AT),
    }
}

fn air_buoyancy(value: &Value<'_>) -> Option<AirBuoyancy> {
    let entry = value.entry();
    match &value.node.content {
        Content::Scalar { text, .. } if text.trim() == "true" => Some(AirBuoyancy {
            weights: None,
            entry,
        }),
        Content::Scalar { .. } => {
            value.found.add(|| {
                value
                    .problem(Code::NotTrue, format!("{} can only be true.", value.name))
                    .right("`true`, `{weights: 8000 kg/m³}`, or no such key")
            });
            None
        }
        _ => {
            let fields = value.fields(&words::AIR_BUOYANCY_KEYS)?;
            Some(AirBuoyancy {
                weights: Some(fields.measure(&words::WEIGHTS)?),
                entry,
            })
        }
    }
}

/// Notes what a correction needs and the file does not say.
pub(super) fn needs(
    asked: &AllowFor,
    run: &Fields<'_>,
    solute: Option<&Solute>,
    solutions: &Solutions,
) {
    let unlisted = Diagnostics::default();
    let conditions = run.value(&words::CONDITIONS).and_then(|section| {
        let section = Value {
            found: &unlisted,
            ..section.clone()
        };
        section.fields(&words::CONDITION_KEYS)
    });
    // A section that cannot be read has its own problem.
    if run.has(&words::CONDITIONS) && conditions.is_none() {
        return;
    }
    let stated = |key| conditions.as_ref().is_some_and(|fields| fields.has(key));
    let origins = || solutions.items.iter().flatten().map(|s| &s.origin);
    if let Some(buoyancy) = &asked.air_buoyancy {
        let air = [&words::AIR, &words::PRESSURE, &words::HUMIDITY];
        let lacking: Vec<&str> = air
            .iter()
            .filter(|key| !stated(key))
            .map(|key| key.name)
            .collect();
        if !lacking.is_empty() {
            lacks(
                run.found,
                &buoyancy.entry,
                &format!("the conditions lack {}", lacking.join(", ")),
                "conditions: {air: 21.5 °C, pressure: 1012 hPa, humidity: 48 %}",
            );
        }
        let weighs_water = origins().any(|o| {
            let solvent = match o {
                Origin::ByMass { solvent, .. } => Some(solvent),
                _ => None,
            };
            matches!(solvent, Some(Solvent::Weighed(_)))
        });
        if weighs_water && !stated(&words::LIQUID) {
            lacks(
                run.found,
                &buoyancy.entry,
                "water is weighed, and the conditions lack its temperature (`liquid`)",
                "conditions: {liquid: 20.6 °C}",
            );
        }
        let weighs_salt =
            origins().any(|o| matches!(o, Origin::MadeUp { .. } | Origin::ByMass { .. }));
        let unknown_salt = solute.is_some_and(|s| s.salt().is_none() && s.density.is_none());
        if weighs_salt && unknown_salt {
            lacks(
                run.found,
                &buoyancy.entry,
                "the density of the salt is not known",
                "`solute: {…, density: 2170 kg/m³}`, the density of its dry crystals",
            );
        }
    }
    if let Some(entry) = &asked.ware_temperature {
        let fills = origins().any(|o| matches!(o, Origin::MadeUp { .. } | Origin::Dilution { .. }));
        if fills && !stated(&words::LIQUID) {
            lacks(
                run.found,
                entry,
                "solutions are made up to volume, and the conditions lack their temperature (`liquid`)",
                "conditions: {liquid: 20.6 °C}",
            );
        }
    }
}

fn lacks(found: &Diagnostics, entry: &Entry, why: &str, right: &str) {
    found.add(|| {
        Code::CorrectionLacks
            .error(format!("{} cannot be made: {why}.", entry.name))
            .at_entry(entry)
            .right(right)
    });
}
