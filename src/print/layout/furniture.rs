//! The title block, and what stands on every page: running head and foot.

use std::borrow::Cow;

use super::flow_item::{FlowItem, rule, shift};
use super::line::Part;
use super::paragraph::Fit;
use super::words::TextStyle;
use super::{Column, LayoutError, Layouter};
use crate::print::manuscript::said::long_date;
use crate::print::manuscript::{Inline, Manuscript};
use crate::print::page::{Colour, Face, Item, Mark, OutlineEntry, Page, Picture, Role};

/// A logo is no higher than this, points.
const LOGO_HEIGHT: f32 = 42.0;
/// And takes no more than this share of the measure.
const LOGO_SHARE: f32 = 0.35;
/// Between the title and the logo, points.
const LOGO_GAP: f32 = 14.0;

/// A running head is set smaller by at most this factor; what is longer is cut.
const SMALLEST_HEAD: f32 = 0.85;
/// No line of a page holds more characters than this; a running head is not looked at any further.
const LONGEST_HEAD: usize = 1000;

/// Between the mark before a running head and the head, points.
const MARK_GAP: f32 = 9.0;

impl Layouter<'_> {
    /// Title, subject, authors and date, and a rule below.
    pub(super) fn title_block(
        &mut self,
        manuscript: &Manuscript,
        column: Column,
        root: usize,
    ) -> Result<Vec<FlowItem>, LayoutError> {
        let logo = self.logo(column);
        let (whole, column) = match &logo {
            Some(logo) => (column, column.inset(0.0, logo.width + LOGO_GAP)),
            None => (column, column),
        };
        let text_size = self.style.text_size;
        let accent = self.style.accent;
        let byline = [manuscript.authors.join(", "), long_date(manuscript.date)];
        let byline: Vec<&str> = byline
            .iter()
            .map(String::as_str)
            .filter(|part| !part.is_empty())
            .collect();
        let lines = [
            (
                manuscript.title.as_str(),
                Role::Heading(1),
                TextStyle::new(Face::Bold, 1.95 * text_size, accent),
                0.0,
            ),
            (
                manuscript.subject.as_str(),
                Role::Paragraph,
                TextStyle::new(Face::Italic, 1.1 * text_size, Colour::BLACK),
                5.0,
            ),
            (
                &byline.join("\u{a0}· "),
                Role::Paragraph,
                TextStyle::new(Face::Regular, text_size, self.style.quiet),
                5.0,
            ),
        ];
        let mut slabs: Vec<FlowItem> = Vec::new();
        for (text, role, style, before) in lines {
            if text.is_empty() {
                continue;
            }
            let element = self.element(role, Some(root), None);
            let words = self.words(&[Inline::Text(text.to_owned())], style)?;
            let leading = 1.22 * style.size;
            let mut set = self.paragraph(words, column, leading, Fit::Balanced, element);
            for slab in &mut set {
                slab.kept = !slabs.is_empty();
            }
            if let Some(first) = set.first_mut() {
                first.before = before;
            }
            slabs.extend(set);
        }
        if !slabs.is_empty() {
            let height: f32 = slabs.iter().map(|slab| slab.before + slab.height).sum();
            let lacking = logo.as_ref().map_or(0.0, |logo| logo.height - height);
            if let (Some(first), Some(logo)) = (slabs.first_mut(), logo) {
                first.items.push(Item {
                    mark: Mark::Picture(logo),
                    element: None,
                });
            }
            let mark = rule(whole.left, whole.left + whole.width, 0.0, 1.0, accent);
            let items = vec![Item {
                mark,
                element: None,
            }];
            slabs.push(FlowItem {
                before: 7.0 + lacking.max(0.0),
                height: 1.0,
                after: 12.0,
                kept: true,
                items,
                ..FlowItem::default()
            });
        }
        Ok(slabs)
    }

    /// Returns the logo at the right end of a column, its top at 0.
    fn logo(&self, column: Column) -> Option<Picture> {
        let pixels = self.style.logo.clone()?;
        let (columns, rows) = (pixels.columns as f32, pixels.rows as f32);
        let scale = (LOGO_HEIGHT / rows).min(LOGO_SHARE * column.width / columns);
        let (width, height) = (scale * columns, scale * rows);
        Some(Picture {
            pixels,
            x: column.left + column.width - width,
            y: 0.0,
            width,
            height,
        })
    }

    /// Adds running heads and feet, as furniture: the document and the section at the top of the page, the foot and its number.
    pub(super) fn furnish(
        &mut self,
        pages: &mut [Page],
        manuscript: &Manuscript,
        outline: &[OutlineEntry],
    ) {
        let left = self.style.left_margin;
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
        let date = long_date(manuscript.date);
        let [own_left, own_right] = self.style.head.clone();
        let count = pages.len();
        let baseline = top - 24.0;
        let mark_style = TextStyle::new(Face::Bold, style.size, self.style.accent);
        let marked = match manuscript.mark.as_str() {
            "" => 0.0,
            mark => self.width_of(mark, mark_style) + MARK_GAP,
        };
        let edges = (left + marked, right);
        // A long one takes its time, and is the same but for the section.
        let (head, _) = self.shortened(own_left.as_deref().unwrap_or(head), right - left, style);
        let mut running: (Option<usize>, Vec<Item>) = (None, Vec::new());
        for (index, page) in pages.iter_mut().enumerate() {
            let begun = |entry: &&OutlineEntry| {
                entry.level == 1 && (entry.page, entry.y) <= (index, top + 1.0)
            };
            let section = outline.iter().filter(begun).count();
            if running.0 != Some(section) {
                let title = outline.iter().rfind(begun);
                let title = title.map_or(&*date, |entry| &*entry.title);
                let section_name = own_right.as_deref().unwrap_or(title);
                let mut items = self.facing(&head, section_name, edges, baseline, style);
                let mark = rule(left, right, baseline + 5.0, 0.4, self.style.quiet);
                items.push(Item {
                    mark,
                    element: None,
                });
                running = (Some(section), items);
            }
            page.items.extend(self.facing(
                &manuscript.mark,
                "",
                (left, right),
                baseline,
                mark_style,
            ));
            if index > 0 {
                page.items.extend(running.1.iter().cloned());
            }
            if index == 0 && (own_left.is_some() || own_right.is_some()) {
                let texts = [&own_left, &own_right].map(|text| text.as_deref().unwrap_or_default());
                page.items
                    .extend(self.facing(texts[0], texts[1], edges, baseline, style));
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

    /// Returns a text no wider than `room`: set smaller by as little as need be, and from [`SMALLEST_HEAD`] on without
    /// the words at its end.
    fn shortened(&mut self, text: &str, room: f32, style: TextStyle) -> (String, TextStyle) {
        let end = text.char_indices().nth(LONGEST_HEAD);
        let text = end.map_or(text, |(end, _)| &text[..end]);
        let width = self.width_of(text, style);
        let factor = (room / width.max(1.0)).min(1.0);
        let smaller = |factor: f32| TextStyle {
            size: style.size * factor,
            ..style
        };
        if factor >= SMALLEST_HEAD {
            return (text.to_owned(), smaller(factor));
        }
        let style = smaller(SMALLEST_HEAD);
        let mut kept = text;
        while let Some((before, _)) = kept.rsplit_once(' ') {
            kept = before.trim_end_matches([' ', ',', ';', ':', '–', '-']);
            let cut = format!("{kept}…");
            if self.width_of(&cut, style) <= room {
                return (cut, style);
            }
        }
        // A single long word.
        let factor = SMALLEST_HEAD * room / self.width_of(kept, style).max(room);
        (kept.to_owned(), smaller(factor))
    }

    /// Returns two texts on one baseline, flush left and flush right; each is made a little smaller, and then cut,
    /// where there is no room for it. The right one has half.
    fn facing(
        &mut self,
        left: &str,
        right: &str,
        edges: (f32, f32),
        baseline: f32,
        style: TextStyle,
    ) -> Vec<Item> {
        let (right, right_style) = self.shortened(right, 0.5 * (edges.1 - edges.0), style);
        let right_width = self.width_of(&right, right_style);
        let room = (edges.1 - edges.0 - right_width - 12.0).max(1.0);
        let (left, left_style) = self.shortened(left, room, style);
        let mut items = Vec::new();
        for (text, x, style) in [
            (left, edges.0, left_style),
            (right, edges.1 - right_width, right_style),
        ] {
            let pieces = self.pieces(&text, style);
            let parts: Vec<Part<'_>> = pieces.map(|piece| Part::Piece(Cow::Owned(piece))).collect();
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
