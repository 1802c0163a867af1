//! The scatter of weighings, as a strip for each solution.

use crate::print::manuscript::plot::{Axis, Pen, Plot, Point, Series, SeriesShape, Vertical};

use super::Material;
use super::words::figures;

/// Fewer weighings than this have no spread to see (common practice, no source).
const FEWEST: usize = 3;

/// Rows that one plot has room for.
const MOST_ROWS: usize = 20;

/// A weighing left out stands at the edge where it is further off than the others by this factor.
const EDGE: f64 = 1.3;

/// Points nearer to each other than this share of the largest departure coincide: a marker is about as wide.
const COINCIDE: f64 = 0.025;

/// The weighings of a solution stand so far below the middle of its row, in rows: there are numbers above them.
const LOWERED: f64 = 0.15;

/// The weighings of one solution about the mean of those that count, mg/mL (kg/m³), in the order of weighing.
struct Strip<'a> {
    solution: &'a str,
    /// Each with whether it is left out.
    weighings: Vec<(f64, bool)>,
    /// The largest departure of those that count.
    widest: f64,
}

/// Single densities about their mean, a row for each solution with weighings enough; `None` for fewer than two of them.
/// Where there are more rows than fit, those that scatter most.
pub(super) fn spread(material: &Material) -> Option<Plot> {
    let ws = &material.reduction.worksheet;
    let mut strips = Vec::new();
    for solution in &material.reduction.solutions {
        let Some(density) = &solution.density else {
            continue;
        };
        let single = |left_out: bool| {
            let of_kind =
                move |r: &&crate::bench::reduce::ReplicateResult| r.left_out.is_some() == left_out;
            density.replicates.iter().filter(of_kind)
        };
        let counted = single(false).count();
        if counted < FEWEST {
            continue;
        }
        let mean = single(false).map(|r| ws.value(r.density)).sum::<f64>() / counted as f64;
        let weighings: Vec<(f64, bool)> = density
            .replicates
            .iter()
            .map(|r| (1000.0 * (ws.value(r.density) - mean), r.left_out.is_some()))
            .collect();
        let widest = weighings
            .iter()
            .filter(|(_, left_out)| !left_out)
            .fold(0.0, |widest: f64, (off, _)| widest.max(off.abs()));
        strips.push(Strip {
            solution: &solution.name,
            weighings,
            widest,
        });
    }
    if strips.len() < 2 {
        return None;
    }
    let of_all = strips.len();
    if of_all > MOST_ROWS {
        let mut widths: Vec<f64> = strips.iter().map(|strip| strip.widest).collect();
        widths.sort_by(|a, b| b.total_cmp(a));
        let least = widths[MOST_ROWS - 1];
        strips.retain(|strip| strip.widest >= least);
        strips.truncate(MOST_ROWS);
    }
    Some(strip_plot(&strips, of_all, ws.density_unit.of_difference()))
}

/// Returns the rows with points so close together that one would hide the other.
pub(super) fn coincident(plot: &Plot) -> Vec<String> {
    let Vertical::Rows(names) = &plot.y else {
        return Vec::new();
    };
    let mut rows = vec![Vec::new(); names.len()];
    for series in &plot.series {
        if let SeriesShape::Points(points) = &series.shape {
            for point in points {
                rows[-point.y.round() as usize].push(point.x);
            }
        }
    }
    let places = rows.iter().flatten();
    let least = COINCIDE * places.fold(0.0, |most: f64, x| most.max(x.abs()));
    let close = |(mut row, name): (Vec<f64>, &String)| {
        row.sort_by(f64::total_cmp);
        let close = row.windows(2).any(|pair| pair[1] - pair[0] < least);
        close.then(|| name.clone())
    };
    rows.into_iter().zip(names).filter_map(close).collect()
}

fn strip_plot(strips: &[Strip], of_all: usize, unit: &'static str) -> Plot {
    let widest = strips.iter().map(|strip| strip.widest).fold(0.0, f64::max);
    let edge = if widest > 0.0 { EDGE * widest } else { 1.0 };
    let (mut counted, mut left_out) = (Vec::new(), Vec::new());
    for (row, strip) in strips.iter().enumerate() {
        for (number, (off, out)) in (1..).zip(&strip.weighings) {
            let beyond = off.abs() > edge;
            let label = if beyond {
                format!("{number} ({})", figures(*off, 2))
            } else {
                number.to_string()
            };
            let point = Point {
                hollow: *out,
                ..Point::new(off.clamp(-edge, edge), -(row as f64) - LOWERED, label)
            };
            if *out {
                left_out.push(point);
            } else {
                counted.push(point);
            }
        }
    }
    let lowest = 0.5 - strips.len() as f64;
    let mut series = vec![Series::curve(
        "",
        vec![(0.0, 0.5), (0.0, lowest)],
        Pen::Thin,
    )];
    for shape in [counted, left_out] {
        if !shape.is_empty() {
            series.push(Series::new("", SeriesShape::Points(shape)));
        }
    }
    let most = strips.iter().max_by(|a, b| a.widest.total_cmp(&b.widest));
    let rows = if of_all > strips.len() {
        format!(
            "the {} solutions of {of_all} that scatter most",
            strips.len()
        )
    } else {
        format!("{of_all} solutions")
    };
    let alternative = most.map_or_else(String::new, |most| {
        format!(
            "Single densities of {rows} relative to the mean of each; those of {} lie furthest from it, up to {} {unit}.",
            most.solution,
            figures(most.widest, 2)
        )
    });
    Plot {
        x: Axis::new("", "Deviation from the mean", unit),
        y: Vertical::Rows(
            strips
                .iter()
                .map(|strip| strip.solution.to_owned())
                .collect(),
        ),
        series,
        below: None,
        alternative,
    }
}
