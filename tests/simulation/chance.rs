//! Random draws that depend on the run's number alone.

use rand_distr::{Distribution as _, StandardNormal, StandardUniform};
use rand_pcg::Pcg64Dxsm;

/// Draws of one run.
pub(crate) struct Chance(Pcg64Dxsm);

impl Chance {
    /// The draws of a run, by its number; each purpose has a stream of its own.
    pub(crate) fn of(run: u64, stream: u64) -> Self {
        Self(Pcg64Dxsm::new(u128::from(run), u128::from(stream)))
    }

    /// From 0 to 1.
    pub(crate) fn part(&mut self) -> f64 {
        StandardUniform.sample(&mut self.0)
    }

    /// Between two numbers, each place as likely.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.part()
    }

    /// Normal about zero with a standard deviation.
    pub(crate) fn normal(&mut self, deviation: f64) -> f64 {
        let drawn: f64 = StandardNormal.sample(&mut self.0);
        deviation * drawn
    }

    /// Within ± a limit, the more likely the nearer to zero.
    pub(crate) fn triangular(&mut self, limit: f64) -> f64 {
        limit * (self.part() + self.part() - 1.0)
    }

    /// A whole number below a bound; none below zero.
    pub(crate) fn below(&mut self, bound: usize) -> Option<usize> {
        let drawn = (self.part() * bound as f64) as usize;
        (bound > 0).then(|| drawn.min(bound - 1))
    }

    /// One of several; none of none.
    pub(crate) fn one_of<'a, T>(&mut self, all: &'a [T]) -> Option<&'a T> {
        self.below(all.len()).map(|index| &all[index])
    }
}
