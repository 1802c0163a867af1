//! Slips in measuring the density of a solution: in a reading, in a temperature, in which solution it was.

use super::super::scene::Liquid;
use super::super::series::{Instead, Measured, sensitivity};
use super::making::{describe, spell_count};
use super::{AT_A_BENCH, Search, SlipKind, Undone, in_fahrenheit};
use crate::bench::quantity::Dimension;
use crate::bench::runfile::model::{Measurements, Reading, Ref, RunFile, Single};

impl Search<'_> {
    /// Tries the slips in the readings of a solution: the one searched for, or one that it was taken from.
    pub(super) fn measuring(&mut self, solution: usize) {
        match &self.scene.series[solution] {
            Some(series) if series.of == Measured::Singles => self.singles(solution),
            Some(_) => self.steps(solution),
            None => {}
        }
    }

    fn singles(&mut self, solution: usize) {
        let scene = self.scene;
        let Some(series) = &scene.series[solution] else {
            return;
        };
        let liquid = scene.liquids[solution];
        let reduction = scene.bench.reduction;
        let ws = &reduction.worksheet;
        let Some(density) = &reduction.solutions[solution].density else {
            return;
        };
        let counted = density.replicates.iter().filter(|r| r.left_out.is_none());
        let written = scene.bench.run.measurements_of(solution);
        let written = written.flat_map(Measurements::counted);
        let usual = &scene.usual;
        let count = series.items.len() as f64;
        for (item_index, (single, replicate)) in written.zip(counted).enumerate() {
            let sensitivities = ws.sensitivities(replicate.density);
            let item = &series.items[item_index];
            for (index, (reading, with)) in single.readings.iter().enumerate() {
                let c = sensitivity(ws, sensitivities, reading);
                let was = &reading.value;
                for (kind, other) in was.suggest() {
                    if was.unit.dimension == Dimension::Volume
                        && !measures(scene.bench.run, *with, other.value)
                    {
                        continue;
                    }
                    // An empty vessel that weighs what it always weighs was not misread.
                    if single.is_empty_vessel(index) && usual.speaks_against(was.value, other.value)
                    {
                        continue;
                    }
                    let value = match was.unit.dimension {
                        Dimension::Volume => {
                            let volume = single.volume().unwrap_or(was.value);
                            item.value * volume / (volume + other.value - was.value)
                        }
                        _ => item.value + c * (other.value - was.value),
                    };
                    let instead = [(item_index, value, item.deviation)];
                    let changed = liquid.denser((value - item.value) / count);
                    self.measured(solution, changed, kind.into(), &instead, || {
                        describe(reading, other.as_written())
                    });
                }
            }
            self.weighed_deliveries(solution, item_index, &single);
        }
    }

    /// One delivery more or less in a weighing.
    fn weighed_deliveries(&mut self, solution: usize, index: usize, single: &Single<'_>) {
        let scene = self.scene;
        let readings = single.readings.iter().map(|(reading, _)| reading);
        let volumes = readings.filter(|r| r.value.unit.dimension == Dimension::Volume);
        let (Some(series), Some(whole)) = (&scene.series[solution], single.volume()) else {
            return;
        };
        let item = &series.items[index];
        let count = volumes.count();
        for other in [count - 1, count + 1] {
            if other == 0 {
                continue;
            }
            let each = whole / count as f64;
            let value = item.value * whole / (each * other as f64);
            let instead = [(index, value, item.deviation)];
            let liquid = scene.liquids[solution];
            let changed = liquid.denser((value - item.value) / series.items.len() as f64);
            let kind = SlipKind::DeliveryCount;
            self.measured(solution, changed, kind, &instead, || {
                let entry = format!("{}.volume", item.entry);
                (entry, spell_count(count), spell_count(other))
            });
        }
    }

    fn steps(&mut self, solution: usize) {
        let scene = self.scene;
        let run = scene.bench.run;
        let density = scene.bench.reduction.solutions[solution].density.as_ref();
        let written = run.measurements_of(solution).next();
        let liquid = scene.liquids[solution];
        let line = density.and_then(|density| density.line.as_ref());
        let (Some(series), Some(found), Some(Measurements::Cumulative(written))) =
            (&scene.series[solution], line, written)
        else {
            return;
        };
        // The density over the slope as the balance shows it.
        let scale = liquid.density / scene.bench.reduction.worksheet.value(found.slope);
        let then = |instead: &[Instead]| Liquid {
            density: scale * series.with(instead).0,
            ..liquid
        };
        let kept = written.deliveries.iter().filter(|d| d.left_out.is_none());
        let readings: Vec<&Reading> = written
            .empty
            .iter()
            .chain(kept.clone().map(|d| &d.mass))
            .collect();
        for (index, reading) in readings.iter().enumerate() {
            for (kind, other) in reading.value.suggest() {
                let by = other.value - reading.value.value;
                let mut instead: Vec<Instead> = Vec::with_capacity(2);
                if let Some(before) = index.checked_sub(1) {
                    let item = &series.items[before];
                    instead.push((before, item.value + by / item.volume, item.deviation));
                }
                if let Some(item) = series.items.get(index) {
                    instead.push((index, item.value - by / item.volume, item.deviation));
                }
                self.measured(solution, then(&instead), kind.into(), &instead, || {
                    describe(reading, other.as_written())
                });
            }
        }
        // The first delivery ends the first step where the vessel was read empty.
        let ends = kept.skip(usize::from(written.empty.is_none()));
        for (index, delivery) in ends.enumerate() {
            let item = &series.items[index];
            let share = item.volume / (item.volume + delivery.volume.value.value);
            let instead = [(index, item.value * share, item.deviation * share.sqrt())];
            let kind = SlipKind::DeliveryOmitted;
            self.measured(solution, then(&instead), kind, &instead, || {
                let one = delivery.volume.value.as_written();
                (
                    delivery.volume.entry.name.clone(),
                    one.clone(),
                    format!("2 × {one}"),
                )
            });
        }
    }

    fn measured(
        &mut self,
        solution: usize,
        liquid: Liquid,
        kind: SlipKind,
        instead: &[Instead],
        name: impl FnOnce() -> (String, String, String),
    ) {
        let undone = Undone {
            kind,
            liquids: &[(solution, liquid)],
            instead,
        };
        self.attempt(&undone, name);
    }

    /// Two solutions taken for each other when they were measured.
    pub(super) fn exchanged(&mut self, partner: usize) {
        let scene = self.scene;
        let own = self.solution;
        let (a, b) = (scene.liquids[own], scene.liquids[partner]);
        let undone = Undone {
            kind: SlipKind::Exchanged,
            liquids: &[
                (own, Liquid { made: a.made, ..b }),
                (partner, Liquid { made: b.made, ..a }),
            ],
            instead: &[],
        };
        let run = scene.bench.run;
        let density = scene.bench.reduction.solutions[own].density.as_ref();
        let entry = density.map(|d| d.entry.clone()).unwrap_or_default();
        self.attempt(&undone, || {
            let name = |i: usize| run.solutions[i].name.value.clone();
            (entry, name(own), name(partner))
        });
    }

    /// The temperatures of the solution searched for: its own, and the one that holds for all.
    pub(super) fn temperatures(&mut self) {
        let run = self.scene.bench.run;
        let solution = self.solution;
        for (reading, share) in own_temperatures(run, solution) {
            self.temperature(reading, &[(solution, share)]);
        }
        if let Some(reading) = &run.conditions.liquid {
            let members = self
                .together
                .members
                .iter()
                .filter(|member| **member != solution);
            let shared: Vec<(usize, f64)> = [solution]
                .iter()
                .chain(members)
                .map(|member| (*member, shared_temperature(run, *member)))
                .filter(|(_, share)| *share > 0.0)
                .collect();
            if shared.first().is_some_and(|(first, _)| *first == solution) {
                self.temperature(reading, &shared);
            }
        }
    }

    fn temperature(&mut self, reading: &Reading, of: &[(usize, f64)]) {
        let written = reading.value.suggest().into_iter();
        let written = written.map(|(slip, other)| (slip.into(), other));
        let other_scale = in_fahrenheit(&reading.value).map(|other| (SlipKind::OtherScale, other));
        for (kind, other) in written.chain(other_scale) {
            if !AT_A_BENCH.contains(&other.value) {
                continue;
            }
            let by = other.value - reading.value.value;
            let liquids: Vec<(usize, Liquid)> = of
                .iter()
                .map(|(solution, share)| {
                    let liquid = self.scene.liquids[*solution];
                    (*solution, liquid.warmer(share * by))
                })
                .collect();
            let undone = Undone {
                kind,
                liquids: &liquids,
                instead: &[],
            };
            self.attempt(&undone, || describe(reading, other.as_written()));
        }
    }
}

/// Returns whether the ware that measured a volume can measure another, mL.
fn measures(run: &RunFile, with: Option<&Ref>, volume: f64) -> bool {
    with.is_none_or(|with| {
        let ware = &run.apparatus[with.value];
        let capacity = ware.capacity.as_ref().map(|capacity| capacity.value.value);
        !ware.kind.has_one_mark() && capacity.is_none_or(|capacity| volume <= capacity)
    })
}

/// Returns the temperatures that were read of a solution alone, each with its share in the mean.
fn own_temperatures(run: &RunFile, solution: usize) -> Vec<(&Reading, f64)> {
    let mut all = Vec::new();
    for measured in run.measurements_of(solution) {
        let counted = measured.counted();
        let share = 1.0 / counted.len().max(1) as f64;
        all.extend(counted.iter().filter_map(|s| Some((s.liquid?, share))));
        all.extend(measured.liquid().map(|liquid| (liquid, 1.0)));
    }
    all
}

/// Returns the share of the run's temperature in the mean of a solution's.
fn shared_temperature(run: &RunFile, solution: usize) -> f64 {
    let own: f64 = own_temperatures(run, solution)
        .iter()
        .map(|(_, share)| share)
        .sum();
    (1.0 - own).max(0.0)
}
