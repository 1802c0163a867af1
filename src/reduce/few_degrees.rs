//! The coverage factor of an uncertainty, where few degrees of freedom lead it as well.
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

use crate::fit::student_t;
use crate::worksheet::Uncertainty;

/// Estimates of fewer degrees of freedom than this need more than Welch and Satterthwaite's formula.
const FEW: f64 = 3.0;

/// The factor by which a standard uncertainty is expanded to hold the truth with probability `coverage`.
#[must_use]
pub fn coverage_factor(coverage: f64, of: &Uncertainty) -> f64 {
    let welch = student_t(coverage, of.dof);
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
