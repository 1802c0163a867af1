//! What would make the answer better: other ware, tried in the same way.

use super::bench::Bench;
use super::foretell::{WITHIN, reduced};
use super::series::Series;
use super::weighing::Weighing;
use crate::bench::quantity::rounding::shortest;
use crate::bench::quantity::{Quantity, Unit};
use crate::bench::reduce::instruments::standard_kind;
use crate::bench::runfile::model::{Apparatus, ApparatusKind, Class, Reading};

/// More changes than these, or pairs of them, are not tried.
const MOST_TRIED: usize = 400;
/// More weighings than these of one solution are tedious (common practice, no source).
const MOST_WEIGHINGS: u32 = 10;

/// A change of a plan.
#[derive(Debug, Clone, PartialEq)]
struct Change {
    /// In words, to follow "with ".
    words: String,
    /// The lower, the cheaper: weighings before ware, ware before instruments (common practice, no source).
    cost: u32,
    what: ChangeKind,
}

#[derive(Debug, Clone, PartialEq)]
enum ChangeKind {
    /// So many weighings.
    Weighings(u32),
    /// Other apparatus in the place of that of this index.
    Instead(usize, Box<Apparatus>),
    /// Another pipette besides, which measures the volumes weighed.
    Besides(Box<Apparatus>),
}

/// The cheapest of the changes that reaches what is wanted; or the best that they all together reach.
#[derive(Debug)]
pub(super) struct Trial {
    /// What is changed, in words.
    pub(super) words: String,
    /// The answer then, on the scale expected.
    pub(super) answer: f64,
    /// Whether it reaches what is wanted.
    pub(super) reaches: bool,
}

/// Looks for a change of a proposed way that reaches the uncertainty `wanted`, on the scale expected:
/// one change, two, or all together.
pub(super) fn cheapest(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
    wanted: f64,
) -> Option<Trial> {
    let changes = all(bench, series, weighing);
    let mut sets: Vec<Vec<&Change>> = changes.iter().map(|change| vec![change]).collect();
    for (i, one) in changes.iter().enumerate() {
        for other in &changes[i + 1..] {
            if are_apart(one, other) {
                sets.push(vec![one, other]);
            }
        }
    }
    let cost = |set: &Vec<&Change>| (set.len(), set.iter().map(|change| change.cost).sum::<u32>());
    sets.sort_by_key(cost);
    sets.truncate(MOST_TRIED);
    let found = sets.iter().find_map(|set| {
        let answer = try_changes(bench, series, weighing, set, wanted)?;
        (answer <= wanted).then(|| Trial {
            words: in_words(set),
            answer,
            reaches: true,
        })
    });
    found.or_else(|| {
        let mut together: Vec<&Change> = Vec::new();
        for change in changes.iter().rev() {
            if together.iter().all(|other| are_apart(change, other)) {
                together.push(change);
            }
        }
        let answer = try_changes(bench, series, weighing, &together, f64::INFINITY)?;
        Some(Trial {
            words: in_words(&together),
            answer,
            reaches: answer <= wanted,
        })
    })
}

fn in_words(set: &[&Change]) -> String {
    let words: Vec<&str> = set.iter().map(|change| change.words.as_str()).collect();
    words.join(" and ")
}

/// Returns whether two changes can be made together.
fn are_apart(one: &Change, other: &Change) -> bool {
    match (&one.what, &other.what) {
        (ChangeKind::Instead(one, _), ChangeKind::Instead(other, _)) => one != other,
        (ChangeKind::Weighings(_), ChangeKind::Weighings(_))
        | (ChangeKind::Besides(_), ChangeKind::Besides(_)) => false,
        _ => true,
    }
}

/// Returns the largest uncertainty of the unknown with changes made; `None` if the run cannot be made so, or has one
/// that is larger than `most` at some strength.
fn try_changes(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
    changes: &[&Change],
    most: f64,
) -> Option<f64> {
    let mut apparatus = bench.apparatus.to_vec();
    let mut weighing = weighing.clone();
    let mut measures = bench.deliver[weighing.ware].index;
    for change in changes {
        match &change.what {
            ChangeKind::Weighings(times) => weighing.times = *times,
            ChangeKind::Instead(index, item) => apparatus[*index] = (**item).clone(),
            ChangeKind::Besides(item) => {
                measures = apparatus.len();
                apparatus.push((**item).clone());
            }
        }
    }
    let changed = Bench::new(bench.plan, &apparatus, bench.shape)?;
    weighing.ware = changed
        .deliver
        .iter()
        .position(|ware| ware.index == measures)?;
    weighing.deliveries = changed.deliver[weighing.ware].full(weighing.deliveries.count);
    if !weighing.is_possible(&changed) {
        return None;
    }
    let series = series.transfer(bench, &changed)?;
    let mut largest = 0.0_f64;
    for part in WITHIN {
        let (.., answer) = reduced(&changed, &series, &weighing, part).ok()?;
        largest = largest.max(answer.expanded_uncertainty);
        if largest > most {
            return None;
        }
    }
    Some(largest)
}

/// Returns the changes that are tried, the cheapest first.
fn all(bench: &Bench, series: &Series, weighing: &Weighing) -> Vec<Change> {
    let mut changes = Vec::new();
    for times in weighing.times + 1..=MOST_WEIGHINGS {
        changes.push(Change {
            words: format!("{times} weighings of each solution"),
            cost: times - weighing.times,
            what: ChangeKind::Weighings(times),
        });
    }
    let pipette = bench.deliver[weighing.ware].index;
    for (index, item) in bench.apparatus.iter().enumerate() {
        let name = &item.name.value;
        if has_better_class(item) && (index == pipette || series.uses(bench, index)) {
            let cost = if index == pipette { 10 } else { 12 };
            changes.push(Change {
                words: format!("{name} of class A"),
                cost,
                what: ChangeKind::Instead(index, Box::new(of_class_a(item))),
            });
        }
        if item.kind == ApparatusKind::Balance && index == weighing.balance {
            for (finer, cost) in [(10.0, 30), (100.0, 40)] {
                let mut balance = item.clone();
                for reading in [
                    &mut balance.readability,
                    &mut balance.repeatability,
                    &mut balance.linearity,
                ]
                .into_iter()
                .flatten()
                {
                    *reading = scaled(reading, 1.0 / finer, &Unit::GRAM);
                }
                let step = balance.readability.as_ref();
                let step = step.map_or_else(String::new, |step| step.value.as_written());
                changes.push(Change {
                    words: format!("a balance that shows {step} in place of {name}"),
                    cost,
                    what: ChangeKind::Instead(index, Box::new(balance)),
                });
            }
        }
        if item.kind == ApparatusKind::Thermometer {
            let mut thermometer = item.clone();
            for reading in [&mut thermometer.readability, &mut thermometer.accuracy]
                .into_iter()
                .flatten()
            {
                *reading = scaled(reading, 0.1, &Unit::CELSIUS_STEP);
            }
            changes.push(Change {
                words: format!("a thermometer ten times as accurate as {name}"),
                cost: 20,
                what: ChangeKind::Instead(index, Box::new(thermometer)),
            });
        }
    }
    changes.extend(larger_pipettes(bench, pipette));
    changes.sort_by_key(|change| change.cost);
    changes
}

/// Larger pipettes than the one that measures the volume weighed, of its class and of class A.
fn larger_pipettes(bench: &Bench, pipette: usize) -> Vec<Change> {
    let item = &bench.apparatus[pipette];
    let (Some(kind), Some(capacity)) = (standard_kind(item.kind), &item.capacity) else {
        return Vec::new();
    };
    if item.kind != ApparatusKind::Pipette || item.class.is_none() {
        return Vec::new();
    }
    let larger = kind.capacities().into_iter();
    let larger = larger.filter(|listed| *listed > capacity.value.value * (1.0 + 1e-9));
    let mut changes = Vec::new();
    for (rank, size) in larger.enumerate() {
        let mut other = item.clone();
        other.name.value = format!("{size} mL pipette for the weighings");
        let factor = size / capacity.value.value;
        other.capacity = Some(scaled(capacity, factor, &Unit::MILLILITRE));
        other.tolerance = None;
        other.repeatability = None;
        let mut push = |item: Apparatus, cost: u32| {
            let class = if has_better_class(&item) { "B" } else { "A" };
            changes.push(Change {
                words: format!("a {size} mL pipette of class {class} for the weighings"),
                cost,
                what: ChangeKind::Besides(Box::new(item)),
            });
        };
        let cost = 14 + rank as u32;
        push(other.clone(), cost);
        if has_better_class(&other) {
            push(of_class_a(&other), cost + 4);
        }
    }
    changes
}

/// Returns whether ware is of class B, so that there is better.
fn has_better_class(item: &Apparatus) -> bool {
    let class = item.class.as_ref();
    item.tolerance.is_none() && class.is_some_and(|class| class.value == Class::B)
}

fn of_class_a(item: &Apparatus) -> Apparatus {
    let mut better = item.clone();
    if let Some(class) = &mut better.class {
        class.value = Class::A;
    }
    better
}

/// Returns a reading so many times as large, in a unit.
fn scaled(reading: &Reading, factor: f64, unit: &'static Unit) -> Reading {
    let text = shortest(reading.value.value * factor, 6).unwrap_or_default();
    let mut scaled = reading.clone();
    if let Ok(value) = Quantity::parse(&text, unit) {
        scaled.value = value;
    }
    scaled
}
