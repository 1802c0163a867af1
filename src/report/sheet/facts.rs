//! What is known of each entry besides its value: where it belongs, in words, and what measures it.

use std::collections::BTreeMap;

use crate::bench::quantity::{Dimension, Quantity, Unit};
use crate::bench::runfile::model::{ApparatusKind, DensityMethod};
use crate::bench::runfile::unfinished::{Part, Unfinished, only, scale_of, ware};
use crate::bench::runfile::vocabulary::{ApparatusName, Form, Key, KeyInfo, Measure};
use crate::bench::runfile::words;

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

impl Context<'_> {
    /// Returns the same, about something else.
    fn about(&self, about: String) -> Self {
        Self {
            about,
            ..self.clone()
        }
    }
}

impl<'u> AllFacts<'u> {
    pub(super) fn new(run: &'u Unfinished) -> Self {
        let items = run.root.parts_at(&words::APPARATUS);
        let conditions = run.root.get(&words::CONDITIONS);
        let named = conditions.and_then(|c| c.written_at(&words::THERMOMETER));
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
            let mut around = Context {
                about: String::new(),
                balance,
                instrument: None,
            };
            if part.is_at(&words::APPARATUS) {
                // What describes a balance is not read from one.
                around.balance = None;
                all.add_named(part, &around, "");
            } else if part.is_at(&words::SOLUTIONS) {
                all.add_named(part, &around, "solution ");
            } else if part.is_at(&words::WARE_CALIBRATION) {
                all.add_named(part, &around, "calibration of ");
            } else if part.is_at(&words::DENSITY) {
                around.instrument = instrument;
                all.densities(part, around);
            } else {
                all.enter(part, around);
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
        key: &Key<ApparatusName>,
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
        let written = item.written_at(&words::BALANCE_READABILITY)?;
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

    /// What stands at each name of a section; `what` comes before the name.
    fn add_named(&mut self, section: &'u Part, around: &Context<'u>, what: &str) {
        for part in section.parts() {
            self.enter(part, around.about(format!("{what}{}", part.key)));
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
                        if part.is_at(&words::FILLINGS) {
                            self.replicates(part, method.single(), &around);
                        } else if part.is_at(&words::WATER) {
                            self.enter(part, around.about("pycnometer water".to_owned()));
                        } else {
                            self.enter(part, around.about("pycnometer".to_owned()));
                        }
                    }
                }
                Some(method) => self.replicates(way, method.single(), &around),
                None => self.enter(way, around.clone()),
            }
        }
    }

    /// The weighings, deliveries, fillings or readings of each solution.
    fn replicates(&mut self, section: &'u Part, single: &str, around: &Context<'u>) {
        for solution in section.parts() {
            let around = self.inside(solution, around.clone());
            for part in solution.parts() {
                let items = if part.is_at(&words::DELIVERIES) {
                    part.parts()
                } else {
                    std::slice::from_ref(part)
                };
                for item in items {
                    let about = match item.key.parse::<u32>() {
                        Ok(number) => format!("{}, {single} {number}", solution.key),
                        Err(_) => solution.key.clone(),
                    };
                    self.enter(item, around.about(about));
                }
            }
        }
    }

    /// Returns what holds inside a section that may name its own balance or instrument.
    fn inside(&self, part: &'u Part, around: Context<'u>) -> Context<'u> {
        let named = |key: &Key<ApparatusName>| {
            let name = part.written_at(key)?;
            self.apparatus.get(name).copied()
        };
        Context {
            balance: named(&words::BALANCE).or(around.balance),
            instrument: named(&words::WITH_INSTRUMENT).or(around.instrument),
            ..around
        }
    }

    fn enter(&mut self, part: &'u Part, around: Context<'u>) {
        let mut open = vec![(part, around)];
        while let Some((part, around)) = open.pop() {
            if !part.parts().is_empty() {
                let around = self.inside(part, around);
                let form = part.word.map(KeyInfo::form);
                let is_by_name = matches!(form, Some(Form::Named(_) | Form::NamedValues(_)));
                open.extend(part.parts().iter().map(|part| {
                    let name = is_by_name.then(|| around.about(part.key.clone()));
                    (part, name.unwrap_or_else(|| around.clone()))
                }));
                continue;
            }
            let form = part.word.map(KeyInfo::form);
            let mut measure = form.as_ref().and_then(measure);
            let shown_by = match measure {
                Some(measure) => match measure.unit.dimension {
                    Dimension::Mass => around.balance,
                    Dimension::Temperature if part.is_at(&words::LIQUID) => self.thermometer,
                    _ if part.is_at(&words::DENSITY_READ) => around.instrument,
                    _ => None,
                },
                None => None,
            };
            if let (Some(Form::Scaled(measures)), Some(item)) = (form, shown_by)
                && item.get(&words::SCALE).is_some()
            {
                let step = item
                    .written_at(&words::BALANCE_READABILITY)
                    .unwrap_or_default();
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
