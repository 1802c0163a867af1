//! Decimal numbers that remember how they were written.

/// No reading has more digits than this; longer ones are slips or mischief.
const MOST_DIGITS: usize = 40;

/// A decimal number, digit for digit as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The number's text, without unit and white space, signs normalised to ASCII.
    pub text: String,
    /// Its value; always finite.
    pub value: f64,
    /// Power of ten of the last written digit: `5.00` has −2, `250` has 0, `1.2e3` has 2.
    pub last_place: i32,
    /// Significant figures: `5.00` has 3, `0.050` has 2, `250` has 3. A zero has one.
    pub figures: u32,
}

/// Why a text is not a decimal number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct NotANumber {
    /// What is wrong, to follow "…: ".
    pub why: String,
}

impl NotANumber {
    pub(super) fn because(why: impl Into<String>) -> Self {
        Self { why: why.into() }
    }
}

impl Written {
    /// Reads a decimal number: sign, digits with at most one point, and a power of ten after `e`.
    ///
    /// The minus sign U+2212 and full-width signs and digits count as their ASCII twins. White space around the number
    /// is ignored.
    ///
    /// # Errors
    /// What is wrong with the text, in words: commas, underscores, hexadecimal, infinities, values beyond `f64` and so on.
    pub fn parse(text: &str) -> Result<Self, NotANumber> {
        let text: String = text.trim().chars().map(to_ascii).collect();
        if text.is_empty() {
            return Err(NotANumber::because("nothing is written"));
        }
        let unsigned = text.strip_prefix(['+', '-']).unwrap_or(&text);
        let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
            Some((mantissa, exponent)) => (mantissa, Some(exponent)),
            None => (unsigned, None),
        };
        if !mantissa.chars().all(|c| c.is_ascii_digit() || c == '.')
            || mantissa.matches('.').count() > 1
        {
            return Err(NotANumber::because(why_not_decimal(unsigned)));
        }
        let (whole, decimals) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        let count = whole.len() + decimals.len();
        if count == 0 {
            return Err(NotANumber::because("it has no digits"));
        }
        if count > MOST_DIGITS {
            return Err(NotANumber::because(format!(
                "it has {count} digits, more than any reading has"
            )));
        }
        let power = exponent.map_or(Ok(0), read_exponent)?;
        let value: f64 = text
            .parse()
            .map_err(|_| NotANumber::because("it is not a decimal number"))?;
        let zero = mantissa.chars().all(|c| matches!(c, '0' | '.'));
        if !value.is_finite() {
            return Err(NotANumber::because("it is too large"));
        }
        if !zero && !value.is_normal() {
            return Err(NotANumber::because("it is too close to zero"));
        }
        let figures = mantissa
            .chars()
            .filter(char::is_ascii_digit)
            .skip_while(|c| *c == '0')
            .count()
            .max(1);
        Ok(Self {
            value,
            last_place: power - super::exponent(decimals.len()),
            figures: figures as u32,
            text,
        })
    }
}

/// Signs, points and digits that look like their ASCII twins, as those.
pub(super) fn to_ascii(c: char) -> char {
    match c {
        '\u{2212}' | '\u{ff0d}' => '-',
        '\u{ff0b}' => '+',
        '\u{ff0e}' => '.',
        '\u{ff10}'..='\u{ff19}' => char::from(b'0' + (c as u32 - 0xff10) as u8),
        other => other,
    }
}

fn read_exponent(text: &str) -> Result<i32, NotANumber> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(NotANumber::because(
            "its power of ten is not a whole number",
        ));
    }
    match text.parse::<i32>() {
        Ok(exponent) if exponent.abs() < 1000 => Ok(exponent),
        _ if text.starts_with('-') => Err(NotANumber::because("it is too close to zero")),
        _ => Err(NotANumber::because("it is too large")),
    }
}

/// Returns the likeliest reason why an unsigned text is no decimal number.
fn why_not_decimal(text: &str) -> String {
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "inf" | ".inf" | "infinity" | "∞") {
        "an infinite value is not a reading".into()
    } else if matches!(lower.as_str(), "nan" | ".nan") {
        "it is not a number".into()
    } else if ["0x", "0o", "0b"].iter().any(|p| lower.starts_with(p)) {
        "numbers are read in base ten only".into()
    } else if text.contains(',')
        && text
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, ',' | '.'))
    {
        comma(text)
    } else if text.contains('_') {
        "digits are not grouped with underscores".into()
    } else if text.matches('.').count() > 1 {
        "it has more than one decimal point".into()
    } else if text.starts_with(['+', '-']) {
        "it has more than one sign".into()
    } else if text.chars().any(|c| c.is_ascii_digit()) {
        "it is not a decimal number".into()
    } else {
        "it has no digits".into()
    }
}

fn comma(text: &str) -> String {
    let meant = commas_meant(text);
    format!(
        "{}; write {}",
        why_no_comma(text, &meant),
        meant.join(" or ")
    )
}

/// Returns why a number with commas is refused, of which some of the numbers that it may mean are `meant`.
pub fn why_no_comma(text: &str, meant: &[String]) -> &'static str {
    match meant {
        [_, _, ..] => "the comma is ambiguous",
        [one] if one.replace('.', "").len() < one.len() && !text.contains('.') => {
            "the decimal sign is a point"
        }
        [one] if text.rfind('.') < text.rfind(',') && one.contains('.') => {
            "the decimal sign is a point"
        }
        _ => "thousands are not grouped with commas",
    }
}

/// Returns the numbers that digits with commas among them may mean, the likelier first: `12,34` is 12.34; `1,012` may
/// be 1.012 or 1012.
pub fn commas_meant(text: &str) -> Vec<String> {
    let plain = text.replace(',', "");
    match (text.split_once(','), text.rfind('.')) {
        // Points among the thousands, and the comma before the decimals.
        (Some((whole, rest)), Some(point)) if point < whole.len() && !rest.contains(',') => {
            vec![format!("{}.{rest}", whole.replace('.', ""))]
        }
        (Some((whole, rest)), None) if !rest.contains(',') => {
            let decimal = format!("{whole}.{rest}");
            let grouped = rest.len() == 3 && (1..=3).contains(&whole.len());
            if grouped && !whole.starts_with('0') {
                vec![decimal, plain]
            } else {
                vec![decimal]
            }
        }
        _ => vec![plain],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_kept() {
        for (text, value, last_place, figures) in [
            ("5.00", 5.0, -2, 3),
            ("250", 250.0, 0, 3),
            ("0.050", 0.05, -3, 2),
            ("1.2e3", 1200.0, 2, 2),
            ("-1.50E-2", -0.015, -4, 3),
            ("+007", 7.0, 0, 1),
            ("0.000", 0.0, -3, 1),
            (".5", 0.5, -1, 1),
            ("5.", 5.0, 0, 1),
            (
                "12345678901234567890123",
                12_345_678_901_234_567_890_123.0,
                0,
                23,
            ),
        ] {
            let read = Written::parse(text).unwrap();
            assert_eq!(
                (
                    read.text.as_str(),
                    read.value,
                    read.last_place,
                    read.figures
                ),
                (text, value, last_place, figures),
                "{text}"
            );
        }
    }

    #[test]
    fn look_alikes_are_normalised() {
        assert_eq!(
            Written::parse("\u{2212}1.5").unwrap().text,
            "-1.5",
            "minus sign"
        );
        assert_eq!(
            Written::parse("\u{ff11}\u{ff12}\u{ff0e}\u{ff15}")
                .unwrap()
                .text,
            "12.5",
            "full width"
        );
    }

    #[test]
    fn each_refusal_has_its_reason() {
        for (text, why) in [
            ("", "nothing is written"),
            ("inf", "an infinite value is not a reading"),
            ("-Infinity", "an infinite value is not a reading"),
            (".nan", "it is not a number"),
            ("1e400", "it is too large"),
            ("1e99999999999", "it is too large"),
            ("1e-400", "it is too close to zero"),
            ("1e-99999999999", "it is too close to zero"),
            ("0x10", "numbers are read in base ten only"),
            (
                "1,234.5",
                "thousands are not grouped with commas; write 1234.5",
            ),
            ("12,34", "the decimal sign is a point; write 12.34"),
            ("12,340", "the comma is ambiguous; write 12.340 or 12340"),
            ("1_000", "digits are not grouped with underscores"),
            ("1.2.3", "it has more than one decimal point"),
            ("--1", "it has more than one sign"),
            ("abc", "it has no digits"),
            (".", "it has no digits"),
            ("1e", "its power of ten is not a whole number"),
            ("1e2.5", "its power of ten is not a whole number"),
        ] {
            assert_eq!(Written::parse(text).unwrap_err().why, why, "{text}");
        }
        assert!(Written::parse(&"9".repeat(41)).is_err(), "too many digits");
    }
}
