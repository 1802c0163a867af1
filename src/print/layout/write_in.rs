//! Boxes to tick and cells to write in, as marks on a baseline.

use std::sync::Arc;

use super::Layouter;
use super::flow_item::{outline, rule, shift};
use super::maths::SetFormula;
use super::words::{PieceContent, TextStyle};
use crate::print::manuscript::write_in::WriteIn;
use crate::print::page::{Colour, Face, GlyphRun, Mark, Role, Shape, Stroke};

/// A millimetre, points.
const MM: f32 = 72.0 / 25.4;
/// A box for one digit: as wide and as high as a pen needs.
const BOX: (f32, f32) = (6.5 * MM, 8.0 * MM);
/// How far a box reaches below the baseline of what is printed beside it.
const BELOW: f32 = 2.2 * MM;
/// A ruled line, before a unit and alone.
const RULED: (f32, f32) = (30.0 * MM, 62.0 * MM);
/// The side of a box to tick.
const TICK: f32 = 4.2 * MM;
/// The name below a cell, what is expected, and what is printed between boxes, points.
const NAME_SIZE: f32 = 5.2;
const EXPECTED_SIZE: f32 = 7.5;
const BETWEEN_SIZE: f32 = 14.0;
/// Characters of a name that fit below a cell without making it much wider.
const LONGEST_NAME: usize = 50;
/// Room around what stands beside a cell, points.
const ROOM: f32 = 3.0;
/// Thickness of a line, points.
const LINE: f32 = 0.6;

/// What is set so far, from the left.
#[derive(Default)]
struct Strip {
    end: f32,
    marks: Vec<Mark>,
}

/// Returns a box to tick.
pub(super) fn tick() -> SetFormula {
    let above = TICK - 0.9 * MM;
    SetFormula {
        width: TICK + ROOM,
        ascent: above + 1.5,
        descent: TICK - above + 1.5,
        marks: vec![framed(LINE / 2.0, -above, TICK - LINE, TICK - LINE)],
        spoken: "box to tick".to_owned(),
        role: Role::Tick,
    }
}

impl Layouter<'_> {
    /// Returns a cell to write in, with its name below it.
    pub(super) fn write_in(&mut self, cell: &WriteIn, style: TextStyle) -> SetFormula {
        let (width, height) = BOX;
        let top = BELOW - height;
        let mut strip = Strip::default();
        for c in cell.boxes.chars() {
            if c == '#' {
                strip.marks.push(framed(strip.end, top, width, height));
                strip.end += width;
            } else {
                let between = TextStyle::new(Face::Bold, BETWEEN_SIZE, Colour::BLACK);
                strip.end += 1.0;
                self.print(&c.to_string(), between, 0.0, &mut strip);
                strip.end += 1.0;
            }
        }
        if cell.boxes.is_empty() {
            let length = if cell.unit.is_empty() {
                RULED.1
            } else {
                RULED.0
            };
            let line = rule(strip.end, length, BELOW - LINE, LINE, Colour::BLACK);
            strip.marks.push(line);
            strip.end += length;
        }
        if !cell.unit.is_empty() {
            strip.end += ROOM;
            self.print(&cell.unit, style, 0.0, &mut strip);
        }
        // Below it: its name, and at the right what is expected.
        let small = BELOW + EXPECTED_SIZE;
        let mut below = Strip::default();
        let name = TextStyle::new(Face::Mono, NAME_SIZE, self.style.quiet);
        self.print(&shortened(&cell.name), name, small, &mut below);
        let mut expected = Strip::default();
        if !cell.expected.is_empty() {
            let style = TextStyle::new(Face::Regular, EXPECTED_SIZE, self.style.quiet);
            let text = format!("≈\u{a0}{}", cell.expected);
            self.print(&text, style, small, &mut expected);
            below.end += 2.0 * ROOM;
        }
        let end = strip.end.max(below.end + expected.end);
        for mark in &mut expected.marks {
            shift(mark, end - expected.end, 0.0);
        }
        strip.marks.extend(below.marks);
        strip.marks.extend(expected.marks);
        let said = cell.said.trim();
        SetFormula {
            width: end + ROOM,
            ascent: ROOM - top,
            descent: small + ROOM,
            marks: strip.marks,
            spoken: if said.is_empty() { &cell.name } else { said }.to_owned(),
            role: Role::WriteIn,
        }
    }

    /// Prints a text that is not broken at the end of a strip.
    fn print(&mut self, text: &str, style: TextStyle, y: f32, strip: &mut Strip) {
        for piece in self.pieces(&text.replace(' ', "\u{a0}"), style) {
            if let PieceContent::Glyphs(glyphs) = &piece.ink {
                strip.marks.push(Mark::Glyphs(GlyphRun {
                    face: piece.style.face,
                    size: piece.style.size,
                    x: strip.end,
                    y,
                    turn: 0.0,
                    colour: piece.style.colour,
                    glyphs: Arc::clone(glyphs),
                }));
            }
            strip.end += piece.width;
        }
    }
}

/// Returns the end of a long name: its beginning, section and solution, stands in headings.
fn shortened(name: &str) -> String {
    let over = name.chars().count().saturating_sub(LONGEST_NAME);
    if over == 0 {
        return name.to_owned();
    }
    let end = name.chars().skip(over + 1);
    std::iter::once('…').chain(end).collect()
}

/// Returns a box.
fn framed(left: f32, top: f32, width: f32, height: f32) -> Mark {
    Mark::Shape(Shape {
        steps: outline(left, top, width, height),
        fill: None,
        stroke: Some(Box::new(Stroke {
            colour: Colour::BLACK,
            width: LINE,
            dashes: Vec::new(),
        })),
    })
}
