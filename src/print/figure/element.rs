//! What a plot needs that `plotters` has no element for. Both speak to our canvas itself.

use std::convert::Infallible;

use plotters::element::{Drawable, PointCollection};
use plotters::style::{Color, RGBColor};
use plotters_backend::{BackendCoord, DrawingErrorKind};

use super::backend::{Baseline, Canvas};
use super::style;
use super::text::Line;

/// A dashed line through points.
pub(super) struct Dashed<C> {
    pub(super) points: Vec<C>,
    pub(super) ink: RGBColor,
    pub(super) dashes: [f32; 2],
}

impl<'a, C: 'a> PointCollection<'a, C> for &'a Dashed<C> {
    type Point = &'a C;
    type IntoIter = &'a [C];

    fn point_iter(self) -> &'a [C] {
        &self.points
    }
}

impl<C> Drawable<Canvas<'_>> for Dashed<C> {
    fn draw<I: Iterator<Item = BackendCoord>>(
        &self,
        path: I,
        canvas: &mut Canvas<'_>,
        _: (u32, u32),
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        canvas.trace(path, &style::line(self.ink, style::THIN_LINE), &self.dashes);
        Ok(())
    }
}

/// A shaped line of text.
pub(super) struct Set<'a> {
    pub(super) line: &'a Line,
    pub(super) start: BackendCoord,
    pub(super) turn: f32,
    pub(super) ink: RGBColor,
}

impl<'a> PointCollection<'a, BackendCoord> for &'a Set<'_> {
    type Point = &'a BackendCoord;
    type IntoIter = std::iter::Once<&'a BackendCoord>;

    fn point_iter(self) -> Self::IntoIter {
        std::iter::once(&self.start)
    }
}

impl Drawable<Canvas<'_>> for Set<'_> {
    fn draw<I: Iterator<Item = BackendCoord>>(
        &self,
        mut at: I,
        canvas: &mut Canvas<'_>,
        _: (u32, u32),
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        if let Some(start) = at.next() {
            canvas.set(
                self.line,
                Baseline {
                    start,
                    turn: self.turn,
                },
                self.ink.to_backend_color(),
            );
        }
        Ok(())
    }
}
