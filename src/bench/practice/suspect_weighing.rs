//! **What:** one weighing of a solution, or one step of its cumulative series, lies further from the others than chance
//! explains.
//!
//! **Why it matters:** a bubble, a drop or a digit read wrongly moves the mean and widens the spread. Nothing is taken
//! out for it: only who stood at the bench can tell a mistake from bad luck. Of three readings rounded to one step, two
//! are soon equal and the third then always stands out: what rounding can do to a reading is therefore counted to the
//! spread.
//!
//! **Source:** Grubbs, Technometrics 11 (1969) 1, two-sided.

use super::level::{NEGLIGIBLE, Tested};
use super::scene::Scene;
use super::series::{Measured, Series};
use super::{Flag, Judge, Slips, SlipsBehind};
use crate::bench::fit::{grubbs, grubbs_tail};
use crate::bench::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::Scatter,
};

/// A density far from the others.
struct Far {
    /// Its place among those that count.
    index: usize,
    /// Grubbs' statistic.
    statistic: f64,
    /// Mean of all, and of the others, g/mL.
    mean: f64,
    without: f64,
}

fn far(scene: &Scene, solution: usize, series: &Series) -> Option<Far> {
    let values: Vec<f64> = series.items.iter().map(|item| item.value).collect();
    let extreme = grubbs(&values)?;
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let apart = (values[extreme.index] - mean).abs();
    let spread = apart / extreme.statistic;
    let density = scene.bench.reduction.solutions[solution].density.as_ref()?;
    let rounding = density.replicates.iter().filter(|r| r.left_out.is_none());
    let squares: f64 = rounding.map(|r| r.variation.resolution.powi(2)).sum();
    Some(Far {
        index: extreme.index,
        statistic: apart / spread.hypot((squares / count).sqrt()),
        mean,
        without: (count * mean - values[extreme.index]) / (count - 1.0),
    })
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let each = scene.series.iter().enumerate();
    each.filter_map(|(of, series)| {
        let series = series.as_ref()?;
        let far = far(scene, of, series)?;
        let p = grubbs_tail(far.statistic, series.items.len());
        Some(Tested { of, p })
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], slips: &Slips) -> Vec<Flag> {
    let refused = refused.iter();
    refused
        .filter_map(|of| {
            let series = scene.series[*of].as_ref()?;
            flag(scene, *of, series, slips)
        })
        .collect()
}

fn flag(scene: &Scene, solution: usize, series: &Series, slips: &Slips) -> Option<Flag> {
    let far = far(scene, solution, series)?;
    let found = &scene.bench.reduction.solutions[solution];
    let (_, expanded) = scene.bench.density(found)?;
    if (far.without - far.mean).abs() < NEGLIGIBLE * expanded {
        return None;
    }
    let item = &series.items[far.index];
    let name = &found.name;
    let shown_in = scene.bench.reduction.worksheet.density_unit.of_density();
    let shown = |density: f64| format!("{} {}", shown_in.to_place(density, -5), shown_in.unit);
    let leave = match series.of {
        Measured::Singles => {
            " It is still included; if there is a reason, leave it out with `left_out`."
        }
        Measured::Steps => "",
    };
    let flag = Flag::new(
        FlagCode::SuspectWeighing,
        item.entry.clone(),
        format!(
            "Its density, {}, lies far from the other {} of {name} (Grubbs' G = {:.3}).{leave}",
            shown(item.value),
            series.items.len() - 1,
            far.statistic,
        ),
        "A bubble, a drop or a misread digit shifts the mean and increases the scatter; only the analyst can tell a mistake from chance.",
    );
    let flag = flag.with_effect(format!(
        "Without it the density of {name} would be {}, not {}.",
        shown(far.without),
        shown(far.mean)
    ));
    Some(flag.with_candidates(slips.candidates(solution)))
}
