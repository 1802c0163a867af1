//! Entries as written: monospaced lines with their numbers, long ones wrapped with a mark.

use std::borrow::Cow;
use std::sync::Arc;

use super::blocks::spaced;
use super::flow_item::FlowItem;
use super::flow_item::SetLine;
use super::line::Part;
use super::words::{Piece, PieceContent, TextStyle};
use super::{Column, Layouter};
use crate::print::page::{Colour, Face, Glyph, Role};

/// Stands in the margin of a line that goes on with the one above.
const RUN_ON: &str = "↪";
/// A tab leads to the next multiple of so many characters.
const TAB: usize = 4;

/// A wrapped row ends at a space if one stands among its last so many characters.
const FARTHEST_BACK: usize = 24;

/// Height of an empty line, which has no number, relative to another.
const EMPTY: f32 = 0.5;

/// So many rows stay together, with the sentence that introduces them.
const FIRST_ROWS: usize = 3;

impl Layouter<'_> {
    pub(super) fn listing(&mut self, text: &str, column: Column, parent: usize) -> Vec<FlowItem> {
        let style = TextStyle::new(Face::Mono, self.style.listing_size, Colour::BLACK);
        let quiet = TextStyle {
            colour: self.style.quiet,
            ..style
        };
        let lines: Vec<&str> = text
            .split('\n')
            .map(|line| line.trim_end_matches('\r'))
            .collect();
        let gutter = self.width_of(&lines.len().to_string(), quiet);
        let inner = column.inset(gutter + 9.0, 0.0);
        let block = self.element(Role::Paragraph, Some(parent), None);
        let leading = 1.15 * style.size;
        let mut slabs = Vec::with_capacity(lines.len());
        let count = lines.len();
        for (index, line) in lines.into_iter().enumerate() {
            let element = self.element(Role::Code, Some(block), None);
            let pieces = self.pieces(&untabbed(line), style);
            let rows = rows(pieces.collect(), inner.width);
            let last_row = rows.len().saturating_sub(1);
            for (row, pieces) in rows.into_iter().enumerate() {
                let mut parts: Vec<Part<'_>> = pieces
                    .into_iter()
                    .map(|piece| Part::Piece(Cow::Owned(piece)))
                    .collect();
                if row == last_row && !parts.is_empty() {
                    parts.push(Part::Space(style));
                }
                let mut slab = FlowItem {
                    height: if line.is_empty() {
                        EMPTY * leading
                    } else {
                        leading
                    },
                    ..FlowItem::default()
                };
                let mark = match row {
                    0 if line.is_empty() => String::new(),
                    0 => (index + 1).to_string(),
                    _ => RUN_ON.to_owned(),
                };
                let label = self.margin_mark(&mark, column.left + gutter, quiet);
                slab.take(label, 0.75 * leading);
                let set = self.place(&parts, inner.left, 0.0, Some(element));
                slab.take(set, 0.75 * leading);
                // The last line stays with the one before it.
                slab.kept = slabs.len() < FIRST_ROWS || row == 0 && index + 1 == count;
                slabs.push(slab);
            }
        }
        spaced(&mut slabs, self.style.paragraph_gap);
        slabs
    }

    /// Returns a line number or the like, flush right, as furniture.
    fn margin_mark(&mut self, text: &str, right: f32, style: TextStyle) -> SetLine {
        let pieces: Vec<Piece> = self.pieces(text, style).collect();
        let width: f32 = pieces.iter().map(|piece| piece.width).sum();
        let parts: Vec<Part<'_>> = pieces
            .into_iter()
            .map(|piece| Part::Piece(Cow::Owned(piece)))
            .collect();
        self.place(&parts, right - width, 0.0, None)
    }

    pub(super) fn width_of(&mut self, text: &str, style: TextStyle) -> f32 {
        self.pieces(text, style).map(|piece| piece.width).sum()
    }
}

/// Cuts a line between glyphs into rows no wider than `measure`.
fn rows(pieces: Vec<Piece>, measure: f32) -> Vec<Vec<Piece>> {
    let mut rows = vec![Vec::new()];
    let mut room = measure;
    for piece in pieces {
        if piece.width <= room {
            room -= piece.width;
            if let Some(row) = rows.last_mut() {
                row.push(piece);
            }
            continue;
        }
        let PieceContent::Glyphs(glyphs) = piece.ink else {
            continue;
        };
        // All but the glyphs, which are each in one row.
        let like = Piece {
            ink: PieceContent::Glyphs(Arc::default()),
            ..piece
        };
        let mut taken = Vec::new();
        let mut width = 0.0;
        let end = |glyphs: Vec<Glyph>, width: f32, rows: &mut Vec<Vec<Piece>>| {
            if let Some(row) = rows.last_mut() {
                row.push(Piece {
                    ink: PieceContent::Glyphs(glyphs.into()),
                    width,
                    ..like.clone()
                });
            }
        };
        for glyph in glyphs.iter().copied() {
            let advance = glyph.advance / 1000.0 * like.style.size;
            if width + advance > room && (width > 0.0 || room < measure) {
                let over = taken.split_off(break_before(&taken));
                let over_width: f32 = over
                    .iter()
                    .map(|glyph: &Glyph| glyph.advance / 1000.0 * like.style.size)
                    .sum();
                end(
                    std::mem::replace(&mut taken, over),
                    width - over_width,
                    &mut rows,
                );
                rows.push(Vec::new());
                width = over_width;
                room = measure;
            }
            width += advance;
            taken.push(glyph);
        }
        end(taken, width, &mut rows);
        room -= width;
    }
    rows
}

/// Returns where a full row had best end: after the last space, unless that is far back.
fn break_before(glyphs: &[Glyph]) -> usize {
    let count = glyphs.len();
    let space = glyphs
        .iter()
        .rposition(|glyph| &*glyph.text == " ")
        .map_or(0, |at| at + 1);
    if space + FARTHEST_BACK >= count && space > 0 {
        space
    } else {
        count
    }
}

fn untabbed(line: &str) -> String {
    let mut text = String::with_capacity(line.len());
    let mut column = 0;
    for c in line.chars() {
        let wide = if c == '\t' { TAB - column % TAB } else { 1 };
        if c == '\t' {
            text.extend(std::iter::repeat_n(' ', wide));
        } else {
            text.push(c);
        }
        column += wide;
    }
    text
}

#[cfg(test)]
mod tests {
    use super::untabbed;

    #[test]
    fn tabs_lead_to_their_stops() {
        assert_eq!(untabbed("a\tb\t\tc"), "a   b       c");
    }
}
