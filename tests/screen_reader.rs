//! A finished PDF file as one hears it who goes by its structure: every element with what it says, in reading order.
//!
//! It is read by `hayro`, which shares nothing with what writes the files.

use std::collections::BTreeMap;

use hayro::hayro_interpret::font::GlyphRun;
use hayro::hayro_interpret::hayro_cmap::BfString;
use hayro::hayro_interpret::{
    BlendMode, ClipPath, Context, Device, DrawMode, DrawProps, Image, ImageDrawProps,
    InterpreterCache, InterpreterSettings, SoftMask, interpret_page,
};
use hayro::hayro_syntax::Pdf;
use hayro::hayro_syntax::object::{Array, Dict, Name, ObjRef, Object, String as PdfString};
use hayro::kurbo::{Affine, BezPath, Rect};

/// An element of the structure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Element {
    /// Its type, by the name of ISO 32000-1, 14.8.4.
    pub(crate) kind: String,
    /// What is said in its place.
    pub(crate) alternative: Option<String>,
    /// What it holds, in order.
    pub(crate) parts: Vec<Part>,
}

/// A part of an element.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Part {
    /// The text of a marked piece, and where the piece stands: the page, from 0, and its number there.
    Text(String, (usize, i64)),
    /// An element within it.
    Element(Element),
}

impl Element {
    /// All that is shown of it, without what is said in its place.
    pub(crate) fn shown(&self) -> String {
        let parts = self.parts.iter().map(|part| match part {
            Part::Text(text, _) => text.clone(),
            Part::Element(inner) => inner.shown(),
        });
        parts.collect()
    }

    /// Where its marked pieces stand, and those of what is in it, in order.
    pub(crate) fn pieces(&self) -> Vec<(usize, i64)> {
        let parts = self.parts.iter().flat_map(|part| match part {
            Part::Text(_, at) => vec![*at],
            Part::Element(inner) => inner.pieces(),
        });
        parts.collect()
    }
}

/// A file that was read.
pub(crate) struct Reading {
    /// The root of the structure.
    pub(crate) root: Element,
    /// Of each page what is in no element: running heads, line numbers and the like.
    pub(crate) furniture: Vec<String>,
}

/// Reads a file. All text must have a meaning and stand in a marked piece or among the furniture, and every piece in the
/// structure, once.
#[track_caller]
pub(crate) fn read(pdf: &[u8]) -> Reading {
    let file = Pdf::new(pdf.to_vec()).expect("a PDF file");
    let mut pieces = BTreeMap::new();
    let mut furniture = Vec::new();
    let mut pages = BTreeMap::new();
    let cache = InterpreterCache::new();
    for (number, page) in file.pages().iter().enumerate() {
        let id = page.raw().obj_id().expect("a page is an object");
        pages.insert((id.obj_number, id.gen_number), number);
        let mut listener = Listener::default();
        let mut context = Context::new(
            Affine::IDENTITY,
            Rect::new(0.0, 0.0, 1.0, 1.0),
            &cache,
            file.xref(),
            InterpreterSettings::default(),
        );
        interpret_page(page, &mut context, &mut listener);
        assert!(listener.open.is_empty(), "content left open");
        let found = listener.pieces.into_iter();
        pieces.extend(found.map(|(mcid, text)| ((number, mcid), text)));
        furniture.push(listener.furniture);
    }
    let xref = file.xref();
    let catalogue: Dict<'_> = xref.get(xref.root_id()).expect("a catalogue");
    let tree: Dict<'_> = catalogue.get("StructTreeRoot").expect("a structure");
    let root: Dict<'_> = tree.get("K").expect("a root");
    let mut structure = Structure { pages, pieces };
    let root = structure.element(&root);
    let left = structure.pieces;
    assert!(left.is_empty(), "not in the structure, or twice: {left:?}");
    Reading { root, furniture }
}

struct Structure {
    /// The number of each page, by its object.
    pages: BTreeMap<(u32, i32), usize>,
    /// The texts that no element has taken yet.
    pieces: BTreeMap<(usize, i64), String>,
}

impl Structure {
    fn element(&mut self, dictionary: &Dict<'_>) -> Element {
        let home = self.page(dictionary);
        let parts: Vec<Object<'_>> = match dictionary.get::<Object<'_>>("K") {
            None => Vec::new(),
            Some(Object::Array(all)) => Array::iter(&all).collect(),
            Some(one) => vec![one],
        };
        let mut found = Vec::new();
        for part in parts {
            match part {
                Object::Number(mcid) => found.push(self.piece(home, mcid.as_i64())),
                Object::Dict(inner) => match name(&inner, "Type").as_str() {
                    "MCR" => {
                        let mcid = inner.get::<i32>("MCID").expect("a number");
                        found.push(self.piece(self.page(&inner).or(home), i64::from(mcid)));
                    }
                    // An annotation shows no text.
                    "OBJR" => {}
                    _ => found.push(Part::Element(self.element(&inner))),
                },
                other => panic!("{other:?} in the structure"),
            }
        }
        Element {
            kind: name(dictionary, "S"),
            alternative: dictionary
                .get::<PdfString<'_>>("Alt")
                .map(|text| decoded(&text)),
            parts: found,
        }
    }

    fn page(&self, dictionary: &Dict<'_>) -> Option<usize> {
        let ObjRef {
            obj_number,
            gen_number,
        } = dictionary.get_ref("Pg")?;
        Some(self.pages[&(obj_number, gen_number)])
    }

    fn piece(&mut self, page: Option<usize>, mcid: i64) -> Part {
        let at = (page.expect("the page of a piece"), mcid);
        let text = self.pieces.remove(&at);
        let text =
            text.unwrap_or_else(|| panic!("piece {mcid} of page {}, which is not", at.0 + 1));
        Part::Text(text, at)
    }
}

fn name(dictionary: &Dict<'_>, key: &str) -> String {
    let name = dictionary.get::<Name<'_>>(key);
    name.map(|name| name.as_str().to_owned())
        .unwrap_or_default()
}

/// A text string (ISO 32000-1, 7.9.2.2): UTF-16 after its mark, or else only what is the same in ASCII.
fn decoded(text: &PdfString<'_>) -> String {
    let bytes = text.as_bytes();
    if let Some(wide) = bytes.strip_prefix(&[0xfe, 0xff]) {
        let units = wide.chunks_exact(2);
        let units: Vec<u16> = units
            .map(|two| u16::from_be_bytes([two[0], two[1]]))
            .collect();
        return String::from_utf16(&units).expect("UTF-16");
    }
    assert!(bytes.is_ascii(), "{bytes:?} is not in UTF-16");
    String::from_utf8(bytes.to_vec()).expect("ASCII")
}

/// What has been opened in the content of a page.
enum Open {
    /// A piece that an element may hold, by its number.
    Piece(i64),
    /// What is in no element.
    Furniture,
    /// What is to be read otherwise than its glyphs say, and has been read.
    Said,
    /// Anything else.
    Other,
}

#[derive(Default)]
struct Listener {
    open: Vec<Open>,
    pieces: BTreeMap<i64, String>,
    furniture: String,
}

impl Listener {
    fn hear(&mut self, text: &str) {
        for open in self.open.iter().rev() {
            let place = match open {
                Open::Piece(mcid) => self.pieces.get_mut(mcid),
                Open::Furniture => Some(&mut self.furniture),
                Open::Said | Open::Other => None,
            };
            if let Some(place) = place {
                place.push_str(text);
                return;
            }
        }
        panic!("text outside the structure: {text:?}");
    }
}

impl Device<'_> for Listener {
    fn begin_marked_content(&mut self, tag: &[u8], properties: Option<&Dict<'_>>) {
        let number = properties.and_then(|known| known.get::<i32>("MCID"));
        let said = properties.and_then(|known| known.get::<PdfString<'_>>("ActualText"));
        let open = match (number, said) {
            (Some(number), _) => {
                let number = i64::from(number);
                let before = self.pieces.insert(number, String::new());
                assert!(before.is_none(), "piece {number} twice");
                Open::Piece(number)
            }
            (None, Some(text)) => {
                self.hear(&decoded(&text));
                Open::Said
            }
            (None, None) if tag == b"Artifact" => Open::Furniture,
            (None, None) => Open::Other,
        };
        self.open.push(open);
    }

    fn end_marked_content(&mut self) {
        self.open.pop().expect("an end without a beginning");
    }

    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, '_>, _: DrawProps<'_>, _: &DrawMode) {
        if self.open.iter().any(|open| matches!(open, Open::Said)) {
            return;
        }
        for glyph in run.glyphs() {
            match glyph.as_unicode() {
                Some(BfString::Char(c)) => self.hear(c.encode_utf8(&mut [0; 4])),
                Some(BfString::String(text)) => self.hear(&text),
                None => panic!("a glyph without a meaning, code {}", glyph.char_code()),
            }
        }
    }

    fn draw_path(&mut self, _: &BezPath, _: DrawProps<'_>, _: &DrawMode) {}
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'_>>, _: BlendMode) {}
    fn draw_image(&mut self, _: Image<'_, '_>, _: ImageDrawProps<'_>) {}
    fn pop_clip(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}
