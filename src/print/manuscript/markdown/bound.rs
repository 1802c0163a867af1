//! What a line must not be broken at: between the parts of a number, and between a number and its unit.

use crate::maths::superscript::is_raised;

/// Set between a number and its unit.
const THIN: char = '\u{202f}';
/// Set around signs within a number.
const FIXED: char = '\u{a0}';

/// Names of units that follow a number, and of which others are made.
const UNITS: [&str; 35] = [
    "g", "kg", "mg", "µg", "t", "L", "mL", "µL", "cL", "dL", "m", "cm", "mm", "m³", "cm³", "dm³",
    "mol", "mmol", "Pa", "hPa", "kPa", "bar", "mbar", "°C", "°F", "K", "°Bé", "%", "‰", "s", "min",
    "h", "%²", "pt", "ppm",
];

/// Returns the text with spaces that do not break where a number goes on or has its unit.
pub(super) fn bound(text: &str) -> String {
    // Most texts have no number.
    if !text.contains(|c: char| c.is_ascii_digit()) {
        return text.to_owned();
    }
    let mut set = String::with_capacity(text.len() + 8);
    let mut rest = text;
    while let Some(at) = rest.find(' ') {
        let (before, after) = (&rest[..at], &rest[at + 1..]);
        set.push_str(before);
        set.push(space(&set, after));
        rest = after;
    }
    set.push_str(rest);
    set
}

/// Returns the space between what stands before it and after it.
fn space(before: &str, after: &str) -> char {
    let signs = ['±', '×', '='];
    if ends_in_number(before) && begins_with_unit(after) {
        return THIN;
    }
    let mut next = after.chars();
    let sign_follows = next.next().is_some_and(|c| signs.contains(&c))
        && next.next() == Some(' ')
        && next.as_str().starts_with(begins_number);
    let sign_precedes = before.ends_with(signs)
        && before.trim_end_matches(signs).ends_with([' ', FIXED])
        && after.starts_with(begins_number);
    if sign_follows || sign_precedes {
        FIXED
    } else {
        ' '
    }
}

fn begins_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '−' | '-' | '+')
}

/// Returns whether a text ends in a number, its power of ten or its closing bracket counted in.
fn ends_in_number(text: &str) -> bool {
    let last = text.rsplit([' ', FIXED]).next().unwrap_or_default();
    let last = last.trim_end_matches(|c| is_raised(c) || c == ')');
    let number = last.trim_start_matches(['(', '±', '−', '-', '+', '≈', '<', '>']);
    number.ends_with(|c: char| c.is_ascii_digit())
        && number.starts_with(|c: char| c.is_ascii_digit())
        && number
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '\u{2009}' | THIN))
}

/// Returns whether a text begins with a unit: names, powers, brackets and strokes up to the next space or mark.
fn begins_with_unit(text: &str) -> bool {
    let end = text
        .find(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | ':' | '!' | '?' | '…'))
        .unwrap_or(text.len());
    let word = text[..end].trim_end_matches('.');
    // A bracket that the unit did not open ends the sentence around it.
    let opened = word.matches('(').count();
    let word = match word.match_indices(')').nth(opened) {
        Some((at, _)) => &word[..at],
        None => word,
    };
    !word.is_empty()
        && word
            .split(['/', '·', '(', ')'])
            .filter(|part| !part.is_empty())
            .all(|part| UNITS.contains(&part))
        && word.contains(|c: char| !matches!(c, '/' | '·' | '(' | ')'))
}

#[cfg(test)]
mod tests {
    use super::bound;

    #[test]
    fn numbers_stay_with_what_belongs_to_them() {
        for (text, joined) in [
            (
                "1.1346 ± 0.0018 g/mL, at 20 °C.",
                "1.1346~±~0.0018_g/mL, at 20_°C.",
            ),
            ("(1.5 ± 0.01) × 10² g/L", "(1.5~±~0.01)~×~10²_g/L"),
            (
                "a slope of 0.0078 (g/mL)/% in it",
                "a slope of 0.0078_(g/mL)/% in it",
            ),
            ("−1.5 × 10⁻⁸ g/mL", "−1.5~×~10⁻⁸_g/mL"),
            ("(about 0.5 mL) was", "(about 0.5_mL) was"),
            ("100 % of 3 g; 60 °F)", "100_% of 3_g; 60_°F)"),
            (" = 2.20, coverage", "~=~2.20, coverage"),
            ("4 × 20.00 mL", "4~×~20.00_mL"),
            ("\u{b1}0.002 g", "±0.002_g"),
        ] {
            let seen = bound(text).replace('\u{a0}', "~").replace('\u{202f}', "_");
            assert_eq!(seen, joined);
        }
    }

    #[test]
    fn other_words_after_numbers_are_left_alone() {
        for text in [
            "3 grams of salt",
            "Section 4 / 5",
            "A4 g",
            "bath 3 and 4",
            "2 of 4 solutions",
            "a = b",
            "10 mLs",
        ] {
            assert_eq!(bound(text), text);
        }
    }
}
