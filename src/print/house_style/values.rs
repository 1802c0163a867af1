//! The values of a style file. What is said of a wrong one is `what; right is what would be`.

use serde::Deserialize;

use crate::print::page::Colour;

/// Points of a millimetre.
const MM: f32 = 72.0 / 25.4;

/// Width and height of a sheet, points.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Paper(pub(super) (f32, f32));

impl TryFrom<String> for Paper {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        match text.to_ascii_uppercase().as_str() {
            // ISO 216.
            "A4" => Ok(Self((210.0 * MM, 297.0 * MM))),
            // ANSI/ASME Y14.1, size A.
            "LETTER" => Ok(Self((612.0, 792.0))),
            _ => Err(format!(
                "the paper `{text}` is unknown; right is A4 or Letter"
            )),
        }
    }
}

/// A margin, points.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Margin(pub(super) f32);

impl TryFrom<String> for Margin {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        // Head and foot stand in 15 mm.
        within(&text, 15.0 * MM, 70.0 * MM, "15 mm to 70 mm").map(Self)
    }
}

/// Size of running text, points.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct TextSize(pub(super) f32);

impl TryFrom<String> for TextSize {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        within(&text, 8.0, 12.0, "8 pt to 12 pt").map(Self)
    }
}

/// Returns a length with unit, if it lies between two others; points.
fn within(text: &str, low: f32, high: f32, right: &str) -> Result<f32, String> {
    let wrong = |what: &str| format!("`{text}` {what}; right is {right}");
    let number = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let of_unit = match &text[number.len()..] {
        "mm" => MM,
        "cm" => 10.0 * MM,
        "in" => 72.0,
        "pt" => 1.0,
        _ => return Err(wrong("has no unit of length")),
    };
    let number: f32 = number
        .trim()
        .parse()
        .map_err(|_| wrong("is not a length"))?;
    let points = number * of_unit;
    // What is written to the limit is within it, whatever the arithmetic.
    if (low - 0.01..=high + 0.01).contains(&points) {
        Ok(points)
    } else {
        Err(wrong("is out of range"))
    }
}

/// An ink that can be read on white.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Accent(pub(super) Colour);

impl TryFrom<String> for Accent {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let right =
            "six hexadecimal digits in quotes, as in \"#1c4a70\", dark enough to be read on white";
        let digits = text
            .strip_prefix('#')
            .filter(|d| d.len() == 6 && d.is_ascii());
        let part = |at: usize| u8::from_str_radix(digits?.get(at..at + 2)?, 16).ok();
        let (Some(red), Some(green), Some(blue)) = (part(0), part(2), part(4)) else {
            return Err(format!("`{text}` is not a colour; right is {right}"));
        };
        let [red, green, blue] = [red, green, blue].map(|part| f32::from(part) / 255.0);
        if contrast_with_white([red, green, blue]) < 4.5 {
            return Err(format!("`{text}` is too pale; right is {right}"));
        }
        Ok(Self(Colour(red, green, blue)))
    }
}

/// Returns the contrast ratio of WCAG 2.1 (2018); 4.5 is its least for text.
fn contrast_with_white(parts: [f32; 3]) -> f32 {
    let linear = parts.map(|part| {
        if part <= 0.04045 {
            part / 12.92
        } else {
            ((part + 0.055) / 1.055).powf(2.4)
        }
    });
    1.05 / (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05)
}

/// Text of the head line.
#[derive(Debug, Clone, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct HeadText(pub(super) String);

impl TryFrom<String> for HeadText {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        if text.chars().count() > 80 || text.chars().any(char::is_control) {
            return Err(
                "a text of the head line is too long; right is one line of at most 80 characters"
                    .into(),
            );
        }
        Ok(Self(text))
    }
}
