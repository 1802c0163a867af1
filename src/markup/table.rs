//! Numbers of a column one below the other: what is missing to the right of each.

use crate::manuscript::said::plain_text;
use crate::manuscript::{Align, Table};

/// Half figure widths that each cell of each row must be moved to the left, so that decimal points meet; no column but
/// those of numbers has any.
///
/// With figures of one width, a point, a blank and a sign are taken as half, half and one figure wide: what stands after
/// the points is alike in a column, so that their error falls out.
pub(super) fn moved(table: &Table) -> Vec<Vec<usize>> {
    let mut moved: Vec<Vec<usize>> = table.rows.iter().map(|row| vec![0; row.len()]).collect();
    for (column, align) in table.columns.iter().enumerate() {
        if *align != Align::Decimal {
            continue;
        }
        let after: Vec<Option<usize>> = table
            .rows
            .iter()
            .map(|row| {
                row.get(column)
                    .and_then(|cell| after_point(&plain_text(cell)))
            })
            .collect();
        let most = after.iter().flatten().max().copied().unwrap_or_default();
        for (row, after) in moved.iter_mut().zip(after) {
            if let (Some(cell), Some(after)) = (row.get_mut(column), after) {
                *cell = most - after;
            }
        }
    }
    moved
}

/// Half figure widths from the end of the whole part of a number on, `±` part included; none for other text.
fn after_point(text: &str) -> Option<usize> {
    let text = text.trim();
    let numeric = |c: char| c.is_ascii_digit() || ".±−+- \u{a0}\u{2009}\u{202f}".contains(c);
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
    Some(text[whole..].chars().map(half).sum())
}

#[cfg(test)]
mod tests {
    use super::after_point;

    #[test]
    fn what_follows_the_point_is_measured() {
        assert_eq!(after_point("12.34"), Some(5));
        assert_eq!(after_point("−3"), Some(0));
        assert_eq!(after_point("1.0 ± 0.2"), Some(12));
        assert_eq!(after_point("5 mL"), None);
        assert_eq!(after_point("–"), None);
    }
}
