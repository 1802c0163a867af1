//! Which readings of a balance are of the same load, and so share one error of linearity.
//!
//! The departure of a balance from linearity is a smooth function of the load: it does not change from one weighing to the
//! next, so that it does not average out, and near loads have nearly the same. How it runs between the loads of a
//! certificate nobody states. The simplest model that is safe both for means and for differences: loads that follow each
//! other in steps of at most [`ONE_LOAD`] share one error within the limits, and loads further apart have errors of their
//! own. A drop or a badly filled pipette keeps a load where it was; a vessel and the same vessel with a volume in it are
//! two loads. (Common practice, no source.)

use std::collections::BTreeMap;

use crate::bench::runfile::model::RunFile;
use crate::bench::worksheet::NodeId;

/// The largest step between readings of one load, g.
const ONE_LOAD: f64 = 0.5;

/// The loads of each balance, and the error of linearity at each once it is on the worksheet.
pub(super) struct Loads {
    /// The lowest and the highest reading of each load, g, by balance, rising.
    of: BTreeMap<usize, Vec<(f64, f64)>>,
    errors: BTreeMap<(usize, usize), NodeId>,
}

impl Loads {
    pub(super) fn new(run: &RunFile) -> Self {
        let mut readings: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
        for (reading, balance) in run.masses() {
            if let Some(balance) = balance {
                let all = readings.entry(balance.value).or_default();
                all.push(reading.value.value);
            }
        }
        let loads = readings.into_iter().map(|(balance, mut readings)| {
            readings.sort_by(f64::total_cmp);
            let mut loads: Vec<(f64, f64)> = Vec::new();
            for reading in readings {
                match loads.last_mut() {
                    Some((_, high)) if reading - *high <= ONE_LOAD => *high = reading,
                    _ => loads.push((reading, reading)),
                }
            }
            (balance, loads)
        });
        Self {
            of: loads.collect(),
            errors: BTreeMap::new(),
        }
    }

    /// Returns the load of a balance that a reading is of: its number, and its middle in g.
    pub(super) fn find(&self, balance: usize, reading: f64) -> Option<(usize, f64)> {
        let loads = self.of.get(&balance)?;
        let at = loads
            .iter()
            .position(|(low, high)| (*low..=*high).contains(&reading))?;
        let (low, high) = loads[at];
        Some((at, f64::midpoint(low, high)))
    }

    /// Returns the error of linearity of a balance at a load, put in by `new` where it is not there yet.
    pub(super) fn error(
        &mut self,
        balance: usize,
        load: usize,
        new: impl FnOnce() -> NodeId,
    ) -> NodeId {
        *self.errors.entry((balance, load)).or_insert_with(new)
    }
}
