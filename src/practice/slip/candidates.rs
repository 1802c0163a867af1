//! The slips that are looked for: each a change of the run file, told in words.

use crate::quantity::{Quantity, Written};
use crate::runfile::model::{ApparatusKind, Origin, Reading, RunFile, Solvent, WeighedReadings};

/// A kind of slip. The more slips of a kind there could be, the less one that happens to fit tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// One delivery too many or too few.
    Count,
    /// Filled to the mark of another vessel.
    Mark,
    /// Two solutions taken for each other when they were weighed.
    Swap,
    /// Two digits transposed.
    Digits,
}

/// A slip, as the run file would read without it.
pub(super) struct Candidate {
    pub(super) kind: Kind,
    /// What happened, to follow "as if ".
    pub(super) told: String,
    pub(super) run: RunFile,
}

/// The slips in making one solution of an excerpt and, where that is wanted, in weighing it, but for swaps.
pub(super) fn of(run: &RunFile, solution: usize, weighed: bool) -> Vec<Candidate> {
    let mut all = Vec::new();
    deliveries(run, solution, &mut all);
    marks(run, solution, &mut all);
    digits(run, solution, making, &mut all);
    if weighed {
        weighed_digits(run, solution, &mut all);
    }
    all
}

/// Two neighbouring digits exchanged in a weighing of a solution for its density.
pub(super) fn weighed_digits(run: &RunFile, solution: usize, all: &mut Vec<Candidate>) {
    digits(run, solution, weighing, all);
}

fn deliveries(run: &RunFile, solution: usize, all: &mut Vec<Candidate>) {
    let Origin::Dilution { aliquot, .. } = &run.solutions[solution].origin else {
        return;
    };
    let count = aliquot.deliveries.len();
    let name = &run.solutions[aliquot.of.value].name.value;
    let own = &run.solutions[solution].name.value;
    for wanted in [count - 1, count + 1].into_iter().filter(|n| *n > 0) {
        let mut changed = run.clone();
        if let Origin::Dilution { aliquot, .. } = &mut changed.solutions[solution].origin {
            let last = aliquot.deliveries[count - 1].clone();
            aliquot.deliveries.resize(wanted, last);
        }
        all.push(Candidate {
            kind: Kind::Count,
            told: format!("{wanted} deliveries of {name} had gone into {own}, and not {count}"),
            run: changed,
        });
    }
}

fn marks(run: &RunFile, solution: usize, all: &mut Vec<Candidate>) {
    let (Origin::MadeUp { made_up, .. } | Origin::Dilution { made_up, .. }) =
        &run.solutions[solution].origin
    else {
        return;
    };
    let own = made_up.to.value.value;
    let mut tried: Vec<f64> = vec![own];
    for apparatus in &run.apparatus {
        let holds = matches!(
            apparatus.kind,
            ApparatusKind::Flask | ApparatusKind::Cylinder
        );
        let Some(capacity) = apparatus.capacity.as_ref().filter(|_| holds) else {
            continue;
        };
        if tried.contains(&capacity.value.value) {
            continue;
        }
        tried.push(capacity.value.value);
        let mut changed = run.clone();
        if let Origin::MadeUp { made_up, .. } | Origin::Dilution { made_up, .. } =
            &mut changed.solutions[solution].origin
        {
            made_up.to.value = capacity.value.clone();
        }
        all.push(Candidate {
            kind: Kind::Mark,
            told: format!(
                "{} had been made up to {} {}, and not {} {}",
                run.solutions[solution].name.value,
                capacity.value.number.text,
                capacity.value.unit.symbol,
                made_up.to.value.number.text,
                made_up.to.value.unit.symbol
            ),
            run: changed,
        });
    }
}

/// The densities of two solutions of an excerpt exchanged.
pub(super) fn swapped(run: &RunFile, a: usize, b: usize) -> Candidate {
    let mut changed = run.clone();
    let exchange = |solution: &mut usize| {
        if *solution == a {
            *solution = b;
        } else if *solution == b {
            *solution = a;
        }
    };
    for weighings in &mut changed.weighings {
        exchange(&mut weighings.solution.value);
    }
    for cumulative in &mut changed.cumulative {
        exchange(&mut cumulative.solution.value);
    }
    for readings in &mut changed.readings {
        exchange(&mut readings.solution.value);
    }
    for fillings in changed.pycnometer.iter_mut().flat_map(|p| &mut p.fillings) {
        exchange(&mut fillings.solution.value);
    }
    let [a, b] = [a, b].map(|i| &run.solutions[i].name.value);
    Candidate {
        kind: Kind::Swap,
        told: format!("{a} and {b} had been taken for each other when they were weighed"),
        run: changed,
    }
}

/// Some readings of a solution.
type Readings = fn(&mut RunFile, usize) -> Vec<&mut Reading>;

/// Two neighbouring digits exchanged in one of some readings.
fn digits(run: &RunFile, solution: usize, readings: Readings, all: &mut Vec<Candidate>) {
    let count = readings(&mut run.clone(), solution).len();
    for index in 0..count {
        let mut tried = run.clone();
        let written = readings(&mut tried, solution)
            .get(index)
            .map(|reading| (reading.value.clone(), reading.entry.name.clone()));
        let Some((value, entry)) = written else {
            continue;
        };
        let like_others = empties_but(run, &entry);
        for other in transposed(&value) {
            // An empty vessel that weighs what it always weighs was not misread.
            if like_others.is_some_and(|usual| usual.holds(&value) && !usual.holds(&other)) {
                continue;
            }
            let mut changed = run.clone();
            if let Some(reading) = readings(&mut changed, solution).get_mut(index) {
                reading.value = other.clone();
            }
            all.push(Candidate {
                kind: Kind::Digits,
                told: format!(
                    "two digits were transposed at {entry}: {} for {}",
                    value.number.text, other.number.text
                ),
                run: changed,
            });
        }
    }
}

/// Between what the empty vessels of a run weigh, g.
#[derive(Debug, Clone, Copy)]
struct Usual {
    low: f64,
    high: f64,
}

impl Usual {
    /// Whether a mass is like the others: no further from them than they lie apart. (Vessels that differ much make
    /// nothing unlikely.)
    fn holds(self, mass: &Quantity) -> bool {
        let room = self.high - self.low;
        (self.low - room..=self.high + room).contains(&mass.value)
    }
}

/// What the other empty vessels weigh, where the entry is one of them.
fn empties_but(run: &RunFile, entry: &str) -> Option<Usual> {
    let all = run.weighings.iter().flat_map(|w| &w.replicates);
    let (own, others): (Vec<&Reading>, Vec<&Reading>) = all
        .map(|r| &r.empty)
        .partition(|empty| empty.entry.name == entry);
    if own.is_empty() || others.is_empty() {
        return None;
    }
    let masses = others.iter().map(|empty| empty.value.value);
    Some(Usual {
        low: masses.clone().fold(f64::INFINITY, f64::min),
        high: masses.fold(f64::NEG_INFINITY, f64::max),
    })
}

/// The masses that make a solution.
fn making(run: &mut RunFile, solution: usize) -> Vec<&mut Reading> {
    match &mut run.solutions[solution].origin {
        Origin::MadeUp { weighed, .. } => masses(&mut weighed.readings),
        Origin::ByMass { weighed, solvent } => {
            let mut all = masses(&mut weighed.readings);
            if let Solvent::Weighed(water) = solvent {
                all.extend(masses(&mut water.readings));
            }
            all
        }
        Origin::Pure | Origin::Unknown | Origin::Dilution { .. } => Vec::new(),
    }
}

/// The masses that weigh a solution for its density.
fn weighing(run: &mut RunFile, solution: usize) -> Vec<&mut Reading> {
    let own = run
        .weighings
        .iter_mut()
        .filter(|w| w.solution.value == solution)
        .flat_map(|w| &mut w.replicates)
        .filter(|r| r.left_out.is_none());
    own.flat_map(|r| [&mut r.empty, &mut r.filled]).collect()
}

fn masses(readings: &mut WeighedReadings) -> Vec<&mut Reading> {
    match readings {
        WeighedReadings::Difference { before, after } => vec![before, after],
        WeighedReadings::Tared { mass } => vec![mass],
    }
}

/// A quantity with each two neighbouring digits that differ exchanged.
fn transposed(quantity: &Quantity) -> Vec<Quantity> {
    let text = &quantity.number.text;
    let mantissa = text.split(['e', 'E']).next().unwrap_or_default().len();
    // Neighbours may have the decimal point between them.
    let digits: Vec<usize> = text
        .bytes()
        .enumerate()
        .take(mantissa)
        .filter(|(_, byte)| byte.is_ascii_digit())
        .map(|(at, _)| at)
        .collect();
    let mut all = Vec::new();
    for pair in digits.windows(2) {
        let mut bytes = text.clone().into_bytes();
        bytes.swap(pair[0], pair[1]);
        if bytes[pair[0]] == bytes[pair[1]] {
            continue;
        }
        let Some(number) = String::from_utf8(bytes)
            .ok()
            .and_then(|text| Written::parse(&text).ok())
        else {
            continue;
        };
        // Masses are in proportion to their numbers in any unit.
        let ratio = number.value / quantity.number.value;
        if ratio.is_finite() {
            all.push(Quantity {
                value: quantity.value * ratio,
                number,
                ..quantity.clone()
            });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_vessel_that_weighs_what_it_always_weighs_was_not_misread() {
        let text = include_str!("../../../sample_runs/creamery_brine_bath.yaml");
        let told = |text: &str| -> Vec<String> {
            let (run, problems) = crate::runfile::read("run.yaml", text.as_bytes());
            let run = run.unwrap_or_else(|| panic!("{problems:#?}"));
            let b = run.solutions.iter().position(|s| s.name.value == "B");
            let mut all = Vec::new();
            weighed_digits(&run, b.expect("B"), &mut all);
            all.into_iter().map(|candidate| candidate.told).collect()
        };
        let honest = told(text);
        assert!(
            !honest.iter().any(|told| told.contains("B.1.empty")),
            "{honest:#?}"
        );
        assert!(
            honest
                .iter()
                .any(|told| told.contains("36.903 for") || told.contains("for 36.903")),
            "filled vessels are tried: {honest:#?}"
        );
        let misread = told(&text.replacen(
            "empty: 28.314 g, filled: 39.603 g",
            "empty: 82.314 g, filled: 93.603 g",
            1,
        ));
        assert!(
            misread
                .iter()
                .any(|told| told.contains("B.1.empty: 82.314 for 28.314")),
            "{misread:#?}"
        );
    }
}
