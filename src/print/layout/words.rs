//! Words: pieces of set text between two places where a line may end.

use std::rc::Rc;
use std::sync::Arc;

use super::digits::{Digits, widened};
use super::maths::SetFormula;
use crate::print::page::{Colour, Face, Glyph};
use crate::print::typeface::Forms;

/// How a stretch of text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TextStyle {
    pub face: Face,
    pub size: f32,
    pub forms: Forms,
    pub colour: Colour,
    pub struck: bool,
}

impl TextStyle {
    pub(super) fn new(face: Face, size: f32, colour: Colour) -> Self {
        Self {
            face,
            size,
            forms: Forms::default(),
            colour,
            struck: false,
        }
    }
}

/// Something on a baseline that is not divided while lines are broken.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub ink: PieceContent,
    pub width: f32,
    /// Set when the piece is a link to that label.
    pub link: Option<Rc<str>>,
    pub style: TextStyle,
}

impl Piece {
    /// Returns the piece with gaps between groups of its digits.
    pub(super) fn grouped(mut self, digits: Digits) -> Self {
        if let PieceContent::Glyphs(glyphs) = &mut self.ink {
            self.width += widened(glyphs, digits) * self.style.size;
        }
        self
    }
}

#[derive(Debug, Clone)]
pub(super) enum PieceContent {
    Glyphs(Arc<[Glyph]>),
    /// A formula, a box to tick or a cell.
    Formula(Arc<SetFormula>),
}

/// What stands between a word and the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum BreakAfter {
    /// A space, where the line may end.
    Space(TextStyle),
    /// Nothing, yet the line may end here.
    Nothing,
    /// The line ends here.
    LineEnd,
}

/// Pieces between two places where a line may end.
#[derive(Debug, Clone)]
pub(super) struct Word {
    pub pieces: Vec<Piece>,
    pub after: BreakAfter,
}

impl Word {
    pub(super) fn width(&self) -> f32 {
        self.pieces.iter().map(|piece| piece.width).sum()
    }
}
