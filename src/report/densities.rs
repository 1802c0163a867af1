//! The tables of the readings that densities follow from, and what was left out of them.

use serde::Serialize;

use crate::bench::practice::listed;
use crate::bench::quantity::Unit;
use crate::bench::quantity::rounding::{Rounded, to_place};
use crate::bench::reduce::DensityResult;
use crate::bench::runfile::model::{DensityMethod, Reading, Ref};
use crate::bench::worksheet::{NodeId, Worksheet};

use super::Material;
use super::flags::{Mark, Marks};
use super::shown::ResultShown;
use super::words::{decimals, delivered, digits, figures, write_quantity};

/// A weighing of a known volume.
#[derive(Debug, Serialize)]
pub(super) struct WeighingShown {
    /// Name of the solution.
    solution: String,
    /// The flags raised on it.
    marks: Vec<Mark>,
    /// Its number within the solution, from 1.
    number: usize,
    /// The reading of the empty vessel as written, g.
    empty: String,
    /// The reading of the filled vessel as written, g.
    filled: String,
    /// The volume as written, mL.
    volume: String,
    /// The temperature of the liquid as written, °C.
    liquid: String,
    /// The density from this weighing alone.
    density: String,
    /// Why it is left out.
    left_out: Option<String>,
}

/// Successive deliveries of one solution into a vessel that is not tared.
#[derive(Debug, Serialize)]
pub(super) struct CumulativeShown {
    /// Name of the solution.
    solution: String,
    /// The vessel after each delivery.
    points: Vec<PointShown>,
    /// The density: the slope of mass against volume.
    slope: ResultShown,
    /// The mass of the vessel from the fit.
    intercept: ResultShown,
    /// The standard deviation about the line, mg.
    residual_sd: Option<String>,
    /// The degrees of freedom.
    dof: usize,
    /// Whether the masses scatter more than the stated errors explain.
    scattered: bool,
    /// The standard deviation of one delivery from the increments, mL, if it is not stated.
    delivery: Option<String>,
    /// Its degrees of freedom.
    delivery_dof: Option<usize>,
}

/// The vessel after a delivery.
#[derive(Debug, Serialize)]
struct PointShown {
    /// The number of the delivery.
    number: String,
    /// The volume of this delivery, mL.
    delivered: String,
    /// The volume delivered so far, mL.
    volume: String,
    /// The reading of the balance, g.
    mass: String,
    /// The mass minus that of the line, mg.
    residual: Option<String>,
    /// Why it is left out.
    left_out: Option<String>,
}

/// The pycnometer and its fillings.
#[derive(Debug, Serialize)]
pub(super) struct PycnometerShown {
    /// Readings of the empty pycnometer, with unit.
    empty: String,
    /// Readings with water, with unit.
    water: String,
    /// The temperature of that water, °C.
    water_liquid: String,
    /// Its fillings with solutions.
    fillings: Vec<ReadingShown>,
}

/// A filling of the pycnometer, or a density that an instrument showed.
#[derive(Debug, Serialize)]
pub(super) struct ReadingShown {
    /// Name of the solution.
    solution: String,
    /// The number of the reading within the solution, from 1.
    number: usize,
    /// The reading as written, in g for a filling.
    read: String,
    /// The instrument; absent for a filling.
    with: Option<String>,
    /// Whether the density is calculated from it.
    converted: bool,
    /// The temperature of the liquid, °C.
    liquid: String,
    /// The density from this reading alone.
    density: String,
    /// Why it is left out.
    left_out: Option<String>,
}

/// A reading left out.
#[derive(Debug, Serialize)]
pub(super) struct LeftOut {
    /// Its entry in the run file.
    entry: String,
    /// The same in words, `bath 3, weighing 3`.
    of: String,
    /// The reason.
    why: String,
}

fn density<'a>(material: &'a Material, solution: usize) -> Option<&'a DensityResult> {
    material.reduction.solutions[solution].density.as_ref()
}

fn liquid(material: &Material, own: Option<&Reading>) -> String {
    own.or(material.run.conditions.liquid.as_ref())
        .map(|reading| digits(&reading.value))
        .unwrap_or_default()
}

/// Returns the place of the digit that changes if the last digit of a mass or density that was read changes by one.
fn place_moved(ws: &Worksheet, id: NodeId) -> Option<i32> {
    let read = ws.sensitivities(id).iter();
    let steps = read.filter_map(|&(id, sensitivity)| {
        let place = ws
            .last_place_read(id)
            .filter(|_| [Unit::GRAM, Unit::GRAM_PER_MILLILITRE].contains(ws.node(id).unit))?;
        Some(sensitivity.abs() * 10f64.powi(place))
    });
    let finest = steps.filter(|step| *step > 0.0).min_by(f64::total_cmp)?;
    // One step of 10⁻⁴ is not to be taken for less by an error of the last bit.
    Some((finest.log10() + 1e-9).floor() as i32)
}

/// Returns a density or volume from one weighing or reading, to the digit that a step of the balance or instrument
/// changes.
pub(super) fn single(ws: &Worksheet, id: NodeId) -> String {
    let (value, shown_in) = (ws.value(id), ws.shown_in(id));
    match place_moved(ws, id) {
        Some(place) => shown_in.to_place(value, place),
        None => shown_in.significant(value, 6),
    }
}

/// Returns a density from one weighing or reading: as [`single`], or in its significant figures.
pub(super) fn alone(material: &Material, density: NodeId) -> String {
    let ws = &material.reduction.worksheet;
    match material.results.manner.last_place(density) {
        Some(place) => ws.shown_in(density).to_place(ws.value(density), place),
        None => single(ws, density),
    }
}

/// Returns the weighings of known volumes.
pub(super) fn weighings(material: &Material, marks: &Marks) -> Vec<WeighingShown> {
    let Material { run, reduction, .. } = *material;
    let mut rows = Vec::new();
    for weighings in &run.densities.weighings {
        let Some(density) = &reduction.solutions[weighings.solution.value].density else {
            continue;
        };
        for (i, (read, reduced)) in weighings
            .replicates
            .iter()
            .zip(&density.replicates)
            .enumerate()
        {
            let solution = &run.solutions[weighings.solution.value].name.value;
            rows.push(WeighingShown {
                solution: solution.clone(),
                marks: marks.at(&[format!("weighings.{solution}.{}", i + 1)]),
                number: i + 1,
                empty: digits(&read.empty.value),
                filled: digits(&read.filled.value),
                volume: delivered(&read.volumes),
                liquid: liquid(material, read.liquid.as_ref()),
                density: alone(material, reduced.density),
                left_out: reduced.left_out.clone(),
            });
        }
    }
    rows
}

pub(super) fn cumulative(material: &Material) -> Vec<CumulativeShown> {
    let Material { run, reduction, .. } = *material;
    let ws = &reduction.worksheet;
    let show = |id| ResultShown::new(&material.results.manner.state(ws, id));
    let mut shown = Vec::new();
    for written in &run.densities.cumulative {
        let solution = written.solution.value;
        let Some(found) = density(material, solution) else {
            continue;
        };
        let Some(line) = &found.line else {
            continue;
        };
        // Where nothing is corrected, the slope is the density, of one uncertainty.
        let slope = if ws.is_reading(found.density) {
            found.density
        } else {
            line.slope
        };
        let empty = written
            .empty
            .iter()
            .map(|mass| ("empty".to_owned(), String::new(), mass));
        let deliveries = written.deliveries.iter().enumerate();
        let deliveries =
            deliveries.map(|(i, d)| ((i + 1).to_string(), digits(&d.volume.value), &d.mass));
        let rows = empty.chain(deliveries).zip(&line.points);
        let points = rows.map(|((number, delivered, mass), point)| PointShown {
            number,
            delivered,
            volume: volume(ws, point.volume),
            mass: digits(&mass.value),
            residual: point.residual.map(|r| decimals(1000.0 * r, 2)),
            left_out: point.left_out.clone(),
        });
        shown.push(CumulativeShown {
            solution: reduction.solutions[solution].name.clone(),
            points: points.collect(),
            slope: show(slope),
            intercept: show(line.intercept),
            residual_sd: line.residual_sd.map(|sd| figures(1000.0 * sd, 2)),
            dof: line.dof,
            scattered: line.scatter > 0.0,
            delivery: line.walk.map(|walk| figures(walk.standard_deviation, 2)),
            delivery_dof: line.walk.map(|walk| walk.dof),
        });
    }
    shown
}

/// Returns a volume delivered so far, mL: a sum of readings as these were read, and what was corrected to two digits of
/// its standard uncertainty.
fn volume(ws: &Worksheet, id: NodeId) -> String {
    let value = ws.value(id);
    let place = ws.exact_place(id).or_else(|| {
        let rounded = Rounded::new(value, ws.uncertainty(id).standard, 2);
        Some(rounded?.last_place())
    });
    place
        .and_then(|place| to_place(value, place))
        .unwrap_or_else(|| figures(value, 6))
}

pub(super) fn pycnometer(material: &Material) -> Option<PycnometerShown> {
    let pycnometer = material.run.densities.pycnometer.as_ref()?;
    let water = pycnometer.water.iter().filter(|f| f.left_out.is_none());
    let water = water.map(|filling| write_quantity(&filling.filled.value));
    Some(PycnometerShown {
        empty: write_quantity(&pycnometer.empty.value),
        water: listed(&water.collect::<Vec<_>>()),
        water_liquid: liquid(material, pycnometer.water_liquid.as_ref()),
        fillings: readings(material, DensityMethod::Pycnometer),
    })
}

/// Returns the measurements of one reading each: fillings, or readings of instruments.
pub(super) fn readings(material: &Material, method: DensityMethod) -> Vec<ReadingShown> {
    let Material { run, reduction, .. } = *material;
    let is_filling = method == DensityMethod::Pycnometer;
    let mut shown = Vec::new();
    for measured in run.measurements().filter(|of| of.method() == method) {
        let solution = measured.solution().map(|solution| solution.value);
        let found = solution.and_then(|of| Some((of, density(material, of)?)));
        let Some((solution, density)) = found else {
            continue;
        };
        let singles = measured.singles().into_iter();
        for (i, (single, reduced)) in singles.zip(&density.replicates).enumerate() {
            let (read, with) = single.readings[0];
            let with = with.filter(|_| !is_filling);
            let with = with.map(|with| &run.apparatus[with.value]);
            let shows = if is_filling { digits } else { write_quantity };
            shown.push(ReadingShown {
                solution: reduction.solutions[solution].name.clone(),
                number: i + 1,
                read: shows(&read.value),
                with: with.map(|with| with.name.value.clone()),
                converted: is_filling || with.is_some_and(|with| with.scale.is_some()),
                liquid: liquid(material, single.liquid),
                density: alone(material, reduced.density),
                left_out: reduced.left_out.clone(),
            });
        }
    }
    shown
}

/// Returns everything left out of the densities, with the reasons.
pub(super) fn left_out(material: &Material) -> Vec<LeftOut> {
    let run = material.run;
    let name = |solution: &Ref| run.solutions[solution.value].name.value.as_str();
    let mut all = Vec::new();
    for measured in run.measurements() {
        let (of, single) = (measured.solution(), measured.method().single());
        let of = of.map_or("pycnometer with water", name);
        let singles = measured.singles().into_iter().enumerate();
        all.extend(singles.filter_map(|(i, one)| {
            Some(LeftOut {
                entry: one.entry.name.clone(),
                of: format!("{of}, {single} {}", i + 1),
                why: one.left_out?.value.clone(),
            })
        }));
    }
    all
}
