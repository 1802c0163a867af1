//! The density of each solution from the weighings of a known volume.

use crate::runfile::model::{ReplicateSpread, RunFile, Weighings};
use crate::worksheet::{Component, Expr, Input, NodeId, Title, Worksheet};

use super::cumulative::CumulativeResult;
use super::instruments::{Instruments, Repeatability, at_temperature};
use super::reference_temperature::AtReference;
use super::replicates::{self, Pooled, Variation, spread};
use super::{sub, sub_kind};

/// A density by one weighing or reading alone.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplicateResult {
    /// Its entry in the run file.
    pub entry: String,
    /// The temperature of the liquid, °C.
    pub liquid: NodeId,
    /// The density by this weighing alone, g/mL.
    pub density: NodeId,
    /// What balance and ware state of how it varies from weighing to weighing.
    pub variation: Variation,
    /// Why it is left out, if it is.
    pub left_out: Option<String>,
}

/// How a density was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// By weighing a known volume.
    Weighed,
    /// As the slope of mass on volume.
    Cumulative(CumulativeResult),
    /// With a pycnometer.
    Pycnometer,
    /// Read from an instrument.
    Read,
}

/// The density of a solution.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityResult {
    /// How it was found.
    pub way: Way,
    /// The entry of all of it in the run file.
    pub entry: String,
    /// The densities by each weighing or reading alone in the order of the run file, those left out among them; none where
    /// it is a slope.
    pub replicates: Vec<ReplicateResult>,
    /// How many are used: of the replicates, or of the points of the slope.
    pub used: usize,
    /// Standard deviation of those used, g/mL; none for one alone.
    pub standard_deviation: Option<f64>,
    /// Standard deviation of one of those used as the instruments state it, g/mL; none where one states none.
    pub stated_deviation: Option<f64>,
    /// Whether those used scatter by less than rounding to the step of the instruments alone would make them.
    pub alike: bool,
    /// The density: the mean, g/mL.
    pub density: NodeId,
    /// The mean temperature of the liquid, °C.
    pub liquid: NodeId,
    /// The density brought to the reference temperature, where the run asks for one and the composition is known.
    pub at_reference: Option<AtReference>,
}

impl DensityResult {
    /// The density that is set against composition, g/mL.
    #[must_use]
    pub fn compared(&self) -> NodeId {
        self.at_reference.map_or(self.density, |at| at.density)
    }
}

/// Reduces the weighings of a solution one by one; none where a temperature is missing.
pub(super) fn weigh(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    run: &RunFile,
    weighings: &Weighings,
) -> Option<Vec<ReplicateResult>> {
    let name = &run.solutions[weighings.solution.value].name.value;
    let repeatability = match run.replicate_spread {
        ReplicateSpread::Pooled => Repeatability::SeenInSpread,
        ReplicateSpread::Own => {
            Repeatability::of(weighings.replicates.iter().map(|r| r.left_out.as_ref()))
        }
    };
    let several = weighings.replicates.len() > 1;
    let mut replicates = Vec::with_capacity(weighings.replicates.len());
    for (i, replicate) in weighings.replicates.iter().enumerate() {
        let (label, spoken) = numbered(name, "weighing", several.then_some(i));
        let balance = replicate.balance.as_ref();
        let title = |what: &str, symbol: &str, unit| {
            Title::new(format!("{what}, {spoken}"), sub(symbol, &label), unit)
        };
        let at = instruments.liquid(ws, replicate.liquid.as_ref(), &label)?;
        let empty = instruments.mass(
            ws,
            title("vessel empty", "e", "g"),
            &replicate.empty,
            balance,
            repeatability,
        );
        let filled = instruments.mass(
            ws,
            title("vessel filled", "f", "g"),
            &replicate.filled,
            balance,
            repeatability,
        );
        let (volume, true_volume) = instruments.volume(
            ws,
            Title::new(
                format!("volume delivered, {spoken}"),
                // Not to be taken for the volume that the solution was made up to.
                sub_kind("V", "d", &label),
                "mL",
            ),
            &replicate.volume,
            replicate.pipette.as_ref(),
            repeatability,
        );
        let expanded = instruments.expanded(ws, replicate.pipette.as_ref(), Some(at));
        let true_volume = at_temperature(true_volume, expanded);
        let formula = instruments.density_of(ws, Expr::from(filled) - empty, true_volume);
        let density = ws.calculate(title("density", "\\rho", "g/mL"), formula);
        let readings = [
            (empty, &replicate.empty, balance),
            (filled, &replicate.filled, balance),
            (volume, &replicate.volume, replicate.pipette.as_ref()),
        ];
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

/// A solution's name as a subscript and in words, with the number of one of several weighings or readings.
pub(super) fn numbered(name: &str, what: &str, index: Option<usize>) -> (String, String) {
    match index {
        Some(i) => (
            format!("{name},{}", i + 1),
            format!("{name}, {what} {}", i + 1),
        ),
        None => (name.to_owned(), name.to_owned()),
    }
}

/// The density of a solution from its weighings or readings; none where all are left out. Without a pooled spread, their
/// own tells the error of their mean.
pub(super) fn combine(
    ws: &mut Worksheet,
    name: &str,
    way: Way,
    entry: &str,
    replicates: Vec<ReplicateResult>,
    pooled: Option<&Pooled>,
) -> Option<DensityResult> {
    let kept: Vec<&ReplicateResult> = replicates.iter().filter(|r| r.left_out.is_none()).collect();
    if kept.is_empty() {
        return None;
    }
    let standard_deviation =
        (kept.len() > 1).then(|| spread(&replicates::densities(ws, &replicates)));
    let found = pooled.map_or(standard_deviation, |pooled| Some(pooled.standard_deviation));
    let spread = pooled.map_or_else(
        || own_spread(standard_deviation, kept.len()),
        |pooled| Some(pooled.component(kept.len())),
    );
    let mut alike = false;
    let density = match found.zip(spread) {
        Some((found, spread)) => {
            let components = replicates::of_mean(found, spread, &kept);
            alike = kept.len() > 1 && components.len() > 1;
            let (mean, error) = mean_with_spread(ws, name, &kept, components);
            let title = Title::new(
                format!("density of {name}"),
                sub("\\overline{\\rho}", name),
                "g/mL",
            );
            ws.calculate(title, mean + error)
        }
        None => kept[0].density,
    };
    let stated = kept.iter().map(|r| r.variation.standard_deviation);
    let stated_deviation = stated
        .map(|sd| sd.map(|sd| sd * sd))
        .sum::<Option<f64>>()
        .map(|squares| (squares / kept.len() as f64).sqrt());
    let liquid = mean_temperature(ws, name, &kept);
    Some(DensityResult {
        way,
        entry: entry.to_owned(),
        at_reference: None,
        used: kept.len(),
        standard_deviation,
        stated_deviation,
        alike,
        density,
        liquid,
        replicates,
    })
}

/// The error of the mean of some weighings as their own spread shows it (type A, JCGM 100:2008, 4.2.3).
fn own_spread(standard_deviation: Option<f64>, count: usize) -> Option<Component> {
    let count = count as f64;
    let standard = standard_deviation? / count.sqrt();
    Some(Component::sampled(
        "spread of replicates",
        standard,
        count - 1.0,
    ))
}

/// The mean of the densities, and the error of that mean.
fn mean_with_spread(
    ws: &mut Worksheet,
    name: &str,
    kept: &[&ReplicateResult],
    components: Vec<Component>,
) -> (Expr, NodeId) {
    let input = Input {
        origin: String::new(),
        digits: None,
        figures: None,
        components,
        unseen: true,
    };
    let title = Title::new(
        format!("spread of the replicates of {name}"),
        sub("\\varepsilon", name),
        "g/mL",
    );
    let error = ws.input(title, 0.0, input);
    (
        match kept {
            [only] => Expr::Sum(vec![only.density.into()]),
            many => Expr::mean(many.iter().map(|r| r.density.into()).collect()),
        },
        error,
    )
}

/// The temperature that a mean density belongs to: the one all share, or their mean.
fn mean_temperature(ws: &mut Worksheet, name: &str, kept: &[&ReplicateResult]) -> NodeId {
    let first = kept[0].liquid;
    if kept.iter().all(|r| r.liquid == first) {
        return first;
    }
    let title = Title::new(
        format!("mean temperature of {name}"),
        sub("\\overline{t}", name),
        "°C",
    );
    ws.calculate(
        title,
        Expr::mean(kept.iter().map(|r| r.liquid.into()).collect()),
    )
}
