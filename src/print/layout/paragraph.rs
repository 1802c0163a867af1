//! Breaks words into lines and makes strips of them.

use std::borrow::Cow;
use std::sync::Arc;

use textwrap::core::Fragment;
use textwrap::wrap_algorithms::{Penalties, wrap_first_fit, wrap_optimal_fit};

use super::fitting::fitted;
use super::flow_item::FlowItem;
use super::line::Part;
use super::syllables::{cuts, dividable, part_width, text_of};
use super::words::{BreakAfter, Piece, PieceContent, TextStyle, Word};
use super::{Column, Layouter};
use crate::print::page::SOFT_HYPHEN;

/// Costs in square points: a line's is the square of what it lacks to the measure.
const PENALTIES: Penalties = Penalties {
    nline_penalty: 200,
    // More than any gap can cost: a line is too long only if a single word is.
    overflow_penalty: 10_000_000,
    // Seen to by joining words, which this cost alone cannot ensure.
    short_last_line_fraction: 8,
    short_last_line_penalty: 0,
    hyphen_penalty: 350,
};

/// The spaces of a justified line may be narrower than their face has them by this factor: few words then need to be
/// divided, and few lines come out loose.
const SQUEEZED: f64 = 0.86;

/// Where more than one line in so many has spaces wider than their face has them by more than this share of the leading,
/// the paragraph is not justified.
const LOOSE_OF: usize = 4;
const LOOSEST: f32 = 0.36;
/// Nor where one line has wider ones than this: no line is ragged among straight ones.
const TORN: f32 = 1.0;

/// A last word shorter than this share of the measure does not stand alone.
const SHORT_LAST: f64 = 0.1;

/// How the lines of a paragraph are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    /// Both edges straight, save the last line.
    Justified,
    /// Left edge straight.
    Ragged,
    /// The same with lines of about one length, as of a title.
    Balanced,
    /// Each line centred.
    Centred,
}

/// A broken line.
#[derive(Debug)]
pub(super) struct Line<'w> {
    pub parts: Vec<Part<'w>>,
    /// It ends because the text or a forced line does, not for want of room.
    pub ends: bool,
    /// The space at which it was broken.
    broken_at: Option<TextStyle>,
}

impl<'w> Line<'w> {
    /// Returns the parts with the space at which the line was broken: without it, words of neighbouring lines would run
    /// into each other when copied.
    pub(super) fn with_last_space(mut self) -> Vec<Part<'w>> {
        self.parts.extend(self.broken_at.map(Part::Space));
        self.parts
    }
}

/// A word or a part of one, as the breaking sees it.
#[derive(Debug, Clone, Copy)]
struct BreakItem {
    word: usize,
    /// How many words it holds: two where a short last word must not stand alone.
    words: usize,
    /// Bytes of the word's text; the whole word if `divided` is not set.
    from: usize,
    to: usize,
    divided: bool,
    width: f64,
    space: f64,
    hyphen: f64,
}

impl Fragment for BreakItem {
    fn width(&self) -> f64 {
        self.width
    }
    fn whitespace_width(&self) -> f64 {
        self.space
    }
    fn penalty_width(&self) -> f64 {
        self.hyphen
    }
}

impl Layouter<'_> {
    /// Breaks words into lines no wider than `measure`; words that are wider themselves must have been divided by
    /// `fitted` before.
    pub(super) fn lines<'w>(&self, words: &'w [Word], measure: f32, fit: Fit) -> Vec<Line<'w>> {
        let mut lines = Vec::new();
        let mut start = 0;
        for end in 0..words.len() {
            if words[end].after == BreakAfter::LineEnd || end + 1 == words.len() {
                self.lines_between(words, start, end + 1, measure, fit, &mut lines);
                start = end + 1;
            }
        }
        lines
    }

    fn lines_between<'w>(
        &self,
        words: &'w [Word],
        start: usize,
        end: usize,
        measure: f32,
        fit: Fit,
        lines: &mut Vec<Line<'w>>,
    ) {
        let mut whole: Vec<BreakItem> =
            (start..end).map(|index| self.whole(words, index)).collect();
        let widths = [f64::from(measure)];
        let total: f64 = whole.iter().map(|grain| grain.width + grain.space).sum();
        if total <= widths[0] {
            lines.push(self.line(words, &whole, true));
            return;
        }
        join_short_last(&mut whole, widths[0]);
        let grains;
        let broken = if fit == Fit::Justified {
            for grain in &mut whole {
                grain.space *= SQUEEZED;
            }
            let first = optimal(&whole, widths[0]);
            if first
                .iter()
                .rev()
                .skip(1)
                .all(|line| is_good(line, widths[0]))
            {
                first
            } else {
                grains = self.divided(words, &whole);
                optimal(&grains, widths[0])
            }
        } else if fit == Fit::Balanced {
            balanced(&whole, widths[0])
        } else {
            wrap_first_fit(&whole, &widths)
        };
        let last = broken.len().saturating_sub(1);
        for (index, grains) in broken.into_iter().enumerate() {
            lines.push(self.line(words, grains, index == last));
        }
    }

    fn whole(&self, words: &[Word], index: usize) -> BreakItem {
        let word = &words[index];
        let space = match word.after {
            BreakAfter::Space(style) => self.space_width(style),
            BreakAfter::Nothing | BreakAfter::LineEnd => 0.0,
        };
        BreakItem {
            word: index,
            words: 1,
            from: 0,
            to: 0,
            divided: false,
            width: f64::from(word.width()),
            space: f64::from(space),
            hyphen: 0.0,
        }
    }

    /// Returns the words divided where English allows a hyphen.
    fn divided(&self, words: &[Word], whole: &[BreakItem]) -> Vec<BreakItem> {
        let mut grains = Vec::with_capacity(whole.len() * 2);
        for grain in whole {
            let text = if grain.words == 1 {
                dividable(&words[grain.word])
            } else {
                None
            };
            let cuts = text.as_deref().map(cuts).unwrap_or_default();
            let (Some(text), Some(piece)) = (text, words[grain.word].pieces.first()) else {
                grains.push(*grain);
                continue;
            };
            if cuts.is_empty() {
                grains.push(*grain);
                continue;
            }
            let hyphen = f64::from(self.shaped_width("-", piece.style));
            let mut from = 0;
            for to in cuts.iter().copied().chain([text.len()]) {
                let last = to == text.len();
                let width = part_width(piece, from..to)
                    .unwrap_or_else(|| self.shaped_width(&text[from..to], piece.style));
                grains.push(BreakItem {
                    from,
                    to,
                    divided: true,
                    width: f64::from(width),
                    space: if last { grain.space } else { 0.0 },
                    hyphen: if last { 0.0 } else { hyphen },
                    ..*grain
                });
                from = to;
            }
        }
        grains
    }

    fn shaped_width(&self, text: &str, style: TextStyle) -> f32 {
        self.typefaces.shape(style.face, style.forms, text).width * style.size
    }

    fn line<'w>(&self, words: &'w [Word], grains: &[BreakItem], ends: bool) -> Line<'w> {
        let mut parts = Vec::with_capacity(grains.len() * 2);
        let mut broken_at = None;
        let mut at = 0;
        while let Some(first) = grains.get(at) {
            let same = grains[at..]
                .iter()
                .take_while(|grain| grain.word == first.word)
                .count();
            let last = &grains[at + same - 1];
            at += same;
            let held = &words[first.word..first.word + first.words];
            for (index, word) in held.iter().enumerate() {
                if first.divided {
                    parts.extend(
                        self.part_of(word, first.from, last)
                            .map(|piece| Part::Piece(Cow::Owned(piece))),
                    );
                } else {
                    parts.extend(
                        word.pieces
                            .iter()
                            .map(|piece| Part::Piece(Cow::Borrowed(piece))),
                    );
                }
                let BreakAfter::Space(style) = word.after else {
                    continue;
                };
                if last.hyphen > 0.0 {
                    continue;
                }
                if at < grains.len() || index + 1 < held.len() {
                    parts.push(Part::Space(style));
                } else {
                    broken_at = Some(style);
                }
            }
        }
        Line {
            parts,
            ends,
            broken_at: broken_at.filter(|_| !ends),
        }
    }

    /// Returns the part of a divided word from a byte on to the end of `last`, with a hyphen if the word goes on.
    fn part_of(&self, word: &Word, from: usize, last: &BreakItem) -> Option<Piece> {
        let piece = word.pieces.first()?;
        let text = text_of(piece)?;
        let mut part = text.get(from..last.to)?.to_owned();
        if last.hyphen > 0.0 {
            part.push('-');
        }
        let mut shaped = self
            .typefaces
            .shape(piece.style.face, piece.style.forms, &part);
        if last.hyphen > 0.0
            && let Some(last) = Arc::make_mut(&mut shaped.glyphs).last_mut()
        {
            last.text = SOFT_HYPHEN;
        }
        Some(Piece {
            width: shaped.width * piece.style.size,
            ink: PieceContent::Glyphs(shaped.glyphs),
            ..piece.clone()
        })
    }

    /// Returns a paragraph as strips, one a line; two lines stay together at both ends.
    pub(super) fn paragraph(
        &mut self,
        words: Vec<Word>,
        column: Column,
        leading: f32,
        fit: Fit,
        element: usize,
    ) -> Vec<FlowItem> {
        let words = fitted(words, column.width);
        let mut fit = fit;
        let mut lines = self.lines(&words, column.width, fit);
        if fit == Fit::Justified && self.is_loose(&lines, column, leading) {
            fit = Fit::Ragged;
            lines = self.lines(&words, column.width, fit);
        }
        let count = lines.len();
        let mut slabs = Vec::with_capacity(count);
        for (index, line) in lines.into_iter().enumerate() {
            let mut slab = self.strip(line, column, leading, fit, element);
            slab.kept = index == 1 || (index > 0 && index + 1 == count);
            slabs.push(slab);
        }
        slabs
    }

    /// Returns whether justified lines would be torn apart, one of them or many.
    fn is_loose(&self, lines: &[Line<'_>], column: Column, leading: f32) -> bool {
        let full = lines.iter().filter(|line| !line.ends);
        let stretches: Vec<f32> = full.map(|line| self.stretch(line, column)).collect();
        let beyond = |most: f32| stretches.iter().filter(|by| **by > most * leading).count();
        beyond(TORN) > 0 || LOOSE_OF * beyond(LOOSEST) > stretches.len()
    }

    /// Returns by how much the spaces of a justified line are wider than their face has them, negative if narrower.
    fn stretch(&self, line: &Line<'_>, column: Column) -> f32 {
        let gap = column.width - self.width(&line.parts);
        let spaces = line.parts.iter();
        let spaces = spaces.filter(|part| matches!(part, Part::Space(_))).count();
        match spaces {
            0 if gap > 0.0 => f32::INFINITY,
            0 => 0.0,
            // The last line is squeezed, too, but not stretched.
            _ if line.ends => (gap / spaces as f32).min(0.0),
            _ => gap / spaces as f32,
        }
    }

    fn strip(
        &mut self,
        line: Line<'_>,
        column: Column,
        leading: f32,
        fit: Fit,
        element: usize,
    ) -> FlowItem {
        let stretch = match fit {
            Fit::Justified => self.stretch(&line, column),
            Fit::Ragged | Fit::Balanced | Fit::Centred => 0.0,
        };
        let x = if fit == Fit::Centred {
            column.left + (column.width - self.width(&line.parts)).max(0.0) / 2.0
        } else {
            column.left
        };
        let set = self.place(&line.with_last_space(), x, stretch, Some(element));
        let above = (0.69 * leading).max(set.ascent + 0.1 * leading);
        let below = (0.31 * leading).max(set.descent + 0.08 * leading);
        let mut slab = FlowItem {
            height: above + below,
            ..FlowItem::default()
        };
        slab.take(set, above);
        slab
    }
}

/// Returns no more lines than the measure needs, in the narrowest measure that makes no more of them, to a point.
fn balanced(words: &[BreakItem], measure: f64) -> Vec<&[BreakItem]> {
    let fitted = |measure: f64| wrap_first_fit(words, &[measure]);
    let count = fitted(measure).len();
    let (mut narrow, mut wide) = (0.0, measure);
    while wide - narrow > 1.0 {
        let between = f64::midpoint(narrow, wide);
        if fitted(between).len() > count {
            narrow = between;
        } else {
            wide = between;
        }
    }
    fitted(wide)
}

/// Joins a short last word to the one before it, so that it does not make a line of its own.
fn join_short_last(grains: &mut Vec<BreakItem>, measure: f64) {
    let [.., before, last] = grains.as_mut_slice() else {
        return;
    };
    let joined = before.width + before.space + last.width;
    if last.width < SHORT_LAST * measure && before.space > 0.0 && joined < 0.4 * measure {
        *before = BreakItem {
            words: 2,
            width: joined,
            space: last.space,
            ..*before
        };
        grains.pop();
    }
}

fn optimal(grains: &[BreakItem], measure: f64) -> Vec<&[BreakItem]> {
    let measures = [measure];
    // It fails on infinite widths only, which shaping does not yield; greedy lines would then do.
    wrap_optimal_fit(grains, &measures, &PENALTIES)
        .unwrap_or_else(|_| wrap_first_fit(grains, &measures))
}

/// Returns whether the spaces of a justified line need not become much wider.
fn is_good(line: &[BreakItem], measure: f64) -> bool {
    let spaces: Vec<f64> = line
        .iter()
        .map(|grain| grain.space)
        .filter(|space| *space > 0.0)
        .collect();
    let inner = spaces.len().saturating_sub(1).max(1) as f64;
    let last = line.last().map_or(0.0, |grain| grain.space);
    let natural: f64 = line
        .iter()
        .map(|grain| grain.width + grain.space)
        .sum::<f64>()
        - last;
    let space = spaces.first().copied().unwrap_or(1.0);
    (measure - natural) / inner < space
}
