//! Quantiles and tails of the distributions that a report needs, in one place.
//!
//! Tails come from `statrs`; quantiles are found from them by false position, which holds for any degrees of freedom,
//! whole or not. A question without an answer (a probability outside ]0, 1[, no degrees of freedom) is answered by NaN, as
//! the functions of `f64` do.

use std::cell::RefCell;
use std::collections::HashMap;

use statrs::distribution::{
    ChiSquared, Continuous, ContinuousCDF, FisherSnedecor, Normal, StudentsT,
};

/// From this on, Student's t comes from the normal factor by a series, whose rest is then below 10⁻¹²; direct evaluation
/// loses digits to large gamma functions.
const MANY_DEGREES: f64 = 1e5;

/// Tails of very few degrees of freedom reach further than this, but cannot be evaluated there.
const FARTHEST: f64 = 1e150;

/// A quantile that false position has not found after so many steps is left to halving.
const MOST_SECANTS: usize = 40;

/// So many values of Student's t are remembered: a run asks for those of the same few degrees of freedom again and again.
const MOST_REMEMBERED: usize = 1024;

/// Two-sided coverage factor of Student's t: the t with P(|T| ≤ t) = `probability`, for `dof` degrees of freedom,
/// which may be fractional (JCGM 100:2008, G.3 and Table G.2); infinite `dof` gives the normal distribution's factor.
///
/// ```
/// assert!((fillmark::bench::fit::student_t(0.95, 4.0) - 2.776_445).abs() < 1e-6);
/// assert!((fillmark::bench::fit::student_t(0.95, f64::INFINITY) - 1.959_964).abs() < 1e-6);
/// ```
pub fn student_t(probability: f64, dof: f64) -> f64 {
    student_t_tail(0.5 * (1.0 - probability), dof)
}

/// Returns the t that is exceeded, on the upper side alone, with probability `tail` ≤ 1/2.
///
/// A small tail is taken as such, since 1 − `tail` would lose its digits.
pub fn student_t_tail(tail: f64, dof: f64) -> f64 {
    thread_local! {
        static FOUND: RefCell<HashMap<[u64; 2], f64>> = RefCell::default();
    }
    let key = [tail.to_bits(), dof.to_bits()];
    if let Some(found) = FOUND.with_borrow(|found| found.get(&key).copied()) {
        return found;
    }
    let t = find_student_t_tail(tail, dof);
    FOUND.with_borrow_mut(|found| {
        if found.len() >= MOST_REMEMBERED {
            found.clear();
        }
        found.insert(key, t);
    });
    t
}

/// Returns the h with P(|T + `shift`| ≤ h) = `probability`, T being Student's t of `dof` degrees of freedom: the
/// half-width, in standard uncertainties, of an interval about a value that is known to lie `shift` of them beside the
/// best estimate.
/// [`student_t`] without a shift, and the one-sided factor beyond a large one.
///
/// ```
/// assert!((fillmark::bench::fit::shifted_t(0.95, f64::INFINITY, 0.0) - 1.959_964).abs() < 1e-6);
/// assert!((fillmark::bench::fit::shifted_t(0.95, f64::INFINITY, -10.0) - 11.644_854).abs() < 1e-6);
/// ```
pub fn shifted_t(probability: f64, dof: f64, shift: f64) -> f64 {
    let without = student_t(probability, dof);
    let shift = shift.abs();
    if shift == 0.0 || !shift.is_finite() || !without.is_finite() {
        return without + shift;
    }
    let one_sided = student_t_tail((1.0 - probability).min(0.5), dof);
    // It is no less than either.
    let near = without.max(shift + one_sided);
    let tail = 1.0 - probability;
    let found = if dof >= MANY_DEGREES {
        Normal::new(0.0, 1.0).map_or(f64::NAN, |d| two_tails(tail, near, shift, &d))
    } else {
        StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |d| two_tails(tail, near, shift, &d))
    };
    found.max(near)
}

/// Returns the h beyond ±h of which a symmetric distribution, shifted, has the probability `tail`.
fn two_tails(
    tail: f64,
    near: f64,
    shift: f64,
    d: &(impl ContinuousCDF<f64, f64> + Continuous<f64, f64>),
) -> f64 {
    solve(
        tail,
        near,
        |h| d.sf(h - shift) + d.sf(h + shift),
        |h| d.pdf(h - shift) + d.pdf(h + shift),
    )
}

/// Returns the half-width about zero that holds the sum of a rectangular error within ±`limit` and a normal one of
/// standard deviation
/// `deviation` with some probability.
///
/// ```
/// // JCGM 101:2008, 9.2.4: three rectangular errors of standard deviation 1 beside one of 10 (from memory).
/// let half_width = fillmark::bench::fit::rectangular_and_normal(0.95, 10.0 * 3f64.sqrt(), 3f64.sqrt());
/// assert!((half_width - 17.0).abs() < 0.05);
/// ```
pub fn rectangular_and_normal(probability: f64, limit: f64, deviation: f64) -> f64 {
    let Ok(normal) = Normal::new(0.0, 1.0) else {
        return f64::NAN;
    };
    if deviation <= 1e-9 * limit {
        return probability * limit;
    }
    // The integral of the normal distribution function.
    let integral = |x: f64| x * normal.cdf(x) + normal.pdf(x);
    quantile(1.0 - probability, |h| {
        let between = integral((h + limit) / deviation) - integral((h - limit) / deviation);
        2.0 - deviation / limit * between
    })
}

/// Returns the distribution function of Student's t; of the normal distribution for infinitely many degrees of freedom.
pub fn student_t_below(t: f64, dof: f64) -> f64 {
    if dof < MANY_DEGREES {
        return StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |d| d.cdf(t));
    }
    Normal::new(0.0, 1.0).map_or(f64::NAN, |normal| normal.cdf(t))
}

/// Returns the probability that the sum of a rectangular error within ±`limit` and a normal one of standard deviation
/// `deviation` is less than a number.
pub fn rectangular_and_normal_below(x: f64, limit: f64, deviation: f64) -> f64 {
    let Ok(normal) = Normal::new(0.0, 1.0) else {
        return f64::NAN;
    };
    if deviation <= 1e-9 * limit {
        return (0.5 + 0.5 * x / limit).clamp(0.0, 1.0);
    }
    let integral = |x: f64| x * normal.cdf(x) + normal.pdf(x);
    let between = integral((x + limit) / deviation) - integral((x - limit) / deviation);
    (deviation / (2.0 * limit) * between).clamp(0.0, 1.0)
}

fn find_student_t_tail(tail: f64, dof: f64) -> f64 {
    if !(tail > 0.0 && tail <= 0.5) {
        return f64::NAN;
    }
    if dof >= MANY_DEGREES {
        return Normal::new(0.0, 1.0).map_or(f64::NAN, |normal| {
            near_normal(quantile(tail, |x| normal.sf(x)), dof)
        });
    }
    let Ok(t) = StudentsT::new(0.0, 1.0, dof) else {
        return f64::NAN;
    };
    let near = Normal::new(0.0, 1.0).map_or(f64::NAN, |normal| {
        near_normal(-normal.inverse_cdf(tail), dof)
    });
    solve(tail, near, |x| t.sf(x), |x| t.pdf(x))
}

/// Returns the t of many degrees of freedom that belongs to the normal factor z (Abramowitz and Stegun 1964, 26.7.5).
fn near_normal(z: f64, dof: f64) -> f64 {
    z + (z.powi(3) + z) / (4.0 * dof)
        + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * dof * dof)
}

/// Returns the χ² that is not exceeded with `probability`, for `dof` degrees of freedom.
pub fn chi_squared_quantile(probability: f64, dof: f64) -> f64 {
    if !dof.is_finite() {
        return f64::NAN;
    }
    ChiSquared::new(dof).map_or(f64::NAN, |d| quantile(1.0 - probability, |x| d.sf(x)))
}

/// Returns the probability that χ² with `dof` degrees of freedom exceeds `observed`: the p-value of a χ² test.
pub fn chi_squared_tail(observed: f64, dof: f64) -> f64 {
    if !(observed >= 0.0 && dof.is_finite()) {
        return f64::NAN;
    }
    ChiSquared::new(dof).map_or(f64::NAN, |d| d.sf(observed))
}

/// Returns the F that is not exceeded with `probability`, for degrees of freedom of numerator and denominator.
pub fn f_quantile(probability: f64, numerator: f64, denominator: f64) -> f64 {
    FisherSnedecor::new(numerator, denominator)
        .map_or(f64::NAN, |d| quantile(1.0 - probability, |x| d.sf(x)))
}

/// Returns the probability that Student's t exceeds `t` in size, on either side; infinite `dof` gives the normal
/// distribution's.
pub fn two_sided_tail(t: f64, dof: f64) -> f64 {
    2.0 * student_t_below(-t.abs(), dof)
}

/// Returns the probability that F exceeds `observed`: the p-value of an F test.
pub fn f_tail(observed: f64, numerator: f64, denominator: f64) -> f64 {
    if observed.is_nan() || observed < 0.0 {
        return f64::NAN;
    }
    if observed.is_infinite() {
        return 0.0;
    }
    FisherSnedecor::new(numerator, denominator).map_or(f64::NAN, |d| d.sf(observed))
}

/// Returns the x ≥ 0 whose falling `upper_tail` is `tail`, where its derivative, `density`, is known: by Newton's
/// method on the logarithm of the tail, from a value `near` it, or else by [`quantile`].
fn solve(
    tail: f64,
    near: f64,
    upper_tail: impl Fn(f64) -> f64,
    density: impl Fn(f64) -> f64,
) -> f64 {
    const MOST_STEPS: usize = 10;
    let mut x = near;
    for _ in 0..MOST_STEPS {
        if !(0.0..FARTHEST).contains(&x) {
            break;
        }
        let beyond = upper_tail(x);
        let step = (beyond / tail).ln() * beyond / density(x);
        x += step;
        // The error that is left is about the square of the step.
        if step.abs() <= 1e-8 * x {
            return x;
        }
    }
    quantile(tail, upper_tail)
}

/// Returns the x ≥ 0 whose falling `upper_tail` is `tail`; NaN unless 0 < `tail` < 1, infinite where no finite x is far
/// enough.
///
/// False position in the Illinois form (Dowell and Jarratt 1971) on the logarithm of the tail, which is nearly straight
/// between two points that differ by a factor of two.
fn quantile(tail: f64, upper_tail: impl Fn(f64) -> f64) -> f64 {
    if !(tail > 0.0 && tail < 1.0) {
        return f64::NAN;
    }
    let beyond = |x: f64| (upper_tail(x) / tail).ln();
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let mut above = beyond(low);
    let mut below = beyond(high);
    while below > 0.0 {
        (low, above) = (high, below);
        high *= 2.0;
        if high > FARTHEST {
            return f64::INFINITY;
        }
        below = beyond(high);
    }
    let mut moved_low = None;
    // The count bounds quantiles close to zero.
    for round in 0..200 {
        let least = f64::EPSILON * high;
        if high - low <= 2.0 * least {
            break;
        }
        let secant = low + (high - low) * above / (above - below);
        let at = if round < MOST_SECANTS && secant.is_finite() && below.is_finite() {
            secant.max(low + least).min(high - least)
        } else {
            0.5 * (low + high)
        };
        let value = beyond(at);
        // An end that stays while the other one moves twice counts for half.
        if value > 0.0 {
            (low, above) = (at, value);
            if moved_low == Some(true) {
                below *= 0.5;
            }
        } else {
            (high, below) = (at, value);
            if moved_low == Some(false) {
                above *= 0.5;
            }
        }
        moved_low = Some(value > 0.0);
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shifted_interval_holds_what_it_is_to_hold() {
        for dof in [1.0, 2.0, 3.7, 30.0, 2e4, f64::INFINITY] {
            for probability in [0.5, 0.683, 0.95, 0.99] {
                let mut last = student_t(probability, dof);
                for shift in [1e-9, 1e-3, 0.1, 0.5, 1.0, 2.0, 5.0, 40.0] {
                    let h = shifted_t(probability, dof, shift);
                    assert!((h - shifted_t(probability, dof, -shift)).abs() < 1e-12);
                    assert!(h >= last - 1e-12, "{dof}, {shift}: {h} after {last}");
                    last = h;
                    let tails = if dof.is_finite() {
                        let t = StudentsT::new(0.0, 1.0, dof).unwrap();
                        t.sf(h - shift) + t.sf(h + shift)
                    } else {
                        let normal = Normal::new(0.0, 1.0).unwrap();
                        normal.sf(h - shift) + normal.sf(h + shift)
                    };
                    assert!(
                        (1.0 - tails - probability).abs() < 1e-9,
                        "{dof}, {shift}: {tails}"
                    );
                }
            }
        }
        let near = shifted_t(0.95, 4.0, 1e-12) - student_t(0.95, 4.0);
        assert!(near.abs() < 1e-11, "continuous at no shift: {near}");
    }

    #[test]
    fn questions_without_answer_give_nan() {
        for p in [f64::NAN, -0.1, 1.0, 1.5] {
            assert!(student_t(p, 4.0).is_nan(), "student_t({p})");
            assert!(chi_squared_quantile(p, 4.0).is_nan(), "chi²({p})");
            assert!(f_quantile(p, 4.0, 3.0).is_nan(), "F({p})");
        }
        for dof in [f64::NAN, -1.0, 0.0] {
            assert!(student_t(0.95, dof).is_nan(), "dof {dof}");
            assert!(chi_squared_quantile(0.95, dof).is_nan(), "dof {dof}");
            assert!(chi_squared_tail(1.0, dof).is_nan(), "dof {dof}");
            assert!(f_tail(1.0, dof, 3.0).is_nan(), "dof {dof}");
        }
    }

    #[test]
    fn student_t_reaches_the_normal_factor() {
        let z = student_t(0.95, f64::INFINITY);
        assert!((z - 1.959_963_984_540_054).abs() < 1e-10, "{z}");
        for (dof, room) in [(1e3, 1e-8), (1e4, 1e-9), (0.999e5, 1e-9)] {
            let (t, series) = (student_t(0.95, dof), near_normal(z, dof));
            assert!((t - series).abs() < room, "dof {dof}: {t} against {series}");
        }
        let mut last = f64::INFINITY;
        for dof in [0.9e5, 1e5, 1.1e5, 1e7, 1e12, f64::INFINITY] {
            let t = student_t(0.95, dof);
            assert!(t <= last, "dof {dof}: {t} after {last}");
            last = t;
        }
    }

    #[test]
    fn few_degrees_of_freedom_never_hang() {
        for dof in [1e-3, 0.01, 0.1, 0.5] {
            let t = student_t(0.95, dof);
            assert!(t > 12.7, "dof {dof}: {t}");
        }
        assert!(chi_squared_quantile(0.95, 0.1).is_finite(), "χ²");
    }

    #[test]
    fn quantiles_are_found_in_few_steps() {
        for (tail, dof) in [
            (0.025, 1.0),
            (0.025, 4.3),
            (0.025, 900.0),
            (1e-6, 2.0),
            (0.3, 12.0),
        ] {
            let t = StudentsT::new(0.0, 1.0, dof).unwrap();
            let steps = std::cell::Cell::new(0);
            let found = quantile(tail, |x| {
                steps.set(steps.get() + 1);
                t.sf(x)
            });
            assert!(
                (t.sf(found) / tail - 1.0).abs() < 1e-11,
                "{tail} {dof}: {found}"
            );
            assert!(steps.get() < 40, "{tail} {dof}: {} steps", steps.get());
        }
    }

    #[test]
    fn quantiles_invert_tails() {
        for (a, b) in [(1.0, 1.0), (3.0, 5.0), (2.0, 30.0)] {
            assert!(
                (f_tail(f_quantile(0.95, a, b), a, b) - 0.05).abs() < 1e-12,
                "F {a} {b}"
            );
        }
        for dof in [1.0, 2.0, 7.5, 100.0] {
            let x = chi_squared_quantile(0.95, dof);
            assert!((chi_squared_tail(x, dof) - 0.05).abs() < 1e-12, "χ² {dof}");
        }
        // χ² of two degrees of freedom is an exponential.
        assert!(
            (chi_squared_quantile(0.95, 2.0) + 2.0 * 0.05_f64.ln()).abs() < 1e-12,
            "χ² 2"
        );
    }
}
