//! What is known of each entry besides its value: where it belongs, in words, and what measures it.

use std::collections::BTreeMap;

use crate::bench::quantity::{Dimension, Quantity, Unit};
use crate::bench::runfile::model::{ApparatusKind, DensityMethod};
use crate::bench::runfile::unfinished::{Part, Unfinished, keys, only, scale_of, ware};
use crate::bench::runfile::vocabulary::{Form, KeyInfo, Measure};

/// What is known of an entry.
#[derive(Clone)]
pub(super) struct Facts<'u> {
    /// The solution, weighing or apparatus that it is about, in words; empty for the run as a whole.
    pub(super) about: String,
    /// The apparatus that shows it; `None` if it is not read from any, or it is not known from which.
    pub(super) shown_by: Option<&'u Part>,
    /// The measure that it is written in: of a reading on a scale of the trade, that of the scale.
    pub(super) measure: Option<&'static Measure>,
}

/// The step of an instrument.
pub(super) struct Step {
    /// As written, with its unit.
    pub(super) written: String,
    /// How many decimals it has in the unit that is meant where none is written.
    pub(super) decimals: usize,
}

/// What is known of the entries of a run, by their names.
pub(super) struct AllFacts<'u> {
    items: &'u [Part],
    apparatus: BTreeMap<&'u str, &'u Part>,
    /// What measures temperatures, where that is told or clear.
    thermometer: Option<&'u Part>,
    by_entry: BTreeMap<&'u str, Facts<'u>>,
}

/// What the sections around an entry say.
#[derive(Clone)]
struct Context<'u> {
    about: String,
    balance: Option<&'u Part>,
    instrument: Option<&'u Part>,
}

impl<'u> AllFacts<'u> {
    pub(super) fn new(run: &'u Unfinished) -> Self {
        let items = run.root.get(keys::APPARATUS).map_or(&[][..], Part::parts);
        let conditions = run.root.get(keys::CONDITIONS);
        let named = conditions.and_then(|c| c.written_at(keys::THERMOMETER));
        let mut all = Self {
            items,
            apparatus: items.iter().map(|item| (item.key.as_str(), item)).collect(),
            thermometer: only(items, &[ApparatusKind::Thermometer]),
            by_entry: BTreeMap::new(),
        };
        if let Some(name) = named {
            all.thermometer = all.apparatus.get(name).copied();
        }
        let balance = only(items, &[ApparatusKind::Balance]);
        let shows_density = [ApparatusKind::Hydrometer, ApparatusKind::DensityMeter];
        let instrument = only(items, &shows_density);
        for part in run.root.parts() {
            let around = Context {
                about: String::new(),
                balance,
                instrument: None,
            };
            match part.key.as_str() {
                keys::APPARATUS => all.add_named(part, &around, str::to_owned),
                keys::SOLUTIONS => all.add_named(part, &around, |name| format!("solution {name}")),
                keys::WARE_CALIBRATION => {
                    all.add_named(part, &around, |name| format!("calibration of {name}"));
                }
                keys::DENSITY => all.densities(
                    part,
                    Context {
                        instrument,
                        ..around
                    },
                ),
                _ => all.enter(part, &around),
            }
        }
        all
    }

    /// Returns what is known of an entry.
    pub(super) fn get(&self, entry: &str) -> Option<&Facts<'u>> {
        self.by_entry.get(entry)
    }

    /// Returns the ware that measures a volume: the one named at the key of a section, or the only one that fits.
    pub(super) fn ware<'p>(
        &'p self,
        section: &'p Part,
        key: &str,
        volume: Option<&Part>,
    ) -> Option<&'p str> {
        let meant = || {
            let volumes = volume?.volumes()?;
            Some(ware(self.items, key, &volumes)?.key.as_str())
        };
        section.written_at(key).or_else(meant)
    }

    /// Returns the measure that an entry is written in.
    pub(super) fn measure(&self, entry: &str) -> Option<&'static Measure> {
        self.get(entry)?.measure
    }

    /// Returns the step of what shows an entry, in the unit that is meant at it.
    pub(super) fn step(&self, entry: &str, unit: &'static Unit) -> Option<Step> {
        let item = self.get(entry)?.shown_by?;
        let written = item.written_at(keys::READABILITY)?;
        let (_, number) = scale_of(written, std::slice::from_ref(self.measure(entry)?))?;
        // A step of temperature has no zero.
        let unit = match unit.dimension {
            Dimension::Temperature => &Unit::CELSIUS_STEP,
            _ => unit,
        };
        let step = Quantity::parse(number, unit).ok()?;
        let place = f64::from(step.number.last_place) + (step.unit.factor / unit.factor).log10();
        let is_whole = (place - place.round()).abs() < 1e-9;
        let written = if step.unit == unit {
            format!("{} {}", step.number.text, unit.symbol)
        } else {
            written.to_owned()
        };
        is_whole.then(|| Step {
            written,
            decimals: (-place.round()).max(0.0) as usize,
        })
    }

    fn add_named(
        &mut self,
        section: &'u Part,
        around: &Context<'u>,
        about: impl Fn(&str) -> String,
    ) {
        let in_apparatus = section.key == keys::APPARATUS;
        for part in section.parts() {
            let around = Context {
                about: about(&part.key),
                // What describes a balance is not read from one.
                balance: around.balance.filter(|_| !in_apparatus),
                ..around.clone()
            };
            self.enter(part, &around);
        }
    }

    fn densities(&mut self, density: &'u Part, around: Context<'u>) {
        let around = self.inside(density, around);
        for way in density.parts() {
            let mut methods = DensityMethod::ALL.into_iter();
            match methods.find(|method| method.name() == way.key) {
                Some(method @ DensityMethod::Pycnometer) => {
                    let around = self.inside(way, around.clone());
                    for part in way.parts() {
                        let of = if part.key == keys::WATER { "water" } else { "" };
                        match part.key.as_str() {
                            keys::READINGS => self.replicates(part, method.single(), &around),
                            _ => self.enter(
                                part,
                                &Context {
                                    about: ["pycnometer", of].join(" ").trim().to_owned(),
                                    ..around.clone()
                                },
                            ),
                        }
                    }
                }
                Some(method) => self.replicates(way, method.single(), &around),
                None => self.enter(way, &around),
            }
        }
    }

    /// The weighings, deliveries, fillings or readings of each solution.
    fn replicates(&mut self, section: &'u Part, single: &str, around: &Context<'u>) {
        for solution in section.parts() {
            let around = self.inside(solution, around.clone());
            for part in solution.parts() {
                let items = match part.key.as_str() {
                    keys::DELIVERIES => part.parts(),
                    _ => std::slice::from_ref(part),
                };
                for item in items {
                    let about = match item.key.parse::<u32>() {
                        Ok(number) => format!("{}, {single} {number}", solution.key),
                        Err(_) => solution.key.clone(),
                    };
                    self.enter(
                        item,
                        &Context {
                            about,
                            ..around.clone()
                        },
                    );
                }
            }
        }
    }

    /// Returns what holds inside a section that may name its own balance or instrument.
    fn inside(&self, part: &'u Part, around: Context<'u>) -> Context<'u> {
        let named = |key: &str| {
            let name = part.written_at(key)?;
            self.apparatus.get(name).copied()
        };
        Context {
            balance: named(keys::BALANCE).or(around.balance),
            instrument: named(keys::WITH).or(around.instrument),
            ..around
        }
    }

    fn enter(&mut self, part: &'u Part, around: &Context<'u>) {
        let mut open = vec![(part, around.clone())];
        while let Some((part, around)) = open.pop() {
            if !part.parts().is_empty() {
                let around = self.inside(part, around);
                open.extend(part.parts().iter().map(|part| (part, around.clone())));
                continue;
            }
            let form = part.word.map(KeyInfo::form);
            let mut measure = form.as_ref().and_then(measure);
            let shown_by = match measure {
                Some(measure) => match measure.unit.dimension {
                    Dimension::Mass => around.balance,
                    Dimension::Temperature if part.key == keys::LIQUID => self.thermometer,
                    _ if part.key == keys::DENSITY_READ => around.instrument,
                    _ => None,
                },
                None => None,
            };
            if let (Some(Form::Scaled(measures)), Some(item)) = (form, shown_by)
                && item.get(keys::SCALE).is_some()
            {
                let step = item.written_at(keys::READABILITY).unwrap_or_default();
                measure = scale_of(step, measures).map(|(measure, _)| measure);
            }
            let facts = Facts {
                about: around.about,
                shown_by,
                measure,
            };
            self.by_entry.insert(&part.entry, facts);
        }
    }
}

/// Returns the measure of what may stand at a key, if that is a quantity; of one with several scales, the first.
pub(super) fn measure(form: &Form) -> Option<&'static Measure> {
    match form {
        Form::Measure(measure) | Form::Deliveries(measure) => Some(measure),
        Form::Scaled(measures) => measures.first(),
        _ => None,
    }
}
