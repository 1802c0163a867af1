//! How densities scatter from weighing to weighing: as they are found, and as the instruments state it.

use crate::bench::runfile::model::{Reading, Ref, RunFile};
use crate::bench::worksheet::{Component, Distribution, NodeId, Worksheet};

use super::spread::Spread;

/// Returns the densities of the weighings that count, g/mL.
pub(super) fn densities(ws: &Worksheet, replicates: &[ReplicateResult]) -> Vec<f64> {
    replicates
        .iter()
        .filter(|replicate| replicate.left_out.is_none())
        .map(|replicate| ws.value(replicate.density))
        .collect()
}

/// A density by one weighing or reading alone.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplicateResult {
    /// Its entry in the run file.
    pub entry: String,
    /// The temperature of the liquid, °C.
    pub liquid: NodeId,
    /// The density by this weighing alone, g/mL.
    pub density: NodeId,
    /// What balance and ware state of how it varies from weighing to weighing.
    pub variation: Variation,
    /// Why it is left out, if it is.
    pub left_out: Option<String>,
}

/// What is stated of how a density varies from weighing to weighing, g/mL.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// Standard deviation by readabilities and repeatabilities; `None` if balance or ware states no repeatability.
    /// Linearity is not in it: at one load it is the same each time.
    pub standard_deviation: Option<f64>,
    /// Standard deviation by the repeatabilities alone, as far as they are stated.
    pub repeatability: f64,
    /// Standard deviation by rounding to the readabilities alone.
    pub resolution: f64,
}

/// Returns how the root of the mean of squares of several standard deviations comes out.
pub(super) fn root_mean_square(deviations: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = deviations.len() as f64;
    (deviations.map(|sd| sd * sd).sum::<f64>() / count).sqrt()
}

impl Variation {
    /// Returns the same in another unit, so many of it a unit of this.
    pub(super) fn times(&self, factor: f64) -> Self {
        Self {
            standard_deviation: self.standard_deviation.map(|sd| sd * factor),
            repeatability: self.repeatability * factor,
            resolution: self.resolution * factor,
        }
    }

    /// Returns the same with a further repeatability, all of it unknown where that is.
    pub(super) fn with(&self, further: Option<f64>) -> Self {
        let both = |sd: f64| further.map(|further| sd.hypot(further));
        Self {
            standard_deviation: self.standard_deviation.and_then(both),
            repeatability: self.repeatability.hypot(further.unwrap_or(0.0)),
            resolution: self.resolution,
        }
    }
}

/// Standard deviation of one of those that count as the instruments state it, g/mL; `None` if one states none.
pub(super) fn stated(kept: &[&ReplicateResult]) -> Option<f64> {
    stated_by(kept.iter().map(|r| &r.variation))
}

/// Returns the same of variations.
pub(super) fn stated_by<'v>(
    variations: impl ExactSizeIterator<Item = &'v Variation>,
) -> Option<f64> {
    let count = variations.len() as f64;
    variations
        .map(|v| v.standard_deviation.map(|sd| sd * sd))
        .sum::<Option<f64>>()
        .map(|squares| (squares / count).sqrt())
}

/// Returns the error of a mean of densities beyond that of the single readings, by their spread.
///
/// The readings carry their own rounding, as if it averaged out. It does not where equal readings show no more than the
/// step of the instrument (JCGM 100:2008, F.2.2.1): where the densities scatter by less than rounding alone would make
/// them, their mean is as uncertain by rounding as one of them, and a larger repeatability that is stated stands in for
/// the spread.
pub(super) fn of_mean(spread: &Spread, kept: &[&ReplicateResult]) -> Vec<Component> {
    let component = spread.component(kept.len());
    let resolution = root_mean_square(kept.iter().map(|r| r.variation.resolution));
    if spread.observed_dof == 0 || spread.observed >= resolution {
        return vec![component];
    }
    let count = kept.len() as f64;
    let stated = root_mean_square(kept.iter().map(|r| r.variation.repeatability));
    let scatter = if stated > spread.standard_deviation {
        Component::normal("repeatability", stated / count.sqrt())
    } else {
        component
    };
    // With the variance of the readings' own rounding, resolution²/n, that of one rounding.
    let rest = resolution * (1.0 - 1.0 / count).sqrt();
    let limit = rest * 3f64.sqrt();
    let cause = "resolution hidden by equal readings";
    vec![
        scatter,
        Component::within(cause, limit, Distribution::Rectangular),
    ]
}

/// Returns what is stated of how a density varies; `readings` are those of the replicate that are its own, with their
/// places on the worksheet and what showed them.
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
