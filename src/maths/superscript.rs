//! Unicode's superscript digits, in which powers and exponents stand where text is plain.

use smol_str::SmolStr;

/// Digits and a minus, plain and raised.
const RAISED: [(char, char); 11] = [
    ('−', '⁻'),
    ('0', '⁰'),
    ('1', '¹'),
    ('2', '²'),
    ('3', '³'),
    ('4', '⁴'),
    ('5', '⁵'),
    ('6', '⁶'),
    ('7', '⁷'),
    ('8', '⁸'),
    ('9', '⁹'),
];

/// Returns whether it is a raised digit or minus.
pub fn is_raised(c: char) -> bool {
    RAISED.iter().any(|(_, raised)| *raised == c)
}

/// Digits and a minus, U+2212 or a hyphen, as raised ones: `⁻³` for `-3`. Other characters stay.
pub fn raised(plain: &str) -> SmolStr {
    let raised = |c| {
        let sign = if c == '-' { '−' } else { c };
        let found = RAISED.iter().find(|(plain, _)| *plain == sign);
        found.map_or(c, |(_, raised)| *raised)
    };
    plain.chars().map(raised).collect()
}

/// Raised digits and minus as plain ones, U+2212 for the minus. Other characters are left out.
pub(super) fn lowered(raised: &str) -> String {
    let plain = |c| RAISED.iter().find(|(_, raised)| *raised == c);
    let plain = raised.chars().filter_map(plain);
    plain.map(|(plain, _)| plain).collect()
}
