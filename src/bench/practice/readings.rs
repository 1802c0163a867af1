//! The masses of a run with the balances that showed them.

use crate::bench::runfile::model::{Origin, Reading, RunFile, Solvent, Weighed, WeighedReadings};

/// Every reading of a balance in the order of the file, with the balance, an index into the run's apparatus.
pub(super) fn of_balances(run: &RunFile) -> Vec<(usize, &Reading)> {
    let mut all: Vec<(Option<usize>, &Reading)> = Vec::new();
    for calibration in &run.ware_calibrations {
        let balance = calibration.balance.as_ref().map(|b| b.value);
        let each = calibration.weighings.iter();
        all.extend(each.flat_map(|w| [(balance, &w.empty), (balance, &w.filled)]));
    }
    for solution in &run.solutions {
        match &solution.origin {
            Origin::MadeUp { weighed, .. } => all.extend(masses(weighed)),
            Origin::ByMass { weighed, solvent } => {
                all.extend(masses(weighed));
                if let Solvent::Weighed(water) = solvent {
                    all.extend(masses(water));
                }
            }
            Origin::Pure | Origin::Unknown | Origin::Dilution { .. } => {}
        }
    }
    for replicate in run.weighings.iter().flat_map(|w| &w.replicates) {
        let balance = replicate.balance.as_ref().map(|b| b.value);
        all.extend([(balance, &replicate.empty), (balance, &replicate.filled)]);
    }
    for cumulative in &run.cumulative {
        let balance = cumulative.balance.as_ref().map(|b| b.value);
        let each = cumulative.empty.iter();
        let each = each.chain(cumulative.deliveries.iter().map(|d| &d.mass));
        all.extend(each.map(|mass| (balance, mass)));
    }
    if let Some(pycnometer) = &run.pycnometer {
        let balance = pycnometer.balance.as_ref().map(|b| b.value);
        let fillings = pycnometer.fillings.iter().flat_map(|f| &f.fillings);
        let water = pycnometer.water.iter().map(|f| &f.filled);
        let each = std::iter::once(&pycnometer.empty).chain(water);
        let each = each.chain(fillings.map(|f| &f.filled));
        all.extend(each.map(|mass| (balance, mass)));
    }
    all.into_iter()
        .filter_map(|(balance, reading)| Some((balance?, reading)))
        .collect()
}

fn masses(weighed: &Weighed) -> Vec<(Option<usize>, &Reading)> {
    let balance = weighed.balance.as_ref().map(|b| b.value);
    match &weighed.readings {
        WeighedReadings::Difference { before, after } => {
            vec![(balance, before), (balance, after)]
        }
        WeighedReadings::Tared { mass } => vec![(balance, mass)],
    }
}

/// Power of ten of a reading's last written digit, in the base unit; none where its unit is no power of ten of it.
pub(super) fn last_place(reading: &Reading) -> Option<i32> {
    let shift = reading.value.unit.factor.log10();
    let whole = shift.round();
    ((shift - whole).abs() < 1e-9).then(|| reading.value.number.last_place + whole as i32)
}
