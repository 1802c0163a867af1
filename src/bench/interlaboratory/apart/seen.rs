//! What a class says of each quantity, and the residual of each value of a bench.

use nalgebra::{DMatrix, DVector};

use super::super::robust::{REFINED, algorithm_a, refined};
use super::factors::{Common, Factor, degrees_of_freedom};
use super::{FEWEST, Off, Repeat, Tested, Values};
use crate::bench::fit::SampleVariance;

/// Steps of the search for the factors of the variances, at most.
const STEPS: usize = 20;
/// Changes of the factors by less than this share are of no account.
const SETTLED: f64 = 1e-3;
/// Factors of variances stay within these.
const FACTORS: (f64, f64) = (1e-6, 1e9);
/// A step changes the logarithm of a factor by so much at most.
const STEP: f64 = 1.0;
/// A reading further from the others than so many standard deviations is said to scatter: by chance one in a thousand does.
const SCATTERS: f64 = 3.3;

/// Estimates for a quantity.
#[derive(Debug, Clone)]
pub(super) struct Known {
    /// Robust mean and standard deviation from bench to bench.
    pub(super) mean: f64,
    pub(super) deviation: f64,
    /// Factor by which the variance of errors that a value shares with no other exceeds what the benches state.
    pub(super) own: Factor,
    /// The same factor for its repeated readings; 1 without degrees of freedom where nothing was read twice.
    pub(super) scatter: Factor,
    /// The mean of the standardised residuals with its standard uncertainty.
    centre: f64,
    uncertainty: f64,
}

/// A bench.
struct Bench {
    /// Inverse of the covariance of its values.
    inverse: DMatrix<f64>,
    /// The inverse times its values less the means.
    weighted: DVector<f64>,
}

impl Bench {
    /// The standardised residual of a value.
    fn left(&self, index: usize) -> f64 {
        self.weighted[index] / self.inverse[(index, index)].sqrt()
    }
}

/// A class.
pub(super) struct Seen<'a> {
    /// The benches that the others are judged by.
    counts: &'a [bool],
    pub(super) quantities: Vec<Option<Known>>,
    benches: Vec<Bench>,
    /// The common value towards which the factors are shrunk.
    common: Common,
}

impl<'a> Seen<'a> {
    pub(super) fn new(class: &[Values], counts: &'a [bool], quantities: usize) -> Self {
        let places = places(class, counts, quantities);
        let repeats = |(b, at): &(usize, usize)| class[*b].repeats[*at].as_slice();
        let scatters = places
            .iter()
            .map(|places| scatter(places.iter().map(repeats)));
        let scatters: Vec<Option<SampleVariance>> = scatters.collect();
        let known = places.iter().zip(&scatters).map(|(places, scatter)| {
            let all: Vec<f64> = places.iter().map(|(b, at)| class[*b].values[*at]).collect();
            let robust = algorithm_a(&all).ok().filter(|_| all.len() >= FEWEST)?;
            let scatter = scatter.map_or(Factor::UNKNOWN, |one| Common::default().shrink(one));
            Some(Known {
                mean: robust.mean,
                deviation: robust.standard_deviation,
                own: scatter,
                scatter,
                centre: 0.0,
                uncertainty: 0.0,
            })
        });
        let mut seen = Self {
            counts,
            quantities: known.collect(),
            benches: Vec::new(),
            common: Common::default(),
        };
        for _ in 0..STEPS {
            if seen.improve(class, &places, &scatters) {
                break;
            }
        }
        seen.benches = class.iter().map(|values| seen.bench(values)).collect();
        for (known, places) in seen.quantities.iter_mut().zip(&places) {
            let left = places.iter().map(|(b, at)| seen.benches[*b].left(*at));
            let left: Vec<f64> = left.collect();
            if let (Some(known), Ok((mean, deviation))) = (known, refined(&left)) {
                known.centre = mean;
                known.uncertainty = deviation / (left.len() as f64).sqrt();
            }
        }
        seen
    }

    /// One step (Fisher's scoring) towards the factors with which what is left scatters as it does. Returns whether they
    /// hardly changed.
    fn improve(
        &mut self,
        class: &[Values],
        places: &[Vec<(usize, usize)>],
        scatters: &[Option<SampleVariance>],
    ) -> bool {
        self.benches = class.iter().map(|values| self.bench(values)).collect();
        let owns = self.quantities.iter().zip(places);
        let owns: Vec<Option<SampleVariance>> = owns
            .map(|(known, places)| self.own(class, known.as_ref()?, places))
            .collect();
        let all = owns.iter().chain(scatters).flatten().copied();
        self.common = Common::from_variances(&all.collect::<Vec<_>>());
        let shrunk = |one: SampleVariance| self.common.shrink(one);
        let mut settled = true;
        for (known, (own, scatter)) in self.quantities.iter_mut().zip(owns.iter().zip(scatters)) {
            let Some(known) = known else { continue };
            if let Some(own) = own {
                let mut own = shrunk(*own);
                own.value = own.value.clamp(FACTORS.0, FACTORS.1);
                settled &= (own.value / known.own.value - 1.0).abs() < SETTLED;
                known.own = own;
            }
            known.scatter = scatter.map_or(Factor::UNKNOWN, shrunk);
        }
        settled
    }

    /// The factor of a quantity's own variances by the class alone, as others' factors are.
    fn own(
        &self,
        class: &[Values],
        known: &Known,
        places: &[(usize, usize)],
    ) -> Option<SampleVariance> {
        let left = places.iter().map(|(b, at)| self.benches[*b].left(*at));
        let (_, deviation) = refined(&left.collect::<Vec<_>>()).ok()?;
        // By so much of its relative change does the variance of what is left change with the factor. Its square is what a bench
        // tells of the factor (Fisher's information), in degrees of freedom.
        let share = |(b, at): &(usize, usize)| {
            known.own.value * class[*b].own[*at] * self.benches[*b].inverse[(*at, *at)]
        };
        let information: f64 = places.iter().map(|place| share(place).powi(2)).sum();
        if information <= 0.0 {
            return None;
        }
        let count = places.len() as f64;
        let step = 2.0 * deviation.ln() / (information / count).sqrt();
        // The prediction takes one degree of freedom, as the mean does.
        let left = (count - 1.0) / (count - 2.0);
        Some(SampleVariance {
            variance: known.own.value * step.clamp(-STEP, STEP).exp() * left,
            dof: information * (count - 1.0) / count / REFINED,
        })
    }

    /// A bench, as the factors are.
    fn bench(&self, values: &Values) -> Bench {
        let count = values.quantities.len();
        let factor = |index: usize| {
            let known = self.quantities[values.quantities[index]].as_ref();
            // What too few have says nothing of the others.
            known.map_or(FACTORS.1, |known| known.own.value)
        };
        let mut covariance = DMatrix::zeros(count, count);
        let mut shared = values.shared.iter();
        for row in 0..count {
            for column in 0..=row {
                let both = shared.next().copied().unwrap_or(0.0);
                covariance[(row, column)] = both;
                covariance[(column, row)] = both;
            }
            covariance[(row, row)] += factor(row) * values.own[row];
        }
        let variances = covariance.diagonal();
        let inverse = covariance.cholesky().map_or_else(
            || DMatrix::from_diagonal(&variances.map(|v| 1.0 / v.max(f64::MIN_POSITIVE))),
            |found| found.inverse(),
        );
        let differences = (0..count).map(|index| {
            let known = self.quantities[values.quantities[index]].as_ref();
            known.map_or(0.0, |known| values.values[index] - known.mean)
        });
        let differences = DVector::from_iterator(count, differences);
        Bench {
            weighted: &inverse * differences,
            inverse,
        }
    }

    /// What the uncertainty of a mean adds to the variance of a bench's distance from it.
    fn of_mean(&self, bench: usize, uncertainty: f64) -> f64 {
        if self.counts[bench] {
            0.0
        } else {
            uncertainty.powi(2)
        }
    }

    /// A value as what is off; `None` if too few benches have it.
    pub(super) fn value(&self, values: &Values, bench: usize, index: usize) -> Option<Tested> {
        let quantity = values.quantities[index];
        let known = self.quantities[quantity].as_ref()?;
        let own = &self.benches[bench];
        let information = own.inverse[(index, index)];
        let unit = 1.0 / information.sqrt();
        Some(Tested {
            bench,
            off: Off::Value(quantity),
            by: unit * (own.left(index) - known.centre),
            deviation: unit * (1.0 + self.of_mean(bench, known.uncertainty)).sqrt(),
            dof: degrees_of_freedom(&self.shares(values, bench, index)),
            scatters: false,
        })
    }

    /// The shares by which the variance of a value's residual changes with the factors.
    fn shares(&self, values: &Values, bench: usize, index: usize) -> Vec<(f64, Factor)> {
        let inverse = &self.benches[bench].inverse;
        let each = values.quantities.iter().zip(&values.own).enumerate();
        let each = each.filter_map(|(other, (quantity, own))| {
            let factor = self.quantities[*quantity].as_ref()?.own;
            let both = inverse[(index, other)];
            let share = factor.value * own * both * both / inverse[(index, index)];
            Some((share, factor))
        });
        each.collect()
    }

    /// Each of the readings behind a value as what is off: it moves their mean, and lies far from the others.
    pub(super) fn readings(&self, values: &Values, bench: usize, index: usize) -> Vec<Tested> {
        let repeats = &values.repeats[index];
        let count = repeats.len() as f64;
        let quantity = values.quantities[index];
        let known = self.quantities[quantity].as_ref();
        let known = known.filter(|known| repeats.len() > 1 && known.scatter.dof > 0.0);
        let (Some(known), Some(mean)) = (known, self.value(values, bench, index)) else {
            return Vec::new();
        };
        let of_mean = 1.0 / (count * mean.deviation).powi(2);
        let shares = self.shares(values, bench, index);
        let each = repeats.iter().enumerate().map(|(at, repeat)| {
            // Its distance from the mean of the others.
            let far = repeat.apart * count / (count - 1.0);
            let variance = known.scatter.value * repeat.deviation.powi(2) * count / (count - 1.0);
            let information = of_mean + 1.0 / variance;
            let by = (of_mean * count * mean.by + far / variance) / information;
            let share = of_mean / information;
            // Meier's factor: both variances are estimates.
            let more =
                1.0 + 4.0 * share * (1.0 - share) * (1.0 / mean.dof + 1.0 / known.scatter.dof);
            let of_mean = shares.iter().map(|(of, factor)| (share * of, *factor));
            let shares: Vec<(f64, Factor)> =
                of_mean.chain([(1.0 - share, known.scatter)]).collect();
            Tested {
                bench,
                off: Off::Reading(quantity, at),
                by,
                deviation: (more / information).sqrt(),
                dof: degrees_of_freedom(&shares),
                scatters: far.abs() > SCATTERS * variance.sqrt(),
            }
        });
        each.collect()
    }

    /// All values of a family as what is off, at each bench that has it.
    pub(super) fn family(&self, class: &[Values], family: usize) -> Vec<Tested> {
        let each = class.iter().zip(&self.benches).enumerate();
        let each = each.filter_map(|(bench, (values, own))| {
            let (_, direction) = values.families.iter().find(|(of, _)| *of == family)?;
            let direction = DVector::from_column_slice(direction);
            let information = direction.dot(&(&own.inverse * &direction));
            let along = direction.dot(&own.weighted) / information.sqrt();
            along
                .is_finite()
                .then_some((bench, along, 1.0 / information.sqrt()))
        });
        let each: Vec<(usize, f64, f64)> = each.collect();
        let along = each.iter().filter(|(bench, _, _)| self.counts[*bench]);
        let along: Vec<f64> = along.map(|(_, along, _)| *along).collect();
        let found = refined(&along).ok().filter(|_| along.len() >= FEWEST);
        let Some((mean, deviation)) = found else {
            return Vec::new();
        };
        let scatter = SampleVariance {
            variance: deviation.powi(2),
            dof: (along.len() as f64 - 1.0) / REFINED,
        };
        // With the factors of the values, it should be one.
        let scatter = self.common.one().shrink(scatter);
        let of_mean = deviation / (along.len() as f64).sqrt();
        let tested = each.into_iter().map(|(bench, along, unit)| Tested {
            bench,
            off: Off::Family(family),
            by: unit * (along - mean),
            deviation: unit * (scatter.value + self.of_mean(bench, of_mean)).sqrt(),
            dof: scatter.dof,
            scatters: false,
        });
        tested.filter(|tested| tested.deviation > 0.0).collect()
    }
}

/// Where each quantity stands at benches that count: these, and places there.
fn places(class: &[Values], counts: &[bool], quantities: usize) -> Vec<Vec<(usize, usize)>> {
    let mut places = vec![Vec::new(); quantities];
    let benches = class.iter().enumerate();
    for (bench, values) in benches.filter(|(bench, _)| counts[*bench]) {
        for (index, quantity) in values.quantities.iter().enumerate() {
            places[*quantity].push((bench, index));
        }
    }
    places
}

/// The factor by which the variance of repeated readings exceeds what the benches state; `None` if too few benches have
/// repeated readings, or if they do not scatter.
fn scatter<'r>(benches: impl Iterator<Item = &'r [Repeat]>) -> Option<SampleVariance> {
    let repeats: Vec<&[Repeat]> = benches.filter(|all| all.len() > 1).collect();
    if repeats.len() < FEWEST {
        return None;
    }
    let scaled = repeats.iter().flat_map(|all| {
        let count = all.len() as f64;
        let scale = (count / (count - 1.0)).sqrt();
        all.iter().map(move |one| scale * one.apart / one.deviation)
    });
    let scaled: Vec<f64> = scaled.collect();
    let (_, deviation) = refined(&scaled).ok()?;
    let count = scaled.len() as f64;
    // Their mean is not estimated: those of a bench add up to nothing.
    let variance = deviation.powi(2) * (1.0 - 1.0 / count);
    let dof = (count - repeats.len() as f64) / REFINED;
    (variance > 0.0).then_some(SampleVariance { variance, dof })
}
