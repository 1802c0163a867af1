//! The steps of a run, in order: how each solution is made and measured, what is read, and what is rinsed and mixed.

use std::collections::{BTreeMap, BTreeSet};

use super::cells::Cells;
use super::values::{SheetCell, SheetRow, SheetStep, SheetWork};
use crate::bench::practice::conditioning::COMMON;
use crate::bench::runfile::model::DensityMethod;
use crate::bench::runfile::unfinished::Part;
use crate::bench::runfile::words;

/// Steps in the making.
pub(super) struct Steps<'u, 'c> {
    root: &'u Part,
    cells: &'c mut Cells<'u>,
    /// What each piece of ware last held.
    held: BTreeMap<String, String>,
}

impl<'u, 'c> Steps<'u, 'c> {
    pub(super) fn new(root: &'u Part, cells: &'c mut Cells<'u>) -> Self {
        Self {
            root,
            cells,
            held: BTreeMap::new(),
        }
    }

    /// Returns how the solutions are made, each after those that it is made of.
    pub(super) fn preparations(&mut self) -> Vec<SheetWork> {
        let solutions = self.root.parts_at(&words::SOLUTIONS);
        let made = in_order(solutions).into_iter().map(|solution| SheetWork {
            steps: self.preparation(solution),
            ..work(&solution.key, None)
        });
        made.filter(|work| !work.steps.is_empty()).collect()
    }

    fn preparation(&mut self, solution: &'u Part) -> Vec<SheetStep> {
        let mut steps = Vec::new();
        let name = &solution.key;
        if let Some(weighed) = solution.get(&words::WEIGHED) {
            let salt = self.salt();
            self.weighed_out(weighed, &salt, &mut steps);
        }
        if let Some(solvent) = solution.get(&words::SOLVENT) {
            if let Some(volume) = solvent.get(&words::VOLUME) {
                let with = with(self.cells.facts.ware(solvent, &words::WITH, Some(volume)));
                let amount = amount(volume);
                let text = format!("Add {amount} of water{with}.");
                let cells = self.cells.blank([Some(volume)]);
                steps.push(SheetStep { text, cells });
            } else {
                self.weighed_out(solvent, "water", &mut steps);
            }
        }
        if let Some(aliquot) = solution.get(&words::ALIQUOT) {
            let of = aliquot.written_at(&words::OF).unwrap_or_default();
            let volume = aliquot.get(&words::VOLUME);
            let facts = self.cells.facts;
            let ware = facts.ware(aliquot, &words::WITH, volume);
            if let Some(ware) = ware {
                self.rinse(ware, of, of, aliquot, &mut steps);
            }
            let amount = volume.map_or_else(|| "a volume".to_owned(), amount);
            let text = format!("Take {amount} of {of}{}.", with(ware));
            let cells = self.cells.blank([volume]);
            steps.push(SheetStep { text, cells });
        }
        if let Some(made_up) = solution.get(&words::MADE_UP) {
            let to = made_up.get(&words::TO);
            let facts = self.cells.facts;
            let vessel = facts.ware(made_up, &words::IN, to);
            if let Some(vessel) = vessel {
                self.rinse(vessel, "water", name, made_up, &mut steps);
            }
            let within = vessel
                .map(|vessel| format!(" in {vessel}"))
                .unwrap_or_default();
            let amount = match to.and_then(Part::written) {
                Some(to) => format!("to {to}"),
                None => "to the mark".to_owned(),
            };
            let dissolve = if solution.get(&words::WEIGHED).is_some() {
                "Dissolve it, and make up"
            } else {
                "Make up"
            };
            let text = format!("{dissolve} {amount}{within}.");
            let cells = self.cells.blank([to]);
            steps.push(SheetStep { text, cells });
        }
        if !steps.is_empty() {
            let practice = self.root.get(&words::PRACTICE);
            let own = solution.written_at(&words::MIXED);
            let mixed = own.or_else(|| practice?.written_at(&words::MIXED));
            let how = mixed.map(|how| format!(" ({how})")).unwrap_or_default();
            steps.push(step(format!("Mix {name}{how}.")));
        }
        steps
    }

    /// A mass weighed out, into a tared vessel or by difference.
    fn weighed_out(&mut self, weighed: &'u Part, what: &str, steps: &mut Vec<SheetStep>) {
        let on = weighed.written_at(&words::BALANCE);
        let on = on
            .map(|balance| format!(" on {balance}"))
            .unwrap_or_default();
        if let Some(mass) = weighed.get(&words::MASS) {
            let amount = match (
                mass.written(),
                mass.blank().and_then(|b| b.planned.as_ref()),
            ) {
                (Some(written), _) => format!("{written} of "),
                (None, Some(planned)) => format!("about {planned} of "),
                (None, None) => String::new(),
            };
            let text = format!("Tare a vessel{on} and weigh {amount}{what} into it.");
            let cells = self.cells.blank([Some(mass)]);
            steps.push(SheetStep { text, cells });
            return;
        }
        let filled = format!("Weigh the vessel with the {what}{on}");
        for (key, told) in [
            (&words::BEFORE, filled.as_str()),
            (&words::AFTER, "Empty it and weigh it again"),
        ] {
            if let Some(part) = weighed.get(key) {
                steps.push(self.read(told, Some(part)));
            }
        }
    }

    /// Returns a step in which something is read, with what is written of it already.
    fn read(&mut self, told: &str, part: Option<&Part>) -> SheetStep {
        let known = part
            .and_then(Part::written)
            .map(|known| format!(": {known}"));
        SheetStep {
            text: format!("{told}{}.", known.unwrap_or_default()),
            cells: self.cells.blank([part]),
        }
    }

    /// Returns how densities are measured and ware is calibrated.
    pub(super) fn measurements(&mut self) -> Vec<SheetWork> {
        let mut all = Vec::new();
        for ware in self.root.parts_at(&words::WARE_CALIBRATION) {
            let mut work = work(&ware.key, Some(words::WARE_CALIBRATION.name));
            let told = format!("Bring water and {} to one temperature", ware.key);
            work.steps.push(self.read(&told, ware.get(&words::LIQUID)));
            let rows = ware.parts_at(&words::WEIGHINGS);
            self.rows(rows, &mut work);
            all.push(work);
        }
        let Some(density) = self.root.get(&words::DENSITY) else {
            return all;
        };
        let facts = self.cells.facts;
        if let Some(weighings) = density.get(&words::WEIGHINGS) {
            if let Some(file) = weighings.written_at(&words::FROM) {
                let mut work = work("each solution", Some(DensityMethod::Weighings.name()));
                work.steps
                    .push(step(format!("Write the weighings into {file}.")));
                all.push(work);
            } else {
                for solution in weighings.parts() {
                    let first = solution.parts().first();
                    let volume = first.and_then(|row| row.get(&words::VOLUME));
                    let ware = facts.ware(density, &words::PIPETTE, volume);
                    all.push(self.measured(
                        solution,
                        DensityMethod::Weighings,
                        ware,
                        solution.parts(),
                    ));
                }
            }
        }
        for series in density.parts_at(&words::CUMULATIVE) {
            let rows = series.parts_at(&words::DELIVERIES);
            let volume = rows.first().and_then(|row| row.get(&words::VOLUME));
            let own = series.written_at(&words::PIPETTE);
            let ware = own.or_else(|| facts.ware(density, &words::PIPETTE, volume));
            let mut work = self.measured(series, DensityMethod::Cumulative, ware, rows);
            let before = work.steps.len().saturating_sub(1);
            let told = "Weigh the vessel empty, and do not tare it afterwards";
            let empty = self.read(told, series.get(&words::EMPTY));
            if let Some(liquid) = series.get(&words::LIQUID) {
                let step = self.read("Read the temperature of the liquid", Some(liquid));
                work.steps.insert(before, step);
            }
            work.steps.insert(before, empty);
            all.push(work);
        }
        if let Some(pycnometer) = density.get(&words::PYCNOMETER) {
            all.push(self.calibrated_with_water(pycnometer));
            for solution in pycnometer.parts_at(&words::READINGS) {
                let ware = Some("the pycnometer");
                all.push(self.measured(
                    solution,
                    DensityMethod::Pycnometer,
                    ware,
                    solution.parts(),
                ));
            }
        }
        for solution in density.parts_at(&words::READINGS) {
            let first = solution.parts().first();
            let named = first.and_then(|row| row.written_at(&words::WITH));
            let entry = first.and_then(|row| row.get(&words::DENSITY_READ));
            let meant = entry.and_then(|part| facts.get(&part.entry)?.shown_by);
            let ware = named.or(meant.map(|item| item.key.as_str()));
            all.push(self.measured(solution, DensityMethod::Readings, ware, solution.parts()));
        }
        all
    }

    /// Returns a solution measured several times in one way.
    fn measured(
        &mut self,
        solution: &'u Part,
        method: DensityMethod,
        ware: Option<&str>,
        rows: &'u [Part],
    ) -> SheetWork {
        let name = &solution.key;
        let mut work = work(name, Some(method.name()));
        if let Some(ware) = ware {
            let first = rows.first().filter(|row| row.get(&words::RINSED).is_some());
            self.rinse_always(ware, name, first.unwrap_or(solution), &mut work.steps);
            self.held.insert(ware.to_owned(), name.clone());
        }
        let with = with(ware);
        work.steps.extend(match method {
            DensityMethod::Weighings => Some(step(format!(
                "For each row, weigh a vessel empty, deliver {name} into it{with}, and weigh it again."
            ))),
            DensityMethod::Cumulative => Some(step(format!(
                "Deliver {name} into one vessel{with}, and weigh it after each delivery."
            ))),
            DensityMethod::Pycnometer => Some(step(format!(
                "For each row, fill it with {name}, dry its outside, and weigh it."
            ))),
            DensityMethod::Readings => None,
        });
        self.rows(rows, &mut work);
        work
    }

    fn calibrated_with_water(&mut self, pycnometer: &'u Part) -> SheetWork {
        let mut work = work("water", Some(DensityMethod::Pycnometer.name()));
        let water = pycnometer.get(&words::WATER);
        for (text, section, key) in [
            (
                "Weigh the pycnometer empty and dry",
                Some(pycnometer),
                &words::EMPTY,
            ),
            ("Read the temperature of the water", water, &words::LIQUID),
            (
                "Fill the pycnometer with water and weigh it",
                water,
                &words::WATER_FILLED,
            ),
        ] {
            let part = section.and_then(|section| section.get(key));
            if part.is_some() {
                work.steps.push(self.read(text, part));
            }
        }
        let rows = water.map_or(&[][..], |water| water.parts_at(&words::WATER_FILLINGS));
        self.rows(rows, &mut work);
        work
    }

    /// Readings as rows: a column for each key that any of them has.
    fn rows(&mut self, rows: &'u [Part], work: &mut SheetWork) {
        let mut columns: Vec<&'u Part> = Vec::new();
        for part in rows.iter().flat_map(Part::parts) {
            if columns.iter().all(|column| column.key != part.key) {
                columns.push(part);
            }
        }
        work.columns = columns.iter().map(|part| self.head(part)).collect();
        for row in rows {
            let cells = columns.iter().map(|column| {
                let mut parts = row.parts().iter();
                match parts.find(|part| part.key == column.key) {
                    Some(part) => self.cells.cell(part),
                    // A cell that only other rows have.
                    None => SheetCell::lacking(&column.key),
                }
            });
            work.rows.push(SheetRow {
                number: row.key.clone(),
                cells: cells.collect(),
            });
        }
    }

    /// That ware is rinsed before it takes another liquid than its last, and what it then holds; `used` is the section that
    /// may say how often.
    fn rinse(
        &mut self,
        ware: &str,
        with: &str,
        holds: &str,
        used: &Part,
        steps: &mut Vec<SheetStep>,
    ) {
        let last = self.held.insert(ware.to_owned(), holds.to_owned());
        if last.as_deref() != Some(holds) {
            self.rinse_always(ware, with, used, steps);
        }
    }

    fn rinse_always(&self, ware: &str, with: &str, used: &Part, steps: &mut Vec<SheetStep>) {
        let practice = self.root.get(&words::PRACTICE);
        let told = used.written_at(&words::RINSED);
        let told = told.or_else(|| practice?.written_at(&words::RINSED));
        let times = match told {
            Some("0") => return,
            Some("1") => "once".to_owned(),
            Some(times) => format!("{times} times"),
            None => format!("{COMMON} times"),
        };
        steps.push(step(format!("Rinse {ware} {times} with {with}.")));
    }

    /// Returns the head of a column: the key and its unit, where all of its readings are in one.
    fn head(&self, part: &Part) -> String {
        let key = part.key.replace('_', " ");
        let measure = self.cells.facts.measure(&part.entry);
        match measure.map(super::cells::unit_printed) {
            Some(unit) if !unit.is_empty() && !part.is_at(&words::DENSITY_READ) => {
                format!("{key} / {unit}")
            }
            _ => key,
        }
    }

    fn salt(&self) -> String {
        let solute = self.root.get(&words::SOLUTE);
        let name = solute.and_then(|s| s.written().or_else(|| s.written_at(&words::NAME)));
        name.unwrap_or("salt").to_owned()
    }
}

fn step(text: String) -> SheetStep {
    SheetStep {
        text,
        cells: Vec::new(),
    }
}

fn work(of: &str, way: Option<&'static str>) -> SheetWork {
    SheetWork {
        of: of.to_owned(),
        way,
        steps: Vec::new(),
        columns: Vec::new(),
        rows: Vec::new(),
    }
}

/// Returns an amount as written; "a volume" if it is blank.
fn amount(part: &Part) -> String {
    part.written()
        .map_or_else(|| "a volume".to_owned(), str::to_owned)
}

/// " with large pipette", where it is known.
fn with(ware: Option<&str>) -> String {
    ware.map(|ware| format!(" with {ware}")).unwrap_or_default()
}

/// Solutions, each after those that it is made of.
fn in_order(solutions: &[Part]) -> Vec<&Part> {
    let by_name: BTreeMap<&str, &Part> = solutions
        .iter()
        .map(|part| (part.key.as_str(), part))
        .collect();
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut ordered = Vec::new();
    for solution in solutions {
        let mut chain = Vec::new();
        let mut next = Some(solution);
        while let Some(part) = next.filter(|part| seen.insert(&part.key)) {
            chain.push(part);
            let aliquot = part.get(&words::ALIQUOT);
            let of = aliquot.and_then(|aliquot| aliquot.written_at(&words::OF));
            next = of.and_then(|of| by_name.get(of).copied());
        }
        ordered.extend(chain.into_iter().rev());
    }
    ordered
}
