//! What all benches have in common, and how far each lies from it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::found::{Measured, Row};
use crate::benches::{
    Performance, Precision, Robust, Standing, algorithm_a, cochran_test, consistency, e_n, grubbs_test,
    is_negligible, precision, z_prime,
};

/// The results of several benches, quantity by quantity.
#[derive(Debug, Serialize)]
pub struct Group {
    /// Quantities that more than one bench has: unknowns first, then departures from published densities.
    pub quantities: Vec<Quantity>,
}

/// A quantity that several benches have.
#[derive(Debug, Serialize)]
pub struct Quantity {
    /// The solution.
    pub solution: String,
    /// What was found of it, such as `mass percent`, or `departure from the published density`.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Whether it is that of an unknown.
    pub is_answer: bool,
    /// How many benches have it.
    pub count: usize,
    /// Robust mean and standard deviation (ISO 13528:2015, Algorithm A); none of fewer than three.
    #[serde(skip)]
    pub robust: Option<Robust>,
    /// What results are compared with; none of fewer than three without a known value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned: Option<Assigned>,
    /// What each bench that has it found, by its index among the rows.
    pub values: BTreeMap<usize, Measured>,
    /// The scores of each bench that has it, by its index among the rows.
    pub scores: BTreeMap<usize, Score>,
    /// Repeatability and reproducibility of the density (ISO 5725-2), mg/mL; none of an answer, and where nothing was measured
    /// twice.
    #[serde(skip)]
    pub precision: Option<Precise>,
}

/// What results are compared with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Assigned {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Whether it is known from elsewhere; otherwise it is the robust mean of the benches.
    pub known: bool,
    /// The standard deviation by which benches are judged: the robust one; 0 where there is none.
    pub deviation: f64,
}

/// How far a bench lies from what all have in common.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Score {
    /// z; or z′, where the uncertainty of the assigned value matters (ISO 13528:2015, 9.4 and 9.5). None where all benches
    /// agree to the digit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub z: Option<f64>,
    /// *E*ₙ: the difference from a known value over the expanded uncertainties of both (9.7).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub en: Option<f64>,
}

impl Score {
    /// What z says.
    #[must_use]
    pub fn says(&self) -> Option<Performance> {
        Performance::of(self.z?)
    }
}

/// The precision of repeated densities.
#[derive(Debug)]
pub struct Precise {
    /// Repeatability and reproducibility.
    pub precision: Precision,
    /// The bench that scatters most, by index among the rows, and what Cochran's test says of it.
    pub widest: Option<(usize, Standing)>,
    /// The benches whose means lie lowest and highest, and what Grubbs' tests say of them.
    pub outermost: Vec<(usize, Standing)>,
    /// Benches whose h or k is beyond its critical value at 5 % or 1 %.
    pub inconsistent: Vec<(usize, Standing)>,
}

/// The unit of departures.
const MG_PER_ML: &str = "mg/mL";

/// A result of a bench, by index among the rows.
type Of<'r> = (usize, &'r Measured);

impl Group {
    /// Of some rows. `known` is what is known of unknowns from elsewhere, by name, in the unit of the answers.
    #[must_use]
    pub fn of(rows: &[Row], known: &BTreeMap<String, Measured>) -> Self {
        let mut answers: Vec<(&str, &'static str, &'static str, Vec<Of>)> = Vec::new();
        let mut liquids: Vec<(&str, Vec<Of>, Vec<(usize, Vec<f64>)>)> = Vec::new();
        let mut said = known.clone();
        for (index, row) in rows.iter().enumerate() {
            let Some(found) = &row.found else { continue };
            for answer in &found.answers {
                let of = (index, &answer.measured);
                let same = |(name, quantity, unit, _): &&mut (&str, &str, &str, Vec<Of>)| {
                    *name == answer.name && *quantity == answer.quantity && *unit == answer.unit
                };
                match answers.iter_mut().find(same) {
                    Some((.., all)) => all.push(of),
                    None => answers.push((&answer.name, answer.quantity, answer.unit, vec![of])),
                }
                if let Some(known) = &answer.known {
                    said.entry(answer.name.clone()).or_insert_with(|| known.clone());
                }
            }
            for liquid in &found.liquids {
                let at = liquids.iter().position(|(name, ..)| *name == liquid.name);
                let at = at.unwrap_or_else(|| {
                    liquids.push((&liquid.name, Vec::new(), Vec::new()));
                    liquids.len() - 1
                });
                let (_, departures, repeats) = &mut liquids[at];
                departures.extend(liquid.departure.as_ref().map(|departure| (index, departure)));
                if !liquid.repeats.is_empty() {
                    repeats.push((index, liquid.repeats.clone()));
                }
            }
        }
        let mut quantities = Vec::new();
        for (name, quantity, unit, all) in answers {
            let known = said.get(name);
            quantities.push(Quantity::of(name, quantity, unit, &all, known));
        }
        for (name, departures, repeats) in liquids {
            let what = "departure from the published density";
            let mut quantity = Quantity::of(name, what, MG_PER_ML, &departures, None);
            quantity.is_answer = false;
            quantity.precision = Precise::of(&repeats);
            if quantity.count > 1 || quantity.precision.is_some() {
                quantities.push(quantity);
            }
        }
        Self { quantities }
    }
}

impl Quantity {
    fn of(
        solution: &str,
        name: &'static str,
        unit: &'static str,
        all: &[Of],
        known: Option<&Measured>,
    ) -> Self {
        let values: Vec<f64> = all.iter().map(|(_, measured)| measured.value).collect();
        let robust = algorithm_a(&values).ok();
        let deviation = robust.map_or(0.0, |robust| robust.standard_deviation);
        let assigned = match (known, robust) {
            (Some(known), _) => Some(Assigned {
                value: known.value,
                standard_uncertainty: known.standard_uncertainty,
                known: true,
                deviation,
            }),
            (None, Some(robust)) => Some(Assigned {
                value: robust.mean,
                standard_uncertainty: robust.uncertainty(),
                known: false,
                deviation,
            }),
            (None, None) => None,
        };
        let score = |measured: &Measured| {
            let assigned = assigned?;
            let (u, value) = (assigned.standard_uncertainty, assigned.value);
            let counted = if is_negligible(u, deviation) { 0.0 } else { u };
            Some(Score {
                z: (deviation > 0.0).then(|| z_prime(measured.value, value, deviation, counted)),
                en: known.map(|known| {
                    let (of_both, assigned) = (measured.expanded_uncertainty, known);
                    e_n(measured.value, of_both, assigned.value, assigned.expanded_uncertainty)
                }),
            })
        };
        let scores = all.iter();
        let scores = scores.filter_map(|(index, measured)| Some((*index, score(measured)?)));
        Self {
            solution: solution.to_owned(),
            name,
            unit,
            is_answer: true,
            count: all.len(),
            robust,
            assigned,
            values: all.iter().map(|(index, measured)| (*index, (*measured).clone())).collect(),
            scores: scores.collect(),
            precision: None,
        }
    }
}

impl Precise {
    fn of(repeats: &[(usize, Vec<f64>)]) -> Option<Self> {
        let cells: Vec<Vec<f64>> = repeats.iter().map(|(_, values)| values.clone()).collect();
        let precision = precision(&cells).ok()?;
        let row = |cell: usize| repeats[cell].0;
        let means: Vec<f64> = cells.iter().map(|cell| crate::fit::mean(cell)).collect();
        let widest = cochran_test(&cells).ok();
        let outermost = grubbs_test(&means).ok();
        let inconsistent = consistency(&cells).unwrap_or_default();
        let inconsistent = inconsistent.iter().enumerate().filter_map(|(cell, each)| {
            let standing = each.k_standing.map_or(each.h_standing, |k| k.max(each.h_standing));
            (standing > Standing::Correct).then(|| (row(cell), standing))
        });
        Some(Self {
            widest: widest.map(|tested| (row(tested.which[0]), tested.standing)),
            outermost: outermost
                .into_iter()
                .flatten()
                .map(|tested| (row(tested.which[0]), tested.standing))
                .collect(),
            inconsistent: inconsistent.collect(),
            precision,
        })
    }
}
