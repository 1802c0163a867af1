//! The words for limits, for strengths to be reached, and for known compositions.

use super::super::model::Scale;
use super::super::vocabulary::{Form, Interval, Key, Measure, Section, Strength};
use super::{MASS_CONCENTRATION, MASS_PERCENT, MASS_RATIO, MOLALITY, MOLARITY, STRENGTHS};
use super::{optional, positive, required};
use crate::bench::quantity::Unit;

/// The rule that decides by the result alone.
pub(in crate::bench::runfile) const SIMPLE: &str = "simple acceptance";
/// The rule with a guard band of the expanded uncertainty.
pub(in crate::bench::runfile) const GUARDED: &str = "guarded acceptance";

pub(in crate::bench::runfile) static LIMITS: Key<Form> = optional(
    "limits",
    Form::Named(&LIMIT_KEYS),
    "Limits of the strengths of solutions, by the solution's name.",
);
pub(in crate::bench::runfile) static LIMIT_KEYS: Section = Section::of(
    "the limits",
    &[
        &PERCENT_LIMITS,
        &CONCENTRATION_LIMITS,
        &MOLARITY_LIMITS,
        &MOLALITY_LIMITS,
        &RULE,
    ],
)
.any_of(&[
    &[&PERCENT_LIMITS],
    &[&CONCENTRATION_LIMITS],
    &[&MOLARITY_LIMITS],
    &[&MOLALITY_LIMITS],
]);
pub(in crate::bench::runfile) static PERCENT_LIMITS: Key<Interval> = optional(
    "mass percent",
    Interval(MASS_RATIO),
    "Limits of the mass percent.",
);
pub(in crate::bench::runfile) static CONCENTRATION_LIMITS: Key<Interval> = optional(
    "mass concentration",
    Interval(positive(Unit::GRAM_PER_LITRE)),
    "Limits of the mass concentration.",
);
pub(in crate::bench::runfile) static MOLARITY_LIMITS: Key<Interval> = optional(
    "molarity",
    Interval(positive(Unit::MOLE_PER_LITRE)),
    "Limits of the amount concentration.",
);
pub(in crate::bench::runfile) static MOLALITY_LIMITS: Key<Interval> = optional(
    "molality",
    Interval(positive(Unit::MOLE_PER_KILOGRAM)),
    "Limits of the molality.",
);
/// The limits of a solution, with the scale of each.
pub(in crate::bench::runfile) static LIMITS_ON_SCALES: [(&Key<Interval>, Scale); 4] = [
    (&PERCENT_LIMITS, Scale::MassPercent),
    (&CONCENTRATION_LIMITS, Scale::MassConcentration),
    (&MOLARITY_LIMITS, Scale::Molarity),
    (&MOLALITY_LIMITS, Scale::Molality),
];
pub(in crate::bench::runfile) static RULE: Key<Form> = optional(
    "rule",
    Form::WordOrSection(&[SIMPLE, GUARDED], &RULE_KEYS),
    "How a result near a limit is judged: simple acceptance (by the result alone; the default), guarded acceptance (with a guard band of the expanded uncertainty), or a section with the guard band.",
);
pub(in crate::bench::runfile) static RULE_KEYS: Section = Section::of("the rule", &[&GUARD_BAND]);
pub(in crate::bench::runfile) static GUARD_BAND: Key<Strength> = required(
    "guard_band",
    Strength(&STRENGTHS),
    "The distance that a result must keep from the limits, in their unit.",
);

pub(in crate::bench::runfile) static ADJUST: Key<Form> = optional(
    "adjust",
    Form::Named(&ADJUST_KEYS),
    "Target strengths of solutions to be adjusted with salt or water, by the solution's name.",
);
pub(in crate::bench::runfile) static ADJUST_KEYS: Section =
    Section::of("the adjustment", &[&ADJUST_TO, &ADJUST_VOLUME]);
pub(in crate::bench::runfile) static ADJUST_TO: Key<Measure> =
    required("to", MASS_RATIO, "The target mass percent, such as 19.0 %.");
pub(in crate::bench::runfile) static ADJUST_VOLUME: Key<Measure> = required(
    "volume",
    positive(Unit::LITRE),
    "The volume of the solution, such as 1200 ± 20 L.",
);

pub(in crate::bench::runfile) static KNOWN: Key<Form> = optional(
    "known",
    Form::Named(&KNOWN_KEYS),
    "Known compositions, by the solution's name; the report gives the differences.",
);
pub(in crate::bench::runfile) static KNOWN_KEYS: Section = Section::of(
    "the known composition",
    &[&MASS_PERCENT, &MASS_CONCENTRATION, &MOLARITY, &MOLALITY],
)
.any_of(&[
    &[&MASS_PERCENT],
    &[&MASS_CONCENTRATION],
    &[&MOLARITY],
    &[&MOLALITY],
]);
