//! Numbers in cells, taken apart so that their points can stand one below the other.

use crate::print::manuscript::Inline;

/// The parts of a cell such as `(−1.20 ± 0.03) g`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Number<'t> {
    /// What stands before the decimal point: parenthesis, sign, figures.
    pub lead: &'t str,
    /// The point and what follows it; empty for a whole number.
    pub tail: &'t str,
    /// The same of the uncertainty after `±`.
    pub spread: Option<(&'t str, &'t str)>,
    /// Anything after the figures, with its space.
    pub rest: &'t str,
}

impl<'t> Number<'t> {
    /// The digits on the side of a point that has most of them.
    pub(super) fn digits(&self) -> usize {
        let spread = self.spread.iter().flat_map(|(lead, tail)| [*lead, *tail]);
        let parts = [self.lead, self.tail].into_iter().chain(spread);
        let digits = parts.map(|part| part.bytes().filter(u8::is_ascii_digit).count());
        digits.max().unwrap_or_default()
    }

    /// Takes a text apart; `None` if it is no number.
    pub(super) fn read(text: &'t str) -> Option<Self> {
        let text = text.trim_matches([' ', '\n']);
        let opening = usize::from(text.starts_with('('));
        let (lead, tail, mut rest) = decimal(text, opening)?;
        let mut spread = None;
        if let Some(after) = rest.trim_start_matches(is_space).strip_prefix('±') {
            let after = after.trim_start_matches(is_space);
            let (lead, tail, end) = decimal(after, 0)?;
            spread = Some((lead, tail));
            rest = end;
        }
        let starts = |c: char| is_space(c) || matches!(c, ')' | '%' | '×' | '·' | '°' | '*' | '†');
        if !rest.is_empty() && !rest.starts_with(starts) {
            return None;
        }
        Some(Self {
            lead,
            tail,
            spread,
            rest,
        })
    }
}

/// Text before the point, from it on, and what is left; at least one figure is needed.
fn decimal(text: &str, opening: usize) -> Option<(&str, &str, &str)> {
    let after_open = text.get(opening..)?;
    let signed = after_open
        .strip_prefix(['−', '-', '+'])
        .unwrap_or(after_open);
    let start = text.len() - signed.len();
    let whole = figures(signed);
    let point = &signed[whole..];
    let fraction = point
        .strip_prefix('.')
        .map_or(0, |after| 1 + figures(after));
    let any = signed[..whole + fraction]
        .chars()
        .any(|c| c.is_ascii_digit());
    let (lead, rest) = text.split_at(start + whole);
    let (tail, rest) = rest.split_at(fraction);
    any.then_some((lead, tail, rest))
}

/// Length of figures, with the thin spaces that group them.
fn figures(text: &str) -> usize {
    let mut end = 0;
    for (at, c) in text.char_indices() {
        if c.is_ascii_digit() {
            end = at + 1;
        } else if !matches!(c, '\u{2009}' | '\u{202f}') {
            break;
        }
    }
    end
}

fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\n')
}

/// Returns the text of a cell, if it is nothing but text in one style: that text and whether it is struck, bold or
/// italic.
pub(super) fn plain(inlines: &[Inline]) -> Option<(&str, Wrapping)> {
    match inlines {
        [Inline::Text(text) | Inline::Share { text, .. }] => Some((text, Wrapping::default())),
        [Inline::Struck(inside)] => {
            plain(inside).map(|(text, w)| (text, Wrapping { struck: true, ..w }))
        }
        [Inline::Strong(inside)] => {
            plain(inside).map(|(text, w)| (text, Wrapping { bold: true, ..w }))
        }
        [Inline::Emphasis(inside)] => {
            plain(inside).map(|(text, w)| (text, Wrapping { italic: true, ..w }))
        }
        _ => None,
    }
}

/// The styles around a plain text.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Wrapping {
    pub struck: bool,
    pub bold: bool,
    pub italic: bool,
}

#[cfg(test)]
mod tests {
    use super::Number;

    fn parts(text: &str) -> Option<String> {
        Number::read(text).map(|n| {
            let spread = n
                .spread
                .map(|(lead, tail)| format!("±{lead}|{tail}"))
                .unwrap_or_default();
            format!("{}|{}|{spread}|{}", n.lead, n.tail, n.rest)
        })
    }

    #[test]
    fn numbers_are_taken_apart_at_their_points() {
        for (text, expected) in [
            ("12.345", "12|.345||"),
            ("−0.5", "−0|.5||"),
            ("250", "250|||"),
            ("(1.2 ± 0.3)", "(1|.2|±0|.3|)"),
            ("1.20\u{a0}±\u{a0}0.03 g", "1|.20|±0|.03| g"),
            ("12\u{2009}345.6", "12\u{2009}345|.6||"),
            ("1.2 × 10⁻³", "1|.2|| × 10⁻³"),
            ("99.9%", "99|.9||%"),
        ] {
            assert_eq!(parts(text).as_deref(), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_left_whole() {
        for text in [
            "",
            "–",
            "2026-03-04",
            "A",
            "3rd",
            ".",
            "1.2 ± x",
            "(a)",
            "漢",
        ] {
            assert_eq!(parts(text), None, "{text}");
        }
    }
}
