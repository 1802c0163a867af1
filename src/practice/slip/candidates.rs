//! The slips that are looked for: each a change of the run file, told in words.

use crate::quantity::{Quantity, Written};
use crate::runfile::model::{ApparatusKind, Origin, Reading, RunFile, WeighedReadings};

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

/// The slips in making and weighing one solution of an excerpt, but for swaps.
pub(super) fn of(run: &RunFile, solution: usize) -> Vec<Candidate> {
    let mut all = Vec::new();
    deliveries(run, solution, &mut all);
    marks(run, solution, &mut all);
    digits(run, solution, &mut all);
    all
}

fn deliveries(run: &RunFile, solution: usize, all: &mut Vec<Candidate>) {
    let Origin::Dilution { aliquot, .. } = &run.solutions[solution].origin else {
        return;
    };
    let count = aliquot.deliveries.len();
    let name = &run.solutions[aliquot.of.value].name.value;
    for wanted in [count - 1, count + 1].into_iter().filter(|n| *n > 0) {
        let mut changed = run.clone();
        if let Origin::Dilution { aliquot, .. } = &mut changed.solutions[solution].origin {
            let last = aliquot.deliveries[count - 1].clone();
            aliquot.deliveries.resize(wanted, last);
        }
        all.push(Candidate {
            kind: Kind::Count,
            told: format!("{wanted} deliveries of {name} had gone into it, and not {count}"),
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
                "it had been made up to {} {}, and not {} {}",
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

fn digits(run: &RunFile, solution: usize, all: &mut Vec<Candidate>) {
    let count = readings(&mut run.clone(), solution).len();
    for index in 0..count {
        let mut tried = run.clone();
        let written = readings(&mut tried, solution)
            .get(index)
            .map(|reading| (reading.value.clone(), reading.entry.name.clone()));
        let Some((value, entry)) = written else {
            continue;
        };
        for other in transposed(&value) {
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

/// The masses that make and weigh a solution.
fn readings(run: &mut RunFile, solution: usize) -> Vec<&mut Reading> {
    let mut all = Vec::new();
    match &mut run.solutions[solution].origin {
        Origin::MadeUp { weighed, .. } => all.extend(masses(&mut weighed.readings)),
        Origin::ByMass { weighed, solvent } => {
            all.extend(masses(&mut weighed.readings));
            all.extend(masses(&mut solvent.readings));
        }
        Origin::Pure | Origin::Unknown | Origin::Dilution { .. } => {}
    }
    let own = run
        .weighings
        .iter_mut()
        .filter(|w| w.solution.value == solution)
        .flat_map(|w| &mut w.replicates)
        .filter(|r| r.left_out.is_none());
    for replicate in own {
        all.extend([&mut replicate.empty, &mut replicate.filled]);
    }
    all
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
