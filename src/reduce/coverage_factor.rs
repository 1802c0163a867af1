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

use crate::fit::{rectangular_and_normal, student_t};
use crate::worksheet::Uncertainty;

/// The share of the variance from which a rectangular error dominates. With Student's t, an interval meant for 95 % would
/// then cover more than 96.5 % (EA-4/02 M:2022, S9 and S10, takes k = 0.95 √3 = 1.65; JCGM 101:2008, 9.2.4, shows the same;
/// both from memory).
const DOMINANT: f64 = 0.6;

/// Estimates of fewer degrees of freedom than this need more than Welch and Satterthwaite's formula.
const FEW: f64 = 3.0;

/// The factor by which a standard uncertainty is expanded to hold the truth with probability `coverage`.
#[must_use]
pub fn coverage_factor(coverage: f64, of: &Uncertainty) -> f64 {
    let welch = student_t(coverage, of.dof);
    if of.rectangular >= DOMINANT {
        return beside_rectangular(coverage, of).min(welch);
    }
    let Some(leading) = of.leading.filter(|leading| leading.dof < FEW) else {
        return welch;
    };
    let own = student_t(coverage, leading.dof);
    let rest = student_t(coverage, leading.rest_dof);
    let f = leading.share;
    let banerjee = (own * own * f + rest * rest * (1.0 - f)).sqrt();
    let weight = leading.freedom_share * f * (2.0 - f);
    welch + weight * (banerjee - welch)
}

/// The factor for a dominating rectangular error. The rest is taken as normal, widened for its degrees of freedom.
fn beside_rectangular(coverage: f64, of: &Uncertainty) -> f64 {
    let rest = 1.0 - of.rectangular;
    let wider = student_t(coverage, of.dof * rest * rest) / student_t(coverage, f64::INFINITY);
    rectangular_and_normal(
        coverage,
        (3.0 * of.rectangular).sqrt(),
        rest.sqrt() * if wider.is_finite() { wider } else { 1.0 },
    )
}
