//! **What:** all readings of a balance end in 0 or 5.
//!
//! **Why it matters:** a display ends in every digit alike. Readings that never do were rounded by eye, and are known
//! less well than they are taken for.
//!
//! **Source:** common practice, no source; the chance that so many readings do so is one in five to their number.

use super::level::{NEGLIGIBLE, Tested};
use super::readings::{last_place, of_balances};
use super::scene::Scene;
use super::{Bench, Flag, Judge, Slips, SlipsBehind, size};
use crate::bench::runfile::model::FlagCode;
use std::collections::BTreeMap;

/// What is less likely than this is not put down to chance, however few tests there are.
const BY_CHANCE: f64 = 1e-3;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::None,
};

/// Returns the last digits of the readings of each balance whose display counts in ones, with the readings' entries.
fn last_digits<'a>(bench: &'a Bench) -> BTreeMap<usize, Vec<(&'a str, char)>> {
    let mut last: BTreeMap<usize, Vec<(&str, char)>> = BTreeMap::new();
    for (balance, reading) in of_balances(bench.run) {
        let readability = bench.run.apparatus[balance].readability.as_ref();
        let Some(readability) = readability else {
            continue;
        };
        // A display of steps of 2 or 5 has digits of its own.
        let steps_of_one = readability.value.number.text.ends_with('1');
        let shown = last_place(reading).is_some() && last_place(reading) == last_place(readability);
        let digits = reading.value.number.text.split(['e', 'E']).next();
        let digit = digits.and_then(|digits| digits.chars().last());
        if let (true, true, Some(digit)) = (steps_of_one, shown, digit) {
            let entry = (reading.entry.name.as_str(), digit);
            last.entry(balance).or_default().push(entry);
        }
    }
    last
}

fn by_chance(readings: &[(&str, char)]) -> f64 {
    0.2_f64.powi(readings.len() as i32)
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let each = last_digits(scene.bench).into_iter();
    each.map(|(of, readings)| {
        let chance = by_chance(&readings);
        let habit = readings.iter().all(|(_, digit)| matches!(digit, '0' | '5'));
        let p = if habit && chance <= BY_CHANCE {
            chance
        } else {
            1.0
        };
        Tested { of, p }
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], _: &Slips) -> Vec<Flag> {
    let bench = scene.bench;
    let mut flags = Vec::new();
    for (balance, readings) in last_digits(bench) {
        if !refused.contains(&balance) {
            continue;
        }
        let apparatus = &bench.run.apparatus[balance];
        let step = apparatus
            .readability
            .as_ref()
            .map_or(0.0, |r| r.value.value);
        let off = readings.iter().map(|(entry, _)| (*entry, 2.5 * step));
        if bench
            .share(&off.collect())
            .is_some_and(|share| share < NEGLIGIBLE)
        {
            continue;
        }
        flags.push(
            Flag::new(
                FlagCode::LastDigitHabit,
                readings[0].0,
                format!(
                    "All {} readings of {} end in 0 or 5. By chance, this happens once in {} times.",
                    readings.len(),
                    apparatus.name.value,
                    size(1.0 / by_chance(&readings))
                ),
                "Readings rounded by eye are less certain than assumed.",
            )
            .with_effect(format!(
                "Rounded to {} g, each may be in error by {} g instead of {} g.",
                size(5.0 * step),
                size(2.5 * step),
                size(0.5 * step)
            )),
        );
    }
    flags
}
