//! What `plotters` draws on: a canvas that turns its calls into page marks. Text is shaped before it is placed, and set
//! without `plotters`.

use std::convert::Infallible;
use std::sync::Arc;

use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, DrawingBackend, DrawingErrorKind,
};

use super::style::UNITS_PER_POINT;
use super::text::Line;
use crate::print::page::{Colour, GlyphRun, Mark, Shape, Step, Stroke};

/// Distance of the control points of a quarter circle from its ends, in radii: the cubic curve that meets the circle
/// also at its middle.
const QUARTER: f32 = 0.552_284_8;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// A canvas of so many hundredths of a point. Colours are mixed with white where they are not opaque, so what lies
/// behind an opaque mark must be drawn before it.
pub(super) struct Canvas<'a> {
    size: (u32, u32),
    marks: &'a mut Vec<Mark>,
}

/// Where a text starts and which way it runs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Baseline {
    /// Left end, backend units.
    pub(super) start: BackendCoord,
    /// Counter-clockwise turn, degrees.
    pub(super) turn: f32,
}

impl<'a> Canvas<'a> {
    /// Returns a canvas of that many backend units that adds to `marks`.
    pub(super) fn new(size: (u32, u32), marks: &'a mut Vec<Mark>) -> Self {
        Self { size, marks }
    }

    /// Sets a shaped line.
    pub(super) fn set(&mut self, line: &Line, at: Baseline, colour: BackendColor) {
        let (sin, cos) = at.turn.to_radians().sin_cos();
        let (mut x, mut y) = points(at.start);
        for (face, shaped) in &line.runs {
            self.marks.push(Mark::Glyphs(GlyphRun {
                face: *face,
                size: line.size,
                x,
                y,
                turn: at.turn,
                colour: mixed(colour),
                glyphs: Arc::clone(&shaped.glyphs),
            }));
            x += shaped.width * line.size * cos;
            y -= shaped.width * line.size * sin;
        }
    }

    /// Draws a line through points with dashes (points; none for a whole line).
    pub(super) fn trace<S: BackendStyle>(
        &mut self,
        path: impl IntoIterator<Item = BackendCoord>,
        style: &S,
        dashes: &[f32],
    ) {
        let steps = outline(path);
        if steps.len() > 1 {
            let stroke = Stroke {
                dashes: dashes.to_vec(),
                ..stroke(style)
            };
            self.marks.push(Mark::Shape(Shape {
                steps,
                fill: None,
                stroke: Some(Box::new(stroke)),
            }));
        }
    }

    /// Fills or draws a closed outline.
    fn close<S: BackendStyle>(&mut self, mut steps: Vec<Step>, style: &S, fill: bool) {
        if steps.len() > 1 {
            steps.push(Step::Close);
            self.marks.push(Mark::Shape(Shape {
                steps,
                fill: fill.then(|| mixed(style.color())),
                stroke: (!fill).then(|| Box::new(stroke(style))),
            }));
        }
    }
}

/// Backend units in points.
fn points((x, y): BackendCoord) -> (f32, f32) {
    (
        (f64::from(x) / UNITS_PER_POINT) as f32,
        (f64::from(y) / UNITS_PER_POINT) as f32,
    )
}

/// Returns the colour that shows on white paper.
fn mixed(colour: BackendColor) -> Colour {
    let on_white = |part: u8| (1.0 - colour.alpha * (1.0 - f64::from(part) / 255.0)) as f32;
    let (red, green, blue) = colour.rgb;
    Colour(on_white(red), on_white(green), on_white(blue))
}

fn stroke<S: BackendStyle>(style: &S) -> Stroke {
    Stroke {
        colour: mixed(style.color()),
        width: (f64::from(style.stroke_width()) / UNITS_PER_POINT) as f32,
        dashes: Vec::new(),
    }
}

fn outline(path: impl IntoIterator<Item = BackendCoord>) -> Vec<Step> {
    path.into_iter()
        .map(points)
        .enumerate()
        .map(|(index, (x, y))| {
            if index == 0 {
                Step::Move(x, y)
            } else {
                Step::Line(x, y)
            }
        })
        .collect()
}

impl DrawingBackend for Canvas<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.draw_rect((x, y), (x + 1, y + 1), &colour, true)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        a: BackendCoord,
        b: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        self.close(outline([a, (b.0, a.1), b, (a.0, b.1)]), style, fill);
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        self.trace(path, style, &[]);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let (x, y) = points(centre);
        let r = (f64::from(radius) / UNITS_PER_POINT) as f32;
        let k = r * QUARTER;
        let steps = vec![
            Step::Move(x + r, y),
            Step::Curve(x + r, y + k, x + k, y + r, x, y + r),
            Step::Curve(x - k, y + r, x - r, y + k, x - r, y),
            Step::Curve(x - r, y - k, x - k, y - r, x, y - r),
            Step::Curve(x + k, y - r, x + r, y - k, x + r, y),
        ];
        self.close(steps, style, fill);
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Drawn {
        self.close(outline(corners), style, true);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use plotters::prelude::*;

    use super::*;

    fn drawn(draw: impl FnOnce(&mut Canvas<'_>)) -> Vec<Mark> {
        let mut marks = Vec::new();
        draw(&mut Canvas::new((10_000, 10_000), &mut marks));
        marks
    }

    #[test]
    fn see_through_colours_are_mixed_with_white() {
        let half = BackendColor {
            alpha: 0.5,
            rgb: (0, 255, 0),
        };
        assert_eq!(mixed(half), Colour(0.5, 1.0, 0.5));
    }

    #[test]
    fn a_path_becomes_one_outline_in_points() {
        let marks = drawn(|canvas| {
            canvas
                .draw_path(
                    [(100, 200), (300, 200), (300, 450)],
                    &Color::stroke_width(&BLACK, 50),
                )
                .unwrap();
        });
        let Mark::Shape(shape) = &marks[0] else {
            panic!("a shape: {marks:?}")
        };
        assert_eq!(
            shape.steps,
            [
                Step::Move(1.0, 2.0),
                Step::Line(3.0, 2.0),
                Step::Line(3.0, 4.5)
            ]
        );
        assert_eq!(shape.stroke.as_ref().map(|stroke| stroke.width), Some(0.5));
    }
}
