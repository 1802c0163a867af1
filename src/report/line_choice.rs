//! The choice between straight line and curve in words.

use serde::Serialize;

use crate::bench::fit::Model;
use crate::bench::reduce::{CalibrationResult, Choice, Departure, Reduction};

use super::words::figures;

/// The choice between straight line and curve.
#[derive(Debug, Serialize)]
pub(super) struct ChoiceShown {
    /// Whether the line is the one that the run file asks for.
    asked: bool,
    /// The choice and its reason, as the continuation of a sentence.
    brief: String,
    /// The reason in full sentences.
    full: String,
}

impl ChoiceShown {
    pub(super) fn new(reduction: &Reduction, calibration: &CalibrationResult) -> Self {
        let salt = reduction.salt.map_or("these", |salt| salt.name);
        let bend = |departure: Departure| {
            format!(
                "{} {}, {} the expanded uncertainty of a density relative to it",
                figures(1000.0 * departure.density.abs(), 2),
                reduction.worksheet.density_unit.of_difference(),
                parts(departure.share)
            )
        };
        let two = calibration.points.len() == 2;
        let (brief, full) = match calibration.choice {
            Choice::Asked => {
                let line = match calibration.fitted.model {
                    Model::Straight => "straight line",
                    Model::Quadratic => "curve",
                };
                (
                    format!("using the {line} asked for"),
                    format!("A {line} was asked for."),
                )
            }
            Choice::AskedLineRefused => (
                "using a curve, since the points do not lie on the straight line asked for".to_owned(),
                "A straight line was asked for, on which the points do not lie. They do lie on a curve, which is used \
                 for the results."
                    .to_owned(),
            ),
            Choice::StraightEnough(departure) => (
                "using a straight line, which is adequate over this range".to_owned(),
                format!(
                    "The published density of {salt} solutions departs from a straight \
                     line fitted to these compositions by at most {}: less than a tenth, so a straight line is adequate.",
                    bend(departure)
                ),
            ),
            Choice::Bends(departure) => (
                "using a curve, since the density bends over this range".to_owned(),
                format!(
                    "The published density of {salt} solutions departs from a straight \
                     line fitted to these compositions by up to {}: more than a tenth, so a curve is fitted.",
                    bend(departure)
                ),
            ),
            Choice::StraightLineRefused => (
                "using a curve, since the points do not lie on a straight line".to_owned(),
                "The published density is nearly straight over these compositions, but \
                 the points do not lie on a straight line; they do lie on a curve."
                    .to_owned(),
            ),
            Choice::BendNotKnown => (
                "using a curve, since no published density shows that a straight line is adequate".to_owned(),
                "No published density at these compositions shows how far the density \
                 bends, and neither do points that a straight line happens to fit, so a curve is fitted."
                    .to_owned(),
            ),
            Choice::NoCurve if two => (
                "using a straight line through two points, which cannot be tested".to_owned(),
                "Two points determine only a straight line.".to_owned(),
            ),
            Choice::NoCurve => (
                "using a straight line, since no curve through the points gives a result".to_owned(),
                "A curve through these points cannot be found, or turns within their \
                 range, so a straight line is fitted."
                    .to_owned(),
            ),
        };
        Self {
            asked: calibration.choice == Choice::Asked,
            brief,
            full,
        }
    }
}

/// Returns a share in words: percent below one, else times.
fn parts(share: f64) -> String {
    if share < 1.0 {
        format!("{} % of", figures(100.0 * share, 2))
    } else {
        format!("{} times", figures(share, 2))
    }
}
