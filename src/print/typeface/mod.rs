//! The faces, shaped and measured.
//!
//! Faces come from `typst-assets`: Libertinus Serif for text, `DejaVu` Sans Mono for entries as written and
//! New Computer Modern Math for the signs of mathematics.

mod assets;
mod outline;
mod pairs;
mod shape;
mod shaper;

use std::sync::{Arc, LazyLock, OnceLock};
use std::vec;

use self::shape::LoadedFace;
#[cfg(test)]
pub(crate) use self::shape::SHAPED;
use crate::print::page::{Face, Glyph, GlyphText, Step};

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

/// How far the ink of a glyph or a text reaches, em.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ink {
    /// Above the baseline.
    pub above: f32,
    /// Below the baseline.
    pub below: f32,
    /// Beyond the point to which the pen moves; less than nothing where it does not reach it.
    pub beyond: f32,
}

/// A shaped piece of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaped {
    /// Its glyphs with their advances, 1/1000 em.
    pub glyphs: Arc<[Glyph]>,
    /// Sum of the advances, em.
    pub width: f32,
    /// Characters the face has no glyph for (shown as a box); empty when all is well.
    pub missing: Vec<char>,
}

/// Runs of one face each, in reading order: nearly always a single one, for which nothing is allocated.
#[derive(Debug)]
pub struct Runs(Option<(Face, Shaped)>, vec::IntoIter<(Face, Shaped)>);

impl Iterator for Runs {
    type Item = (Face, Shaped);

    fn next(&mut self) -> Option<Self::Item> {
        self.0.take().or_else(|| self.1.next())
    }
}

/// The faces, loaded when first asked for, with their shaping plans and a store of shaped words.
///
/// May be shared between threads.
#[derive(Debug)]
pub struct Typefaces {
    faces: [OnceLock<LoadedFace>; 5],
}

impl Typefaces {
    /// Makes the faces available; reads none of them yet.
    pub fn load() -> Self {
        Self {
            faces: [const { OnceLock::new() }; 5],
        }
    }

    /// Returns the faces that all of the process shares, so that many reports load and shape once what they have in
    /// common.
    pub fn shared() -> &'static Self {
        static SHARED: LazyLock<Typefaces> = LazyLock::new(Typefaces::load);
        &SHARED
    }

    /// Returns the whole font file of a face.
    pub fn data(&self, face: Face) -> &'static [u8] {
        assets::data(face)
    }

    /// Returns the name under which a face's font file is known (its `PostScript` name).
    pub fn name(&self, face: Face) -> &'static str {
        assets::postscript_name(face)
    }

    /// Heights of a face.
    pub fn heights(&self, face: Face) -> Heights {
        self.loaded(face).heights()
    }

    /// Returns how far the pen moves after a glyph when nothing kerns or stretches it, 1/1000 em; a whole number.
    pub fn advance(&self, face: Face, glyph: u16) -> f32 {
        self.loaded(face).advance(glyph)
    }

    /// Returns the outline of a glyph, 1/1000 em from its origin, y downward; empty for one that shows nothing.
    pub fn outline(&self, face: Face, glyph: u16) -> Vec<Step> {
        self.loaded(face).outline(glyph)
    }

    /// Returns how far the ink of a text reaches: above and below not less than the baseline, at the end that of the
    /// last glyph.
    pub fn ink(&self, face: Face, glyphs: &[Glyph]) -> Ink {
        let inks = glyphs.iter().map(|glyph| self.loaded(face).ink(glyph.id));
        inks.fold(Ink::default(), |before, ink| Ink {
            above: before.above.max(ink.above),
            below: before.below.max(ink.below),
            beyond: ink.beyond,
        })
    }

    /// Returns the text that a glyph of the mathematical face stands for; empty for the parts of a stretched glyph that
    /// say nothing of their own. Letters in mathematical styles come back as they are typed (𝜌 as ρ), size variants as
    /// the character they enlarge.
    #[must_use]
    pub fn math_text(&self, glyph: u16) -> GlyphText {
        /// Written by `src/build/glyph_characters.rs`, which describes the format.
        static CHARACTERS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/glyph_characters"));
        let number = CHARACTERS.as_chunks().0.get(usize::from(glyph));
        let number = number.map_or(0, |number| u32::from_le_bytes(*number));
        char::from_u32(number)
            .filter(|_| number != 0)
            .map(GlyphText::from)
            .unwrap_or_default()
    }

    /// Shapes one word or one piece of text without line breaks: kerning, ligatures, optional forms. Characters that
    /// the face lacks fall back to another face only in [`Typefaces::shape_runs`]; here they are listed as missing.
    ///
    /// A glyph that a character shares with others of its cluster carries the text of the whole cluster, the others
    /// of it an empty one. Invisible characters (soft hyphens, joiners) leave no glyph.
    pub fn shape(&self, face: Face, forms: Forms, text: &str) -> Shaped {
        self.loaded(face).shape(forms, text)
    }

    /// Shapes text that may need several faces: characters that `face` lacks are taken from the first of the others
    /// that has them. Pieces are in reading order.
    pub fn shape_runs(&self, face: Face, forms: Forms, text: &str) -> Vec<(Face, Shaped)> {
        let whole = self.shape(face, forms, text);
        if whole.missing.is_empty() {
            return vec![(face, whole)];
        }
        self.divided(face, forms, text, &whole)
    }

    /// Shapes a text whose characters one face does not all have, as is known from what that face made of it.
    fn divided(&self, face: Face, forms: Forms, text: &str, whole: &Shaped) -> Vec<(Face, Shaped)> {
        // Only what the shaper reported is moved: it may know how to set a character whose glyph the face lacks.
        let mut pieces: Vec<(Face, &str)> = Vec::new();
        let mut start = 0;
        for (at, character) in text.char_indices() {
            let end = at + character.len_utf8();
            let needed = if whole.missing.contains(&character) {
                self.stand_in(face, character)
            } else {
                face
            };
            match pieces.last_mut() {
                Some((last, piece)) if *last == needed => *piece = &text[start..end],
                _ => {
                    start = at;
                    pieces.push((needed, &text[at..end]));
                }
            }
        }
        pieces
            .into_iter()
            .map(|(needed, piece)| (needed, self.shape(needed, forms, piece)))
            .collect()
    }

    /// Returns the same with the sign of U+FFFD for characters that no face has, which are given back, sorted: a reader
    /// sees that one is missing, and no glyph in a file is the one that stands for none. It still says what it stands
    /// for, so that a search finds it.
    pub fn shape_shown(&self, face: Face, forms: Forms, text: &str) -> (Runs, Vec<char>) {
        let whole = self.shape(face, forms, text);
        if whole.missing.is_empty() {
            return (
                Runs(Some((face, whole)), Vec::new().into_iter()),
                Vec::new(),
            );
        }
        let runs = self.divided(face, forms, text, &whole);
        let mut lacking: Vec<char> = runs
            .iter()
            .flat_map(|(_, shaped)| shaped.missing.iter().copied())
            .collect();
        if lacking.is_empty() {
            return (Runs(None, runs.into_iter()), lacking);
        }
        lacking.sort_unstable();
        let shown = |c: char| match lacking.binary_search(&c) {
            Ok(_) => '\u{fffd}',
            Err(_) => c,
        };
        let replaced: String = text.chars().map(shown).collect();
        let mut meant = text.chars().filter(|c| shown(*c) == '\u{fffd}');
        let mut runs = self.shape_runs(face, forms, &replaced);
        let glyphs = runs
            .iter_mut()
            .flat_map(|(_, shaped)| Arc::make_mut(&mut shaped.glyphs));
        for glyph in glyphs.filter(|glyph| &*glyph.text == "\u{fffd}") {
            if let Some(meant) = meant.next() {
                glyph.text = meant.into();
            }
        }
        (Runs(None, runs.into_iter()), lacking)
    }

    /// Returns the face that has a character which `face` lacks; `face` itself if none has.
    fn stand_in(&self, face: Face, character: char) -> Face {
        assets::FACES
            .into_iter()
            .find(|other| self.loaded(*other).has(character))
            .unwrap_or(face)
    }

    fn loaded(&self, face: Face) -> &LoadedFace {
        self.faces[face as usize].get_or_init(|| {
            LoadedFace::parse(face, assets::data(face))
                .expect("the assets carry every face (a test sees to it)")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Forms = Forms {
        tabular: false,
        small_capitals: false,
    };

    fn texts(shaped: &Shaped) -> Vec<&str> {
        shaped.glyphs.iter().map(|glyph| &*glyph.text).collect()
    }

    #[test]
    fn a_ligature_carries_all_its_letters() {
        let shaped = Typefaces::load().shape(Face::Regular, PLAIN, "office");
        assert_eq!(texts(&shaped).concat(), "office");
        assert!(shaped.glyphs.len() < "office".len());
    }

    #[test]
    fn letters_are_kerned() {
        let faces = Typefaces::load();
        let apart = faces.shape(Face::Regular, PLAIN, "A").width
            + faces.shape(Face::Regular, PLAIN, "V").width;
        assert!(faces.shape(Face::Regular, PLAIN, "AV").width < apart - 0.05);
    }

    #[test]
    fn the_width_is_the_sum_of_the_advances_as_written_to_the_pdf() {
        let shaped = Typefaces::load().shape(Face::Mono, PLAIN, "5.00");
        // 1233 of 2048 units are 602.05 thousandths.
        assert!(
            shaped
                .glyphs
                .iter()
                .all(|glyph| (glyph.advance - 602.0).abs() < f32::EPSILON)
        );
        assert!((shaped.width - 4.0 * 0.602).abs() < 1e-6);
    }

    #[test]
    fn what_no_face_has_is_seen_to_be_missing_and_still_found() {
        let (runs, lacking) = Typefaces::load().shape_shown(Face::Regular, PLAIN, "a漢b字");
        assert_eq!(lacking, ['字', '漢']);
        let runs: Vec<_> = runs.collect();
        let glyphs = runs.iter().flat_map(|(_, shaped)| shaped.glyphs.iter());
        let glyphs: Vec<(bool, &str)> = glyphs.map(|glyph| (glyph.id != 0, &*glyph.text)).collect();
        assert_eq!(
            glyphs,
            [(true, "a"), (true, "漢"), (true, "b"), (true, "字")]
        );
    }

    #[test]
    fn tabular_figures_have_one_width_alone_and_together() {
        let faces = Typefaces::load();
        let tabular = Forms {
            tabular: true,
            ..PLAIN
        };
        let one = faces.shape(Face::Regular, tabular, "1").width;
        for number in ["0", "4", "7"] {
            assert!(
                (faces.shape(Face::Regular, tabular, number).width - one).abs() < 1e-6,
                "{number}"
            );
        }
        let point = faces.shape(Face::Regular, tabular, ".").width;
        for number in ["11.11", "74.71", "47.07", "10.14"] {
            let width = faces.shape(Face::Regular, tabular, number).width;
            assert!(
                (width - 4.0 * one - point).abs() < 1e-5,
                "{number}: {width}"
            );
        }
    }

    #[test]
    fn spaces_of_every_kind_are_set() {
        let shaped = Typefaces::load().shape(Face::Regular, PLAIN, "5\u{a0}g\u{202f}m\u{2009}s\tt");
        assert_eq!(shaped.missing, []);
        assert_eq!(texts(&shaped).concat(), "5\u{a0}g\u{202f}m\u{2009}s t");
    }

    #[test]
    fn what_no_face_has_is_reported() {
        let shaped = Typefaces::load().shape(Face::Regular, PLAIN, "a漢b");
        assert_eq!(shaped.missing, ['漢']);
    }

    #[test]
    fn another_face_stands_in() {
        let faces = Typefaces::load();
        let runs = faces.shape_runs(Face::Regular, PLAIN, "a\u{2a0c}b");
        let summary: Vec<_> = runs
            .iter()
            .map(|(face, shaped)| (*face, texts(shaped).concat()))
            .collect();
        assert!(
            runs.iter().all(|(_, shaped)| shaped.missing.is_empty()),
            "{summary:?}"
        );
        assert_eq!(summary[0], (Face::Regular, "a".into()));
        assert_eq!(summary[1], (Face::Math, "\u{2a0c}".into()));
        assert_eq!(summary[2], (Face::Regular, "b".into()));
    }

    #[test]
    fn neighbours_from_one_face_stay_together() {
        let runs = Typefaces::load().shape_runs(Face::Regular, PLAIN, "ab\u{2a0c}\u{2a0c}cd");
        let lengths: Vec<_> = runs
            .iter()
            .map(|(_, shaped)| texts(shaped).concat())
            .collect();
        assert_eq!(lengths, ["ab", "\u{2a0c}\u{2a0c}", "cd"]);
    }

    #[test]
    fn an_accent_of_its_own_joins_its_letter() {
        let runs = Typefaces::load().shape_runs(Face::Regular, PLAIN, "e\u{301}");
        assert_eq!(runs.len(), 1);
        assert!(runs[0].1.missing.is_empty());
    }

    #[test]
    fn an_accent_without_a_composed_letter_is_set_over_it() {
        let faces = Typefaces::load();
        let shaped = faces.shape(Face::Regular, PLAIN, "q\u{301}");
        assert_eq!(shaped.glyphs.len(), 2);
        assert!((shaped.width - faces.shape(Face::Regular, PLAIN, "q").width).abs() < 1e-6);
        // The pen goes back to where the accent belongs.
        assert!(
            shaped.glyphs[0].advance < faces.advance(Face::Regular, shaped.glyphs[0].id) - 50.0
        );
    }

    #[test]
    fn mathematical_glyphs_speak_plainly() {
        let faces = Typefaces::load();
        let parsed = rustybuzz::Face::from_slice(faces.data(Face::Math), 0).unwrap();
        for (glyph_of, text) in [
            ('\u{1d70c}', "ρ"),
            ('\u{1d465}', "x"),
            ('ℎ', "h"),
            ('√', "√"),
            ('Δ', "Δ"),
            ('−', "−"),
        ] {
            assert_eq!(
                &*faces.math_text(parsed.glyph_index(glyph_of).unwrap().0),
                text
            );
        }
        let parenthesis = parsed.glyph_index('(').unwrap();
        let variants = parsed.tables().math.unwrap().variants.unwrap();
        let tallest = variants
            .vertical_constructions
            .get(parenthesis)
            .unwrap()
            .variants
            .last()
            .unwrap();
        assert_ne!(tallest.variant_glyph, parenthesis);
        assert_eq!(&*faces.math_text(tallest.variant_glyph.0), "(");
    }
}
