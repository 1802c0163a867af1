//! The readings to expect, as far as they follow from what is written and planned.
//!
//! The compositions come from the reduction that reports go by: of a run with the preparations alone, its masses as
//! written or planned. The densities are the published ones at the temperature written or planned.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

use super::facts::AllFacts;
use crate::bench::quantity::rounding::to_place;
use crate::bench::quantity::{Quantity, Unit};
use crate::bench::reduce::{PublishedShape, reduce};
use crate::bench::runfile;
use crate::bench::runfile::model::Scale;
use crate::bench::runfile::unfinished::{Holds, Part, Unfinished};
use crate::bench::runfile::vocabulary::{Form, Key, KeyInfo};
use crate::bench::runfile::words;

/// Where no temperature is written or planned, °C.
const USUAL_TEMPERATURE: &str = "20 °C";
/// Decimals of a mass or density where it is not known what the instrument shows.
const USUAL_DECIMALS: (usize, usize) = (2, 4);

/// Returns what is expected at entries, by their names: as it is printed.
pub(super) fn expected(run: &Unfinished, facts: &AllFacts) -> BTreeMap<String, String> {
    let planned = run.root.entries().into_iter().filter_map(|part| {
        let planned = part.blank()?.planned.clone()?;
        Some((part.entry.clone(), planned))
    });
    let mut expected: BTreeMap<String, String> = planned.collect();
    let densities = densities(&run.root).unwrap_or_default();
    let Some(section) = run.root.get(&words::DENSITY) else {
        return expected;
    };
    // The measurements by their way and solution.
    let ways: [&dyn KeyInfo; 3] = [&words::WEIGHINGS, &words::CUMULATIVE, &words::READINGS];
    let by_name: BTreeMap<(&str, &str), &Part> = ways
        .into_iter()
        .flat_map(|way| {
            let parts = section.parts_at(way).iter();
            parts.map(move |part| ((way.name(), part.key.as_str()), part))
        })
        .collect();
    for (solution, density) in &densities {
        let of = |way: &Key<Form>| by_name.get(&(way.name, solution.as_str())).copied();
        for row in of(&words::WEIGHINGS).map_or(&[][..], Part::parts) {
            let volume = row.get(&words::VOLUME).and_then(volume);
            let vessel = (row.get(&words::EMPTY), "empty");
            let mass = volume.map(|volume| volume * density);
            expected.extend(mass_shown(facts, row.get(&words::FILLED), vessel, mass));
        }
        if let Some(series) = of(&words::CUMULATIVE) {
            let mut delivered = Some(0.0);
            for row in series.parts_at(&words::DELIVERIES) {
                let volume = row.get(&words::VOLUME).and_then(volume);
                delivered = delivered.zip(volume).map(|(before, more)| before + more);
                let mass = delivered.map(|volume| volume * density);
                let vessel = (series.get(&words::EMPTY), "vessel");
                expected.extend(mass_shown(facts, row.get(&words::MASS), vessel, mass));
            }
        }
        for row in of(&words::READINGS).map_or(&[][..], Part::parts) {
            let Some(part) = row
                .get(&words::DENSITY_READ)
                .filter(|p| p.blank().is_some())
            else {
                continue;
            };
            let instrument = facts.get(&part.entry).and_then(|facts| facts.shown_by);
            // What a scale of the trade shows is another quantity.
            if instrument.is_some_and(|item| item.get(&words::SCALE).is_some()) {
                continue;
            }
            let step = facts.step(&part.entry, &Unit::GRAM_PER_MILLILITRE);
            let decimals = step.map_or(USUAL_DECIMALS.1, |step| step.decimals);
            let text = to_place(*density, -(decimals as i32));
            expected.extend(text.map(|text| (part.entry.clone(), text)));
        }
    }
    expected
}

/// Returns the sum of the volumes written at an entry, mL.
fn volume(part: &Part) -> Option<f64> {
    Some(part.volumes()?.into_iter().sum())
}

/// Returns an entry to be filled with the mass of a vessel, that is `called` so, with a liquid in it: a number where that
/// of the vessel is known.
fn mass_shown(
    facts: &AllFacts,
    part: Option<&Part>,
    (vessel, called): (Option<&Part>, &str),
    liquid: Option<f64>,
) -> Option<(String, String)> {
    let (part, liquid) = part.filter(|p| p.blank().is_some()).zip(liquid)?;
    let step = facts.step(&part.entry, &Unit::GRAM);
    let decimals = step.map_or(USUAL_DECIMALS.0, |step| step.decimals);
    let shown = |mass: f64| to_place(mass, -(decimals as i32));
    let empty = vessel.and_then(Part::written);
    let empty = empty.and_then(|text| Quantity::parse(text, &Unit::GRAM).ok());
    let text = match empty {
        Some(empty) => shown(empty.value + liquid)?,
        None => format!("{called} + {}", shown(liquid)?),
    };
    Some((part.entry.clone(), text))
}

/// Returns the densities expected of the solutions whose composition will be known, g/mL.
fn densities(root: &Part) -> Option<Vec<(String, f64)>> {
    let text = preparations(root)?.to_string();
    let (run, _) = runfile::read("", text.as_bytes());
    let run = run?;
    let reduction = reduce(&run).ok()?;
    let ws = &reduction.worksheet;
    let liquid = run.conditions.liquid.as_ref()?;
    let molar_mass = ws.value(reduction.molar_mass);
    let shape = PublishedShape::at(reduction.salt?, liquid.value.value, molar_mass)?;
    let made = run.solutions.iter().zip(&reduction.solutions);
    let each = made.filter_map(|(solution, result)| {
        let density = if matches!(solution.origin, runfile::model::Origin::Pure) {
            shape.at_mass_fraction(0.0)
        } else {
            let scales = [Scale::MassPercent, Scale::MassConcentration];
            scales.into_iter().find_map(|scale| {
                let id = result.composition.get(scale)?;
                shape.density(scale, ws.value(id))
            })?
        };
        Some((result.name.clone(), density))
    });
    Some(each.collect())
}

/// Returns a run file of the preparations alone, with what is planned where nothing is written yet; without unknowns,
/// and solutions of which something is lacking.
fn preparations(root: &Part) -> Option<Value> {
    let solutions = root.get(&words::SOLUTIONS)?.parts();
    let lacking = lacking(solutions);
    let mut made = Map::new();
    for solution in solutions {
        if !lacking.contains(solution.key.as_str()) {
            made.insert(solution.key.clone(), value(solution)?);
        }
    }
    let liquid = root
        .get(&words::CONDITIONS)
        .and_then(|c| c.get(&words::LIQUID));
    let liquid = liquid.and_then(text).unwrap_or(USUAL_TEMPERATURE);
    let mut all = Map::new();
    let mut put = |key: &dyn KeyInfo, value: Value| all.insert(key.name().to_owned(), value);
    put(&words::TITLE, "expected".into());
    put(&words::DATE, "2000-01-01".into());
    put(&words::ANALYSTS, "expected".into());
    put(
        &words::CONDITIONS,
        serde_json::json!({ words::LIQUID.name: liquid }),
    );
    put(&words::SOLUTE, value(root.get(&words::SOLUTE)?)?);
    if let Some(apparatus) = root.get(&words::APPARATUS).and_then(value) {
        put(&words::APPARATUS, apparatus);
    }
    put(&words::SOLUTIONS, Value::Object(made));
    put(&words::CALIBRATION, "none".into());
    Some(Value::Object(all))
}

/// Returns the names of solutions of which something is neither written nor planned, or which are made of such a one.
fn lacking(solutions: &[Part]) -> BTreeSet<&str> {
    let source = |solution: &'_ Part| {
        let aliquot = solution.get(&words::ALIQUOT);
        aliquot
            .and_then(|a| a.written_at(&words::OF))
            .map(str::to_owned)
    };
    let mut diluted: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    let mut open = Vec::new();
    for solution in solutions {
        let entries = solution.entries().into_iter();
        let all_there = entries
            .filter(|part| is_needed(part))
            .all(|part| text(part).is_some());
        match source(solution) {
            Some(of) => diluted.entry(of).or_default().push(&solution.key),
            None if solution.get(&words::UNKNOWN).is_some() => open.push(solution.key.as_str()),
            None => {}
        }
        if !all_there {
            open.push(&solution.key);
        }
    }
    let mut lacking = BTreeSet::new();
    while let Some(name) = open.pop() {
        if lacking.insert(name) {
            open.extend(diluted.get(name).into_iter().flatten());
        }
    }
    lacking
}

/// Returns whether an entry is written, or blank and needed.
fn is_needed(part: &Part) -> bool {
    part.blank().is_none_or(|blank| blank.required)
}

/// Returns what is written at an entry, or planned there.
fn text(part: &Part) -> Option<&str> {
    let planned = || part.blank()?.planned.as_deref();
    part.written().or_else(planned)
}

/// Returns a part as JSON, which is YAML; without what is blank.
fn value(part: &Part) -> Option<Value> {
    if let Holds::Parts(parts) = &part.holds {
        let pairs = parts
            .iter()
            .filter_map(|part| Some((part.key.clone(), value(part)?)));
        return Some(Value::Object(pairs.collect()));
    }
    let text = text(part)?;
    let form = part.word.map(KeyInfo::form);
    let several = matches!(form, Some(Form::Deliveries(_))) && text.contains(", ");
    Some(if several {
        text.split(", ").collect()
    } else {
        text.into()
    })
}
