//! Attributes of structure elements (ISO 32000-1, 14.8.5): what a reader needs to know beyond their type.

use lopdf::Object;

use super::finish::ObjectStreamBuilder;
use super::write_object::{self, length_object};
use crate::print::page::{Document, Element, GlyphRun, Mark, Role, Step};

/// Attributes that all elements of a role share. Each is one object of the file, by its number.
pub(super) struct SharedAttributes {
    column: u32,
    row: u32,
    struck: u32,
}

impl SharedAttributes {
    pub(super) fn add_to(file: &mut lopdf::Document, loose: &mut ObjectStreamBuilder) -> Self {
        let mut add = |attributes: &[u8]| {
            let (number, _) = file.new_object_id();
            loose.add(number, |out| out.extend_from_slice(attributes));
            number
        };
        Self {
            column: add(b"<</O/Table/Scope/Column>>"),
            row: add(b"<</O/Table/Scope/Row>>"),
            struck: add(b"<</O/Layout/TextDecorationType/LineThrough>>"),
        }
    }

    /// Returns the number of a role's shared attributes; `None` if its elements share none.
    pub(super) fn of(&self, role: Role) -> Option<u32> {
        match role {
            Role::HeadCell => Some(self.column),
            Role::RowHead => Some(self.row),
            Role::Struck => Some(self.struck),
            _ => None,
        }
    }
}

/// What one walk over the pages tells of each element.
pub(super) struct ElementFacts {
    /// Where its own marks are; `None` if they are nowhere or on several pages.
    bounds: Vec<Option<Bounds>>,
    /// The first letter or digit of its own text.
    first_characters: Vec<Option<char>>,
    /// For a list, the label of its first item that has one.
    labels: Vec<Option<usize>>,
}

/// Left, top, right and bottom, points from the top left corner of a page.
#[derive(Clone, Copy)]
struct Bounds {
    page: usize,
    on_several: bool,
    corners: [f32; 4],
}

impl Bounds {
    fn take(&mut self, x: f32, y: f32) {
        let [left, top, right, bottom] = self.corners;
        self.corners = [left.min(x), top.min(y), right.max(x), bottom.max(y)];
    }

    /// From the baseline, an em up.
    fn take_run(&mut self, run: &GlyphRun) {
        let width = run.glyphs.iter().map(|glyph| glyph.advance).sum::<f32>() / 1000.0;
        let (sine, cosine) = run.turn.to_radians().sin_cos();
        for (along, above) in [(0.0, 0.0), (width, 0.0), (0.0, 1.0), (width, 1.0)] {
            let (along, above) = (along * run.size, above * run.size);
            self.take(
                run.x + along * cosine - above * sine,
                run.y - along * sine - above * cosine,
            );
        }
    }

    /// A curve stays within its control points.
    fn take_step(&mut self, step: Step) {
        match step {
            Step::Move(x, y) | Step::Line(x, y) => self.take(x, y),
            Step::Curve(x1, y1, x2, y2, x, y) => {
                self.take(x1, y1);
                self.take(x2, y2);
                self.take(x, y);
            }
            Step::Close => {}
        }
    }
}

impl ElementFacts {
    pub(super) fn in_document(document: &Document) -> Self {
        let count = document.structure.len();
        let mut seen = Self {
            bounds: vec![None; count],
            first_characters: vec![None; count],
            labels: vec![None; count],
        };
        for (number, page) in document.pages.iter().enumerate() {
            for item in &page.items {
                let Some(index) = item.element else { continue };
                match document.structure[index].role {
                    Role::Figure | Role::Formula => seen.note_bounds(index, number, &item.mark),
                    Role::ListLabel => seen.note_character(index, &item.mark),
                    _ => {}
                }
            }
        }
        for (index, element) in document.structure.iter().enumerate() {
            if element.role == Role::ListLabel
                && let Some(list) = element
                    .parent
                    .and_then(|item| document.structure[item].parent)
            {
                seen.labels[list].get_or_insert(index);
            }
        }
        seen
    }

    fn note_bounds(&mut self, index: usize, page: usize, mark: &Mark) {
        let nothing = Bounds {
            page,
            on_several: false,
            corners: [f32::MAX, f32::MAX, f32::MIN, f32::MIN],
        };
        let bounds = self.bounds[index].get_or_insert(nothing);
        bounds.on_several |= bounds.page != page;
        match mark {
            Mark::Glyphs(run) => bounds.take_run(run),
            Mark::Picture(picture) => {
                bounds.take(picture.x, picture.y);
                bounds.take(picture.x + picture.width, picture.y + picture.height);
            }
            Mark::Shape(shape) => shape.steps.iter().for_each(|step| bounds.take_step(*step)),
        }
    }

    fn note_character(&mut self, index: usize, mark: &Mark) {
        if let (None, Mark::Glyphs(run)) = (self.first_characters[index], mark) {
            let mut characters = run.glyphs.iter().flat_map(|glyph| glyph.text.chars());
            self.first_characters[index] = characters.find(|character| character.is_alphanumeric());
        }
    }

    /// Writes the attributes that only this element has, with their key; nothing if it has none.
    pub(super) fn write_attributes(&self, out: &mut Vec<u8>, document: &Document, index: usize) {
        let element = &document.structure[index];
        match element.role {
            Role::List => {
                out.extend_from_slice(b"/A<</O/List/ListNumbering/");
                out.extend_from_slice(self.numbering(index));
                out.extend_from_slice(b">>");
            }
            Role::Tick | Role::WriteIn => write_print_field(out, element),
            Role::Figure | Role::Formula | Role::Code => {
                let in_a_line = is_in_a_line(document, index);
                let bounds = self.bounds[index].filter(|bounds| !bounds.on_several);
                if in_a_line && bounds.is_none() {
                    return;
                }
                out.extend_from_slice(b"/A<</O/Layout");
                if !in_a_line {
                    out.extend_from_slice(b"/Placement/Block");
                }
                if let Some(bounds) = bounds {
                    let height = document.pages[bounds.page].height;
                    let [left, top, right, bottom] = bounds.corners;
                    let corners = [left, height - bottom, right, height - top];
                    out.extend_from_slice(b"/BBox");
                    write_object::object(out, &Object::Array(corners.map(length_object).into()));
                }
                out.extend_from_slice(b">>");
            }
            _ => {}
        }
    }

    /// Returns what kind of labels a list has, by the first of them.
    fn numbering(&self, list: usize) -> &'static [u8] {
        let Some(label) = self.labels[list] else {
            return b"None";
        };
        match self.first_characters[label] {
            None => b"Disc",
            Some(first) if first.is_numeric() => b"Decimal",
            Some(first) if first.is_uppercase() => b"UpperAlpha",
            Some(_) => b"LowerAlpha",
        }
    }
}

/// Writes a field of a form that is filled in on paper (ISO 32000-1, 14.8.5.6).
fn write_print_field(out: &mut Vec<u8>, element: &Element) {
    out.extend_from_slice(b"/A<</O/PrintField/Desc");
    write_object::text(out, element.alternative.as_deref().unwrap_or_default());
    out.extend_from_slice(match element.role {
        Role::Tick => b"/Role/cb/checked/off>>".as_slice(),
        _ => b"/Role/tv>>",
    });
}

/// Figures, formulas and code stand in a line of text unless said otherwise.
fn is_in_a_line(document: &Document, index: usize) -> bool {
    document.structure[index].parent.is_some_and(|parent| {
        matches!(
            document.structure[parent].role,
            Role::Paragraph
                | Role::Heading(_)
                | Role::Caption
                | Role::Span
                | Role::Struck
                | Role::Link
                | Role::Code
        )
    })
}
