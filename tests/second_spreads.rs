//! How single densities scatter, for the second reduction: plainly, with nothing of the product in it.

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// What the weighings of a solution show, and what is stated of them, g/mL.
pub(crate) struct Weighed {
    pub(crate) densities: Vec<f64>,
    pub(crate) one_empty: bool,
    /// Standard deviations of one density by rounding, and by the repeatabilities stated.
    pub(crate) rounding: f64,
    pub(crate) repeatability: f64,
    pub(crate) all_stated: bool,
}

/// A standard deviation of one density, g/mL, for some solutions.
pub(crate) struct Estimate {
    pub(crate) serves: Vec<usize>,
    pub(crate) deviation: f64,
    pub(crate) observed: f64,
    pub(crate) dof: f64,
}

fn variance(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    values.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0)
}

/// All estimates, given what the run file wants.
pub(crate) fn estimates(wanted: Option<&str>, all: &[Weighed]) -> Vec<Estimate> {
    let several: Vec<usize> = (0..all.len())
        .filter(|i| all[*i].densities.len() > 1)
        .collect();
    if wanted == Some("own") {
        return several
            .iter()
            .map(|i| estimate(all, &[*i], vec![*i]))
            .collect();
    }
    let mut found = Vec::new();
    // All are weighed on one balance with one pipette; only a vessel weighed once makes a difference.
    for one_empty in [false, true] {
        let mut group = several.clone();
        group.retain(|i| all[*i].one_empty == one_empty);
        if wanted.is_none() {
            while let Some(unlike) = unlike(all, &group) {
                group.retain(|i| *i != unlike);
                found.push(estimate(all, &[unlike], vec![unlike]));
            }
        }
        if group.is_empty() {
            continue;
        }
        let mut serves = group.clone();
        // One weighed once takes the spread of vessels weighed empty each time, where there are any.
        if !one_empty || several.iter().all(|i| all[*i].one_empty) {
            serves.extend((0..all.len()).filter(|i| all[*i].densities.len() == 1));
        }
        found.push(estimate(all, &group, serves));
    }
    found
}

fn estimate(all: &[Weighed], from: &[usize], serves: Vec<usize>) -> Estimate {
    let nu: f64 = from
        .iter()
        .map(|i| all[*i].densities.len() as f64 - 1.0)
        .sum();
    let squares: f64 = from
        .iter()
        .map(|i| (all[*i].densities.len() as f64 - 1.0) * variance(&all[*i].densities))
        .sum();
    let observed = squares / nu;
    let stated = from
        .iter()
        .map(|i| all[*i].rounding.powi(2) + all[*i].repeatability.powi(2))
        .sum::<f64>()
        / from.len() as f64;
    let limit = FisherSnedecor::new(nu, 8.0).unwrap().inverse_cdf(0.95);
    let (variance, dof) = if all[from[0]].all_stated && observed <= stated * limit {
        ((squares + 8.0 * stated) / (nu + 8.0), nu + 8.0)
    } else {
        (observed, nu)
    };
    Estimate {
        serves,
        deviation: variance.sqrt(),
        observed: observed.sqrt(),
        dof,
    }
}

/// The one of several whose variance is too large beside the others' to be theirs, at 5 %.
fn unlike(all: &[Weighed], group: &[usize]) -> Option<usize> {
    if group.len() < 2 {
        return None;
    }
    let floored = |i: usize| variance(&all[i].densities).max(all[i].rounding.powi(2));
    let nu = |i: usize| all[i].densities.len() as f64 - 1.0;
    let tail = |i: usize| {
        let others = || group.iter().copied().filter(move |other| *other != i);
        let rest: f64 = others().map(nu).sum();
        let pooled = others()
            .map(|other| nu(other) * floored(other))
            .sum::<f64>()
            / rest;
        FisherSnedecor::new(nu(i), rest)
            .unwrap()
            .sf(floored(i) / pooled)
    };
    let least = group
        .iter()
        .copied()
        .min_by(|a, b| tail(*a).total_cmp(&tail(*b)))?;
    (tail(least) < 0.05 / group.len() as f64).then_some(least)
}
