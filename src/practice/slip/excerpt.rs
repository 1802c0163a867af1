//! The few solutions of a run that bear on one density, as a run of their own that is reduced in no time.

use crate::reduce::reduce_for_trial;
use crate::runfile::model::{Origin, Practice, Ref, RunFile};

/// A part of a run: some of its solutions with their densities, no calibration, no temperature to bring them to.
///
/// Solutions that others of the excerpt were taken from must be among them.
pub(super) fn of(run: &RunFile, kept: &[usize]) -> RunFile {
    let place = |old: usize| kept.iter().position(|kept| *kept == old);
    let moved = |of: &Ref| {
        Some(Ref {
            value: place(of.value)?,
            entry: of.entry.clone(),
        })
    };
    let solutions = kept.iter().filter_map(|&old| {
        let mut solution = run.solutions[old].clone();
        if let Origin::Dilution { aliquot, .. } = &mut solution.origin {
            aliquot.of = moved(&aliquot.of)?;
        }
        Some(solution)
    });
    let weighings = run.weighings.iter().filter_map(|weighings| {
        let solution = moved(&weighings.solution)?;
        let mut weighings = weighings.clone();
        weighings.solution = solution;
        Some(weighings)
    });
    let cumulative = run.cumulative.iter().filter_map(|cumulative| {
        let solution = moved(&cumulative.solution)?;
        let mut cumulative = cumulative.clone();
        cumulative.solution = solution;
        Some(cumulative)
    });
    let readings = run.readings.iter().filter_map(|readings| {
        let solution = moved(&readings.solution)?;
        let mut readings = readings.clone();
        readings.solution = solution;
        Some(readings)
    });
    let pycnometer = run.pycnometer.as_ref().map(|pycnometer| {
        let mut pycnometer = pycnometer.clone();
        pycnometer.fillings = pycnometer
            .fillings
            .into_iter()
            .filter_map(|mut fillings| {
                fillings.solution = moved(&fillings.solution)?;
                Some(fillings)
            })
            .collect();
        pycnometer
    });
    let mut allow_for = run.allow_for.clone();
    allow_for.density_at = None;
    RunFile {
        solutions: solutions.collect(),
        weighings: weighings.collect(),
        cumulative: cumulative.collect(),
        readings: readings.collect(),
        pycnometer,
        allow_for,
        calibration: None,
        file: run.file.clone(),
        title: run.title.clone(),
        date: run.date.clone(),
        conditions: run.conditions.clone(),
        solute: run.solute.clone(),
        apparatus: run.apparatus.clone(),
        ware_calibrations: run.ware_calibrations.clone(),
        replicate_spread: run.replicate_spread,
        report: run.report.clone(),
        analysts: Vec::new(),
        place: None,
        aim: None,
        procedure: Vec::new(),
        notes: Vec::new(),
        draft: false,
        practice: Practice::default(),
        acknowledged: Vec::new(),
        corrections: Vec::new(),
        entries: Vec::new(),
        beside: Vec::new(),
        photos: Vec::new(),
    }
}

/// A measured density against the published one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Difference {
    /// Measured less published, g/mL.
    pub(super) value: f64,
    /// Its standard uncertainty, g/mL.
    pub(super) standard: f64,
    /// Its expanded uncertainty at the run's coverage, g/mL.
    pub(super) expanded: f64,
}

impl Difference {
    /// Whether the density agrees with the published one.
    pub(super) fn agrees(&self) -> bool {
        self.value.abs() <= self.expanded
    }
}

/// A density beside the published one.
#[derive(Debug, Clone, Copy)]
pub(super) enum Compared {
    /// Both are known.
    Known(Difference),
    /// The composition is beyond what is published.
    Beyond,
    /// There is nothing to compare.
    Not,
}

impl Compared {
    pub(super) fn known(&self) -> Option<Difference> {
        match self {
            Self::Known(difference) => Some(*difference),
            Self::Beyond | Self::Not => None,
        }
    }
}

/// The density of each solution beside the published one.
pub(super) fn compared(run: &RunFile) -> Vec<Compared> {
    let Ok(reduction) = reduce_for_trial(run) else {
        return vec![Compared::Not; run.solutions.len()];
    };
    let ws = &reduction.worksheet;
    let coverage = run.report.coverage;
    let each = reduction.solutions.iter().map(|solution| {
        let comparison = match &solution.comparison {
            Some(Ok(comparison)) => comparison,
            Some(Err(_)) => return Compared::Beyond,
            None => return Compared::Not,
        };
        let uncertainty = ws.uncertainty(comparison.difference);
        let k = crate::reduce::coverage_factor(coverage, &uncertainty);
        let expanded = k * uncertainty.standard;
        if expanded > 0.0 && expanded.is_finite() {
            Compared::Known(Difference {
                value: ws.value(comparison.difference),
                standard: uncertainty.standard,
                expanded,
            })
        } else {
            Compared::Not
        }
    });
    each.collect()
}
