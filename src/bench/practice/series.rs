//! The densities of one solution by each weighing, reading or delivery alone, with what they may scatter.
//!
//! **Source of the yardstick:** the stated repeatabilities and readabilities. Where a balance or instrument states no
//! repeatability, one step of its display; where ware states none, its limit of error; of fillings of a pycnometer, 0.05 %
//! of the density (all three common practice, no source).

use super::Bench;
use crate::bench::reduce::instruments::tolerance;
use crate::bench::reduce::{CumulativeResult, DensityResult};
use crate::bench::runfile::model::{
    ApparatusKind, Cumulative, DensityMethod, Measurements, Reading, Ref, RunFile,
};
use crate::bench::worksheet::{NodeId, Source, Worksheet};

/// Densities that scatter by less than this, g/mL, are equal.
const LEAST: f64 = 1e-9;

/// Standard deviation from filling to filling of a pycnometer, over the density.
const FILLING: f64 = 5e-4;

/// One density of several.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Item {
    /// Its entry in the run file.
    pub(super) entry: String,
    /// The density by it alone, g/mL.
    pub(super) value: f64,
    /// By how much that may scatter (standard deviation), g/mL.
    pub(super) deviation: f64,
    /// Of a step: the volume that it added, mL; of any other, 1.
    pub(super) volume: f64,
}

/// What the densities are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Measured {
    /// Weighings of a known volume, fillings of a pycnometer, readings of an instrument.
    Singles,
    /// The steps of a cumulative series.
    Steps,
}

/// The densities of one solution that count.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    pub(super) items: Vec<Item>,
    /// Whether a deviation is by common practice and not by what is stated.
    pub(super) common: bool,
    pub(super) of: Measured,
    /// Sums of weights, of weighted values and of weighted squares, the values less that of the first item.
    sums: [f64; 3],
}

/// An item in place of another: its place, density and standard deviation, both g/mL.
pub(super) type Instead = (usize, f64, f64);

impl Series {
    fn new(items: Vec<Item>, common: bool, of: Measured) -> Option<Self> {
        let first = items.first()?.value;
        let mut sums = [0.0; 3];
        for item in &items {
            add(&mut sums, 1.0, item.value - first, item.deviation);
        }
        Some(Self {
            items,
            common,
            of,
            sums,
        })
    }

    /// Returns the series of a solution, by its place in the run; none without a density.
    pub(super) fn build(bench: &Bench, solution: usize) -> Option<Self> {
        let density = bench.reduction.solutions[solution].density.as_ref()?;
        match (bench.run.measurements_of(solution).next()?, &density.line) {
            (Measurements::Cumulative(written), Some(line)) => steps(bench, written, line),
            (written, _) => singles(bench, written, density),
        }
    }

    /// Degrees of freedom.
    pub(super) fn dof(&self) -> f64 {
        self.items.len() as f64 - 1.0
    }

    /// Returns their mean, g/mL, and χ² of their scatter about it.
    pub(super) fn found(&self) -> (f64, f64) {
        self.with(&[])
    }

    /// Returns the same with some items in place of others, in a time that does not depend on how many there are.
    pub(super) fn with(&self, instead: &[Instead]) -> (f64, f64) {
        let first = self.items[0].value;
        let mut sums = self.sums;
        for &(index, value, deviation) in instead {
            let item = &self.items[index];
            add(&mut sums, -1.0, item.value - first, item.deviation);
            add(&mut sums, 1.0, value - first, deviation);
        }
        let [weights, values, squares] = sums;
        let mean = values / weights;
        (first + mean, (squares - values * mean).max(0.0))
    }

    /// Variance of the mean by the yardstick, (g/mL)².
    pub(super) fn variance(&self) -> f64 {
        1.0 / self.sums[0]
    }

    /// Root of the mean of squares of the deviations, g/mL.
    pub(super) fn deviation(&self) -> f64 {
        let squares: f64 = self.items.iter().map(|item| item.deviation.powi(2)).sum();
        (squares / self.items.len() as f64).sqrt()
    }

    /// Standard deviation of the densities, g/mL.
    pub(super) fn standard_deviation(&self) -> f64 {
        let count = self.items.len() as f64;
        let mean = self.items.iter().map(|item| item.value).sum::<f64>() / count;
        let squares = self.items.iter().map(|item| (item.value - mean).powi(2));
        (squares.sum::<f64>() / (count - 1.0)).sqrt()
    }
}

fn add(sums: &mut [f64; 3], sign: f64, value: f64, deviation: f64) {
    let weight = sign / deviation.max(LEAST).powi(2);
    sums[0] += weight;
    sums[1] += weight * value;
    sums[2] += weight * value * value;
}

/// Returns the sensitivity of a quantity of the worksheet to a reading.
pub(super) fn sensitivity(ws: &Worksheet, to: &[(NodeId, f64)], reading: &Reading) -> f64 {
    let own = to.iter().find(|(id, _)| {
        matches!(&ws.node(*id).source, Source::Input(input) if input.origin == reading.entry.name)
    });
    own.map_or(0.0, |(_, c)| *c)
}

fn singles(bench: &Bench, written: Measurements<'_>, density: &DensityResult) -> Option<Series> {
    let ws = &bench.reduction.worksheet;
    let mut by_practice = false;
    let mut items = Vec::with_capacity(density.used);
    for (single, replicate) in written.singles().iter().zip(&density.replicates) {
        if single.left_out.is_some() {
            continue;
        }
        let variation = &replicate.variation;
        let deviation = variation.standard_deviation.unwrap_or_else(|| {
            by_practice = true;
            let sensitivities = ws.sensitivities(replicate.density);
            let unstated = single.readings.iter().filter_map(|(reading, with)| {
                let c = sensitivity(ws, sensitivities, reading);
                Some(c * common(bench.run, reading, with.as_deref())?)
            });
            let unstated: f64 = unstated.map(|part| part * part).sum();
            let filling = match density.method {
                DensityMethod::Pycnometer => FILLING * ws.value(replicate.density),
                _ => 0.0,
            };
            let stated = variation.repeatability.hypot(variation.resolution);
            stated.hypot(unstated.sqrt()).hypot(filling)
        });
        items.push(Item {
            entry: replicate.entry.clone(),
            value: ws.value(replicate.density),
            deviation,
            volume: 1.0,
        });
    }
    Series::new(items, by_practice, Measured::Singles)
}

/// By how much what an instrument shows or delivers scatters by common practice, in its unit; `None` if it is stated.
fn common(run: &RunFile, reading: &Reading, with: Option<&Ref>) -> Option<f64> {
    if reading.value.standard_uncertainty.is_some() {
        return None;
    }
    let Some(with) = with.map(|with| &run.apparatus[with.value]) else {
        return Some(2.0 * reading.value.half_last_place());
    };
    if with.repeatability.is_some() {
        return None;
    }
    let step = with.readability.as_ref().map(|step| step.value.value);
    match with.kind {
        ApparatusKind::Balance
        | ApparatusKind::Thermometer
        | ApparatusKind::Hydrometer
        | ApparatusKind::DensityMeter => step.or(Some(2.0 * reading.value.half_last_place())),
        ApparatusKind::Pipette
        | ApparatusKind::GraduatedPipette
        | ApparatusKind::Burette
        | ApparatusKind::Flask
        | ApparatusKind::Cylinder => tolerance(with).ok(),
    }
}

/// Returns how a reading scatters, in its unit: as stated, or by common practice.
fn scatter(run: &RunFile, reading: &Reading, with: Option<&Ref>) -> f64 {
    let stated = || {
        let with = with.map(|with| &run.apparatus[with.value])?;
        let step = with.readability.as_ref().map_or(0.0, |r| r.value.value);
        Some(
            with.repeatability
                .as_ref()?
                .value
                .value
                .hypot(step / 12f64.sqrt()),
        )
    };
    let own = reading.value.standard_uncertainty;
    own.or_else(|| common(run, reading, with))
        .or_else(stated)
        .unwrap_or(0.0)
}

/// Returns the steps of a cumulative series: what each added to the mass over what it added to the volume.
fn steps(bench: &Bench, written: &Cumulative, found: &CumulativeResult) -> Option<Series> {
    let ws = &bench.reduction.worksheet;
    let run = bench.run;
    let balance = written.balance.as_ref();
    let offset = usize::from(written.empty.is_some());
    let slope = ws.value(found.slope);
    let mut by_practice = false;
    let mut items = Vec::new();
    let mut last: Option<usize> = None;
    let mut delivered = 0.0;
    for (index, point) in found.points.iter().enumerate() {
        let delivery = index.checked_sub(offset).map(|i| &written.deliveries[i]);
        let reading = delivery.map_or(written.empty.as_ref(), |d| Some(&d.mass))?;
        if let Some(delivery) = delivery {
            let pipette = written.pipette.as_ref();
            delivered += (slope * scatter(run, &delivery.volume, pipette)).powi(2);
            by_practice |= common(run, &delivery.volume, pipette).is_some();
        }
        by_practice |= common(run, reading, balance).is_some();
        if point.left_out.is_some() {
            continue;
        }
        if let (Some(before), Some(delivery)) = (last, delivery) {
            let volume = ws.value(point.volume) - ws.value(found.points[before].volume);
            let mass = ws.value(point.mass) - ws.value(found.points[before].mass);
            // Neighbouring steps share a reading: at most twice its error is in their differences.
            let read = 4.0 * scatter(run, reading, balance).powi(2);
            items.push(Item {
                entry: delivery.entry.name.clone(),
                value: mass / volume,
                deviation: (delivered + read).sqrt() / volume,
                volume,
            });
        }
        last = Some(index);
        delivered = 0.0;
    }
    Series::new(items, by_practice, Measured::Steps)
}
