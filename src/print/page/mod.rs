//! Finished pages: items at fixed points, each with its place in the document's structure.
//!
//! The most plain vocabulary of the print side: layout and figures produce it, the PDF writer consumes it.
//! Lengths are points (1/72 inch). The origin is the page's top left corner, x to the right, **y downward**;
//! a glyph run's y is its baseline.

mod glyph_text;
mod xml;

pub use glyph_text::GlyphText;
pub use xml::xml;

use std::sync::Arc;

use time::Date;

/// The faces a page can be set in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// Text, upright.
    Regular,
    /// Text, italic.
    Italic,
    /// Text, bold.
    Bold,
    /// Monospaced, for entries as written.
    Mono,
    /// Mathematics.
    Math,
}

/// A colour by its red, green and blue parts, 0 to 1 (sRGB).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Colour(pub f32, pub f32, pub f32);

impl Colour {
    /// Black.
    pub const BLACK: Self = Self(0.0, 0.0, 0.0);
    /// White.
    pub const WHITE: Self = Self(1.0, 1.0, 1.0);

    /// That share of the colour, 0 to 1, on white.
    #[must_use]
    pub fn on_white(self, share: f32) -> Self {
        let thinned = |part: f32| 1.0 - share * (1.0 - part);
        Self(thinned(self.0), thinned(self.1), thinned(self.2))
    }
}

/// The text of a hyphen that stands where a word is divided, and is none to who puts it together again (ISO 32000-1,
/// 14.8.2.2.3).
pub const SOFT_HYPHEN: GlyphText = GlyphText::new("\u{ad}");

/// One glyph of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glyph {
    /// Index in the whole (not the subset) font.
    pub id: u16,
    /// How far the pen moves after it, in 1/1000 em, kerning and justification included.
    pub advance: f32,
    /// The text it stands for when copied or searched; may be several characters (a ligature) or empty.
    pub text: GlyphText,
}

/// Glyphs on one baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct GlyphRun {
    /// The face.
    pub face: Face,
    /// Size, points.
    pub size: f32,
    /// Left end of the baseline, points.
    pub x: f32,
    /// Baseline, points from the top.
    pub y: f32,
    /// Counter-clockwise turn about (x, y), degrees.
    pub turn: f32,
    /// Colour of the ink.
    pub colour: Colour,
    /// The glyphs, left to right; shared by the places at which a formula stands.
    pub glyphs: Arc<[Glyph]>,
}

/// One step of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Lifts the pen and puts it down at (x, y).
    Move(f32, f32),
    /// A straight line to (x, y).
    Line(f32, f32),
    /// A cubic Bézier curve: two control points, then the end.
    Curve(f32, f32, f32, f32, f32, f32),
    /// Closes the outline.
    Close,
}

/// A line to draw along an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub colour: Colour,
    /// Width, points.
    pub width: f32,
    /// Lengths of dashes and gaps in turn, points; empty for a whole line.
    pub dashes: Vec<f32>,
}

/// An outline, filled, drawn or both.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// The outline.
    pub steps: Vec<Step>,
    /// Colour inside, if filled.
    pub fill: Option<Colour>,
    /// The line along it, if drawn; apart, as most marks are none.
    pub stroke: Option<Box<Stroke>>,
}

/// A picture of pixels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pixels {
    /// Pixels in a row.
    pub columns: u32,
    /// Rows.
    pub rows: u32,
    /// The pixels' values (sRGB).
    pub samples: Samples,
}

/// The values of pixels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Samples {
    /// Red, green and blue of each pixel, row by row from the top.
    Rgb(Vec<u8>),
    /// A JPEG file of three colours.
    Jpeg(Vec<u8>),
}

/// A picture, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The picture.
    pub pixels: Arc<Pixels>,
    /// Left edge, points.
    pub x: f32,
    /// Top edge, points from the top.
    pub y: f32,
    /// Width, points.
    pub width: f32,
    /// Height, points.
    pub height: f32,
}

/// Something on a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Text or a formula's glyphs.
    Glyphs(GlyphRun),
    /// A rule, a curve, an area.
    Shape(Shape),
    /// A picture.
    Picture(Picture),
}

/// A mark and what it belongs to in the structure of the document.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What is seen.
    pub mark: Mark,
    /// The element it belongs to, an index into [`Document::structure`]; `None` for furniture (artifacts).
    pub element: Option<usize>,
}

/// A clickable area that leads to a point in the document.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// Left, top, right, bottom, points.
    pub area: [f32; 4],
    /// The page it leads to, counted from 0.
    pub page: usize,
    /// The height on that page, points from the top.
    pub y: f32,
    /// What a reader is told about it.
    pub description: String,
    /// The element it belongs to, of role [`Role::Link`].
    pub element: usize,
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Width, points.
    pub width: f32,
    /// Height, points.
    pub height: f32,
    /// In the order of painting, which is also the order of reading.
    pub items: Vec<Item>,
    /// Links.
    pub links: Vec<Link>,
}

/// What an element of the structure is (names of ISO 32000-1, 14.8.4, in words).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The whole document; the root only.
    Document,
    /// A heading of level 1, the title, to 6.
    Heading(u8),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// An item of a list.
    ListItem,
    /// The label of an item.
    ListLabel,
    /// The body of an item.
    ListBody,
    /// A panel.
    Panel,
    /// A table.
    Table,
    /// A row of a table.
    Row,
    /// A head cell; it heads its column.
    HeadCell,
    /// A cell that heads its row.
    RowHead,
    /// A cell.
    Cell,
    /// A figure; needs an alternative text.
    Figure,
    /// A formula; needs an alternative text.
    Formula,
    /// A box to tick on paper; needs an alternative text.
    Tick,
    /// A cell to write in on paper; needs an alternative text.
    WriteIn,
    /// A caption, in the table or figure that it describes.
    Caption,
    /// Text as it was written, in monospace.
    Code,
    /// A list of contents.
    Contents,
    /// An entry of a list of contents.
    ContentsItem,
    /// What leads to another part of the document; in entries of a list of contents.
    Reference,
    /// A cross-reference.
    Link,
    /// A run inside a paragraph.
    Span,
    /// A run that is struck through.
    Struck,
}

/// An element of the document's structure.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// What it is.
    pub role: Role,
    /// The element it is in; `None` for the root, which is element 0.
    pub parent: Option<usize>,
    /// What to say instead of it (figures, formulas, cells).
    pub alternative: Option<String>,
}

/// An entry of the outline that a reader shows beside the pages.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlineEntry {
    /// What it says.
    pub title: String,
    /// Depth, from 1.
    pub level: u8,
    /// Page, counted from 0.
    pub page: usize,
    /// Height on that page, points from the top.
    pub y: f32,
}

/// A file carried inside the document.
#[derive(Debug, Clone, PartialEq)]
pub struct Attachment {
    /// Its name, without folders.
    pub name: String,
    /// What kind of file it is.
    pub kind: Carried,
    /// One line on what it is.
    pub description: String,
    /// What it holds.
    pub content: Packed,
}

/// A file's bytes, packed (RFC 1950).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// The packed bytes.
    pub bytes: Vec<u8>,
    /// How many they were before.
    pub length: usize,
    /// The MD5 digest of what they were before.
    pub digest: [u8; 16],
}

/// The kinds of files that a document carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carried {
    /// The run file, from which the document was made.
    RunFile,
    /// A table of readings that it takes.
    Table,
    /// Data for other programs.
    Data,
}

/// What a document says about itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct About {
    /// Title.
    pub title: String,
    /// Authors, in order.
    pub authors: Vec<String>,
    /// What it is about, one line.
    pub subject: String,
    /// BCP 47 language tag, e.g. `en-GB`.
    pub language: String,
    /// Date of the work; the document's only date.
    pub date: Option<Date>,
    /// A word that tells documents made from other inputs apart, letters and digits; empty for none.
    pub made_from: String,
}

/// A finished document.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Title, authors and the like.
    pub about: About,
    /// Pages in order.
    pub pages: Vec<Page>,
    /// Elements; the first is the root.
    pub structure: Vec<Element>,
    /// Outline in reading order.
    pub outline: Vec<OutlineEntry>,
    /// Files carried.
    pub attachments: Vec<Attachment>,
}
