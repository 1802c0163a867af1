//! Points for claimed results.

use serde::Serialize;

use super::{DigitsJudged, Judged};
use crate::bench::runfile::model::{Points, Scale};

/// Points for a claimed result.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Awarded {
    /// Earned.
    pub points: f64,
    /// To be earned.
    pub of: f64,
}

/// Kinds of results that earn points of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    SaltMass,
    Density,
    Composition(Scale),
    Coefficient(usize),
    Unknown,
}

impl Awarded {
    /// The points of a claimed result: for what does not depart, and for adequate digits. `None` if it earns none.
    pub(super) fn new(points: &Points, judged: &Judged) -> Option<Self> {
        let of = match judged.kind {
            Kind::SaltMass => points.salt_mass,
            Kind::Density => points.density,
            Kind::Unknown => points.unknown,
            Kind::Composition(scale) => points.composition[scale as usize],
            Kind::Coefficient(0) => points.intercept,
            Kind::Coefficient(_) => points.slope,
        };
        let earned = if judged.judgement.earns() { of } else { 0.0 };
        let (digits, most) = match judged.digits {
            Some(DigitsJudged::Adequate) => (points.digits, points.digits),
            Some(_) => (0.0, points.digits),
            None => (0.0, 0.0),
        };
        let awarded = Self {
            points: earned + digits,
            of: of + most,
        };
        (awarded.of > 0.0).then_some(awarded)
    }
}
