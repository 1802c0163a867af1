//! A series: how each of its solutions is made, and the run that makes it so.

use super::bench::{Bench, Deliveries, Mass, Ware};
use super::weighing::Weighing;
use crate::bench::runfile::planned_run::{
    PlannedDensity, PlannedMade, PlannedRun, PlannedSolution, Readings,
};

/// The vessel that a volume is weighed in, g; only differences of its readings count.
const VESSEL: f64 = 50.0;

/// To weigh out and dissolve salt takes as long as so many deliveries (common practice, no source).
const WEIGHING_OUT: f64 = 3.0;
/// So much solution, mL, is as much to be spared as a delivery (common practice, no source).
const SPARED: f64 = 100.0;

/// Returns the work of a series in deliveries: those that there are, the weighings out of salt, and the volume made up,
/// mL.
pub(super) fn work(deliveries: u32, weighed: u32, volume: f64) -> f64 {
    f64::from(deliveries) + WEIGHING_OUT * f64::from(weighed) + volume / SPARED
}

/// How a solution is made.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Recipe {
    /// Salt is weighed and made up.
    Weighed {
        /// The mass as the balance is to show it.
        mass: Mass,
        /// The balance, an index into the apparatus.
        balance: usize,
        /// The vessel, an index into [`Bench::vessels`].
        vessel: usize,
    },
    /// Another solution is diluted.
    Diluted {
        /// It, an index into the series.
        of: usize,
        /// What delivers it, an index into [`Bench::deliver`].
        with: usize,
        /// The aliquot.
        aliquot: Deliveries,
        /// The vessel, an index into [`Bench::vessels`].
        vessel: usize,
    },
}

/// A solution of a series.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Step {
    /// Which of those wanted it is; none: a stock that is only diluted.
    pub(super) target: Option<usize>,
    pub(super) making: Recipe,
    /// Its mass concentration by the nominal volumes, g/L.
    pub(super) gamma: f64,
}

/// A series: each solution after those that it is diluted from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    pub(super) steps: Vec<Step>,
}

impl Series {
    /// Returns the same on a bench with other ware besides; `None` if a piece of it is not there.
    pub(super) fn transfer(&self, from: &Bench, to: &Bench) -> Option<Self> {
        let place = |of: &[Ware], index: usize| of.iter().position(|ware| ware.index == index);
        let vessel_on = |vessel: usize| place(&to.vessels, from.vessels[vessel].index);
        let steps = self.steps.iter().map(|step| {
            let mut step = step.clone();
            match &mut step.making {
                Recipe::Weighed { vessel, .. } => *vessel = vessel_on(*vessel)?,
                Recipe::Diluted { vessel, with, .. } => {
                    *vessel = vessel_on(*vessel)?;
                    *with = place(&to.deliver, from.deliver[*with].index)?;
                }
            }
            Some(step)
        });
        let steps = steps.collect::<Option<_>>()?;
        Some(Self { steps })
    }

    /// Returns how often something is delivered from ware into a vessel.
    pub(super) fn deliveries(&self) -> u32 {
        let each = self.steps.iter().map(|step| match &step.making {
            Recipe::Weighed { .. } => 0,
            Recipe::Diluted { aliquot, .. } => aliquot.count,
        });
        each.sum()
    }

    /// Returns the work of it, in deliveries: see [`work`].
    pub(super) fn work(&self, bench: &Bench) -> f64 {
        work(self.deliveries(), self.weighed() as u32, self.volume(bench))
    }

    /// Returns the sum of the relative departures from the strengths wanted.
    pub(super) fn departure(&self, bench: &Bench) -> f64 {
        let each = self.steps.iter().filter_map(|step| {
            let wanted = bench.targets[step.target?].gamma;
            Some((step.gamma / wanted - 1.0).abs())
        });
        each.sum()
    }

    /// Returns whether a piece of apparatus holds or delivers something of it.
    pub(super) fn uses(&self, bench: &Bench, item: usize) -> bool {
        self.steps.iter().any(|step| {
            let delivers = match &step.making {
                Recipe::Weighed { .. } => false,
                Recipe::Diluted { with, .. } => bench.deliver[*with].index == item,
            };
            delivers || bench.vessels[step.vessel()].index == item
        })
    }

    /// Returns how many of the solutions are weighed out.
    pub(super) fn weighed(&self) -> usize {
        let weighed = |step: &&Step| matches!(step.making, Recipe::Weighed { .. });
        self.steps.iter().filter(weighed).count()
    }

    /// Returns whether a solution is diluted from one that is itself a dilution.
    pub(super) fn is_chain(&self) -> bool {
        self.steps.iter().any(|step| match step.making {
            Recipe::Diluted { of, .. } => {
                matches!(self.steps[of].making, Recipe::Diluted { .. })
            }
            Recipe::Weighed { .. } => false,
        })
    }

    /// Returns all that is made up, mL.
    pub(super) fn volume(&self, bench: &Bench) -> f64 {
        let each = self.steps.iter().map(|step| step.made_up(bench));
        each.sum()
    }
}

impl Step {
    pub(super) fn vessel(&self) -> usize {
        match self.making {
            Recipe::Weighed { vessel, .. } | Recipe::Diluted { vessel, .. } => vessel,
        }
    }

    /// Returns the volume made up to, mL.
    pub(super) fn made_up(&self, bench: &Bench) -> f64 {
        bench.vessels[self.vessel()].capacity
    }
}

/// Names that no solution of the plan has.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Names {
    pub(super) water: String,
    pub(super) unknown: String,
    pub(super) stock: String,
}

impl Names {
    pub(super) fn new(bench: &Bench) -> Self {
        let free = |name: &str| {
            let taken = |name: &str| {
                let mut wanted = bench.plan.solutions.iter();
                wanted.any(|wanted| wanted.name.value == name)
            };
            let mut free = name.to_owned();
            let mut number = 2;
            while taken(&free) {
                free = format!("{name} {number}");
                number += 1;
            }
            free
        };
        Self {
            water: free("water"),
            unknown: free("unknown"),
            stock: free("stock"),
        }
    }

    /// Returns the name of a step's solution.
    pub(super) fn step<'n>(&'n self, bench: &'n Bench, step: &Step) -> &'n str {
        step.target.map_or(self.stock.as_str(), |target| {
            &bench.plan.solutions[target].name.value
        })
    }
}

/// Returns a run file of a series whose unknown has a mass concentration (g/L); `None` if a density is not published.
pub(super) fn run_text(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
    unknown: f64,
    readings: Readings,
) -> Option<String> {
    let names = Names::new(bench);
    let mut owed = 0.0;
    let mut weighed = |gamma: f64| {
        let density = bench.density(gamma)?;
        Some(weighings(bench, weighing, density, &mut owed))
    };
    let mut solutions = vec![PlannedSolution {
        name: names.water.clone(),
        made: PlannedMade::Pure,
        weighings: weighed(0.0)?,
    }];
    for step in &series.steps {
        let vessel = &bench.vessels[step.vessel()];
        let made = match &step.making {
            Recipe::Weighed { mass, balance, .. } => PlannedMade::Weighed {
                mass: mass.written.clone(),
                balance: Some(*balance),
                to: vessel.written.clone(),
                vessel: Some(vessel.index),
            },
            Recipe::Diluted {
                of, with, aliquot, ..
            } => PlannedMade::Diluted {
                of: names.step(bench, &series.steps[*of]).to_owned(),
                volume: aliquot.written.clone(),
                with: bench.deliver[*with].index,
                to: vessel.written.clone(),
                vessel: vessel.index,
            },
        };
        // A stock that is only diluted is not weighed.
        let weighings = match step.target {
            Some(_) => weighed(step.gamma)?,
            None => Vec::new(),
        };
        solutions.push(PlannedSolution {
            name: names.step(bench, step).to_owned(),
            made,
            weighings,
        });
    }
    solutions.push(PlannedSolution {
        name: names.unknown,
        made: PlannedMade::Unknown,
        weighings: weighed(unknown)?,
    });
    let run = PlannedRun {
        plan: bench.plan,
        apparatus: bench.apparatus,
        solutions,
        density: Some(PlannedDensity {
            balance: weighing.balance,
            ware: bench.deliver[weighing.ware].index,
            volume: weighing.deliveries.written.clone(),
            against: bench.plan.expected.scale,
        }),
    };
    Some(run.text(readings))
}

/// Returns the readings expected of the weighings of a liquid: they scatter as balance and ware are stated to, or do by
/// custom.
///
/// Readings are steps of the balance, so that their standard deviation cannot be just that; what it lacks is `owed` to the
/// next solution, and all together scatter as they should.
fn weighings(bench: &Bench, weighing: &Weighing, density: f64, owed: &mut f64) -> Vec<[String; 2]> {
    let step = bench.step(weighing.balance);
    let count = weighing.times;
    let mass = density * weighing.deliveries.total / step;
    let scatter = weighing.scatter(bench, density) / step;
    // Evenly spaced about zero, of standard deviation 1.
    let spacing = (f64::from(count) * f64::from(count + 1) / 12.0).sqrt();
    let place = |i: u32| (f64::from(i) - 0.5 * f64::from(count - 1)) / spacing;
    let differences = |wider: f64| -> Vec<f64> {
        let each = (0..count).map(|i| (mass + wider * scatter * place(i)).round());
        each.collect()
    };
    let squares = |differences: &[f64]| -> f64 {
        let mean = differences.iter().sum::<f64>() / f64::from(count);
        differences.iter().map(|d| (d - mean).powi(2)).sum()
    };
    let due = *owed + f64::from(count - 1) * scatter * scatter;
    // As stated, or else by as little more or less as brings the sum nearest.
    let tried = (0..=20).flat_map(|i| {
        let off = 0.05 * f64::from(i);
        [1.0 + off, 1.0 - off]
    });
    let best = tried.map(differences).reduce(|best, other| {
        let off = |d: &[f64]| (squares(d) - due).abs();
        if off(&other) < off(&best) - 1e-9 {
            other
        } else {
            best
        }
    });
    let best = best.unwrap_or_default();
    *owed = due - squares(&best);
    let reading = |i: usize, difference: f64| {
        // Vessels differ, as what drains from them does.
        let empty = VESSEL + 10.0 * step * i as f64;
        [empty, empty + difference * step]
            .map(|mass| bench.round_to_step(weighing.balance, mass).written)
    };
    let each = best.into_iter().enumerate();
    each.map(|(i, difference)| reading(i, difference)).collect()
}
