//! All solutions of a run as numbers: what a slip changes in their densities, and how well they agree with published ones.
//!
//! Published and measured densities are compared as the report compares them; what a change does to a difference is added
//! to the difference that the report has.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use super::Bench;
use super::published::Published;
use super::series::Series;
use crate::bench::reduce::NotCompared;
use crate::bench::runfile::model::{Origin, RunFile};
use crate::bench::worksheet::{NodeId, Source};

/// So many solutions at most are compared with each other.
pub(super) const MOST_TOGETHER: usize = 32;
/// Errors of less than this, g/mL, are counted as so large.
const LEAST: f64 = 1e-9;
/// A solution of a composition that is not published lies off by so many standard uncertainties.
const IMPOSSIBLE: f64 = 50.0;

/// What of a solution's composition is known by its making.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NominalComposition {
    /// It is pure water.
    Pure,
    /// Mass concentration, g/L.
    ByVolume(f64),
    /// Mass percent, %.
    ByMass(f64),
    /// Nothing.
    Unknown,
}

/// A solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Liquid {
    /// Its density, g/mL; not a number where it was not measured.
    pub(super) density: f64,
    /// Its temperature, °C; not a number where its density was not measured.
    pub(super) temperature: f64,
    pub(super) made: NominalComposition,
}

impl Liquid {
    pub(super) fn is_measured(&self) -> bool {
        self.density.is_finite()
    }

    /// Returns the same with a density greater by so much, g/mL.
    pub(super) fn denser(self, by: f64) -> Self {
        Self {
            density: self.density + by,
            ..self
        }
    }

    /// Returns the same, warmer by so much, °C.
    pub(super) fn warmer(self, by: f64) -> Self {
        Self {
            temperature: self.temperature + by,
            ..self
        }
    }

    /// Returns the same made from a solution of so many times the mass concentration.
    pub(super) fn times(self, ratio: f64) -> Self {
        let made = match self.made {
            NominalComposition::ByVolume(gamma) => NominalComposition::ByVolume(gamma * ratio),
            other => other,
        };
        Self { made, ..self }
    }

    /// Mass concentration, g/L.
    pub(super) fn mass_concentration(&self) -> Option<f64> {
        match self.made {
            NominalComposition::Pure => Some(0.0),
            NominalComposition::ByVolume(gamma) => Some(gamma),
            NominalComposition::ByMass(w) => Some(10.0 * w * self.density),
            NominalComposition::Unknown => None,
        }
    }

    /// Measured less published density, g/mL; none beyond what is published.
    fn difference(&self, published: &Published) -> Option<f64> {
        let fraction = match self.made {
            NominalComposition::Pure => {
                return Some(self.density - published.water(self.temperature)?);
            }
            NominalComposition::ByVolume(gamma) => gamma / (1000.0 * self.density),
            NominalComposition::ByMass(w) => w / 100.0,
            NominalComposition::Unknown => return None,
        };
        Some(self.density - published.brine(fraction, self.temperature)?)
    }
}

/// How a solution compares with the published density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Comparison {
    /// It differs by so much, g/mL.
    Differs(f64),
    /// Its composition or temperature is beyond what is published.
    Beyond,
    /// There is nothing to compare.
    Open,
}

/// What a class has found of a solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ClassFindings {
    /// The mean of the differences from the published density, g/mL.
    pub(super) difference: f64,
    /// Mass fraction of an unknown by the mean of its densities.
    pub(super) fraction: Option<f64>,
    /// Factor by which the variance of errors that it shares with no other exceeds what the benches state.
    pub(super) own: f64,
    /// The same factor for single readings.
    pub(super) scatter: f64,
}

/// A run in numbers.
pub(super) struct Scene<'a> {
    pub(super) bench: &'a Bench<'a>,
    /// The solutions, by their places in the run.
    pub(super) liquids: Vec<Liquid>,
    pub(super) series: Vec<Option<Series>>,
    pub(super) stands: Vec<Comparison>,
    /// By what factor the variance of each solution's series is larger than the yardstick: at least one, and that of all
    /// series together, the worst left out; or as its class has it.
    pub(super) inflation: Vec<f64>,
    /// By what factor the variance of the errors that each solution shares with no other is, where its class says so.
    own: Option<Vec<f64>>,
    parents: Vec<Option<usize>>,
    expected: Vec<Option<f64>>,
    pub(super) published: Published,
    /// What empty vessels weigh.
    pub(super) usual: Usual,
}

impl<'a> Scene<'a> {
    pub(super) fn new(bench: &'a Bench<'a>) -> Self {
        let ws = &bench.reduction.worksheet;
        let count = bench.run.solutions.len();
        let series: Vec<Option<Series>> = (0..count).map(|i| Series::build(bench, i)).collect();
        let solutions = || bench.reduction.solutions.iter().zip(&bench.run.solutions);
        let liquids: Vec<Liquid> = solutions()
            .map(|(found, written)| {
                let density = found.density.as_ref();
                let composition = &found.composition;
                let by_volume = composition.mass_concentration.map(|id| ws.value(id));
                let by_mass = composition.mass_percent.map(|id| ws.value(id));
                Liquid {
                    density: density.map_or(f64::NAN, |d| ws.value(d.density)),
                    temperature: density.map_or(f64::NAN, |d| ws.value(d.liquid)),
                    made: match written.origin {
                        Origin::Pure => NominalComposition::Pure,
                        Origin::Unknown => NominalComposition::Unknown,
                        Origin::ByMass { .. } => {
                            by_mass.map_or(NominalComposition::Unknown, NominalComposition::ByMass)
                        }
                        Origin::MadeUp { .. } | Origin::Dilution { .. } => by_volume
                            .map_or(NominalComposition::Unknown, NominalComposition::ByVolume),
                    },
                }
            })
            .collect();
        let stands = solutions().map(|(found, _)| match &found.comparison {
            Some(Ok(comparison)) => Comparison::Differs(ws.value(comparison.difference)),
            Some(Err(NotCompared::OutOfRange)) => Comparison::Beyond,
            Some(Err(_)) | None => Comparison::Open,
        });
        let stands: Vec<Comparison> = stands.collect();
        let published = Published::new(bench.reduction.salt);
        let expected = liquids.iter().map(|liquid| liquid.difference(&published));
        Self {
            bench,
            inflation: vec![inflation(&series); count],
            own: None,
            parents: solutions()
                .map(|(_, written)| match &written.origin {
                    Origin::Dilution { aliquot, .. } => Some(aliquot.of.value),
                    _ => None,
                })
                .collect(),
            expected: expected.collect(),
            published,
            usual: Usual::new(bench.run),
            stands,
            series,
            liquids,
        }
    }

    /// Returns the same run as its class sees it: differences less those that all benches have, and scatter as it is in
    /// the class. An unknown of which the class knows what it is counts as a solution of that composition.
    pub(super) fn among(mut self, class: &[Option<ClassFindings>]) -> Self {
        let mut own = self.inflation.clone();
        for (solution, usually) in class.iter().enumerate() {
            let Some(usually) = usually else {
                self.stands[solution] = Comparison::Open;
                continue;
            };
            own[solution] = usually.own;
            self.inflation[solution] = usually.scatter;
            if let Some(fraction) = usually.fraction {
                let liquid = &mut self.liquids[solution];
                liquid.made = NominalComposition::ByMass(100.0 * fraction);
                let difference = liquid.difference(&self.published);
                self.expected[solution] = difference;
                self.stands[solution] = difference.map_or(Comparison::Beyond, Comparison::Differs);
            } else if let Comparison::Differs(by) = &mut self.stands[solution] {
                *by -= usually.difference;
            }
        }
        self.own = Some(own);
        self
    }

    /// Returns whether it is seen as its class sees it.
    pub(super) fn is_in_class(&self) -> bool {
        self.own.is_some()
    }

    /// Returns the solution one was taken from.
    pub(super) fn parent(&self, solution: usize) -> Option<usize> {
        self.parents[solution]
    }

    /// Returns whether a solution was taken from another, directly or through others.
    pub(super) fn is_made_from(&self, solution: usize, from: usize) -> bool {
        let mut next = self.parents[solution];
        while let Some(parent) = next {
            if parent == from {
                return true;
            }
            next = self.parents[parent];
        }
        false
    }

    /// Returns how a solution would compare with the published density if it were another liquid.
    pub(super) fn stand(&self, solution: usize, liquid: &Liquid) -> Comparison {
        match (self.stands[solution], liquid.difference(&self.published)) {
            (Comparison::Open, _) => Comparison::Open,
            (_, None) => Comparison::Beyond,
            (Comparison::Beyond, Some(now)) => Comparison::Differs(now),
            (Comparison::Differs(was), Some(now)) => {
                Comparison::Differs(was + now - self.expected[solution].unwrap_or(now))
            }
        }
    }

    /// Returns what a solution's difference from the published density changes by, g/mL, for a relative change of its
    /// composition of one; `None` if that is not published.
    pub(super) fn by_concentration(&self, solution: usize) -> Option<f64> {
        const STEP: f64 = 1e-4;
        let liquid = self.liquids[solution];
        let made = match liquid.made {
            NominalComposition::ByVolume(gamma) => {
                NominalComposition::ByVolume(gamma * (1.0 - STEP))
            }
            NominalComposition::ByMass(w) => NominalComposition::ByMass(w * (1.0 - STEP)),
            other => other,
        };
        let weaker = Liquid { made, ..liquid };
        let published = &self.published;
        Some((liquid.difference(published)? - weaker.difference(published)?) / STEP)
    }

    /// Solutions whose densities are compared with published ones together.
    pub(super) fn together(&self, of: &[usize]) -> Together {
        let group = self.group(of);
        let all: Vec<usize> = (0..group.members.len()).collect();
        group.together(&all)
    }

    /// Returns a group of solutions, of which subsets are compared with published densities.
    pub(super) fn group(&self, of: &[usize]) -> Group<'_> {
        let compared = of.iter().copied();
        let compared = compared.filter(|i| self.stands[*i] != Comparison::Open);
        self.group_of_all(&compared.collect::<Vec<_>>())
    }

    /// Returns the same, those among them of which nothing is published as well.
    pub(super) fn group_of_all(&self, of: &[usize]) -> Group<'_> {
        let members: Vec<usize> = of.iter().copied().take(MOST_TOGETHER).collect();
        let errors: Vec<Vec<Part>> = members.iter().map(|i| self.errors(*i)).collect();
        let count = members.len();
        let mut shared = DMatrix::zeros(count, count);
        for a in 0..count {
            for b in 0..a {
                let covariance = covariance(&errors[a], &errors[b]);
                shared[(a, b)] = covariance;
                shared[(b, a)] = covariance;
            }
        }
        Group {
            scene: self,
            members,
            errors,
            shared,
        }
    }

    /// Returns the errors of a solution's difference from the published density, by rising place of their sources.
    fn errors(&self, solution: usize) -> Vec<Part> {
        let ws = &self.bench.reduction.worksheet;
        let found = &self.bench.reduction.solutions[solution];
        let difference = found.comparison.as_ref().and_then(|c| c.as_ref().ok());
        let id = difference.map(|comparison| comparison.difference);
        let id = id.or(found.density.as_ref().map(|density| density.density));
        let mut parts = Vec::new();
        for &(source, c) in id.map_or(&[][..], |id| ws.sensitivities(id)) {
            let Source::Input(input) = &ws.node(source).source else {
                continue;
            };
            let (mut known, mut sampled) = (0.0, 0.0);
            for component in &input.components {
                let variance = (c * component.standard_uncertainty).powi(2);
                *(if component.dof.is_finite() {
                    &mut sampled
                } else {
                    &mut known
                }) += variance;
            }
            if known + sampled > 0.0 {
                let size = (known + sampled).sqrt().copysign(c);
                parts.push(Part {
                    source,
                    size,
                    sampled,
                });
            }
        }
        parts
    }
}

/// The contribution of one source of error to a difference, g/mL.
struct Part {
    source: NodeId,
    /// Its standard uncertainty, with the sign of the sensitivity.
    size: f64,
    /// The variance of it that was found from samples.
    sampled: f64,
}

/// Returns the covariance of two differences, (g/mL)².
fn covariance(a: &[Part], b: &[Part]) -> f64 {
    let mut others = b.iter().peekable();
    let mut sum = 0.0;
    for part in a {
        while others.next_if(|other| other.source < part.source).is_some() {}
        if let Some(other) = others.next_if(|other| other.source == part.source) {
            sum += part.size * other.size;
        }
    }
    sum
}

/// Solutions that are compared with published densities together.
pub(super) struct Group<'s> {
    scene: &'s Scene<'s>,
    /// Places in the run.
    pub(super) members: Vec<usize>,
    errors: Vec<Vec<Part>>,
    /// Covariances of one with another, (g/mL)².
    shared: DMatrix<f64>,
}

impl Group<'_> {
    /// Returns a subset of the members, by their indices here. Scatter found from samples of one of them alone is
    /// replaced by the yardstick of its series; scatter that several share is kept.
    pub(super) fn together(&self, indices: &[usize]) -> Together {
        let scene = self.scene;
        if let Some(factors) = &scene.own {
            let (mut covariance, own) = self.apart(indices);
            for (at, index) in indices.iter().enumerate() {
                covariance[(at, at)] += factors[self.members[*index]] * own[at];
            }
            return self.standing(indices, covariance);
        }
        let mut reached: BTreeMap<NodeId, usize> = BTreeMap::new();
        for part in indices.iter().flat_map(|index| &self.errors[*index]) {
            if part.sampled > 0.0 {
                *reached.entry(part.source).or_insert(0) += 1;
            }
        }
        let count = indices.len();
        let mut covariance =
            DMatrix::from_fn(count, count, |a, b| self.shared[(indices[a], indices[b])]);
        for (at, index) in indices.iter().enumerate() {
            let (mut known, mut own) = (0.0, 0.0);
            for part in &self.errors[*index] {
                known += part.size * part.size;
                if reached.get(&part.source) == Some(&1) {
                    known -= part.sampled;
                    own += part.sampled;
                }
            }
            let series = scene.series[self.members[*index]].as_ref();
            let own = match series.filter(|series| own > 0.0 || series.common) {
                Some(series) => series.variance() * scene.inflation[self.members[*index]],
                None => own,
            };
            covariance[(at, at)] = known + own;
        }
        self.standing(indices, covariance)
    }

    /// Returns the covariance of a subset of the members by the errors that several of them share, (g/mL)², and the
    /// variance of each by those that it shares with no other of them: scatter found from samples is replaced by the
    /// yardstick of its series.
    pub(super) fn apart(&self, indices: &[usize]) -> (DMatrix<f64>, Vec<f64>) {
        let mut reached: BTreeMap<NodeId, usize> = BTreeMap::new();
        for part in indices.iter().flat_map(|index| &self.errors[*index]) {
            *reached.entry(part.source).or_insert(0) += 1;
        }
        let count = indices.len();
        let mut covariance =
            DMatrix::from_fn(count, count, |a, b| self.shared[(indices[a], indices[b])]);
        let mut all_own = Vec::with_capacity(count);
        for (at, index) in indices.iter().enumerate() {
            let (mut shared, mut own, mut sampled) = (0.0, 0.0, 0.0);
            for part in &self.errors[*index] {
                if reached.get(&part.source) == Some(&1) {
                    own += part.size * part.size - part.sampled;
                    sampled += part.sampled;
                } else {
                    shared += part.size * part.size;
                }
            }
            let series = self.scene.series[self.members[*index]].as_ref();
            own += match series.filter(|series| sampled > 0.0 || series.common) {
                Some(series) => series.variance(),
                None => sampled,
            };
            covariance[(at, at)] = shared;
            all_own.push(own.max(LEAST * LEAST));
        }
        (covariance, all_own)
    }

    /// Returns a subset of the members with a covariance.
    fn standing(&self, indices: &[usize], covariance: DMatrix<f64>) -> Together {
        let scene = self.scene;
        let count = indices.len();
        let deviations: Vec<f64> = (0..count).map(|i| covariance[(i, i)].sqrt()).collect();
        let precision = covariance
            .cholesky()
            .map_or_else(|| diagonal(&deviations), |found| found.inverse());
        let members: Vec<usize> = indices.iter().map(|index| self.members[*index]).collect();
        let differences = members
            .iter()
            .zip(&deviations)
            .map(|(i, deviation)| in_numbers(scene.stands[*i], *deviation));
        Together {
            differences: differences.collect(),
            members,
            deviations,
            precision,
        }
    }
}

/// χ² over its degrees of freedom for all series together but the one that scatters most; at least one.
fn inflation(series: &[Option<Series>]) -> f64 {
    let several = series.iter().flatten().filter(|s| s.dof() > 0.0);
    let found: Vec<(f64, f64)> = several.map(|s| (s.found().1, s.dof())).collect();
    let worst = found
        .iter()
        .copied()
        .max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)));
    let Some(worst) = worst.filter(|_| found.len() > 1) else {
        return 1.0;
    };
    let sum = |of: fn(&(f64, f64)) -> f64| found.iter().map(of).sum::<f64>() - of(&worst);
    (sum(|s| s.0) / sum(|s| s.1)).max(1.0)
}

fn diagonal(deviations: &[f64]) -> DMatrix<f64> {
    let variances = deviations
        .iter()
        .map(|d| 1.0 / d.powi(2).max(f64::MIN_POSITIVE));
    DMatrix::from_diagonal(&DVector::from_iterator(deviations.len(), variances))
}

fn in_numbers(stand: Comparison, deviation: f64) -> f64 {
    match stand {
        Comparison::Differs(by) => by,
        Comparison::Beyond => IMPOSSIBLE * deviation,
        Comparison::Open => 0.0,
    }
}

/// Some solutions beside published densities, with the errors that they share.
pub(super) struct Together {
    /// Places in the run.
    pub(super) members: Vec<usize>,
    /// Differences from published densities, g/mL.
    pub(super) differences: Vec<f64>,
    /// Their standard uncertainties, g/mL.
    pub(super) deviations: Vec<f64>,
    precision: DMatrix<f64>,
}

impl Together {
    pub(super) fn index(&self, solution: usize) -> Option<usize> {
        self.members.iter().position(|member| *member == solution)
    }

    /// χ² of some differences in place of the members' own.
    pub(super) fn chi_squared(&self, differences: &[f64]) -> f64 {
        let d = DVector::from_column_slice(differences);
        d.dot(&(&self.precision * &d))
    }

    /// Returns a member's difference with another stand, g/mL.
    pub(super) fn with(&self, index: usize, stand: Comparison) -> f64 {
        in_numbers(stand, self.deviations[index])
    }

    /// Returns how far a member departs from what the others let expect of it, in its standard deviation, given all
    /// differences.
    pub(super) fn departure(&self, index: usize, differences: &[f64]) -> f64 {
        let row = self.precision.row(index);
        let weighted: f64 = row.iter().zip(differences).map(|(p, d)| p * d).sum();
        weighted / self.precision[(index, index)].sqrt()
    }

    /// Returns how far all members together depart in a direction, in the standard deviation of its best estimate.
    pub(super) fn along(&self, direction: &[f64]) -> f64 {
        let v = DVector::from_column_slice(direction);
        let weighted = &self.precision * &v;
        let d = DVector::from_column_slice(&self.differences);
        weighted.dot(&d) / weighted.dot(&v).sqrt()
    }

    /// Returns how far each member departs from what the others let expect of it, in its standard deviation.
    pub(super) fn departures(&self) -> Vec<f64> {
        let each = (0..self.members.len()).map(|i| self.departure(i, &self.differences));
        each.collect()
    }
}

/// What the empty vessels of a run weigh, g: the two least and the two greatest masses.
#[derive(Debug, Clone, Copy)]
pub(super) struct Usual {
    low: [f64; 2],
    high: [f64; 2],
}

impl Usual {
    fn new(run: &RunFile) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for replicate in run.densities.weighings.iter().flat_map(|w| &w.replicates) {
            let mass = replicate.empty.value.value;
            if mass < low[1] {
                low = [low[0].min(mass), low[0].max(mass)];
            }
            if mass > high[1] {
                high = [high[0].max(mass), high[0].min(mass)];
            }
        }
        Self { low, high }
    }

    /// Returns whether a mass is the one of an empty vessel that weighs what the others weigh, and another mass is not:
    /// no further from them than they lie apart.
    pub(super) fn speaks_against(&self, was: f64, other: f64) -> bool {
        let [low, high] = [(self.low, was), (self.high, was)]
            .map(|(ends, own)| ends[usize::from(ends[0].to_bits() == own.to_bits())]);
        let room = high - low;
        let holds = |mass: f64| (low - room..=high + room).contains(&mass);
        room.is_finite() && holds(was) && !holds(other)
    }
}
