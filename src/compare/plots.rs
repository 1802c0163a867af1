//! The plots of a comparison: the results of all benches, from the lowest to the highest.

use std::collections::BTreeMap;

use super::found::Row;
use super::group::{Group, Quantity};
use super::values::plot_name;
use crate::manuscript::plot::{Axis, Pen, Plot, Point, Series, SeriesShape, Vertical};

/// Of more benches, only those that stand out are named.
const MOST_NAMED: usize = 30;
/// Of fewer benches there is no plot.
const LEAST: usize = 3;
/// Height over width.
const ASPECT: f64 = 0.5;

pub(super) fn plots(rows: &[Row], group: &Group) -> BTreeMap<String, Plot> {
    let quantities = group.quantities.iter().enumerate();
    let plots =
        quantities.filter_map(|(index, quantity)| Some((plot_name(index), plot(rows, quantity)?)));
    plots.collect()
}

fn plot(rows: &[Row], quantity: &Quantity) -> Option<Plot> {
    if quantity.count < LEAST {
        return None;
    }
    let assigned = quantity.assigned?;
    let mut order: Vec<usize> = quantity.values.keys().copied().collect();
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
    let points = order.iter().enumerate().map(|(place, row)| Point {
        x: place as f64 + 1.0,
        y: quantity.values[row].value,
        half_x: 0.0,
        half_y: quantity.values[row].expanded_uncertainty,
        label: if all_named || far(*row) {
            rows[*row].name.clone()
        } else {
            String::new()
        },
        hollow: false,
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
    let series = vec![
        Series {
            name: format!("{middle} ± 2 robust standard deviations"),
            shape: SeriesShape::Band(band(assigned.value - within, assigned.value + within)),
        },
        Series {
            name: middle.into(),
            shape: SeriesShape::Curve {
                points: level(assigned.value),
                pen: Pen::Main,
            },
        },
        Series {
            name: "results with expanded uncertainty".into(),
            shape: SeriesShape::Points(points.collect()),
        },
    ];
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
    let mut letters = named.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    Some(Plot {
        x: Axis {
            symbol: String::new(),
            name: "Benches, from the lowest result to the highest".into(),
            unit: String::new(),
        },
        y: Vertical::Scale {
            axis: Axis {
                symbol: String::new(),
                name: first.chain(letters).collect(),
                unit: quantity.unit.into(),
            },
            aspect: ASPECT,
        },
        series,
        below: None,
        alternative: format!(
            "The {named} as {} benches found it, with the {middle} and two robust standard deviations on either side. {outside}",
            order.len()
        ),
    })
}
