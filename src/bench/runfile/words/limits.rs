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

keys! {
    LIMITS: Form = optional("limits", Form::Named(&LIMIT_KEYS),
        "Limits of the strengths of solutions, by the solution's name.");
}

section! {
    LIMIT_KEYS = "the limits",
        any_of(&[&[&PERCENT_LIMITS], &[&CONCENTRATION_LIMITS], &[&MOLARITY_LIMITS], &[&MOLALITY_LIMITS]]);
    PERCENT_LIMITS: Interval = optional("mass percent", Interval(MASS_RATIO), "Limits of the mass percent.");
    CONCENTRATION_LIMITS: Interval = optional("mass concentration", Interval(positive(Unit::GRAM_PER_LITRE)),
        "Limits of the mass concentration.");
    MOLARITY_LIMITS: Interval = optional("molarity", Interval(positive(Unit::MOLE_PER_LITRE)),
        "Limits of the amount concentration.");
    MOLALITY_LIMITS: Interval = optional("molality", Interval(positive(Unit::MOLE_PER_KILOGRAM)),
        "Limits of the molality.");
    RULE: Form = optional("rule", Form::WordOrSection(&[SIMPLE, GUARDED], &RULE_KEYS),
        "How a result near a limit is judged: simple acceptance (by the result alone; the default), guarded acceptance (with a guard band of the expanded uncertainty), or a section with the guard band.");
}

/// The limits of a solution, with the scale of each.
pub(in crate::bench::runfile) static LIMITS_ON_SCALES: [(&Key<Interval>, Scale); 4] = [
    (&PERCENT_LIMITS, Scale::MassPercent),
    (&CONCENTRATION_LIMITS, Scale::MassConcentration),
    (&MOLARITY_LIMITS, Scale::Molarity),
    (&MOLALITY_LIMITS, Scale::Molality),
];

section! {
    RULE_KEYS = "the rule";
    GUARD_BAND: Strength = required("guard_band", Strength(&STRENGTHS),
        "The distance that a result must keep from the limits, in their unit.");
}

keys! {
    ADJUST: Form = optional("adjust", Form::Named(&ADJUST_KEYS),
        "Target strengths of solutions to be adjusted with salt or water, by the solution's name.");
}

section! {
    ADJUST_KEYS = "the adjustment";
    ADJUST_TO: Measure = required("to", MASS_RATIO, "The target mass percent, such as 19.0 %.");
    ADJUST_VOLUME: Measure = required("volume", positive(Unit::LITRE),
        "The volume of the solution, such as 1200 ± 20 L.");
}

keys! {
    KNOWN: Form = optional("known", Form::Named(&KNOWN_KEYS),
        "Known compositions, by the solution's name; the report gives the differences.");
}

section! {
    KNOWN_KEYS = "the known composition",
        any_of(&[&[&MASS_PERCENT], &[&MASS_CONCENTRATION], &[&MOLARITY], &[&MOLALITY]]);
    MASS_PERCENT; MASS_CONCENTRATION; MOLARITY; MOLALITY;
}
