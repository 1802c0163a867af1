//! The outline of a glyph as steps of a page's shapes.

use rustybuzz::ttf_parser::OutlineBuilder;

use crate::print::page::Step;

/// Draws a glyph: fonts have y upward, pages downward; quadratic curves become cubic ones, which they are exactly.
pub(super) struct Pen {
    /// From the font's units to thousandths of an em.
    pub(super) scale: f32,
    /// Where the pen is, in the font's units.
    pub(super) at: (f32, f32),
    pub(super) steps: Vec<Step>,
}

impl Pen {
    fn to_page(&self, x: f32, y: f32) -> (f32, f32) {
        (x * self.scale, -y * self.scale)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = (x, y);
        let (x, y) = self.to_page(x, y);
        self.steps.push(Step::Move(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.at = (x, y);
        let (x, y) = self.to_page(x, y);
        self.steps.push(Step::Line(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let toward = |from: f32, control: f32| from + (control - from) * 2.0 / 3.0;
        let (x0, y0) = self.at;
        self.curve_to(
            toward(x0, x1),
            toward(y0, y1),
            toward(x, x1),
            toward(y, y1),
            x,
            y,
        );
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.at = (x, y);
        let ((x1, y1), (x2, y2)) = (self.to_page(x1, y1), self.to_page(x2, y2));
        let (x, y) = self.to_page(x, y);
        self.steps.push(Step::Curve(x1, y1, x2, y2, x, y));
    }

    fn close(&mut self) {
        self.steps.push(Step::Close);
    }
}
