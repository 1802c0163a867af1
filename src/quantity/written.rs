//! Decimal numbers that remember how they were written.

/// A decimal number, digit for digit as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The number's text, without unit and white space, signs normalised to ASCII.
    pub text: String,
    /// Its value; always finite.
    pub value: f64,
    /// Power of ten of the last written digit: `5.00` has −2, `250` has 0, `1.2e3` has 2.
    pub last_place: i32,
    /// Significant figures: `5.00` has 3, `0.050` has 2, `250` has 3.
    pub figures: u32,
}

/// Why a text is not a decimal number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotANumber {
    /// What is wrong, to follow "…: ".
    pub why: String,
}
