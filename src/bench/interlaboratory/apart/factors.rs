//! Factors of the variances that benches state, shrunk towards their common value.

use super::super::robust::algorithm_a;
use crate::bench::fit::SampleVariance;

/// A variance this many standard deviations from the common one is another.
const OTHER: f64 = 2.5;

/// A factor of a variance that the benches state.
#[derive(Debug, Clone, Copy)]
pub(super) struct Factor {
    pub(super) value: f64,
    /// Its degrees of freedom, and how many of these all factors have in common.
    pub(super) dof: f64,
    common: f64,
}

impl Factor {
    /// A factor without an estimate.
    pub(super) const UNKNOWN: Self = Self {
        value: 1.0,
        dof: 0.0,
        common: 0.0,
    };

    /// Returns a factor that has nothing in common with the others.
    fn alone(one: SampleVariance) -> Self {
        Self {
            value: one.variance,
            dof: one.dof,
            common: 0.0,
        }
    }
}

/// Returns the degrees of freedom of a variance that depends on factors: each share is the relative change of the variance
/// for a relative change of one factor.
pub(super) fn degrees_of_freedom(shares: &[(f64, Factor)]) -> f64 {
    let common = |(share, factor): &(f64, Factor)| share * factor.common.sqrt() / factor.dof;
    let each = |(share, factor): &(f64, Factor)| {
        (share / factor.dof).powi(2) * (factor.dof - factor.common)
    };
    let common: f64 = shares.iter().map(common).sum();
    let each: f64 = shares.iter().map(each).sum();
    1.0 / (common * common + each)
}

/// The common value of several variances.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Common {
    /// The logarithm of their common value.
    logarithm: f64,
    /// Its weight against any one of them, in degrees of freedom.
    dof: f64,
}

impl Common {
    /// Returns the common value; fewer than two variances give one without weight.
    pub(super) fn from_variances(all: &[SampleVariance]) -> Self {
        let logarithms = all.iter().map(|one| one.variance.ln() + 1.0 / one.dof);
        let logarithms: Vec<f64> = logarithms.collect();
        let (mean, differ) = match algorithm_a(&logarithms) {
            Ok(robust) => (robust.mean, robust.standard_deviation.powi(2)),
            Err(_) if all.len() == 2 => {
                let [a, b] = [logarithms[0], logarithms[1]];
                (f64::midpoint(a, b), 0.5 * (a - b).powi(2))
            }
            Err(_) => return Self::default(),
        };
        let chance = all.iter().map(|one| 2.0 / one.dof).sum::<f64>() / all.len() as f64;
        // The common value rests on each of them too, which is not counted twice.
        let others = 1.0 - 1.0 / all.len() as f64;
        let most = others * all.iter().map(|one| one.dof).sum::<f64>();
        let sure = 2.0 / (differ - chance).max(f64::MIN_POSITIVE);
        Self {
            logarithm: mean,
            dof: sure.min(most),
        }
    }

    /// Returns a common value of 1 with the same weight, for variances that are already standardised.
    pub(super) fn one(self) -> Self {
        Self {
            logarithm: 0.0,
            ..self
        }
    }

    /// Returns a variance shrunk towards the common one, unless it differs from that by more than chance explains.
    pub(super) fn shrink(self, one: SampleVariance) -> Factor {
        let far = (one.variance.ln() - self.logarithm).powi(2);
        if far > OTHER.powi(2) * (2.0 / one.dof + 2.0 / self.dof) {
            return Factor::alone(one);
        }
        let dof = self.dof + one.dof;
        Factor {
            value: (self.dof * self.logarithm.exp() + one.dof * one.variance) / dof,
            dof,
            common: self.dof,
        }
    }
}
