//! The content of the pages: what is painted, in marked pieces that the structure refers to.

use super::font::{Font, Fonts};
use super::operators::{Operators, hundredths, whole};
use super::pack;
use crate::print::page::{
    Colour, Document, Element, Face, GlyphRun, GlyphText, Item, Mark, Page, Picture, Shape, Step,
    Stroke,
};

/// The content of a page.
pub(super) struct Content {
    pub(super) bytes: Vec<u8>,
    pub(super) is_packed: bool,
    /// The elements that its marked pieces belong to, by their numbers on the page.
    pub(super) elements: Vec<usize>,
}

/// The contents of the pages, whose items are taken: of a long document they take far more memory than all of its bytes.
pub(super) fn pages(document: &mut Document, fonts: &Fonts) -> Vec<Content> {
    let structure = &document.structure;
    pack::each(document.pages.iter_mut(), |page| {
        let items = std::mem::take(&mut page.items);
        write_page(structure, page, &items, fonts)
    })
}

fn write_page(structure: &[Element], page: &Page, items: &[Item], fonts: &Fonts) -> Content {
    let mut elements = Vec::new();
    let mut pen = Pen {
        height: page.height,
        fonts,
        out: Operators::default(),
        state: State::default(),
        text_at: None,
        saying: Vec::new(),
        pictures: 0,
    };
    for piece in items.chunk_by(|one, next| one.element == next.element) {
        if let Some(element) = piece.first().and_then(|item| item.element) {
            let tag = super::structure::name(structure[element].role);
            pen.out.open_marked(tag, elements.len());
            elements.push(element);
        } else {
            pen.out.name("Artifact");
            pen.out.operator("BMC");
        }
        for item in piece {
            match &item.mark {
                Mark::Glyphs(run) => pen.write_run(run),
                Mark::Shape(shape) => pen.write_shape(shape),
                Mark::Picture(picture) => pen.write_picture(picture),
            }
        }
        pen.end_text();
        pen.out.close_marked();
    }
    let bytes = pen.out.into_bytes();
    let packed = pack::pack(&bytes);
    Content {
        is_packed: packed.is_some(),
        bytes: packed.unwrap_or(bytes),
        elements,
    }
}

/// What the reader of the content has been told last, so that it is not told again.
#[derive(Default)]
struct State<'a> {
    font: Option<(Face, f32)>,
    fill: Option<Colour>,
    stroke: Option<&'a Stroke>,
}

struct Pen<'a> {
    height: f32,
    fonts: &'a Fonts,
    out: Operators,
    state: State<'a>,
    /// Where the last line of the open text object begins, 1/100 point; `None` if no text object is open.
    text_at: Option<(i64, i64)>,
    /// Glyphs to be shown together, kept from run to run for its room only.
    saying: Vec<(u16, i64)>,
    /// Pictures painted so far.
    pictures: usize,
}

impl<'a> Pen<'a> {
    fn write_run(&mut self, run: &GlyphRun) {
        let fonts = self.fonts;
        let Some(font) = fonts.get(run.face).filter(|_| !run.glyphs.is_empty()) else {
            return;
        };
        if run.turn != 0.0 {
            self.end_text();
        }
        self.fill_with(run.colour);
        // A text object begins with its first line at the origin.
        let (x, y) = self.text_at.unwrap_or_else(|| {
            self.out.operator("BT");
            (0, 0)
        });
        if self.state.font != Some((run.face, run.size)) {
            self.state.font = Some((run.face, run.size));
            self.out.name(font.name);
            self.out.length(run.size);
            self.out.operator("Tf");
        }
        let to = (hundredths(run.x), hundredths(self.height - run.y));
        if run.turn == 0.0 {
            self.out.hundredths(to.0 - x);
            self.out.hundredths(to.1 - y);
            self.out.operator("Td");
        } else {
            let (sine, cosine) = run.turn.to_radians().sin_cos();
            for part in [cosine, sine, -sine, cosine] {
                self.out.fraction(part);
            }
            self.point(run.x, run.y);
            self.out.operator("Tm");
        }
        self.text_at = Some(to);
        self.write_glyphs(run, font);
        if run.turn != 0.0 {
            self.end_text();
        }
    }

    /// Ends the text object, if one is open.
    fn end_text(&mut self) {
        if self.text_at.take().is_some() {
            self.out.operator("ET");
        }
    }

    /// Cuts a run wherever what a glyph stands for is not what its font says of it: what stands between the cuts gets a
    /// text of its own there.
    fn write_glyphs(&mut self, run: &GlyphRun, font: &Font) {
        // Where the pen should be after the glyphs so far, and where the file puts it, 1/1000 em.
        let (mut wanted, mut reached) = (0.0_f64, 0.0_f64);
        let mut own_text: Option<&str> = None;
        let mut glyphs = run.glyphs.iter().peekable();
        while let Some(glyph) = glyphs.next() {
            let known = font.glyph(glyph.id);
            wanted += f64::from(glyph.advance);
            reached += f64::from(known.advance);
            let mut moved = 0;
            if glyphs.peek().is_some() {
                moved = whole(reached - wanted);
                reached -= moved as f64;
            }
            let goes_on = glyph.text.is_empty() && !self.saying.is_empty();
            if !goes_on {
                let opens_cluster = glyphs.peek().is_some_and(|next| next.text.is_empty());
                let plain =
                    !opens_cluster && !glyph.text.is_empty() && means(glyph.text, known.text);
                if !plain || own_text.is_some() {
                    self.say(own_text);
                    own_text = (!plain).then_some(&*glyph.text);
                }
            }
            self.saying.push((known.number, moved));
        }
        self.say(own_text);
    }

    /// Shows the glyphs gathered, to be read as `own_text` if it is given.
    fn say(&mut self, own_text: Option<&str>) {
        if self.saying.is_empty() {
            return;
        }
        if let Some(text) = own_text {
            self.out.open_actual_text(text);
        }
        self.out.show(&self.saying);
        self.saying.clear();
        if own_text.is_some() {
            self.out.close_marked();
        }
    }

    fn write_shape(&mut self, shape: &'a Shape) {
        let paint = match (shape.fill.is_some(), shape.stroke.is_some()) {
            (true, true) => "B",
            (true, false) => "f",
            (false, true) => "S",
            (false, false) => return,
        };
        if shape.steps.is_empty() {
            return;
        }
        self.end_text();
        if let Some(colour) = shape.fill {
            self.fill_with(colour);
        }
        if let Some(stroke) = &shape.stroke {
            self.stroke_with(stroke);
        }
        for step in &shape.steps {
            let operator = match *step {
                Step::Move(x, y) => {
                    self.point(x, y);
                    "m"
                }
                Step::Line(x, y) => {
                    self.point(x, y);
                    "l"
                }
                Step::Curve(x1, y1, x2, y2, x, y) => {
                    for (x, y) in [(x1, y1), (x2, y2), (x, y)] {
                        self.point(x, y);
                    }
                    "c"
                }
                Step::Close => "h",
            };
            self.out.operator(operator);
        }
        self.out.operator(paint);
    }

    /// A picture is a unit square, upside up (ISO 32000-1, 8.9.5.1).
    fn write_picture(&mut self, picture: &Picture) {
        self.out.operator("q");
        for part in [picture.width, 0.0, 0.0, picture.height] {
            self.out.length(part);
        }
        self.point(picture.x, picture.y + picture.height);
        self.out.operator("cm");
        self.out.name(&super::picture::name(self.pictures));
        self.out.operator("Do");
        self.out.operator("Q");
        self.pictures += 1;
    }

    fn fill_with(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.state.fill = Some(colour);
            self.ink(colour, "rg");
        }
    }

    fn stroke_with(&mut self, stroke: &'a Stroke) {
        let before = self.state.stroke.replace(stroke);
        if before.map(|known| known.colour) != Some(stroke.colour) {
            self.ink(stroke.colour, "RG");
        }
        if before.map(|known| known.width) != Some(stroke.width) {
            self.out.length(stroke.width);
            self.out.operator("w");
        }
        if before.map_or(&[][..], |known| &known.dashes) != stroke.dashes {
            // Dashes of no length at all are an error to a reader (ISO 32000-1, 8.4.3.6); a whole line is meant.
            let whole = stroke
                .dashes
                .iter()
                .all(|dash| *dash < super::operators::LEAST);
            self.out.raw("[");
            for dash in stroke.dashes.iter().filter(|_| !whole) {
                self.out.length(*dash);
            }
            self.out.raw("] 0 ");
            self.out.operator("d");
        }
    }

    fn ink(&mut self, Colour(red, green, blue): Colour, operator: &str) {
        for part in [red, green, blue] {
            self.out.fraction(part);
        }
        self.out.operator(operator);
    }

    /// From points below the top to points above the bottom.
    fn point(&mut self, x: f32, y: f32) {
        self.out.length(x);
        self.out.length(self.height - y);
    }
}

/// Spaces of all kinds may share a glyph; whoever copies is served as well by one as by another.
fn means(wanted: GlyphText, said: GlyphText) -> bool {
    let blank = |text: GlyphText| text.chars().all(char::is_whitespace);
    wanted == said || (blank(wanted) && blank(said))
}
