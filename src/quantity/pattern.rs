//! How quantities are written, as a regular expression for other programs.

use super::Unit;
use super::unit::spellings;

const DIGIT: &str = "[0-9\u{ff10}-\u{ff19}]";
const POINT: &str = "[.\u{ff0e}]";
const SIGN: &str = "[+\u{2212}\u{ff0b}\u{ff0d}-]";

impl Unit {
    /// The texts that are read as a quantity of this unit's dimension, as the inside of a regular expression (ECMA-262)
    /// without anchors.
    ///
    /// It refuses a unit of another dimension and what is no number; it does not tell whether a number has too many
    /// digits, or an uncertainty is zero.
    #[must_use]
    pub fn pattern(&self) -> String {
        let units: Vec<String> = spellings(self.dimension).map(escaped).collect();
        let unit = format!("(?:\\s*(?:{}))?", units.join("|"));
        let number =
            format!("{SIGN}?(?:{DIGIT}+{POINT}?{DIGIT}*|{POINT}{DIGIT}+)(?:[eE]{SIGN}?{DIGIT}+)?");
        let last_digits = format!("(?:\\({DIGIT}+\\))?");
        let spread = format!("\\s*(?:±|{SIGN}/?{SIGN})\\s*{number}{unit}");
        format!("\\(?\\s*{number}{last_digits}{unit}(?:{spread}\\s*\\)?{unit})?")
    }
}

fn escaped(spelling: &str) -> String {
    spelling.replace('^', "\\^")
}
