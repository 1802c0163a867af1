//! The density of each solution from the weighings of a known volume.

use crate::runfile::model::{Replicate, ReplicateSpread, RunFile, Weighings};
use crate::worksheet::{Component, Expr, Input, NodeId, Title, Worksheet};

use super::instruments::{Instruments, Repeatability};
use super::replicates::{self, Pooled, Variation, spread};
use super::{sub, sub_kind};

/// A weighing of a known volume, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplicateResult {
    /// Its entry in the run file.
    pub entry: String,
    /// The vessel empty, g.
    pub empty: NodeId,
    /// The vessel filled, g.
    pub filled: NodeId,
    /// The volume as read, mL.
    pub volume: NodeId,
    /// The temperature of the liquid, °C.
    pub liquid: NodeId,
    /// The density by this weighing alone, g/mL.
    pub density: NodeId,
    /// What balance and ware state of how it varies from weighing to weighing.
    pub variation: Variation,
    /// Why it is left out, if it is.
    pub left_out: Option<String>,
}

/// The density of a solution.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityResult {
    /// Its weighings in the order of the run file, those left out among them.
    pub replicates: Vec<ReplicateResult>,
    /// How many are used.
    pub used: usize,
    /// Standard deviation of those used, g/mL; none for one alone.
    pub standard_deviation: Option<f64>,
    /// The same of one weighing as balance and ware state it, g/mL; none where one states none.
    pub stated_deviation: Option<f64>,
    /// The density: the mean, g/mL.
    pub density: NodeId,
    /// The mean temperature of the liquid, °C.
    pub liquid: NodeId,
}

/// Temperatures of the liquid, put on the worksheet once however many weighings share the bench's.
struct Liquid {
    bench: Option<NodeId>,
}

impl Liquid {
    /// The temperature of a weighing; none where neither it nor the conditions state one.
    fn of(
        &mut self,
        ws: &mut Worksheet,
        instruments: &mut Instruments,
        run: &RunFile,
        replicate: &Replicate,
        label: &str,
    ) -> Option<NodeId> {
        let thermometer = run.conditions.thermometer.as_ref();
        if let Some(reading) = &replicate.liquid {
            let title = Title::new(format!("temperature of {label}"), sub("t", label), "°C");
            return Some(instruments.temperature(ws, title, reading, thermometer));
        }
        if self.bench.is_none() {
            let reading = run.conditions.liquid.as_ref()?;
            let title = Title::new("temperature of the liquids", "t", "°C");
            self.bench = Some(instruments.temperature(ws, title, reading, thermometer));
        }
        self.bench
    }
}

/// The densities of all solutions weighed, by their places in the run, and the spread pooled for them if it is to be.
pub(super) fn all(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    run: &RunFile,
) -> (Vec<Option<DensityResult>>, Option<Pooled>) {
    let mut liquid = Liquid { bench: None };
    let mut weighed = Vec::with_capacity(run.weighings.len());
    for weighings in &run.weighings {
        let replicates = weigh(ws, instruments, &mut liquid, run, weighings);
        weighed.extend(replicates.map(|replicates| (weighings.solution.value, replicates)));
    }
    let pooled = match run.replicate_spread {
        ReplicateSpread::Own => None,
        ReplicateSpread::Pooled => Pooled::of(ws, weighed.iter().map(|(_, r)| r.as_slice())),
    };
    let mut densities: Vec<Option<DensityResult>> = run.solutions.iter().map(|_| None).collect();
    for (solution, replicates) in weighed {
        let name = &run.solutions[solution].name.value;
        densities[solution] = combine(ws, name, replicates, pooled.as_ref());
    }
    (densities, pooled)
}

/// Reduces the weighings of a solution one by one; none where a temperature is missing.
fn weigh(
    ws: &mut Worksheet,
    instruments: &mut Instruments,
    liquid: &mut Liquid,
    run: &RunFile,
    weighings: &Weighings,
) -> Option<Vec<ReplicateResult>> {
    let name = &run.solutions[weighings.solution.value].name.value;
    let pooled = run.replicate_spread == ReplicateSpread::Pooled;
    let repeatability = if pooled || weighings.counted() > 1 {
        Repeatability::SeenInSpread
    } else {
        Repeatability::Stated
    };
    let several = weighings.replicates.len() > 1;
    let mut replicates = Vec::with_capacity(weighings.replicates.len());
    for (i, replicate) in weighings.replicates.iter().enumerate() {
        let label = if several {
            format!("{name},{}", i + 1)
        } else {
            name.clone()
        };
        let spoken = if several {
            format!("{name}, weighing {}", i + 1)
        } else {
            name.clone()
        };
        let balance = replicate.balance.as_ref();
        let title = |what: &str, symbol: &str, unit| {
            Title::new(format!("{what}, {spoken}"), sub(symbol, &label), unit)
        };
        let at = liquid.of(ws, instruments, run, replicate, &label)?;
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
        let formula = (Expr::from(filled) - empty) / true_volume;
        let density = ws.calculate(title("density", "\\rho", "g/mL"), formula);
        let variation = replicates::variation(ws, run, replicate, density, [empty, filled, volume]);
        replicates.push(ReplicateResult {
            entry: replicate.entry.name.clone(),
            empty,
            filled,
            volume,
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

/// The density of a solution from its weighings; none where all are left out.
fn combine(
    ws: &mut Worksheet,
    name: &str,
    replicates: Vec<ReplicateResult>,
    pooled: Option<&Pooled>,
) -> Option<DensityResult> {
    let kept: Vec<&ReplicateResult> = replicates.iter().filter(|r| r.left_out.is_none()).collect();
    if kept.is_empty() {
        return None;
    }
    let standard_deviation =
        (kept.len() > 1).then(|| spread(&replicates::densities(ws, &replicates)));
    let of_mean = pooled.map_or_else(
        || own_spread(standard_deviation, kept.len()),
        |pooled| Some(pooled.component(kept.len())),
    );
    let density = match of_mean {
        Some(component) => {
            let (mean, error) = mean_with_spread(ws, name, &kept, component);
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
        used: kept.len(),
        standard_deviation,
        stated_deviation,
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
    component: Component,
) -> (Expr, NodeId) {
    let input = Input {
        origin: String::new(),
        digits: None,
        figures: None,
        components: vec![component],
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
