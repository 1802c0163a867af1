//! How quantities are written, as a regular expression for other programs.

use super::Unit;
use super::unit::spellings;

const DIGIT: &str = "[0-9\u{ff10}-\u{ff19}]";
const NOT_ZERO: &str = "[1-9\u{ff11}-\u{ff19}]";
const PLUS: &str = "[+\u{ff0b}]";
const POINT: &str = "[.\u{ff0e}]";
const SIGN: &str = "[+\u{2212}\u{ff0b}\u{ff0d}-]";

impl Unit {
    /// Returns the texts that are read as a quantity of this unit's dimension, as the inside of a regular expression
    /// (ECMA-262) without anchors.
    ///
    /// It refuses a unit of another dimension, what is no number, an uncertainty that is not more than zero and, where
    /// the quantity must be `positive`, a value that is not; it does not tell whether a number has too many digits.
    pub fn pattern(&self, positive: bool) -> String {
        let units: Vec<String> = spellings(self.dimension).map(escaped).collect();
        let unit = format!("(?:\\s*(?:{}))?", units.join("|"));
        let size = format!("(?:{DIGIT}+{POINT}?{DIGIT}*|{POINT}{DIGIT}+)(?:[eE]{SIGN}?{DIGIT}+)?");
        // A digit that is not zero stands before the end of the number and its power of ten.
        let more_than_zero = format!("{PLUS}?(?=(?:0|\u{ff10}|{POINT})*{NOT_ZERO})");
        let number = if positive {
            format!("{more_than_zero}{size}")
        } else {
            format!("{SIGN}?{size}")
        };
        let last_digits = format!("(?:\\((?=(?:0|\u{ff10})*{NOT_ZERO}){DIGIT}+\\))?");
        let spread = format!("\\s*(?:±|{SIGN}/?{SIGN})\\s*{more_than_zero}{size}{unit}");
        format!("\\(?\\s*{number}{last_digits}{unit}(?:{spread}\\s*\\)?{unit})?")
    }
}

fn escaped(spelling: &str) -> String {
    spelling.replace('^', "\\^")
}
