//! Places the pieces of one line.

use std::borrow::{Borrow, Cow};
use std::sync::Arc;

use super::Layouter;
use super::flow_item::{PendingLink, SetLine, rule};
use super::words::{Piece, PieceContent, TextStyle};
use crate::print::page::{Element, Face, Glyph, GlyphRun, GlyphText, Item, Mark, Role};
use crate::print::typeface::Forms;

/// A piece or a space of a line.
#[derive(Debug, Clone)]
pub(super) enum Part<'w> {
    Piece(Cow<'w, Piece>),
    Space(TextStyle),
}

/// A run of glyphs on the baseline that may still go on.
struct OpenRun {
    style: TextStyle,
    x: f32,
    /// The glyphs of the first piece, as long as it is the only one.
    only: Option<Arc<[Glyph]>>,
    glyphs: Vec<Glyph>,
    element: Option<usize>,
}

/// Most runs of a paragraph are shorter than this.
const USUAL_RUN: usize = 128;

impl OpenRun {
    fn new(style: TextStyle, x: f32, element: Option<usize>) -> Self {
        Self {
            style,
            x,
            only: None,
            glyphs: Vec::new(),
            element,
        }
    }

    fn extend(&mut self, glyphs: &Arc<[Glyph]>) {
        if self.only.is_none() && self.glyphs.is_empty() {
            self.only = Some(Arc::clone(glyphs));
        } else {
            self.several().extend_from_slice(glyphs);
        }
    }

    fn push(&mut self, glyph: Glyph) {
        self.several().push(glyph);
    }

    fn several(&mut self) -> &mut Vec<Glyph> {
        if self.glyphs.is_empty() {
            self.glyphs.reserve(USUAL_RUN);
        }
        if let Some(only) = self.only.take() {
            self.glyphs.extend_from_slice(&only);
        }
        &mut self.glyphs
    }

    fn goes_on(&self, style: TextStyle, element: Option<usize>) -> bool {
        self.element == element
            && self.style.face == style.face
            && self.style.size.to_bits() == style.size.to_bits()
            && self.style.colour == style.colour
    }

    fn closed(self) -> Item {
        Item {
            mark: Mark::Glyphs(GlyphRun {
                face: self.style.face,
                size: self.style.size,
                x: self.x,
                y: 0.0,
                turn: 0.0,
                colour: self.style.colour,
                glyphs: self.only.unwrap_or_else(|| self.glyphs.into()),
            }),
            element: self.element,
        }
    }
}

impl Layouter<'_> {
    /// Returns a space and its width.
    pub(super) fn space(&self, style: TextStyle) -> (Glyph, f32) {
        let (glyph, width) = self.known_space(style);
        (*glyph, width * style.size)
    }

    /// Width of a space.
    pub(super) fn space_width(&self, style: TextStyle) -> f32 {
        self.known_space(style).1 * style.size
    }

    /// Returns a space and its width in em, shaped once for each face.
    fn known_space(&self, style: TextStyle) -> &(Glyph, f32) {
        let face = if style.face == Face::Math {
            Face::Regular
        } else {
            style.face
        };
        self.spaces[face as usize].get_or_init(|| {
            let shaped = self.typefaces.shape(face, Forms::default(), " ");
            let glyph = shaped.glyphs.first().copied();
            let glyph = glyph.unwrap_or(Glyph {
                id: 0,
                advance: 250.0,
                text: GlyphText::new(" "),
            });
            (glyph, shaped.width)
        })
    }

    /// Natural width of parts.
    pub(super) fn width(&self, parts: &[Part<'_>]) -> f32 {
        parts
            .iter()
            .map(|part| match part {
                Part::Piece(piece) => piece.width,
                Part::Space(style) => self.space_width(*style),
            })
            .sum()
    }

    /// Sets parts from `x` on, every space widened by `stretch`. Without an element they are furniture.
    pub(super) fn place(
        &mut self,
        parts: &[Part<'_>],
        x: f32,
        stretch: f32,
        element: Option<usize>,
    ) -> SetLine {
        let mut line = SetLine {
            // Most lines are one run.
            items: Vec::with_capacity(1),
            ..SetLine::default()
        };
        self.place_on(&mut line, parts.iter(), x, stretch, element);
        line
    }

    /// Sets further parts on the baseline of a line.
    pub(super) fn place_on<'w>(
        &mut self,
        line: &mut SetLine,
        parts: impl Iterator<Item = impl Borrow<Part<'w>>>,
        x: f32,
        stretch: f32,
        element: Option<usize>,
    ) {
        line.end = x;
        let mut run: Option<OpenRun> = None;
        let mut struck: Option<(f32, TextStyle)> = None;
        let mut strikes = Vec::new();
        // A stroke ends with what it strikes, not with the space behind.
        let mut inked = x;
        // What is struck, for those who cannot see the stroke.
        let mut struck_element = None;
        for part in parts {
            let part = part.borrow();
            let style = match part {
                Part::Piece(piece) => piece.style,
                Part::Space(style) => *style,
            };
            if style.struck && struck.is_none() {
                struck = Some((line.end, style));
                struck_element = self.struck(element);
            } else if !style.struck
                && let Some(open) = struck.take()
            {
                strikes.push((open, inked));
            }
            let element = if style.struck {
                struck_element
            } else {
                element
            };
            match part {
                Part::Space(style) => {
                    self.place_space(*style, stretch, element, &mut run, line);
                }
                Part::Piece(piece) => {
                    self.place_piece(piece, element, &mut run, line);
                    inked = line.end;
                }
            }
        }
        line.items.extend(run.map(OpenRun::closed));
        if let Some(open) = struck {
            strikes.push((open, inked));
        }
        for ((start, style), end) in strikes {
            let mark = rule(
                start,
                end,
                -0.26 * style.size,
                0.055 * style.size,
                style.colour,
            );
            line.items.push(Item {
                mark,
                element: None,
            });
        }
    }

    fn place_space(
        &mut self,
        style: TextStyle,
        stretch: f32,
        element: Option<usize>,
        run: &mut Option<OpenRun>,
        line: &mut SetLine,
    ) {
        let (mut glyph, width) = self.space(style);
        let start = line.end;
        line.end += width + stretch;
        match run {
            Some(run) if run.element == element && run.style.face == style.face => {
                glyph.advance = (line.end - start) / run.style.size * 1000.0;
                run.push(glyph);
            }
            _ => {
                glyph.advance = (line.end - start) / style.size * 1000.0;
                let mut next = OpenRun::new(style, start, element);
                if style.face == Face::Math {
                    next.style.face = Face::Regular;
                }
                next.push(glyph);
                let ended = run.replace(next);
                line.items.extend(ended.map(OpenRun::closed));
            }
        }
    }

    fn place_piece(
        &mut self,
        piece: &Piece,
        element: Option<usize>,
        run: &mut Option<OpenRun>,
        line: &mut SetLine,
    ) {
        let (x, style) = (line.end, piece.style);
        line.end += piece.width;
        match &piece.ink {
            PieceContent::Formula(formula) => {
                line.items.extend(run.take().map(OpenRun::closed));
                line.ascent = line.ascent.max(formula.ascent);
                line.descent = line.descent.max(formula.descent);
                let alternative = Some(formula.spoken.clone());
                let element =
                    element.map(|parent| self.element(formula.role, Some(parent), alternative));
                line.items
                    .extend(formula.marks_at(x, 0.0).map(|mark| Item { mark, element }));
            }
            PieceContent::Glyphs(glyphs) => {
                line.ascent = line.ascent.max(0.70 * style.size);
                line.descent = line.descent.max(0.23 * style.size);
                let owner = match (&piece.link, element) {
                    (Some(label), Some(parent)) => {
                        let link = self.element(Role::Link, Some(parent), None);
                        let said = self.references.get(&**label);
                        line.links.push(PendingLink {
                            area: [x, -0.75 * style.size, line.end, 0.25 * style.size],
                            label: label.to_string(),
                            description: said.map_or_else(String::new, |said| said.text.clone()),
                            element: link,
                        });
                        Some(link)
                    }
                    _ => element,
                };
                match run {
                    Some(run) if run.goes_on(style, owner) => {
                        run.extend(glyphs);
                    }
                    _ => {
                        let mut next = OpenRun::new(style, x, owner);
                        next.extend(glyphs);
                        let ended = run.replace(next);
                        line.items.extend(ended.map(OpenRun::closed));
                    }
                }
            }
        }
    }

    /// Returns an element of struck text within another, unless that is one.
    pub(super) fn struck(&mut self, within: Option<usize>) -> Option<usize> {
        let within = within?;
        Some(if self.structure[within].role == Role::Struck {
            within
        } else {
            self.element(Role::Struck, Some(within), None)
        })
    }

    /// Adds an element to the structure.
    pub(super) fn element(
        &mut self,
        role: Role,
        parent: Option<usize>,
        alternative: Option<String>,
    ) -> usize {
        self.structure.push(Element {
            role,
            parent,
            alternative,
        });
        self.structure.len() - 1
    }
}
