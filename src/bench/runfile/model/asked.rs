//! What a run file asks for and states beside its readings: limits, strengths wanted, known and claimed results, the
//! calibration of an earlier report, photographs.

use super::{At, Entry, Reading, Ref, Scale};
use std::sync::Arc;
use time::Date;

/// Limits of the strength of a solution; at least one of the two is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// The solution, an index into the run's.
    pub solution: Ref,
    /// The measure of composition; limits on it are ratios, g/mL, mol/L or mol/kg.
    pub scale: Scale,
    /// The lower limit.
    pub low: Option<Reading>,
    /// The upper limit.
    pub high: Option<Reading>,
    /// How a result near a limit is decided.
    pub rule: Rule,
    /// Where they stand.
    pub entry: Entry,
}

/// A decision rule (JCGM 106:2012, clause 8).
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    /// By the result alone.
    Simple,
    /// With a guard band of the expanded uncertainty.
    Guarded,
    /// With this guard band, in the unit of the limits.
    GuardBand(Reading),
}

/// A strength that a solution is brought to.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    /// The solution, an index into the run's.
    pub solution: Ref,
    /// The mass fraction wanted, ratio.
    pub to: Reading,
    /// The volume of the solution, mL.
    pub volume: Reading,
    /// Where it stands.
    pub entry: Entry,
}

/// What a solution is known to hold.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownComposition {
    /// The solution, an index into the run's.
    pub solution: Ref,
    /// The measure of composition.
    pub scale: Scale,
    /// How much: a ratio, g/mL, mol/L or mol/kg.
    pub value: Reading,
}

/// A result as somebody calculated it.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// What it is of.
    pub of: Step,
    /// As written.
    pub value: Reading,
}

/// A step of the calculation.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// The mass of salt weighed out for a solution; in g.
    SaltMass(Ref),
    /// The density of a solution; in g/mL.
    Density(Ref),
    /// The density by one of its weighings, fillings or readings, from 1; in g/mL.
    SingleDensity(Ref, usize),
    /// A composition: a ratio, g/mL, mol/L or mol/kg.
    Composition(Ref, Scale),
    /// The intercept of density against composition, g/mL.
    Intercept,
    /// Its slope, g/mL for each unit of the scale.
    Slope,
}

/// Points for claimed results that are right, by what they are of.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Points {
    /// For each mass of salt.
    pub salt_mass: f64,
    /// For each density.
    pub density: f64,
    /// For each composition of a solution made, on a scale: mass percent, mass concentration, amount concentration, molality.
    pub composition: [f64; 4],
    /// For the intercept.
    pub intercept: f64,
    /// For the slope.
    pub slope: f64,
    /// For the composition of each unknown.
    pub unknown: f64,
    /// For each result written with adequate digits.
    pub digits: f64,
}

/// A photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// Its path from the run file's folder.
    pub path: At<String>,
    /// What is to be seen on it.
    pub caption: String,
    /// The solution that it shows.
    pub shows: Option<Ref>,
    /// The file's bytes; `None` if photographs are not kept with the run file, as in a report that carries it.
    pub bytes: Option<Arc<[u8]>>,
}

/// A calibration from an earlier report.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierCalibration {
    /// The entry that names the file.
    pub entry: Entry,
    /// The file, as the entry names it.
    pub file: String,
    /// Title of the report.
    pub title: String,
    /// Its date.
    pub date: Date,
    /// The solute.
    pub solute: String,
    /// The abscissa.
    pub against: Scale,
    /// Coefficients, rising powers, density in g/mL, with the corrections that the earlier report did not make.
    pub coefficients: Vec<f64>,
    /// The effects of independent errors of standard uncertainty 1 on each coefficient: the lower Cholesky factor of the
    /// covariance matrix.
    pub errors: Vec<Vec<f64>>,
    /// Degrees of freedom of these errors.
    pub dof: f64,
    /// The lowest and highest composition of the points.
    pub range: (f64, f64),
    /// Temperature of the points, °C, and its standard uncertainty.
    pub temperature: (f64, f64),
    /// Differences of the published density from the line, g/mL, at compositions in rising order; empty if none is published.
    pub departures: Vec<(f64, f64)>,
}

impl EarlierCalibration {
    /// Returns the difference of the published density from the line at a composition, g/mL; zero if none is published.
    pub fn departure(&self, x: f64) -> f64 {
        let after = self.departures.partition_point(|(at, _)| *at < x);
        let before = after.saturating_sub(1);
        match (self.departures.get(before), self.departures.get(after)) {
            (Some((x0, d0)), Some((x1, d1))) if x1 > x0 => d0 + (d1 - d0) * (x - x0) / (x1 - x0),
            (Some((_, d)), _) | (_, Some((_, d))) => *d,
            (None, None) => 0.0,
        }
    }
}
