//! The words of a plan file: what a series is to give, before it is made.

use super::super::model::Scale;
use super::super::vocabulary::{Count, Form, Key, Measure, Range, Section, SolutionName, Strength};
use super::{APPARATUS, CONDITIONS, PLACE, SOLUTE, TITLE};
use super::{optional, positive, ratio, required};
use crate::bench::quantity::Unit;

/// A whole plan file.
pub static PLAN_FILE: Section = Section::of(
    "a plan file",
    &[&TITLE, &PLACE, &CONDITIONS, &SOLUTE, &APPARATUS, &PLAN],
);
pub(in crate::bench::runfile) static PLAN: Key<Form> = required(
    "plan",
    Form::Section(&PLAN_KEYS),
    "The solutions to be made, and the target uncertainty of the unknown.",
);
pub(in crate::bench::runfile) static PLAN_KEYS: Section = Section::of(
    "the plan",
    &[
        &SOLUTIONS_WANTED,
        &STOCK,
        &UNKNOWN_EXPECTED,
        &WEIGHINGS_PLANNED,
        &U_WANTED,
    ],
);
pub(in crate::bench::runfile) static SOLUTIONS_WANTED: Key<Form> = required(
    "solutions",
    Form::Named(&WANTED_KEYS),
    "The solutions to be made, by name; water is weighed as well.",
);
pub(in crate::bench::runfile) static STOCK: Key<SolutionName> = optional(
    "stock",
    SolutionName,
    "The only solution whose salt is weighed: the others are diluted from it. If omitted, every way is tried.",
);
pub(in crate::bench::runfile) static UNKNOWN_EXPECTED: Key<Form> = required(
    "unknown",
    Form::Section(&UNKNOWN_KEYS),
    "The solution whose strength is to be found.",
);
pub(in crate::bench::runfile) static WEIGHINGS_PLANNED: Key<Count> = optional(
    "weighings",
    Count(20),
    "Number of weighings of each solution; three by default.",
);
pub(in crate::bench::runfile) static U_WANTED: Key<Strength> = optional(
    "wanted",
    Strength(&STRENGTHS),
    "The largest acceptable expanded uncertainty of the unknown's strength.",
);

pub(in crate::bench::runfile) static UNKNOWN_KEYS: Section =
    Section::of("the unknown of a plan", &[&EXPECTED]);
pub(in crate::bench::runfile) static EXPECTED: Key<Range> = required(
    "expected",
    Range(&STRENGTHS),
    "The range in which its strength is expected: 3 to 8 %.",
);

pub(in crate::bench::runfile) static WANTED_KEYS: Section = Section::of(
    "a solution wanted",
    &[
        &MASS_PERCENT,
        &MASS_CONCENTRATION,
        &MOLARITY,
        &MOLALITY,
        &VOLUME_WANTED,
    ],
)
.exactly_one_of(&[
    &[&MASS_PERCENT],
    &[&MASS_CONCENTRATION],
    &[&MOLARITY],
    &[&MOLALITY],
]);
pub(in crate::bench::runfile) static MASS_PERCENT: Key<Measure> =
    optional("mass percent", MASS_RATIO, "Its mass percent.");
pub(in crate::bench::runfile) static MASS_CONCENTRATION: Key<Measure> = optional(
    "mass concentration",
    positive(Unit::GRAM_PER_LITRE),
    "Its mass concentration.",
);
pub(in crate::bench::runfile) static MOLARITY: Key<Measure> = optional(
    "molarity",
    positive(Unit::MOLE_PER_LITRE),
    "Its amount concentration.",
);
pub(in crate::bench::runfile) static MOLALITY: Key<Measure> = optional(
    "molality",
    positive(Unit::MOLE_PER_KILOGRAM),
    "Its molality.",
);
pub(in crate::bench::runfile) static VOLUME_WANTED: Key<Measure> = required(
    "volume",
    positive(Unit::MILLILITRE),
    "The volume needed, including its weighings.",
);
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
