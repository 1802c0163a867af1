//! Numbers of a column one below the other: what is missing on both sides of each and about its `±`.

use crate::maths::groups::{MOST, gaps};
use crate::print::manuscript::said::plain_text;
use crate::print::manuscript::{Align, Table};

/// Quarters of a figure's width of room that a cell needs, so that decimal points meet, and those of the uncertainties as
/// well.
///
/// All digits have one width. A point and a blank count as half a digit, a sign as one, a gap between groups of digits
/// as a quarter. Numbers of a column have the same of these between their points, so that errors of these widths cancel.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Moved {
    /// Before the `±`.
    before_sign: usize,
    /// Behind it.
    after_sign: usize,
    /// Behind all.
    behind: usize,
    /// Whether a number of the column is long, so that all have their digits in groups.
    pub(super) grouped: bool,
}

impl Moved {
    /// Returns a cell's HTML with that room.
    pub(super) fn set(self, mut html: String) -> String {
        let figures = |quarters: usize| quarters as f32 / 4.0;
        if let (true, Some(at)) = (self.before_sign + self.after_sign > 0, html.find('±')) {
            let blank = |c: char| c.is_whitespace();
            let start = html[..at].trim_end_matches(blank).len();
            let rest = html[at + '±'.len_utf8()..].trim_start_matches(blank).len();
            let end = html.len() - rest;
            let (before, after) = (figures(self.before_sign), figures(self.after_sign));
            let sign = format!(
                "<span style=\"padding:0 {after}ch 0 {before}ch\">{}</span>",
                &html[start..end]
            );
            html.replace_range(start..end, &sign);
        }
        if self.behind == 0 {
            return html;
        }
        let behind = figures(self.behind);
        format!("<span style=\"padding-right:{behind}ch\">{html}</span>")
    }
}

/// Returns the room of each cell of each row; no column but those of numbers needs any.
pub(super) fn moved(table: &Table) -> Vec<Vec<Moved>> {
    let mut moved: Vec<Vec<Moved>> = table
        .rows
        .iter()
        .map(|row| vec![Moved::default(); row.len()])
        .collect();
    for (column, align) in table.columns.iter().enumerate() {
        if *align != Align::Decimal {
            continue;
        }
        let cells = table.rows.iter().map(|row| row.get(column));
        let texts: Vec<String> = cells
            .map(|cell| cell.map_or_else(String::new, |cell| plain_text(cell)))
            .collect();
        let grouped = texts.iter().any(|text| !gaps(text, MOST).is_empty());
        let most = most_ungrouped(grouped);
        let numbers: Vec<Option<Number>> =
            texts.iter().map(|text| Number::read(text, most)).collect();
        let known = || numbers.iter().flatten();
        let spreads = || known().filter_map(|number| number.spread);
        let most = |quarters: &mut dyn Iterator<Item = usize>| quarters.max().unwrap_or_default();
        let after_point = most(&mut known().map(|number| number.after_point));
        let lead = most(&mut spreads().map(|(lead, _)| lead));
        let tail = most(&mut spreads().map(|(_, tail)| tail));
        let sign = if spreads().next().is_some() { SIGN } else { 0 };
        for (row, number) in moved.iter_mut().zip(&numbers) {
            if let (Some(cell), Some(number)) = (row.get_mut(column), number) {
                let lacks = after_point - number.after_point;
                *cell = match number.spread {
                    Some((own_lead, own_tail)) => Moved {
                        before_sign: lacks,
                        after_sign: lead - own_lead,
                        behind: tail - own_tail,
                        grouped,
                    },
                    None => Moved {
                        behind: lacks + sign + lead + tail,
                        grouped,
                        ..Moved::default()
                    },
                };
            }
        }
    }
    moved
}

/// Returns how many digits on a side of its point a number of a column may have without groups.
pub(super) fn most_ungrouped(grouped: bool) -> usize {
    if grouped { 3 } else { MOST }
}

/// A `±` between blanks, quarters of a figure.
const SIGN: usize = 8;

/// What a number takes, quarters of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Number {
    /// From the end of its whole part on.
    after_point: usize,
    /// The whole part of what follows `±`, and the rest of that.
    spread: Option<(usize, usize)>,
}

impl Number {
    /// `None` for other text; numbers of more digits than `most` have them in groups.
    fn read(text: &str, most: usize) -> Option<Self> {
        let (value, spread) = match text.split_once('±') {
            Some((value, spread)) => (value.trim_end(), Some(spread.trim())),
            None => (text.trim_end(), None),
        };
        let (_, after_point) = parts(value.trim_start(), most)?;
        let spread = match spread {
            Some(spread) => Some(parts(spread, most)?),
            None => None,
        };
        Some(Self {
            after_point,
            spread,
        })
    }
}

/// Returns the whole part of a number and what follows it, quarters of a figure.
fn parts(text: &str, most: usize) -> Option<(usize, usize)> {
    let numeric = |c: char| c.is_ascii_digit() || ".−+- \u{a0}\u{2009}\u{202f}".contains(c);
    if !text.chars().all(numeric) || !text.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let whole = text
        .find(|c: char| !(c.is_ascii_digit() || "−+-".contains(c)))
        .unwrap_or(text.len());
    let quarters = |c: char| match c {
        '.' | ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' => 2,
        _ => 4,
    };
    let gaps = gaps(text, most);
    let before = gaps.iter().filter(|at| **at < whole).count();
    let width = |part: &str| part.chars().map(quarters).sum::<usize>();
    let behind = gaps.len() - before;
    Some((
        width(&text[..whole]) + before,
        width(&text[whole..]) + behind,
    ))
}

#[cfg(test)]
mod tests {
    use super::{Moved, Number, moved};
    use crate::print::manuscript::{Align, Inline, Table};

    #[test]
    fn what_follows_the_point_is_measured() {
        let read = |text| {
            let number = Number::read(text, 3);
            number.map(|number| (number.after_point, number.spread))
        };
        assert_eq!(read("12.34"), Some((10, None)));
        assert_eq!(read("−3"), Some((0, None)));
        assert_eq!(read("1.0 ± 0.2"), Some((6, Some((4, 6)))));
        assert_eq!(read("1.0234 ± 0.2"), Some((19, Some((4, 6)))));
        for text in ["5 mL", "–", "1 ± –"] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn points_meet_on_both_sides_of_the_sign() {
        let cells = ["1.0 ± 0.2", "12.34 ± 10.05", "7"];
        let table = Table {
            caption: Vec::new(),
            label: None,
            number: None,
            columns: vec![Align::Decimal],
            head: vec![Vec::new()],
            rows: cells
                .map(|cell| vec![vec![Inline::Text(cell.into())]])
                .to_vec(),
        };
        let moved: Vec<Moved> = moved(&table).concat();
        let set = |at: usize| moved[at].set(cells[at].to_owned());
        assert_eq!(
            set(0),
            "<span style=\"padding-right:1ch\">1.0<span style=\"padding:0 1ch 0 1ch\"> ± </span>0.2</span>"
        );
        assert_eq!(set(1), cells[1]);
        // Behind the 7: a point and two figures, the sign, two figures, a point and two figures.
        assert_eq!(set(2), "<span style=\"padding-right:9ch\">7</span>");
    }
}
