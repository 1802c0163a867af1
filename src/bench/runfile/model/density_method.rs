//! The ways to a density, and what each reads at the bench, for all to whom one is like another.

use super::{
    At, Cumulative, DensityReadings, Entry, Fillings, Origin, Pycnometer, Reading, Ref,
    ReplicateSpread, RunFile, Solvent, Weighed, WeighedReadings, Weighings,
};
use crate::bench::quantity::Dimension;

/// A way to a density.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DensityMethod {
    /// Known volumes weighed.
    Weighings,
    /// Successive deliveries without taring.
    Cumulative,
    /// A pycnometer.
    Pycnometer,
    /// Readings of a hydrometer or density meter.
    Readings,
}

impl DensityMethod {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Weighings,
        Self::Cumulative,
        Self::Pycnometer,
        Self::Readings,
    ];

    /// Returns the name of the entry that lists its solutions.
    pub fn section(self) -> &'static str {
        match self {
            Self::Weighings => "weighings",
            Self::Cumulative => "density.cumulative",
            Self::Pycnometer => "density.pycnometer.readings",
            Self::Readings => "density.readings",
        }
    }

    /// Returns what one of its measurements is called.
    pub fn single(self) -> &'static str {
        match self {
            Self::Weighings => "weighing",
            Self::Cumulative => "delivery",
            Self::Pycnometer => "filling",
            Self::Readings => "reading",
        }
    }
}

/// What was measured of densities.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Densities {
    /// Weighings of known volumes, in the order of the file.
    pub weighings: Vec<Weighings>,
    /// Successive deliveries into one vessel, in the order of the file.
    pub cumulative: Vec<Cumulative>,
    /// Fillings of a pycnometer.
    pub pycnometer: Option<Pycnometer>,
    /// Densities read from an instrument, in the order of the file.
    pub readings: Vec<DensityReadings>,
    /// What the standard deviation of replicates is taken from; none: the reduction chooses.
    pub replicate_spread: Option<At<ReplicateSpread>>,
}

impl Densities {
    /// Returns the liquids, way by way.
    pub fn measurements(&self) -> impl Iterator<Item = Measurements<'_>> {
        let Self {
            weighings,
            cumulative,
            pycnometer,
            readings,
            replicate_spread: _,
        } = self;
        let in_pycnometer = pycnometer.iter().flat_map(|pycnometer| {
            let solutions = pycnometer.fillings.iter();
            let solutions = solutions.map(move |of| Measurements::Fillings(pycnometer, of));
            std::iter::once(Measurements::Water(pycnometer)).chain(solutions)
        });
        let weighed = weighings.iter().map(Measurements::Weighings);
        let weighed = weighed.chain(cumulative.iter().map(Measurements::Cumulative));
        let read = readings.iter().map(Measurements::Readings);
        weighed.chain(in_pycnometer).chain(read)
    }
}

/// A reading, and the instrument that showed it, an index into [`RunFile::apparatus`].
pub type ReadWith<'a> = (&'a Reading, Option<&'a Ref>);

/// All measurements of one liquid.
#[derive(Debug, Clone, Copy)]
pub enum Measurements<'a> {
    /// A known volume of a solution, weighed.
    Weighings(&'a Weighings),
    /// A solution delivered without taring.
    Cumulative(&'a Cumulative),
    /// The water that calibrates a pycnometer.
    Water(&'a Pycnometer),
    /// A solution in a pycnometer.
    Fillings(&'a Pycnometer, &'a Fillings),
    /// A solution with an instrument in it.
    Readings(&'a DensityReadings),
}

impl<'a> Measurements<'a> {
    /// Returns the way to its density.
    pub fn method(self) -> DensityMethod {
        match self {
            Self::Weighings(_) => DensityMethod::Weighings,
            Self::Cumulative(_) => DensityMethod::Cumulative,
            Self::Water(_) | Self::Fillings(..) => DensityMethod::Pycnometer,
            Self::Readings(_) => DensityMethod::Readings,
        }
    }

    /// Returns the solution, an index into [`RunFile::solutions`]; `None` for the water in a pycnometer.
    pub fn solution(self) -> Option<&'a Ref> {
        match self {
            Self::Weighings(of) => Some(&of.solution),
            Self::Cumulative(of) => Some(&of.solution),
            Self::Water(_) => None,
            Self::Fillings(_, of) => Some(&of.solution),
            Self::Readings(of) => Some(&of.solution),
        }
    }

    /// Returns the empty vessel, if it was read once for all measurements; that of a pycnometer counts with the water.
    pub fn vessel(self) -> Option<ReadWith<'a>> {
        match self {
            Self::Cumulative(of) => Some((of.empty.as_ref()?, of.balance.as_ref())),
            Self::Water(of) => Some((&of.empty, of.balance.as_ref())),
            Self::Weighings(_) | Self::Fillings(..) | Self::Readings(_) => None,
        }
    }

    /// Returns the temperature of all measurements, if it differs from the conditions.
    pub fn liquid(self) -> Option<&'a Reading> {
        match self {
            Self::Cumulative(of) => of.liquid.as_ref(),
            Self::Water(of) => of.water_liquid.as_ref(),
            Self::Weighings(_) | Self::Fillings(..) | Self::Readings(_) => None,
        }
    }

    /// Returns the single measurements in order.
    pub fn singles(self) -> Vec<Single<'a>> {
        let mut all = Vec::new();
        let mut add = |entry, readings, liquid: &'a Option<_>, left_out: &'a Option<_>| {
            all.push(Single {
                entry,
                readings,
                liquid: liquid.as_ref(),
                left_out: left_out.as_ref(),
            });
        };
        match self {
            Self::Weighings(of) => {
                for r in &of.replicates {
                    let masses = [&r.empty, &r.filled].map(|mass| (mass, r.balance.as_ref()));
                    let volumes = r.volumes.iter().map(|volume| (volume, r.pipette.as_ref()));
                    let readings = masses.into_iter().chain(volumes);
                    add(&r.entry, readings.collect(), &r.liquid, &r.left_out);
                }
            }
            Self::Cumulative(of) => {
                let (balance, pipette) = (of.balance.as_ref(), of.pipette.as_ref());
                for d in &of.deliveries {
                    let readings = vec![(&d.volume, pipette), (&d.mass, balance)];
                    add(&d.entry, readings, &None, &d.left_out);
                }
            }
            Self::Water(of) => {
                for f in &of.water {
                    let readings = vec![(&f.filled, of.balance.as_ref())];
                    add(&f.entry, readings, &f.liquid, &f.left_out);
                }
            }
            Self::Fillings(pycnometer, of) => {
                for f in &of.fillings {
                    let readings = vec![(&f.filled, pycnometer.balance.as_ref())];
                    add(&f.entry, readings, &f.liquid, &f.left_out);
                }
            }
            Self::Readings(of) => {
                for r in &of.readings {
                    let readings = vec![(&r.density, r.with.as_ref())];
                    add(&r.entry, readings, &r.liquid, &r.left_out);
                }
            }
        }
        all
    }

    /// Returns the single measurements that are not left out, in order.
    pub fn counted(self) -> Vec<Single<'a>> {
        let mut all = self.singles();
        all.retain(|single| single.left_out.is_none());
        all
    }
}

/// One measurement: a weighing, delivery, filling or reading.
#[derive(Debug, Clone)]
pub struct Single<'a> {
    /// The entry of the whole.
    pub entry: &'a Entry,
    /// The readings that it rests on alone; of a weighing, the empty vessel first.
    pub readings: Vec<ReadWith<'a>>,
    /// Its own temperature.
    pub liquid: Option<&'a Reading>,
    /// Why it is left out, if it is.
    pub left_out: Option<&'a At<String>>,
}

impl Single<'_> {
    /// Returns whether a reading, by its index, is one of a vessel that is emptied between weighings.
    pub fn is_empty_vessel(&self, index: usize) -> bool {
        index == 0 && self.volume().is_some()
    }

    /// Returns the volume weighed, mL; `None` if it is not measured out.
    pub fn volume(&self) -> Option<f64> {
        let volumes = self
            .readings
            .iter()
            .filter(|(r, _)| is_of(r, Dimension::Volume));
        let sum: f64 = volumes.map(|(volume, _)| volume.value.value).sum();
        (sum > 0.0).then_some(sum)
    }
}

impl RunFile {
    /// Returns the liquids whose densities were measured, way by way.
    pub fn measurements(&self) -> impl Iterator<Item = Measurements<'_>> {
        self.densities.measurements()
    }

    /// Returns what was measured of one solution.
    pub fn measurements_of(&self, solution: usize) -> impl Iterator<Item = Measurements<'_>> {
        let is_it = move |of: &Ref| of.value == solution;
        self.measurements()
            .filter(move |of| of.solution().is_some_and(is_it))
    }

    /// Returns every mass read in the order of the sections, each with its balance.
    pub fn masses(&self) -> Vec<ReadWith<'_>> {
        let mut all = Vec::new();
        for calibration in &self.ware_calibrations {
            let each = calibration
                .weighings
                .iter()
                .flat_map(|w| [&w.empty, &w.filled]);
            all.extend(each.map(|mass| (mass, calibration.balance.as_ref())));
        }
        for solution in &self.solutions {
            match &solution.origin {
                Origin::MadeUp { weighed, .. } => all.extend(weighed.masses()),
                Origin::ByMass { weighed, solvent } => {
                    all.extend(weighed.masses());
                    if let Solvent::Weighed(water) = solvent {
                        all.extend(water.masses());
                    }
                }
                Origin::Pure | Origin::Unknown | Origin::Dilution { .. } => {}
            }
        }
        for measured in self.measurements() {
            all.extend(measured.vessel());
            let readings = measured
                .singles()
                .into_iter()
                .flat_map(|single| single.readings);
            all.extend(readings.filter(|(r, _)| is_of(r, Dimension::Mass)));
        }
        all
    }
}

impl Weighed {
    fn masses(&self) -> impl Iterator<Item = ReadWith<'_>> {
        let (first, second) = match &self.readings {
            WeighedReadings::Difference { before, after } => (before, Some(after)),
            WeighedReadings::Tared { mass } => (mass, None),
        };
        let both = std::iter::once(first).chain(second);
        both.map(|mass| (mass, self.balance.as_ref()))
    }
}

fn is_of(reading: &Reading, dimension: Dimension) -> bool {
    reading.value.unit.dimension == dimension
}
