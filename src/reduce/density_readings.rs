//! Densities as a hydrometer or density meter showed them.

use crate::runfile::model::DensityReadings;
use crate::worksheet::{Title, Worksheet};

use super::densities::Measured;
use super::density::{ReplicateResult, Way, numbered};
use super::instruments::{Instruments, Repeatability};
use super::replicates::Variation;
use super::spread::Kind;
use super::sub;

/// Reduces the readings of a solution; none where a temperature is missing.
pub(super) fn read(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    written: &DensityReadings,
) -> Option<Measured> {
    let run = instruments.run;
    let name = &run.solutions[written.solution.value].name.value;
    let repeatability = Repeatability::of(
        written.readings.iter().map(|r| r.left_out.as_ref()),
        Repeatability::Stated,
    );
    let several = written.readings.len() > 1;
    let mut replicates = Vec::with_capacity(written.readings.len());
    for (i, reading) in written.readings.iter().enumerate() {
        let (label, spoken) = numbered(name, "reading", several.then_some(i));
        let liquid = instruments.liquid(ws, reading.liquid.as_ref(), &label)?;
        let title = Title::new(format!("density, {spoken}"), sub("ρ", &label), "g/mL");
        let with = reading.with.as_ref();
        let (scatter, resolution) = match reading.density.value.standard_uncertainty {
            Some(_) => (0.0, 0.0),
            None => instruments.shows(&reading.density, with),
        };
        replicates.push(ReplicateResult {
            variation: Variation {
                standard_deviation: (scatter > 0.0).then(|| scatter.hypot(resolution)),
                repeatability: scatter,
                resolution,
            },
            entry: reading.entry.name.clone(),
            liquid,
            density: instruments.indicated(ws, title, &reading.density, with, repeatability),
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
        way: Way::Read,
        entry: format!("density.readings.{name}"),
        kind: Kind::Readings(kinds),
        replicates,
    })
}
