//! Where everything in a plot goes, decided before anything is drawn. Lengths are points, y downward.

use super::Failure;
use super::extent::extent;
use super::geometry::{Area, At};
use super::legend::{self, Legend};
use super::place::{Name, Obstacles, place_names};
use super::scale::Scale;
use super::style;
use super::text::{Line, axis_label};
use crate::manuscript::plot::Plot;
use crate::page::Face;
use crate::typeface::Typefaces;

/// Labelled ticks on an axis, where there is room for them.
const MOST_TICKS: usize = 8;
/// Between two tick labels side by side.
const BETWEEN_LABELS: f64 = 8.0;
/// Between two tick labels one above the other, from baseline to baseline, in text sizes.
const LABEL_LEADING: f64 = 1.7;
/// A frame narrower or lower than this shows nothing.
const LEAST_FRAME: (f64, f64) = (48.0, 36.0);

/// One axis with its labels shaped.
#[derive(Debug)]
pub(super) struct AxisPlan {
    pub(super) scale: Scale,
    /// Values and labels of the labelled ticks.
    pub(super) ticks: Vec<(f64, Line)>,
    /// The axis' own label.
    pub(super) label: Line,
}

/// The whole plan.
#[derive(Debug)]
pub(super) struct Plan {
    pub(super) width: f64,
    pub(super) height: f64,
    /// The axes' box.
    pub(super) frame: Area,
    pub(super) x: AxisPlan,
    pub(super) y: AxisPlan,
    /// Distance of the baseline of the x axis' label from the top.
    pub(super) x_label_baseline: f64,
    /// Distance of the baseline of the y axis' label from the left.
    pub(super) y_label_baseline: f64,
    /// Names beside points.
    pub(super) names: Vec<Name>,
    pub(super) legend: Legend,
}

impl Plan {
    /// Plans the plot on a given width.
    pub(super) fn of(plot: &Plot, width: f64, typefaces: &Typefaces) -> Result<Self, Failure> {
        let height = width * plot.aspect;
        if !(plot.aspect > 0.0
            && (LEAST_FRAME.0..=1e5).contains(&width)
            && (LEAST_FRAME.1..=1e5).contains(&height))
        {
            return Err(Failure::NoRoom { width, height });
        }
        let mut plan = Self::with_head(plot, (width, height), 0.0, typefaces)?;
        let entries = legend::entries(plot, typefaces, plan.frame.width());
        let mut obstacles = Obstacles::of(plot, &plan);
        plan.names = place_names(plot, &plan, &mut obstacles, typefaces);
        if let Some(legend) = legend::in_corner(&entries, &plan.frame, &obstacles) {
            plan.legend = legend;
            return Ok(plan);
        }
        // Every corner is taken: the legend goes above the frame, which makes room for it.
        let head = legend::rows_height(&entries, plan.frame.width());
        let mut plan = Self::with_head(plot, (width, height), head, typefaces)?;
        let mut obstacles = Obstacles::of(plot, &plan);
        plan.names = place_names(plot, &plan, &mut obstacles, typefaces);
        plan.legend = legend::above(entries, &plan.frame);
        Ok(plan)
    }

    /// The plan with `head` points kept free above the frame, without names and legend.
    fn with_head(
        plot: &Plot,
        (width, height): At,
        head: f64,
        typefaces: &Typefaces,
    ) -> Result<Self, Failure> {
        let area = extent(plot)?;
        let heights = typefaces.heights(Face::Regular);
        let (small, text) = (f64::from(style::SMALL_TEXT), f64::from(style::TEXT));
        let (ascent, descent) = (
            f64::from(heights.ascent) * text,
            f64::from(heights.descent) * text,
        );
        let figures = f64::from(heights.capital) * small;

        let top = figures / 2.0 + style::FRAME + head;
        let bottom = style::LABEL_GAP + figures + 3.0 + ascent + descent;
        let frame_height = height - top - bottom;
        if frame_height < LEAST_FRAME.1 {
            return Err(Failure::NoRoom { width, height });
        }
        let (scale, ticks) = fitted(
            typefaces,
            area.y0,
            area.y1,
            |ticks: &[(f64, Line)], scale: &Scale| {
                spacing(ticks, scale, frame_height) >= LABEL_LEADING * small
            },
        );
        let label = axis_label(typefaces, &plot.y, &scale, height - head);
        let y = AxisPlan {
            scale,
            ticks,
            label,
        };

        let left = ascent + descent + 3.0 + widest(&y.ticks) + style::LABEL_GAP;
        // How far the last label hangs over the right end of the axis.
        let overhang = |ticks: &[(f64, Line)], scale: &Scale| {
            ticks.last().map_or(0.0, |(value, label)| {
                let share = scale.at(*value, 0.0, 1.0);
                ((label.width() / 2.0 - (1.0 - share) * (width - left)) / share.max(0.5)).max(0.0)
            })
        };
        let (scale, ticks) = fitted(
            typefaces,
            area.x0,
            area.x1,
            |ticks: &[(f64, Line)], scale: &Scale| {
                let length = width - left - overhang(ticks, scale);
                spacing(ticks, scale, length) >= widest(ticks) + BETWEEN_LABELS
            },
        );
        let right = overhang(&ticks, &scale) + style::FRAME;
        let label = axis_label(typefaces, &plot.x, &scale, width);
        let x = AxisPlan {
            scale,
            ticks,
            label,
        };

        // On whole backend units, so that plan and drawing agree.
        let whole = |value: f64| f64::from(style::units(value)) / style::UNITS_PER_POINT;
        let frame = Area {
            x0: whole(left),
            y0: whole(top),
            x1: whole(width - right),
            y1: whole(height - bottom),
        };
        if frame.width() < LEAST_FRAME.0 {
            return Err(Failure::NoRoom { width, height });
        }
        Ok(Self {
            width,
            height,
            frame,
            x,
            y,
            x_label_baseline: height - descent,
            y_label_baseline: ascent,
            names: Vec::new(),
            legend: Legend::default(),
        })
    }

    /// The values between which the axes run.
    pub(super) fn range(&self) -> Area {
        let (x, y) = (&self.x.scale, &self.y.scale);
        Area {
            x0: x.low(),
            y0: y.low(),
            x1: x.high(),
            y1: y.high(),
        }
    }

    /// Where a pair of values falls.
    pub(super) fn at(&self, (x, y): At) -> At {
        let frame = &self.frame;
        (
            self.x.scale.at(x, frame.x0, frame.x1),
            self.y.scale.at(y, frame.y1, frame.y0),
        )
    }

    /// The left end of a line of that width centred on `middle`, moved so that the line stays in the drawing's width.
    pub(super) fn centred(&self, middle: f64, width: f64) -> f64 {
        (middle - width / 2.0).min(self.width - width).max(0.0)
    }
}

/// The scale with the most ticks whose labels fit, and these labels; two labels at least.
fn fitted(
    typefaces: &Typefaces,
    low: f64,
    high: f64,
    fits: impl Fn(&[(f64, Line)], &Scale) -> bool,
) -> (Scale, Vec<(f64, Line)>) {
    let mut most = MOST_TICKS;
    loop {
        let scale = Scale::covering(low, high, most);
        let ticks: Vec<(f64, Line)> = scale
            .labelled()
            .into_iter()
            .map(|(value, label)| {
                (
                    value,
                    Line::of(typefaces, &[(Face::Regular, &label)], style::SMALL_TEXT),
                )
            })
            .collect();
        if most <= 2 || fits(&ticks, &scale) {
            return (scale, ticks);
        }
        most -= 1;
    }
}

/// Distance of two neighbouring ticks on an axis of that length.
fn spacing(ticks: &[(f64, Line)], scale: &Scale, length: f64) -> f64 {
    match ticks {
        [(first, _), (second, _), ..] => {
            scale.at(*second, 0.0, length) - scale.at(*first, 0.0, length)
        }
        _ => length,
    }
}

fn widest(ticks: &[(f64, Line)]) -> f64 {
    ticks
        .iter()
        .map(|(_, label)| label.width())
        .fold(0.0, f64::max)
}
