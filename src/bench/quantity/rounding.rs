//! Numbers rounded for a reader, ties to the even digit.
//!
//! Rounding works on the shortest decimal that names a value, so that `0.125` is a tie and `2.675` is one too,
//! whatever its nearest binary fraction.

mod column;

pub use self::column::Column;

use super::exponent;
use crate::maths::superscript::raised;
use std::fmt;

/// Returns a probability in per cent as printed, never 0 or 100: `> 99.9 %`, `97 %`, `< 0.1 %`.
pub fn probability(p: f64) -> String {
    let percent = 100.0 * p;
    if percent > 99.9 {
        "> 99.9 %".into()
    } else if percent < 0.1 {
        "< 0.1 %".into()
    } else if (1.0..=99.0).contains(&percent) {
        format!("{percent:.0} %")
    } else {
        format!("{percent:.1} %")
    }
}

/// A value below this power of ten is written with a power of ten.
const SMALLEST_PLAIN_PLACE: i32 = -5;

/// A finite decimal number that can be rounded.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Decimal {
    negative: bool,
    /// Digits, the first one not zero; empty for zero.
    digits: Vec<u8>,
    /// Power of ten of the last digit.
    place: i32,
}

impl Decimal {
    /// Returns the shortest decimal that names `value`; `None` for infinities and NaN.
    fn from_f64(value: f64) -> Option<Self> {
        if !value.is_finite() {
            return None;
        }
        let text = format!("{value:e}");
        let (mantissa, power) = text.split_once('e')?;
        let digits: Vec<u8> = mantissa
            .bytes()
            .filter(u8::is_ascii_digit)
            .map(|b| b - b'0')
            .skip_while(|d| *d == 0)
            .collect();
        let decimals = mantissa
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len());
        let place = power.parse::<i32>().ok()? - exponent(decimals);
        Some(Self {
            negative: mantissa.starts_with('-') && !digits.is_empty(),
            digits,
            place,
        })
    }

    /// Power of ten of the first digit; of the last written one for zero.
    fn first_place(&self) -> i32 {
        self.place + (exponent(self.digits.len()) - 1).max(0)
    }

    /// Returns the number with its last digit at `place`: rounded half to even, or with zeros added.
    fn at(mut self, place: i32) -> Self {
        if place <= self.place {
            if !self.digits.is_empty() {
                self.digits
                    .resize(self.digits.len() + self.place.abs_diff(place) as usize, 0);
            }
            self.place = place;
            return self;
        }
        let dropped = place.abs_diff(self.place) as usize;
        let kept = self.digits.len().saturating_sub(dropped);
        let tail = self.digits.split_off(kept);
        // With more places dropped than there are digits, the tail begins with zeros.
        let leads = tail.len() == dropped;
        let first = if leads {
            tail.first().copied().unwrap_or(0)
        } else {
            0
        };
        let beyond = tail.iter().skip(usize::from(leads)).any(|d| *d != 0);
        let odd = self.digits.last().is_some_and(|d| d % 2 == 1);
        self.place = place;
        if first > 5 || (first == 5 && (beyond || odd)) {
            self.increment();
        }
        self.negative &= !self.digits.is_empty();
        self
    }

    fn increment(&mut self) {
        for digit in self.digits.iter_mut().rev() {
            if *digit < 9 {
                *digit += 1;
                return;
            }
            *digit = 0;
        }
        self.digits.insert(0, 1);
    }

    /// Returns the nearest number that a computer knows.
    fn approximate(&self) -> f64 {
        let digits: String = self.digits.iter().map(|d| char::from(b'0' + d)).collect();
        format!("{digits:0>1}e{}", self.place)
            .parse()
            .unwrap_or(f64::NAN)
    }

    /// Returns the number with `figures` significant figures.
    fn significant(self, figures: u32) -> Self {
        let figures = i32::try_from(figures.max(1)).unwrap_or(i32::MAX / 2);
        if self.digits.is_empty() {
            return self.at(1 - figures);
        }
        let first = self.first_place();
        let rounded = self.at(first + 1 - figures);
        // A carry (0.0996 to two figures) makes one digit too many, and it is a zero.
        if rounded.first_place() > first {
            rounded.at(first + 2 - figures)
        } else {
            rounded
        }
    }

    /// In plain digits, multiplied by ten to the power −`shift`; with a true minus sign.
    fn plain(&self, shift: i32) -> String {
        let place = self.place - shift;
        let decimals = (-place).max(0) as usize;
        let mut digits: String = self.digits.iter().map(|d| char::from(b'0' + d)).collect();
        if place > 0 && !digits.is_empty() {
            digits.extend(std::iter::repeat_n('0', place as usize));
        }
        let mut text = format!("{digits:0>width$}", width = decimals + 1);
        if decimals > 0 {
            text.insert(text.len() - decimals, '.');
        }
        if self.negative {
            text.insert(0, MINUS);
        }
        text
    }
}

/// The minus sign U+2212.
const MINUS: char = '\u{2212}';

/// Returns the power of ten to be split off a number with first and last digits at these places; `None` if plain
/// digits do.
fn power_of_ten(first: i32, last: i32) -> Option<i32> {
    (last > 0 || first < SMALLEST_PLAIN_PLACE).then_some(first)
}

/// `× 10` with a raised exponent, e.g. ` × 10⁻³`.
fn times_ten_to(exponent: i32) -> String {
    format!(" × 10{}", raised(&exponent.to_string()))
}

/// Returns a decimal number as it is printed: with a true minus, and with a power of ten for its exponent, e.g. `−1.2 ×
/// 10⁻³` for
/// `-1.2e-3`.
pub fn printed(decimal: &str) -> String {
    let (digits, exponent) = match decimal.split_once(['e', 'E']) {
        Some((digits, exponent)) => (digits, exponent.parse().ok()),
        None => (decimal, None),
    };
    digits.replace('-', "−") + &exponent.map(times_ten_to).unwrap_or_default()
}

/// Returns a value to `figures` significant figures, e.g. `0.9028`, `−1.2 × 10³`; `None` if it is not finite.
///
/// A power of ten is written where plain digits would need zeros that are not significant, or many leading ones. Zero has
/// no significant figure and is `0`.
pub fn significant(value: f64, figures: u32) -> Option<String> {
    Some(Rounded::significant(value, figures)?.to_string())
}

/// Returns a value to so many significant figures, without the zeros that end a decimal; `None` if it is not finite.
pub fn shortest(value: f64, figures: u32) -> Option<String> {
    Some(without_last_zeros(&significant(value, figures)?).to_owned())
}

/// Returns a decimal without the zeros that end it, nor the point that they leave.
pub fn without_last_zeros(decimal: &str) -> &str {
    if decimal.contains('.') && !decimal.contains('×') {
        decimal.trim_end_matches('0').trim_end_matches('.')
    } else {
        decimal
    }
}

/// Returns a value with its last digit at the power of ten `place`, e.g. `1.1286` for −4; `None` if it is not finite.
pub fn to_place(value: f64, place: i32) -> Option<String> {
    Some(Rounded::to_place(value, place)?.value())
}

/// Returns a decimal number in Rust's notation with its point so many places further right, zeros where it has no digit.
pub fn shift_point(decimal: String, places: i32) -> String {
    if places == 0 {
        return decimal;
    }
    if let Some((digits, exponent)) = decimal.split_once(['e', 'E']) {
        return match exponent.parse::<i32>().unwrap_or(0) + places {
            0 => digits.to_owned(),
            exponent => format!("{digits}e{exponent}"),
        };
    }
    let decimals = decimal.split_once('.').map_or("", |(_, decimals)| decimals);
    let digits = decimal.bytes().filter(u8::is_ascii_digit);
    let shifted = Decimal {
        negative: decimal.starts_with('-'),
        digits: digits.map(|b| b - b'0').skip_while(|d| *d == 0).collect(),
        place: places - exponent(decimals.len()),
    };
    shifted.plain(0).replace(MINUS, "-")
}

/// Returns a value to the hundredth with its sign, e.g. `+0.12`; `0.00` has none.
pub fn signed(value: f64) -> String {
    let text = to_place(value, -2).unwrap_or_else(|| value.to_string());
    if value > 0.0 && text != "0.00" {
        format!("+{text}")
    } else {
        text
    }
}

/// Power of ten of the first digit of a value rounded to the power of ten `last`; `None` if that leaves nothing, and
/// where the value is not finite.
pub fn first_place(value: f64, last: i32) -> Option<i32> {
    let rounded = Decimal::from_f64(value)?.at(within_range(last));
    (!rounded.digits.is_empty()).then(|| rounded.first_place())
}

/// Beyond the range of f64 there is nothing to round to.
fn within_range(place: i32) -> i32 {
    place.clamp(-400, 400)
}

/// An uncertainty may become smaller by at most this share when it is rounded; otherwise it is rounded up
/// (EA-4/02 M:2013, 6.3).
const MOST_ROUNDED_OFF: f64 = 0.05;

/// A value and its uncertainty, rounded together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rounded {
    value: Decimal,
    /// `None` if it is at most half a unit of the value's last place and therefore not shown.
    uncertainty: Option<Decimal>,
}

impl Rounded {
    /// Rounds an uncertainty to `figures` significant figures and the value to the same place (JCGM 100:2008, 7.2.6
    /// advises two figures at most). With a zero uncertainty the value keeps all its digits.
    ///
    /// `None` if either is not finite or the uncertainty is negative.
    pub fn new(value: f64, uncertainty: f64, figures: u32) -> Option<Self> {
        let value = Decimal::from_f64(value)?;
        let uncertainty = Decimal::from_f64(uncertainty).filter(|u| !u.negative)?;
        if uncertainty.digits.is_empty() {
            return Some(Self {
                value,
                uncertainty: Some(uncertainty),
            });
        }
        let uncertainty = uncertainty.significant(figures);
        Some(Self {
            value: value.at(uncertainty.place),
            uncertainty: Some(uncertainty),
        })
    }

    /// Rounds a value whose last significant digit is at the power of ten `place`, and its uncertainty to the same place.
    ///
    /// An uncertainty of at most half a unit of that place is not shown; any other is rounded up if rounding to the nearest
    /// digit makes it smaller by more than 5 % (EA-4/02 M:2013, 6.3). So the interval printed always includes the
    /// unrounded value. If no digit of value or uncertainty would remain, or none of a value that exceeds its uncertainty,
    /// the first digit of the larger is kept (common practice, no source).
    ///
    /// Returns `None` if either is not finite or the uncertainty is negative.
    pub fn at(value: f64, uncertainty: f64, place: i32) -> Option<Self> {
        let exceeds = value.abs() > uncertainty;
        let size = Decimal::from_f64(uncertainty).filter(|u| !u.negative)?;
        let value = Decimal::from_f64(value)?;
        let mut place = within_range(place);
        if value.clone().at(place).digits.is_empty()
            && (exceeds || size.clone().at(place).digits.is_empty())
        {
            let larger = if exceeds { &value } else { &size };
            if !larger.digits.is_empty() {
                place = larger.clone().significant(1).place;
            }
        }
        let mut rounded = size.at(place);
        let least = uncertainty * (1.0 - MOST_ROUNDED_OFF);
        if !rounded.digits.is_empty() && rounded.approximate() < least {
            rounded.increment();
        }
        Some(Self {
            value: value.at(place),
            uncertainty: Some(rounded).filter(|u| !u.digits.is_empty()),
        })
    }

    /// Rounds a value without uncertainty to the power of ten `place`; `None` if it is not finite.
    pub fn to_place(value: f64, place: i32) -> Option<Self> {
        Some(Self {
            value: Decimal::from_f64(value)?.at(within_range(place)),
            uncertainty: None,
        })
    }

    /// Returns the same with the point so many places further right.
    #[must_use]
    pub fn shifted(mut self, places: i32) -> Self {
        for number in std::iter::once(&mut self.value).chain(&mut self.uncertainty) {
            number.place += places;
        }
        self
    }

    /// Power of ten of the last digit shown.
    pub fn last_place(&self) -> i32 {
        self.value.place
    }

    /// Returns the value's digits alone, e.g. `1.1286`; whole however large.
    pub fn value(&self) -> String {
        self.value.plain(0)
    }

    /// Returns the uncertainty's digits alone, e.g. `0.0021`; `None` if it is not shown.
    pub fn uncertainty(&self) -> Option<String> {
        Some(self.uncertainty.as_ref()?.plain(0))
    }

    /// `1.1286 ± 0.0021`, divided by ten to the power `shift`.
    fn digits(&self, shift: i32) -> String {
        // A zero alone has no place.
        let bare = self.uncertainty.is_none() && self.value.digits.is_empty();
        let value = self.value.plain(if bare { 0 } else { shift });
        match &self.uncertainty {
            None => value,
            Some(uncertainty) => format!("{value} ± {}", uncertainty.plain(shift)),
        }
    }

    fn exponent(&self) -> Option<i32> {
        let first = std::iter::once(&self.value)
            .chain(&self.uncertainty)
            .filter(|d| !d.digits.is_empty())
            .map(Decimal::first_place)
            .max()?;
        power_of_ten(first, self.value.place)
    }
}

/// `1.1286 ± 0.0021`, `(1.23 ± 0.12) × 10⁵` if plain digits would need zeros that are not significant, or the value alone
/// if its uncertainty is not shown.
impl fmt::Display for Rounded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = self.digits(self.exponent().unwrap_or(0));
        match self.exponent().map(times_ten_to) {
            None => f.write_str(&digits),
            Some(power) if self.uncertainty.is_none() => write!(f, "{digits}{power}"),
            Some(power) => write!(f, "({digits}){power}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ties_go_to_the_even_digit_of_the_decimal() {
        for (value, place, text) in [
            (2.675, -2, "2.68"),
            (2.665, -2, "2.66"),
            (0.125, -2, "0.12"),
            (0.5, 0, "0"),
            (1.5, 0, "2"),
            (-0.5, 0, "0"),
            (-0.04, -1, "0.0"),
            (9.96, -1, "10.0"),
            (0.04, 0, "0"),
            (0.6, 1, "0"),
            (60.0, 2, "100"),
            (5.0, 1, "0"),
            (0.0, -3, "0.000"),
            (-1.0, -2, "\u{2212}1.00"),
            (1200.0, 0, "1200"),
        ] {
            assert_eq!(
                to_place(value, place).as_deref(),
                Some(text),
                "{value} at {place}"
            );
        }
    }

    #[test]
    fn figures_are_significant() {
        for (value, figures, text) in [
            (0.0996, 2, "0.10"),
            (1234.0, 2, "1.2 × 10³"),
            (-1250.0, 2, "\u{2212}1.2 × 10³"),
            (1.5e-7, 3, "1.50 × 10⁻⁷"),
            (0.0, 3, "0"),
            (99.96, 3, "100"),
        ] {
            assert_eq!(
                significant(value, figures).as_deref(),
                Some(text),
                "{value} to {figures}"
            );
        }
        assert_eq!(significant(f64::NAN, 2), None, "not a number");
    }

    #[test]
    fn value_and_uncertainty_end_at_one_place() {
        for (value, uncertainty, text) in [
            (1.128_57, 0.002_13, "1.1286 ± 0.0021"),
            (-1.128_57, 0.002_13, "\u{2212}1.1286 ± 0.0021"),
            (1.0, 0.0996, "1.00 ± 0.10"),
            (123_456.0, 2813.0, "(1.235 ± 0.028) × 10⁵"),
            (0.000_000_2, 0.000_000_012, "(2.00 ± 0.12) × 10⁻⁷"),
            (0.000_01, 0.12, "0.00 ± 0.12"),
            (3.25, 0.0, "3.25 ± 0"),
        ] {
            assert_eq!(
                Rounded::new(value, uncertainty, 2)
                    .map(|r| r.to_string())
                    .as_deref(),
                Some(text),
                "{value} ± {uncertainty}"
            );
        }
        let at = |u| Rounded::at(13.614, u, -1).map(|r| r.to_string());
        assert_eq!(at(0.21).as_deref(), Some("13.6 ± 0.2"));
        assert_eq!(at(0.23).as_deref(), Some("13.6 ± 0.3"), "up from 0.23");
        assert_eq!(at(0.042).as_deref(), Some("13.6"), "below half a unit");
        assert_eq!(Rounded::new(1.0, f64::INFINITY, 2), None, "not finite");
        assert_eq!(Rounded::new(1.0, -1.0, 2), None, "negative");
    }

    #[test]
    fn points_of_decimals_move() {
        for (decimal, places, text) in [
            ("1.13060", 3, "1130.60"),
            ("-0.0018", 3, "-1.8"),
            ("8.0", 3, "8000"),
            ("0.000", 3, "0"),
            ("1071.2", -3, "1.0712"),
            ("1.2e-3", 3, "1.2"),
            ("1.2e-5", 3, "1.2e-2"),
            ("1.10", 0, "1.10"),
        ] {
            assert_eq!(shift_point(decimal.into(), places), text, "{decimal}");
        }
    }

    /// Returns the ends of a printed interval; those of half a unit of the last place for a value alone.
    fn interval(printed: &str) -> (f64, f64) {
        let (mantissas, power) = match printed.split_once(" × 10") {
            Some((mantissas, raised)) => {
                let digits = "⁰¹²³⁴⁵⁶⁷⁸⁹";
                let exponent: String = raised
                    .chars()
                    .map(|c| match digits.chars().position(|d| d == c) {
                        Some(digit) => char::from(b'0' + digit as u8),
                        None => '-',
                    })
                    .collect();
                (mantissas.trim_matches(['(', ')']), exponent)
            }
            None => (printed, "0".to_owned()),
        };
        let number = |text: &str| -> f64 {
            format!("{}e{power}", text.replace(MINUS, "-"))
                .parse()
                .unwrap()
        };
        let half_unit = |text: &str| {
            let decimals = text.split_once('.').map_or(0, |(_, rest)| rest.len());
            number(&format!("0.{}5", "0".repeat(decimals)))
        };
        let (value, half) = match mantissas.split_once(" ± ") {
            Some((value, uncertainty)) => {
                let decimals = |text: &str| text.split_once('.').map_or(0, |(_, rest)| rest.len());
                assert_eq!(
                    decimals(value),
                    decimals(uncertainty),
                    "{printed}: one place"
                );
                (value, number(uncertainty))
            }
            None => (mantissas, half_unit(mantissas)),
        };
        (number(value) - half, number(value) + half)
    }

    #[test]
    fn a_printed_interval_includes_the_unrounded_value() {
        // A linear congruential generator (Knuth's MMIX constants): the same numbers each time.
        let mut state = 7u64;
        let mut random = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        for _ in 0..20_000 {
            let value = (random() - 0.5) * 10f64.powf(8.0 * random() - 4.0);
            let uncertainty = 10f64.powf(8.0 * random() - 6.0);
            let place = (8.0 * random()) as i32 - 5;
            let printed = Rounded::at(value, uncertainty, place).unwrap().to_string();
            let (low, high) = interval(&printed);
            let margin = 1e-9 * (value.abs() + uncertainty);
            assert!(
                low - margin <= value && value <= high + margin,
                "{value} ± {uncertainty} at {place}: {printed}"
            );
            let printed = Rounded::new(value, uncertainty, 2).unwrap().to_string();
            let (low, high) = interval(&printed);
            // Two digits of the uncertainty: neither end moves by more than a twentieth of it, and half a unit.
            for (end, meant) in [(low, value - uncertainty), (high, value + uncertainty)] {
                assert!(
                    (end - meant).abs() <= 0.1 * uncertainty + margin,
                    "{value} ± {uncertainty}: {printed}"
                );
            }
        }
    }

    #[test]
    fn a_value_keeps_a_digit() {
        let at = |value, uncertainty, place| {
            let rounded = Rounded::at(value, uncertainty, place);
            rounded.map(|r| r.to_string()).unwrap()
        };
        assert_eq!(at(1.287, 0.057, 0), "1", "the uncertainty is not shown");
        assert_eq!(at(4.8, 1.2, 1), "5 ± 2", "it exceeds its uncertainty");
        assert_eq!(
            at(102.3, 2.0, 2),
            "1 × 10²",
            "no zeros that are not significant"
        );
        assert_eq!(
            at(0.000_1, 0.001_6, -3),
            "0.000 ± 0.002",
            "a difference of nothing"
        );
        assert_eq!(
            at(0.000_1, 0.000_3, -2),
            "0.0001 ± 0.0003",
            "both are small"
        );
    }
}
