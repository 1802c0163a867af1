//! Which bench of a class stands apart from the others, once errors that its own readings share are taken out.
//!
//! The values of a bench share errors: a pipette that delivers too much makes all of its densities too large. Each value is
//! therefore compared with its prediction from the other values of the same bench (generalised least squares with their
//! covariance, each value tested as a mean-shift outlier: D. A. Belsley, E. Kuh, R. E. Welsch, *Regression Diagnostics*,
//! 1980; from memory). Mean and standard deviation of these residuals are estimated from the class, robustly, and not from
//! what a bench states of its own scatter. For each quantity, a factor of the variance of the errors that are not shared is
//! fitted so that the residuals scatter as observed (Fisher's scoring). The information on it gives its degrees of freedom.
//!
//! Three kinds of fault are tested, each with the test that no other outdoes for a shift of that kind:
//!
//! - A value is off with all that it rests on.
//! - One of the repeated readings behind a value is off: it moves their mean, and lies far from the others. Both are
//!   counted, each by the scatter that the class has.
//! - Some values are off together, in a known direction: a stock with all that was made from it.
//!
//! The bench that differs most from the others is judged without its own values, which would widen the scatter. Factors of
//! several quantities, and those of their repeated readings, are shrunk towards their common value unless they differ by more
//! than chance explains: what benches state of their scatter is mostly wrong by one factor (G. K. Smyth, Statistical
//! Applications in Genetics and Molecular Biology 3 (2004) 3; from memory). Student's t takes the degrees of freedom of a
//! variance from those of the factors that it changes with. A mean that is weighted by estimated variances varies more than
//! these variances say (P. Meier, Biometrics 9 (1953) 59; from memory).
//!
//! All tests together are judged by Holm's procedure (1979), at somewhat less than the level promised: errors are only about
//! normal, and what benches state that they share is only about right. In simulated classes of honest benches, one stands
//! apart in at most one class of twenty (`tests/simulation/RATES.md`).

mod factors;
mod seen;

use super::robust::median;
use crate::bench::fit::{student_t, student_t_tail, two_sided_tail};
use seen::Seen;

/// Fewer benches are not judged: their own scatter is hardly known.
pub const FEWEST: usize = 8;
/// The probability that a class of honest benches has one that stands apart, at most.
pub const LEVEL: f64 = 0.05;
/// The level at which the tests are judged together.
const JUDGED: f64 = 0.04;
/// One-sided normal quantile of 95 %: a shift this much beyond what is just seen is seen with that probability.
const SEEN: f64 = 1.644_854;
/// The benches are judged so often at most, each time by those that do not stand apart.
const ROUNDS: usize = 10;

/// What one bench found.
#[derive(Debug, Clone, Default)]
pub struct Values {
    /// Which of the class's quantities it found, each once.
    pub quantities: Vec<usize>,
    /// Their values, in any one unit.
    pub values: Vec<f64>,
    /// Covariances of the values by errors that several of them share: the lower triangle, row by row.
    pub shared: Vec<f64>,
    /// The variance of each by errors that it shares with no other, as the bench states them.
    pub own: Vec<f64>,
    /// The repeated readings whose mean each value is; empty where single readings are not known.
    pub repeats: Vec<Vec<Repeat>>,
    /// Directions in which values may be off together: which of the class's, and the change of each value.
    pub families: Vec<(usize, Vec<f64>)>,
}

/// One of several readings behind a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeat {
    /// Its distance from their mean, unit of the values.
    pub apart: f64,
    /// Its standard deviation as the bench states it.
    pub deviation: f64,
}

/// What a class says of a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfClass {
    /// How many benches have it.
    pub count: usize,
    /// Robust mean.
    pub mean: f64,
    /// Robust standard deviation from bench to bench.
    pub deviation: f64,
    /// The same of the residual, once the errors that the values of a bench share are removed.
    pub left: f64,
    /// Factor by which the variance of errors that a value shares with no other exceeds what the benches state.
    pub own: f64,
    /// The same factor for repeated readings; 1 where nothing was read twice.
    pub scatter: f64,
    /// The smallest shift of a value that is detected at 95 of 100 benches.
    pub visible: f64,
    /// The smallest shift of one repeated reading that is detected at 95 of 100 benches; `None` if no bench has repeated
    /// readings.
    pub visible_reading: Option<f64>,
}

/// What is off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Off {
    /// A value, by its quantity.
    Value(usize),
    /// A reading behind a value: its quantity, and the place of the reading.
    Reading(usize, usize),
    /// All values of a family.
    Family(usize),
}

/// A fault that chance does not explain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Refused {
    /// What is off.
    pub off: Off,
    /// By how much, unit of the values: a value; one reading; of a family the factor of its direction.
    pub by: f64,
    /// The same in standard deviations of the class.
    pub deviations: f64,
    /// Whether the readings behind the value scatter by more than the class lets expect.
    pub scatters: bool,
}

/// A bench that stands apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// The bench.
    pub bench: usize,
    /// What is refused, the least likely by chance first: one fault may be behind all of it.
    pub refused: Vec<Refused>,
}

/// What a class says.
#[derive(Debug, Clone, Default)]
pub struct Judged {
    /// For each quantity; `None` if too few benches measured it.
    pub quantities: Vec<Option<OfClass>>,
    /// The benches that stand apart, in their order.
    pub apart: Vec<Apart>,
}

impl Judged {
    /// Whether a bench stands apart.
    fn refuses(&self, bench: usize) -> bool {
        self.apart.iter().any(|apart| apart.bench == bench)
    }
}

/// A fault that is tested for.
struct Tested {
    bench: usize,
    off: Off,
    /// Its size, unit of the values.
    by: f64,
    /// The standard deviation of that in the class.
    deviation: f64,
    dof: f64,
    scatters: bool,
}

impl Tested {
    fn t(&self) -> f64 {
        self.by / self.deviation
    }

    /// The probability of as much or more by chance.
    fn p(&self) -> f64 {
        two_sided_tail(self.t(), self.dof)
    }
}

/// Judges the benches of a class by each other. `quantities` and `families` say how many of each there are.
#[must_use]
pub fn apart(class: &[Values], quantities: usize, families: usize) -> Judged {
    let mut counts = vec![true; class.len()];
    let (mut judged, mut next) = judged(class, &counts, quantities, families);
    // A bench that stands apart widens the scatter, and may hide another or itself.
    for _ in 1..ROUNDS {
        let apart = judged.apart.iter().map(|apart| apart.bench);
        let mut out: Vec<usize> = apart.filter(|bench| counts[*bench]).collect();
        if out.is_empty() {
            out.extend(next);
        }
        let mut others = counts.clone();
        for bench in &out {
            others[*bench] = false;
        }
        let kept = others.iter().filter(|counts| **counts).count();
        if out.is_empty() || kept < FEWEST || 2 * kept < class.len() {
            break;
        }
        let (by_others, after) = self::judged(class, &others, quantities, families);
        if !out.iter().all(|bench| by_others.refuses(*bench)) {
            break;
        }
        (counts, judged, next) = (others, by_others, after);
    }
    judged
}

/// Judges all benches by those that count. Returns, too, the one of these that differs most without standing apart.
fn judged(
    class: &[Values],
    counts: &[bool],
    quantities: usize,
    families: usize,
) -> (Judged, Option<usize>) {
    let seen = Seen::new(class, counts, quantities);
    let mut tests = Vec::new();
    for (bench, values) in class.iter().enumerate() {
        for index in 0..values.quantities.len() {
            tests.extend(seen.value(values, bench, index));
            tests.extend(seen.readings(values, bench, index));
        }
    }
    for family in 0..families {
        tests.extend(seen.family(class, family));
    }
    let of_class = |quantity: usize| {
        let known = seen.quantities[quantity].as_ref()?;
        // In the middle of the benches: standard deviation, and the least shift that is seen.
        let middle = |of: &dyn Fn(Off) -> bool| {
            let all = || tests.iter().filter(|test| of(test.off));
            let [deviation, dof] = [|test: &Tested| test.deviation, |test: &Tested| test.dof]
                .map(|part| median(&all().map(part).collect::<Vec<_>>()));
            let just = student_t_tail(0.5 * JUDGED / tests.len() as f64, dof);
            all()
                .next()
                .is_some()
                .then_some((deviation, (just + SEEN) * deviation))
        };
        let (left, visible) = middle(&|off| off == Off::Value(quantity))?;
        let reading = middle(&|off| matches!(off, Off::Reading(of, _) if of == quantity));
        Some(OfClass {
            count: class
                .iter()
                .filter(|values| values.quantities.contains(&quantity))
                .count(),
            mean: known.mean,
            deviation: known.deviation,
            left,
            own: known.own.value,
            scatter: known.scatter.value,
            visible,
            visible_reading: reading.map(|(_, visible)| visible),
        })
    };
    let judged = Judged {
        quantities: (0..quantities).map(of_class).collect(),
        apart: refused(&tests),
    };
    let others = tests
        .iter()
        .filter(|test| counts[test.bench] && !judged.refuses(test.bench));
    let next = others
        .max_by(|a, b| a.t().abs().total_cmp(&b.t().abs()))
        .map(|test| test.bench);
    (judged, next)
}

/// The benches of which a test is refused by Holm's procedure, each with these tests.
fn refused(tests: &[Tested]) -> Vec<Apart> {
    let tested = tests.iter().filter(|test| !test.t().is_nan());
    let count = tested.clone().count();
    // No other can be refused.
    let far = tested.filter(|test| test.t().abs() > student_t(1.0 - JUDGED, f64::INFINITY));
    let mut by_p: Vec<(f64, &Tested)> = far.map(|test| (test.p(), test)).collect();
    by_p.sort_by(|a, b| {
        let further = || b.1.t().abs().total_cmp(&a.1.t().abs());
        a.0.total_cmp(&b.0).then_with(further)
    });
    let mut apart: Vec<Apart> = Vec::new();
    for (rank, (p, test)) in by_p.into_iter().enumerate() {
        if p > JUDGED / (count - rank) as f64 {
            break;
        }
        let refused = Refused {
            off: test.off,
            by: test.by,
            deviations: test.t(),
            scatters: test.scatters,
        };
        match apart.iter_mut().find(|known| known.bench == test.bench) {
            Some(known) => known.refused.push(refused),
            None => apart.push(Apart {
                bench: test.bench,
                refused: vec![refused],
            }),
        }
    }
    apart.sort_by_key(|known| known.bench);
    apart
}
