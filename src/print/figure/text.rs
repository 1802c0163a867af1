//! Lines of text, shaped and measured before anything is placed.

use super::scale::Scale;
use super::style;
use crate::maths::superscript::raised;
use crate::print::manuscript::plot::Axis;
use crate::print::page::Face;
use crate::print::typeface::{Forms, Shaped, Typefaces};

/// Longer names are cut before they are measured.
const MOST_CHARACTERS: usize = 160;

/// A shaped line.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) runs: Vec<(Face, Shaped)>,
    /// Size, points.
    pub(super) size: f32,
}

impl Line {
    /// Returns the pieces, each in its face, one after the other.
    pub(super) fn new(typefaces: &Typefaces, pieces: &[(Face, &str)], size: f32) -> Self {
        let runs = pieces
            .iter()
            .flat_map(|(face, text)| typefaces.shape_shown(*face, Forms::default(), text).0)
            .collect();
        Self { runs, size }
    }

    /// Upright text, its middle replaced by an ellipsis where it is wider than `room` points: names of one kind often begin
    /// alike and differ at their end.
    pub(super) fn fitted(typefaces: &Typefaces, text: &str, size: f32, room: f64) -> Self {
        let mut characters: Vec<char> = text.chars().collect();
        if characters.len() > MOST_CHARACTERS {
            // Of a longer one, what cannot be kept anyway.
            characters.drain(MOST_CHARACTERS / 2..characters.len() - MOST_CHARACTERS / 2);
        } else {
            let whole = Self::new(typefaces, &[(Face::Regular, text)], size);
            if whole.width() <= room {
                return whole;
            }
        }
        // As many characters from the beginning as from the end, one less each time.
        let mut kept = characters.len();
        loop {
            kept = kept.saturating_sub(1);
            let (first, last) = (kept.div_ceil(2), kept / 2);
            let start: String = characters[..first].iter().collect();
            let end: String = characters[characters.len() - last..].iter().collect();
            let cut = format!("{}…{}", start.trim_end(), end.trim_start());
            let line = Self::new(typefaces, &[(Face::Regular, &cut)], size);
            if line.width() <= room || kept == 0 {
                return line;
            }
        }
    }

    /// Returns the same line, set smaller where it is wider than `room` points.
    pub(super) fn shrunk(mut self, room: f64) -> Self {
        let width = self.width();
        if width > room {
            self.size *= (room / width) as f32;
        }
        self
    }

    /// Width, points.
    pub(super) fn width(&self) -> f64 {
        self.runs
            .iter()
            .map(|(_, shaped)| f64::from(shaped.width * self.size))
            .sum()
    }
}

/// "Density *ρ* / (g/mL)": name upright, symbol italic, and the unit that the labelled numbers are divided by, in brackets
/// where it is more than one sign (quotient of quantity and unit: BIPM, SI Brochure, 9th ed., 2019, 5.4.1).
pub(super) fn axis_label(typefaces: &Typefaces, axis: &Axis, scale: &Scale, room: f64) -> Line {
    let short = |text: &str| text.chars().take(MOST_CHARACTERS).collect::<String>();
    let (name, symbol, unit) = (short(&axis.name), short(&axis.symbol), short(&axis.unit));
    let power = power_of_ten(scale.factor());
    let divisor = [power.as_str(), unit.as_str()]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("\u{a0}");
    let gap = if name.is_empty() || symbol.is_empty() {
        ""
    } else {
        " "
    };
    let tail = if divisor.is_empty() {
        String::new()
    } else if divisor.contains(['/', ' ', '\u{a0}', '\u{202f}', '·']) {
        format!(" / ({divisor})")
    } else {
        format!(" / {divisor}")
    };
    let pieces = [
        (Face::Regular, name + gap),
        (Face::Italic, symbol),
        (Face::Regular, tail),
    ];
    let pieces: Vec<(Face, &str)> = pieces
        .iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(face, text)| (*face, text.as_str()))
        .collect();
    Line::new(typefaces, &pieces, style::TEXT).shrunk(room)
}

/// `10⁻³`; empty for the power 0.
fn power_of_ten(exponent: i32) -> String {
    if exponent == 0 {
        return String::new();
    }
    format!("10{}", raised(&exponent.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &Line) -> String {
        line.runs
            .iter()
            .flat_map(|(_, shaped)| shaped.glyphs.iter())
            .map(|glyph| &*glyph.text)
            .collect()
    }

    #[test]
    fn axis_labels_name_quantity_and_unit() {
        let typefaces = Typefaces::load();
        let label = |name: &str, symbol: &str, unit: &str, high| {
            let axis = Axis::new(symbol, name, unit);
            let line = axis_label(&typefaces, &axis, &Scale::covering(0.0, high, 8), 400.0);
            read(&line).replace('\u{a0}', " ")
        };
        assert_eq!(label("Density", "ρ", "g/mL", 1.0), "Density ρ / (g/mL)");
        assert_eq!(label("Mass percent", "w", "%", 20.0), "Mass percent w / %");
        assert_eq!(
            label("Residual", "", "g/mL", 4e-4),
            "Residual / (10⁻³ g/mL)"
        );
        assert_eq!(label("", "x", "", 4e7), "x / 10⁶");
        assert_eq!(label("Ratio", "", "", 1.0), "Ratio");
    }

    #[test]
    fn the_symbol_alone_is_italic() {
        let typefaces = Typefaces::load();
        let axis = Axis::new("ρ", "Density", "g/mL");
        let line = axis_label(&typefaces, &axis, &Scale::covering(0.0, 1.0, 8), 400.0);
        let italic: Vec<&Shaped> = line
            .runs
            .iter()
            .filter(|(face, _)| *face == Face::Italic)
            .map(|(_, shaped)| shaped)
            .collect();
        assert_eq!(italic.len(), 1, "one italic piece");
        assert_eq!(italic[0].glyphs.len(), 1, "one glyph");
    }

    #[test]
    fn long_names_are_cut_to_fit() {
        let typefaces = Typefaces::load();
        let long = "a very long name ".repeat(1000);
        for room in [200.0, 40.0, 12.0] {
            let line = Line::fitted(&typefaces, &long, 8.0, room);
            assert!(line.width() <= room, "{} in {room}", line.width());
            assert!(read(&line).contains('…'), "{}", read(&line));
        }
        let numbered = Line::fitted(
            &typefaces,
            "vessel filled, bath before the salt, weighing 3",
            8.0,
            90.0,
        );
        assert!(
            read(&numbered).ends_with("weighing 3"),
            "{}",
            read(&numbered)
        );
        assert_eq!(
            read(&Line::fitted(&typefaces, "short", 8.0, 200.0)),
            "short"
        );
    }
}
