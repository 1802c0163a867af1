//! The words for results that were calculated by hand, and for the points that they earn.

use super::super::model::Scale;
use super::super::vocabulary::{Form, Key, Measure, Scaled, Section};
use super::{HIGHEST, between, optional, zero_or_more};
use crate::bench::quantity::Unit;

keys! {
    CLAIMED: Form = optional("claimed", Form::Section(&CLAIMED_KEYS),
        "Results calculated by hand from these readings, at any step; the report judges each.");
}

section! {
    CLAIMED_KEYS = "the claimed results";
    SALT_MASSES: Form = optional("mass of salt", Form::NamedValues(&SALT_MASS),
        "The salt weighed out, by the solution's name.");
    DENSITIES_CLAIMED: Form = optional("densities", Form::NamedValues(&DENSITY_CLAIMED),
        "Densities, by the solution's name; those of single weighings by names such as A, weighing 2.");
    CONCENTRATIONS: Form = optional("mass concentration", Form::NamedValues(&CONCENTRATION_CLAIMED),
        "Mass concentrations of the solutions made, by the solution's name.");
    PERCENTS: Form = optional("mass percent", Form::NamedValues(&PERCENT_CLAIMED),
        "Mass percents of the solutions made, by the solution's name.");
    MOLARITIES: Form = optional("molarity", Form::NamedValues(&MOLARITY_CLAIMED),
        "Amount concentrations of the solutions made, by the solution's name.");
    MOLALITIES: Form = optional("molality", Form::NamedValues(&MOLALITY_CLAIMED),
        "Molalities of the solutions made, by the solution's name.");
    INTERCEPT: Measure = optional("intercept", any(Unit::GRAM_PER_MILLILITRE),
        "The claimed intercept of density against composition, such as 0.9978 g/mL.");
    SLOPE: Measure = optional("slope", any(Unit::ONE),
        "The claimed slope of density against composition, such as 0.00713: g/mL for each unit of the scale of the calibration, \
        written without a unit.");
    UNKNOWNS: Form = optional("unknown", Form::NamedValues(&UNKNOWN_CLAIMED),
        "Compositions of unknowns, by the solution's name.");
}

keys! {
    SALT_MASS: Measure = optional("mass", any(Unit::GRAM), "The mass claimed, such as 20.06 g.");
    DENSITY_CLAIMED: Measure = optional("density", any(Unit::GRAM_PER_MILLILITRE),
        "The density claimed, such as 1.0712 g/mL.");
    CONCENTRATION_CLAIMED: Measure = optional("concentration", any(Unit::GRAM_PER_LITRE),
        "The mass concentration claimed, such as 99.8 g/L.");
    PERCENT_CLAIMED: Measure = optional("percent", any(Unit::PERCENT), "The mass percent claimed, such as 9.31 %.");
    MOLARITY_CLAIMED: Measure = optional("molarity", any(Unit::MOLE_PER_LITRE),
        "The amount concentration claimed, such as 1.71 mol/L.");
    MOLALITY_CLAIMED: Measure = optional("molality", any(Unit::MOLE_PER_KILOGRAM),
        "The molality claimed, such as 1.76 mol/kg.");
    UNKNOWN_CLAIMED: Scaled = optional("composition", Scaled(&STRENGTHS_CLAIMED),
        "The composition claimed, such as 5.6 %.");
}

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

keys! {
    POINTS: Form = optional("points", Form::Section(&POINTS_KEYS),
        "Points for each claimed result of a kind that is correct, or that follows from an earlier claimed result.");
}

section! {
    POINTS_KEYS = "the points";
    POINTS_SALT_MASS: Measure = points("mass of salt", "For each mass of salt.");
    POINTS_DENSITY: Measure = points("densities", "For each density.");
    POINTS_CONCENTRATION: Measure = points("mass concentration", "For each mass concentration.");
    POINTS_PERCENT: Measure = points("mass percent", "For each mass percent.");
    POINTS_MOLARITY: Measure = points("molarity", "For each amount concentration.");
    POINTS_MOLALITY: Measure = points("molality", "For each molality.");
    POINTS_INTERCEPT: Measure = points("intercept", "For the intercept.");
    POINTS_SLOPE: Measure = points("slope", "For the slope.");
    POINTS_UNKNOWN: Measure = points("unknown", "For the composition of each unknown.");
    POINTS_DIGITS: Measure = points("digits",
        "For each claimed result that is written with as many digits as its uncertainty supports.");
}

/// Any value: a wrong one may be less than nothing, or more than anything that dissolves.
const fn any(unit: Unit) -> Measure {
    between(unit, -HIGHEST, HIGHEST, "a number")
}

const fn points(name: &'static str, about: &'static str) -> Key<Measure> {
    optional(name, zero_or_more(Unit::ONE), about)
}
