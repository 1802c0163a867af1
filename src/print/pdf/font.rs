//! The fonts of a file: the glyphs used, cut out of each face.

use std::collections::BTreeMap;
use std::sync::{LazyLock, Mutex, PoisonError};

use foldhash::HashMap;
use md5::{Digest, Md5};
use printpdf::{Codepoint, FontId, Op, ParsedFont, PdfFont, PdfFontHandle, Pt, TextItem};
use rustybuzz::ttf_parser;
use subsetter::GlyphRemapper;

use super::PdfError;
use crate::maths::superscript::is_raised;
use crate::print::page::{Document, Face, Glyph, GlyphText, Mark, SOFT_HYPHEN};
use crate::print::typeface::Typefaces;

/// What a glyph that never stands for any text says: it must say something to be searchable at all (ISO 14289-1,
/// 7.21.7), and this is seen nowhere.
const SILENT: GlyphText = GlyphText::new("\u{200B}");

const SPACE: GlyphText = GlyphText::new(" ");

/// One face as it stands in the file.
pub(super) struct Font {
    /// Its name among the resources.
    pub(super) name: &'static str,
    /// The place in `glyphs` of each glyph, by its number in the whole font; 0 if it is not used.
    places: Vec<u16>,
    /// What the file says of each glyph used, after the one that is not there.
    glyphs: Vec<InFile>,
    resource: PdfFont,
}

/// What the file says of a glyph.
#[derive(Default)]
pub(super) struct InFile {
    /// Its number in the cut font.
    pub(super) number: u16,
    /// How far the pen moves after it, 1/1000 em.
    pub(super) advance: f32,
    /// The text that the font gives it when it is copied or searched; empty only if it is not there.
    pub(super) text: GlyphText,
}

impl Font {
    /// Returns what the file says of a glyph, given by its number in the whole font.
    pub(super) fn glyph(&self, glyph: u16) -> &InFile {
        let place = self.places.get(usize::from(glyph)).copied();
        &self.glyphs[usize::from(place.unwrap_or_default())]
    }

    /// Returns the operations that show each glyph used once, with its text: `printpdf` writes widths and texts of
    /// those glyphs that it sees on a page.
    fn specimen(&self, face: Face) -> [Op; 4] {
        let used = self.glyphs.iter().filter(|glyph| !glyph.text.is_empty());
        let glyphs = used
            .map(|glyph| Codepoint {
                gid: glyph.number,
                offset: 0.0,
                cid: Some(glyph.text.to_string()),
            })
            .collect();
        [
            Op::StartTextSection,
            Op::SetFont {
                font: PdfFontHandle::External(id(face)),
                size: Pt(1.0),
            },
            Op::ShowText {
                items: vec![TextItem::GlyphIds(glyphs)],
            },
            Op::EndTextSection,
        ]
    }
}

/// The fonts by face.
pub(super) struct Fonts(BTreeMap<Face, Font>);

impl Fonts {
    /// Finds the glyphs that a document uses and cuts the faces down to them.
    pub(super) fn gather(document: &Document, typefaces: &Typefaces) -> Result<Self, PdfError> {
        let mut used: BTreeMap<Face, Vec<Texts>> = BTreeMap::new();
        let marks = document
            .pages
            .iter()
            .flat_map(|page| &page.items)
            .map(|item| &item.mark);
        for mark in marks {
            if let Mark::Glyphs(run) = mark {
                let by_glyph = used.entry(run.face).or_default();
                for glyph in &*run.glyphs {
                    let at = usize::from(glyph.id);
                    if at >= by_glyph.len() {
                        by_glyph.resize_with(at + 1, Texts::default);
                    }
                    by_glyph[at].count(glyph);
                }
            }
        }
        let mut fonts = BTreeMap::new();
        for (face, by_glyph) in used {
            if !by_glyph.is_empty() {
                fonts.insert(face, cut(face, by_glyph, typefaces)?);
            }
        }
        Ok(Self(fonts))
    }

    pub(super) fn get(&self, face: Face) -> Option<&Font> {
        self.0.get(&face)
    }

    /// Returns a line of each font on which every glyph used stands once.
    pub(super) fn specimens(&self) -> Vec<Op> {
        self.0
            .iter()
            .flat_map(|(face, font)| font.specimen(*face))
            .collect()
    }

    /// Returns the fonts as `printpdf` wants them.
    pub(super) fn into_resources(self) -> BTreeMap<FontId, PdfFont> {
        self.0
            .into_iter()
            .map(|(face, font)| (id(face), font.resource))
            .collect()
    }
}

/// The texts that a glyph stood for, each with how often it did.
#[derive(Default)]
struct Texts(Vec<(GlyphText, usize)>);

impl Texts {
    fn count(&mut self, glyph: &Glyph) {
        if let Some((_, times)) = self.0.iter_mut().find(|(text, _)| *text == glyph.text) {
            *times += 1;
        } else {
            self.0.push((glyph.text, 1));
        }
    }

    /// The text that the font will give for the glyph: the most frequent one, the first of them if there are several. A
    /// hyphen is one however many words are divided, and a digit however many powers it is in: not all readers know of
    /// texts other than the font's. Spaces of every kind are the one that is typed in a search.
    fn common(self) -> GlyphText {
        let mut common = (SILENT, (false, 0));
        for (text, times) in self.0 {
            let is_its_own = text != SOFT_HYPHEN && !text.contains(is_raised);
            let rank = (is_its_own, times);
            if !text.is_empty() && rank > common.1 {
                common = (text, rank);
            }
        }
        if common.0.chars().all(char::is_whitespace) {
            return SPACE;
        }
        common.0
    }
}

/// Resource names that none of the built-in fonts (F1 to F14) has.
const fn name(face: Face) -> &'static str {
    match face {
        Face::Regular => "FR",
        Face::Italic => "FI",
        Face::Bold => "FB",
        Face::Mono => "FT",
        Face::Math => "FM",
    }
}

fn id(face: Face) -> FontId {
    FontId(name(face).to_owned())
}

/// Fonts cut for the documents of this process, by the glyphs in them: reports made in one go often use the same.
static CUT: LazyLock<Mutex<Cuts>> = LazyLock::new(Mutex::default);
type Cuts = HashMap<(Face, Vec<u16>), ParsedFont>;
/// No more of them are kept, so that memory does not grow with the number of reports.
const MOST_KEPT: usize = 64;

fn cut(face: Face, by_glyph: Vec<Texts>, typefaces: &Typefaces) -> Result<Font, PdfError> {
    let used = |(id, texts): (usize, &Texts)| {
        let met = !texts.0.is_empty();
        met.then(|| u16::try_from(id).ok()).flatten()
    };
    let ids: Vec<u16> = by_glyph.iter().enumerate().filter_map(used).collect();
    let remapper = GlyphRemapper::new_from_glyphs_sorted(&ids);
    // A thread that panicked while it held the lock left finished fonts only.
    let kept = || CUT.lock().unwrap_or_else(PoisonError::into_inner);
    let key = (face, ids);
    let met = kept().get(&key).cloned();
    let parsed = if let Some(met) = met {
        met
    } else {
        let parsed = program(face, &key.1, &remapper, typefaces).ok_or(PdfError::Font { face })?;
        let mut kept = kept();
        if kept.len() < MOST_KEPT {
            kept.insert(key.clone(), parsed.clone());
        }
        parsed
    };

    let mut places = vec![0; by_glyph.len()];
    let mut glyphs = vec![InFile::default()];
    let texts = by_glyph.into_iter().filter(|texts| !texts.0.is_empty());
    for (id, texts) in key.1.into_iter().zip(texts) {
        places[usize::from(id)] = glyphs.len() as u16;
        glyphs.push(InFile {
            number: remapper.get(id).unwrap_or_default(),
            advance: typefaces.advance(face, id),
            text: texts.common(),
        });
    }
    Ok(Font {
        name: name(face),
        places,
        glyphs,
        resource: PdfFont::new(parsed),
    })
}

/// A face cut down to the glyphs that have new numbers.
fn program(
    face: Face,
    glyphs: &[u16],
    remapper: &GlyphRemapper,
    typefaces: &Typefaces,
) -> Option<ParsedFont> {
    let data = typefaces.data(face);
    let program = subsetter::subset(data, 0, remapper).ok()?;
    let mut parsed = ParsedFont::from_bytes(&program, 0, &mut Vec::new())?;
    parsed.font_name = Some(format!("{}+{}", tag(glyphs), typefaces.name(face)));
    // The cut font has no OS/2 table to say how heavy it is.
    let whole = ttf_parser::Face::parse(data, 0).ok()?;
    parsed.pdf_font_metrics.us_weight_class = whole.weight().to_number();
    Some(parsed)
}

/// Six capitals that mark a font cut down to these glyphs, the same for the same cut (ISO 32000-1, 9.6.4).
fn tag(glyphs: &[u16]) -> String {
    let numbers: Vec<u8> = glyphs
        .iter()
        .flat_map(|glyph| glyph.to_be_bytes())
        .collect();
    Md5::digest(numbers)
        .iter()
        .take(6)
        .map(|byte| char::from(b'A' + byte % 26))
        .collect()
}
