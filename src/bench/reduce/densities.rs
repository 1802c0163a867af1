//! The densities of all solutions, each by its way, and how single weighings, fillings and readings scatter.

use super::density::{self, DensityResult, Measured};
use super::instruments::Instruments;
use super::spread::{self, Kind, Liquid, Spread};
use super::{cumulative, density_readings, pycnometer};
use crate::bench::runfile::model::{Densities, DensityMethod};
use crate::bench::worksheet::Worksheet;

/// Returns the densities, each at its solution's place, and the spreads that their errors rest on.
pub(super) fn all(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
) -> (Vec<Option<DensityResult>>, Vec<Spread>) {
    let run = instruments.run;
    let Densities {
        weighings,
        cumulative: series,
        pycnometer: filled,
        readings,
        replicate_spread,
    } = &run.densities;
    let mut densities: Vec<Option<DensityResult>> = run.solutions.iter().map(|_| None).collect();
    let mut measured = Vec::new();
    let seen = spread::find_kinds(run);
    for weighings in weighings {
        let solution = weighings.solution.value;
        let replicates = density::weigh(ws, instruments, weighings, &seen);
        measured.extend(replicates.map(|replicates| Measured {
            solution,
            method: DensityMethod::Weighings,
            kind: Kind::among(weighings, &seen),
            replicates,
        }));
    }
    for deliveries in series {
        densities[deliveries.solution.value] = cumulative::density(ws, instruments, deliveries);
    }
    let filled = filled
        .as_ref()
        .and_then(|written| pycnometer::fill(ws, instruments, written));
    let water = filled.map(|(fillings, water)| {
        measured.extend(fillings);
        water
    });
    for readings in readings {
        measured.extend(density_readings::read(ws, instruments, readings));
    }
    let of = |m: &Measured| {
        density::sample(
            ws,
            Liquid::Solution(m.solution),
            m.kind.clone(),
            &m.replicates,
        )
    };
    let mut samples: Vec<spread::Sample> = measured.iter().map(of).collect();
    samples.extend(water.iter().map(|water| water.sample(ws)));
    let mut spreads = spread::spreads(ws, replicate_spread.as_ref().map(|at| at.value), &samples);
    if let Some(water) = water {
        water.settle(ws, &samples, &mut spreads);
    }
    for m in measured {
        let name = run.solutions[m.solution].name.value.as_str();
        let solution = (m.solution, name);
        densities[m.solution] = density::combine(ws, solution, m.method, m.replicates, &spreads);
    }
    (densities, spreads)
}
