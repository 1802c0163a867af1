//! **What:** ware took another liquid than its last after fewer rinses than are common.
//!
//! **Why it matters:** a film of the previous liquid mixes with the next.
//!
//! **Source:** common practice, no source: three rinses; a film of 0.4 % of the capacity on walls drained; a third of the
//! capacity taken for each rinse.

use super::level::NEGLIGIBLE;
use super::{Bench, Flag, size};
use crate::bench::runfile::model::{At, FlagCode, Origin};
use std::collections::BTreeMap;

/// Rinses that are common.
pub const COMMON: u32 = 3;
/// The film that drained walls hold back, as a share of the capacity.
const FILM: f64 = 0.004;
/// What one rinse takes, as a share of the capacity.
pub const RINSE: f64 = 1.0 / 3.0;

/// A use of ware.
struct Use<'a> {
    /// The solution that was in it, an index into the run's solutions.
    liquid: usize,
    /// What the old film goes into: the solution whose result it touches.
    touched: usize,
    way: Way,
    rinsed: Option<u32>,
    entry: &'a str,
}

/// How ware was used.
#[derive(Clone, Copy)]
enum Way {
    /// It delivered volumes, so many, that were weighed.
    Weighed(usize),
    /// It delivered so many volumes of a solution into a dilution.
    Aliquot(usize),
    /// It was filled.
    Filled,
}

/// Returns the next use of ware after its last, with another liquid.
fn changes<'u, 'a>(uses: &'u [Use<'a>]) -> impl Iterator<Item = (&'u Use<'a>, &'u Use<'a>)> {
    let pairs = uses.windows(2).map(|pair| (&pair[0], &pair[1]));
    pairs.filter(|(last, next)| last.liquid != next.liquid)
}

/// Returns the names of ware that took another liquid than its last with no rinsing recorded.
pub(super) fn not_recorded<'a>(bench: &'a Bench) -> Vec<&'a str> {
    let uses = uses(bench).into_iter();
    uses.filter(|(_, uses)| changes(uses).any(|(_, next)| next.rinsed.is_none()))
        .map(|(ware, _)| bench.run.apparatus[ware].name.value.as_str())
        .collect()
}

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    for (ware, uses) in uses(bench) {
        let few =
            changes(&uses).filter(|(_, next)| next.rinsed.is_some_and(|times| times < COMMON));
        let few: Vec<(&Use, &Use)> = few.collect();
        if !few.is_empty() {
            flags.extend(flag(bench, &bench.run.apparatus[ware].name.value, &few));
        }
    }
}

/// Returns one flag for all changes of one piece of ware, with the effect of the worst; `None` if that is negligible.
fn flag(bench: &Bench, ware: &str, few: &[(&Use, &Use)]) -> Option<Flag> {
    let name = |i: usize| bench.run.solutions[i].name.value.as_str();
    let told: Vec<String> = few
        .iter()
        .map(|(last, next)| format!("{} and {}", name(last.liquid), name(next.liquid)))
        .collect();
    let flag = Flag::new(
        FlagCode::FewRinses,
        few[0].1.entry,
        format!(
            "{ware} was rinsed fewer than {COMMON} times between {}.",
            told.join(", ")
        ),
        "A film of the previous liquid mixes with the next.",
    );
    let effects = few
        .iter()
        .filter_map(|(last, next)| effect(bench, last, next));
    match effects.max_by(|a, b| a.0.total_cmp(&b.0)) {
        Some((share, _)) if share < NEGLIGIBLE => None,
        Some((_, worst)) => Some(flag.with_effect(worst)),
        None => Some(flag),
    }
}

/// Returns the effect of the film of the previous liquid: its share of the result's expanded uncertainty, and in words.
fn effect(bench: &Bench, last: &Use, next: &Use) -> Option<(f64, String)> {
    let ws = &bench.reduction.worksheet;
    let solution = |i: usize| &bench.reduction.solutions[i];
    let film = FILM * (FILM / (FILM + RINSE)).powi(next.rinsed.unwrap_or(0) as i32);
    let (old, new, touched) = (
        solution(last.liquid),
        solution(next.liquid),
        solution(next.touched),
    );
    let concentration = |i: usize| match (&bench.run.solutions[i].origin, solution(i)) {
        (Origin::Pure, _) => Some(0.0),
        (_, found) => found.composition.mass_concentration.map(|id| ws.value(id)),
    };
    match next.way {
        Way::Weighed(count) => {
            let (before, _) = bench.density(old)?;
            let (after, expanded) = bench.density(new)?;
            let by = film * (before - after) / count as f64;
            let share = (by / expanded).abs();
            Some((
                share,
                format!(
                    "A film of {} left in it would change the density of {} by {} ({} U).",
                    old.name,
                    touched.name,
                    ws.density_unit.of_density().in_words(by, 2),
                    size(share)
                ),
            ))
        }
        Way::Aliquot(count) => {
            let (before, after) = (concentration(last.liquid)?, concentration(next.liquid)?);
            let share = film * (before - after) / (after * count as f64);
            let of = concentration(next.touched)?;
            let expanded = bench.expanded_concentration(touched)?;
            (after > 0.0).then(|| {
                let words = format!(
                    "A film of {} left in it would change the mass concentration of {} by {} g/L ({} %).",
                    old.name,
                    touched.name,
                    size(share * of),
                    size(100.0 * share)
                );
                ((share * of / expanded).abs(), words)
            })
        }
        Way::Filled => {
            let (before, of) = (concentration(last.liquid)?, concentration(next.touched)?);
            let by = film * before;
            let expanded = bench.expanded_concentration(touched)?;
            (of > 0.0).then(|| {
                let words = format!(
                    "A film of {} left in it would raise the mass concentration of {} by {} g/L ({} %).",
                    old.name,
                    touched.name,
                    size(by),
                    size(100.0 * by / of)
                );
                (by / expanded, words)
            })
        }
    }
}

/// Returns the uses of each piece of ware in the order of the file: solutions made, then volumes weighed.
fn uses<'a>(bench: &'a Bench) -> BTreeMap<usize, Vec<Use<'a>>> {
    let run = bench.run;
    let all = run.practice.rinsed.as_ref();
    let times = |own: &Option<At<u32>>| own.as_ref().or(all).map(|at| at.value);
    let mut uses: BTreeMap<usize, Vec<Use<'a>>> = BTreeMap::new();
    for (index, solution) in run.solutions.iter().enumerate() {
        if let Origin::Dilution { aliquot, .. } = &solution.origin
            && let Some(with) = &aliquot.with
        {
            uses.entry(with.value).or_default().push(Use {
                liquid: aliquot.of.value,
                touched: index,
                way: Way::Aliquot(aliquot.deliveries.len()),
                rinsed: times(&aliquot.rinsed),
                entry: &with.entry.name,
            });
        }
        if let Origin::Dilution { made_up, .. } | Origin::MadeUp { made_up, .. } = &solution.origin
            && let Some(vessel) = &made_up.vessel
        {
            uses.entry(vessel.value).or_default().push(Use {
                liquid: index,
                touched: index,
                way: Way::Filled,
                rinsed: times(&made_up.rinsed),
                entry: &vessel.entry.name,
            });
        }
    }
    for weighings in &run.densities.weighings {
        for replicate in &weighings.replicates {
            if let Some(pipette) = &replicate.pipette {
                uses.entry(pipette.value).or_default().push(Use {
                    liquid: weighings.solution.value,
                    touched: weighings.solution.value,
                    way: Way::Weighed(weighings.counted().max(1)),
                    rinsed: times(&replicate.rinsed),
                    entry: &replicate.entry.name,
                });
            }
        }
    }
    for cumulative in &run.densities.cumulative {
        if let Some(pipette) = &cumulative.pipette {
            uses.entry(pipette.value).or_default().push(Use {
                liquid: cumulative.solution.value,
                touched: cumulative.solution.value,
                way: Way::Weighed(cumulative.deliveries.len().max(1)),
                rinsed: times(&cumulative.rinsed),
                entry: &cumulative.entry.name,
            });
        }
    }
    uses
}
