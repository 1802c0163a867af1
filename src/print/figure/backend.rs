//! What `plotters` draws on: a canvas that turns its calls into page marks.

use std::convert::Infallible;
use std::sync::Arc;

use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    FontStyle, FontTransform,
};

use super::style::{UNITS_PER_POINT, units};
use super::text::Line;
use crate::print::page::{Colour, Face, GlyphRun, Mark, Shape, Step, Stroke};
use crate::print::typeface::Typefaces;

/// Distance of the control points of a quarter circle from its ends, in radii: the cubic curve that meets the circle
/// also at its middle.
const QUARTER: f32 = 0.552_284_8;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// A canvas of so many hundredths of a point. Colours are mixed with white where they are not opaque, so what lies
/// behind an opaque mark must be drawn before it.
pub(super) struct Canvas<'a> {
    size: (u32, u32),
    typefaces: &'a Typefaces,
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
    pub(super) fn new(
        size: (u32, u32),
        typefaces: &'a Typefaces,
        marks: &'a mut Vec<Mark>,
    ) -> Self {
        Self {
            size,
            typefaces,
            marks,
        }
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

fn face(style: FontStyle) -> Face {
    match style {
        FontStyle::Normal => Face::Regular,
        FontStyle::Italic | FontStyle::Oblique => Face::Italic,
        FontStyle::Bold => Face::Bold,
    }
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

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.trace([from, to], style, &[]);
        Ok(())
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

    /// Returns a text's box, by which it is anchored, reaches from its baseline to the height of capitals and figures.
    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        pos: BackendCoord,
    ) -> Drawn {
        let (width, height) = self.estimate_text_size(text, style)?;
        let right = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => -f64::from(width) / 2.0,
            HPos::Right => -f64::from(width),
        };
        let down = match style.anchor().v_pos {
            VPos::Top => f64::from(height),
            VPos::Center => f64::from(height) / 2.0,
            VPos::Bottom => 0.0,
        };
        let turn: f32 = match style.transform() {
            FontTransform::None => 0.0,
            FontTransform::Rotate90 => 270.0,
            FontTransform::Rotate180 => 180.0,
            FontTransform::Rotate270 => 90.0,
        };
        let (sin, cos) = f64::from(turn).to_radians().sin_cos();
        let start = (
            pos.0 + (right * cos + down * sin).round() as i32,
            pos.1 + (down * cos - right * sin).round() as i32,
        );
        let size = (style.size() / UNITS_PER_POINT) as f32;
        let line = Line::new(self.typefaces, &[(face(style.style()), text)], size);
        self.set(&line, Baseline { start, turn }, style.color());
        Ok(())
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let face = face(style.style());
        let size = style.size() / UNITS_PER_POINT;
        let width = Line::new(self.typefaces, &[(face, text)], size as f32).width();
        let height = f64::from(self.typefaces.heights(face).capital) * size;
        Ok((units(width).unsigned_abs(), units(height).unsigned_abs()))
    }
}

#[cfg(test)]
mod tests {
    use plotters::prelude::*;
    use plotters::style::text_anchor::Pos;

    use super::*;

    fn drawn(draw: impl FnOnce(&mut Canvas<'_>)) -> Vec<Mark> {
        let typefaces = Typefaces::load();
        let mut marks = Vec::new();
        draw(&mut Canvas::new((10_000, 10_000), &typefaces, &mut marks));
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

    #[test]
    fn turned_text_hangs_on_its_anchor() {
        let style = ("serif", 800)
            .into_font()
            .transform(FontTransform::Rotate270)
            .color(&BLACK);
        let style = style.pos(Pos::new(HPos::Center, VPos::Top));
        let mut width = 0;
        let marks = drawn(|canvas| {
            width = canvas.estimate_text_size("MMM", &style).unwrap().0;
            canvas.draw_text("MMM", &style, (1000, 5000)).unwrap();
        });
        let Mark::Glyphs(run) = &marks[0] else {
            panic!("glyphs: {marks:?}")
        };
        assert!((run.turn - 90.0).abs() < 1e-6, "reads upward");
        assert!(run.x > 10.0, "the baseline is right of the top");
        let middle = f64::from(run.y) - f64::from(width) / 200.0;
        assert!((middle - 50.0).abs() < 0.02, "centred: {middle}");
        assert!(width > 1800, "three wide capitals of 8 points: {width}");
    }
}
