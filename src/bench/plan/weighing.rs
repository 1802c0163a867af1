//! How the densities of a series are weighed.

use super::bench::{Bench, Deliveries};
use crate::bench::reduce::instruments::scatter;

/// How densities are weighed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weighing {
    /// The balance, an index into the apparatus.
    pub(super) balance: usize,
    /// What measures the volume, an index into [`Bench::deliver`].
    pub(super) ware: usize,
    /// The volume weighed.
    pub(super) deliveries: Deliveries,
    /// How often each solution is weighed.
    pub(super) times: u32,
}

impl Weighing {
    /// Returns how the mass of the volume scatters from weighing to weighing, g, at a density (g/mL): two readings and
    /// the deliveries.
    pub(super) fn scatter(&self, bench: &Bench, density: f64) -> f64 {
        let of = |item: usize| scatter(&bench.apparatus[item]).unwrap_or(0.0);
        let balance = of(self.balance);
        let delivered = density * of(bench.deliver[self.ware].index);
        (2.0 * balance.powi(2) + f64::from(self.deliveries.count) * delivered.powi(2)).sqrt()
    }

    /// Returns whether there is enough of every solution for its weighings.
    pub(super) fn is_possible(&self, bench: &Bench) -> bool {
        let each = f64::from(self.times) * self.deliveries.total;
        let needed = each + bench.deliver[self.ware].conditioning();
        let mut targets = bench.targets.iter();
        targets.all(|target| needed <= target.volume * (1.0 + 1e-9))
    }
}
