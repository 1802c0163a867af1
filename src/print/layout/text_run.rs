//! Text of the text faces in formulas.
//!
//! `formulary` knows one face only. A run of another is handed to it as a box of the run's size around a glyph whose ink says
//! which run it stands for.

use std::sync::Arc;

use formulary::ast::{Color, Length, Node, StyleOverrides};

use super::digits::{Digits, may_be_long, widened};
use crate::maths::superscript::raised;
use crate::print::page::{Face, Glyph, GlyphText};
use crate::print::typeface::{Forms, Ink, Typefaces};

/// A run of a text face in a formula.
#[derive(Debug, Clone)]
pub(super) struct TextRun {
    pub face: Face,
    pub glyphs: Arc<[Glyph]>,
}

/// The first of the inks by which runs are known.
const FIRST: u32 = 0x80_0000;

/// The glyphs that stand for a run: two, as by one that stands alone `formulary` would move scripts and accents.
const STANDS_FOR: &str = "00";

/// Returns the ink of the glyphs that stand for a run.
fn ink(run: usize) -> Color {
    let [_, red, green, blue] = (FIRST + run as u32).to_be_bytes();
    Color::rgb(red, green, blue)
}

/// Returns the run that a glyph of an ink stands for.
pub(super) fn run_of(ink: Option<Color>) -> Option<usize> {
    let ink = ink?;
    let number = u32::from_be_bytes([0, ink.r, ink.g, ink.b]);
    number.checked_sub(FIRST).map(|run| run as usize)
}

/// The text runs of a formula.
pub(super) struct TextRuns<'a> {
    typefaces: &'a Typefaces,
    runs: Vec<TextRun>,
}

impl<'a> TextRuns<'a> {
    pub(super) fn new(typefaces: &'a Typefaces) -> Self {
        Self {
            typefaces,
            runs: Vec::new(),
        }
    }

    pub(super) fn into_runs(self) -> Vec<TextRun> {
        self.runs
    }

    /// Returns the node of a text, if the face has all of its characters. A power is copied as one, not as digits more.
    pub(super) fn node(&mut self, face: Face, text: &str, is_power: bool) -> Option<Node> {
        let shaped = self.typefaces.shape(face, Forms::default(), text);
        if !shaped.missing.is_empty() || shaped.glyphs.is_empty() {
            return None;
        }
        let Ink { above, below, .. } = self.typefaces.ink(face, &shaped.glyphs);
        let mut glyphs = shaped.glyphs;
        let mut width = shaped.width;
        if may_be_long(text) {
            width += widened(&mut glyphs, Digits::Among);
        }
        if is_power {
            for glyph in Arc::make_mut(&mut glyphs) {
                glyph.text = GlyphText::new(&raised(&glyph.text));
            }
        }
        let styles = StyleOverrides {
            color: Some(ink(self.runs.len())),
            ..StyleOverrides::default()
        };
        self.runs.push(TextRun { face, glyphs });
        Some(Node::Padded {
            width: Some(Length::Em(width)),
            height: Some(Length::Em(above)),
            depth: Some(Length::Em(below)),
            lspace: None,
            voffset: None,
            children: vec![Node::Styled {
                styles,
                children: vec![Node::Identifier(STANDS_FOR.to_owned())],
            }],
        })
    }

    /// Returns how far an italic letter reaches beyond its width, ems.
    pub(super) fn lean(&self, letter: char) -> f32 {
        let mut buffer = [0; 4];
        let text = letter.encode_utf8(&mut buffer);
        let shaped = self.typefaces.shape(Face::Italic, Forms::default(), text);
        let ink = self.typefaces.ink(Face::Italic, &shaped.glyphs);
        ink.beyond.max(0.0)
    }
}
