//! Numbers of a column one below the other: what is missing on both sides of each and about its `±`.

use crate::print::manuscript::said::plain_text;
use crate::print::manuscript::{Align, Table};

/// Half figure widths of room that a cell needs, so that decimal points meet, and those of the uncertainties as well.
///
/// With figures of one width, a point, a blank and a sign are taken as half, half and one figure wide: what stands
/// between the points is alike in a column, so that their error falls out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Moved {
    /// Before the `±`.
    before_sign: usize,
    /// Behind it.
    after_sign: usize,
    /// Behind all.
    behind: usize,
}

impl Moved {
    /// Returns a cell's HTML with that room.
    pub(super) fn set(self, mut html: String) -> String {
        let figures = |halves: usize| halves as f32 / 2.0;
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
        let numbers: Vec<Option<Number>> =
            cells.map(|cell| Number::read(&plain_text(cell?))).collect();
        let known = || numbers.iter().flatten();
        let spreads = || known().filter_map(|number| number.spread);
        let most = |halves: &mut dyn Iterator<Item = usize>| halves.max().unwrap_or_default();
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
                    },
                    None => Moved {
                        behind: lacks + sign + lead + tail,
                        ..Moved::default()
                    },
                };
            }
        }
    }
    moved
}

/// A `±` between blanks, half figure widths.
const SIGN: usize = 4;

/// What a number takes, half figure widths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Number {
    /// From the end of its whole part on.
    after_point: usize,
    /// The whole part of what follows `±`, and the rest of that.
    spread: Option<(usize, usize)>,
}

impl Number {
    /// `None` for other text.
    fn read(text: &str) -> Option<Self> {
        let (value, spread) = match text.split_once('±') {
            Some((value, spread)) => (value.trim_end(), Some(spread.trim())),
            None => (text.trim_end(), None),
        };
        let (_, after_point) = parts(value.trim_start())?;
        let spread = match spread {
            Some(spread) => Some(parts(spread)?),
            None => None,
        };
        Some(Self {
            after_point,
            spread,
        })
    }
}

/// Returns the whole part of a number and what follows it, half figure widths.
fn parts(text: &str) -> Option<(usize, usize)> {
    let numeric = |c: char| c.is_ascii_digit() || ".−+- \u{a0}\u{2009}\u{202f}".contains(c);
    if !text.chars().all(numeric) || !text.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let whole = text
        .find(|c: char| !(c.is_ascii_digit() || "−+-".contains(c)))
        .unwrap_or(text.len());
    let half = |c: char| match c {
        '.' | ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' => 1,
        _ => 2,
    };
    let width = |part: &str| part.chars().map(half).sum();
    Some((width(&text[..whole]), width(&text[whole..])))
}

#[cfg(test)]
mod tests {
    use super::{Moved, Number, moved};
    use crate::print::manuscript::{Align, Inline, Table};

    #[test]
    fn what_follows_the_point_is_measured() {
        let read = |text| Number::read(text).map(|number| (number.after_point, number.spread));
        assert_eq!(read("12.34"), Some((5, None)));
        assert_eq!(read("−3"), Some((0, None)));
        assert_eq!(read("1.0 ± 0.2"), Some((3, Some((2, 3)))));
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
