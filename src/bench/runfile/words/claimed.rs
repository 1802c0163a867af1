//! The words for results that were calculated by hand, and for the points that they earn.

use super::super::model::Scale;
use super::super::vocabulary::{Form, Key, Measure, Scaled, Section};
use super::{optional, zero_or_more};
use crate::bench::quantity::Unit;

pub(in crate::bench::runfile) static CLAIMED: Key<Form> = optional(
    "claimed",
    Form::Section(&CLAIMED_KEYS),
    "Results calculated by hand from these readings, at any step; the report judges each.",
);
pub(in crate::bench::runfile) static CLAIMED_KEYS: Section = Section::of(
    "the claimed results",
    &[
        &SALT_MASSES,
        &DENSITIES_CLAIMED,
        &CONCENTRATIONS,
        &PERCENTS,
        &MOLARITIES,
        &MOLALITIES,
        &INTERCEPT,
        &SLOPE,
        &UNKNOWNS,
    ],
);
pub(in crate::bench::runfile) static SALT_MASSES: Key<Form> = optional(
    "mass of salt",
    Form::NamedValues(&SALT_MASS),
    "The salt weighed out, by the solution's name.",
);
pub(in crate::bench::runfile) static SALT_MASS: Key<Measure> = optional(
    "mass",
    any(Unit::GRAM),
    "The mass claimed, such as 20.06 g.",
);
pub(in crate::bench::runfile) static DENSITIES_CLAIMED: Key<Form> = optional(
    "densities",
    Form::NamedValues(&DENSITY_CLAIMED),
    "Densities, by the solution's name; those of single weighings by names such as A, weighing 2.",
);
pub(in crate::bench::runfile) static DENSITY_CLAIMED: Key<Measure> = optional(
    "density",
    any(Unit::GRAM_PER_MILLILITRE),
    "The density claimed, such as 1.0712 g/mL.",
);
pub(in crate::bench::runfile) static CONCENTRATIONS: Key<Form> = optional(
    "mass concentration",
    Form::NamedValues(&CONCENTRATION_CLAIMED),
    "Mass concentrations of the solutions made, by the solution's name.",
);
pub(in crate::bench::runfile) static CONCENTRATION_CLAIMED: Key<Measure> = optional(
    "concentration",
    any(Unit::GRAM_PER_LITRE),
    "The mass concentration claimed, such as 99.8 g/L.",
);
pub(in crate::bench::runfile) static PERCENTS: Key<Form> = optional(
    "mass percent",
    Form::NamedValues(&PERCENT_CLAIMED),
    "Mass percents of the solutions made, by the solution's name.",
);
pub(in crate::bench::runfile) static PERCENT_CLAIMED: Key<Measure> = optional(
    "percent",
    any(Unit::PERCENT),
    "The mass percent claimed, such as 9.31 %.",
);
pub(in crate::bench::runfile) static MOLARITIES: Key<Form> = optional(
    "molarity",
    Form::NamedValues(&MOLARITY_CLAIMED),
    "Amount concentrations of the solutions made, by the solution's name.",
);
pub(in crate::bench::runfile) static MOLARITY_CLAIMED: Key<Measure> = optional(
    "molarity",
    any(Unit::MOLE_PER_LITRE),
    "The amount concentration claimed, such as 1.71 mol/L.",
);
pub(in crate::bench::runfile) static MOLALITIES: Key<Form> = optional(
    "molality",
    Form::NamedValues(&MOLALITY_CLAIMED),
    "Molalities of the solutions made, by the solution's name.",
);
pub(in crate::bench::runfile) static MOLALITY_CLAIMED: Key<Measure> = optional(
    "molality",
    any(Unit::MOLE_PER_KILOGRAM),
    "The molality claimed, such as 1.76 mol/kg.",
);
pub(in crate::bench::runfile) static INTERCEPT: Key<Measure> = optional(
    "intercept",
    any(Unit::GRAM_PER_MILLILITRE),
    "The claimed intercept of density against composition, such as 0.9978 g/mL.",
);
pub(in crate::bench::runfile) static SLOPE: Key<Measure> = optional(
    "slope",
    any(Unit::ONE),
    "The claimed slope of density against composition, such as 0.00713: g/mL for each unit of the scale of the calibration, \
     written without a unit.",
);
pub(in crate::bench::runfile) static UNKNOWNS: Key<Form> = optional(
    "unknown",
    Form::NamedValues(&UNKNOWN_CLAIMED),
    "Compositions of unknowns, by the solution's name.",
);
pub(in crate::bench::runfile) static UNKNOWN_CLAIMED: Key<Scaled> = optional(
    "composition",
    Scaled(&STRENGTHS_CLAIMED),
    "The composition claimed, such as 5.6 %.",
);
/// In the order of the scales of strengths.
static STRENGTHS_CLAIMED: [Measure; 4] = [
    any(Unit::PERCENT),
    any(Unit::GRAM_PER_LITRE),
    any(Unit::MOLE_PER_LITRE),
    any(Unit::MOLE_PER_KILOGRAM),
];
/// The compositions by solution, with the scale of each.
pub(in crate::bench::runfile) static CLAIMS_ON_SCALES: [(&Key<Form>, &Key<Measure>, Scale); 4] = [
    (&PERCENTS, &PERCENT_CLAIMED, Scale::MassPercent),
    (
        &CONCENTRATIONS,
        &CONCENTRATION_CLAIMED,
        Scale::MassConcentration,
    ),
    (&MOLARITIES, &MOLARITY_CLAIMED, Scale::Molarity),
    (&MOLALITIES, &MOLALITY_CLAIMED, Scale::Molality),
];

pub(in crate::bench::runfile) static POINTS: Key<Form> = optional(
    "points",
    Form::Section(&POINTS_KEYS),
    "Points for each claimed result of a kind that is correct, or that follows from an earlier claimed result.",
);
pub(in crate::bench::runfile) static POINTS_KEYS: Section = Section::of(
    "the points",
    &[
        &POINTS_SALT_MASS,
        &POINTS_DENSITY,
        &POINTS_CONCENTRATION,
        &POINTS_PERCENT,
        &POINTS_MOLARITY,
        &POINTS_MOLALITY,
        &POINTS_INTERCEPT,
        &POINTS_SLOPE,
        &POINTS_UNKNOWN,
        &POINTS_DIGITS,
    ],
);
pub(in crate::bench::runfile) static POINTS_SALT_MASS: Key<Measure> =
    points("mass of salt", "For each mass of salt.");
pub(in crate::bench::runfile) static POINTS_DENSITY: Key<Measure> =
    points("densities", "For each density.");
pub(in crate::bench::runfile) static POINTS_CONCENTRATION: Key<Measure> =
    points("mass concentration", "For each mass concentration.");
pub(in crate::bench::runfile) static POINTS_PERCENT: Key<Measure> =
    points("mass percent", "For each mass percent.");
pub(in crate::bench::runfile) static POINTS_MOLARITY: Key<Measure> =
    points("molarity", "For each amount concentration.");
pub(in crate::bench::runfile) static POINTS_MOLALITY: Key<Measure> =
    points("molality", "For each molality.");
pub(in crate::bench::runfile) static POINTS_INTERCEPT: Key<Measure> =
    points("intercept", "For the intercept.");
pub(in crate::bench::runfile) static POINTS_SLOPE: Key<Measure> = points("slope", "For the slope.");
pub(in crate::bench::runfile) static POINTS_UNKNOWN: Key<Measure> =
    points("unknown", "For the composition of each unknown.");
pub(in crate::bench::runfile) static POINTS_DIGITS: Key<Measure> = points(
    "digits",
    "For each claimed result that is written with as many digits as its uncertainty supports.",
);

/// Any value: a wrong one may be less than nothing, or more than anything that dissolves.
const fn any(unit: Unit) -> Measure {
    Measure {
        unit,
        low: -1e9,
        low_allowed: true,
        high: 1e9,
        limits: "a number",
    }
}

const fn points(name: &'static str, about: &'static str) -> Key<Measure> {
    optional(name, zero_or_more(Unit::ONE), about)
}
