//! Labels above the points of a row.

use super::abreast::{self, Placed};
use super::geometry::Area;
use super::place::Name;
use super::scale::Axes;
use super::style;
use super::text::Line;
use crate::print::manuscript::plot::{Point, Series, SeriesShape};
use crate::print::page::Face;
use crate::print::typeface::Typefaces;

/// Between a marker and the label above it.
const GAP: f64 = 1.4;
/// Between two labels.
const APART: f64 = 2.0;
/// A label stands no further beside the middle of its point than this, or than half its own width.
const ASIDE: f64 = 6.5;

/// A label with the middle of its point.
struct Label {
    line: Line,
    x: f64,
    hollow: bool,
}

/// Returns the labels of all points, each above its own and beside the others of its row, in their order. Where points
/// lie so close together that a label would stand away from its point, only the hollow ones of that row are labelled,
/// if there is room for those.
pub(super) fn labels(all: &[Series], axes: Axes<'_>, typefaces: &Typefaces) -> Vec<Name> {
    let mut points: Vec<&Point> = all
        .iter()
        .filter_map(|series| match &series.shape {
            SeriesShape::Points(points) => Some(points),
            _ => None,
        })
        .flatten()
        .filter(|point| !point.label.is_empty())
        .collect();
    points.sort_by(|one, other| other.y.total_cmp(&one.y).then(one.x.total_cmp(&other.x)));
    let mut names = Vec::with_capacity(points.len());
    for row in points.chunk_by(|one, other| one.y.total_cmp(&other.y).is_eq()) {
        let (_, y) = axes.at((row[0].x, row[0].y));
        let mut labels: Vec<Label> = row
            .iter()
            .map(|point| Label {
                line: Line::new(
                    typefaces,
                    &[(Face::Regular, &point.label)],
                    style::SMALL_TEXT,
                ),
                x: axes.at((point.x, point.y)).0,
                hollow: point.hollow,
            })
            .collect();
        let middles = middles(&labels, axes.frame).or_else(|| {
            labels.retain(|label| label.hollow);
            self::middles(&labels, axes.frame)
        });
        let baseline = y - style::MARKER - GAP;
        let height = f64::from(typefaces.heights(Face::Regular).capital * style::SMALL_TEXT);
        for (label, x) in labels.into_iter().zip(middles.unwrap_or_default()) {
            let width = label.line.width();
            names.push(Name {
                area: Area::about((x, baseline - height / 2.0), width, height),
                baseline,
                line: label.line,
                read_back: false,
            });
        }
    }
    names
}

/// Returns where the middles of labels stand, which are in the order of their points; `None` where one would stand too
/// far from its own.
fn middles(labels: &[Label], frame: &Area) -> Option<Vec<f64>> {
    let placed = labels.iter().map(|label| Placed {
        middle: label.x,
        half: label.line.width() / 2.0,
    });
    let placed: Vec<Placed> = placed.collect();
    let ends = (frame.x0 + style::FRAME, frame.x1 - style::FRAME);
    let middles = abreast::middles(&placed, APART, ends)?;
    let near = |(placed, x): (&Placed, &f64)| (x - placed.middle).abs() <= ASIDE.max(placed.half);
    placed.iter().zip(&middles).all(near).then_some(middles)
}
