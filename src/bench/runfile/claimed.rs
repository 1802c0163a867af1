//! Results as somebody calculated them by hand, and the points that they earn.

use super::at::At;
use super::fields::{Fields, Value};
use super::model::{Claim, Points, Step};
use super::scalars::{named_on_scale, named_quantity};
use super::scale::Scale;
use super::solutions::{Solutions, find};
use super::vocabulary::{Form, Key};
use super::words;
use crate::problem::Code;

/// So many results of a run may be claimed: each is compared with all that the usual mistakes lead to.
const MOST_CLAIMED: usize = 200;

/// Returns the claimed results of the file, those left blank passed over.
pub(super) fn read(run: &Fields<'_>, solutions: &Solutions) -> Vec<Claim> {
    let section = run.value(&words::CLAIMED);
    let Some(fields) = section.and_then(|section| section.fields(&words::CLAIMED_KEYS)) else {
        return Vec::new();
    };
    let mut claims = Vec::new();
    for (name, value) in read_named(&fields, &words::SALT_MASSES) {
        let solution = find(solutions, &value, &name);
        let read = named_quantity(&value, &words::SALT_MASS);
        claims.extend(solution.zip(read).map(|(of, value)| Claim {
            of: Step::SaltMass(of),
            value,
        }));
    }
    for (name, value) in read_named(&fields, &words::DENSITIES_CLAIMED) {
        let of = density(solutions, &value, &name);
        let read = named_quantity(&value, &words::DENSITY_CLAIMED);
        claims.extend(of.zip(read).map(|(of, value)| Claim { of, value }));
    }
    for (key, of_one, scale) in &words::CLAIMS_ON_SCALES {
        for (name, value) in read_named(&fields, key) {
            let solution = find(solutions, &value, &name);
            let read = named_quantity(&value, of_one);
            claims.extend(solution.zip(read).map(|(of, value)| Claim {
                of: Step::Composition(of, *scale),
                value,
            }));
        }
    }
    for (key, of) in [
        (&words::INTERCEPT, Step::Intercept),
        (&words::SLOPE, Step::Slope),
    ] {
        let read = fields.measure(key);
        claims.extend(read.map(|value| Claim { of, value }));
    }
    for (name, value) in read_named(&fields, &words::UNKNOWNS) {
        let solution = find(solutions, &value, &name);
        let read = named_on_scale(&value, &words::UNKNOWN_CLAIMED);
        claims.extend(solution.zip(read).map(|(of, (measure, value))| Claim {
            of: Step::Composition(of, Scale::ALL[measure]),
            value,
        }));
    }
    if let Some(beyond) = claims.get(MOST_CLAIMED) {
        let entry = beyond.value.entry.clone();
        run.found.add(|| {
            let headline = format!("More than {MOST_CLAIMED} results are claimed.");
            Code::TooManyClaims
                .error(headline)
                .at(entry.name, Some(entry.span))
                .right(format!("at most {MOST_CLAIMED} claimed results in a run"))
        });
    }
    claims
}

/// Returns the values by name at a key that are not blank.
fn read_named<'n>(fields: &Fields<'n>, key: &Key<Form>) -> Vec<(At<String>, Value<'n>)> {
    let value = fields.value(key);
    let mut named = value.map_or_else(Vec::new, |value| value.read_named("solutions"));
    named.retain(|(_, value)| !value.node.is_empty());
    named
}

/// Whose density is named: `A`, or `A, weighing 2`.
fn density(solutions: &Solutions, value: &Value<'_>, name: &At<String>) -> Option<Step> {
    let numbered = || {
        let (solution, single) = name.value.rsplit_once(", ")?;
        let (what, number) = single.split_once(' ')?;
        let number: usize = number.trim().parse().ok()?;
        let is_one = ["weighing", "filling", "reading"].contains(&what) && number > 0;
        (is_one && solutions.find(solution).is_some()).then_some((solution, number))
    };
    if solutions.find(&name.value).is_none()
        && let Some((solution, number)) = numbered()
    {
        let name = At::new(solution.to_owned(), name.entry.clone());
        let of = find(solutions, value, &name)?;
        return Some(Step::SingleDensity(of, number));
    }
    Some(Step::Density(find(solutions, value, name)?))
}

/// Returns the points of the file; `None` if it gives none.
pub(super) fn points(run: &Fields<'_>) -> Option<Points> {
    let section = run.value(&words::POINTS)?;
    let fields = section.fields(&words::POINTS_KEYS)?;
    let given = |key| {
        let read = fields.measure(key);
        read.map_or(0.0, |reading| reading.value.value)
    };
    Some(Points {
        salt_mass: given(&words::POINTS_SALT_MASS),
        density: given(&words::POINTS_DENSITY),
        composition: [
            given(&words::POINTS_PERCENT),
            given(&words::POINTS_CONCENTRATION),
            given(&words::POINTS_MOLARITY),
            given(&words::POINTS_MOLALITY),
        ],
        intercept: given(&words::POINTS_INTERCEPT),
        slope: given(&words::POINTS_SLOPE),
        unknown: given(&words::POINTS_UNKNOWN),
        digits: given(&words::POINTS_DIGITS),
    })
}
