//! **What:** a reading is written with fewer digits than its balance shows, or with more.
//!
//! **Why it matters:** digits not written are lost, and with them what the balance can do; digits that it cannot show
//! were read elsewhere, or made up.
//!
//! **Source:** common practice, no source.

use super::level::NEGLIGIBLE;
use super::readings::{last_place, of_balances};
use super::{Bench, Flag, Message, size};
use crate::bench::runfile::model::FlagCode;
use std::collections::BTreeMap;

/// So many entries are named in full.
const MOST_NAMED: usize = 4;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let mut odd: BTreeMap<usize, Vec<(&str, i32)>> = BTreeMap::new();
    for (balance, reading) in of_balances(bench.run) {
        let readability = bench.run.apparatus[balance].readability.as_ref();
        let (Some(place), Some(shown)) = (last_place(reading), readability.and_then(last_place))
        else {
            continue;
        };
        // A zero says that the balance was tared.
        if place != shown && reading.value.value != 0.0 {
            let entry = (reading.entry.name.as_str(), place - shown);
            odd.entry(balance).or_default().push(entry);
        }
    }
    for (balance, entries) in odd {
        let apparatus = &bench.run.apparatus[balance];
        let Some(readability) = &apparatus.readability else {
            continue;
        };
        let mut message = Message::from(format!(
            "{} shows steps of {} {}; the decimals differ in ",
            apparatus.name.value, readability.value.number.text, readability.value.unit.symbol,
        ));
        for (i, (entry, _)) in entries.iter().take(MOST_NAMED).enumerate() {
            if i > 0 {
                message.add(", ");
            }
            message.add_entry(entry);
        }
        message.add(match entries.len().saturating_sub(MOST_NAMED) {
            0 => ".".to_owned(),
            more => format!(" and {more} more."),
        });
        let coarsest = entries.iter().map(|e| e.1).max().unwrap_or_default();
        // What the coarsest of them loses.
        let half = apparatus
            .readability
            .as_ref()
            .map_or(0.0, |step| 0.5 * step.value.value * 10f64.powi(coarsest));
        let lost = entries.iter().filter(|e| e.1 > 0).map(|e| (e.0, half));
        let share = bench.share(&lost.collect());
        if coarsest > 0 && share.is_some_and(|share| share < NEGLIGIBLE) {
            continue;
        }
        let flag = Flag::new(
            FlagCode::DigitsNotShown,
            entries[0].0,
            message,
            "Digits not written are lost; digits that the balance cannot show were not read from it.",
        );
        flags.push(if coarsest > 0 {
            let step = readability.value.value * 10f64.powi(coarsest);
            flag.with_effect(format!(
                "A reading rounded to {} g may be in error by {} g.",
                size(step),
                size(0.5 * step)
            ))
        } else {
            flag
        });
    }
}
