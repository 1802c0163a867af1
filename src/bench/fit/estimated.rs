//! The χ² of a fit whose weights rest on variances that were themselves estimated from few readings.
//!
//! S. Johansen, *The Welch–James approximation to the distribution of the residual sum of squares in a weighted linear
//! regression*, Biometrika 67 (1980) 85–92 (from memory; for a weighted mean it is the test of B. L. Welch, Biometrika 38
//! (1951) 330–336, and for one degree of freedom Welch's and Satterthwaite's t).
//!
//! Taken as exact, weights from spreads of triplicates refuse a right line about one time in five instead of one in twenty;
//! `tests/estimated_variances.rs` counts it.

use super::Fitted;
use nalgebra::DMatrix;
use std::collections::BTreeMap;

/// What a fit leaves of each point's private error, the one that no other point shares.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Left {
    /// Rows, one a point, of an orthonormal basis of what the unknowns of the fit can follow. A row of zeros: the point
    /// has no private error.
    pub(super) basis: DMatrix<f64>,
    /// Private standard uncertainty of each residual, unit of y.
    pub(super) private: Vec<f64>,
}

/// A part of a point's private error whose variance was found from a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sampled {
    /// The point, by its index.
    pub point: usize,
    /// Standard uncertainty of the point's residual due to it, unit of y.
    pub standard_uncertainty: f64,
    /// Degrees of freedom of the sample.
    pub dof: f64,
    /// The number of the estimate, where several points rest on the same one.
    pub estimate: Option<u32>,
}

/// An estimate of variance: a sample's own, by the sample's number, or one that several points rest on.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Own(usize),
    Common(u32),
}

/// What rests on an estimate of variance.
struct Estimate {
    dof: f64,
    /// Points, with the share of it in the variance of each one's private error.
    shares: Vec<(usize, f64)>,
}

/// How χ² is to be judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowance {
    /// Each point's variance comes from a sample of its own: χ² over `factor` follows F.
    Several {
        /// A: how much is to be allowed for; a pure number.
        amount: f64,
        /// c.
        factor: f64,
        /// Degrees of freedom: of the residuals, and of the variances.
        dof: (f64, f64),
    },
    /// One sample tells of all points: χ² over the degrees of freedom of the residuals follows F.
    One {
        /// Degrees of freedom: of the residuals, and of the variance.
        dof: (f64, f64),
    },
}

impl Allowance {
    /// Returns what χ² is divided by to be compared with F, a pure number.
    pub fn factor(&self) -> f64 {
        match *self {
            Self::Several { factor, .. } => factor,
            Self::One { dof } => dof.0,
        }
    }

    /// Degrees of freedom of F, numbers.
    pub fn dof(&self) -> (f64, f64) {
        match *self {
            Self::Several { dof, .. } | Self::One { dof } => dof,
        }
    }
}

impl Fitted {
    /// Returns what is to be allowed for sampled variances in judging χ²; `None` if nothing is, or without degrees of
    /// freedom.
    ///
    /// With Pₖ the part of the residuals' projector that falls to the variance of the k-th sample, νₖ its degrees of freedom
    /// and p those of the residuals: A = Σ (tr Pₖ² + (tr Pₖ)²)/(2 νₖ), c = p + 2A − 6A/(p + 2), and p (p + 2)/(3A) degrees
    /// of freedom (Johansen 1980). Where one sample tells of all points, c = p, and ν (p/tr P)² degrees of freedom: F itself
    /// where nothing else makes the points uncertain, and else Satterthwaite's approximation to it (F. E. Satterthwaite,
    /// Biometrics Bulletin 2 (1946) 110–114).
    pub fn allowance(&self, sampled: &[Sampled]) -> Option<Allowance> {
        let p = self.dof as f64;
        self.chi_squared.filter(|_| self.dof > 0)?;
        let basis = &self.left.basis;
        // Samples of points without private error have nothing to say here.
        let mut estimates: BTreeMap<Key, Estimate> = BTreeMap::new();
        for (number, sample) in sampled.iter().enumerate() {
            let private = self.left.private[sample.point];
            if private > 0.0 && sample.dof.is_finite() {
                let share = (sample.standard_uncertainty / private).powi(2).min(1.0);
                let key = sample.estimate.map_or(Key::Own(number), Key::Common);
                let estimate = estimates.entry(key).or_insert_with(|| Estimate {
                    dof: sample.dof,
                    shares: Vec::new(),
                });
                estimate.shares.push((sample.point, share));
            }
        }
        let (mut amount, mut one) = (0.0, None);
        for (key, Estimate { dof, shares }) in &estimates {
            let (mut trace, mut squares) = (0.0, 0.0);
            let mut common = DMatrix::<f64>::zeros(basis.ncols(), basis.ncols());
            for &(point, share) in shares {
                let row = basis.row(point);
                let leverage = row.norm_squared();
                trace += share * (1.0 - leverage);
                squares += share * share * (1.0 - 2.0 * leverage);
                common.ger(share, &row.transpose(), &row.transpose(), 1.0);
            }
            squares += common.norm_squared();
            amount += (squares + trace * trace) / (2.0 * dof);
            one = (matches!(key, Key::Common(_)) && trace > 0.0).then(|| dof * (p / trace).powi(2));
        }
        if let (1, Some(few)) = (estimates.len(), one) {
            return Some(Allowance::One { dof: (p, few) });
        }
        (amount > 0.0).then(|| Allowance::Several {
            amount,
            factor: p + 2.0 * amount - 6.0 * amount / (p + 2.0),
            dof: (p, p * (p + 2.0) / (3.0 * amount)),
        })
    }
}
