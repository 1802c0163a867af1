//! The conditions at the bench, and what needs the temperature of a liquid from them.

use super::apparatus::Bench;
use super::fields::{Fields, Value};
use super::instrument::states;
use super::model::{Apparatus, ApparatusKind, Conditions};
use super::vocabulary::KeyInfo;
use super::words;
use crate::problem::{Code, Problem, Span};

/// The conditions, with what the weighings must know of them.
pub(super) struct Surroundings {
    pub(super) read: Conditions,
    /// Where the temperature of the liquid is to be written that is still blank.
    pub(super) liquid_blank: Option<Problem>,
    /// Whether a temperature of the liquid stands there, even if it could not be read.
    pub(super) liquid_stated: bool,
}

/// Where the temperature of a liquid may stand that has an entry of its own.
pub(super) const HERE_OR_THERE: &str = "`liquid: 20.6 °C`, here or under `conditions`";

impl Surroundings {
    /// Notes that an entry needs the temperature of a liquid, called `what`, where the conditions do not state it;
    /// `right` says where it may stand.
    pub(super) fn temperature(&self, entry: &Value<'_>, span: &Span, what: &str, right: &str) {
        if self.liquid_stated {
            return;
        }
        let cause = format!("no temperature of {what}");
        match &self.liquid_blank {
            Some(blank) => entry.found.add_blank(blank),
            None => entry.found.add_once(cause, span, || {
                Code::NoTemperature
                    .error(format!(
                        "The temperature of the {what} is not known for {}.",
                        entry.name
                    ))
                    .at(entry.name.clone(), Some(span.clone()))
                    .right(right)
            }),
        }
    }
}

/// Returns the conditions of the file.
pub(super) fn read(run: &Fields<'_>, bench: &Bench) -> Surroundings {
    let none = Conditions {
        liquid: None,
        thermometer: None,
        air: None,
        pressure: None,
        humidity: None,
    };
    let Some(section) = run.value(&words::CONDITIONS) else {
        return Surroundings {
            read: none,
            liquid_blank: None,
            liquid_stated: run.has(&words::CONDITIONS),
        };
    };
    let Some(fields) = section.fields(&words::CONDITION_KEYS) else {
        return Surroundings {
            read: none,
            liquid_blank: None,
            liquid_stated: true,
        };
    };
    let liquid = fields.measure(&words::LIQUID);
    let is_one = |item: &Apparatus| item.kind == ApparatusKind::Thermometer;
    let thermometer = match bench.find_named(&fields, &words::THERMOMETER) {
        // A temperature may be known without its thermometer: its last digit then tells how well.
        Ok(None) if bench.items.iter().flatten().any(is_one) => {
            let stated = liquid.as_ref().is_none_or(states);
            bench.only(ApparatusKind::Thermometer, stated, section)
        }
        named => named.ok().flatten(),
    };
    let read = Conditions {
        thermometer,
        air: fields.measure(&words::AIR),
        pressure: fields.measure(&words::PRESSURE),
        humidity: fields.measure(&words::HUMIDITY),
        liquid,
    };
    Surroundings {
        read,
        liquid_blank: fields
            .blank(&words::LIQUID)
            .map(|value| value.blank(words::LIQUID.expected())),
        liquid_stated: fields.has(&words::LIQUID),
    }
}
