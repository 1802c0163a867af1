//! The masses of a run with the balances that showed them.

use crate::bench::runfile::model::{Reading, RunFile};

/// Returns every reading of a balance in the order of the file, with the balance, an index into the run's apparatus.
pub(super) fn of_balances(run: &RunFile) -> impl Iterator<Item = (usize, &Reading)> {
    let masses = run.masses().into_iter();
    masses.filter_map(|(mass, balance)| Some((balance?.value, mass)))
}

/// Power of ten of a reading's last written digit, in the base unit; `None` if its unit is no power of ten of it.
pub(super) fn last_place(reading: &Reading) -> Option<i32> {
    let shift = reading.value.unit.factor.log10();
    let whole = shift.round();
    ((shift - whole).abs() < 1e-9).then(|| reading.value.number.last_place + whole as i32)
}
