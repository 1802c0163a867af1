//! The density of each solution from the weighings of a known volume.

use std::collections::BTreeSet;

use crate::bench::fit::standard_deviation;
use crate::bench::quantity::Unit;
use crate::bench::runfile::model::{DensityMethod, Replicate, Weighings};
use crate::bench::worksheet::{Component, Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::maths::Math;

use super::instruments::{Instruments, Repeatability, at_temperature};
use super::one_empty::OneEmpty;
use super::reference_temperature::AtReference;
use super::replicates::{self, ReplicateResult};
use super::spread::{Kind, Liquid, Sample, Spread};

/// The density of a solution.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityResult {
    /// How it was found.
    pub method: DensityMethod,
    /// The line of mass on volume whose slope it is; none by the other ways.
    pub line: Option<CumulativeResult>,
    /// The entry of all of it in the run file.
    pub entry: String,
    /// The densities by each weighing or reading alone in the order of the run file, those left out among them; none where
    /// it is a slope.
    pub replicates: Vec<ReplicateResult>,
    /// How many are used: of the replicates, or of the points of the slope.
    pub used: usize,
    /// Standard deviation of those used, g/mL; `None` for one alone.
    pub standard_deviation: Option<f64>,
    /// Standard deviation of one of those used as the instruments state it, g/mL; `None` if one states none, or they are no
    /// weighings of a known volume.
    pub stated_deviation: Option<f64>,
    /// Whether its uncertainty includes an estimated standard deviation of single densities; not for a slope, nor where the
    /// instruments' statements suffice.
    pub rests_on_spread: bool,
    /// Whether those used scatter by less than rounding to the step of the instruments alone would make them.
    pub alike: bool,
    /// The density: the mean, g/mL.
    pub density: NodeId,
    /// The mean temperature of the liquid, °C.
    pub liquid: NodeId,
    /// The density brought to the reference temperature, where the run asks for one and the composition is known.
    pub at_reference: Option<AtReference>,
    /// The density as it enters a calibration line of liquids at temperatures apart from each other, g/mL: the same, with
    /// what it lacks for its temperature as its bias.
    pub in_line: Option<NodeId>,
}

/// The line of mass on volume.
#[derive(Debug, Clone, PartialEq)]
pub struct CumulativeResult {
    /// Its points in the order of the run file, those left out among them; the vessel empty first, if it was read.
    pub points: Vec<CumulativePoint>,
    /// The vessel by the line, g.
    pub intercept: NodeId,
    /// The slope that the fit finds, g/mL.
    pub fitted_slope: NodeId,
    /// The slope as the balance shows it, g/mL: the same, with what the points scatter beyond their errors.
    pub slope: NodeId,
    /// How one delivery scatters by the increments, where it is not stated.
    pub walk: Option<Walk>,
    /// Standard deviation of the masses about the line, g; none without degrees of freedom.
    pub residual_sd: Option<f64>,
    /// Degrees of freedom of the residuals.
    pub dof: usize,
    /// Observed χ² against the errors stated.
    pub chi_squared: f64,
    /// Standard uncertainty that the scatter adds to the slope, g/mL; 0 where the stated errors explain it.
    pub scatter: f64,
}

/// How deliveries scatter, by the increments of mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Walk {
    /// Standard deviation of a delivery, mL.
    pub standard_deviation: f64,
    /// Its degrees of freedom.
    pub dof: usize,
}

/// A point of the line.
#[derive(Debug, Clone, PartialEq)]
pub struct CumulativePoint {
    /// Volume delivered so far, mL.
    pub volume: NodeId,
    /// What the balance showed, g.
    pub mass: NodeId,
    /// Mass measured less mass by the line, g; `None` for a point left out.
    pub residual: Option<f64>,
    /// Why it is left out, if it is.
    pub left_out: Option<String>,
}

/// The densities by weighings, fillings or readings of a solution alone.
pub(super) struct Measured {
    /// The solution, an index into the run's solutions.
    pub(super) solution: usize,
    pub(super) method: DensityMethod,
    pub(super) kind: Kind,
    pub(super) replicates: Vec<ReplicateResult>,
}

impl DensityResult {
    /// Returns the density that is set against composition, g/mL.
    pub fn compared(&self) -> NodeId {
        let at_reference = self.at_reference.map(|at| at.density);
        at_reference.or(self.in_line).unwrap_or(self.density)
    }
}

/// Reduces the weighings of a solution one by one; `None` if a temperature is missing. The spread of others shows how
/// those of the kinds `seen` scatter.
pub(super) fn weigh(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    weighings: &Weighings,
    seen: &BTreeSet<Kind>,
) -> Option<Vec<ReplicateResult>> {
    let run = instruments.run;
    let name = &run.solutions[weighings.solution.value].name.value;
    let kind = Kind::among(weighings, seen);
    let repeatability = if seen.contains(&kind) {
        Repeatability::SeenInSpread
    } else {
        Repeatability::choose(
            weighings.replicates.iter().map(|r| r.left_out.as_ref()),
            Repeatability::Single,
        )
    };
    // One reading of the vessel does not scatter, and its repeatability is seen in no spread.
    let of_empty = if kind.has_one_empty() {
        Repeatability::Stated
    } else {
        repeatability
    };
    let several = weighings.replicates.len() > 1;
    let mut one_empty = OneEmpty::new(weighings);
    let mut replicates = Vec::with_capacity(weighings.replicates.len());
    for (i, replicate) in weighings.replicates.iter().enumerate() {
        let (label, spoken) = numbered(name, "weighing", several.then_some(i));
        let balance = replicate.balance.as_ref();
        let pipette = replicate.pipette.as_ref();
        let title = |what: &str, (letter, kind): (&str, &'static str), unit| {
            Title::new(
                format!("{what}, {spoken}"),
                Symbol::new(letter, kind, &label),
                unit,
            )
        };
        let at = instruments.liquid(ws, replicate.liquid.as_ref(), &label)?;
        let (empty, true_empty) = match &mut one_empty {
            Some(one) if one.is(&replicate.empty, balance) => {
                let title = Title::new(
                    format!("vessel empty, {name}"),
                    Symbol::new("m", "e", name),
                    &Unit::GRAM,
                );
                let read = || instruments.mass(ws, title, &replicate.empty, balance, of_empty);
                one.found.get_or_insert_with(read).clone()
            }
            _ => {
                let title = title("vessel empty", ("m", "e"), &Unit::GRAM);
                instruments.mass(ws, title, &replicate.empty, balance, of_empty)
            }
        };
        let (filled, true_filled) = instruments.mass(
            ws,
            title("vessel filled", ("m", "f"), &Unit::GRAM),
            &replicate.filled,
            balance,
            repeatability,
        );
        let names = (&label, spoken.as_str());
        let (delivered, volume) = deliver(ws, instruments, replicate, names, repeatability);
        let expanded = instruments.expanded(ws, pipette, Some(at));
        let true_volume = at_temperature(volume, expanded);
        let formula = instruments.density_of(ws, true_filled - true_empty, true_volume);
        let density = ws.calculate(
            title("density", ("ρ", ""), &Unit::GRAM_PER_MILLILITRE),
            formula,
        );
        let mut readings = vec![(filled, &replicate.filled, balance)];
        if !kind.has_one_empty() {
            readings.push((empty, &replicate.empty, balance));
        }
        let volumes = delivered.iter().zip(&replicate.volumes);
        readings.extend(volumes.map(|(id, volume)| (*id, volume, pipette)));
        let variation = replicates::variation(ws, run, density, &readings);
        replicates.push(ReplicateResult {
            entry: replicate.entry.name.clone(),
            liquid: at,
            density,
            variation,
            left_out: replicate
                .left_out
                .as_ref()
                .map(|reason| reason.value.clone()),
        });
    }
    Some(replicates)
}

/// Returns the deliveries of a weighing, and the volume delivered; the pipette's own error enters once for each
/// delivery, always the same.
fn deliver(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    replicate: &Replicate,
    (label, spoken): (&Label, &str),
    repeatability: Repeatability,
) -> (Vec<NodeId>, Expr) {
    let several = replicate.volumes.len() > 1;
    let (mut ids, mut volumes) = (Vec::new(), Vec::new());
    for (i, volume) in replicate.volumes.iter().enumerate() {
        let (label, spoken) = if several {
            let n = i + 1;
            (label.numbered(n), format!("{spoken}, delivery {n}"))
        } else {
            (label.clone(), spoken.to_owned())
        };
        let (id, volume) = instruments.volume(
            ws,
            Title::new(
                format!("volume delivered, {spoken}"),
                // Not to be taken for the volume that the solution was made up to.
                Symbol::new("V", "d", &label),
                &Unit::MILLILITRE,
            ),
            volume,
            replicate.pipette.as_ref(),
            repeatability,
        );
        ids.push(id);
        volumes.push(volume);
    }
    let whole = match volumes.as_slice() {
        [only] => only.clone(),
        _ => Expr::Sum(volumes),
    };
    (ids, whole)
}

/// Returns a solution's name as a subscript and in words, with the number of one of several weighings or readings.
pub(super) fn numbered(name: &str, what: &str, index: Option<usize>) -> (Label, String) {
    match index {
        Some(i) => (
            Label::from(name).numbered(i + 1),
            format!("{name}, {what} {}", i + 1),
        ),
        None => (name.into(), name.to_owned()),
    }
}

/// Returns those of some weighings or readings that count.
pub(super) fn select_counted(replicates: &[ReplicateResult]) -> Vec<&ReplicateResult> {
    replicates.iter().filter(|r| r.left_out.is_none()).collect()
}

/// Returns what the weighings or readings of a liquid tell of their spread.
pub(super) fn sample(
    ws: &Worksheet,
    of: Liquid,
    kind: Kind,
    replicates: &[ReplicateResult],
) -> Sample {
    let kept = select_counted(replicates);
    Sample {
        of,
        kind,
        densities: replicates::densities(ws, replicates),
        stated: replicates::stated(&kept),
        resolution: replicates::root_mean_square(kept.iter().map(|r| r.variation.resolution)),
    }
}

/// Returns the density of a solution from its weighings or readings; `None` if all are left out. Their error beyond
/// that of the single readings is told by the spread among `spreads` that serves the solution, if one does.
pub(super) fn combine(
    ws: &mut Worksheet,
    (solution, name): (usize, &str),
    method: DensityMethod,
    replicates: Vec<ReplicateResult>,
    spreads: &[Spread],
) -> Option<DensityResult> {
    let kept = select_counted(&replicates);
    if kept.is_empty() {
        return None;
    }
    let serving = |spread: &&Spread| spread.serves.contains(&Liquid::Solution(solution));
    let spread = spreads.iter().find(serving);
    let standard_deviation =
        (kept.len() > 1).then(|| standard_deviation(&replicates::densities(ws, &replicates)));
    let mut alike = false;
    let density = match spread {
        Some(spread) => {
            let components = replicates::of_mean(spread, &kept);
            alike = kept.len() > 1 && components.len() > 1;
            let (mean, error) = mean_with_spread(ws, name, &kept, components);
            let title = Title::new(
                format!("density of {name}"),
                Symbol::labelled(Math::from("ρ").bar(), name),
                &Unit::GRAM_PER_MILLILITRE,
            );
            ws.calculate(title, mean + error)
        }
        None => kept[0].density,
    };
    // Flags judge the weighings by it.
    let is_weighed = method == DensityMethod::Weighings;
    let stated_deviation = is_weighed.then(|| replicates::stated(&kept)).flatten();
    let liquid = mean_temperature(ws, name, &kept);
    Some(DensityResult {
        method,
        line: None,
        entry: format!("{}.{name}", method.section()),
        at_reference: None,
        in_line: None,
        used: kept.len(),
        standard_deviation,
        stated_deviation,
        rests_on_spread: spread.is_some(),
        alike,
        density,
        liquid,
        replicates,
    })
}

/// Returns the mean of the densities, and the error of that mean.
fn mean_with_spread(
    ws: &mut Worksheet,
    name: &str,
    kept: &[&ReplicateResult],
    components: Vec<Component>,
) -> (Expr, NodeId) {
    let title = Title::new(
        format!("density scatter of {name}"),
        Symbol::labelled("ε", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let error = ws.unseen(title, components);
    (
        match kept {
            [only] => Expr::Sum(vec![only.density.into()]),
            many => Expr::mean(many.iter().map(|r| r.density.into()).collect()),
        },
        error,
    )
}

/// Returns the temperature that a mean density belongs to: the one all share, or their mean.
fn mean_temperature(ws: &mut Worksheet, name: &str, kept: &[&ReplicateResult]) -> NodeId {
    let first = kept[0].liquid;
    if kept.iter().all(|r| r.liquid == first) {
        return first;
    }
    let title = Title::new(
        format!("mean temperature of {name}"),
        Symbol::labelled(Math::from("t").bar(), name),
        &Unit::CELSIUS,
    );
    ws.calculate(
        title,
        Expr::mean(kept.iter().map(|r| r.liquid.into()).collect()),
    )
}
