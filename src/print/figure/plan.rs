//! Where everything in a plot goes, decided before anything is drawn. Lengths are points, y downward.

use super::FigureError;
use super::above;
use super::extent::extent;
use super::geometry::{Area, At};
use super::legend::{self, Legend};
use super::place::{Name, Obstacles, place_names};
use super::scale::{Axes, Scale};
use super::style;
use super::text::{Line, axis_label};
use crate::print::manuscript::plot::{Axis, Plot, Vertical};
use crate::print::page::Face;
use crate::print::typeface::Typefaces;

/// Labelled ticks on an axis, where there is room for them.
const MOST_TICKS: usize = 8;
/// Between two tick labels side by side.
const BETWEEN_LABELS: f64 = 8.0;
/// Between two tick labels one above the other, from baseline to baseline, in text sizes.
const LABEL_LEADING: f64 = 1.7;
/// A frame narrower or lower than this shows nothing.
const LEAST_FRAME: (f64, f64) = (48.0, 36.0);
/// A lower panel, or rows, lower than this show nothing.
const LEAST_PANEL: f64 = 14.0;
/// The name of a row may take this share of the drawing's width.
const ROW_NAME_SHARE: f64 = 0.45;

/// One axis with its labels shaped.
#[derive(Debug, Clone)]
pub(super) struct AxisPlan {
    pub(super) scale: Scale,
    /// Values and labels of the labelled ticks, or of the rows.
    pub(super) ticks: Vec<(f64, Line)>,
    /// The axis' own label; `None` for rows, and for the horizontal axis where a lower panel bears it.
    pub(super) label: Option<Line>,
}

/// A panel with its axes.
#[derive(Debug)]
pub(super) struct Plan {
    /// Width and height of the whole drawing.
    pub(super) size: (f64, f64),
    /// The axes' box.
    pub(super) frame: Area,
    pub(super) x: AxisPlan,
    pub(super) y: AxisPlan,
    /// Whether the vertical axis is of rows, which have no ticks.
    pub(super) rows: bool,
    /// Distance of the baseline of the x axis' label from the top.
    pub(super) x_label_baseline: f64,
    /// Distance of the baseline of the y axis' label from the left.
    pub(super) y_label_baseline: f64,
    /// Whether that label is a sign alone, which is not turned: a turned z is an N.
    pub(super) y_label_upright: bool,
    /// Names beside points.
    pub(super) names: Vec<Name>,
    pub(super) legend: Legend,
}

/// The whole plan.
#[derive(Debug)]
pub(super) struct Planned {
    pub(super) height: f64,
    /// The panels from the top.
    pub(super) panels: Vec<Plan>,
}

/// Plans the plot on a given width.
pub(super) fn planned(
    plot: &Plot,
    width: f64,
    typefaces: &Typefaces,
) -> Result<Planned, FigureError> {
    let setting = Setting::new(plot, width, typefaces)?;
    let size = setting.size;
    let mut panels = setting.panels(0.0)?;
    let entries = legend::entries(&plot.series, typefaces, panels[0].frame.width());
    let obstacles = setting.name_points(&mut panels);
    if let Some(legend) = legend::in_corner(&entries, &panels[0].frame, &obstacles) {
        panels[0].legend = legend;
    } else {
        // Every corner is taken: the legend goes above the frame, which makes room for it.
        let head = legend::rows_height(&entries, panels[0].frame.width());
        panels = setting.panels(head)?;
        setting.name_points(&mut panels);
        panels[0].legend = legend::above(entries, &panels[0].frame);
    }
    Ok(Planned {
        height: size.1,
        panels,
    })
}

/// A plot on its paper, with the room that text takes.
struct Setting<'a> {
    plot: &'a Plot,
    typefaces: &'a Typefaces,
    size: (f64, f64),
    /// Above and below the baseline of an axis' label.
    ascent: f64,
    descent: f64,
    /// Height of the figures of tick labels.
    figures: f64,
}

impl<'a> Setting<'a> {
    fn new(plot: &'a Plot, width: f64, typefaces: &'a Typefaces) -> Result<Self, FigureError> {
        let heights = typefaces.heights(Face::Regular);
        let (small, text) = (f64::from(style::SMALL_TEXT), f64::from(style::TEXT));
        let mut setting = Self {
            plot,
            typefaces,
            size: (width, 0.0),
            ascent: f64::from(heights.ascent) * text,
            descent: f64::from(heights.descent) * text,
            figures: f64::from(heights.capital) * small,
        };
        let height = match &plot.y {
            Vertical::Scale { .. } => width * plot.aspect().unwrap_or_default(),
            Vertical::Rows(names) => {
                setting.top(0.0) + names.len() as f64 * style::ROW + setting.bottom()
            }
        };
        let lower = plot
            .below
            .as_ref()
            .map_or(LEAST_FRAME.1, |panel| width * panel.aspect);
        if !((LEAST_FRAME.0..=1e5).contains(&width)
            && (LEAST_FRAME.1..=1e5).contains(&height)
            && lower >= LEAST_PANEL)
        {
            return Err(FigureError::NoRoom { width, height });
        }
        setting.size.1 = height;
        Ok(setting)
    }

    /// Above the first frame, with `head` points kept free.
    fn top(&self, head: f64) -> f64 {
        self.figures / 2.0 + style::FRAME + head
    }

    /// Below the last frame.
    fn bottom(&self) -> f64 {
        style::LABEL_GAP + self.figures + 3.0 + self.ascent + self.descent
    }

    /// Returns the panels with `head` points kept free above the first frame, without names and legend.
    fn panels(&self, head: f64) -> Result<Vec<Plan>, FigureError> {
        let (width, height) = self.size;
        let plot = self.plot;
        let area = extent(&plot.series)?;
        let last = height - self.bottom();
        let lower = plot
            .below
            .as_ref()
            .map_or(0.0, |panel| width * panel.aspect);
        let between = if plot.below.is_some() {
            style::BETWEEN_PANELS
        } else {
            0.0
        };
        // Top and bottom of each frame, and its vertical axis.
        let (top, end) = (self.top(head), last - lower - between);
        let rows = matches!(plot.y, Vertical::Rows(_));
        if end - top < if rows { LEAST_PANEL } else { LEAST_FRAME.1 } {
            return Err(FigureError::NoRoom { width, height });
        }
        let mut frames = vec![(top, end, self.vertical(&plot.y, &area, end - top, head))];
        if let Some(panel) = &plot.below {
            let area = extent(&panel.series)?;
            frames.push((
                last - lower,
                last,
                self.scaled(&panel.y, &area, lower, lower),
            ));
        }

        let labelled = frames.iter().any(|(.., y)| y.label.is_some());
        let label = if labelled {
            self.ascent + self.descent + 3.0
        } else {
            0.0
        };
        let widest = frames
            .iter()
            .map(|(.., y)| widest(&y.ticks))
            .fold(0.0, f64::max);
        let left = label + widest + style::LABEL_GAP;
        let (x, overhang) = self.horizontal(&area, width - left);
        let right = overhang + style::FRAME;

        // On whole backend units, so that plan and drawing agree.
        let whole = |value: f64| f64::from(style::units(value)) / style::UNITS_PER_POINT;
        let (x0, x1) = (whole(left), whole(width - right));
        if x1 - x0 < LEAST_FRAME.0 {
            return Err(FigureError::NoRoom { width, height });
        }
        let count = frames.len();
        let plans = frames.into_iter().enumerate().map(|(index, (y0, y1, y))| {
            let mut x = x.clone();
            if index + 1 < count {
                // The lowest panel bears the labels of the axis that all share.
                x.label = None;
            }
            // A sign alone is as high as it is wide.
            let upright = |label: &Line| label.width() <= f64::from(style::TEXT);
            Plan {
                y_label_upright: y.label.as_ref().is_some_and(upright),
                size: self.size,
                frame: Area {
                    x0,
                    y0: whole(y0),
                    x1,
                    y1: whole(y1),
                },
                x,
                y,
                rows: rows && index == 0,
                x_label_baseline: height - self.descent,
                y_label_baseline: self.ascent,
                names: Vec::new(),
                legend: Legend::default(),
            }
        });
        Ok(plans.collect())
    }

    /// Returns the vertical axis of the first panel, whose frame is that high and begins below `head`.
    fn vertical(&self, y: &Vertical, area: &Area, length: f64, head: f64) -> AxisPlan {
        match y {
            Vertical::Scale { axis, .. } => {
                let room = if self.plot.below.is_some() {
                    length + head
                } else {
                    self.size.1 - head
                };
                self.scaled(axis, area, length, room)
            }
            Vertical::Rows(names) => {
                let room = self.size.0 * ROW_NAME_SHARE;
                let ticks = names.iter().enumerate().map(|(row, name)| {
                    let name = Line::fitted(self.typefaces, name, style::SMALL_TEXT, room);
                    (-(row as f64), name)
                });
                AxisPlan {
                    scale: Scale::rows(names.len()),
                    ticks: ticks.collect(),
                    label: None,
                }
            }
        }
    }

    /// Returns a vertical axis with a scale; its label takes at most `room` points.
    fn scaled(&self, axis: &Axis, area: &Area, length: f64, room: f64) -> AxisPlan {
        let least = LABEL_LEADING * f64::from(style::SMALL_TEXT);
        let (scale, ticks) = self.fitted(
            |most| Scale::covering(area.y0, area.y1, most),
            |ticks, scale| spacing(ticks, scale, length) >= least,
        );
        let label = axis_label(self.typefaces, axis, &scale, room);
        AxisPlan {
            scale,
            ticks,
            label: Some(label),
        }
    }

    /// Returns the horizontal axis on that room, and how far its last label hangs over its right end.
    fn horizontal(&self, area: &Area, room: f64) -> (AxisPlan, f64) {
        let overhang = |ticks: &[(f64, Line)], scale: &Scale| {
            ticks.last().map_or(0.0, |(value, label)| {
                let share = scale.at(*value, 0.0, 1.0);
                ((label.width() / 2.0 - (1.0 - share) * room) / share.max(0.5)).max(0.0)
            })
        };
        let (scale, ticks) = self.fitted(
            |most| Scale::covering(area.x0, area.x1, most),
            |ticks, scale| {
                let length = room - overhang(ticks, scale);
                spacing(ticks, scale, length) >= widest(ticks) + BETWEEN_LABELS
            },
        );
        let over = overhang(&ticks, &scale);
        let label = axis_label(self.typefaces, &self.plot.x, &scale, self.size.0);
        let axis = AxisPlan {
            scale,
            ticks,
            label: Some(label),
        };
        (axis, over)
    }

    /// Returns the scale with the most ticks whose labels fit, and these labels; two labels at least.
    fn fitted(
        &self,
        scale: impl Fn(usize) -> Scale,
        fits: impl Fn(&[(f64, Line)], &Scale) -> bool,
    ) -> (Scale, Vec<(f64, Line)>) {
        let mut most = MOST_TICKS;
        loop {
            let scale = scale(most);
            let ticks: Vec<(f64, Line)> = scale
                .labelled()
                .into_iter()
                .map(|(value, label)| {
                    let pieces = [(Face::Regular, label.as_str())];
                    (value, Line::new(self.typefaces, &pieces, style::SMALL_TEXT))
                })
                .collect();
            if most <= 2 || fits(&ticks, &scale) {
                return (scale, ticks);
            }
            most -= 1;
        }
    }

    /// Names the points of every panel; what is in the way in the first one comes back.
    fn name_points(&self, panels: &mut [Plan]) -> Obstacles {
        let mut first = None;
        let lower = self.plot.below.iter().map(|panel| &panel.series);
        for (plan, series) in panels
            .iter_mut()
            .zip(std::iter::once(&self.plot.series).chain(lower))
        {
            let mut obstacles = Obstacles::new(series, plan.axes());
            plan.names = if plan.rows {
                above::labels(series, plan.axes(), self.typefaces)
            } else {
                place_names(series, plan.axes(), &mut obstacles, self.typefaces)
            };
            first.get_or_insert(obstacles);
        }
        first.unwrap_or_default()
    }
}

impl Plan {
    /// Returns the values between which the axes run.
    pub(super) fn range(&self) -> Area {
        let (x, y) = (&self.x.scale, &self.y.scale);
        Area {
            x0: x.low(),
            y0: y.low(),
            x1: x.high(),
            y1: y.high(),
        }
    }

    /// Returns its axes alone.
    pub(super) fn axes(&self) -> Axes<'_> {
        Axes {
            frame: &self.frame,
            x: &self.x.scale,
            y: &self.y.scale,
        }
    }

    /// Returns where a pair of values falls.
    pub(super) fn at(&self, point: At) -> At {
        self.axes().at(point)
    }

    /// Returns the left end of a line of that width centred on `middle`, moved so that the line stays in the drawing's
    /// width.
    pub(super) fn centred(&self, middle: f64, width: f64) -> f64 {
        (middle - width / 2.0).min(self.size.0 - width).max(0.0)
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
