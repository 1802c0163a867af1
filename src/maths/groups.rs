//! Digits in groups of three, counted from the decimal point (ISO 80000-1:2022, 7.3.1), for numbers with more than four
//! digits on one side of it. Without a point they may be no quantity: a year, the number of a standard.

use std::ops::Range;

/// A number with more digits on one side of its point than this is grouped.
pub const MOST: usize = 4;

/// Returns the places in a text at which a gap parts groups of digits, in rising order, bytes: in numbers with more
/// digits than `most` on a side.
pub fn gaps(text: &str, most: usize) -> Vec<usize> {
    let mut found = Vec::new();
    for (point, _) in text.match_indices('.') {
        let (whole, fraction) = around(text, point);
        let joined = |c: char| c.is_alphanumeric() || c == '.';
        let alone =
            !text[..whole.start].ends_with(joined) && !text[fraction.end..].starts_with(joined);
        if alone && !whole.is_empty() && whole.len().max(fraction.len()) > most {
            found.extend(of_whole(whole));
            found.extend(of_fraction(fraction));
        }
    }
    found
}

/// Returns the gaps in digits before a point.
pub fn of_whole(digits: Range<usize>) -> impl Iterator<Item = usize> {
    let end = digits.end;
    digits
        .skip(1)
        .filter(move |at| (end - at).is_multiple_of(3))
}

/// Returns the gaps in digits behind a point.
pub fn of_fraction(digits: Range<usize>) -> impl Iterator<Item = usize> {
    let start = digits.start;
    digits
        .skip(1)
        .filter(move |at| (at - start).is_multiple_of(3))
}

/// The digits next to a point, on both sides.
fn around(text: &str, point: usize) -> (Range<usize>, Range<usize>) {
    let digit = |byte: &&u8| byte.is_ascii_digit();
    let bytes = text.as_bytes();
    let whole = bytes[..point].iter().rev().take_while(digit).count();
    let fraction = bytes[point + 1..].iter().take_while(digit).count();
    (point - whole..point, point + 1..point + 1 + fraction)
}

#[cfg(test)]
mod tests {
    use super::{MOST, gaps};

    #[test]
    fn long_decimals_are_grouped_from_their_point() {
        for (text, grouped) in [
            ("0.000018134", "0.000 018 134"),
            ("(−12345.6789)", "(−12 345.678 9)"),
            ("0.9979", "0.9979"),
            ("0.00086 g/mL", "0.000 86 g/mL"),
            ("ISO 28037:2010", "ISO 28037:2010"),
            ("1.0.00012", "1.0.00012"),
            ("10.10215/ab", "10.102 15/ab"),
            ("v0.12345", "v0.12345"),
            (".12345", ".12345"),
            ("end.", "end."),
        ] {
            let mut shown = text.to_owned();
            for at in gaps(text, MOST).into_iter().rev() {
                shown.insert(at, ' ');
            }
            assert_eq!(shown, grouped, "{text}");
        }
    }
}
