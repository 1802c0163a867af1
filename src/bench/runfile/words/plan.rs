//! The words of a plan file: what a series is to give, before it is made.

use super::super::model::Scale;
use super::super::vocabulary::{Count, Form, Key, Measure, Range, Section, SolutionName, Strength};
use super::{APPARATUS, CONDITIONS, PLACE, SOLUTE, TITLE};
use super::{optional, positive, ratio, required};
use crate::bench::quantity::Unit;

section! {
    PLAN_FILE = "a plan file";
    TITLE; PLACE; CONDITIONS; SOLUTE; APPARATUS;
    PLAN: Form = required("plan", Form::Section(&PLAN_KEYS),
        "The solutions to be made, and the target uncertainty of the unknown.");
}

section! {
    PLAN_KEYS = "the plan";
    SOLUTIONS_WANTED: Form = required("solutions", Form::Named(&WANTED_KEYS),
        "The solutions to be made, by name; water is weighed as well.");
    STOCK: SolutionName = optional("stock", SolutionName,
        "The only solution whose salt is weighed: the others are diluted from it. If omitted, every way is tried.");
    UNKNOWN_EXPECTED: Form = required("unknown", Form::Section(&UNKNOWN_KEYS),
        "The solution whose strength is to be found.");
    WEIGHINGS_PLANNED: Count = optional("weighings", Count(20),
        "Number of weighings of each solution; three by default.");
    U_WANTED: Strength = optional("wanted", Strength(&STRENGTHS),
        "The largest acceptable expanded uncertainty of the unknown's strength.");
}

section! {
    UNKNOWN_KEYS = "the unknown of a plan";
    EXPECTED: Range = required("expected", Range(&STRENGTHS),
        "The range in which its strength is expected: 3 to 8 %.");
}

section! {
    WANTED_KEYS = "a solution wanted",
        exactly_one_of(&[&[&MASS_PERCENT], &[&MASS_CONCENTRATION], &[&MOLARITY], &[&MOLALITY]]);
    MASS_PERCENT: Measure = optional("mass percent", MASS_RATIO, "Its mass percent.");
    MASS_CONCENTRATION: Measure = optional("mass concentration", positive(Unit::GRAM_PER_LITRE),
        "Its mass concentration.");
    MOLARITY: Measure = optional("molarity", positive(Unit::MOLE_PER_LITRE), "Its amount concentration.");
    MOLALITY: Measure = optional("molality", positive(Unit::MOLE_PER_KILOGRAM), "Its molality.");
    VOLUME_WANTED: Measure = required("volume", positive(Unit::MILLILITRE),
        "The volume needed, including its weighings.");
}

/// The strengths of a solution wanted, with the scale of each.
pub(in crate::bench::runfile) static STRENGTH_KEYS: [(&Key<Measure>, Scale); 4] = [
    (&MASS_PERCENT, Scale::MassPercent),
    (&MASS_CONCENTRATION, Scale::MassConcentration),
    (&MOLARITY, Scale::Molarity),
    (&MOLALITY, Scale::Molality),
];

pub(super) const MASS_RATIO: Measure = Measure {
    unit: Unit::PERCENT,
    ..ratio(0.9, "more than 0 % and at most 90 %")
};
/// A strength on each scale, in the order of [`Scale::ALL`].
pub(super) static STRENGTHS: [Measure; 4] = [
    MASS_RATIO,
    positive(Unit::GRAM_PER_LITRE),
    positive(Unit::MOLE_PER_LITRE),
    positive(Unit::MOLE_PER_KILOGRAM),
];
