//! Draws a planned plot, from back to front.

use std::convert::Infallible;

use plotters::coord::Shift;
use plotters::coord::cartesian::Cartesian2d;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::{Color, RGBColor, ShapeStyle, WHITE};
use plotters_backend::BackendCoord;

use super::backend::Canvas;
use super::element::{Dashed, Set};
use super::geometry::At;
use super::legend::{Entry, Key};
use super::plan::{AxisPlan, Plan};
use super::scale::Scale;
use super::style::{self, DARK, units};
use super::text::Line;
use crate::print::manuscript::plot::{Pen, Point, Series, SeriesShape};
use crate::print::page::{Colour, Face, Mark};
use crate::print::typeface::Typefaces;

type Drawn = Result<(), DrawingAreaErrorKind<Infallible>>;

/// A plan with the two planes it is drawn in.
struct Painter<'a, 'c> {
    plan: &'a Plan,
    /// The paper, in backend units.
    paper: DrawingArea<Canvas<'c>, Shift>,
    /// The axes, in their own units.
    axes: DrawingArea<Canvas<'c>, Cartesian2d<Scale, Scale>>,
    /// Height of capitals, em.
    capital: f64,
    /// Ink of what is computed from the points.
    accent: RGBColor,
}

/// Adds the marks of a panel to `marks`.
pub(super) fn paint(
    series: &[Series],
    plan: &Plan,
    accent: Colour,
    typefaces: &Typefaces,
    marks: &mut Vec<Mark>,
) -> Drawn {
    let size = (
        units(plan.size.0).unsigned_abs(),
        units(plan.size.1).unsigned_abs(),
    );
    let paper = Canvas::new(size, marks).into_drawing_area();
    let frame = &plan.frame;
    let axes = paper.apply_coord_spec(Cartesian2d::<Scale, Scale>::new(
        plan.x.scale.clone(),
        plan.y.scale.clone(),
        (
            units(frame.x0)..units(frame.x1),
            units(frame.y1)..units(frame.y0),
        ),
    ));
    let capital = f64::from(typefaces.heights(Face::Regular).capital);
    Painter {
        plan,
        paper,
        axes,
        capital,
        accent: style::ink(accent),
    }
    .all(series)
}

impl Painter<'_, '_> {
    fn all(&self, series: &[Series]) -> Drawn {
        // Bands lie behind all else because their tint is opaque; markers above all lines.
        let mut layers: Vec<&Series> = series.iter().collect();
        layers.sort_by_key(|series| layer(&series.shape));
        let (back, front): (Vec<&Series>, Vec<&Series>) = layers
            .into_iter()
            .partition(|series| !matches!(series.shape, SeriesShape::Points(_)));
        for series in back {
            match &series.shape {
                SeriesShape::Band(points) => self.band(points)?,
                SeriesShape::Bounds(points) => self.bounds(points)?,
                SeriesShape::Curve { points, pen } => self.curve(points, *pen)?,
                SeriesShape::Outline(points) => self.curve(points, Pen::Thin)?,
                SeriesShape::ReadBack(point) => self.drop_lines(point)?,
                SeriesShape::Points(_) => {}
            }
        }
        self.frame()?;
        for series in &front {
            let SeriesShape::Points(points) = &series.shape else {
                continue;
            };
            for point in points {
                self.bars(point)?;
            }
            for point in points {
                self.marker(self.plan.at((point.x, point.y)), point.hollow)?;
            }
        }
        for series in series {
            if let SeriesShape::ReadBack(point) = &series.shape {
                self.read_back(point)?;
            }
        }
        for name in &self.plan.names {
            if self.plan.rows {
                // The line through all rows would strike it.
                let ground = name.area.grown(style::FRAME);
                let corners = [(ground.x0, ground.y0), (ground.x1, ground.y1)].map(to_backend);
                self.paper.draw(&Rectangle::new(corners, WHITE.filled()))?;
            }
            let ink = if name.read_back { self.accent } else { DARK };
            self.text(&name.line, (name.area.x0, name.baseline), ink)?;
        }
        for (entry, at) in &self.plan.legend.entries {
            self.entry(entry, *at)?;
        }
        Ok(())
    }

    fn band(&self, points: &[(f64, f64, f64)]) -> Drawn {
        let lower = points.iter().map(|&(x, low, _)| (x, low));
        let upper = points.iter().rev().map(|&(x, _, high)| (x, high));
        let corners: Vec<At> = lower.chain(upper).collect();
        self.axes.draw(&Polygon::new(
            self.plan.range().clip_polygon(&corners),
            self.accent.mix(style::TINT),
        ))
    }

    fn bounds(&self, points: &[(f64, f64, f64)]) -> Drawn {
        let lower: Vec<At> = points.iter().map(|&(x, low, _)| (x, low)).collect();
        let upper: Vec<At> = points.iter().map(|&(x, _, high)| (x, high)).collect();
        for bound in [lower, upper] {
            for part in self.plan.range().clip_line(&bound) {
                self.axes.draw(&PathElement::new(
                    part,
                    style::line(self.accent, style::BOUND),
                ))?;
            }
        }
        Ok(())
    }

    fn curve(&self, points: &[At], pen: Pen) -> Drawn {
        for part in self.plan.range().clip_line(points) {
            match pen {
                Pen::Main => self.axes.draw(&PathElement::new(
                    part,
                    style::line(self.accent, style::MAIN_LINE),
                ))?,
                Pen::Thin => self.axes.draw(&Dashed {
                    points: part,
                    ink: DARK,
                    dashes: style::DASHES,
                })?,
            }
        }
        Ok(())
    }

    /// From the y axis to the point, and from there to the x axis.
    fn drop_lines(&self, point: &Point) -> Drawn {
        let range = self.plan.range();
        let points = vec![(range.x0, point.y), (point.x, point.y), (point.x, range.y0)];
        self.axes.draw(&Dashed {
            points,
            ink: self.accent,
            dashes: style::FINE_DASHES,
        })
    }

    /// Returns the marker of a value read back, and its interval on each axis.
    fn read_back(&self, point: &Point) -> Drawn {
        let frame = &self.plan.frame;
        let (left, low) = self
            .plan
            .at((point.x - point.half_x, point.y - point.half_y));
        let (right, high) = self
            .plan
            .at((point.x + point.half_x, point.y + point.half_y));
        let interval = style::line(self.accent, style::INTERVAL);
        // Of one that is wider than the axes, what lies on them.
        let (left, right) = (left.max(frame.x0), right.min(frame.x1));
        let (low, high) = (low.min(frame.y1), high.max(frame.y0));
        if point.half_x != 0.0 {
            self.path(&[(left, frame.y1), (right, frame.y1)], interval)?;
        }
        if point.half_y != 0.0 {
            self.path(&[(frame.x0, low), (frame.x0, high)], interval)?;
        }
        self.diamond(self.plan.at((point.x, point.y)))
    }

    /// Returns a filled circle, or a hollow one, struck through, that hides what is behind it.
    fn marker(&self, at: At, hollow: bool) -> Drawn {
        let (place, radius) = (to_backend(at), units(style::MARKER));
        if !hollow {
            return self.paper.draw(&Circle::new(place, radius, DARK.filled()));
        }
        let ring = units(style::MARKER - style::BAR / 2.0);
        let ink = style::line(DARK, style::BAR);
        self.paper
            .draw(&Circle::new(place, radius, WHITE.filled()))?;
        self.paper.draw(&Circle::new(place, ring, ink))?;
        let out = style::STRIKE;
        self.path(&[(at.0 - out, at.1 + out), (at.0 + out, at.1 - out)], ink)
    }

    fn diamond(&self, (x, y): At) -> Drawn {
        let r = style::DIAMOND;
        let corners = [(x, y - r), (x + r, y), (x, y + r), (x - r, y)];
        let around: Vec<BackendCoord> = corners
            .into_iter()
            .chain([corners[0], corners[1]])
            .map(to_backend)
            .collect();
        self.paper.draw(&Polygon::new(&around[..4], WHITE))?;
        self.paper.draw(&PathElement::new(
            around,
            style::line(self.accent, style::MAIN_LINE),
        ))
    }

    /// Returns the bars of a point that reach out of its marker, with caps.
    fn bars(&self, point: &Point) -> Drawn {
        let at = self.plan.at((point.x, point.y));
        let (left, low) = self
            .plan
            .at((point.x - point.half_x, point.y - point.half_y));
        let (right, high) = self
            .plan
            .at((point.x + point.half_x, point.y + point.half_y));
        let ink = style::line(DARK, style::BAR);
        if (right - left).abs() > 2.0 * style::MARKER {
            self.path(&[(left, at.1), (right, at.1)], ink)?;
            for x in [left, right] {
                self.path(&[(x, at.1 - style::CAP), (x, at.1 + style::CAP)], ink)?;
            }
        }
        if (low - high).abs() > 2.0 * style::MARKER {
            self.path(&[(at.0, low), (at.0, high)], ink)?;
            for y in [low, high] {
                self.path(&[(at.0 - style::CAP, y), (at.0 + style::CAP, y)], ink)?;
            }
        }
        Ok(())
    }

    /// The box, ticks inward on the sides that have labels, labels of ticks and axes.
    fn frame(&self) -> Drawn {
        let Plan { frame, x, y, .. } = self.plan;
        let ink = style::line(DARK, style::FRAME);
        let long =
            |axis: &AxisPlan| -> Vec<f64> { axis.ticks.iter().map(|(value, _)| *value).collect() };
        let range = self.plan.range();
        for (values, length) in [
            (long(x), style::TICK),
            (x.scale.unlabelled(), style::SMALL_TICK),
        ] {
            for value in values {
                let (at, _) = self.plan.at((value, range.y0));
                self.path(&[(at, frame.y1), (at, frame.y1 - length)], ink)?;
            }
        }
        let vertical = if self.plan.rows {
            let rule = ShapeStyle::from(&DARK.mix(style::RULE_TINT))
                .stroke_width(units(style::BOUND).unsigned_abs());
            for (value, _) in y.ticks.iter().skip(1) {
                let (_, at) = self.plan.at((range.x0, value + 0.5));
                self.path(&[(frame.x0, at), (frame.x1, at)], rule)?;
            }
            [(Vec::new(), 0.0), (Vec::new(), 0.0)]
        } else {
            [
                (long(y), style::TICK),
                (y.scale.unlabelled(), style::SMALL_TICK),
            ]
        };
        for (values, length) in vertical {
            for value in values {
                let (_, at) = self.plan.at((range.x0, value));
                self.path(&[(frame.x0, at), (frame.x0 + length, at)], ink)?;
            }
        }
        self.paper.draw(&Rectangle::new(
            [
                to_backend((frame.x0, frame.y0)),
                to_backend((frame.x1, frame.y1)),
            ],
            ink,
        ))?;

        self.labels()
    }

    /// Labels of ticks and axes.
    fn labels(&self) -> Drawn {
        let Plan { frame, x, y, .. } = self.plan;
        let range = self.plan.range();
        let figures = self.capital * f64::from(style::SMALL_TEXT);
        for (value, label) in &y.ticks {
            let (_, at) = self.plan.at((range.x0, *value));
            let left = frame.x0 - style::LABEL_GAP - label.width();
            self.text(label, (left, at + figures / 2.0), DARK)?;
        }
        if let Some(label) = y.label.as_ref().filter(|_| self.plan.y_label_upright) {
            let middle = f64::midpoint(frame.y0, frame.y1) + figures / 2.0;
            self.text(label, (0.0, middle), DARK)?;
        } else if let Some(label) = &y.label {
            let half = label.width() / 2.0;
            // A label longer than its frame reaches out at the top.
            let start = (f64::midpoint(frame.y0, frame.y1) + half)
                .min(frame.y1)
                .max(2.0 * half)
                .min(self.plan.size.1);
            let start = to_backend((self.plan.y_label_baseline, start));
            self.paper.draw(&Set {
                line: label,
                start,
                turn: 90.0,
                ink: DARK,
            })?;
        }
        // An axis without a label is a lower panel's.
        let Some(axis) = &x.label else {
            return Ok(());
        };
        for (value, label) in &x.ticks {
            let (at, _) = self.plan.at((*value, range.y0));
            let left = self.plan.centred(at, label.width());
            self.text(label, (left, frame.y1 + style::LABEL_GAP + figures), DARK)?;
        }
        let left = self
            .plan
            .centred(f64::midpoint(frame.x0, frame.x1), axis.width());
        self.text(axis, (left, self.plan.x_label_baseline), DARK)
    }

    /// Returns a line of the legend; `at` is the left end of its middle line.
    fn entry(&self, entry: &Entry, (x, y): At) -> Drawn {
        let key = self.plan.legend.key;
        let (end, middle) = (x + key, x + key / 2.0);
        match entry.key {
            Key::Marker { hollow } => self.marker((middle, y), hollow)?,
            Key::Curve(Pen::Main) => {
                self.path(
                    &[(x, y), (end, y)],
                    style::line(self.accent, style::MAIN_LINE),
                )?;
            }
            Key::Curve(Pen::Thin) => {
                let points = vec![to_backend((x, y)), to_backend((end, y))];
                self.paper.draw(&Dashed {
                    points,
                    ink: DARK,
                    dashes: style::DASHES,
                })?;
            }
            Key::Band => {
                let corners = [to_backend((x, y - 3.0)), to_backend((end, y + 3.0))];
                self.paper.draw(&Rectangle::new(
                    corners,
                    self.accent.mix(style::TINT).filled(),
                ))?;
            }
            Key::Bounds => {
                for side in [y - 2.5, y + 2.5] {
                    self.path(
                        &[(x, side), (end, side)],
                        style::line(self.accent, style::BOUND),
                    )?;
                }
            }
            Key::ReadBack => {
                let points = vec![to_backend((x, y)), to_backend((end, y))];
                self.paper.draw(&Dashed {
                    points,
                    ink: self.accent,
                    dashes: style::FINE_DASHES,
                })?;
                self.diamond((middle, y))?;
            }
        }
        let half = self.capital * f64::from(style::SMALL_TEXT) / 2.0;
        self.text(&entry.name, (end + style::KEY_GAP, y + half), DARK)
    }

    fn path(&self, points: &[At], ink: ShapeStyle) -> Drawn {
        let points: Vec<BackendCoord> = points.iter().copied().map(to_backend).collect();
        self.paper.draw(&PathElement::new(points, ink))
    }

    fn text(&self, line: &Line, start: At, ink: RGBColor) -> Drawn {
        self.paper.draw(&Set {
            line,
            start: to_backend(start),
            turn: 0.0,
            ink,
        })
    }
}

/// Points of the paper in backend units.
fn to_backend((x, y): At) -> BackendCoord {
    (units(x), units(y))
}

/// Returns which series lie behind which; those alike keep their order.
fn layer(shape: &SeriesShape) -> u8 {
    match shape {
        SeriesShape::Band(_) => 0,
        SeriesShape::Bounds(_)
        | SeriesShape::Outline(_)
        | SeriesShape::Curve { pen: Pen::Thin, .. } => 1,
        SeriesShape::Curve { pen: Pen::Main, .. } => 2,
        SeriesShape::ReadBack(_) => 3,
        SeriesShape::Points(_) => 4,
    }
}
