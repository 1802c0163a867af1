//! The faces, shaped and measured.
//!
//! Faces come from `typst-assets`: Libertinus Serif for text, `DejaVu` Sans Mono for entries as written and
//! New Computer Modern Math for mathematics.

use crate::page::{Face, Glyph};

/// Which optional forms of a face are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Forms {
    /// Figures of one width (`tnum`), for tables.
    pub tabular: bool,
    /// Small capitals (`smcp`) for lower-case letters.
    pub small_capitals: bool,
}

/// Heights of a face, in em; all positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heights {
    /// Above the baseline.
    pub ascent: f32,
    /// Below the baseline.
    pub descent: f32,
    /// Of a capital.
    pub capital: f32,
    /// Of an x.
    pub x: f32,
}

/// A shaped piece of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaped {
    /// Its glyphs with their advances, 1/1000 em.
    pub glyphs: Vec<Glyph>,
    /// Sum of the advances, em.
    pub width: f32,
    /// Characters the face has no glyph for (shown as a box); empty when all is well.
    pub missing: Vec<char>,
}

/// All faces, loaded once, with their shaping plans and a cache of shaped words.
#[derive(Debug)]
pub struct Typefaces {}

impl Typefaces {
    /// Loads the faces.
    #[must_use]
    pub fn load() -> Self {
        Self {}
    }

    /// The whole font file of a face.
    #[must_use]
    pub fn data(&self, face: Face) -> &'static [u8] {
        let _ = face;
        &[]
    }

    /// Heights of a face.
    #[must_use]
    pub fn heights(&self, face: Face) -> Heights {
        let _ = face;
        Heights {
            ascent: 0.0,
            descent: 0.0,
            capital: 0.0,
            x: 0.0,
        }
    }

    /// Shapes one word or one piece of text without line breaks: kerning, ligatures, optional forms. Characters that
    /// the face lacks fall back to another face only in [`Typefaces::shape_runs`]; here they are listed as missing.
    #[must_use]
    pub fn shape(&self, face: Face, forms: Forms, text: &str) -> Shaped {
        let _ = (face, forms, text);
        Shaped {
            glyphs: Vec::<Glyph>::new(),
            width: 0.0,
            missing: Vec::new(),
        }
    }

    /// Shapes text that may need several faces: characters that `face` lacks are taken from the first of the others
    /// that has them. Pieces are in reading order.
    #[must_use]
    pub fn shape_runs(&self, face: Face, forms: Forms, text: &str) -> Vec<(Face, Shaped)> {
        vec![(face, self.shape(face, forms, text))]
    }
}
