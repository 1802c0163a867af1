//! Benches that stand apart from their class, once errors that their own readings share are taken out, and the slips that
//! would explain it.
//!
//! [`crate::bench::interlaboratory::apart`] judges; [`crate::bench::practice::class`] says what a run hands to its
//! class, and finds the slips. Only runs that stand apart are looked at again for these.

use std::collections::BTreeMap;

use serde::Serialize;

use super::found::{Apart, MG, Row};
use crate::bench::interlaboratory::{self, Judged, LEVEL, Off, Refused, Repeat, Values};
use crate::bench::practice::class::{MARGIN, OfClass, Trace, Traces};
use crate::bench::quantity::rounding::significant;

/// So many faults of a bench are looked at for slips, the least likely by chance.
const MOST_SEARCHED: usize = 6;

/// What a class says of its benches.
#[derive(Debug, Default, Serialize)]
pub struct Class {
    /// The probability that a class of honest benches has one that stands apart.
    pub level: f64,
    /// The liquids that benches enough have.
    pub liquids: Vec<ClassLiquid>,
}

/// A liquid in a class; densities in mg/mL.
#[derive(Debug, Serialize)]
pub struct ClassLiquid {
    /// Its name.
    pub name: String,
    /// The number of benches that measured it.
    pub count: usize,
    /// Robust standard deviation from bench to bench of measured less published density; of the density of an unknown.
    pub deviation: f64,
    /// The same once the errors that the readings of a bench share are taken out.
    pub left: f64,
    /// The least change of the density that is seen in 95 of 100 benches.
    pub visible: f64,
    /// The same of one of the repeated densities that it is the mean of; `None` if no bench has several.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub visible_reading: Option<f64>,
    /// The same in one reading of a mass, mg; `None` if no mass is read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub visible_mass: Option<f64>,
}

/// A run that stands apart, and the liquids to look for slips behind.
#[derive(Debug)]
pub struct Suspect<'n> {
    /// Its place among the rows.
    pub row: usize,
    /// The names of the liquids, each with whether its readings scatter.
    pub liquids: Vec<(&'n str, bool)>,
}

/// Looks again at some runs for slips, which are returned in words, run by run.
pub type Look<'l> = dyn FnMut(&[OfClass], &[Suspect<'_>]) -> Vec<Vec<String>> + 'l;

/// Judges the benches by each other, and notes in their rows why they stand apart.
pub fn judge(rows: &mut [Row], look: &mut Look) -> Class {
    let names = Names::new(rows);
    let (at, values): (Vec<usize>, Vec<Values>) = rows
        .iter()
        .enumerate()
        .filter_map(|(at, row)| Some((at, names.values(&row.found.as_ref()?.traces))))
        .unzip();
    let judged = interlaboratory::apart(&values, names.liquids.len(), names.makers.len());
    let known = names.known(&judged);
    let suspects = judged.apart.iter().map(|apart| {
        let mut suspects: Vec<(&str, bool)> = Vec::new();
        // What is off makes other liquids of the bench look so, too: less, as χ² falls less if they are taken for it.
        let falls = |refused: &&Refused| refused.deviations.powi(2);
        let most = apart.refused.first().map_or(0.0, |first| falls(&first));
        for refused in apart
            .refused
            .iter()
            .filter(|refused| falls(refused) >= most - MARGIN)
        {
            let name = names.off(refused.off);
            if let Some(known) = suspects.iter_mut().find(|(known, _)| *known == name) {
                known.1 |= refused.scatters;
            } else if suspects.len() < MOST_SEARCHED {
                suspects.push((name, refused.scatters));
            }
        }
        Suspect {
            row: at[apart.bench],
            liquids: suspects,
        }
    });
    let slips = look(&known, &suspects.collect::<Vec<_>>());
    for (apart, slips) in judged.apart.iter().zip(slips) {
        let found = &mut rows[at[apart.bench]].found;
        if let (Some(found), Some(first)) = (found, apart.refused.first()) {
            found.apart = Some(Apart {
                liquid: names.off(first.off).to_owned(),
                words: names.words(first),
                deviations: first.deviations,
                slips,
            });
        }
    }
    let liquids = names.liquids.iter().zip(&judged.quantities);
    let liquids = liquids.filter_map(|((name, by_gram), of_class)| {
        let of_class = of_class.as_ref()?;
        let one = of_class.visible_reading.unwrap_or(of_class.visible);
        Some(ClassLiquid {
            name: (*name).clone(),
            count: of_class.count,
            deviation: MG * of_class.deviation,
            left: MG * of_class.left,
            visible: MG * of_class.visible,
            visible_reading: of_class.visible_reading.map(|by| MG * by),
            visible_mass: by_gram.map(|by_gram| MG * one / by_gram.abs()),
        })
    });
    Class {
        level: LEVEL,
        liquids: liquids.collect(),
    }
}

/// The liquids of a class, and those from which others were taken.
struct Names {
    /// By name, with the change of a density for a reading of mass 1 g larger, g/mL.
    liquids: Vec<(String, Option<f64>)>,
    places: BTreeMap<String, usize>,
    makers: Vec<String>,
}

impl Names {
    fn new(rows: &[Row]) -> Self {
        let traces = rows.iter().filter_map(|row| row.found.as_ref());
        let traces = || traces.clone().map(|found| &found.traces);
        let (mut liquids, mut places) = (Vec::new(), BTreeMap::new());
        for trace in traces().flat_map(|traces| &traces.liquids) {
            if !places.contains_key(&trace.name) {
                places.insert(trace.name.clone(), liquids.len());
                liquids.push((trace.name.clone(), trace.by_gram));
            }
        }
        let mut makers: Vec<String> = Vec::new();
        for (maker, _) in traces().flat_map(|traces| &traces.families) {
            if !makers.contains(maker) {
                makers.push(maker.clone());
            }
        }
        Self {
            liquids,
            places,
            makers,
        }
    }

    /// Returns what a bench found, in numbers.
    fn values(&self, traces: &Traces) -> Values {
        let liquids = || traces.liquids.iter();
        let repeats = |trace: &Trace| {
            let each = trace.readings.iter();
            let each = each.map(|[apart, deviation]| Repeat {
                apart: *apart,
                deviation: *deviation,
            });
            each.collect()
        };
        let family = |(maker, slopes): &(String, Vec<f64>)| {
            let index = self.makers.iter().position(|known| known == maker)?;
            Some((index, slopes.clone()))
        };
        Values {
            quantities: liquids().map(|trace| self.places[&trace.name]).collect(),
            values: liquids().map(|trace| trace.difference).collect(),
            shared: traces.shared.clone(),
            own: liquids().map(|trace| trace.own).collect(),
            repeats: liquids().map(repeats).collect(),
            families: traces.families.iter().filter_map(family).collect(),
        }
    }

    /// Returns what the class says, by the names of liquids.
    fn known(&self, judged: &Judged) -> Vec<OfClass> {
        let each = self.liquids.iter().zip(&judged.quantities);
        let each = each.filter_map(|((name, _), of_class)| {
            let of_class = of_class.as_ref()?;
            Some(OfClass {
                name: name.clone(),
                mean: of_class.mean,
                own: of_class.own,
                scatter: of_class.scatter,
            })
        });
        each.collect()
    }

    /// Returns the liquid that is off.
    fn off(&self, off: Off) -> &str {
        match off {
            Off::Value(liquid) | Off::Reading(liquid, _) => &self.liquids[liquid].0,
            Off::Family(maker) => &self.makers[maker],
        }
    }

    /// Returns the density in error, and its error.
    fn words(&self, refused: &Refused) -> String {
        let name = self.off(refused.off);
        let size = |value: f64| {
            let size = significant(value.abs(), 2).unwrap_or_default();
            if value < 0.0 {
                format!("−{size}")
            } else {
                format!("+{size}")
            }
        };
        match refused.off {
            Off::Value(_) => format!(
                "the density of {name} is in error by {} mg/mL",
                size(MG * refused.by)
            ),
            Off::Reading(..) => format!(
                "one density of {name} is in error by {} mg/mL",
                size(MG * refused.by)
            ),
            Off::Family(_) => format!(
                "{name} and the solutions made from it are in error, as if its concentration were wrong by {} %",
                size(-100.0 * refused.by)
            ),
        }
    }
}
