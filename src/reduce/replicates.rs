//! What replicate weighings tell of how densities scatter: by solution, pooled, and as the instruments state it.

use crate::runfile::model::{Reading, Ref, Replicate, RunFile};
use crate::worksheet::{Component, Estimate, NodeId, Worksheet};

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
    /// How far rounding to the readabilities can move it.
    pub rounding: f64,
    /// Standard deviation by that rounding alone.
    pub resolution: f64,
}

impl Variation {
    /// Nothing is stated.
    pub(super) const NONE: Self = Self {
        standard_deviation: None,
        rounding: 0.0,
        resolution: 0.0,
    };
}

/// What is stated of how a density varies; `inputs` are the readings of the replicate on the worksheet: empty, filled,
/// volume.
pub(super) fn variation(
    ws: &Worksheet,
    run: &RunFile,
    replicate: &Replicate,
    density: NodeId,
    inputs: [NodeId; 3],
) -> Variation {
    let balance = replicate.balance.as_ref();
    let readings = [
        (&replicate.empty, balance),
        (&replicate.filled, balance),
        (&replicate.volume, replicate.pipette.as_ref()),
    ];
    let (mut variance, mut rounding, mut resolution) = (Some(0.0), 0.0, 0.0);
    let sensitivities = ws.sensitivities(density);
    for (input, (reading, instrument)) in inputs.iter().zip(readings) {
        let c = sensitivities
            .iter()
            .find(|(id, _)| id == input)
            .map_or(0.0, |(_, c)| c.abs());
        let (deviation, step) = of_reading(run, reading, instrument);
        variance = variance
            .zip(deviation)
            .map(|(sum, sd)| sum + (c * sd).powi(2));
        rounding += c * step / 2.0;
        resolution += (c * step).powi(2) / 12.0;
    }
    Variation {
        standard_deviation: variance.map(f64::sqrt),
        rounding,
        resolution: f64::sqrt(resolution),
    }
}

/// Standard deviation of a reading from time to time, where stated, and its step, both in its unit.
fn of_reading(run: &RunFile, reading: &Reading, instrument: Option<&Ref>) -> (Option<f64>, f64) {
    if let Some(u) = reading.value.standard_uncertainty {
        return (Some(u), 0.0);
    }
    let Some(instrument) = instrument.map(|index| &run.apparatus[index.value]) else {
        return (None, 0.0);
    };
    let of = |reading: &Option<Reading>| reading.as_ref().map(|reading| reading.value.value);
    let step = of(&instrument.readability).unwrap_or(0.0);
    // A step d leaves an even error within ± d/2.
    let deviation = of(&instrument.repeatability).map(|sd| sd.hypot(step / 12f64.sqrt()));
    (deviation, step)
}
