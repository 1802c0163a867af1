//! What a class says of each quantity, and the residual of each value of a bench.

use nalgebra::{DMatrix, DVector};

use super::super::robust::algorithm_a;
use super::{FEWEST, Off, Repeat, Tested, Values};

/// Steps of the search for the factors of the variances, at most.
const STEPS: usize = 20;
/// Changes of the factors by less than this share are of no account.
const SETTLED: f64 = 1e-3;
/// Factors of variances stay within these.
const FACTORS: (f64, f64) = (1e-6, 1e9);
/// The variance of a robust variance of normal values over that of the ordinary one (simulated). Its degrees of freedom are
/// fewer by this factor.
const ROBUST: f64 = 1.37;
/// A variance this many standard deviations from the common one is another.
const OTHER: f64 = 2.5;
/// A reading further from the others than so many standard deviations is said to scatter: by chance one in a thousand does.
const SCATTERS: f64 = 3.3;

/// Estimates for a quantity.
#[derive(Debug, Clone)]
pub(super) struct Known {
    /// Robust mean and standard deviation from bench to bench.
    pub(super) mean: f64,
    pub(super) deviation: f64,
    /// Factor by which the variance of errors that a value shares with no other exceeds what the benches state.
    pub(super) own: f64,
    /// The same factor for its repeated readings, and the degrees of freedom of that.
    pub(super) scatter: f64,
    scatter_dof: f64,
    /// The mean of the standardised residuals with its standard uncertainty, and the degrees of freedom of their standard
    /// deviation.
    centre: f64,
    uncertainty: f64,
    dof: f64,
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
    common: Option<Common>,
}

impl<'a> Seen<'a> {
    pub(super) fn new(class: &[Values], counts: &'a [bool], quantities: usize) -> Self {
        let places = places(class, counts, quantities);
        let scatters = scatters(class, &places);
        let known = places.iter().zip(&scatters).map(|(places, scatter)| {
            let all: Vec<f64> = places.iter().map(|(b, at)| class[*b].values[*at]).collect();
            let robust = algorithm_a(&all).ok().filter(|_| all.len() >= FEWEST)?;
            let (scatter, scatter_dof) = scatter.unwrap_or((1.0, 0.0));
            Some(Known {
                mean: robust.mean,
                deviation: robust.standard_deviation,
                own: scatter,
                scatter,
                scatter_dof,
                centre: 0.0,
                uncertainty: 0.0,
                dof: degrees_of_freedom(all.len() - 1),
            })
        });
        let mut seen = Self {
            counts,
            quantities: known.collect(),
            benches: Vec::new(),
            common: None,
        };
        seen.search(class, &places);
        let own = seen
            .quantities
            .iter()
            .flatten()
            .map(|known| (known.own, known.dof));
        seen.common = Common::from_variances(&own.collect::<Vec<_>>());
        if let Some(common) = &seen.common {
            for known in seen.quantities.iter_mut().flatten() {
                (known.own, known.dof) = common.shrink(known.own, known.dof);
            }
        }
        seen.benches = class.iter().map(|values| seen.bench(values)).collect();
        for (known, places) in seen.quantities.iter_mut().zip(&places) {
            let left = places.iter().map(|(b, at)| seen.benches[*b].left(*at));
            let left = algorithm_a(&left.collect::<Vec<_>>());
            if let (Some(known), Ok(left)) = (known, left) {
                known.centre = left.mean;
                known.uncertainty = left.uncertainty();
            }
        }
        seen
    }

    /// Searches for the factors with which what is left scatters as it does.
    fn search(&mut self, class: &[Values], places: &[Vec<(usize, usize)>]) {
        for _ in 0..STEPS {
            self.benches = class.iter().map(|values| self.bench(values)).collect();
            let mut settled = true;
            for (known, places) in self.quantities.iter_mut().zip(places) {
                let left = places.iter().map(|(b, at)| self.benches[*b].left(*at));
                let left = algorithm_a(&left.collect::<Vec<_>>());
                if let (Some(known), Ok(left)) = (known, left) {
                    let factor = left.standard_deviation.powi(2);
                    settled &= (factor - 1.0).abs() < SETTLED;
                    known.own = (known.own * factor).clamp(FACTORS.0, FACTORS.1);
                }
            }
            if settled {
                break;
            }
        }
    }

    /// A bench, as the factors are.
    fn bench(&self, values: &Values) -> Bench {
        let count = values.quantities.len();
        let factor = |index: usize| {
            let known = self.quantities[values.quantities[index]].as_ref();
            // What too few have says nothing of the others.
            known.map_or(FACTORS.1, |known| known.own)
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
        let unit = 1.0 / own.inverse[(index, index)].sqrt();
        Some(Tested {
            bench,
            off: Off::Value(quantity),
            by: unit * (own.left(index) - known.centre),
            deviation: unit * (1.0 + self.of_mean(bench, known.uncertainty)).sqrt(),
            dof: known.dof,
            scatters: false,
        })
    }

    /// Each of the readings behind a value as what is off: it moves their mean, and lies far from the others.
    pub(super) fn readings(&self, values: &Values, bench: usize, index: usize) -> Vec<Tested> {
        let repeats = &values.repeats[index];
        let count = repeats.len() as f64;
        let quantity = values.quantities[index];
        let (Some(known), Some(mean)) = (
            &self.quantities[quantity],
            self.value(values, bench, index)
                .filter(|_| repeats.len() > 1),
        ) else {
            return Vec::new();
        };
        let of_mean = 1.0 / (count * mean.deviation).powi(2);
        let each = repeats.iter().enumerate().map(|(at, repeat)| {
            // Its distance from the mean of the others.
            let far = repeat.apart * count / (count - 1.0);
            let variance = known.scatter * repeat.deviation.powi(2) * count / (count - 1.0);
            let information = of_mean + 1.0 / variance;
            let by = (of_mean * count * mean.by + far / variance) / information;
            let share = of_mean / information;
            let unsure = share * share / mean.dof + (1.0 - share).powi(2) / known.scatter_dof;
            // Meier's factor: both variances are estimates.
            let more =
                1.0 + 4.0 * share * (1.0 - share) * (1.0 / mean.dof + 1.0 / known.scatter_dof);
            Tested {
                bench,
                off: Off::Reading(quantity, at),
                by,
                deviation: (more / information).sqrt(),
                dof: 1.0 / unsure,
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
        let Some(robust) = algorithm_a(&along).ok().filter(|_| along.len() >= FEWEST) else {
            return Vec::new();
        };
        let mut variance = robust.standard_deviation.powi(2);
        let mut dof = degrees_of_freedom(robust.count - 1);
        if let Some(common) = &self.common {
            // With the factors of the values, it should be one.
            let one = Common {
                logarithm: 0.0,
                ..*common
            };
            (variance, dof) = one.shrink(variance, dof);
        }
        let tested = each.into_iter().map(|(bench, along, unit)| Tested {
            bench,
            off: Off::Family(family),
            by: unit * (along - robust.mean),
            deviation: unit * (variance + self.of_mean(bench, robust.uncertainty())).sqrt(),
            dof,
            scatters: false,
        });
        tested.filter(|tested| tested.deviation > 0.0).collect()
    }
}

/// The common value of several variances.
struct Common {
    /// The logarithm of their common value.
    logarithm: f64,
    /// Its weight against any one of them, in degrees of freedom.
    dof: f64,
}

impl Common {
    /// Of robust variances with their degrees of freedom; `None` for fewer than two.
    fn from_variances(all: &[(f64, f64)]) -> Option<Self> {
        let logarithms = all.iter().map(|(variance, dof)| variance.ln() + 1.0 / dof);
        let logarithms: Vec<f64> = logarithms.collect();
        let (mean, differ) = match algorithm_a(&logarithms) {
            Ok(robust) => (robust.mean, robust.standard_deviation.powi(2)),
            Err(_) if all.len() == 2 => {
                let [a, b] = [logarithms[0], logarithms[1]];
                (f64::midpoint(a, b), 0.5 * (a - b).powi(2))
            }
            Err(_) => return None,
        };
        let chance = all.iter().map(|(_, dof)| 2.0 / dof).sum::<f64>() / all.len() as f64;
        // The common value rests on each of them too, which is not counted twice.
        let others = 1.0 - 1.0 / all.len() as f64;
        let most = others * all.iter().map(|(_, dof)| dof).sum::<f64>();
        let sure = 2.0 / (differ - chance).max(f64::MIN_POSITIVE);
        Some(Self {
            logarithm: mean,
            dof: sure.min(most),
        })
    }

    /// A variance shrunk towards the common one, with its degrees of freedom; one that differs by more than chance explains is
    /// left alone.
    fn shrink(&self, variance: f64, dof: f64) -> (f64, f64) {
        let far = (variance.ln() - self.logarithm).powi(2);
        if far > OTHER.powi(2) * (2.0 / dof + 2.0 / self.dof) {
            return (variance, dof);
        }
        let both = self.dof + dof;
        (
            (self.dof * self.logarithm.exp() + dof * variance) / both,
            both,
        )
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

/// The degrees of freedom of a robust variance, from those of the ordinary one.
fn degrees_of_freedom(ordinary: usize) -> f64 {
    ordinary as f64 / ROBUST
}

/// The factor by which the variance of repeated readings of each quantity exceeds what the benches state, with its degrees of
/// freedom; `None` if too few benches have repeated readings.
fn scatters(class: &[Values], places: &[Vec<(usize, usize)>]) -> Vec<Option<(f64, f64)>> {
    let found: Vec<Option<(f64, f64)>> = places
        .iter()
        .map(|places| {
            let repeats = places.iter().map(|(b, at)| &class[*b].repeats[*at]);
            let repeats: Vec<&Vec<Repeat>> = repeats.filter(|all| all.len() > 1).collect();
            if repeats.len() < FEWEST {
                return None;
            }
            let dof: usize = repeats.iter().map(|all| all.len() - 1).sum();
            let scaled = repeats.iter().flat_map(|all| {
                let count = all.len() as f64;
                let scale = (count / (count - 1.0)).sqrt();
                all.iter().map(move |one| scale * one.apart / one.deviation)
            });
            let robust = algorithm_a(&scaled.collect::<Vec<_>>()).ok()?;
            let variance = robust.standard_deviation.powi(2);
            (variance > 0.0).then_some((variance, degrees_of_freedom(dof)))
        })
        .collect();
    let all: Vec<(f64, f64)> = found.iter().flatten().copied().collect();
    let Some(common) = Common::from_variances(&all) else {
        return found;
    };
    let each = found.into_iter();
    each.map(|one| one.map(|(variance, dof)| common.shrink(variance, dof)))
        .collect()
}
