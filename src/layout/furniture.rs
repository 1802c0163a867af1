//! The title block, and what stands on every page: running head and foot.

use std::borrow::Cow;

use super::inline::TextStyle;
use super::line::Part;
use super::paragraph::Fit;
use super::slab::{Slab, rule, shift};
use super::{Column, Failure, Setter};
use crate::manuscript::{Inline, Manuscript};
use crate::page::{Colour, Face, Item, Mark, Page, Role};

/// Month names of the long form of a date.
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

impl Setter<'_> {
    /// Title, subject, authors and date, and a rule below.
    pub(super) fn title_block(
        &mut self,
        manuscript: &Manuscript,
        column: Column,
        root: usize,
    ) -> Result<Vec<Slab>, Failure> {
        let text_size = self.style.text_size;
        let accent = self.style.accent;
        let byline = [manuscript.authors.join(", "), long_date(&manuscript.date)];
        let byline: Vec<&str> = byline
            .iter()
            .map(String::as_str)
            .filter(|part| !part.is_empty())
            .collect();
        let lines = [
            (
                manuscript.title.as_str(),
                TextStyle::new(Face::Bold, 1.95 * text_size, accent),
                0.0,
            ),
            (
                manuscript.subject.as_str(),
                TextStyle::new(Face::Italic, 1.1 * text_size, Colour::BLACK),
                5.0,
            ),
            (
                &byline.join(" · "),
                TextStyle::new(Face::Regular, text_size, self.style.quiet),
                5.0,
            ),
        ];
        let mut slabs: Vec<Slab> = Vec::new();
        for (text, style, before) in lines {
            if text.is_empty() {
                continue;
            }
            let element = self.element(Role::Paragraph, Some(root), None);
            let words = self.words(&[Inline::Text(text.to_owned())], style)?;
            let mut set = self.paragraph(words, column, 1.22 * style.size, Fit::Ragged, element);
            for slab in &mut set {
                slab.kept = !slabs.is_empty();
            }
            if let Some(first) = set.first_mut() {
                first.before = before;
            }
            slabs.extend(set);
        }
        if !slabs.is_empty() {
            let mark = rule(column.left, column.left + column.width, 0.0, 1.0, accent);
            let items = vec![Item {
                mark,
                element: None,
            }];
            slabs.push(Slab {
                before: 7.0,
                height: 1.0,
                after: 12.0,
                kept: true,
                items,
                ..Slab::default()
            });
        }
        Ok(slabs)
    }

    /// Adds running heads and feet, as furniture.
    pub(super) fn furnish(&mut self, pages: &mut [Page], manuscript: &Manuscript) {
        let left = self.style.side_margin;
        let right = left + self.style.measure();
        let style = TextStyle::new(Face::Regular, 0.82 * self.style.text_size, self.style.quiet);
        let (top, foot) = (
            self.style.top_margin,
            self.style.page.1 - self.style.bottom_margin,
        );
        let head = if manuscript.running_head.is_empty() {
            &manuscript.title
        } else {
            &manuscript.running_head
        };
        let date = long_date(&manuscript.date);
        let count = pages.len();
        for (index, page) in pages.iter_mut().enumerate() {
            if index > 0 {
                let baseline = top - 24.0;
                page.items
                    .extend(self.facing(head, &date, (left, right), baseline, style));
                let mark = rule(left, right, baseline + 5.0, 0.4, self.style.quiet);
                page.items.push(Item {
                    mark,
                    element: None,
                });
            }
            let number = format!("page {} of {count}", index + 1);
            page.items.extend(self.facing(
                &manuscript.running_foot,
                &number,
                (left, right),
                foot + 30.0,
                style,
            ));
        }
    }

    /// Two texts on one baseline, flush left and flush right; the left one is made smaller if there is no room.
    fn facing(
        &mut self,
        left: &str,
        right: &str,
        edges: (f32, f32),
        baseline: f32,
        style: TextStyle,
    ) -> Vec<Item> {
        let right_width = self.width_of(right, style);
        let room = (edges.1 - edges.0 - right_width - 12.0).max(1.0);
        let left_width = self.width_of(left, style);
        let smaller = TextStyle {
            size: style.size * (room / left_width.max(1.0)).min(1.0),
            ..style
        };
        let mut items = Vec::new();
        for (text, x, style) in [
            (left, edges.0, smaller),
            (right, edges.1 - right_width, style),
        ] {
            let pieces = self.pieces(text, style);
            let parts: Vec<Part<'_>> = pieces
                .into_iter()
                .map(|piece| Part::Piece(Cow::Owned(piece)))
                .collect();
            items.extend(self.place(&parts, x, 0.0, None).items);
        }
        for item in &mut items {
            shift(&mut item.mark, 0.0, baseline);
        }
        // Nothing is painted for an empty text.
        items.retain(|item| !matches!(&item.mark, Mark::Glyphs(run) if run.glyphs.is_empty()));
        items
    }
}

/// `2026-03-04` as 4 March 2026; anything else as it is.
fn long_date(date: &str) -> String {
    let parts: Vec<&str> = date.split('-').collect();
    let read = |at: usize| parts.get(at).and_then(|part| part.parse::<usize>().ok());
    let month = read(1).and_then(|month| MONTHS.get(month.checked_sub(1)?));
    match (parts.len(), read(2), month) {
        (3, Some(day), Some(month)) => format!("{day}\u{a0}{month} {}", parts[0]),
        _ => date.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::long_date;

    #[test]
    fn dates_are_written_out() {
        assert_eq!(long_date("2026-03-04"), "4\u{a0}March 2026");
        assert_eq!(long_date("spring 2026"), "spring 2026");
        assert_eq!(long_date("2026-13-04"), "2026-13-04");
    }
}
