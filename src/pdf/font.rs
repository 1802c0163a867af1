//! The fonts of a file: the glyphs used, cut out of each face.

use std::collections::BTreeMap;

use md5::{Digest, Md5};
use printpdf::{FontId, ParsedFont, PdfFont, PdfFontHandle};
use rustybuzz::ttf_parser;
use subsetter::GlyphRemapper;

use super::Failure;
use crate::page::{Document, Face, Glyph, Mark};
use crate::typeface::Typefaces;

/// What a glyph that never stands for any text says: it must say something to be searchable at all (ISO 14289-1,
/// 7.21.7), and this is seen nowhere.
const SILENT: &str = "\u{200B}";

/// One face as it stands in the file.
pub(super) struct Font {
    /// Its name among the resources.
    pub(super) handle: PdfFontHandle,
    remapper: GlyphRemapper,
    glyphs: BTreeMap<u16, InFile>,
    resource: PdfFont,
}

/// What the file says of a glyph.
struct InFile {
    text: String,
    advance: f32,
}

impl Font {
    /// The number of a glyph in the cut font.
    pub(super) fn number(&self, glyph: u16) -> u16 {
        self.remapper.get(glyph).unwrap_or_default()
    }

    /// The text that the font gives a glyph when it is copied or searched.
    pub(super) fn text(&self, glyph: u16) -> &str {
        self.glyphs.get(&glyph).map_or(SILENT, |known| &known.text)
    }

    /// The advance that the font gives a glyph, 1/1000 em.
    pub(super) fn advance(&self, glyph: u16) -> f32 {
        self.glyphs.get(&glyph).map_or(0.0, |known| known.advance)
    }
}

/// The fonts by face.
pub(super) struct Fonts(BTreeMap<Face, Font>);

impl Fonts {
    /// Finds the glyphs that a document uses and cuts the faces down to them.
    pub(super) fn gather(document: &Document, typefaces: &Typefaces) -> Result<Self, Failure> {
        let mut used: BTreeMap<Face, BTreeMap<u16, Texts>> = BTreeMap::new();
        let marks = document
            .pages
            .iter()
            .flat_map(|page| &page.items)
            .map(|item| &item.mark);
        for mark in marks {
            if let Mark::Glyphs(run) = mark {
                let glyphs = used.entry(run.face).or_default();
                for glyph in &run.glyphs {
                    glyphs.entry(glyph.id).or_default().count(glyph);
                }
            }
        }
        let mut fonts = BTreeMap::new();
        for (face, glyphs) in used {
            if !glyphs.is_empty() {
                fonts.insert(face, cut(face, glyphs, typefaces)?);
            }
        }
        Ok(Self(fonts))
    }

    pub(super) fn get(&self, face: Face) -> Option<&Font> {
        self.0.get(&face)
    }

    /// The fonts as `printpdf` wants them.
    pub(super) fn into_resources(self) -> BTreeMap<FontId, PdfFont> {
        self.0
            .into_iter()
            .map(|(face, font)| (id(face), font.resource))
            .collect()
    }
}

/// The texts that a glyph stood for, each with how often it did.
#[derive(Default)]
struct Texts(Vec<(String, usize)>);

impl Texts {
    fn count(&mut self, glyph: &Glyph) {
        if let Some((_, times)) = self.0.iter_mut().find(|(text, _)| *text == glyph.text) {
            *times += 1;
        } else {
            self.0.push((glyph.text.clone(), 1));
        }
    }

    /// The text that the font will give for the glyph: the most frequent one, the first of them if there are several.
    fn common(self) -> String {
        let mut common = (SILENT.to_owned(), 0);
        for (text, times) in self.0 {
            if !text.is_empty() && times > common.1 {
                common = (text, times);
            }
        }
        common.0
    }
}

/// Resource names that none of the built-in fonts (F1 to F14) has.
fn id(face: Face) -> FontId {
    let name = match face {
        Face::Regular => "FR",
        Face::Italic => "FI",
        Face::Bold => "FB",
        Face::Mono => "FT",
        Face::Math => "FM",
    };
    FontId(name.to_owned())
}

fn cut(face: Face, glyphs: BTreeMap<u16, Texts>, typefaces: &Typefaces) -> Result<Font, Failure> {
    let failure = || Failure::Font { face };
    let data = typefaces.data(face);
    let ids: Vec<u16> = glyphs.keys().copied().collect();
    let remapper = GlyphRemapper::new_from_glyphs_sorted(&ids);
    let program = subsetter::subset(data, 0, &remapper).map_err(|_| failure())?;
    let mut parsed = ParsedFont::from_bytes(&program, 0, &mut Vec::new()).ok_or_else(failure)?;
    parsed.font_name = Some(format!("{}+{}", tag(&program), typefaces.name(face)));
    // The cut font has no OS/2 table to say how heavy it is.
    let whole = ttf_parser::Face::parse(data, 0).map_err(|_| failure())?;
    parsed.pdf_font_metrics.us_weight_class = whole.weight().to_number();

    let glyphs = glyphs
        .into_iter()
        .map(|(glyph, texts)| {
            (
                glyph,
                InFile {
                    text: texts.common(),
                    advance: typefaces.advance(face, glyph),
                },
            )
        })
        .collect();
    Ok(Font {
        handle: PdfFontHandle::External(id(face)),
        remapper,
        glyphs,
        resource: PdfFont::new(parsed),
    })
}

/// Six capitals that mark a cut font, the same for the same cut (ISO 32000-1, 9.6.4).
fn tag(program: &[u8]) -> String {
    Md5::digest(program)
        .iter()
        .take(6)
        .map(|byte| char::from(b'A' + byte % 26))
        .collect()
}
