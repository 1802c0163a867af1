//! Expanded uncertainties: one way from an uncertainty to the interval that a report states.
//!
//! A result that lacks a known correction b (JCGM 100:2008, 3.2.4, asks for it; F.2.4.5 allows for its being left out) is
//! stated about its uncorrected value. Its expanded uncertainty is the U' with P(|b + u T| ≤ U') = coverage, T being
//! Student's t: k u without a bias, |b| and the one-sided factor times u where the bias leads. To add |b| to k u
//! covers more than is stated; to take b as a standard uncertainty covers less or more.

use crate::bench::fit::{shifted_t, student_t};
use crate::bench::worksheet::Uncertainty;

use super::coverage_factor::{self, coverage_factor};

/// Half-width of the interval about an uncorrected value, in the unit of the uncertainty.
///
/// Where estimates of few degrees of freedom make k larger than Student's t ([`coverage_factor()`]), T is as much wider.
pub fn expanded(uncertainty: Uncertainty, coverage: f64) -> f64 {
    let Uncertainty { dof, bias, .. } = uncertainty;
    let without = coverage_factor(coverage, &uncertainty) * uncertainty.standard;
    let scale = without / student_t(coverage, dof);
    if scale > 0.0 && bias != 0.0 {
        scale * shifted_t(coverage, dof, bias / scale)
    } else {
        without + bias.abs()
    }
}

/// Returns what bias adds to the expanded uncertainty on either side, in the unit of the uncertainty.
pub fn widening(uncertainty: Uncertainty, coverage: f64) -> f64 {
    expanded(uncertainty, coverage)
        - expanded(
            Uncertainty {
                bias: 0.0,
                ..uncertainty
            },
            coverage,
        )
}

/// Returns the probability that the true value is less than the stated value plus `apart`, in the unit of the
/// uncertainty.
///
/// The distribution is the one that [`expanded`] uses at this coverage probability. The bias from effects that were not
/// corrected is taken into account.
pub fn probability_below(uncertainty: Uncertainty, coverage: f64, apart: f64) -> f64 {
    let apart = apart - uncertainty.bias;
    if uncertainty.standard > 0.0 {
        coverage_factor::probability_below(coverage, &uncertainty, apart / uncertainty.standard)
    } else if apart >= 0.0 {
        1.0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bias_widens_an_interval_continuously() {
        let with = |standard, bias| Uncertainty {
            standard,
            dof: f64::INFINITY,
            leading: None,
            rectangular: 0.0,
            bias,
        };
        assert!((expanded(with(0.5, 0.0), 0.95) - 0.979_982).abs() < 1e-6);
        assert!((expanded(with(0.0, -3.0), 0.95) - 3.0).abs() < 1e-12);
        // A bias of ten standard uncertainties: the one-sided factor is left, 10 + 1.644854.
        assert!((expanded(with(0.5, 5.0), 0.95) - 5.822_427).abs() < 1e-6);
        assert!((expanded(with(1e-12, -3.0), 0.95) - 3.0).abs() < 1e-9);
        assert!((widening(with(0.5, 5.0), 0.95) - (5.822_427 - 0.979_982)).abs() < 1e-6);
        assert!(widening(with(0.5, 0.0), 0.95).abs() < 1e-15);
    }
}
