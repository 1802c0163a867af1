//! A density as the slope of mass against volume: successive deliveries into one vessel, without taring.
//!
//! The volumes add up, and with them the pipette's own error, once for each delivery, and each delivery's own. All these
//! are known to the generalised fit by their sources, so that no covariance is left out.
//!
//! Where the scatter of a delivery is not stated, the increments of mass tell it: what they scatter by is taken as scatter of
//! the deliveries, each of which stays in the vessel, so that the errors of the volumes are those of a random walk. The
//! scatter of the masses themselves is in the increments too and is not taken off: with a handful of increments, the
//! difference of the two variances is too poor an estimate (it holds the truth in 80 to 90 % where the two are alike), while
//! the whole is on the safe side. Where it is stated and the points scatter about the line by more than the errors of
//! readings and deliveries explain, those errors are taken as larger by the root of χ² over its degrees of freedom (R. T.
//! Birge, Phys. Rev. 40 (1932) 207–227); what is added is of type A.

use crate::bench::fit::{self, Method, Model};
use crate::bench::quantity::Unit;
use crate::bench::reference::weighing;
use crate::bench::runfile::model::{Cumulative, DensityMethod, Reading};
use crate::bench::worksheet::{Component, Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::Code;

use super::calibration::{CalibrationPoint, coefficients, numbered_points};
use super::density::{CumulativePoint, CumulativeResult, DensityResult, Walk};
use super::instruments::{Instruments, Repeatability, at_temperature};

impl Walk {
    /// From the readings that count: each increment of mass less the mean slope times its volume, squared and divided by
    /// the number of its deliveries; `None` if fewer than two increments are left.
    fn estimate(deliveries: &Cumulative) -> Option<Self> {
        let (mut so_far, mut count) = (0.0, 0.0);
        let empty = deliveries.empty.iter().map(|m| (0.0, 0.0, m.value.value));
        let mut read: Vec<(f64, f64, f64)> = empty.collect();
        for delivery in &deliveries.deliveries {
            so_far += delivery.volume.value.value;
            count += 1.0;
            if delivery.left_out.is_none() {
                read.push((count, so_far, delivery.mass.value.value));
            }
        }
        let (first, last) = (*read.first()?, *read.last()?);
        let dof = read.len().checked_sub(2).filter(|dof| *dof > 0)?;
        let slope = (last.2 - first.2) / (last.1 - first.1);
        let squares: f64 = read
            .windows(2)
            .map(|pair| {
                let (from, to) = (pair[0], pair[1]);
                ((to.2 - from.2) - slope * (to.1 - from.1)).powi(2) / (to.0 - from.0)
            })
            .sum();
        Some(Self {
            standard_deviation: (squares / dof as f64).sqrt() / slope,
            dof,
        })
    }
}

/// Reduces the deliveries of a solution; none, with a problem noted, where no line can be found or a temperature is missing.
pub(super) fn density(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    deliveries: &Cumulative,
) -> Option<DensityResult> {
    let run = instruments.run;
    let name = &run.solutions[deliveries.solution.value].name.value;
    let liquid = instruments.liquid(ws, deliveries.liquid.as_ref(), name)?;
    let all_stated = deliveries.deliveries.iter().all(|d| states_own(&d.volume));
    let told = deliveries
        .pipette
        .as_ref()
        .map(|p| instruments.delivery(p.value));
    let walk = Walk::estimate(deliveries).filter(|_| !all_stated && matches!(told, Some(None)));
    let (mut points, own) = points(ws, instruments, deliveries, (name, liquid), walk);
    let used: Vec<CalibrationPoint> = points
        .iter()
        .filter(|point| point.left_out.is_none())
        .map(|point| CalibrationPoint {
            solution: deliveries.solution.value,
            x: point.volume,
            y: point.mass,
        })
        .collect();
    let fitted = match fit::fit(
        &numbered_points(ws, &used),
        Model::Straight,
        Method::Generalised,
    ) {
        Ok(fitted) => fitted,
        Err(failure) => {
            let entry = &deliveries.entry;
            let headline = format!("No slope of mass against volume can be found: {failure}.");
            instruments.problems.push(
                Code::NoSlope
                    .error(headline)
                    .at_entry(entry)
                    .right("several deliveries of known volume, each with its mass"),
            );
            return None;
        }
    };
    let mut residuals = fitted.residuals.iter();
    for point in points.iter_mut().filter(|point| point.left_out.is_none()) {
        point.residual = residuals.next().copied();
    }
    let titles = [
        (
            "vessel mass from the fit",
            Symbol::new("m", "0", name),
            &Unit::GRAM,
        ),
        (
            "slope of mass against volume",
            Symbol::labelled("ρ'", name),
            &Unit::GRAM_PER_MILLILITRE,
        ),
    ];
    let titles =
        titles.map(|(what, symbol, unit)| Title::new(format!("{what}, {name}"), symbol, unit));
    let found = coefficients(ws, &used, &fitted, titles.into_iter());
    let (intercept, fitted_slope) = (*found.first()?, *found.get(1)?);
    let chi_squared = fitted.chi_squared.unwrap_or_default();
    let scatter = match walk {
        Some(_) => 0.0,
        None => excess(ws, fitted_slope, &own, chi_squared, fitted.dof),
    };
    let slope = scattered(ws, name, fitted_slope, scatter, fitted.dof);
    let apparent = Expr::from(slope);
    let by = instruments.buoyancy(ws);
    let density = weighing::density_from_apparent(apparent, by.air, by.weights);
    let title = Title::new(
        format!("density of {name}"),
        Symbol::labelled("ρ", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    Some(DensityResult {
        stated_deviation: None,
        rests_on_spread: false,
        alike: false,
        entry: deliveries.entry.name.clone(),
        replicates: Vec::new(),
        used: used.len(),
        standard_deviation: None,
        density: ws.calculate(title, density),
        liquid,
        at_reference: None,
        in_line: None,
        method: DensityMethod::Cumulative,
        line: Some(CumulativeResult {
            points,
            intercept,
            fitted_slope,
            slope,
            walk,
            residual_sd: (fitted.dof > 0).then_some(fitted.residual_sd),
            dof: fitted.dof,
            chi_squared,
            scatter,
        }),
    })
}

fn states_own(reading: &Reading) -> bool {
    reading.value.standard_uncertainty.is_some()
}

/// Returns a slope with what the points scatter beyond their errors, of that standard uncertainty in g/mL.
fn scattered(ws: &mut Worksheet, name: &str, slope: NodeId, scatter: f64, dof: usize) -> NodeId {
    if scatter <= 0.0 {
        return slope;
    }
    let component = Component::sampled("scatter about the line", scatter, dof as f64);
    let title = Title::new(
        format!("scatter of the masses of {name} about the line"),
        Symbol::labelled("ε", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let error = ws.unseen(title, vec![component]);
    let title = Title::new(
        format!("slope of mass against volume with its scatter, {name}"),
        Symbol::labelled("ρ'", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    ws.calculate(title, Expr::from(slope) + error)
}

/// Returns the points, and the inputs whose errors differ from point to point, in the order of the worksheet.
fn points(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    deliveries: &Cumulative,
    (name, liquid): (&str, NodeId),
    walk: Option<Walk>,
) -> (Vec<CumulativePoint>, Vec<NodeId>) {
    let mut own = Vec::new();
    // One estimate of variance behind the errors of all deliveries.
    let walk = walk.map(|walk| {
        Component::sampled(
            "scatter of the increments",
            walk.standard_deviation,
            walk.dof as f64,
        )
        .with_estimate(ws.estimate())
    });
    let mut points = Vec::with_capacity(deliveries.deliveries.len() + 1);
    let balance = deliveries.balance.as_ref();
    let pipette = deliveries.pipette.as_ref();
    let weigh = |ws: &mut Worksheet, instruments: &mut Instruments, i: usize, reading: &Reading| {
        let titled = |mark: &str| {
            Title::new(
                format!("vessel after delivery {i} of {name}"),
                Symbol::labelled(&*format!("m{mark}"), Label::from(name).numbered(i)),
                &Unit::GRAM,
            )
        };
        let stated = Repeatability::Stated;
        let (id, mass) = instruments.mass(ws, titled(""), reading, balance, stated);
        if mass == Expr::from(id) {
            return (id, id);
        }
        (id, ws.calculate(titled("'"), mass))
    };
    let mut so_far: Option<NodeId> = None;
    if let Some(empty) = &deliveries.empty {
        let title = Title::new(
            format!("volume before the first delivery of {name}"),
            Symbol::labelled("V", Label::from(name).numbered(0)),
            &Unit::MILLILITRE,
        );
        let volume = ws.quoted(title, "0", Vec::new());
        let (read, mass) = weigh(ws, instruments, 0, empty);
        own.push(read);
        points.push(CumulativePoint {
            volume,
            mass,
            residual: None,
            left_out: None,
        });
    }
    for (i, delivery) in deliveries.deliveries.iter().enumerate() {
        let label = Label::from(name).numbered(i + 1);
        let title = Title::new(
            format!("delivery {} of {name}", i + 1),
            Symbol::new("V", "d", &label),
            &Unit::MILLILITRE,
        );
        let (id, volume) =
            instruments.volume(ws, title, &delivery.volume, pipette, Repeatability::Stated);
        own.push(id);
        let volume = match walk.clone().filter(|_| !states_own(&delivery.volume)) {
            Some(scatter) => {
                let title = Title::new(
                    format!("scatter of delivery {} of {name}", i + 1),
                    Symbol::new("ε", "d", &label),
                    &Unit::MILLILITRE,
                );
                volume + ws.unseen(title, vec![scatter])
            }
            None => volume,
        };
        let expanded = instruments.expanded(ws, pipette, Some(liquid));
        let volume = at_temperature(volume, expanded);
        let title = Title::new(
            format!("volume after delivery {} of {name}", i + 1),
            Symbol::labelled("V", &label),
            &Unit::MILLILITRE,
        );
        let total = match so_far {
            Some(before) => Expr::Sum(vec![before.into(), volume]),
            None => volume,
        };
        let volume = ws.calculate(title, total);
        so_far = Some(volume);
        let (read, mass) = weigh(ws, instruments, i + 1, &delivery.mass);
        own.push(read);
        points.push(CumulativePoint {
            volume,
            mass,
            residual: None,
            left_out: delivery.left_out.as_ref().map(|why| why.value.clone()),
        });
    }
    (points, own)
}

/// Returns the standard uncertainty of a slope that its scatter shows beyond what the points' own errors explain.
fn excess(ws: &Worksheet, slope: NodeId, own: &[NodeId], chi_squared: f64, dof: usize) -> f64 {
    if dof == 0 {
        return 0.0;
    }
    let variance: f64 = ws
        .influences(slope)
        .iter()
        .filter(|(id, _)| own.binary_search(id).is_ok())
        .map(|(_, part)| part * part)
        .sum();
    (variance * (chi_squared / dof as f64 - 1.0).max(0.0)).sqrt()
}
