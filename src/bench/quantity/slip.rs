//! What may have been meant by a number that was written.

use super::{Quantity, Written};

/// A slip of the pen or the eye in writing a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NumberSlip {
    /// Two neighbouring digits exchanged.
    DigitsTransposed,
    /// The decimal point one place off, or not written.
    PointMoved,
    /// One whole unit too many or too few.
    WholeUnit,
    /// One digit taken for another.
    DigitMisread,
}

impl Quantity {
    /// Returns every quantity that a single slip would have turned into this one, with the slip, likelier kinds first.
    /// Numbers that nobody writes, such as 08.12, are left out.
    pub fn suggest(&self) -> Vec<(NumberSlip, Self)> {
        find_slips(self)
    }

    /// Returns the same quantity with another number in the same unit; `None` if the text is no number, or zero.
    pub fn with_number(&self, text: &str) -> Option<Self> {
        let number = Written::parse(text).ok().filter(|n| n.value != 0.0)?;
        let unit = self.unit;
        Some(Self {
            value: (number.value + unit.offset) * unit.factor,
            number,
            unit,
            standard_uncertainty: self.standard_uncertainty,
        })
    }

    /// Returns its number and unit, as written.
    pub fn as_written(&self) -> String {
        format!("{} {}", self.number.text, self.unit.symbol)
    }
}

fn find_slips(quantity: &Quantity) -> Vec<(NumberSlip, Quantity)> {
    let text = quantity.number.text.as_str();
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    if unsigned.contains(['e', 'E']) {
        return Vec::new();
    }
    let sign = &text[..text.len() - unsigned.len()];
    let digits: Vec<u8> = unsigned.bytes().filter(u8::is_ascii_digit).collect();
    let whole = unsigned.find('.').unwrap_or(unsigned.len());
    let mut all: Vec<(NumberSlip, Quantity)> = Vec::new();
    let mut add = |kind: NumberSlip, digits: &[u8], whole: usize| {
        let new = |text: &String| all.iter().all(|(_, tried)| tried.number.text != *text);
        let text = number(sign, digits, whole).filter(new);
        let other = text.and_then(|text| quantity.with_number(&text));
        let differs = |other: &Quantity| other.value.to_bits() != quantity.value.to_bits();
        all.extend(other.filter(differs).map(|other| (kind, other)));
    };
    for place in 1..digits.len() {
        let mut changed = digits.clone();
        changed.swap(place - 1, place);
        add(NumberSlip::DigitsTransposed, &changed, whole);
    }
    // A missing point may have stood anywhere.
    let least = if unsigned.contains('.') {
        whole.saturating_sub(1).max(1)
    } else {
        1
    };
    for whole in (least..whole).rev() {
        add(NumberSlip::PointMoved, &digits, whole);
    }
    let mut longer = digits.clone();
    longer.resize(digits.len().max(whole + 1), b'0');
    add(NumberSlip::PointMoved, &longer, whole + 1);
    for up in [true, false] {
        if let Some(changed) = by_one(&digits[..whole], up) {
            let places = changed.len();
            let changed = [&changed, &digits[whole..]].concat();
            add(NumberSlip::WholeUnit, &changed, places);
        }
    }
    for place in 0..digits.len() {
        for digit in b'0'..=b'9' {
            let mut changed = digits.clone();
            changed[place] = digit;
            add(NumberSlip::DigitMisread, &changed, whole);
        }
    }
    all
}

/// A sign and digits with a point after so many of them; `None` if they begin as no number is written.
fn number(sign: &str, digits: &[u8], whole: usize) -> Option<String> {
    let (before, after) = digits.split_at_checked(whole)?;
    if before.is_empty() || (before.len() > 1 && before[0] == b'0') {
        return None;
    }
    let mut text = String::with_capacity(sign.len() + digits.len() + 1);
    text += sign;
    text += std::str::from_utf8(before).ok()?;
    if !after.is_empty() {
        text.push('.');
        text += std::str::from_utf8(after).ok()?;
    }
    Some(text)
}

/// Returns a whole number one greater or less, in its digits; none below zero.
fn by_one(digits: &[u8], up: bool) -> Option<Vec<u8>> {
    let text = std::str::from_utf8(digits).ok()?;
    let value: u128 = text.parse().ok()?;
    let changed = if up {
        value.checked_add(1)?
    } else {
        value.checked_sub(1)?
    };
    Some(changed.to_string().into_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::quantity::Unit;

    fn tried(text: &str) -> Vec<(NumberSlip, String)> {
        let quantity = Quantity::parse(text, &Unit::GRAM).expect("a mass");
        let all = find_slips(&quantity).into_iter();
        all.map(|(kind, other)| (kind, other.number.text)).collect()
    }

    #[test]
    fn likely_slips_are_tried_and_numbers_nobody_writes_are_not() {
        let all = tried("80.4 g");
        for (kind, text) in [
            (NumberSlip::PointMoved, "8.04"),
            (NumberSlip::PointMoved, "804"),
            (NumberSlip::DigitsTransposed, "84.0"),
            (NumberSlip::WholeUnit, "81.4"),
            (NumberSlip::WholeUnit, "79.4"),
            (NumberSlip::DigitMisread, "60.4"),
        ] {
            assert!(all.contains(&(kind, text.to_owned())), "{text} of {all:?}");
        }
        assert!(
            all.iter().all(|(_, text)| !text.starts_with("08")),
            "{all:?}"
        );
        let all = tried("8.012 g");
        for (kind, text) in [
            (NumberSlip::PointMoved, "80.12"),
            (NumberSlip::WholeUnit, "9.012"),
            (NumberSlip::DigitsTransposed, "8.102"),
        ] {
            assert!(all.contains(&(kind, text.to_owned())), "{text} of {all:?}");
        }
        let all = tried("41176 g");
        for text in ["4117.6", "411.76", "41.176", "4.1176"] {
            let slip = (NumberSlip::PointMoved, text.to_owned());
            assert!(all.contains(&slip), "{text} of {all:?}");
        }
        let carried = tried("39.904 g");
        assert!(
            carried.contains(&(NumberSlip::WholeUnit, "40.904".into())),
            "{carried:?}"
        );
    }

    #[test]
    fn each_number_is_tried_once() {
        let mut all: Vec<String> = tried("41.537 g")
            .into_iter()
            .map(|(_, text)| text)
            .collect();
        let count = all.len();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
