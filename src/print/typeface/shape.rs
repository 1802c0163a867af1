//! One face: shaping with its plans, and a store of what was shaped.

use std::fmt;
use std::str::FromStr;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use foldhash::HashMap;
use rustybuzz::ttf_parser::GlyphId;
use rustybuzz::{
    BufferClusterLevel, BufferFlags, Direction, Feature, Language, ShapePlan, UnicodeBuffer,
    script, shape_with_plan,
};

use super::outline::Pen;
use super::{Forms, Heights, Ink, Shaped};
use crate::print::page::{Face, Glyph, Step};

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
    pub(crate) static SHAPED: std::cell::Cell<usize> = const { std::cell::Cell::new(0) };
}

impl LoadedFace {
    /// Parses a font file; none if it is not one.
    pub(super) fn parse(face: Face, data: &'static [u8]) -> Option<Self> {
        Some(Self {
            face,
            parsed: rustybuzz::Face::from_slice(data, 0)?,
            settings: Mutex::default(),
            inks: Mutex::default(),
        })
    }

    pub(super) fn parsed(&self) -> &rustybuzz::Face<'static> {
        &self.parsed
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
            scale: 1000.0 / f32::from(self.parsed.units_per_em() as u16),
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
        if self.stands_by_character(forms, text) {
            return self.shape_by_character(&setting, text);
        }
        if text.len() > LONGEST_STORED {
            return self.shape_anew(&setting.plan, text);
        }
        self.stored(&setting, text)
    }

    /// Returns whether each character of a text is shaped as if it stood alone, as in the monospaced face and for
    /// tabular figures: without ligatures or kerning. Such texts seldom recur, so that storing them whole saves
    /// nothing.
    fn stands_by_character(&self, forms: Forms, text: &str) -> bool {
        let graphic = |byte: u8| byte.is_ascii_graphic() || byte == b' ';
        let figure = |byte: u8| byte.is_ascii_digit() || byte == b'.';
        match self.face {
            Face::Mono => text.bytes().all(graphic),
            _ => forms.tabular && text.bytes().all(figure),
        }
    }

    fn shape_by_character(&self, setting: &Setting, text: &str) -> Shaped {
        let mut glyphs = Vec::<Glyph>::with_capacity(text.len());
        let mut missing = Vec::new();
        for at in 0..text.len() {
            let one = self.stored(setting, &text[at..=at]);
            glyphs.extend_from_slice(&one.glyphs);
            missing.extend(one.missing);
        }
        Shaped {
            width: width(&glyphs),
            glyphs: glyphs.into(),
            missing,
        }
    }

    /// Returns a text as stored, or shaped and stored.
    fn stored(&self, setting: &Setting, text: &str) -> Shaped {
        // A thread that panicked while it held a lock left finished entries only; they are as good as before.
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
        let plan = ShapePlan::new(
            &self.parsed,
            Direction::LeftToRight,
            Some(script::LATIN),
            language().as_ref(),
            &self.features(forms),
        );
        let setting = Arc::new(Setting {
            plan,
            shaped: Mutex::default(),
        });
        settings.push((forms, Arc::clone(&setting)));
        setting
    }

    fn features(&self, forms: Forms) -> Vec<Feature> {
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
            // In entries as written each character keeps its column.
            tags.extend(["-liga", "-clig", "-calt", "-kern"]);
        }
        tags.into_iter()
            .filter_map(|tag| Feature::from_str(tag).ok())
            .collect()
    }

    fn shape_anew(&self, plan: &ShapePlan, text: &str) -> Shaped {
        #[cfg(test)]
        SHAPED.with(|bytes| bytes.set(bytes.get() + text.len()));
        let mut buffer = UnicodeBuffer::new();
        buffer.set_direction(Direction::LeftToRight);
        buffer.set_script(script::LATIN);
        if let Some(language) = language() {
            buffer.set_language(language);
        }
        buffer.set_cluster_level(BufferClusterLevel::MonotoneCharacters);
        buffer.set_flags(BufferFlags::REMOVE_DEFAULT_IGNORABLES);
        for (start, character) in text.char_indices() {
            let seen = if character == '\t' { ' ' } else { character };
            buffer.add(seen, start as u32);
        }
        let output = shape_with_plan(&self.parsed, plan, buffer);
        let to_thousandths = 1000.0 / f32::from(self.parsed.as_ref().units_per_em());

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
                    standing_for.replace('\t', " ").into()
                } else {
                    standing_for.into()
                },
            });
        }
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

/// Reports are written in English.
fn language() -> Option<Language> {
    static ENGLISH: LazyLock<Option<Language>> = LazyLock::new(|| Language::from_str("en").ok());
    ENGLISH.clone()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::print::typeface::assets;

    #[test]
    fn what_is_shaped_by_character_comes_out_as_if_shaped_whole() {
        let graphic: Vec<char> = (' '..='~').collect();
        let figures: Vec<char> = "0123456789.".chars().collect();
        let tabular = Forms {
            tabular: true,
            ..Forms::default()
        };
        for (face, forms, characters) in [
            (Face::Mono, Forms::default(), &graphic),
            (Face::Regular, tabular, &figures),
            (Face::Italic, tabular, &figures),
            (Face::Bold, tabular, &figures),
        ] {
            let face = LoadedFace::parse(face, assets::data(face)).unwrap();
            let setting = face.setting(forms);
            for one in characters {
                let text: String = characters.iter().flat_map(|other| [one, other]).collect();
                assert!(face.stands_by_character(forms, &text), "{text}");
                let whole = face.shape_anew(&setting.plan, &text);
                assert_eq!(face.shape(forms, &text), whole, "{text}");
            }
        }
    }
}
