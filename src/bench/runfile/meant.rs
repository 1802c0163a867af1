//! Corrections of readings that give an impossible density.

use super::model::Reading;
use crate::bench::quantity::Quantity;
use std::ops::RangeInclusive;

/// Densities that a brine may have, g/mL: from hot water to strong calcium chloride (common practice, no source).
const OF_BRINES: RangeInclusive<f64> = 0.95..=1.5;

/// Corrections of one mass of a weighing, for a volume in mL, that give a possible density and have as many decimals as the
/// other mass.
pub(super) fn of_weighing([empty, filled]: [&Reading; 2], volume: f64) -> Vec<String> {
    let alike = |a: &Quantity, b: &Reading| a.number.last_place == b.value.number.last_place;
    let brine = |empty: f64, filled: f64| OF_BRINES.contains(&((filled - empty) / volume));
    let of_empty = instead("empty", empty, |other| {
        alike(other, filled) && brine(other.value, filled.value.value)
    });
    let of_filled = instead("filled", filled, |other| {
        alike(other, empty) && brine(empty.value.value, other.value)
    });
    [of_filled, of_empty].concat()
}

/// Corrections of a volume that give a possible density for a mass in g.
pub(super) fn of_volume(volume: &Reading, mass: f64) -> Vec<String> {
    instead("volume", volume, |other| {
        OF_BRINES.contains(&(mass / other.value))
    })
}

/// Corrections of one of two consecutive masses of a series that give possible densities on both sides. Each mass comes with
/// the volume delivered so far, mL; the first of the two has index `first`.
pub(super) fn of_series(masses: &[(f64, &Reading)], first: usize) -> Vec<String> {
    let brine = |(volume, mass): (f64, f64), (after, heavier): (f64, f64)| {
        OF_BRINES.contains(&((heavier - mass) / (after - volume)))
    };
    let point = |index: usize| {
        let (volume, mass) = masses.get(index)?;
        Some((*volume, mass.value.value))
    };
    let each = [first, first + 1].into_iter().flat_map(|index| {
        let (volume, mass) = masses[index];
        let (before, after) = (index.checked_sub(1).and_then(point), point(index + 1));
        instead(&mass.entry.name, mass, |other| {
            let other = (volume, other.value);
            before.is_none_or(|before| brine(before, other))
                && after.is_none_or(|after| brine(other, after))
        })
    });
    each.collect()
}

/// Returns the corrections of a reading that fit, each as it would be written under its key.
fn instead(key: &str, reading: &Reading, fits: impl Fn(&Quantity) -> bool) -> Vec<String> {
    let meant = reading.value.suggest().into_iter();
    let meant = meant.filter(|(_, other)| fits(other));
    meant
        .map(|(_, other)| format!("{key}: {}", other.as_written()))
        .collect()
}
