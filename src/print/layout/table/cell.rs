//! Cells: read, measured and placed.

use std::borrow::Cow;

use super::Band;
use super::number::{Number, Wrapping};
use crate::print::layout::digits::Digits;
use crate::print::layout::fitting::fitted;
use crate::print::layout::flow_item::{FlowItem, SetLine};
use crate::print::layout::line::Part;
use crate::print::layout::paragraph::Fit;
use crate::print::layout::words::{BreakAfter, Piece, TextStyle, Word};
use crate::print::layout::{LayoutError, Layouter};
use crate::print::manuscript::Inline;
use crate::print::page::Face;

/// A cell, shaped.
pub(super) enum Cell {
    Number(ShapedNumber),
    Text(Vec<Word>),
}

/// The parts of a number, shaped.
pub(super) struct ShapedNumber {
    lead: Vec<Piece>,
    tail: Vec<Piece>,
    spread: Option<Spread>,
    rest: Vec<Piece>,
}

struct Spread {
    sign: Vec<Piece>,
    lead: Vec<Piece>,
    tail: Vec<Piece>,
}

/// Widths that the numbers of a column share, so that their points stand one below the other.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Points {
    lead: f32,
    tail: f32,
    sign: f32,
    spread_lead: f32,
    spread_tail: f32,
    /// Farthest end of any number, from the left of the block.
    overhang: f32,
    /// Rest after a spread.
    spread_rest: f32,
    /// Tail and rest of numbers without a spread.
    plain_end: f32,
    /// Whether digits stand in groups.
    pub(super) grouped: bool,
}

impl Points {
    /// Returns those of no number yet.
    pub(super) fn grouped(grouped: bool) -> Self {
        Self {
            grouped,
            ..Self::default()
        }
    }

    /// Makes room for a number.
    pub(super) fn include(&mut self, number: &ShapedNumber) {
        self.lead = self.lead.max(width(&number.lead));
        self.tail = self.tail.max(width(&number.tail));
        let rest = width(&number.rest);
        match &number.spread {
            Some(spread) => {
                self.sign = self.sign.max(width(&spread.sign));
                self.spread_lead = self.spread_lead.max(width(&spread.lead));
                let tail = width(&spread.tail);
                self.spread_tail = self.spread_tail.max(tail);
                self.spread_rest = self.spread_rest.max(tail + rest);
            }
            None => self.plain_end = self.plain_end.max(width(&number.tail) + rest),
        }
        let with_spread = if self.sign > 0.0 {
            self.second_point() + self.spread_tail.max(self.spread_rest)
        } else {
            0.0
        };
        self.overhang = with_spread.max(self.lead + self.plain_end.max(self.tail));
    }

    pub(super) fn width(&self) -> f32 {
        self.overhang
    }

    /// Returns the same for numbers so many times as large.
    pub(super) fn times(self, factor: f32) -> Self {
        Self {
            lead: self.lead * factor,
            tail: self.tail * factor,
            sign: self.sign * factor,
            spread_lead: self.spread_lead * factor,
            spread_tail: self.spread_tail * factor,
            overhang: self.overhang * factor,
            spread_rest: self.spread_rest * factor,
            plain_end: self.plain_end * factor,
            grouped: self.grouped,
        }
    }

    fn second_point(&self) -> f32 {
        self.lead + self.tail + self.sign + self.spread_lead
    }
}

impl Layouter<'_> {
    pub(super) fn cell(
        &mut self,
        inlines: &[Inline],
        number: Option<(Number<'_>, Wrapping)>,
        grouped: bool,
        style: TextStyle,
    ) -> Result<Cell, LayoutError> {
        if let Some((number, wrapping)) = number {
            let Wrapping {
                struck,
                bold,
                italic,
            } = wrapping;
            let face = if bold {
                Face::Bold
            } else if italic {
                Face::Italic
            } else {
                style.face
            };
            let style = TextStyle {
                face,
                struck: style.struck || struck,
                ..style
            };
            let mut shaped = |text: &str, digits: Option<Digits>| -> Vec<Piece> {
                if text.is_empty() {
                    return Vec::new();
                }
                let pieces = self.pieces(text, style);
                match digits.filter(|_| grouped) {
                    Some(digits) => pieces.map(|piece| piece.grouped(digits)).collect(),
                    None => pieces.collect(),
                }
            };
            let (whole, fraction) = (Some(Digits::Whole), Some(Digits::Fraction));
            return Ok(Cell::Number(ShapedNumber {
                lead: shaped(number.lead, whole),
                tail: shaped(number.tail, fraction),
                spread: number.spread.map(|(lead, tail)| Spread {
                    sign: shaped("\u{a0}±\u{a0}", None),
                    lead: shaped(lead, whole),
                    tail: shaped(tail, fraction),
                }),
                rest: shaped(&number.rest.replace(' ', "\u{a0}"), None),
            }));
        }
        Ok(Cell::Text(self.words(inlines, style)?))
    }

    /// Width of words on one line (or the widest of forced lines) and of the widest one.
    pub(super) fn extent(&self, words: &[Word]) -> (f32, f32) {
        let (mut whole, mut line, mut widest) = (0.0_f32, 0.0_f32, 0.0_f32);
        for (index, word) in words.iter().enumerate() {
            let width = word.width();
            widest = widest.max(width);
            line += width;
            whole = whole.max(line);
            match word.after {
                BreakAfter::Space(style) if index + 1 < words.len() => {
                    line += self.space_width(style);
                }
                BreakAfter::LineEnd => line = 0.0,
                _ => {}
            }
        }
        // A hair more, lest rounding break what was measured to fit.
        (whole + 0.01, widest + 0.01)
    }

    pub(super) fn cell_lines(
        &mut self,
        words: Vec<Word>,
        band: Band,
        fit: Fit,
        element: Option<usize>,
    ) -> Vec<SetLine> {
        let words = fitted(words, band.width);
        let lines = self.lines(&words, band.width, fit);
        lines
            .into_iter()
            .map(|line| {
                let spare = (band.width - self.width(&line.parts)).max(0.0);
                let x = if fit == Fit::Centred {
                    band.left + spare / 2.0
                } else {
                    band.left
                };
                let parts = line.with_last_space();
                self.place(&parts, x, 0.0, element)
            })
            .collect()
    }

    /// Returns what is no number in a column of numbers: flush right with their block.
    pub(super) fn flush_right(
        &mut self,
        words: Vec<Word>,
        band: Band,
        element: Option<usize>,
    ) -> Vec<SetLine> {
        let width = self.extent(&words).0;
        if width > band.width {
            return self.cell_lines(words, band, Fit::Ragged, element);
        }
        let block = band.points.width();
        let right = if block < width {
            band.width
        } else {
            f32::midpoint(band.width, block)
        };
        let band = Band {
            left: band.left + right - width,
            width,
            ..band
        };
        self.cell_lines(words, band, Fit::Ragged, element)
    }

    /// Sets a number in its column; the block of numbers is centred there.
    pub(super) fn place_number(
        &mut self,
        number: &ShapedNumber,
        band: Band,
        element: Option<usize>,
    ) -> SetLine {
        let points = band.points;
        let left = band.left + (band.width - points.width()).max(0.0) / 2.0;
        let point = left + points.lead;
        let mut set = SetLine::default();
        // The parts of a struck number are one struck number.
        let struck = number
            .lead
            .iter()
            .chain(&number.tail)
            .any(|p| p.style.struck);
        let element = if struck {
            self.struck(element)
        } else {
            element
        };
        // What touches is one run.
        let mut put = |x: f32, touching: &[&[Piece]]| {
            let pieces = touching.iter().copied().flatten();
            let parts = pieces.map(|piece| Part::Piece(Cow::Borrowed(piece)));
            self.place_on(&mut set, parts, x, 0.0, element);
        };
        let first = point - width(&number.lead);
        match &number.spread {
            Some(spread) => {
                put(first, &[&number.lead, &number.tail]);
                put(point + points.tail, &[&spread.sign]);
                let second = left + points.second_point() - width(&spread.lead);
                put(second, &[&spread.lead, &spread.tail, &number.rest]);
            }
            None => put(first, &[&number.lead, &number.tail, &number.rest]),
        }
        set
    }
}

/// Cells side by side as one strip: first lines on one baseline, or last ones for a head. What would be taller than
/// `tallest` becomes a strip for each line instead, so that a page can end in between.
pub(super) fn stacked(
    cells: Vec<Vec<SetLine>>,
    leading: f32,
    at_foot: bool,
    tallest: f32,
) -> Vec<FlowItem> {
    let most = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let mut above = vec![0.70 * leading; most];
    let mut below = vec![0.30 * leading; most];
    let first = |lines: &[SetLine]| if at_foot { most - lines.len() } else { 0 };
    for lines in &cells {
        for (index, line) in lines.iter().enumerate() {
            let row = first(lines) + index;
            above[row] = above[row].max(line.ascent + 0.1 * leading);
            below[row] = below[row].max(line.descent + 0.1 * leading);
        }
    }
    let divided = above.iter().chain(&below).sum::<f32>() > tallest;
    let mut slabs = vec![FlowItem::default(); if divided { most } else { 1 }];
    if !divided {
        let items = cells.iter().flatten().map(|line| line.items.len());
        slabs[0].items.reserve_exact(items.sum());
    }
    let mut places = Vec::with_capacity(most);
    for (index, (above, below)) in above.iter().zip(&below).enumerate() {
        let number = if divided { index } else { 0 };
        places.push((number, slabs[number].height + above));
        slabs[number].height += above + below;
    }
    for lines in cells {
        let start = first(&lines);
        for (line, (number, baseline)) in lines.into_iter().zip(places.iter().skip(start)) {
            slabs[*number].take(line, *baseline);
        }
    }
    slabs
}

fn width(pieces: &[Piece]) -> f32 {
    pieces.iter().map(|piece| piece.width).sum()
}
