//! Quantities as people write them: `12.340 g`, `12.340 ± 0.002 g`, `12.34(2) g`.

use super::written::to_ascii;
use super::{Dimension, NotANumber, Quantity, Unit, Written};

/// In the unit that calculations are made in, a value, its last digit and its uncertainty are no larger than this.
const LARGEST: f64 = 1e15;
/// Nor are they, but for a value of zero, smaller than this.
const SMALLEST: f64 = 1e-30;

/// Why a text is not the quantity wanted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotAQuantity {
    /// Its number is not one.
    #[error(transparent)]
    Number(NotANumber),
    /// Its stated uncertainty is not one.
    #[error("its uncertainty: {0}")]
    Uncertainty(NotANumber),
    /// Its unit is not known.
    #[error("{unit} is not a unit of {wanted} that is known here")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What was to be measured.
        wanted: Dimension,
    },
    /// Its unit measures something else.
    #[error("{} where a {wanted} belongs", unit.symbol)]
    WrongDimension {
        /// The unit written.
        unit: &'static Unit,
        /// What was to be measured.
        wanted: Dimension,
    },
}

impl Quantity {
    /// Reads a quantity of the dimension of `default`, the unit meant where none is written.
    ///
    /// A standard uncertainty may be stated as `12.340 ± 0.002 g`, `12.340 +/- 0.002 g`, `(12.340 ± 0.002) g`, with a
    /// unit of its own (`12.340 g ± 2 mg`), or in the last digits as `12.34(2) g` (JCGM 100:2008, 7.2.2).
    ///
    /// # Errors
    /// What is wrong with the number, the uncertainty or the unit.
    pub fn parse(text: &str, default: &'static Unit) -> Result<Self, NotAQuantity> {
        let text: String = text.trim().chars().map(to_ascii).collect();
        let Some((left, right)) = ["±", "+/-", "+-"]
            .iter()
            .find_map(|sign| text.split_once(sign))
        else {
            return Self::without_sign(&text, default);
        };
        let (left, right, outer) = match (left.trim().strip_prefix('('), right.split_once(')')) {
            (Some(left), Some((right, unit))) => (left, right, unit.trim()),
            _ => (left, right, ""),
        };
        let value = Term::split(left).map_err(NotAQuantity::Number)?;
        let spread = Term::split(right).map_err(NotAQuantity::Uncertainty)?;
        if value.last_digits.is_some() || spread.last_digits.is_some() {
            return Err(NotAQuantity::Uncertainty(NotANumber::because(
                "it is stated twice",
            )));
        }
        let last = find_unit(first_of([outer, spread.unit, value.unit]), default)?;
        let unit = find_unit(first_of([value.unit, last.symbol]), default)?;
        let number = Written::parse(value.number).map_err(NotAQuantity::Number)?;
        let stated = Written::parse(spread.number).map_err(NotAQuantity::Uncertainty)?;
        Self::put_together(number, unit, Some(stated.value * last.factor))
    }

    fn without_sign(text: &str, default: &'static Unit) -> Result<Self, NotAQuantity> {
        let term = Term::split(text).map_err(NotAQuantity::Number)?;
        let unit = find_unit(term.unit, default)?;
        let number = Written::parse(term.number).map_err(NotAQuantity::Number)?;
        let stated = match term.last_digits {
            None => None,
            Some(digits) => {
                let digits = Written::parse(digits).map_err(NotAQuantity::Uncertainty)?;
                if digits.last_place != 0 {
                    return Err(NotAQuantity::Uncertainty(NotANumber::because(
                        "last digits are written without a point",
                    )));
                }
                Some(digits.value * 10f64.powi(number.last_place) * unit.factor)
            }
        };
        Self::put_together(number, unit, stated)
    }

    fn put_together(
        number: Written,
        unit: &'static Unit,
        standard_uncertainty: Option<f64>,
    ) -> Result<Self, NotAQuantity> {
        if standard_uncertainty.is_some_and(|u| u <= 0.0) {
            return Err(NotAQuantity::Uncertainty(NotANumber::because(
                "it must be greater than zero",
            )));
        }
        let stated = standard_uncertainty.map_or(Ok(()), within_reach);
        stated.map_err(NotAQuantity::Uncertainty)?;
        let value = unit.to_base(number.value);
        let last_digit = unit.factor * 10f64.powi(number.last_place);
        within_reach(value)
            .and_then(|()| within_reach(last_digit))
            .map_err(NotAQuantity::Number)?;
        Ok(Self {
            number,
            unit,
            value,
            standard_uncertainty,
        })
    }
}

/// Refuses what no instrument reads: calculations with it would leave the range of `f64`, and no line holds its digits.
fn within_reach(value: f64) -> Result<(), NotANumber> {
    if value.abs() > LARGEST {
        Err(NotANumber::because("it is too large"))
    } else if value != 0.0 && value.abs() < SMALLEST {
        Err(NotANumber::because("it is too close to zero"))
    } else {
        Ok(())
    }
}

fn first_of<const N: usize>(units: [&str; N]) -> &str {
    units
        .into_iter()
        .find(|unit| !unit.is_empty())
        .unwrap_or("")
}

fn find_unit(symbol: &str, default: &'static Unit) -> Result<&'static Unit, NotAQuantity> {
    if symbol.is_empty() {
        return Ok(default);
    }
    let wanted = default.dimension;
    match Unit::from_symbol(symbol, wanted) {
        None => Err(NotAQuantity::UnknownUnit {
            unit: symbol.to_owned(),
            wanted,
        }),
        Some(unit) if unit.dimension != wanted => {
            Err(NotAQuantity::WrongDimension { unit, wanted })
        }
        Some(unit) => Ok(unit),
    }
}

/// A number with what follows it, taken apart but not yet read.
struct Term<'t> {
    number: &'t str,
    last_digits: Option<&'t str>,
    unit: &'t str,
}

impl<'t> Term<'t> {
    fn split(text: &'t str) -> Result<Self, NotANumber> {
        let text = text.trim();
        let (number, rest) = text.split_at(number_end(text));
        let (last_digits, unit) = match rest
            .strip_prefix('(')
            .and_then(|inside| inside.split_once(')'))
        {
            Some((digits, unit)) => (Some(digits), unit.trim()),
            None => (None, rest.trim()),
        };
        if unit.starts_with(|c: char| c.is_ascii_digit()) {
            return Err(NotANumber::because("it has white space among its digits"));
        }
        if number.is_empty() && !unit.is_empty() {
            return Err(NotANumber::because("it does not begin with a number"));
        }
        Ok(Self {
            number,
            last_digits,
            unit,
        })
    }
}

/// Returns where the number at the start of a text ends, in bytes. A word in its place counts as the number, so that it
/// is told what is wrong with it.
fn number_end(text: &str) -> usize {
    let body = text.trim_start_matches(['+', '-']);
    if ["inf", ".inf", "nan", ".nan", "0x", "0o", "0b"]
        .iter()
        .any(|word| starts_with_ignoring_case(body, word))
    {
        return text
            .find(|c: char| c.is_whitespace() || c == '(')
            .unwrap_or(text.len());
    }
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let part = match c {
            '0'..='9' | '.' | ',' | '_' => true,
            '+' | '-' => at == 0 || matches!(before, 'e' | 'E' | '+' | '-'),
            'e' | 'E' => {
                before.is_ascii_digit()
                    && text[at + 1..].starts_with(|next: char| {
                        next.is_ascii_digit() || matches!(next, '+' | '-')
                    })
            }
            _ => false,
        };
        if !part {
            return at;
        }
        before = c;
    }
    text.len()
}

fn starts_with_ignoring_case(text: &str, start: &str) -> bool {
    text.get(..start.len())
        .is_some_and(|head| head.eq_ignore_ascii_case(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mass(text: &str) -> Result<Quantity, NotAQuantity> {
        Quantity::parse(text, &Unit::GRAM)
    }

    #[test]
    fn forms_are_read() {
        for (text, digits, value, stated) in [
            ("12.340 g", "12.340", 12.34, None),
            ("12.340", "12.340", 12.34, None),
            ("12.340g", "12.340", 12.34, None),
            ("12340 mg", "12340", 12.34, None),
            ("1.234e1 g", "1.234e1", 12.34, None),
            ("12.340 ± 0.002 g", "12.340", 12.34, Some(0.002)),
            ("12.340 +/- 0.002", "12.340", 12.34, Some(0.002)),
            ("12.340 g ± 2 mg", "12.340", 12.34, Some(0.002)),
            ("12340 ± 2 mg", "12340", 12.34, Some(0.002)),
            ("(12.340 ± 0.002) g", "12.340", 12.34, Some(0.002)),
            ("12.34(2) g", "12.34", 12.34, Some(0.02)),
            ("\u{2212}12.34", "-12.34", -12.34, None),
        ] {
            let read = mass(text).unwrap();
            assert_eq!(read.number.text, digits, "{text}");
            assert!((read.value - value).abs() < 1e-12, "{text}: {}", read.value);
            match (read.standard_uncertainty, stated) {
                (None, None) => {}
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-15, "{text}: {a}"),
                other => panic!("{text}: {other:?}"),
            }
        }
    }

    #[test]
    fn units_are_converted_with_their_uncertainty() {
        for (text, default, value, stated) in [
            ("10 mL", &Unit::MILLILITRE, 10.0, None),
            ("10 ml", &Unit::MILLILITRE, 10.0, None),
            ("0.25 L", &Unit::MILLILITRE, 250.0, None),
            ("0.25 l", &Unit::MILLILITRE, 250.0, None),
            ("500 \u{b5}L", &Unit::MILLILITRE, 0.5, None),
            ("500 \u{3bc}L", &Unit::MILLILITRE, 0.5, None),
            ("500 ± 2 uL", &Unit::MILLILITRE, 0.5, Some(0.002)),
            ("10.0 cm³", &Unit::MILLILITRE, 10.0, None),
            ("0.0125 kg", &Unit::GRAM, 12.5, None),
            ("12.5 ± 0.000002 kg", &Unit::GRAM, 12_500.0, Some(0.002)),
            ("20.6 °C", &Unit::CELSIUS, 20.6, None),
            ("20.6 C", &Unit::CELSIUS, 20.6, None),
            ("20.6°C ± 0.2", &Unit::CELSIUS, 20.6, Some(0.2)),
            // The zero of the scale moves the reading, never its uncertainty.
            ("68.0 °F", &Unit::CELSIUS, 20.0, None),
            ("68.0 ± 0.9 °F", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("68.0(9) °F", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("(68.0 ± 0.9) °F", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("20.0 °C ± 0.9 °F", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("68.0 °F ± 0.5 °C", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("68.0 °F ± 0.5 K", &Unit::CELSIUS, 20.0, Some(0.5)),
            ("293.15 ± 0.1 K", &Unit::CELSIUS, 20.0, Some(0.1)),
            ("0.9 °F", &Unit::CELSIUS_STEP, 0.5, None),
            ("101.2 kPa", &Unit::HECTOPASCAL, 1012.0, None),
            (
                "750 ± 3 mmHg",
                &Unit::HECTOPASCAL,
                999.917_905_612_5,
                Some(3.999_671_622_45),
            ),
            ("48 ± 2 %", &Unit::ONE, 0.48, Some(0.02)),
        ] {
            let read = Quantity::parse(text, default).unwrap_or_else(|why| panic!("{text}: {why}"));
            assert!((read.value - value).abs() < 1e-9, "{text}: {}", read.value);
            match (read.standard_uncertainty, stated) {
                (None, None) => {}
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-9, "{text}: {a}"),
                other => panic!("{text}: {other:?}"),
            }
        }
    }

    #[test]
    fn other_characters_for_the_same_signs_are_read() {
        let plain = mass("-12.340 ± 0.002 g").unwrap();
        for text in [
            "\u{2212}12.340 ± 0.002 g",
            "-12.340\u{a0}±\u{202f}0.002\u{2009}g",
            "\u{a0}-12.340 +/- 0.002 g\u{202f}",
            "-12.340 +- 0.002 g",
            "-12.340+/-0.002g",
            "-12.340 \u{ff0b}\u{2212} 0.002 g",
            "\u{ff0d}\u{ff11}\u{ff12}\u{ff0e}\u{ff13}\u{ff14}\u{ff10} ± 0.002 g",
        ] {
            assert_eq!(mass(text).unwrap(), plain, "{text:?}");
        }
        let small = mass("5.00e\u{2212}1 g").unwrap();
        assert_eq!(small.number.last_place, -3, "a power of ten");
        assert_eq!(small, mass("5.00e-1").unwrap(), "a minus sign in it");
    }

    #[test]
    fn refusals_of_other_quantities_say_why() {
        for (text, default, why) in [
            (
                "1,012 hPa",
                &Unit::HECTOPASCAL,
                "the comma is ambiguous; write 1.012 or 1012",
            ),
            (
                "20,6 °C",
                &Unit::CELSIUS,
                "the decimal sign is a point; write 20.6",
            ),
            ("10.00 g", &Unit::MILLILITRE, "g where a volume belongs"),
            ("20.6 mL", &Unit::CELSIUS, "mL where a temperature belongs"),
            (
                "20.6 °C ± 0.1 g",
                &Unit::CELSIUS,
                "g where a temperature belongs",
            ),
            (
                "1 012 hPa",
                &Unit::HECTOPASCAL,
                "it has white space among its digits",
            ),
            (
                "1\u{202f}012 hPa",
                &Unit::HECTOPASCAL,
                "it has white space among its digits",
            ),
            ("1e400", &Unit::GRAM, "it is too large"),
        ] {
            let refused = Quantity::parse(text, default).unwrap_err();
            assert_eq!(refused.to_string(), why, "{text}");
        }
    }

    #[test]
    fn refusals_say_why() {
        for (text, why) in [
            ("12.34 mL", "mL where a mass belongs"),
            (
                "12.34 stone",
                "stone is not a unit of mass that is known here",
            ),
            ("12,34 g", "the decimal sign is a point; write 12.34"),
            ("12 340 g", "it has white space among its digits"),
            ("heavy", "it does not begin with a number"),
            ("inf g", "an infinite value is not a reading"),
            (
                "12.34 ± 0 g",
                "its uncertainty: it must be greater than zero",
            ),
            (
                "12.34 ± -1 g",
                "its uncertainty: it must be greater than zero",
            ),
            ("12.34(2) ± 0.1 g", "its uncertainty: it is stated twice"),
            ("12.34 ±", "its uncertainty: nothing is written"),
            ("g", "it does not begin with a number"),
            ("", "nothing is written"),
            ("12.34 ± 1e400", "its uncertainty: it is too large"),
            ("12.34 ± 1e100 g", "its uncertainty: it is too large"),
            (
                "12.34 ± 1e-100 g",
                "its uncertainty: it is too close to zero",
            ),
            ("1e300 g", "it is too large"),
            ("1e-300 g", "it is too close to zero"),
            ("0e300 g", "it is too large"),
            ("0e-300 g", "it is too close to zero"),
        ] {
            assert_eq!(mass(text).unwrap_err().to_string(), why, "{text}");
        }
    }

    #[test]
    fn any_decimal_keeps_its_digits() {
        for whole in [0_u32, 3, 17, 250, 61_274] {
            for decimals in 0..6_usize {
                let text = format!("{:.*}", decimals, f64::from(whole) / 7.0);
                let read = mass(&format!("{text} g")).unwrap();
                assert_eq!(read.number.text, text, "digits");
                assert_eq!(
                    read.number.last_place,
                    -super::super::exponent(decimals),
                    "{text}"
                );
            }
        }
    }
}
