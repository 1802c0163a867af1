//! The density section: four ways to a density, each solution by one of them.

use super::apparatus::{self, Bench};
use super::conditions::Surroundings;
use super::csv_import::{MOST_WEIGHINGS, TabledWeighings};
use super::diagnostics::Diagnostics;
use super::fields::{Fields, Value, key_names};
use super::instrument::{no_instrument, states, ware};
use super::model::{
    At, Cumulative, Delivery, Densities, DensityReading, DensityReadings, Entry, Fillings, Glass,
    Measurements, Pycnometer, PycnometerFilling, Reading, Ref, Weighings,
};
use super::solutions::{Solutions, find};
use super::tree::Content;
use super::vocabulary::{Form, Key};
use super::ware_calibration::{EMPTY_VESSEL, heavier};
use super::weighings::{self, Section};
use super::{meant, words};
use crate::bench::quantity::Dimension;
use crate::problem::Code;
use std::collections::BTreeMap;

/// Returns the densities; `None` if one of them could not be read.
pub(super) fn read(
    run: &Fields<'_>,
    bench: &Bench,
    solutions: &Solutions,
    conditions: &Surroundings,
    tabled: Option<&TabledWeighings>,
) -> Option<Densities> {
    if !run.has(&words::DENSITY) {
        return Some(Densities::default());
    }
    let value = run.value(&words::DENSITY)?;
    bounded(value)?;
    let fields = value.fields(&words::DENSITY_KEYS)?;
    let ways = [
        &words::WEIGHINGS,
        &words::CUMULATIVE,
        &words::PYCNOMETER,
        &words::READINGS,
    ];
    if !ways.iter().any(|way| fields.has(way)) {
        run.found.add(|| {
            let right = "`weighings`, by solution; or `cumulative`, `pycnometer` or `readings`";
            fields.missing(words::WEIGHINGS.name, right.to_owned())
        });
        return None;
    }
    let replicate_spread = fields.choice(&words::REPLICATE_SPREAD);
    let section = Section {
        bench,
        solutions,
        balance: bench.find_named(&fields, &words::BALANCE),
        pipette: bench.find_named(&fields, &words::PIPETTE),
        conditions,
    };
    let weighings = match tabled {
        Some(tabled) => section.tabled(run.found, tabled),
        None => section.each(&fields, &words::WEIGHINGS, Section::weighings),
    };
    let cumulative = section.each(&fields, &words::CUMULATIVE, Section::cumulative);
    let readings = section.each(&fields, &words::READINGS, Section::readings);
    let pycnometer = match fields.value(&words::PYCNOMETER) {
        Some(value) => section.pycnometer(value).map(Some),
        None => (!fields.has(&words::PYCNOMETER)).then_some(None),
    };
    let all = Densities {
        weighings: weighings?,
        cumulative: cumulative?,
        pycnometer: pycnometer?,
        readings: readings?,
        replicate_spread,
    };
    one_way_each(run.found, &all, solutions);
    Some(all)
}

/// Notes a section with more readings than one run has: their covariances would cost without bound.
fn bounded(value: &Value<'_>) -> Option<()> {
    let count = value.node.count_items();
    if count <= MOST_WEIGHINGS {
        return Some(());
    }
    value.found.add(|| {
        let headline = format!(
            "{} lists {count} readings, more than {MOST_WEIGHINGS}.",
            value.name
        );
        Code::TooManyWeighings
            .error(headline)
            .at(value.name.clone(), value.key_span.clone())
            .right("the weighings of one run; several runs in several files")
    });
    None
}

/// Notes solutions whose density is found in two ways.
fn one_way_each(found: &Diagnostics, all: &Densities, solutions: &Solutions) {
    let mut first: BTreeMap<usize, &Entry> = BTreeMap::new();
    for solution in all.measurements().filter_map(Measurements::solution) {
        let Some(before) = first.insert(solution.value, &solution.entry) else {
            continue;
        };
        let name = &solutions.names[solution.value].value;
        found.add(|| {
            Code::TwoDensities
                .error(format!("The density of {name} is found by two methods."))
                .at_entry(&solution.entry)
                .right("one method for each solution; the other under another name")
                .also(before.span.clone(), "first found here")
        });
    }
}

impl Section<'_> {
    /// Returns what stands for each solution at a key; `None` if one of them could not be read.
    fn each<T>(
        &self,
        fields: &Fields<'_>,
        key: &Key<Form>,
        one: impl Fn(&Self, Ref, &Value<'_>) -> Option<T>,
    ) -> Option<Vec<T>> {
        let Some(list) = fields.value(key) else {
            return (!fields.has(key)).then(Vec::new);
        };
        // The weighings, the most often named of all, go without their section's name.
        let name = match key.name {
            name if name == words::WEIGHINGS.name => name.to_owned(),
            _ => list.name.clone(),
        };
        let list = Value {
            name,
            ..list.clone()
        };
        self.each_in(&list, key, one)
    }

    /// Returns the weighings of a table; `None` if a line of it could not be read.
    fn tabled(&self, found: &Diagnostics, tabled: &TabledWeighings) -> Option<Vec<Weighings>> {
        let list = tabled.value(found)?;
        let all = self.each_in(&list, &words::WEIGHINGS, Self::weighings);
        all.filter(|_| tabled.complete)
    }

    fn each_in<T>(
        &self,
        list: &Value<'_>,
        key: &Key<Form>,
        one: impl Fn(&Self, Ref, &Value<'_>) -> Option<T>,
    ) -> Option<Vec<T>> {
        let whole = matches!(list.node.content, Content::Map(_));
        if let Some(problem) = weighings::table_without_from(list) {
            list.found.add(|| problem);
            return None;
        }
        let mut all = whole.then(Vec::new);
        for (name, value) in list.read_named("solutions weighed") {
            let solution = find(self.solutions, &value, &name);
            if value.node.is_empty() {
                list.found.add(|| value.blank(readings_wanted(key)));
                all = None;
                continue;
            }
            // A solution that is not there hides no other mistake.
            let index = solution
                .clone()
                .unwrap_or_else(|| At::new(usize::MAX, name.entry.clone()));
            match (one(self, index, &value), solution, &mut all) {
                (Some(one), Some(_), Some(all)) => all.push(one),
                _ => all = None,
            }
        }
        all
    }

    fn weighings(&self, solution: Ref, value: &Value<'_>) -> Option<Weighings> {
        Some(Weighings {
            solution,
            replicates: weighings::replicates(self, value)?,
        })
    }

    fn cumulative(&self, solution: Ref, value: &Value<'_>) -> Option<Cumulative> {
        let fields = value.fields(&words::CUMULATIVE_KEYS)?;
        let empty = fields.measure(&words::VESSEL_EMPTY);
        let liquid = fields.measure(&words::LIQUID);
        self.temperature(&fields, value);
        let own_balance = self.bench.find_named(&fields, &words::BALANCE);
        let own_pipette = self.bench.find_named(&fields, &words::PIPETTE);
        let rinsed = fields.count(&words::RINSED);
        let list = fields.value(&words::DELIVERIES)?;
        let deliveries: Vec<Option<Delivery>> =
            list.items().iter().map(|item| delivery(item)).collect();
        let deliveries: Vec<Delivery> = deliveries.into_iter().collect::<Option<_>>()?;
        let points = deliveries.iter().filter(|d| d.left_out.is_none()).count()
            + usize::from(empty.is_some());
        if points < 2 {
            value.found.add(|| {
                let headline = format!("A slope needs two readings; {} has {points}.", value.name);
                Code::TooFewPoints.error(headline)
                    .at(list.name.clone(), list.key_span.clone())
                    .right("at least two deliveries that are not left out, or one and the empty vessel")
            });
            return None;
        }
        let counted = deliveries.iter().scan(0.0, |volume, delivery| {
            *volume += delivery.volume.value.value;
            Some((*volume, delivery))
        });
        let counted = counted.filter(|(_, d)| d.left_out.is_none());
        let masses: Vec<(f64, &Reading)> = empty
            .iter()
            .map(|empty| (0.0, empty))
            .chain(counted.map(|(volume, d)| (volume, &d.mass)))
            .collect();
        for (index, pair) in masses.windows(2).enumerate() {
            let before = (pair[0].1, "the reading before it");
            heavier(value.found, before, pair[1].1, || {
                meant::of_series(&masses, index)
            })?;
        }
        let stated = masses.iter().all(|(_, mass)| states(mass));
        let balance = self.balance(own_balance, stated, value);
        let measured: Vec<&Reading> = deliveries.iter().map(|d| &d.volume).collect();
        let pipette = ware(
            weighings::own_or(own_pipette, &self.pipette),
            &measured,
            value,
            &words::PIPETTE,
            self.bench,
        )
        .ok()?;
        if let Some(pipette) = &pipette {
            for delivery in &deliveries {
                self.bench
                    .check_volume(value.found, pipette, &delivery.volume, false);
            }
        }
        Some(Cumulative {
            solution,
            empty,
            liquid,
            balance,
            pipette,
            rinsed,
            deliveries,
            entry: value.entry(),
        })
    }

    fn pycnometer(&self, value: &Value<'_>) -> Option<Pycnometer> {
        let fields = value.fields(&words::PYCNOMETER_KEYS)?;
        let empty = fields.measure(&words::EMPTY);
        let glass = fields
            .choice(&words::GLASS)
            .map_or(Glass::Borosilicate, |glass| glass.value);
        let own_balance = self.bench.find_named(&fields, &words::BALANCE);
        let water = fields
            .value(&words::WATER)
            .and_then(|value| value.fields(&words::WATER_KEYS));
        let repeatability = fields.measure(&words::FILLING_REPEATABILITY);
        let mut water_fillings = None;
        let mut water_liquid = None;
        if let Some(water) = &water {
            water_fillings = water_fillings_of(water);
            water_liquid = water.measure(&words::LIQUID);
            self.temperature(water, &water.section);
        }
        let fillings = self.each(&fields, &words::FILLINGS, |section, solution, value| {
            let items = value.numbered().into_iter();
            let read = items
                .map(|item| section.filling(&item, empty.as_ref()))
                .collect();
            Some(Fillings {
                solution,
                fillings: require_counted(value, read, |f| f.left_out.is_some())?,
            })
        });
        let (empty, water) = (empty?, water_fillings?);
        for filling in water.iter().filter(|filling| filling.left_out.is_none()) {
            heavier(
                value.found,
                (&empty, EMPTY_VESSEL),
                &filling.filled,
                Vec::new,
            )?;
        }
        let fillings = fillings?;
        let all = fillings.iter().flat_map(|f| &f.fillings);
        let mut all = all
            .map(|f| &f.filled)
            .chain(water.iter().map(|f| &f.filled));
        let stated = states(&empty) && all.all(states);
        Some(Pycnometer {
            balance: self.balance(own_balance, stated, value),
            empty,
            water,
            water_liquid,
            repeatability,
            glass,
            fillings,
            entry: value.entry(),
        })
    }

    fn filling(&self, value: &Value<'_>, empty: Option<&Reading>) -> Option<PycnometerFilling> {
        let fields = value.fields(&words::FILLING_KEYS)?;
        let filled = fields.measure(&words::FILLED);
        let liquid = fields.measure(&words::LIQUID);
        let left_out = fields.explanation(&words::LEFT_OUT);
        self.temperature(&fields, value);
        let filled = filled?;
        if let Some(empty) = empty.filter(|_| left_out.is_none()) {
            heavier(value.found, (empty, EMPTY_VESSEL), &filled, Vec::new)?;
        }
        Some(PycnometerFilling {
            filled,
            liquid,
            left_out,
            entry: value.entry(),
        })
    }

    fn readings(&self, solution: Ref, value: &Value<'_>) -> Option<DensityReadings> {
        let items = value.numbered().into_iter();
        let read = items.map(|item| self.reading(&item)).collect();
        Some(DensityReadings {
            solution,
            readings: require_counted(value, read, |r| r.left_out.is_some())?,
        })
    }

    fn reading(&self, value: &Value<'_>) -> Option<DensityReading> {
        let fields = value.fields(&words::READING_KEYS)?;
        let density = fields.scaled(&words::DENSITY_READ);
        let liquid = fields.measure(&words::LIQUID);
        let left_out = fields.explanation(&words::LEFT_OUT);
        self.temperature(&fields, value);
        let named = self.bench.find_named(&fields, &words::WITH_INSTRUMENT);
        let density = density?;
        let mut named = named.ok()?;
        if named.is_none() && !states(&density) {
            named = self.bench.only_of(words::WITH_INSTRUMENT.form.0);
        }
        let with = match named {
            Some(with) => {
                let instrument = self.bench.get(with.value)?;
                if apparatus::is_on_another_scale(value.found, &density, instrument) {
                    return None;
                }
                Some(with)
            }
            None if density.value.unit.dimension != Dimension::Density => {
                let right = "`with`: the name of a hydrometer or density meter whose scale, modulus and temperature are stated";
                let why = "no instrument with this scale is named";
                no_instrument(value, why, right.to_owned());
                return None;
            }
            None if states(&density) => None,
            None => {
                let right =
                    "`with`: the name of a hydrometer or density meter, or ± with the density";
                let why = "the instrument that showed the density is not named";
                no_instrument(value, why, right.to_owned());
                return None;
            }
        };
        Some(DensityReading {
            density,
            liquid,
            with,
            left_out,
            entry: value.entry(),
        })
    }
}

/// Returns what is to be written for a solution at a key of the section.
fn readings_wanted(key: &Key<Form>) -> String {
    match key.form {
        Form::Named(section)
        | Form::NamedLists(section)
        | Form::NamedListsOrSection(section, _) => {
            format!("{}, with keys {}", section.what, key_names(section))
        }
        _ => key.about.to_owned(),
    }
}

/// Returns the fillings of a pycnometer with water: one, or a list.
fn water_fillings_of(water: &Fields<'_>) -> Option<Vec<PycnometerFilling>> {
    let (once, several) = (
        water.has(&words::WATER_FILLED),
        water.has(&words::WATER_FILLINGS),
    );
    if once == several {
        water.found.add(|| {
            let section = &water.section;
            let said = if once {
                "is given in two ways"
            } else {
                "has no reading"
            };
            let problem = Code::WaterNotFilled.error(format!("{} {said}.", section.name));
            problem
                .at(section.name.clone(), section.key_span.clone())
                .right("`filled` for one filling, or `readings`, a list, for several")
        });
        return None;
    }
    if once {
        let filled = water.measure(&words::WATER_FILLED)?;
        let entry = filled.entry.clone();
        return Some(vec![PycnometerFilling {
            filled,
            liquid: None,
            left_out: None,
            entry,
        }]);
    }
    let list = water.value(&words::WATER_FILLINGS)?;
    let items = list.numbered().into_iter();
    let read = items.map(|item| {
        let fields = item.fields(&words::WATER_FILLING_KEYS)?;
        let filled = fields.measure(&words::FILLED);
        let left_out = fields.explanation(&words::LEFT_OUT);
        Some(PycnometerFilling {
            filled: filled?,
            liquid: None,
            left_out,
            entry: item.entry(),
        })
    });
    let read = read.collect();
    require_counted(list, read, |f: &PycnometerFilling| f.left_out.is_some())
}

fn delivery(value: &Value<'_>) -> Option<Delivery> {
    let fields = value.fields(&words::DELIVERY_KEYS)?;
    let volume = fields.measure(&words::VOLUME);
    let mass = fields.measure(&words::MASS_SO_FAR);
    let left_out = fields.explanation(&words::LEFT_OUT);
    Some(Delivery {
        volume: volume?,
        mass: mass?,
        left_out,
        entry: value.entry(),
    })
}

/// Readings, all of which could be read; noted and `None` if none of them counts.
fn require_counted<T>(
    value: &Value<'_>,
    read: Vec<Option<T>>,
    left_out: impl Fn(&T) -> bool,
) -> Option<Vec<T>> {
    let readings: Vec<T> = read.into_iter().collect::<Option<_>>()?;
    if !readings.iter().all(left_out) {
        return Some(readings);
    }
    value.found.add(|| {
        Code::AllLeftOut
            .error(format!("All readings of {} are left out.", value.name))
            .at(value.name.clone(), value.key_span.clone())
            .right("at least one reading that is not left out, or none at all")
    });
    None
}
