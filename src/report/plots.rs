//! The plots of a report, by name.

use std::collections::BTreeMap;

use crate::bench::fit::Model;
use crate::bench::quantity::{DensityUnit, ShownIn};
use crate::bench::reduce::coverage::expanded;
use crate::bench::reduce::{Bands, CalibrationPoint, CalibrationResult, Preparation, Reduction};
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::{NodeId, Uncertainty};
use crate::print::manuscript::plot::{
    Axis, Panel, Pen, Plot, Point, Series, SeriesShape, Vertical,
};

use super::Material;
use super::calibration::has_bands;
use super::rows;
use super::words::{figures, scale_title, write_plain};

/// Steps of the edges of a band, which bend little; enough for the eye at a column's width.
const BAND_STEPS: usize = 24;
/// Steps of a curve of published densities, of which a plot may show but a part.
const STEPS: usize = 40;

/// Returns the plots of a report: `calibration` with its residuals and `calibration_low` without them, where there is a
/// calibration; `spread`, where weighings can be set side by side.
pub(super) fn plots(material: &Material) -> BTreeMap<String, Plot> {
    let mut plots = BTreeMap::new();
    if let Some(calibration) = &material.reduction.calibration {
        let mut whole = calibration_plot(material, calibration);
        let density_unit = material.reduction.worksheet.density_unit;
        let below = (calibration.fitted.dof > 0)
            .then(|| Box::new(residuals(calibration, &whole.series, density_unit)));
        let scaled = |y| density_unit.of_density().scaled(y);
        for series in &mut whole.series {
            move_heights(&mut series.shape, |_, y| scaled(y), scaled(1.0));
        }
        // For a page that has to hold more than the plot.
        let low = Plot {
            y: density_axis(0.30, density_unit),
            ..whole.clone()
        };
        plots.insert("calibration_low".into(), low);
        let alternative = match &below {
            Some(_) => format!(
                "{} {}",
                whole.alternative,
                residuals_in_words(material.reduction, calibration)
            ),
            None => whole.alternative.clone(),
        };
        plots.insert(
            "calibration".into(),
            Plot {
                below,
                alternative,
                ..whole
            },
        );
    }
    if let Some(plot) = rows::spread(material) {
        plots.insert("spread".into(), plot);
    }
    plots
}

fn x_axis(against: Scale) -> Axis {
    Axis::new(
        against.symbol(),
        scale_title(against),
        against.unit().symbol,
    )
}

/// Returns the calibration's plot, with densities in g/mL but for its axis and words.
fn calibration_plot(material: &Material, calibration: &CalibrationResult) -> Plot {
    let reduction = material.reduction;
    let ws = &reduction.worksheet;
    let shown_in = ws.density_unit.of_density();
    let coverage = material.run.report.coverage;
    let expanded = |id: NodeId| material.results.manner.state(ws, id).expanded_uncertainty;

    let shown = |point: &CalibrationPoint, hollow: bool| Point {
        x: ws.value(point.x),
        y: ws.value(point.y),
        half_x: expanded(point.x),
        half_y: expanded(point.y),
        label: reduction.solutions[point.solution].name.clone(),
        hollow,
    };
    let points: Vec<Point> = calibration
        .points
        .iter()
        .map(|point| shown(point, false))
        .collect();
    let kept_out: Vec<Point> = calibration
        .kept_out
        .iter()
        .map(|point| shown(point, true))
        .collect();
    let mut read_back = Vec::new();
    let mut answers = Vec::new();
    for solution in &reduction.solutions {
        let (Preparation::Unknown, Some(density)) = (&solution.preparation, &solution.density)
        else {
            continue;
        };
        let Some(x) = solution.composition.get(calibration.against) else {
            continue;
        };
        let answer = material.results.manner.state(ws, x);
        let y = ws.value(density.compared());
        answers.push(format!(
            " {} lies at {} and is found at {} {}.",
            solution.name,
            shown_in.in_words(y, 5),
            answer.shown,
            answer.unit
        ));
        read_back.push(Point {
            x: ws.value(x),
            y,
            half_x: answer.expanded_uncertainty,
            half_y: expanded(density.compared()),
            label: solution.name.clone(),
            hollow: false,
        });
    }
    let xs = || points.iter().chain(&read_back).map(|p| p.x);
    let (low, high) = (
        xs().fold(f64::INFINITY, f64::min),
        xs().fold(f64::NEG_INFINITY, f64::max),
    );
    let drawn = Drawn::between(material, calibration, (low, high));

    let published = published_curve(reduction, calibration, high);
    let alternative = [
        in_words(calibration, &points, shown_in),
        answers.concat(),
        kept_out_in_words(&kept_out),
        published.as_ref().map_or_else(String::new, |curve| {
            published_in_words(calibration, &points, curve, shown_in)
        }),
    ]
    .concat();
    let aspect = if calibration.fitted.dof > 0 {
        0.32
    } else {
        0.49
    };
    let percent = write_plain(100.0 * coverage);
    let mut all = Vec::new();
    if has_bands(calibration) {
        all.push(Series::new(
            format!("{}, {percent} %", fitted_shape(calibration)),
            SeriesShape::Band(drawn.band),
        ));
        all.push(Series::new(
            format!("further density, {percent} %"),
            SeriesShape::Bounds(drawn.bounds),
        ));
    }
    if let Some(published) = published {
        all.push(Series::curve("published", published, Pen::Thin));
    }
    all.push(Series::curve("fitted", drawn.line, Pen::Main));
    for point in read_back {
        all.push(Series::new("unknown", SeriesShape::ReadBack(point)));
    }
    if !kept_out.is_empty() {
        all.push(Series::new("not in the fit", SeriesShape::Points(kept_out)));
    }
    all.push(Series::new("measured", SeriesShape::Points(points)));
    Plot {
        x: x_axis(calibration.against),
        y: density_axis(aspect, ws.density_unit),
        series: all,
        below: None,
        alternative,
    }
}

fn density_axis(aspect: f64, unit: DensityUnit) -> Vertical {
    Vertical::Scale {
        axis: Axis::new("ρ", "Density", unit.of_density().unit.symbol),
        aspect,
    }
}

/// The fitted line with its bands.
struct Drawn {
    line: Vec<(f64, f64)>,
    /// Where the line lies.
    band: Vec<(f64, f64, f64)>,
    /// Where one further density would lie.
    bounds: Vec<(f64, f64, f64)>,
}

impl Drawn {
    fn between(
        material: &Material,
        calibration: &CalibrationResult,
        (low, high): (f64, f64),
    ) -> Self {
        let bands = Bands::new(&material.reduction.worksheet, calibration);
        let coverage = material.run.report.coverage;
        let half = |at: Uncertainty| expanded(at, coverage);
        let mut drawn = Self {
            line: Vec::new(),
            band: Vec::new(),
            bounds: Vec::new(),
        };
        for i in 0..=BAND_STEPS {
            let x = low + (high - low) * i as f64 / BAND_STEPS as f64;
            let y = calibration.density_at(x);
            let (of_line, of_further) = (half(bands.line(x)), half(bands.further(x)));
            drawn.line.push((x, y));
            drawn.band.push((x, y - of_line, y + of_line));
            drawn.bounds.push((x, y - of_further, y + of_further));
        }
        drawn
    }
}

/// Returns what is fitted, in a word.
fn fitted_shape(calibration: &CalibrationResult) -> &'static str {
    match calibration.fitted.model {
        Model::Quadratic => "curve",
        Model::Straight => "line",
    }
}

/// Returns what the calibration plot shows of the points, in a sentence or two.
fn in_words(calibration: &CalibrationResult, points: &[Point], shown_in: ShownIn) -> String {
    let unit = calibration.against.unit();
    let Some((low, high)) = ends(points) else {
        return String::new();
    };
    let course = if high.y < low.y { "falls" } else { "rises" };
    format!(
        "Density against {}: {} point{} with a fitted {}. Density {course} from {} to {} over {} {unit} to {} {unit}.",
        calibration.against.label(),
        points.len(),
        if points.len() == 1 { "" } else { "s" },
        fitted_shape(calibration),
        shown_in.in_words(low.y, 5),
        shown_in.in_words(high.y, 5),
        figures(low.x, 4),
        figures(high.x, 4),
    )
}

/// Returns the points farthest left and right.
fn ends(points: &[Point]) -> Option<(&Point, &Point)> {
    Some((
        points.iter().min_by(|a, b| a.x.total_cmp(&b.x))?,
        points.iter().max_by(|a, b| a.x.total_cmp(&b.x))?,
    ))
}

fn kept_out_in_words(kept_out: &[Point]) -> String {
    if kept_out.is_empty() {
        return String::new();
    }
    let names: Vec<&str> = kept_out.iter().map(|point| point.label.as_str()).collect();
    format!(" Not in the fit: {}.", names.join(", "))
}

/// Returns how the published curve lies to the fitted one between the points.
fn published_in_words(
    calibration: &CalibrationResult,
    points: &[Point],
    published: &[(f64, f64)],
    shown_in: ShownIn,
) -> String {
    let Some((low, high)) = ends(points) else {
        return String::new();
    };
    let between = published
        .iter()
        .filter(|(x, _)| (low.x..=high.x).contains(x));
    let departures = between.map(|&(x, y)| (x, y - calibration.density_at(x)));
    let Some((x, most)) = departures.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return String::new();
    };
    format!(
        " The published curve departs from the fitted {} by at most {}, {} it at {} {}.",
        fitted_shape(calibration),
        shown_in.in_words(most.abs(), 2),
        if most < 0.0 { "below" } else { "above" },
        figures(x, 3),
        calibration.against.unit(),
    )
}

/// Returns the published density of the salt's solutions at the calibration's mean temperature, on the calibration's
/// scale.
fn published_curve(
    reduction: &Reduction,
    calibration: &CalibrationResult,
    high: f64,
) -> Option<Vec<(f64, f64)>> {
    let shape = reduction.published_shape?;
    let mut curve = Vec::new();
    for i in 0..=STEPS {
        let w = shape.largest_mass_fraction() * i as f64 / STEPS as f64;
        let x = shape.on_scale(calibration.against, w);
        curve.push((x, shape.at_mass_fraction(w)));
        if x > high {
            break;
        }
    }
    (curve.len() > 1).then_some(curve)
}

/// Returns the same densities less the fitted line, where their scatter, the bands and the published curve can be told
/// apart.
fn residuals(calibration: &CalibrationResult, whole: &[Series], unit: DensityUnit) -> Panel {
    let less = |x: f64, y: f64| 1000.0 * (y - calibration.density_at(x));
    let series = whole.iter().filter_map(|series| {
        let mut shape = series.shape.clone();
        move_heights(&mut shape, less, 1000.0);
        match &mut shape {
            // What is not in the fit may lie anywhere.
            SeriesShape::Points(points) if points.iter().any(|point| point.hollow) => return None,
            SeriesShape::Points(points) => {
                for point in points {
                    point.half_x = 0.0;
                    point.label.clear();
                }
            }
            SeriesShape::ReadBack(point) => point.label.clear(),
            _ => {}
        }
        Some(Series::new("", shape))
    });
    Panel {
        y: Axis::new("", "Difference", unit.of_difference()),
        series: series.collect(),
        aspect: 0.25,
    }
}

/// Moves a shape to other heights; its vertical bars become so many times as long.
fn move_heights(shape: &mut SeriesShape, to: impl Fn(f64, f64) -> f64, times: f64) {
    let move_point = |point: &mut Point| {
        point.y = to(point.x, point.y);
        point.half_y *= times;
    };
    match shape {
        SeriesShape::Points(points) => points.iter_mut().for_each(move_point),
        SeriesShape::ReadBack(point) => move_point(point),
        SeriesShape::Curve { points, .. } | SeriesShape::Outline(points) => {
            for (x, y) in points {
                *y = to(*x, *y);
            }
        }
        SeriesShape::Band(points) | SeriesShape::Bounds(points) => {
            for (x, low, high) in points {
                (*low, *high) = (to(*x, *low), to(*x, *high));
            }
        }
    }
}

fn residuals_in_words(reduction: &Reduction, calibration: &CalibrationResult) -> String {
    let residuals = calibration.points.iter().zip(&calibration.fitted.residuals);
    let Some((point, largest)) = residuals.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return String::new();
    };
    format!(
        "Below, the densities minus the fitted {}: the largest difference is {} {} at {}.",
        fitted_shape(calibration),
        figures(1000.0 * largest, 2),
        reduction.worksheet.density_unit.of_difference(),
        reduction.solutions[point.solution].name
    )
}
