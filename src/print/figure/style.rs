//! The look: widths and sizes, all lengths in points, and two inks: a near-black, and the accent that whoever draws
//! hands in.
//!
//! Ink alone tells nothing apart: fill, dashes and markers do, so that a grey print and every eye get the whole plot,
//! whatever the accent.

use plotters::style::{RGBColor, ShapeStyle};

use crate::print::page::Colour;

/// Frame, text, measured points: a near-black.
pub(super) const DARK: RGBColor = RGBColor(36, 38, 44);
/// The area of confidence, as a share of the accent on white.
pub(super) const TINT: f64 = 0.15;

pub(super) const FRAME: f64 = 0.5;
pub(super) const TICK: f64 = 4.0;
pub(super) const SMALL_TICK: f64 = 2.0;
pub(super) const MAIN_LINE: f64 = 1.0;
pub(super) const THIN_LINE: f64 = 0.6;
/// The bounds of an area, lighter than any curve.
pub(super) const BOUND: f64 = 0.35;
pub(super) const BAR: f64 = 0.6;
/// Half the length of an error bar's cap.
pub(super) const CAP: f64 = 1.6;
/// Radius of a point's marker.
pub(super) const MARKER: f64 = 2.0;
/// From the centre of a marker that is struck out to the ends of its stroke, in each direction.
pub(super) const STRIKE: f64 = 2.8;
/// From centre to corner of the marker of a value read back.
pub(super) const DIAMOND: f64 = 3.0;
/// Width of the interval marked on an axis.
pub(super) const INTERVAL: f64 = 1.8;
/// Height of a row.
pub(super) const ROW: f64 = 16.0;
/// Ink of the rules between rows, as a share of [`DARK`] on white.
pub(super) const RULE_TINT: f64 = 0.3;
/// Between a panel and the one below it.
pub(super) const BETWEEN_PANELS: f64 = 7.0;
/// Dash and gap of a published curve.
pub(super) const DASHES: [f32; 2] = [4.0, 2.4];
/// Dash and gap of a drop line.
pub(super) const FINE_DASHES: [f32; 2] = [1.6, 1.6];

/// Tick labels, names and the legend.
pub(super) const SMALL_TEXT: f32 = 8.0;
/// Axis labels.
pub(super) const TEXT: f32 = 9.0;
/// Between the frame and the tick labels.
pub(super) const LABEL_GAP: f64 = 4.0;
/// Length of a sample in the legend, and its distance from the name.
pub(super) const KEY: f64 = 20.0;
pub(super) const KEY_GAP: f64 = 5.0;
/// From one line of the legend to the next.
pub(super) const LEADING: f64 = 11.0;

/// A backend unit is a hundredth of a point, so that whole numbers are fine enough for print.
pub(super) const UNITS_PER_POINT: f64 = 100.0;

/// Points in backend units.
pub(super) fn units(points: f64) -> i32 {
    (points * UNITS_PER_POINT).round() as i32
}

/// Returns a colour of the page as the drawing library has it.
pub(super) fn ink(Colour(red, green, blue): Colour) -> RGBColor {
    let [red, green, blue] =
        [red, green, blue].map(|part| (part.clamp(0.0, 1.0) * 255.0).round() as u8);
    RGBColor(red, green, blue)
}

/// Returns a line of that ink and width.
pub(super) fn line(ink: RGBColor, width: f64) -> ShapeStyle {
    ShapeStyle::from(&ink).stroke_width(units(width).unsigned_abs())
}
