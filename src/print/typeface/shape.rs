//! One face: shaping with its plans, and a store of what was shaped.

use std::cell::Cell;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use foldhash::HashMap;
use rustybuzz::ttf_parser::GlyphId;
use rustybuzz::{ShapePlan, UnicodeBuffer};

use super::outline::Pen;
use super::pairs::Pairs;
use super::{Forms, Heights, Ink, Shaped, assets, shaper};
use crate::print::page::{Face, Glyph, GlyphText, Step};

/// A text longer than this, in bytes, is hardly met twice and is not stored.
const LONGEST_STORED: usize = 48;

/// No more shaped texts than this are stored per face and forms, so that a huge run file cannot fill the memory.
const MOST_STORED: usize = 8192;

/// A face, parsed, with one setting for each choice of forms that was asked for.
pub(super) struct LoadedFace {
    face: Face,
    parsed: rustybuzz::Face<'static>,
    settings: Mutex<Vec<(Forms, Arc<Setting>)>>,
    inks: Mutex<HashMap<u16, Ink>>,
}

/// A shaping plan and what was shaped by it.
struct Setting {
    plan: ShapePlan,
    pairs: Option<Pairs>,
    shaped: Mutex<HashMap<Box<str>, Shaped>>,
}

impl fmt::Debug for LoadedFace {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_tuple("LoadedFace")
            .field(&self.face)
            .finish()
    }
}

#[cfg(test)]
std::thread_local! {
    /// Bytes of text that this thread has shaped: the steps that tests of growth count.
    pub(crate) static SHAPED: Cell<usize> = const { Cell::new(0) };
}

impl LoadedFace {
    /// Parses a font file; `None` if it is not one.
    pub(super) fn parse(face: Face, data: &'static [u8]) -> Option<Self> {
        Some(Self {
            face,
            parsed: rustybuzz::Face::from_slice(data, 0)?,
            settings: Mutex::default(),
            inks: Mutex::default(),
        })
    }

    pub(super) fn heights(&self) -> Heights {
        let em = f32::from(self.parsed.as_ref().units_per_em());
        let of = |height: i16| f32::from(height) / em;
        Heights {
            ascent: of(self.parsed.ascender()),
            descent: -of(self.parsed.descender()),
            capital: of(self.parsed.capital_height().unwrap_or_default()),
            x: of(self.parsed.x_height().unwrap_or_default()),
        }
    }

    /// Returns the outline of a glyph, 1/1000 em from its origin, y downward; empty for one that shows nothing.
    pub(super) fn outline(&self, glyph: u16) -> Vec<Step> {
        let mut pen = Pen {
            scale: self.to_thousandths(),
            at: (0.0, 0.0),
            steps: Vec::new(),
        };
        self.parsed.outline_glyph(GlyphId(glyph), &mut pen);
        pen.steps
    }

    /// Returns how far the ink of a glyph reaches.
    pub(super) fn ink(&self, glyph: u16) -> Ink {
        let known = self.inks.lock();
        let mut known = known.unwrap_or_else(PoisonError::into_inner);
        *known.entry(glyph).or_insert_with(|| {
            let em = f32::from(self.parsed.as_ref().units_per_em());
            let bounds = self.parsed.glyph_bounding_box(GlyphId(glyph));
            bounds.map_or(Ink::default(), |bounds| Ink {
                above: f32::from(bounds.y_max) / em,
                below: -f32::from(bounds.y_min) / em,
                beyond: f32::from(bounds.x_max) / em - self.advance(glyph) / 1000.0,
            })
        })
    }

    /// A unit of the face, 1/1000 em.
    fn to_thousandths(&self) -> f32 {
        1000.0 / f32::from(self.parsed.as_ref().units_per_em())
    }

    pub(super) fn has(&self, character: char) -> bool {
        self.parsed.glyph_index(character).is_some()
    }

    /// Returns the advance of a glyph without kerning, 1/1000 em, cut to a whole number just as it is written to the
    /// PDF: with the exact width a line in a face of 2048 units per em would end short of where layout put its end.
    pub(super) fn advance(&self, glyph: u16) -> f32 {
        let units = self
            .parsed
            .glyph_hor_advance(GlyphId(glyph))
            .unwrap_or_default();
        let em = u32::from(self.parsed.as_ref().units_per_em());
        (u32::from(units) * 1000 / em) as f32
    }

    pub(super) fn shape(&self, forms: Forms, text: &str) -> Shaped {
        let setting = self.setting(forms);
        if let Some(shaped) = Self::shape_by_pairs(&setting, text) {
            return shaped;
        }
        if text.len() > LONGEST_STORED {
            return self.shape_anew(&setting.plan, text);
        }
        self.stored(&setting, text)
    }

    /// A text put together from its pairs; `None` if it has characters or neighbours for which that does not do.
    fn shape_by_pairs(setting: &Setting, text: &str) -> Option<Shaped> {
        let glyphs = setting.pairs.as_ref()?.set(text)?;
        Some(Shaped {
            width: width(&glyphs),
            glyphs: glyphs.into(),
            missing: Vec::new(),
        })
    }

    /// Returns a text as stored, or shaped and stored.
    fn stored(&self, setting: &Setting, text: &str) -> Shaped {
        let mut stored = setting
            .shaped
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(shaped) = stored.get(text) {
            return shaped.clone();
        }
        let shaped = self.shape_anew(&setting.plan, text);
        if stored.len() < MOST_STORED {
            stored.insert(text.into(), shaped.clone());
        }
        shaped
    }

    fn setting(&self, forms: Forms) -> Arc<Setting> {
        let mut settings = self.settings.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, setting)) = settings.iter().find(|(known, _)| *known == forms) {
            return Arc::clone(setting);
        }
        let features = self.features(forms);
        let setting = Arc::new(Setting {
            plan: shaper::plan(&self.parsed, &features),
            pairs: Pairs::new(
                assets::postscript_name(self.face),
                &features,
                self.to_thousandths(),
                |glyph| self.advance(glyph),
            ),
            shaped: Mutex::default(),
        });
        settings.push((forms, Arc::clone(&setting)));
        setting
    }

    fn features(&self, forms: Forms) -> Vec<&'static str> {
        let wanted = [
            ("tnum", forms.tabular),
            ("lnum", forms.tabular),
            ("smcp", forms.small_capitals),
        ];
        let mut tags: Vec<&str> = wanted
            .into_iter()
            .filter(|(_, is_wanted)| *is_wanted)
            .map(|(tag, _)| tag)
            .collect();
        if self.face == Face::Mono {
            tags.extend(shaper::KEPT_APART);
        }
        tags
    }

    fn shape_anew(&self, plan: &ShapePlan, text: &str) -> Shaped {
        #[cfg(test)]
        SHAPED.with(|bytes| bytes.set(bytes.get() + text.len()));
        thread_local! {
            static BUFFER: Cell<Option<UnicodeBuffer>> = const { Cell::new(None) };
        }
        let buffer = BUFFER.take().unwrap_or_default();
        let output = shaper::shape(&self.parsed, plan, buffer, text);
        let to_thousandths = self.to_thousandths();

        let infos = output.glyph_infos();
        let mut glyphs = Vec::<Glyph>::with_capacity(infos.len());
        let mut missing = Vec::new();
        for (at, (info, position)) in infos.iter().zip(output.glyph_positions()).enumerate() {
            let id = info.glyph_id as u16;
            let start = info.cluster as usize;
            let opens_cluster = at == 0 || infos[at - 1].cluster != info.cluster;
            let standing_for = if opens_cluster {
                let end = infos[at..]
                    .iter()
                    .map(|next| next.cluster as usize)
                    .find(|next| *next != start);
                text.get(start..end.unwrap_or(text.len()))
                    .unwrap_or_default()
            } else {
                ""
            };
            if id == 0 {
                missing.extend(standing_for.chars());
            }
            let nominal = self
                .parsed
                .glyph_hor_advance(GlyphId(id))
                .unwrap_or_default();
            let moved = (position.x_advance - i32::from(nominal)) as f32 * to_thousandths;
            let shift = position.x_offset as f32 * to_thousandths;
            if let Some(before) = glyphs.last_mut() {
                before.advance += shift;
            }
            glyphs.push(Glyph {
                id,
                advance: self.advance(id) + moved - shift,
                text: if standing_for.contains('\t') {
                    GlyphText::new(&standing_for.replace('\t', " "))
                } else {
                    standing_for.into()
                },
            });
        }
        BUFFER.set(Some(output.clear()));
        Shaped {
            width: width(&glyphs),
            glyphs: glyphs.into(),
            missing,
        }
    }
}

/// Sum of the advances, em.
fn width(glyphs: &[Glyph]) -> f32 {
    glyphs.iter().map(|glyph| glyph.advance).sum::<f32>() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::print::typeface::assets;

    /// A text in which all sequences of three of some characters stand, each once (Frank Ruskey, *Combinatorial Generation*,
    /// algorithm 7.2, from memory).
    fn all_of_three(characters: &[char]) -> String {
        fn extend(
            at: usize,
            period: usize,
            word: &mut [usize; 4],
            count: usize,
            out: &mut Vec<usize>,
        ) {
            if at > 3 {
                if 3 % period == 0 {
                    out.extend_from_slice(&word[1..=period]);
                }
                return;
            }
            word[at] = word[at - period];
            extend(at + 1, period, word, count, out);
            for next in word[at - period] + 1..count {
                word[at] = next;
                extend(at + 1, at, word, count, out);
            }
        }
        let mut sequence = Vec::new();
        extend(1, 1, &mut [0; 4], characters.len(), &mut sequence);
        sequence
            .into_iter()
            .map(|index| characters[index])
            .collect()
    }

    #[test]
    fn what_is_put_together_from_pairs_comes_out_as_if_shaped_whole() {
        let letters: Vec<char> = ('a'..='z').collect();
        let others: Vec<char> = "0123456789.,:;-()%/ ATVWfot±×−°\u{a0}\u{202f}’–"
            .chars()
            .collect();
        let tabular = Forms {
            tabular: true,
            ..Forms::default()
        };
        for (face, forms) in [
            (Face::Regular, Forms::default()),
            (Face::Italic, Forms::default()),
            (Face::Bold, Forms::default()),
            (Face::Mono, Forms::default()),
            (Face::Regular, tabular),
            (Face::Bold, tabular),
        ] {
            let face = LoadedFace::parse(face, assets::data(face)).unwrap();
            let setting = face.setting(forms);
            for text in [&letters, &others].map(|characters| all_of_three(characters)) {
                let apart = |one: char, next: char| {
                    let pair = String::from_iter([one, next]);
                    LoadedFace::shape_by_pairs(&setting, &pair).is_some()
                };
                let characters: Vec<char> = text.chars().collect();
                for piece in characters.chunk_by(|one, next| apart(*one, *next)) {
                    let piece = String::from_iter(piece);
                    let whole = face.shape_anew(&setting.plan, &piece);
                    assert_eq!(
                        LoadedFace::shape_by_pairs(&setting, &piece),
                        Some(whole),
                        "{piece}"
                    );
                }
            }
        }
    }
}
