//! Statistics of the results of several benches, or of one bench on several days: numbers in, numbers out.
//!
//! Values that are compared share one unit, which the results then have too. What a value stands for (a density, a
//! composition) is not known here. Benches are identified by index.
//!
//! Each statistic is that of a standard, named at its function. A question without an answer is answered by NaN where one
//! number is asked for, and by [`Unusable`] where several are.

mod apart;
mod chart;
mod consistency;
mod outliers;
mod precision;
mod robust;
mod run_rules;
mod scores;
mod standing;
mod youden;

pub use apart::{Apart, FEWEST, Judged, LEVEL, OfClass, Off, Refused, Repeat, Values, apart};
pub use chart::{Basis, Chart, individuals};
pub use consistency::{CellConsistency, consistency, mandel_h_critical, mandel_k_critical};
pub use outliers::{
    Tested, cochran_critical, cochran_test, grubbs_pair_critical, grubbs_pair_test, grubbs_test,
};
pub use precision::{Precision, precision};
pub use robust::{Robust, algorithm_a, median, scaled_mad};
pub use run_rules::{Rule, Signal, signals};
pub use scores::{Performance, e_n, e_n_acceptable, is_negligible, z, z_prime, zeta};
pub use standing::{Critical, Standing};
pub use youden::{Youden, YoudenPair, youden};

use std::fmt;

/// Why values cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unusable {
    /// Fewer values, cells or pairs (the first number) than are needed (the second).
    TooFew(usize, usize),
    /// More values (the first number) than critical values are known for (the second).
    TooMany(usize, usize),
    /// A cell (by index) has no values.
    Empty(usize),
    /// No cell has two values, so that nothing tells the repeatability.
    NoRepeats,
    /// The values are all equal, where their scatter is needed.
    NoScatter,
    /// A value is not finite, or so large that its square is not.
    NotFinite,
}

impl fmt::Display for Unusable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew(have, need) => write!(f, "{have}, but {need} are needed"),
            Self::TooMany(have, most) => {
                write!(f, "{have}, and critical values are known for {most}")
            }
            Self::Empty(cell) => write!(f, "cell {} has no values", cell + 1),
            Self::NoRepeats => f.write_str("nothing was measured twice"),
            Self::NoScatter => f.write_str("the values are all equal"),
            Self::NotFinite => f.write_str("a value is not finite"),
        }
    }
}

impl std::error::Error for Unusable {}

/// From this size on, squares and their sums are not finite.
const TOO_LARGE: f64 = 1e150;

/// That there are enough values, all of them finite and their squares too.
fn require(values: &[f64], need: usize) -> Result<(), Unusable> {
    if values.len() < need {
        return Err(Unusable::TooFew(values.len(), need));
    }
    if !values.iter().all(|v| v.abs() < TOO_LARGE) {
        return Err(Unusable::NotFinite);
    }
    Ok(())
}
