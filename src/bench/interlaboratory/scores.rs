//! Scores: how far a result lies from the assigned value, in terms of what was to be expected (ISO 13528:2015, clause 9).
//!
//! z and z′ judge by the standard deviation `σ_pt` that results are allowed, ζ and *E*ₙ by the uncertainty that the result
//! itself claims. ζ and *E*ₙ take the result and the assigned value as independent, which they are not where the assigned
//! value is a mean that the result is part of.

/// Scores of decimal readings leave the limits by the rounding of their binary form.
const ROUNDING: f64 = 1e-9;

/// How a score is interpreted (ISO 13528:2015, 9.4.2).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Performance {
    /// At most 2 in size.
    Acceptable,
    /// Between 2 and 3: a warning signal.
    Warning,
    /// 3 or more: an action signal.
    Action,
}

impl Performance {
    /// The class of a z, z′ or ζ score, a pure number; `None` for NaN.
    #[must_use]
    pub fn from_score(score: f64) -> Option<Self> {
        let size = score.abs();
        if size.is_nan() {
            None
        } else if size <= 2.0 * (1.0 + ROUNDING) {
            Some(Self::Acceptable)
        } else if size < 3.0 * (1.0 - ROUNDING) {
            Some(Self::Warning)
        } else {
            Some(Self::Action)
        }
    }
}

/// z score (ISO 13528:2015, 9.4): the result's difference from the assigned value over the standard deviation for
/// proficiency assessment `σ_pt`, all in one unit. NaN unless `deviation` is more than 0.
#[must_use]
pub fn z(value: f64, assigned: f64, deviation: f64) -> f64 {
    z_prime(value, assigned, deviation, 0.0)
}

/// z′ score (ISO 13528:2015, 9.5): as [`z`], with the standard uncertainty of the assigned value taken into account, for
/// use where that is not negligible. All in one unit; NaN unless `deviation` is more than 0.
#[must_use]
pub fn z_prime(value: f64, assigned: f64, deviation: f64, u_assigned: f64) -> f64 {
    if deviation > 0.0 {
        over(value - assigned, deviation, u_assigned)
    } else {
        f64::NAN
    }
}

/// ζ score (ISO 13528:2015, 9.6): the result's difference from the assigned value over its standard uncertainty, from
/// those of both. All in one unit; NaN where both uncertainties are 0.
#[must_use]
pub fn zeta(value: f64, u: f64, assigned: f64, u_assigned: f64) -> f64 {
    over(value - assigned, u, u_assigned)
}

/// *E*ₙ score (ISO 13528:2015, 9.7): as [`zeta`], a number of expanded uncertainties. All in one unit; NaN where both
/// uncertainties are 0.
#[must_use]
pub fn e_n(value: f64, expanded: f64, assigned: f64, expanded_assigned: f64) -> f64 {
    over(value - assigned, expanded, expanded_assigned)
}

/// Whether an *E*ₙ score, a pure number, is acceptable: less than 1 in size (ISO 13528:2015, 9.7). That of NaN is not.
#[must_use]
pub fn e_n_acceptable(score: f64) -> bool {
    score.abs() < 1.0 - ROUNDING
}

/// Whether the standard uncertainty of the assigned value is negligible beside the standard deviation for proficiency
/// assessment, being at most 0.3 of it (ISO 13528:2015, 9.2.1). Both in one unit.
#[must_use]
pub fn is_negligible(u_assigned: f64, deviation: f64) -> bool {
    u_assigned <= 0.3 * deviation * (1.0 + ROUNDING)
}

fn over(difference: f64, a: f64, b: f64) -> f64 {
    let size = a.hypot(b);
    if size > 0.0 {
        difference / size
    } else {
        f64::NAN
    }
}
