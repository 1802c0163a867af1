//! A bench that stands apart from its class, on normal numbers whose truth is known.

use crate::simulation::chance::Chance;
use crate::simulation::judge::each;
use fillmark::bench::interlaboratory::{Apart, Judged, Off, Repeat, Values, apart};

/// Standard deviation of the error that all values of a bench share, and of each reading, in the same unit.
const SHARED: f64 = 0.8;
const READING: f64 = 0.5;
/// What the benches think of a reading: three times too much, so that nothing is seen by themselves.
const THOUGHT: f64 = 1.5;
const QUANTITIES: usize = 5;
/// By what factors the standard deviations of the quantities' readings differ from [`READING`] where they are uneven.
const UNEVEN: [f64; QUANTITIES] = [0.4, 0.8, 1.0, 1.2, 5.0];

/// A class of so many benches with so many readings behind each value; what is added to one reading of one bench.
fn class(number: u64, benches: usize, readings: usize, slip: f64) -> Vec<Values> {
    class_of([1.0; QUANTITIES], number, benches, readings, slip)
}

fn class_of(
    factors: [f64; QUANTITIES],
    number: u64,
    benches: usize,
    readings: usize,
    slip: f64,
) -> Vec<Values> {
    let mut chance = Chance::of(number, 500 + benches as u64);
    let bench = |bench: usize| {
        let shared = chance.normal(SHARED);
        let mut values = Values {
            quantities: (0..QUANTITIES).collect(),
            shared: vec![SHARED * SHARED; QUANTITIES * (QUANTITIES + 1) / 2],
            own: vec![THOUGHT * THOUGHT / readings as f64; QUANTITIES],
            ..Values::default()
        };
        for (quantity, factor) in factors.iter().enumerate() {
            let read = (0..readings).map(|_| shared + chance.normal(READING * factor));
            let mut read: Vec<f64> = read.collect();
            if (bench, quantity) == (3, 1) {
                read[0] += slip;
            }
            let mean = read.iter().sum::<f64>() / readings as f64;
            values.values.push(10.0 * quantity as f64 + mean);
            let repeats = read.iter().map(|one| Repeat {
                apart: one - mean,
                deviation: THOUGHT,
            });
            values.repeats.push(repeats.collect());
        }
        values
    };
    (0..benches).map(bench).collect()
}

fn judged(number: u64, benches: usize, readings: usize, slip: f64) -> Judged {
    apart(&class(number, benches, readings, slip), QUANTITIES, 0)
}

fn found(judged: &Judged) -> Option<&Apart> {
    judged.apart.iter().find(|apart| apart.bench == 3)
}

#[test]
fn honest_classes_seldom_have_a_bench_that_stands_apart() {
    const CLASSES: usize = 150;
    for factors in [[1.0; QUANTITIES], UNEVEN] {
        for (benches, readings) in [(8, 1), (8, 3), (12, 2), (30, 1), (30, 3), (100, 2)] {
            let all = each(0, CLASSES, |number| {
                let class = class_of(factors, number, benches, readings, 0.0);
                !apart(&class, QUANTITIES, 0).apart.is_empty()
            });
            let accused = all.iter().filter(|accused| **accused).count();
            // 7.5 of 150 are meant at most; 17 or more would come by chance once in 600 times (binomial).
            assert!(
                accused <= 16,
                "{benches} benches, {readings} readings, {factors:?}: {accused}"
            );
        }
    }
}

#[test]
fn a_slip_is_found_where_the_class_shows_it() {
    const CLASSES: usize = 300;
    for readings in [2, 3] {
        // What is left of a value given four others with the same shared error, from the inverse of their covariance:
        // 1/(own) − shared²-weighted mean, in closed form (Sherman and Morrison 1950).
        let own = READING * READING / readings as f64;
        let inverse = 1.0 / own
            - SHARED * SHARED / (own * own) / (1.0 + QUANTITIES as f64 * SHARED * SHARED / own);
        let left = 1.0 / inverse.sqrt();
        let one = judged(0, 2000, readings, 0.0).quantities[0].expect("a quantity");
        assert!((one.left / left - 1.0).abs() < 0.05, "{} {left}", one.left);
        assert!(
            (one.scatter / (READING / THOUGHT).powi(2) - 1.0).abs() < 0.05,
            "{one:?}"
        );
        // Four standard deviations of what is left, in one of the readings.
        let slip = 4.0 * left * readings as f64;
        let all = each(0, CLASSES, |number| {
            let judged = judged(number, 30, readings, slip);
            let off = found(&judged).and_then(|apart| apart.refused.first().map(|first| first.off));
            off == Some(Off::Reading(1, 0))
        });
        let seen = all.iter().filter(|seen| **seen).count();
        // 95 % are meant; 273 or fewer of 300 would come by chance once in 300 times (binomial).
        assert!(seen >= 274, "{readings} readings: {seen}");
    }
}

#[test]
fn a_slip_as_large_as_is_said_to_be_seen_is_seen() {
    const CLASSES: usize = 150;
    for readings in [1, 2, 3] {
        let all = each(0, CLASSES, |number| {
            let honest = judged(number, 30, readings, 0.0).quantities[1].expect("a quantity");
            let slip = honest.visible_reading.unwrap_or(honest.visible);
            found(&judged(number, 30, readings, slip)).is_some()
        });
        let seen = all.iter().filter(|seen| **seen).count();
        // 95 % are meant; the slip itself widens what the class differs by. Four standard deviations of the simulation.
        assert!((131..=150).contains(&seen), "{readings} readings: {seen}");
    }
}

#[test]
fn what_all_values_of_a_bench_share_accuses_nobody() {
    let mut values = class(0, 30, 2, 0.0);
    for value in &mut values[7].values {
        *value += 4.0 * SHARED;
    }
    assert_eq!(apart(&values, QUANTITIES, 0).apart, []);
    // Benches too few to know what they differ by.
    let few = apart(&class(0, 7, 2, 50.0), QUANTITIES, 0);
    assert_eq!(
        (few.apart, few.quantities),
        (vec![], vec![None; QUANTITIES])
    );
}

#[test]
fn values_that_are_off_together_are_seen_in_their_direction() {
    let direction = vec![0.0, 1.0, 0.5, 0.25, 0.0];
    let mut values = class(0, 30, 2, 0.0);
    for (value, by) in values[7].values.iter_mut().zip(&direction) {
        *value += 4.0 * by;
    }
    for bench in &mut values {
        bench.families = vec![(0, direction.clone())];
    }
    let judged = apart(&values, QUANTITIES, 1);
    let [one] = judged.apart.as_slice() else {
        panic!("{judged:?}");
    };
    let family = one.refused.iter().find(|one| one.off == Off::Family(0));
    assert!(one.bench == 7, "{one:?}");
    assert!(
        family.is_some_and(|family| (family.by - 4.0).abs() < 1.0),
        "{one:?}"
    );
}
