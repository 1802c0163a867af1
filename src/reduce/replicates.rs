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

/// Standard deviation from weighing to weighing of a density, g/mL, as readabilities and repeatabilities state it; none
/// where balance or ware states no repeatability. Linearity is not in it: at one load it is the same each time.
pub(super) fn stated(
    ws: &Worksheet,
    run: &RunFile,
    replicate: &Replicate,
    density: NodeId,
    readings: [NodeId; 3],
) -> Option<f64> {
    let balance = replicate.balance.as_ref();
    let [empty, filled, volume] = [
        (&replicate.empty, balance),
        (&replicate.filled, balance),
        (&replicate.volume, replicate.pipette.as_ref()),
    ]
    .map(|(reading, instrument)| of_reading(run, reading, instrument));
    let each = [empty?, filled?, volume?];
    let variance: f64 = ws
        .sensitivities(density)
        .into_iter()
        .filter_map(|(id, c)| {
            let place = readings.iter().position(|reading| *reading == id)?;
            Some((c * each[place]).powi(2))
        })
        .sum();
    Some(variance.sqrt())
}

/// Standard deviation of a reading from time to time, in its unit.
fn of_reading(run: &RunFile, reading: &Reading, instrument: Option<&Ref>) -> Option<f64> {
    if let Some(u) = reading.value.standard_uncertainty {
        return Some(u);
    }
    let instrument = &run.apparatus[instrument?.value];
    let repeatability = instrument.repeatability.as_ref()?.value.value;
    // A step d leaves an even error within ± d/2.
    let step = instrument
        .readability
        .as_ref()
        .map_or(0.0, |step| step.value.value);
    Some(repeatability.hypot(step / 12f64.sqrt()))
}
