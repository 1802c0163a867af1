//! What stands in a row side by side: as near to its place as its neighbours allow.

use super::scale::Axes;
use super::style;
use crate::print::manuscript::plot::{Point, Series, SeriesShape};

/// Between two markers side by side.
const APART: f64 = 0.4;
/// No marker stands further beside its place, as a share of the frame's width.
const ASIDE: f64 = 0.03;

/// A thing in a row: where its middle would stand if it stood alone, and half its width.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    pub(super) middle: f64,
    pub(super) half: f64,
}

/// Returns where the middles of things stand, which are in the order of their places: as near to these, by least
/// squares, as is possible side by side, so far apart and between the two ends; `None` without room.
///
/// Without their widths, the middles would have to rise: the things are moved to the left by the widths of those before
/// them, neighbours in the wrong order are put together at their mean (the pool-adjacent-violators algorithm), and moved
/// back.
pub(super) fn middles(things: &[Placed], apart: f64, (low, high): (f64, f64)) -> Option<Vec<f64>> {
    let mut before = 0.0;
    let mut moved = Vec::with_capacity(things.len());
    // Sum and number of those put together.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (index, thing) in things.iter().enumerate() {
        if index > 0 {
            before += thing.half + apart;
        }
        moved.push(before);
        let mut pool = (thing.middle - before, 1);
        before += thing.half;
        while let Some((sum, count)) =
            pools.pop_if(|(sum, count)| *sum / *count as f64 > pool.0 / pool.1 as f64)
        {
            pool = (pool.0 + sum, pool.1 + count);
        }
        pools.push(pool);
    }
    let (first, last) = (things.first()?, things.last()?);
    let (low, high) = (low + first.half, high - last.half - moved.last()?);
    if low > high {
        return None;
    }
    let means = pools.into_iter().flat_map(|(sum, count)| {
        let mean = (sum / count as f64).clamp(low, high);
        std::iter::repeat_n(mean, count)
    });
    Some(means.zip(moved).map(|(mean, moved)| mean + moved).collect())
}

/// Returns a plot of rows in which no point hides another: those that coincide stand side by side. A row of so many that
/// some would stand far from their places is left as it is.
pub(super) fn points_apart(all: &[Series], axes: Axes<'_>) -> Vec<Series> {
    let mut all = all.to_vec();
    let points = all.iter_mut().filter_map(|series| match &mut series.shape {
        SeriesShape::Points(points) => Some(points),
        _ => None,
    });
    let mut points: Vec<&mut Point> = points.flatten().collect();
    points.sort_by(|one, other| other.y.total_cmp(&one.y).then(one.x.total_cmp(&other.x)));
    let frame = axes.frame;
    let per_point = (axes.x.high() - axes.x.low()) / frame.width();
    for row in points.chunk_by_mut(|one, other| one.y.total_cmp(&other.y).is_eq()) {
        let placed = row.iter().map(|point| Placed {
            middle: axes.at((point.x, point.y)).0,
            half: style::MARKER,
        });
        let placed: Vec<Placed> = placed.collect();
        let Some(middles) = middles(&placed, APART, (frame.x0, frame.x1)) else {
            continue;
        };
        let aside = |(middle, placed): (&f64, &Placed)| middle - placed.middle;
        let moves: Vec<f64> = middles.iter().zip(&placed).map(aside).collect();
        if moves.iter().all(|by| by.abs() <= ASIDE * frame.width()) {
            for (point, by) in row.iter_mut().zip(moves) {
                point.x += by * per_point;
            }
        }
    }
    all
}
