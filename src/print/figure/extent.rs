//! What a plot's axes have to cover.

use super::FigureError;
use super::geometry::Area;
use super::scale::LARGEST;
use crate::print::manuscript::plot::{Point, Series, SeriesShape};

/// How far curves and areas may widen an axis beyond the points, as a share of the span of the points: a published curve
/// reaches further than a bench series, and an area of confidence opens like a trumpet. What is beyond is cut off.
const REACH: f64 = 0.05;

/// The same for the interval of a value read back, which tells nothing of the points: one wider than that is cut off.
const INTERVAL_REACH: f64 = 0.5;

/// Returns the box, in the plot's own units, that holds all points with their bars, and the curves as far as [`REACH`]
/// lets them.
pub(super) fn extent(all: &[Series]) -> Result<Area, FigureError> {
    let mut levels: Vec<f64> = Vec::new();
    let (mut measured, mut computed, mut intervals) =
        (Bounds::default(), Bounds::default(), Bounds::default());
    for series in all {
        let kept = match &series.shape {
            SeriesShape::Points(points) => points.iter().all(|point| measured.point(point)),
            SeriesShape::ReadBack(point) => {
                measured.include(point.x, point.y) && intervals.point(point)
            }
            SeriesShape::Curve { points, .. } => {
                levels.extend(level(points));
                points.iter().all(|&(x, y)| computed.include(x, y))
            }
            SeriesShape::Outline(points) => points.iter().all(|&(x, y)| measured.include(x, y)),
            SeriesShape::Band(points) | SeriesShape::Bounds(points) => points
                .iter()
                .all(|&(x, low, high)| computed.include(x, low) && computed.include(x, high)),
        };
        if !kept {
            return Err(FigureError::NotANumber {
                series: name(series),
            });
        }
    }
    let measured = measured.0.map(|points| match intervals.0 {
        Some(intervals) => widened_to(points, intervals, INTERVAL_REACH),
        None => points,
    });
    let measured = measured.map(|points| Area {
        y0: levels.iter().copied().fold(points.y0, f64::min),
        y1: levels.iter().copied().fold(points.y1, f64::max),
        ..points
    });
    match (measured, computed.0) {
        (None, None) => Err(FigureError::Empty),
        (Some(area), None) | (None, Some(area)) => Ok(area),
        (Some(points), Some(curves)) => Ok(widened_to(points, curves, REACH)),
    }
}

/// Returns the height of a curve that is level, such as a limit, which is of no use where it is not seen.
fn level(points: &[(f64, f64)]) -> Option<f64> {
    let (_, height) = points.first()?;
    let same = |(_, y): &(f64, f64)| y.total_cmp(height).is_eq();
    points.iter().all(same).then_some(*height)
}

/// Returns a box widened towards another one, by at most that share of its own length each way.
fn widened_to(area: Area, other: Area, most: f64) -> Area {
    let (x0, x1) = widened((area.x0, area.x1), (other.x0, other.x1), most);
    let (y0, y1) = widened((area.y0, area.y1), (other.y0, other.y1), most);
    Area { x0, y0, x1, y1 }
}

/// Returns a range widened towards another one; one without length takes in the other whole.
fn widened((low, high): (f64, f64), (other_low, other_high): (f64, f64), most: f64) -> (f64, f64) {
    let reach = if high > low {
        (high - low) * most
    } else {
        f64::INFINITY
    };
    (
        low.min(other_low.max(low - reach)),
        high.max(other_high.min(high + reach)),
    )
}

/// Returns how a problem calls a series.
fn name(series: &Series) -> String {
    if !series.name.is_empty() {
        return series.name.clone();
    }
    match &series.shape {
        SeriesShape::Points(_) => "the points",
        SeriesShape::Curve { .. } => "a curve",
        SeriesShape::Outline(_) => "an outline",
        SeriesShape::Band(_) => "an area",
        SeriesShape::Bounds(_) => "the bounds of an area",
        SeriesShape::ReadBack(_) => "an unknown",
    }
    .to_owned()
}

/// The smallest box around what was included.
#[derive(Debug, Default)]
struct Bounds(Option<Area>);

impl Bounds {
    /// Takes in a point with its bars; false where it cannot be drawn.
    fn point(&mut self, point: &Point) -> bool {
        self.include(point.x - point.half_x, point.y - point.half_y)
            && self.include(point.x + point.half_x, point.y + point.half_y)
    }

    /// Takes in a place; false where it cannot be drawn.
    fn include(&mut self, x: f64, y: f64) -> bool {
        // The comparison is false for what is not a number.
        if !(x.abs() <= LARGEST && y.abs() <= LARGEST) {
            return false;
        }
        let area = self.0.get_or_insert(Area {
            x0: x,
            y0: y,
            x1: x,
            y1: y,
        });
        *area = Area {
            x0: area.x0.min(x),
            y0: area.y0.min(y),
            x1: area.x1.max(x),
            y1: area.y1.max(y),
        };
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_widen_a_range_a_little() {
        assert_eq!(widened((0.0, 10.0), (-0.5, 100.0), REACH), (-0.5, 10.5));
        assert_eq!(
            widened((0.0, 10.0), (4.0, 5.0), REACH),
            (0.0, 10.0),
            "never narrower"
        );
        assert_eq!(
            widened((3.0, 3.0), (0.0, 10.0), REACH),
            (0.0, 10.0),
            "a range without length"
        );
    }

    #[test]
    fn outlines_are_seen_whole() {
        let series = |shape| Series::new("", shape);
        let point = Point {
            x: 1.0,
            y: 1.0,
            half_x: 0.0,
            half_y: 0.0,
            label: String::new(),
            hollow: false,
        };
        let corners = vec![
            (-4.0, 0.0),
            (0.0, 5.0),
            (4.0, 0.0),
            (0.0, -5.0),
            (-4.0, 0.0),
        ];
        let all = [
            series(SeriesShape::Points(vec![point])),
            series(SeriesShape::Outline(corners)),
        ];
        let area = extent(&all).unwrap();
        assert_eq!((area.x0, area.x1, area.y0, area.y1), (-4.0, 4.0, -5.0, 5.0));
    }
}
