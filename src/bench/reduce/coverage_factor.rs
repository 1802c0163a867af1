//! The coverage factor of an uncertainty, also for few degrees of freedom and for a dominating rectangular error.
//!
//! Student's t for the effective degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, G.4) holds too little where
//! a variance of one or two degrees of freedom leads: 87 to 95 % and 92 to 95 % of the intervals meant for 95 % hold the
//! truth (B. D. Hall, R. Willink, Metrologia 38 (2001) 9–15, and M. Ballico, Metrologia 37 (2000) 61–64, describe it). The
//! sum of squares of the expanded uncertainties, each by its own t, never holds too little (S. Banerjee, Sankhyā 22 (1960)
//! 357–358), but is much too wide where the poor estimate does not lead. Sources from memory.
//!
//! Between the two, k goes by how much that estimate leads: w = φ f (2 − f), with f its share of the variance and φ its
//! share of the sum that the effective degrees of freedom divide. This is a choice of ours; `tests/weighing_model.rs`
//! counts what it holds.

use crate::bench::fit::{
    rectangular_and_normal, rectangular_and_normal_below, student_t, student_t_below,
};
use crate::bench::worksheet::Uncertainty;

/// The share of the variance from which a rectangular error dominates. With Student's t, an interval meant for 95 % would
/// then cover more than 96.5 % (EA-4/02 M:2022, S9 and S10, takes k = 0.95 √3 = 1.65; JCGM 101:2008, 9.2.4, shows the same;
/// both from memory).
const DOMINANT: f64 = 0.6;

/// Estimates of fewer degrees of freedom than this need more than Welch and Satterthwaite's formula.
const FEW: f64 = 3.0;

/// Returns the factor by which a standard uncertainty is expanded to hold the truth with probability `coverage`.
pub fn coverage_factor(coverage: f64, of: &Uncertainty) -> f64 {
    Shape::new(coverage, of).factor(coverage)
}

/// Returns the probability that an error is less than `x` standard uncertainties.
///
/// The distribution is the one that [`coverage_factor`] uses, so that an error lies within ± the factor with the coverage
/// probability.
pub(super) fn probability_below(coverage: f64, of: &Uncertainty, x: f64) -> f64 {
    match Shape::new(coverage, of) {
        Shape::StudentsT { dof, scale } => student_t_below(x / scale, dof),
        Shape::RectangularAndNormal { limit, deviation } => {
            rectangular_and_normal_below(x, limit, deviation)
        }
    }
}

/// The distribution of an error, in standard uncertainties.
#[derive(Clone, Copy)]
enum Shape {
    /// Student's t, wider by a scale.
    StudentsT { dof: f64, scale: f64 },
    /// The sum of a rectangular error within ± a limit and a normal one.
    RectangularAndNormal { limit: f64, deviation: f64 },
}

impl Shape {
    fn new(coverage: f64, of: &Uncertainty) -> Self {
        let welch = Self::StudentsT {
            dof: of.dof,
            scale: 1.0,
        };
        let factor = welch.factor(coverage);
        if of.rectangular >= DOMINANT {
            let beside = Self::beside_rectangular(coverage, of);
            if beside.factor(coverage) <= factor {
                return beside;
            }
            // At a low coverage probability, a rectangular error needs more than Student's t.
            let dof = f64::INFINITY;
            let least = Self::beside_rectangular(coverage, &Uncertainty { dof, ..*of });
            return if least.factor(coverage) > factor {
                least
            } else {
                welch
            };
        }
        let Some(leading) = of.leading.filter(|leading| leading.dof < FEW) else {
            return welch;
        };
        let own = student_t(coverage, leading.dof);
        let rest = student_t(coverage, leading.rest_dof);
        let f = leading.share;
        let banerjee = (own * own * f + rest * rest * (1.0 - f)).sqrt();
        let weight = leading.freedom_share * f * (2.0 - f);
        Self::StudentsT {
            dof: of.dof,
            scale: (factor + weight * (banerjee - factor)) / factor,
        }
    }

    /// Returns a dominating rectangular error and the rest, taken as normal and widened for its degrees of freedom.
    fn beside_rectangular(coverage: f64, of: &Uncertainty) -> Self {
        let rest = 1.0 - of.rectangular;
        let wider = student_t(coverage, of.dof * rest * rest) / student_t(coverage, f64::INFINITY);
        let wider = if wider.is_finite() { wider } else { 1.0 };
        Self::RectangularAndNormal {
            limit: (3.0 * of.rectangular).sqrt(),
            deviation: rest.sqrt() * wider,
        }
    }

    fn factor(self, coverage: f64) -> f64 {
        match self {
            Self::StudentsT { dof, scale } => scale * student_t(coverage, dof),
            Self::RectangularAndNormal { limit, deviation } => {
                rectangular_and_normal(coverage, limit, deviation)
            }
        }
    }
}
