//! The content of the pages: what is painted, in marked pieces that the structure refers to.

use std::collections::BTreeMap;

use printpdf::{
    Codepoint, Color, DictItem, LineDashPattern, Op, PdfPage, Point, Pt, Rect, Rgb, TextItem,
    TextMatrix,
};

use super::font::{Font, Fonts};
use super::structure::Marked;
use crate::page::{Colour, Document, Face, GlyphRun, Item, Mark, Page, Shape, Step, Stroke};

/// The pages; each marked piece is entered into `marked`.
pub(super) fn pages(document: &Document, fonts: &Fonts, marked: &mut Marked) -> Vec<PdfPage> {
    let pages = document.pages.iter().enumerate();
    pages
        .map(|(number, page)| write_page(document, number, page, fonts, marked))
        .collect()
}

fn write_page(
    document: &Document,
    number: usize,
    page: &Page,
    fonts: &Fonts,
    marked: &mut Marked,
) -> PdfPage {
    let mut pen = Pen {
        height: page.height,
        fonts,
        ops: Vec::new(),
        state: State::default(),
    };
    for piece in page.items.chunk_by(|one, next| one.element == next.element) {
        match piece.first().and_then(|item| item.element) {
            Some(element) => {
                let mcid = marked.enter(number, element);
                let tag = super::structure::name(document.structure[element].role).to_owned();
                let number = i64::try_from(mcid).unwrap_or(i64::MAX);
                let map = BTreeMap::from([("MCID".to_owned(), DictItem::Int(number))]);
                pen.ops.push(Op::BeginMarkedContentWithProperties {
                    tag,
                    properties: DictItem::Dict { map },
                });
            }
            None => pen.ops.push(Op::BeginMarkedContent {
                tag: "Artifact".to_owned(),
            }),
        }
        pen.write_items(piece);
        pen.ops.push(Op::EndMarkedContent);
    }
    let sheet = Rect::from_wh(Pt(page.width), Pt(page.height));
    PdfPage {
        media_box: sheet.clone(),
        trim_box: sheet.clone(),
        crop_box: sheet,
        ops: pen.ops,
    }
}

/// What the reader of the content has been told last, so that it is not told again.
#[derive(Default)]
struct State {
    font: Option<(Face, f32)>,
    fill: Option<Colour>,
    stroke: Option<Stroke>,
}

struct Pen<'a> {
    height: f32,
    fonts: &'a Fonts,
    ops: Vec<Op>,
    state: State,
}

impl Pen<'_> {
    fn write_items(&mut self, items: &[Item]) {
        for item in items {
            match &item.mark {
                Mark::Glyphs(run) => self.write_run(run),
                Mark::Shape(shape) => self.write_shape(shape),
            }
        }
    }

    fn write_run(&mut self, run: &GlyphRun) {
        let fonts = self.fonts;
        let Some(font) = fonts.get(run.face).filter(|_| !run.glyphs.is_empty()) else {
            return;
        };
        self.fill_with(run.colour);
        self.ops.push(Op::StartTextSection);
        if self.state.font != Some((run.face, run.size)) {
            self.state.font = Some((run.face, run.size));
            self.ops.push(Op::SetFont {
                font: font.handle.clone(),
                size: Pt(rounded(run.size)),
            });
        }
        let (x, y) = (rounded(run.x), self.up(run.y));
        if run.turn == 0.0 {
            self.ops.push(Op::SetTextCursor {
                pos: Point { x: Pt(x), y: Pt(y) },
            });
        } else {
            let (sine, cosine) = run.turn.to_radians().sin_cos();
            let (sine, cosine) = (fraction(sine), fraction(cosine));
            let matrix = TextMatrix::Raw([cosine, sine, -sine, cosine, x, y]);
            self.ops.push(Op::SetTextMatrix { matrix });
        }
        for saying in sayings(run, font) {
            let spoken = saying.actual_text;
            if let Some(text) = &spoken {
                let map = BTreeMap::from([("ActualText".to_owned(), utf16(text))]);
                let properties = DictItem::Dict { map };
                self.ops.push(Op::BeginMarkedContentWithProperties {
                    tag: "Span".to_owned(),
                    properties,
                });
            }
            self.ops.push(Op::ShowText {
                items: vec![TextItem::GlyphIds(saying.glyphs)],
            });
            if spoken.is_some() {
                self.ops.push(Op::EndMarkedContent);
            }
        }
        self.ops.push(Op::EndTextSection);
    }

    fn write_shape(&mut self, shape: &Shape) {
        let paint = match (shape.fill.is_some(), shape.stroke.is_some()) {
            (true, true) => "B",
            (true, false) => "f",
            (false, true) => "S",
            (false, false) => return,
        };
        if shape.steps.is_empty() {
            return;
        }
        if let Some(colour) = shape.fill {
            self.fill_with(colour);
        }
        if let Some(stroke) = &shape.stroke {
            self.stroke_with(stroke);
        }
        for step in &shape.steps {
            match *step {
                Step::Move(x, y) => self.operate("m", &[(x, y)]),
                Step::Line(x, y) => self.operate("l", &[(x, y)]),
                Step::Curve(x1, y1, x2, y2, x, y) => {
                    self.operate("c", &[(x1, y1), (x2, y2), (x, y)]);
                }
                Step::Close => self.operate("h", &[]),
            }
        }
        self.operate(paint, &[]);
    }

    fn operate(&mut self, operator: &str, points: &[(f32, f32)]) {
        let value = points
            .iter()
            .flat_map(|(x, y)| [DictItem::Real(rounded(*x)), DictItem::Real(self.up(*y))])
            .collect();
        self.ops.push(Op::Unknown {
            key: operator.to_owned(),
            value,
        });
    }

    fn fill_with(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.state.fill = Some(colour);
            self.ops.push(Op::SetFillColor { col: ink(colour) });
        }
    }

    fn stroke_with(&mut self, stroke: &Stroke) {
        let before = self.state.stroke.replace(stroke.clone());
        let before = before.as_ref();
        if before.map(|known| known.colour) != Some(stroke.colour) {
            self.ops.push(Op::SetOutlineColor {
                col: ink(stroke.colour),
            });
        }
        if before.map(|known| known.width) != Some(stroke.width) {
            self.ops.push(Op::SetOutlineThickness {
                pt: Pt(rounded(stroke.width)),
            });
        }
        if before.map_or(&[][..], |known| &known.dashes) != stroke.dashes {
            // Dashes of no length at all are an error to a reader (ISO 32000-1, 8.4.3.6); a whole line is meant.
            let whole = stroke.dashes.iter().all(|dash| rounded(*dash) == 0.0);
            let dashes: &[f32] = if whole { &[] } else { &stroke.dashes };
            let pattern = dashes.iter().map(|dash| rounded(*dash)).collect();
            self.ops.push(Op::SetLineDashPattern {
                dash: LineDashPattern {
                    offset: 0.0,
                    pattern,
                },
            });
        }
    }

    /// From points below the top to points above the bottom.
    fn up(&self, y: f32) -> f32 {
        rounded(self.height - y)
    }
}

/// Glyphs that say together what their font says of each, or else a text of their own.
struct Saying {
    glyphs: Vec<Codepoint>,
    actual_text: Option<String>,
}

/// Cuts a run wherever what a glyph stands for is not what its font says of it.
fn sayings(run: &GlyphRun, font: &Font) -> Vec<Saying> {
    let mut sayings: Vec<Saying> = Vec::new();
    // Where the pen should be after the glyphs so far, and where the file puts it, 1/1000 em.
    let (mut wanted, mut reached) = (0.0_f64, 0.0_f64);
    for (at, glyph) in run.glyphs.iter().enumerate() {
        wanted += f64::from(glyph.advance);
        reached += f64::from(font.advance(glyph.id));
        let mut offset = 0.0;
        if at + 1 < run.glyphs.len() {
            offset = ((reached - wanted) * 10.0).round() / 10.0;
            reached -= offset;
        }
        let text = font.text(glyph.id);
        let code = Codepoint {
            gid: font.number(glyph.id),
            offset: offset as f32 + 0.0,
            cid: Some(text.to_owned()),
        };
        let continues_cluster = glyph.text.is_empty();
        let cluster_goes_on = run
            .glyphs
            .get(at + 1)
            .is_some_and(|next| next.text.is_empty());
        if continues_cluster && let Some(last) = sayings.last_mut() {
            last.glyphs.push(code);
        } else if continues_cluster || cluster_goes_on || !means(&glyph.text, text) {
            sayings.push(Saying {
                glyphs: vec![code],
                actual_text: Some(glyph.text.clone()),
            });
        } else if let Some(last) = sayings.last_mut().filter(|last| last.actual_text.is_none()) {
            last.glyphs.push(code);
        } else {
            sayings.push(Saying {
                glyphs: vec![code],
                actual_text: None,
            });
        }
    }
    sayings
}

/// Spaces of all kinds may share a glyph; whoever copies is served as well by one as by another.
fn means(wanted: &str, said: &str) -> bool {
    let blank = |text: &str| text.chars().all(char::is_whitespace);
    wanted == said || (blank(wanted) && blank(said))
}

/// A text string with its byte order mark (ISO 32000-1, 7.9.2.2).
fn utf16(text: &str) -> DictItem {
    let units = std::iter::once(0xFEFF).chain(text.encode_utf16());
    DictItem::String {
        data: units.flat_map(u16::to_be_bytes).collect(),
        literal: false,
    }
}

fn ink(Colour(r, g, b): Colour) -> Color {
    Color::Rgb(Rgb {
        r: fraction(r),
        g: fraction(g),
        b: fraction(b),
        icc_profile: None,
    })
}

/// To 1/1000 point, far below what can be seen or printed. Adding nothing turns −0 into 0.
fn rounded(length: f32) -> f32 {
    ((f64::from(length) * 1000.0).round() / 1000.0) as f32 + 0.0
}

/// A colour's part or a cosine, to four decimals.
fn fraction(number: f32) -> f32 {
    (number * 10_000.0).round() / 10_000.0 + 0.0
}
