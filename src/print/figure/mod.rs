//! Plots into marks of a page: scales and ticks, places for names and legend, then the drawing itself.
//!
//! `plotters` maps values to places and draws its elements on a canvas of our own; what a plot looks like is in one
//! module of inks, widths and sizes. Nothing is drawn before everything has its place.

mod above;
mod abreast;
mod backend;
mod element;
mod extent;
mod geometry;
mod legend;
mod paint;
mod place;
mod plan;
mod scale;
mod style;
mod text;

use std::borrow::Cow;

use crate::print::manuscript::plot::Plot;
use crate::print::page::{Colour, Mark};
use crate::print::typeface::Typefaces;

/// A drawn plot.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width, points.
    pub width: f32,
    /// Height, points.
    pub height: f32,
    /// In the order of painting; places are points from the drawing's top left corner, y downward.
    pub marks: Vec<Mark>,
}

/// Why a plot cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FigureError {
    /// There is nothing in it: no point, no curve, no area.
    #[error("the plot has nothing to show")]
    Empty,
    /// A value is not a number, infinite, or beyond all measure (more than 10¹⁰⁰).
    #[error("{series}: a value in the plot is not a usable number")]
    NotANumber {
        /// Name of the series it is in.
        series: String,
    },
    /// The axes do not fit into the given room.
    #[error("{width:.0} pt by {height:.0} pt is not enough room for a plot with its labels")]
    NoRoom {
        /// Width, points.
        width: f64,
        /// Height, points.
        height: f64,
    },
    /// The drawing library refused.
    #[error("the plot could not be drawn: {0}")]
    Library(String),
}

/// Draws a plot `width` points wide; its height follows from what stands vertically. What is computed from the points
/// has the ink `accent`, which must be dark enough for white paper.
///
/// Areas lie behind curves, curves behind points, whatever their order; within a kind the given order holds. Curves and
/// areas are cut off at the frame, which is chosen for the points and for outlines. Curves and areas of fewer than two points show nothing.
///
/// # Errors
/// [`FigureError`], where the plot is empty, holds a value that is not a number, or does not fit into the width.
pub fn draw(
    plot: &Plot,
    width: f32,
    accent: Colour,
    typefaces: &Typefaces,
) -> Result<Drawing, FigureError> {
    let plan::Planned { height, panels } = plan::planned(plot, f64::from(width), typefaces)?;
    let mut marks = Vec::new();
    let lower = plot.below.iter().map(|panel| &panel.series);
    for (plan, series) in panels
        .iter()
        .zip(std::iter::once(&plot.series).chain(lower))
    {
        let series = if plan.rows {
            Cow::Owned(abreast::points_apart(series, plan.axes()))
        } else {
            Cow::Borrowed(series)
        };
        paint::paint(&series, plan, accent, typefaces, &mut marks)
            .map_err(|error| FigureError::Library(error.to_string()))?;
    }
    Ok(Drawing {
        width,
        height: height as f32,
        marks,
    })
}

#[cfg(test)]
mod tests;
