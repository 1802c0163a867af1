//! What the program concludes of a run, against the truth.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

use fillmark::bench::reduce::reduce;
use fillmark::bench::reduce::results::{Results, SolutionStated, Stated};
use fillmark::bench::runfile;

use super::scene::{Scene, Simulated, UNKNOWN};

/// How many intervals hold the truth.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Held {
    pub(crate) holding: usize,
    pub(crate) of: usize,
}

impl Held {
    fn add(&mut self, stated: &Stated, truth: f64) {
        self.of += 1;
        let apart = (stated.value - truth).abs();
        self.holding += usize::from(apart <= stated.expanded_uncertainty);
    }
}

/// What was found of one run.
#[derive(Debug, Clone, Default)]
pub(crate) struct Verdict {
    pub(crate) density: Held,
    /// Mass percent of the solutions made.
    pub(crate) percent: Held,
    /// Mass concentration of the solutions made.
    pub(crate) concentration: Held,
    /// The unknown's answer.
    pub(crate) unknown: Held,
    /// Its expanded uncertainty, in %.
    pub(crate) expanded: Option<f64>,
}

/// The answer that the report puts forward for an unknown, in mass percent.
pub(crate) fn answer(unknown: &SolutionStated) -> Option<&Stated> {
    unknown.composition.mass_percent.as_ref()
}

/// The results of a run file.
///
/// # Errors
/// What the program says against it.
pub(crate) fn results(text: &str) -> Result<Results, String> {
    let (file, problems) = runfile::read("run.yaml", text.as_bytes());
    let file = file.ok_or_else(|| format!("{problems:?}"))?;
    let reduction = reduce(&file).map_err(|problems| format!("{problems:?}"))?;
    Ok(Results::new(&file, &reduction))
}

/// Judges one run.
///
/// # Errors
/// What the program says against the run file.
pub(crate) fn judge(run: &Simulated) -> Result<Verdict, String> {
    let results = results(&run.notebook.text())?;
    let mut verdict = Verdict::default();
    let all = results.solutions.iter().chain(&results.unknowns);
    for (name, stated) in all {
        let Some(truth) = run.truth.iter().find(|t| t.name == name) else {
            continue;
        };
        if let Some(density) = &stated.density {
            verdict.density.add(density, truth.density);
        }
        if name == UNKNOWN {
            if let Some(answer) = answer(stated) {
                verdict.unknown.add(answer, 100.0 * truth.fraction);
                verdict.expanded = Some(answer.expanded_uncertainty);
            }
        } else if truth.fraction > 0.0 {
            if let Some(percent) = &stated.composition.mass_percent {
                verdict.percent.add(percent, 100.0 * truth.fraction);
            }
            if let Some(concentration) = &stated.composition.mass_concentration {
                verdict
                    .concentration
                    .add(concentration, truth.concentration());
            }
        }
    }
    Ok(verdict)
}

/// What `work` makes of each run from `first` on, by their order, on all processors.
pub(crate) fn each<T: Send>(first: u64, runs: usize, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(runs));
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let run = next.fetch_add(1, Ordering::Relaxed);
                    if run >= runs {
                        break;
                    }
                    let made = work(first + run as u64);
                    let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                    done.push((run, made));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(run, _)| *run);
    done.into_iter().map(|(_, made)| made).collect()
}

/// A share of runs, or of results of runs, with the standard deviation that the simulation leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Share {
    /// 0 to 1.
    pub(crate) share: f64,
    pub(crate) deviation: f64,
}

impl Share {
    /// Of the results of runs; results of one run are not independent of each other. None where there is no result.
    fn of(runs: impl Iterator<Item = Held>) -> Option<Self> {
        let parts: Vec<f64> = runs
            .filter(|held| held.of > 0)
            .map(|held| held.holding as f64 / held.of as f64)
            .collect();
        if parts.is_empty() {
            return None;
        }
        let count = parts.len() as f64;
        let share = parts.iter().sum::<f64>() / count;
        let squares: f64 = parts.iter().map(|part| (part - share).powi(2)).sum();
        // Not zero where every run agrees: one more run on the other side is always possible.
        let deviation = (squares / count).sqrt().max(1.0 / count) / count.sqrt();
        Some(Self { share, deviation })
    }
}

/// What was found of a cell.
#[derive(Debug, Clone)]
pub(crate) struct Coverage {
    pub(crate) density: Option<Share>,
    pub(crate) percent: Option<Share>,
    pub(crate) concentration: Option<Share>,
    pub(crate) unknown: Option<Share>,
    /// Median expanded uncertainty of the unknown, %.
    pub(crate) expanded: Option<f64>,
    /// Run files that the program refused, and what it said of the first.
    pub(crate) refused: usize,
    pub(crate) complaint: Option<String>,
}

/// Simulates and judges runs of a scene.
pub(crate) fn coverage(scene: &Scene, first: u64, runs: usize) -> Coverage {
    let judged = each(first, runs, |run| judge(&scene.simulate(run)));
    let complaint = judged.iter().find_map(|j| j.as_ref().err().cloned());
    let good: Vec<Verdict> = judged.into_iter().filter_map(Result::ok).collect();
    let share = |of: fn(&Verdict) -> Held| Share::of(good.iter().map(of));
    let mut expanded: Vec<f64> = good.iter().filter_map(|v| v.expanded).collect();
    expanded.sort_by(f64::total_cmp);
    Coverage {
        density: share(|v| v.density),
        percent: share(|v| v.percent),
        concentration: share(|v| v.concentration),
        unknown: share(|v| v.unknown),
        expanded: expanded.get(expanded.len() / 2).copied(),
        refused: runs - good.len(),
        complaint,
    }
}
