//! What replicate weighings tell of how densities scatter: by solution, pooled, and as the instruments state it.

use crate::runfile::model::{Reading, Ref, RunFile};
use crate::worksheet::{Component, Distribution, Estimate, NodeId, Worksheet};

use super::density::ReplicateResult;

/// The standard deviation of one weighing from those of several solutions together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// `s_p`, g/mL: the root of Σ ν s² / Σ ν.
    pub standard_deviation: f64,
    /// Σ ν.
    pub dof: usize,
    /// How many solutions it rests on.
    pub solutions: usize,
    estimate: Estimate,
}

impl Pooled {
    /// Pools the spreads of solutions weighed twice or more; none where no solution was.
    pub(super) fn of<'a>(
        ws: &mut Worksheet,
        solutions: impl IntoIterator<Item = &'a [ReplicateResult]>,
    ) -> Option<Self> {
        let (mut squares, mut dof, mut count) = (0.0, 0, 0);
        for replicates in solutions {
            let values = densities(ws, replicates);
            if values.len() > 1 {
                dof += values.len() - 1;
                squares += (values.len() - 1) as f64 * spread(&values).powi(2);
                count += 1;
            }
        }
        (dof > 0).then(|| Self {
            standard_deviation: (squares / dof as f64).sqrt(),
            dof,
            solutions: count,
            estimate: ws.estimate(),
        })
    }

    /// The error of a mean of `count` weighings (type A).
    pub(super) fn component(&self, count: usize) -> Component {
        let standard = self.standard_deviation / (count as f64).sqrt();
        Component::sampled("pooled spread of replicates", standard, self.dof as f64)
            .by(self.estimate)
    }
}

/// The densities of the weighings that count, g/mL.
pub(super) fn densities(ws: &Worksheet, replicates: &[ReplicateResult]) -> Vec<f64> {
    replicates
        .iter()
        .filter(|replicate| replicate.left_out.is_none())
        .map(|replicate| ws.value(replicate.density))
        .collect()
}

/// Sample standard deviation (n − 1).
pub(super) fn spread(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt()
}

/// What is stated of how a density varies from weighing to weighing, g/mL.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// Standard deviation by readabilities and repeatabilities; none where balance or ware states no repeatability.
    /// Linearity is not in it: at one load it is the same each time.
    pub standard_deviation: Option<f64>,
    /// Standard deviation by the repeatabilities alone, as far as they are stated.
    pub repeatability: f64,
    /// Standard deviation by rounding to the readabilities alone.
    pub resolution: f64,
}

/// How the root of the mean of squares of several standard deviations comes out.
pub(super) fn root_mean_square(deviations: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = deviations.len() as f64;
    (deviations.map(|sd| sd * sd).sum::<f64>() / count).sqrt()
}

/// The error of a mean of densities beyond that of the single readings: by their spread, of standard deviation `found`,
/// where it tells; the stated variation decides whether it does.
///
/// The readings carry their own rounding, as if it averaged out. It does not where equal readings show no more than the
/// step of the instrument (JCGM 100:2008, F.2.2.1): where the densities scatter by less than rounding alone would make
/// them, their mean is as uncertain by rounding as one of them, and a larger repeatability that is stated stands in for
/// the spread.
pub(super) fn of_mean(found: f64, spread: Component, kept: &[&ReplicateResult]) -> Vec<Component> {
    let resolution = root_mean_square(kept.iter().map(|r| r.variation.resolution));
    if found >= resolution {
        return vec![spread];
    }
    let count = kept.len() as f64;
    let stated = root_mean_square(kept.iter().map(|r| r.variation.repeatability));
    let scatter = if stated > found {
        Component::normal("repeatability", stated / count.sqrt())
    } else {
        spread
    };
    // With the variance of the readings' own rounding, resolution²/n, that of one rounding.
    let rest = resolution * (1.0 - 1.0 / count).sqrt();
    let limit = rest * 3f64.sqrt();
    let cause = "resolution, which equal readings do not reveal";
    vec![
        scatter,
        Component::within(cause, limit, Distribution::Rectangular),
    ]
}

/// What is stated of how a density varies; `readings` are those of the replicate that are its own, with their places on the
/// worksheet and what showed them.
pub(super) fn variation(
    ws: &Worksheet,
    run: &RunFile,
    density: NodeId,
    readings: &[(NodeId, &Reading, Option<&Ref>)],
) -> Variation {
    let (mut variance, mut repeatability, mut resolution) = (Some(0.0), 0.0, 0.0);
    let sensitivities = ws.sensitivities(density);
    for (input, reading, instrument) in readings {
        let c = sensitivities
            .iter()
            .find(|(id, _)| id == input)
            .map_or(0.0, |(_, c)| c.abs());
        if let Some(u) = reading.value.standard_uncertainty {
            // Enters with the reading, however many there are.
            variance = variance.map(|sum| sum + (c * u).powi(2));
            continue;
        }
        let (deviation, step) = of_instrument(run, *instrument);
        let rounding = (c * step).powi(2) / 12.0;
        resolution += rounding;
        repeatability += (c * deviation.unwrap_or(0.0)).powi(2);
        variance = variance
            .zip(deviation)
            .map(|(sum, sd)| sum + (c * sd).powi(2) + rounding);
    }
    Variation {
        standard_deviation: variance.map(f64::sqrt),
        repeatability: f64::sqrt(repeatability),
        resolution: f64::sqrt(resolution),
    }
}

/// Standard deviation of an instrument's readings, where stated, and its step, both in their unit.
fn of_instrument(run: &RunFile, instrument: Option<&Ref>) -> (Option<f64>, f64) {
    let Some(instrument) = instrument.map(|index| &run.apparatus[index.value]) else {
        return (None, 0.0);
    };
    let of = |reading: &Option<Reading>| reading.as_ref().map(|reading| reading.value.value);
    let step = of(&instrument.readability).unwrap_or(0.0);
    (of(&instrument.repeatability), step)
}
