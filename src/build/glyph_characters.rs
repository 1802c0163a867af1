//! From the glyphs of a mathematical face back to the characters they stand for.
//!
//! Mathematics is set by glyph, not by character: a tall parenthesis has no code point of its own. What a reader
//! copies or searches must still be a parenthesis, so each glyph gets the character it is a form of.

use rustybuzz::ttf_parser::cmap::{Format, Subtable};
use rustybuzz::ttf_parser::gsub::{SingleSubstitution, SubstitutionSubtable};
use rustybuzz::ttf_parser::opentype_layout::Coverage;
use rustybuzz::ttf_parser::{Face, GlyphId, Tag};
use unicode_normalization::char::decompose_compatible;

/// Letters and digits in mathematical styles (Unicode block "Mathematical Alphanumeric Symbols").
const STYLED: std::ops::RangeInclusive<char> = '\u{1D400}'..='\u{1D7FF}';

/// The italic h, which Unicode keeps outside that block.
const PLANCK: char = '\u{210E}';

/// Characters by glyph.
#[derive(Debug)]
pub(crate) struct GlyphCharacters(Vec<Option<char>>);

impl GlyphCharacters {
    /// Reads the character map backwards, then gives the size variants and the parts of stretched glyphs (OpenType
    /// specification, `MATH` table, `MathVariants`) the character of the glyph they enlarge.
    pub(crate) fn new(face: &Face) -> Self {
        let mut characters = Self(vec![None; usize::from(face.number_of_glyphs())]);
        characters.read_character_map(face);
        characters.read_variants(face);
        characters.read_script_forms(face);
        characters
    }

    /// Returns the code point of each glyph's character as a 32-bit number, little-endian; 0 if it stands for none.
    pub(crate) fn into_bytes(self) -> Vec<u8> {
        let number = |character: Option<char>| character.map_or(0, u32::from).to_le_bytes();
        self.0.into_iter().flat_map(number).collect()
    }

    fn get(&self, glyph: u16) -> Option<char> {
        self.0.get(usize::from(glyph)).copied().flatten()
    }

    /// Where several characters share a glyph, the one with the lowest code point is taken: it is the common one,
    /// and a table lists its code points in rising order.
    fn read_character_map(&mut self, face: &Face) {
        let tables = face.tables().cmap.iter().flat_map(|cmap| cmap.subtables);
        // The table of whole Unicode, of which another holds the first plane only.
        let is_whole = |table: &Subtable| matches!(table.format, Format::SegmentedCoverage(_));
        let Some(table) = tables.max_by_key(is_whole) else {
            return;
        };
        table.codepoints(|code| {
            if let (Some(character), Some(glyph)) = (char::from_u32(code), table.glyph_index(code))
            {
                self.offer(glyph, plain(character));
            }
        });
    }

    fn read_variants(&mut self, face: &Face) {
        let Some(variants) = face.tables().math.and_then(|math| math.variants) else {
            return;
        };
        for base in (0..face.number_of_glyphs()).map(GlyphId) {
            let Some(character) = self.get(base.0) else {
                continue;
            };
            for directions in [
                &variants.vertical_constructions,
                &variants.horizontal_constructions,
            ] {
                let Some(construction) = directions.get(base) else {
                    continue;
                };
                for variant in construction.variants {
                    self.offer(variant.variant_glyph, character);
                }
                // One part speaks for the whole; the rest say nothing, or copying would repeat the character.
                let mut fixed_parts = construction
                    .assembly
                    .into_iter()
                    .flat_map(|assembly| assembly.parts)
                    .filter(|part| !part.part_flags.extender());
                if let Some(part) = fixed_parts.next() {
                    self.offer(part.glyph_id, character);
                }
            }
        }
    }

    /// Gives the forms that letters take in subscripts and exponents (feature `ssty`) the letter's own character.
    fn read_script_forms(&mut self, face: &Face) {
        let Some(substitutions) = face.tables().gsub else {
            return;
        };
        let features = substitutions.features.into_iter();
        for lookup in features
            .filter(|feature| feature.tag == Tag::from_bytes(b"ssty"))
            .flat_map(|feature| feature.lookup_indices)
            .filter_map(|index| substitutions.lookups.get(index))
        {
            for subtable in lookup.subtables.into_iter::<SubstitutionSubtable>() {
                for base in covered(subtable.coverage()) {
                    if let Some(character) = self.get(base.0) {
                        self.offer_forms(&subtable, base, character);
                    }
                }
            }
        }
    }

    fn offer_forms(&mut self, subtable: &SubstitutionSubtable, base: GlyphId, character: char) {
        match subtable {
            SubstitutionSubtable::Alternate(alternates) => {
                let set = alternates
                    .coverage
                    .get(base)
                    .and_then(|index| alternates.alternate_sets.get(index));
                for form in set.into_iter().flat_map(|set| set.alternates) {
                    self.offer(form, character);
                }
            }
            SubstitutionSubtable::Single(SingleSubstitution::Format1 { coverage, delta })
                if coverage.contains(base) =>
            {
                self.offer(GlyphId(base.0.wrapping_add_signed(*delta)), character);
            }
            SubstitutionSubtable::Single(SingleSubstitution::Format2 {
                coverage,
                substitutes,
            }) => {
                if let Some(form) = coverage.get(base).and_then(|index| substitutes.get(index)) {
                    self.offer(form, character);
                }
            }
            _ => {}
        }
    }

    /// Gives a glyph a character unless it has one.
    fn offer(&mut self, glyph: GlyphId, character: char) {
        if let Some(place) = self.0.get_mut(usize::from(glyph.0)) {
            place.get_or_insert(character);
        }
    }
}

/// Returns the glyphs that a table covers.
fn covered(coverage: Coverage<'_>) -> Vec<GlyphId> {
    match coverage {
        Coverage::Format1 { glyphs } => glyphs.into_iter().collect(),
        Coverage::Format2 { records } => records
            .into_iter()
            .flat_map(|range| (range.start.0..=range.end.0).map(GlyphId))
            .collect(),
    }
}

/// Returns a character as it would be typed: 𝜌 is searched for as ρ.
fn plain(character: char) -> char {
    let mut typed = character;
    if STYLED.contains(&character) || character == PLANCK {
        decompose_compatible(character, |part| typed = part);
    }
    typed
}
