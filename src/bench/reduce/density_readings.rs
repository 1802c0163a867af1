//! Densities as a hydrometer or density meter showed them.

use crate::bench::runfile::model::{DensityMethod, DensityReading, DensityReadings};
use crate::bench::worksheet::{NodeId, Source, Worksheet};

use super::density::{Measured, numbered};
use super::instruments::{Instruments, Repeatability};
use super::replicates::{ReplicateResult, Variation};
use super::spread::Kind;

/// Reduces the readings of a solution; `None` if a temperature is missing.
pub(super) fn read(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &DensityReadings,
) -> Option<Measured> {
    let run = instruments.run;
    let name = &run.solutions[written.solution.value].name.value;
    let repeatability = Repeatability::choose(
        written.readings.iter().map(|r| r.left_out.as_ref()),
        Repeatability::Stated,
    );
    let several = written.readings.len() > 1;
    let mut replicates = Vec::with_capacity(written.readings.len());
    for (i, reading) in written.readings.iter().enumerate() {
        let (label, spoken) = numbered(name, "reading", several.then_some(i));
        let liquid = instruments.liquid(ws, reading.liquid.as_ref(), &label)?;
        let with = reading.with.as_ref();
        let shown = (&reading.density, with);
        let of = (&label, spoken.as_str());
        let density = instruments.density_shown(ws, of, shown, liquid, repeatability);
        // What the scale shows is not density everywhere.
        let step = slope(ws, density, reading);
        let (scatter, resolution) = match reading.density.value.standard_uncertainty {
            Some(_) => (0.0, 0.0),
            None => instruments.shows(&reading.density, with),
        };
        let (scatter, resolution) = (step * scatter, step * resolution);
        replicates.push(ReplicateResult {
            variation: Variation {
                standard_deviation: (scatter > 0.0).then(|| scatter.hypot(resolution)),
                repeatability: scatter,
                resolution,
            },
            entry: reading.entry.name.clone(),
            liquid,
            density,
            left_out: reading.left_out.as_ref().map(|why| why.value.clone()),
        });
    }
    let mut kinds: Vec<_> = written
        .readings
        .iter()
        .filter(|r| r.left_out.is_none())
        .map(|r| r.with.as_ref().map(|with| with.value))
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    Some(Measured {
        solution: written.solution.value,
        method: DensityMethod::Readings,
        kind: Kind::Readings(kinds),
        replicates,
    })
}

/// By how much a density changes with what was read for it, in (g/mL) over the unit read.
fn slope(ws: &Worksheet, density: NodeId, reading: &DensityReading) -> f64 {
    let own = |id: NodeId| match &ws.node(id).source {
        Source::Input(input) => input.origin == reading.density.entry.name,
        _ => false,
    };
    let mut all = ws.sensitivities(density).iter();
    all.find(|(id, _)| own(*id)).map_or(0.0, |(_, c)| c.abs())
}
