//! A run beside the others of its class: what it hands to them, and the slips that would explain why it stands apart.
//!
//! A bench's own uncertainty hides slips that its class shows: the class shows by how much benches really differ. What
//! a run hands over is how far its densities lie from what is published, with the errors that several of them share,
//! those that they share with no other, and how its repeated readings scatter (`crate::bench::interlaboratory` judges).
//! Slips are then looked for as in a run by itself ([`super::slip`]), with means and scatter of the class in place of
//! the run's own uncertainty.

use super::scene::{ClassFindings, Comparison, NominalComposition, Scene};
use super::series::{Measured, sensitivity};
pub use super::slip::MARGIN;
use super::{Bench, Candidate, slip};
use crate::bench::quantity::Dimension;
use crate::bench::reduce::Reduction;
use crate::bench::reduce::results::Results;
use crate::bench::runfile::model::RunFile;

/// Densities of unknowns are compared at this temperature, °C.
const AT: f64 = 20.0;
/// Halvings of the interval in which a mass fraction is looked for.
const HALVINGS: usize = 40;

/// What a run hands to its class.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Traces {
    /// Its liquids that are compared.
    pub liquids: Vec<Trace>,
    /// Covariances of their differences by errors that several of them share, (g/mL)²: the lower triangle, row by row.
    pub shared: Vec<f64>,
    /// The solutions from which others were taken, by name, with the change of each liquid's difference, g/mL, for a
    /// relative change of their composition of one.
    pub families: Vec<(String, Vec<f64>)>,
}

/// A liquid that is compared with that of the other benches.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Its name.
    pub name: String,
    /// Measured less published density, g/mL; of an unknown its density at 20 °C, by the published change with temperature.
    pub difference: f64,
    /// Whether it is an unknown.
    pub is_unknown: bool,
    /// The variance of it by errors that it shares with no other liquid, (g/mL)².
    pub own: f64,
    /// The densities that it is the mean of: each less the mean, and its standard deviation as the run states it, g/mL. Empty
    /// of a cumulative series, whose steps share their readings.
    pub readings: Vec<[f64; 2]>,
    /// What one of these changes by for a reading of mass 1 g larger, g/mL; `None` if no mass is read.
    pub by_gram: Option<f64>,
}

/// What a class says of a liquid.
#[derive(Debug, Clone, PartialEq)]
pub struct OfClass {
    /// Its name.
    pub name: String,
    /// Robust mean of the differences of all benches, as in [`Trace::difference`], g/mL.
    pub mean: f64,
    /// Factor by which the variance of errors that it shares with no other exceeds what the benches state.
    pub own: f64,
    /// The same factor for single readings.
    pub scatter: f64,
}

impl Traces {
    /// Of a run.
    pub fn new(run: &RunFile, reduction: &Reduction, results: &Results) -> Self {
        let bench = Bench {
            run,
            reduction,
            results,
        };
        let scene = Scene::new(&bench);
        let at_once = |of: usize| -> Option<f64> {
            match scene.stands[of] {
                Comparison::Differs(by) => Some(by),
                Comparison::Beyond => None,
                Comparison::Open => density_of_unknown(&scene, of),
            }
        };
        let count = scene.liquids.len();
        let compared: Vec<(usize, f64)> = (0..count)
            .filter_map(|of| Some((of, at_once(of)?)))
            .collect();
        let indices: Vec<usize> = compared.iter().map(|(of, _)| *of).collect();
        let group = scene.group_of_all(&indices);
        let all: Vec<usize> = (0..group.members.len()).collect();
        let (shared, own) = group.apart(&all);
        let liquids = group.members.iter().zip(own).map(|(of, own)| Trace {
            name: reduction.solutions[*of].name.clone(),
            difference: compared
                .iter()
                .find(|(other, _)| other == of)
                .map_or(f64::NAN, |(_, by)| *by),
            is_unknown: scene.liquids[*of].made == NominalComposition::Unknown,
            own,
            readings: readings(&scene, *of),
            by_gram: by_gram(&scene, *of),
        });
        let lower = all
            .iter()
            .flat_map(|row| (0..=*row).map(move |column| (*row, column)));
        Self {
            liquids: liquids.collect(),
            shared: lower.map(|place| shared[place]).collect(),
            families: families(&scene, &group.members),
        }
    }
}

/// Returns the slips that would explain why some liquids of a run stand apart from its class, the likeliest first.
/// `suspects` are these liquids by name, the one that is off most first, each with whether its readings scatter more
/// than the class lets expect. A slip behind any of them must explain the first one, too.
pub fn slips_in_class(
    run: &RunFile,
    reduction: &Reduction,
    results: &Results,
    class: &[OfClass],
    suspects: &[(&str, bool)],
) -> Vec<Candidate> {
    let bench = Bench {
        run,
        reduction,
        results,
    };
    let scene = Scene::new(&bench);
    let usually: Vec<Option<ClassFindings>> = (reduction.solutions.iter().enumerate())
        .map(|(of, solution)| {
            let known = class.iter().find(|known| known.name == solution.name)?;
            let is_unknown = scene.liquids[of].made == NominalComposition::Unknown;
            let fraction = if is_unknown {
                Some(fraction_of(&scene, known.mean, AT)?)
            } else {
                None
            };
            Some(ClassFindings {
                difference: known.mean,
                fraction,
                own: known.own,
                scatter: known.scatter,
            })
        })
        .collect();
    let scene = scene.among(&usually);
    let place = |name: &str| reduction.solutions.iter().position(|s| s.name == name);
    let mut all: Vec<(f64, Candidate)> = Vec::new();
    let most = suspects
        .first()
        .and_then(|(name, scatters)| Some((place(name)?, *scatters)));
    for (name, scatters) in suspects {
        let (Some(of), Some((most, most_scatters))) = (place(name), most) else {
            continue;
        };
        // What happened to another liquid does not make its readings scatter.
        if most_scatters && of != most {
            continue;
        }
        let found = slip::explaining(&scene, (of, most), *scatters, &[of]);
        for (score, candidate) in found.scores.into_iter().zip(found.candidates) {
            match all.iter_mut().find(|(_, known)| *known == candidate) {
                Some(known) => known.0 = known.0.max(score),
                None => all.push((score, candidate)),
            }
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let least = all.first().map_or(0.0, |(best, _)| best - MARGIN);
    let named = all.into_iter().take_while(|(score, _)| *score >= least);
    named.map(|(_, candidate)| candidate).collect()
}

/// Returns the density of an unknown at 20 °C, g/mL; `None` if none is published.
fn density_of_unknown(scene: &Scene, of: usize) -> Option<f64> {
    let liquid = scene.liquids[of];
    if liquid.made != NominalComposition::Unknown || !liquid.is_measured() {
        return None;
    }
    let fraction = fraction_of(scene, liquid.density, liquid.temperature)?;
    let published = |t: f64| scene.published.brine(fraction, t);
    Some(liquid.density + published(AT)? - published(liquid.temperature)?)
}

/// Returns the mass fraction of which a density, g/mL, is published at a temperature, °C; of a density beyond all that
/// is published, as a slip may make it, that of the end.
fn fraction_of(scene: &Scene, density: f64, t: f64) -> Option<f64> {
    let salt = scene.bench.reduction.salt?;
    let published = |fraction: f64| scene.published.brine(fraction, t);
    let (mut low, mut high) = (0.0, salt.largest_mass_fraction);
    published(low)?;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if published(middle)? < density {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

fn readings(scene: &Scene, of: usize) -> Vec<[f64; 2]> {
    let series = scene.series[of].as_ref();
    let Some(series) = series.filter(|series| series.of == Measured::Singles) else {
        return Vec::new();
    };
    let count = series.items.len() as f64;
    let mean = series.items.iter().map(|item| item.value).sum::<f64>() / count;
    let each = series.items.iter();
    each.map(|item| [item.value - mean, item.deviation])
        .collect()
}

/// Returns what one density of a solution changes by for a reading of mass 1 g larger, g/mL.
fn by_gram(scene: &Scene, of: usize) -> Option<f64> {
    let reduction = scene.bench.reduction;
    let ws = &reduction.worksheet;
    let density = reduction.solutions[of].density.as_ref()?;
    let measured = scene.bench.run.measurements_of(of).next()?;
    let single = measured.singles().into_iter().next()?;
    let mut readings = single.readings.iter().map(|(reading, _)| reading);
    let mass = readings.rfind(|reading| reading.value.unit.dimension == Dimension::Mass)?;
    let sensitivities = ws.sensitivities(density.replicates.first()?.density);
    let by = sensitivity(ws, sensitivities, mass);
    (by != 0.0).then_some(by)
}

/// Returns the solutions from which others were taken, with the change of each member's difference for a relative
/// change of their composition of one.
fn families(scene: &Scene, members: &[usize]) -> Vec<(String, Vec<f64>)> {
    let mut makers: Vec<usize> = members.iter().filter_map(|of| scene.parent(*of)).collect();
    makers.sort_unstable();
    makers.dedup();
    let family = |maker: usize| {
        let slopes = members.iter().map(|of| {
            let related = *of == maker || scene.is_made_from(*of, maker);
            if related {
                scene.by_concentration(*of)
            } else {
                Some(0.0)
            }
        });
        let slopes: Vec<f64> = slopes.collect::<Option<_>>()?;
        let touched = slopes.iter().filter(|slope| **slope != 0.0).count();
        let name = scene.bench.reduction.solutions[maker].name.clone();
        (touched > 1).then_some((name, slopes))
    };
    makers.into_iter().filter_map(family).collect()
}
