//! Numbers with commas: what is said of them, wherever they stand.

use super::vocabulary::Measure;
use crate::bench::quantity::{Quantity, commas_meant, why_no_comma};
use crate::problem::{Code, Problem};

/// Returns what a quantity whose number has commas may mean, the whole of it, without what would be refused here; and
/// the reason why it is not read.
pub(super) fn suggest(
    text: &str,
    measure: &'static Measure,
) -> Option<(Vec<String>, &'static str)> {
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.');
    let comma = text.find(',')?;
    let start = text[..comma].rfind(|c: char| !of_number(c));
    let start = start.map_or(0, |at| {
        at + text[at..].chars().next().map_or(1, char::len_utf8)
    });
    let end = text[comma..]
        .find(|c: char| !of_number(c))
        .map_or(text.len(), |at| comma + at);
    let number = &text[start..end];
    let fits = |candidate: &String| {
        let quantity = Quantity::parse(&replace_number(text, start, end, candidate), &measure.unit);
        quantity.is_ok_and(|quantity| measure.allows(quantity.value))
    };
    let mut numbers = commas_meant(number);
    numbers.retain(fits);
    let why = why_no_comma(number, &numbers);
    let numbers = numbers
        .iter()
        .map(|one| replace_number(text, start, end, one))
        .collect();
    Some((numbers, why))
}

fn replace_number(text: &str, start: usize, end: usize, number: &str) -> String {
    format!("{}{number}{}", &text[..start], &text[end..])
}

/// Returns a quantity that a comma has parted in two.
pub(super) fn refuse(name: &str, text: &str, measure: &'static Measure) -> Problem {
    let (numbers, why) =
        suggest(text, measure).unwrap_or((Vec::new(), "the decimal sign is a point"));
    let headline = format!("{name} contains a comma; {why}.");
    Code::DecimalComma
        .error(headline)
        .right(match numbers.as_slice() {
            [] => format!("a decimal number{}", measure.unless_written()),
            numbers => numbers.join(" or "),
        })
}
