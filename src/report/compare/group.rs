//! What all benches have in common, and how far each lies from it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::against_class::Class;
use super::found::{Answer, Findings, Measured, Row};
use crate::bench::interlaboratory::{
    Performance, Precision, Robust, Standing, Youden, algorithm_a, cochran_test, consistency, e_n,
    grubbs_test, is_negligible, precision, youden, z_prime, zeta,
};

/// The results of several benches, quantity by quantity.
#[derive(Debug, Serialize)]
pub struct Group {
    /// Quantities that more than one bench has: unknowns first, then departures from published densities.
    pub quantities: Vec<Quantity>,
    /// The departures of two liquids at each bench (Youden), where at least three benches have both.
    #[serde(skip)]
    pub pairs: Option<Pairs>,
    /// What the class says of its benches.
    pub class: Class,
}

/// The departures of two liquids, whose common part is the bench's own error.
#[derive(Debug)]
pub struct Pairs {
    /// The indices of the two quantities.
    pub quantities: [usize; 2],
    /// The benches, by index among the rows.
    pub rows: Vec<usize>,
    /// Those left out, as one of the two lies far off: they would make all others look alike.
    pub left_out: Vec<usize>,
    /// What the pairs tell, mg/mL.
    pub youden: Youden,
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
    /// The number of benches that have it.
    pub count: usize,
    /// Robust mean and standard deviation (ISO 13528:2015, Algorithm A); `None` for fewer than three.
    #[serde(skip)]
    pub robust: Option<Robust>,
    /// What results are compared with; `None` for fewer than three without a known value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assigned: Option<Assigned>,
    /// What each bench that has it found, by its index among the rows.
    pub values: BTreeMap<usize, Measured>,
    /// The scores of each bench that has it, by its index among the rows.
    pub scores: BTreeMap<usize, Score>,
    /// Repeatability and reproducibility of the density (ISO 5725-2), mg/mL; `None` for an answer, or if nothing was measured
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
    /// z; or z′, where the uncertainty of the assigned value matters (ISO 13528:2015, 9.4 and 9.5). `None` if all benches
    /// agree to the digit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub z: Option<f64>,
    /// *E*ₙ: the difference from a known value over the expanded uncertainties of both (9.7).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub en: Option<f64>,
    /// ζ: the same in standard uncertainties (9.6).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zeta: Option<f64>,
}

impl Score {
    /// Returns what z says.
    pub fn says(&self) -> Option<Performance> {
        Performance::from_score(self.z?)
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

/// What is compared of a liquid of known composition.
const DEPARTURE: &str = "departure from the published density";
/// Its unit.
const MG_PER_ML: &str = "mg/mL";

/// A result of a bench, by index among the rows.
type Of<'r> = (usize, &'r Measured);

/// What benches found of an unknown.
struct Answered<'r> {
    first: &'r Answer,
    all: Vec<Of<'r>>,
}

/// What benches found of a liquid.
struct Weighed<'r> {
    name: &'r str,
    departures: Vec<Of<'r>>,
    /// Densities of single weighings, mg/mL.
    repeats: Vec<(usize, &'r [f64])>,
}

/// What all rows found, by unknown and by liquid, in the order in which they come up.
#[derive(Default)]
struct Gathered<'r> {
    answers: Vec<Answered<'r>>,
    liquids: Vec<Weighed<'r>>,
}

impl<'r> Gathered<'r> {
    fn add(&mut self, index: usize, found: &'r Findings) {
        for answer in &found.answers {
            let of = (index, &answer.measured);
            let same = |known: &&mut Answered| {
                let first = known.first;
                first.name == answer.name && first.scale == answer.scale
            };
            match self.answers.iter_mut().find(same) {
                Some(known) => known.all.push(of),
                None => self.answers.push(Answered {
                    first: answer,
                    all: vec![of],
                }),
            }
        }
        for liquid in &found.liquids {
            let at = self
                .liquids
                .iter()
                .position(|known| known.name == liquid.name);
            let at = at.unwrap_or_else(|| {
                self.liquids.push(Weighed {
                    name: &liquid.name,
                    departures: Vec::new(),
                    repeats: Vec::new(),
                });
                self.liquids.len() - 1
            });
            let known = &mut self.liquids[at];
            known.departures.extend(
                liquid
                    .departure
                    .as_ref()
                    .map(|departure| (index, departure)),
            );
            if !liquid.repeats.is_empty() {
                known.repeats.push((index, &liquid.repeats));
            }
        }
    }
}

impl Group {
    /// Of some rows. `known` has compositions of unknowns, by name, in the unit of the answers; for others, those under `known` in the
    /// run files count.
    pub fn new(rows: &[Row], known: &BTreeMap<String, Measured>) -> Self {
        let mut gathered = Gathered::default();
        for (index, row) in rows.iter().enumerate() {
            if let Some(found) = &row.found {
                gathered.add(index, found);
            }
        }
        let answers = gathered.answers.iter().map(|answered| {
            let first = answered.first;
            let known = known.get(&first.name).or(first.known.as_ref());
            Quantity::new(
                &first.name,
                first.quantity,
                first.unit,
                &answered.all,
                known,
            )
        });
        let liquids = gathered.liquids.iter().map(|weighed| {
            let quantity = Quantity::new(
                weighed.name,
                DEPARTURE,
                MG_PER_ML,
                &weighed.departures,
                None,
            );
            Quantity {
                is_answer: false,
                precision: Precise::estimate(&weighed.repeats),
                ..quantity
            }
        });
        let shared = |quantity: &Quantity| quantity.count > 1 || quantity.precision.is_some();
        let quantities: Vec<Quantity> = answers.chain(liquids.filter(shared)).collect();
        Self {
            pairs: Pairs::new(&quantities),
            quantities,
            class: Class::default(),
        }
    }
}

impl Pairs {
    /// Pairs of the last two liquids with departures: solutions, where there are two of them.
    fn new(quantities: &[Quantity]) -> Option<Self> {
        let departures = quantities.iter().enumerate();
        let departures =
            departures.filter(|(_, quantity)| !quantity.is_answer && quantity.count > 0);
        let departures: Vec<(usize, &Quantity)> = departures.collect();
        let [.., (first, a), (second, b)] = departures.as_slice() else {
            return None;
        };
        let both = a.values.keys().filter(|row| b.values.contains_key(row));
        let far_off: BTreeSet<usize> = a.far_off().into_iter().chain(b.far_off()).collect();
        let (left_out, rows) = both.copied().partition(|row| far_off.contains(row));
        let rows: Vec<usize> = rows;
        let pairs: Vec<(f64, f64)> = rows
            .iter()
            .map(|row| (a.values[row].value, b.values[row].value))
            .collect();
        Some(Self {
            quantities: [*first, *second],
            youden: youden(&pairs).ok()?,
            rows,
            left_out,
        })
    }
}

/// What lies further off, in robust standard deviations, would squeeze all others into a line.
const FAR_OFF: f64 = 12.0;

impl Quantity {
    /// Returns the benches that lie so far off that others would not be seen beside them, by index among the rows.
    pub(super) fn far_off(&self) -> Vec<usize> {
        let Some(assigned) = self.assigned.filter(|assigned| assigned.deviation > 0.0) else {
            return Vec::new();
        };
        let room = FAR_OFF * assigned.deviation;
        let values = self.values.iter();
        let far = values.filter(|(_, result)| {
            let away = (result.value - assigned.value).abs();
            away > room || result.expanded_uncertainty > 2.0 * room
        });
        far.map(|(row, _)| *row).collect()
    }

    fn new(
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
                zeta: known.map(|known| {
                    let (u, of_known) = (measured.standard_uncertainty, known.standard_uncertainty);
                    zeta(measured.value, u, known.value, of_known)
                }),
                en: known.map(|known| {
                    let (of_both, assigned) = (measured.expanded_uncertainty, known);
                    e_n(
                        measured.value,
                        of_both,
                        assigned.value,
                        assigned.expanded_uncertainty,
                    )
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
            values: all
                .iter()
                .map(|(index, measured)| (*index, (*measured).clone()))
                .collect(),
            scores: scores.collect(),
            precision: None,
        }
    }
}

impl Precise {
    fn estimate(repeats: &[(usize, &[f64])]) -> Option<Self> {
        let cells: Vec<Vec<f64>> = repeats.iter().map(|(_, values)| values.to_vec()).collect();
        let precision = precision(&cells).ok()?;
        let row = |cell: usize| repeats[cell].0;
        let means: Vec<f64> = cells
            .iter()
            .map(|cell| crate::bench::fit::mean(cell))
            .collect();
        let widest = cochran_test(&cells).ok();
        let outermost = grubbs_test(&means).ok();
        let inconsistent = consistency(&cells).unwrap_or_default();
        let inconsistent = inconsistent.iter().enumerate().filter_map(|(cell, each)| {
            let standing = each
                .k_standing
                .map_or(each.h_standing, |k| k.max(each.h_standing));
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
