//! The plots of a comparison: the results of all benches, from the lowest to the highest.

use std::collections::BTreeMap;

use super::by_date::{ByDate, by_date};
use super::found::Row;
use super::group::{Group, Pairs, Quantity};
use super::values::{YOUDEN, chart_name, plot_name};
use crate::print::manuscript::plot::{Axis, Pen, Plot, Point, Series, SeriesShape, Vertical};
use crate::report::words::capitalized;

/// Of more benches, only those that stand out are named.
const MOST_NAMED: usize = 30;
/// Bars of more benches would run into each other: their ends are then joined.
const MOST_BARS: usize = 80;
/// Of fewer benches there is no plot.
const LEAST: usize = 3;
/// Steps of a circle; enough for the eye.
const STEPS: usize = 120;
/// Height over width.
const ASPECT: f64 = 0.5;
/// The same of the departures of a solution, of which there are several.
const DEPARTURE_ASPECT: f64 = 0.36;

pub(super) fn plots(rows: &[Row], group: &Group) -> BTreeMap<String, Plot> {
    let quantities = group.quantities.iter().enumerate();
    let plots =
        quantities.filter_map(|(index, quantity)| Some((plot_name(index), plot(rows, quantity)?)));
    let charts = by_date(rows, group);
    let charts = charts.iter().map(|chart| {
        (
            chart_name(chart.quantity),
            control_chart(rows, group, chart),
        )
    });
    let pairs = group.pairs.as_ref();
    let pairs = pairs.map(|pairs| (YOUDEN.to_owned(), two_liquids(rows, group, pairs)));
    plots.chain(charts).chain(pairs).collect()
}

fn axis(name: &str, unit: &str) -> Axis {
    Axis::new("", capitalized(name), unit)
}

/// Returns the name of a bench that is to be named.
fn name_if(is_named: bool, row: &Row) -> &str {
    if is_named { &row.name } else { "" }
}

/// Results in the order of their days, with control limits, and the limits that the run files state.
fn control_chart(rows: &[Row], group: &Group, by_date: &ByDate) -> Plot {
    let quantity = &group.quantities[by_date.quantity];
    let chart = &by_date.chart;
    let (left, right) = (0.5, by_date.order.len() as f64 + 0.5);
    let level = |value: f64| vec![(left, value), (right, value)];
    let found = by_date
        .order
        .iter()
        .rev()
        .filter_map(|row| rows[*row].found.as_ref());
    let mut answers = found.flat_map(|found| &found.answers);
    let last = answers.find(|answer| answer.name == quantity.solution);
    let stated = last.map_or([None; 2], |answer| answer.limits);
    // A limit that is not stated lies beyond all that is drawn.
    let beyond = 10.0 * chart.standard_deviation;
    let low = stated[0].unwrap_or(chart.lower - beyond);
    let high = stated[1].unwrap_or(chart.upper + beyond);
    let mut series = Vec::new();
    if stated != [None; 2] {
        series.push(Series::new(
            "within the limits of the run file",
            SeriesShape::Band(vec![(left, low, high), (right, low, high)]),
        ));
    }
    series.push(Series::curve("centre line", level(chart.centre), Pen::Main));
    series.push(Series::curve(
        "control limits",
        level(chart.lower),
        Pen::Thin,
    ));
    series.push(Series::curve("", level(chart.upper), Pen::Thin));
    let points = by_date.order.iter().enumerate().map(|(index, row)| {
        let label = name_if(chart.outside.contains(&index), &rows[*row]);
        Point::new(index as f64 + 1.0, quantity.values[row].value, label)
    });
    series.push(Series::new(
        "results",
        SeriesShape::Points(points.collect()),
    ));
    let named = format!("{} of {}", quantity.name, quantity.solution);
    let outside = match chart.outside.len() {
        0 => "None lies outside them.".to_owned(),
        1 => "One lies outside them.".to_owned(),
        several => format!("{several} lie outside them."),
    };
    Plot {
        x: axis("results by date", ""),
        y: Vertical::Scale {
            axis: axis(&named, quantity.unit),
            aspect: ASPECT,
        },
        series,
        below: None,
        alternative: format!("The {named} by date, with centre line and control limits. {outside}"),
    }
}

/// Returns the departures of two liquids at each bench, with the curve that holds 95 % of what chance alone makes: a
/// circle, were both axes of one scale.
fn two_liquids(rows: &[Row], group: &Group, pairs: &Pairs) -> Plot {
    let [a, b] = pairs.quantities.map(|index| &group.quantities[index]);
    let far = |index: usize| pairs.youden.pairs[index].outside;
    let points = pairs.rows.iter().enumerate().map(|(index, row)| {
        let label = name_if(pairs.rows.len() <= MOST_NAMED || far(index), &rows[*row]);
        Point::new(a.values[row].value, b.values[row].value, label)
    });
    let ([x, y], radius) = (pairs.youden.median, pairs.youden.radius);
    let angles = (0..=STEPS).map(|step| std::f64::consts::TAU * step as f64 / STEPS as f64);
    let circle = angles.map(|angle| (x + radius * angle.cos(), y + radius * angle.sin()));
    let outside = (0..pairs.rows.len()).filter(|index| far(*index)).count();
    Plot {
        x: axis(&format!("departure of {}", a.solution), a.unit),
        y: Vertical::Scale {
            axis: axis(&format!("departure of {}", b.solution), b.unit),
            aspect: ASPECT,
        },
        series: vec![
            Series::new(
                "95 % of pairs if only chance acts",
                SeriesShape::Outline(circle.collect()),
            ),
            Series::new("benches", SeriesShape::Points(points.collect())),
        ],
        below: None,
        alternative: format!(
            "The departures of {} and of {} from their published densities at {} benches, with the curve that contains 95 % of pairs if only chance acts. Outside it: {outside}.",
            a.solution,
            b.solution,
            pairs.rows.len()
        ),
    }
}

fn plot(rows: &[Row], quantity: &Quantity) -> Option<Plot> {
    let assigned = quantity.assigned?;
    let left_out = quantity.far_off();
    let mut order: Vec<usize> = quantity.values.keys().copied().collect();
    order.retain(|row| !left_out.contains(row));
    if order.len() < LEAST {
        return None;
    }
    order.sort_by(|a, b| {
        quantity.values[a]
            .value
            .total_cmp(&quantity.values[b].value)
    });
    let far = |row: usize| {
        quantity
            .scores
            .get(&row)
            .and_then(|score| score.z)
            .is_some_and(|z| z.abs() > 2.0)
    };
    let all_named = order.len() <= MOST_NAMED;
    let joined = order.len() > MOST_BARS;
    let points = order.iter().enumerate().map(|(index, row)| {
        let (result, label) = (
            &quantity.values[row],
            name_if(all_named || far(*row), &rows[*row]),
        );
        let bar = if joined {
            0.0
        } else {
            result.expanded_uncertainty
        };
        Point {
            half_y: bar,
            ..Point::new(index as f64 + 1.0, result.value, label)
        }
    });
    let (left, right) = (0.5, order.len() as f64 + 0.5);
    let within = 2.0 * assigned.deviation;
    let level = |value: f64| vec![(left, value), (right, value)];
    let band = |low: f64, high: f64| vec![(left, low, high), (right, low, high)];
    let middle = if assigned.known {
        "known value"
    } else {
        "robust mean"
    };
    let ends = order.iter().enumerate().map(|(index, row)| {
        let (at, result) = (index as f64 + 1.0, &quantity.values[row]);
        let (value, expanded) = (result.value, result.expanded_uncertainty);
        (at, value - expanded, value + expanded)
    });
    let ends = Series::new("expanded uncertainty", SeriesShape::Bounds(ends.collect()));
    let mut series = vec![
        Series::new(
            format!("{middle} ± 2 robust standard deviations"),
            SeriesShape::Band(band(assigned.value - within, assigned.value + within)),
        ),
        Series::curve(middle, level(assigned.value), Pen::Main),
    ];
    if joined {
        // Without bars, only what is level widens the frame.
        let edges =
            [-within, within].map(|by| Series::curve("", level(assigned.value + by), Pen::Thin));
        series.extend(edges);
        series.push(ends);
    }
    series.push(Series::new(
        if joined {
            "results"
        } else {
            "results with expanded uncertainty"
        },
        SeriesShape::Points(points.collect()),
    ));
    let named = format!("{} of {}", quantity.name, quantity.solution);
    let outside: Vec<&str> = order
        .iter()
        .filter(|row| far(**row))
        .map(|row| rows[*row].name.as_str())
        .collect();
    let outside = match outside.as_slice() {
        [] => "None is further from it than that.".to_owned(),
        several => format!("Further from it than that: {}.", several.join(", ")),
    };
    let (label, aspect) = if quantity.is_answer {
        (named.clone(), ASPECT)
    } else {
        (
            format!("departure of {}", quantity.solution),
            DEPARTURE_ASPECT,
        )
    };
    let y = Vertical::Scale {
        axis: axis(&label, quantity.unit),
        aspect,
    };
    Some(Plot {
        x: axis("benches, from the lowest result to the highest", ""),
        y,
        series,
        below: None,
        alternative: format!(
            "The {named} found by {} benches, with the {middle} and two robust standard deviations on either side. {outside}",
            order.len()
        ),
    })
}
