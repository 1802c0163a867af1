//! What at a bench contradicts a slip, and by how much. Nothing here comes from the program.
//!
//! A density is contradicted by the other densities of its solution and by the published density of what its solution was
//! made of. Honest runs show how all these scatter together; a slip is seen by how far it moves them, counted in the
//! standard deviations of the direction that it moves them in (Mahalanobis' distance). No test of any kind can do better.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::nature;
use super::notebook::{Found, Made, Notebook};
use super::scene::Scene;

/// Honest runs that the scatter is taken from.
const RUNS: u64 = 400;

/// How what contradicts a slip scatters at a bench.
pub(crate) struct Evidence {
    covariance: Cholesky<f64, Dyn>,
}

impl Evidence {
    /// Of a bench, from honest runs; `None` where they do not show it.
    pub(crate) fn of(scene: &Scene) -> Option<Self> {
        // Runs that nothing else looks at.
        let runs = (0..RUNS).map(|run| departures(&scene.simulate(1_000_000 + run).notebook));
        let runs: Vec<DVector<f64>> = runs.collect::<Option<_>>()?;
        let mean = runs.iter().sum::<DVector<f64>>() / runs.len() as f64;
        let mut covariance = DMatrix::zeros(mean.len(), mean.len());
        for run in &runs {
            let apart = run - &mean;
            covariance += &apart * apart.transpose();
        }
        covariance /= (runs.len() - 1) as f64;
        let covariance = covariance.cholesky()?;
        Some(Self { covariance })
    }

    /// How far apart two notebooks of one bench are; infinite where one has other readings than the other.
    pub(crate) fn distance(&self, honest: &Notebook, slipped: &Notebook) -> f64 {
        match (departures(honest), departures(slipped)) {
            (Some(a), Some(b)) if a.len() == b.len() => {
                let apart = b - a;
                apart.dot(&self.covariance.solve(&apart)).sqrt()
            }
            _ => f64::INFINITY,
        }
    }
}

fn number(text: &str) -> Option<f64> {
    text.split_whitespace().next()?.parse().ok()
}

/// Each density less the published one, g/mL; of a solution of unknown composition, less its first density.
fn departures(book: &Notebook) -> Option<DVector<f64>> {
    let all = by_solution(book, None)?;
    Some(DVector::from_vec(all.concat()))
}

/// The same by solution; of an unknown less the density of its mass fraction, where that is given.
pub(crate) fn by_solution(book: &Notebook, unknown: Option<f64>) -> Option<Vec<Vec<f64>>> {
    let t = number(&book.liquid)?;
    let mut all = Vec::new();
    for solution in &book.solutions {
        let Some(found) = &solution.found else {
            continue;
        };
        let densities = densities(found)?;
        let less = |by: f64| densities.iter().map(|d| d - by).collect::<Vec<f64>>();
        all.push(match (&solution.made, unknown) {
            (Made::Unknown, None) => less(densities[0]).split_off(1),
            (Made::Unknown, Some(fraction)) => less(nature::brine(fraction, t)),
            (made, _) => less(published(book, made, t)?),
        });
    }
    Some(all)
}

fn densities(found: &Found) -> Option<Vec<f64>> {
    match found {
        Found::Weighings(all) => {
            let each = all.iter();
            each.map(|w| Some((number(&w.filled)? - number(&w.empty)?) / number(&w.volume)?))
                .collect()
        }
        Found::Cumulative {
            empty,
            each,
            masses,
        } => {
            let read: Option<Vec<f64>> = std::iter::once(empty)
                .chain(masses)
                .map(|m| number(m))
                .collect();
            let each = number(each)?;
            Some(read?.windows(2).map(|m| (m[1] - m[0]) / each).collect())
        }
        Found::Readings(all) => all.iter().map(|d| number(d)).collect(),
        Found::Fillings(_) => None,
    }
}

/// The published density of what a solution was made of.
fn published(book: &Notebook, made: &Made, t: f64) -> Option<f64> {
    let w = match made {
        Made::ByMass { salt, water } => {
            let (salt, water) = (number(salt)?, number(water)?);
            salt / (salt + water)
        }
        made => nature::mass_fraction(concentration(book, made)?, t),
    };
    Some(nature::brine(w, t))
}

/// Salt in a volume, g/mL.
fn concentration(book: &Notebook, made: &Made) -> Option<f64> {
    match made {
        Made::Pure => Some(0.0),
        Made::ByDifference {
            before, after, to, ..
        } => Some((number(before)? - number(after)?) / number(to)?),
        Made::Tared { mass, to, .. } => Some(number(mass)? / number(to)?),
        Made::Dilution {
            of,
            count,
            each,
            to,
            ..
        } => {
            let parent = book.solutions.iter().find(|s| s.name == *of)?;
            let taken = *count as f64 * number(each)?;
            Some(concentration(book, &parent.made)? * taken / number(to)?)
        }
        Made::ByMass { .. } | Made::Unknown => None,
    }
}
