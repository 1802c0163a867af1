//! Gaps between groups of digits.
//!
//! A gap is no character, so that the number is copied and found as it is typed. It is as wide as it can be without being
//! taken for a space between words: those who read the text of a page (four programs were tried) find one in a gap of
//! 0.10 em or of 0.15 em, and a thin space has 0.17 em.

use std::sync::Arc;

use crate::maths::groups;
use crate::print::page::Glyph;

/// Width of a gap, 1/1000 em.
const GAP: f32 = 90.0;

/// Which digits a text has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Digits {
    /// Those of numbers among words.
    Among,
    /// Those before a point.
    Whole,
    /// A point, and those behind it.
    Fraction,
}

/// Returns whether a text may have a long number: few have.
pub(super) fn may_be_long(text: &str) -> bool {
    text.len() > groups::MOST + 1 && text.bytes().any(|byte| byte == b'.')
}

/// Puts gaps into the digits among glyphs; returns how much wider they are, em.
pub(super) fn widened(glyphs: &mut Arc<[Glyph]>, digits: Digits) -> f32 {
    let text: String = glyphs.iter().map(|glyph| &*glyph.text).collect();
    let first = text.find(|c: char| c.is_ascii_digit());
    let last = text.rfind(|c: char| c.is_ascii_digit());
    let (Some(first), Some(last)) = (first, last) else {
        return 0.0;
    };
    let gaps: Vec<usize> = match digits {
        Digits::Among => groups::gaps(&text, groups::MOST),
        Digits::Whole => groups::of_whole(first..last + 1).collect(),
        Digits::Fraction => groups::of_fraction(first..last + 1).collect(),
    };
    if gaps.is_empty() {
        return 0.0;
    }
    let mut end = 0;
    for glyph in Arc::make_mut(glyphs) {
        end += glyph.text.len();
        if gaps.contains(&end) {
            glyph.advance += GAP;
        }
    }
    GAP / 1000.0 * gaps.len() as f32
}
