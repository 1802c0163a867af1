//! Text set from tables of characters and kerns that the build script computed.

use super::shaper::{JOINED, PLAIN, SETTINGS};
use crate::print::page::{Glyph, GlyphText};

/// Written by `src/build/pairs.rs`, which describes the format.
static TABLES: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/pairs"));

/// The plain characters of a face with some features, and their kerns.
pub(super) struct Pairs {
    /// The glyph of each character with its own advance, unless it is not set as one.
    glyphs: Vec<Option<Glyph>>,
    kerns: &'static [u8],
    /// A unit of the face, 1/1000 em.
    unit: f32,
}

impl Pairs {
    /// Returns those of a face, by its `PostScript` name, with some features; `None` if they are not among [`SETTINGS`].
    /// `advance` is how far the pen moves after a glyph, and `unit` a unit of the face, both in 1/1000 em.
    pub(super) fn new(
        name: &str,
        features: &[&str],
        unit: f32,
        advance: impl Fn(u16) -> f32,
    ) -> Option<Self> {
        let place = SETTINGS
            .iter()
            .position(|setting| *setting == (name, features))?;
        let count = PLAIN.chars().count();
        let size = 2 * count * (2 + count);
        let (glyphs, kerns) = TABLES
            .get(place * size..(place + 1) * size)?
            .split_at(4 * count);
        let glyph = |(character, entry): (char, &[u8; 4])| {
            let [id, excess] = [[entry[0], entry[1]], [entry[2], entry[3]]];
            let id = u16::from_le_bytes(id);
            (id != 0).then(|| Glyph {
                id,
                advance: advance(id) + f32::from(i16::from_le_bytes(excess)) * unit,
                text: GlyphText::from(character),
            })
        };
        Some(Self {
            glyphs: PLAIN.chars().zip(glyphs.as_chunks().0).map(glyph).collect(),
            kerns,
            unit,
        })
    }

    /// Returns the glyphs of a text; `None` if it has other characters, or two that are not set one by one.
    pub(super) fn set(&self, text: &str) -> Option<Vec<Glyph>> {
        let mut glyphs: Vec<Glyph> = Vec::with_capacity(text.len());
        let mut before = 0;
        for character in text.chars() {
            let at = place(character)?;
            if let Some(last) = glyphs.last_mut() {
                let kern = self.kern(before, at)?;
                last.advance += f32::from(kern) * self.unit;
            }
            glyphs.push(self.glyphs[at]?);
            before = at;
        }
        Some(glyphs)
    }

    /// The kern of a character before another, by their places, in units of the face.
    fn kern(&self, first: usize, second: usize) -> Option<i16> {
        let at = 2 * (first * self.glyphs.len() + second);
        let kern = i16::from_le_bytes(*self.kerns.get(at..)?.first_chunk()?);
        (kern != JOINED).then_some(kern)
    }
}

/// Returns the place of a character in [`PLAIN`].
fn place(character: char) -> Option<usize> {
    /// The first characters of it, of ASCII.
    const FIRST: std::ops::RangeInclusive<char> = ' '..='~';
    const ASCII: usize = 95;
    if FIRST.contains(&character) {
        return Some(character as usize - ' ' as usize);
    }
    let others = PLAIN[ASCII..].chars();
    Some(ASCII + others.into_iter().position(|other| other == character)?)
}
