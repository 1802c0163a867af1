//! Numbers as they were written, units, and rounding. Knows no chemistry.

mod density_unit;
mod pattern;
mod reading;
pub mod rounding;
mod si;
mod slip;
mod unit;
mod written;

pub use density_unit::{DensityUnit, ShownIn};
pub use reading::NotAQuantity;
pub use si::SiUnit;
pub use slip::NumberSlip;
pub use unit::{Dimension, Unit};
pub use written::{NotANumber, Written, commas_meant, why_no_comma};

/// A quantity as it was written: digits kept, unit known, value in the bench's base unit of its dimension.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The number, digit for digit.
    pub number: Written,
    /// The unit it was written in, or the field's own where none was written.
    pub unit: &'static Unit,
    /// Value in the base unit of the dimension (see [`Dimension`]).
    pub value: f64,
    /// Stated standard uncertainty (after `±`), in the base unit.
    pub standard_uncertainty: Option<f64>,
}

impl Quantity {
    /// Returns half of the last written digit's place, in the base unit: how far the true display may lie from what was
    /// written.
    pub fn half_last_place(&self) -> f64 {
        0.5 * 10f64.powi(self.number.last_place) * self.unit.factor
    }
}

/// Returns a count of digits as an exponent. Digits are few; were they not, the greatest exponent would say so.
fn exponent(count: usize) -> i32 {
    i32::try_from(count).unwrap_or(i32::MAX)
}
