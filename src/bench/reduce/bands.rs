//! How well a calibration's line is known, and where a further density is to be expected.

use std::collections::BTreeMap;

use crate::bench::worksheet::{NodeId, Source, Uncertainty, Worksheet};

use super::CalibrationResult;

/// What the bands about a calibration's line are drawn from; the line is expanded once for all compositions.
#[derive(Debug)]
pub struct Bands<'a> {
    ws: &'a Worksheet,
    /// Sensitivities of the coefficients, rising powers, to each input.
    line: Vec<(NodeId, Vec<f64>)>,
    /// The own error of a density like those of the points.
    own: Vec<(NodeId, f64)>,
}

impl<'a> Bands<'a> {
    /// Returns the bands of a calibration.
    pub fn new(ws: &'a Worksheet, calibration: &CalibrationResult) -> Self {
        let count = calibration.coefficients.len();
        let mut line: BTreeMap<NodeId, Vec<f64>> = BTreeMap::new();
        for (power, coefficient) in calibration.coefficients.iter().enumerate() {
            for (input, c) in ws.sensitivities(*coefficient) {
                line.entry(*input).or_insert_with(|| vec![0.0; count])[power] = *c;
            }
        }
        Self {
            ws,
            line: line.into_iter().collect(),
            own: own_errors(ws, calibration),
        }
    }

    /// Returns the fitted density at a composition, g/mL: where the line itself lies.
    pub fn line(&self, x: f64) -> Uncertainty {
        self.ws.uncertainty_of_form(self.at(x))
    }

    /// Returns one further density at a composition, g/mL, measured as the points were: the line's uncertainty and, on
    /// top, the own error of a density, the mean of the points' own variances. What all densities share is in the
    /// line's already.
    pub fn further(&self, x: f64) -> Uncertainty {
        self.ws
            .uncertainty_of_form(self.at(x).chain(self.own.iter().copied()))
    }

    /// Returns the own error of a density, g/mL.
    pub fn own(&self) -> Uncertainty {
        self.ws.uncertainty_of_form(self.own.iter().copied())
    }

    fn at(&self, x: f64) -> impl Iterator<Item = (NodeId, f64)> {
        self.line
            .iter()
            .map(move |(input, by)| (*input, by.iter().rev().fold(0.0, |sum, c| sum * x + c)))
    }
}

/// Inputs that err in the density of one point only, weighted so that their variance is the mean over the points.
fn own_errors(ws: &Worksheet, calibration: &CalibrationResult) -> Vec<(NodeId, f64)> {
    let each: Vec<&[(NodeId, f64)]> = calibration
        .points
        .iter()
        .map(|point| ws.sensitivities(point.y))
        .collect();
    let mut mentions: BTreeMap<NodeId, usize> = BTreeMap::new();
    for (input, _) in each.iter().copied().flatten() {
        *mentions.entry(*input).or_insert(0) += 1;
    }
    let weight = (each.len() as f64).sqrt().recip();
    each.into_iter()
        .flatten()
        .filter(|(input, _)| {
            mentions.get(input) == Some(&1) && matches!(ws.node(*input).source, Source::Input(_))
        })
        .map(|(input, c)| (*input, weight * c))
        .collect()
}
