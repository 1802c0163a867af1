//! The words of the run file, each once.
//!
//! Whoever reads a value asks for it by its key's constant here, so that a key that is read and a key that is known are
//! the same thing; whoever describes the run file to others walks [`RUN`].

use super::model::{
    ApparatusKind as Kind, Class, Digits, FitMethod, KnownSalt, Line, Scale, Spread,
};
use super::vocabulary::{
    ApparatusName, Choice, Day, Deliveries, Form, Key, Mark, Measure, Section, SolutionName, Text,
    Texts,
};
use crate::quantity::Unit;

const fn optional<F>(name: &'static str, form: F, about: &'static str) -> Key<F> {
    Key {
        name,
        about,
        required: false,
        form,
    }
}

const fn required<F>(name: &'static str, form: F, about: &'static str) -> Key<F> {
    Key {
        name,
        about,
        required: true,
        form,
    }
}

// The upper limit keeps products and sums of readings far within the range of f64.
const fn positive(unit: Unit) -> Measure {
    Measure {
        unit,
        low: 0.0,
        low_allowed: false,
        high: 1e9,
        limits: "more than zero",
    }
}

const fn zero_or_more(unit: Unit) -> Measure {
    Measure {
        unit,
        low: 0.0,
        low_allowed: true,
        high: 1e9,
        limits: "zero or more",
    }
}

const fn celsius(low: f64, high: f64, limits: &'static str) -> Measure {
    Measure {
        unit: Unit::CELSIUS,
        low,
        low_allowed: true,
        high,
        limits,
    }
}

/// A bare number is the ratio itself, so that percent are written as such.
const fn ratio(high: f64, limits: &'static str) -> Measure {
    Measure {
        unit: Unit::ONE,
        low: 0.0,
        low_allowed: false,
        high,
        limits,
    }
}

const LIQUID_LIMITS: &str = "between −25 °C and 110 °C, where brine is liquid";
const DELIVERS: &[Kind] = &[
    Kind::Pipette,
    Kind::GraduatedPipette,
    Kind::Burette,
    Kind::Cylinder,
];
const HOLDS: &[Kind] = &[Kind::Flask, Kind::Cylinder];
const MEASURES_VOLUME: &[Kind] = &[
    Kind::Pipette,
    Kind::GraduatedPipette,
    Kind::Burette,
    Kind::Cylinder,
    Kind::Flask,
];

/// The whole run file.
pub static RUN: Section = Section {
    what: "a run file",
    keys: &[
        &TITLE,
        &DATE,
        &ANALYSTS,
        &PLACE,
        &AIM,
        &PROCEDURE,
        &NOTES,
        &CONDITIONS,
        &SOLUTE,
        &APPARATUS,
        &SOLUTIONS,
        &DENSITY,
        &CALIBRATION,
        &REPORT,
        &CORRECTIONS,
    ],
};
pub(super) static TITLE: Key<Text> = required("title", Text, "Title of the report.");
pub(super) static DATE: Key<Day> = required("date", Day, "Day of the work, YYYY-MM-DD.");
pub(super) static ANALYSTS: Key<Texts> = required("analysts", Texts, "Who did the work.");
pub(super) static PLACE: Key<Text> = optional("place", Text, "Where it was done.");
pub(super) static AIM: Key<Text> = optional("aim", Text, "What it was done for.");
pub(super) static PROCEDURE: Key<Texts> = optional("procedure", Texts, "The steps done, in order.");
pub(super) static NOTES: Key<Texts> = optional("notes", Texts, "Anything else worth telling.");
pub(super) static CONDITIONS: Key<Form> = optional(
    "conditions",
    Form::Section(&CONDITION_KEYS),
    "Temperatures, pressure and humidity at the bench.",
);
pub(super) static SOLUTE: Key<Form> = required(
    "solute",
    Form::WordOrSection(&[], &SOLUTE_KEYS),
    "What is dissolved: a name known here (sodium chloride, potassium chloride), or a section that describes it.",
);
pub(super) static APPARATUS: Key<Form> = optional(
    "apparatus",
    Form::Named(&[&BALANCE_KEYS, &WARE_KEYS, &THERMOMETER_KEYS]),
    "Vessels and instruments, by name.",
);
pub(super) static SOLUTIONS: Key<Form> = required(
    "solutions",
    Form::Named(&[&SOLUTION_KEYS]),
    "The solutions, by name.",
);
pub(super) static DENSITY: Key<Form> = optional(
    "density",
    Form::Section(&DENSITY_KEYS),
    "Known volumes weighed.",
);
pub(super) static CALIBRATION: Key<Form> = optional(
    "calibration",
    Form::WordOrSection(&["none"], &CALIBRATION_KEYS),
    "How density is set against composition; without it a generalised straight line against mass percent, where there are points enough.",
);
pub(super) static REPORT: Key<Form> = optional(
    "report",
    Form::Section(&REPORT_KEYS),
    "How the report is written.",
);
pub(super) static CORRECTIONS: Key<Form> = optional(
    "corrections",
    Form::List(&CORRECTION_KEYS),
    "Record of entries changed after the work.",
);

pub(super) static CONDITION_KEYS: Section = Section {
    what: "the conditions",
    keys: &[&LIQUID, &THERMOMETER, &AIR, &PRESSURE, &HUMIDITY],
};
pub(super) static LIQUID: Key<Measure> = optional(
    "liquid",
    celsius(-25.0, 110.0, LIQUID_LIMITS),
    "Temperature of the liquid that was weighed.",
);
pub(super) static THERMOMETER: Key<ApparatusName> = optional(
    "thermometer",
    ApparatusName(&[Kind::Thermometer]),
    "What measured it; the only thermometer needs no naming.",
);
pub(super) static AIR: Key<Measure> = optional(
    "air",
    celsius(-20.0, 60.0, "between −20 °C and 60 °C"),
    "Temperature of the air.",
);
pub(super) static PRESSURE: Key<Measure> = optional(
    "pressure",
    Measure {
        unit: Unit::HECTOPASCAL,
        low: 300.0,
        low_allowed: true,
        high: 1100.0,
        limits: "between 300 hPa and 1100 hPa",
    },
    "Pressure of the air at the bench, not reduced to sea level.",
);
pub(super) static HUMIDITY: Key<Measure> = optional(
    "humidity",
    ratio(1.0, "more than 0 % and at most 100 %"),
    "Relative humidity of the air.",
);

pub(super) static SOLUTE_KEYS: Section = Section {
    what: "the solute",
    keys: &[&NAME, &FORMULA, &MOLAR_MASS, &PURITY],
};
pub(super) static NAME: Key<Text> = required("name", Text, "Name of the salt.");
pub(super) static FORMULA: Key<Text> = optional("formula", Text, "Chemical formula, e.g. NaCl.");
pub(super) static MOLAR_MASS: Key<Measure> =
    optional("molar_mass", positive(Unit::GRAM_PER_MOLE), "Molar mass.");
pub(super) static PURITY: Key<Measure> = optional(
    "purity",
    ratio(1.0, "more than 0 % and at most 100 %"),
    "Mass of the salt in what was weighed.",
);
/// The salts known by name, by every name they are known by.
pub(super) const KNOWN_SALTS: &[(&str, KnownSalt)] = &[
    ("sodium chloride", KnownSalt::SodiumChloride),
    ("NaCl", KnownSalt::SodiumChloride),
    ("potassium chloride", KnownSalt::PotassiumChloride),
    ("KCl", KnownSalt::PotassiumChloride),
];

pub(super) static BALANCE_KEYS: Section = Section {
    what: "a balance",
    keys: &[
        &KIND,
        &BALANCE_READABILITY,
        &BALANCE_REPEATABILITY,
        &LINEARITY,
        &NOTE,
    ],
};
pub(super) static WARE_KEYS: Section = Section {
    what: "volumetric ware",
    keys: &[
        &KIND,
        &CAPACITY,
        &CLASS,
        &TOLERANCE,
        &SPREAD,
        &WARE_REPEATABILITY,
        &NOTE,
    ],
};
pub(super) static THERMOMETER_KEYS: Section = Section {
    what: "a thermometer",
    keys: &[
        &KIND,
        &THERMOMETER_READABILITY,
        &THERMOMETER_REPEATABILITY,
        &ACCURACY,
        &NOTE,
    ],
};
pub(super) static KIND: Key<Choice<Kind>> = required(
    "kind",
    Choice(&[
        ("balance", Kind::Balance),
        ("pipette", Kind::Pipette),
        ("graduated pipette", Kind::GraduatedPipette),
        ("burette", Kind::Burette),
        ("flask", Kind::Flask),
        ("cylinder", Kind::Cylinder),
        ("thermometer", Kind::Thermometer),
    ]),
    "What it is.",
);
pub(super) static BALANCE_READABILITY: Key<Measure> =
    required("readability", positive(Unit::GRAM), "Step of the display.");
pub(super) static BALANCE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::GRAM),
    "Standard deviation of repeated readings.",
);
pub(super) static LINEARITY: Key<Measure> = optional(
    "linearity",
    zero_or_more(Unit::GRAM),
    "Limits of the departure from linearity, ±.",
);
pub(super) static CAPACITY: Key<Measure> =
    required("capacity", positive(Unit::MILLILITRE), "Nominal capacity.");
pub(super) static CLASS: Key<Choice<Class>> = optional(
    "class",
    Choice(&[("A", Class::A), ("AS", Class::A), ("B", Class::B)]),
    "Accuracy class.",
);
pub(super) static TOLERANCE: Key<Measure> = optional(
    "tolerance",
    positive(Unit::MILLILITRE),
    "Limits of error, ±, in place of those of the class.",
);
pub(super) static SPREAD: Key<Choice<Spread>> = optional(
    "spread",
    Choice(&[
        ("triangular", Spread::Triangular),
        ("rectangular", Spread::Rectangular),
    ]),
    "How errors lie within the limits.",
);
pub(super) static WARE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::MILLILITRE),
    "Standard deviation from delivery to delivery or filling to filling.",
);
pub(super) static THERMOMETER_READABILITY: Key<Measure> = optional(
    "readability",
    positive(Unit::CELSIUS_STEP),
    "Step of the display or scale.",
);
pub(super) static THERMOMETER_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::CELSIUS_STEP),
    "Standard deviation of repeated readings.",
);
pub(super) static ACCURACY: Key<Measure> = optional(
    "accuracy",
    positive(Unit::CELSIUS_STEP),
    "Limits of error, ±.",
);
pub(super) static NOTE: Key<Text> = optional(
    "note",
    Text,
    "Anything worth telling, e.g. a serial number.",
);

pub(super) static SOLUTION_KEYS: Section = Section {
    what: "a solution",
    keys: &[
        &PURE, &UNKNOWN, &WEIGHED, &SOLVENT, &ALIQUOT, &MADE_UP, &NOTE,
    ],
};
pub(super) static PURE: Key<Mark> = optional("pure", Mark, "Pure water.");
pub(super) static UNKNOWN: Key<Mark> =
    optional("unknown", Mark, "Composition to be found from the density.");
pub(super) static WEIGHED: Key<Form> =
    optional("weighed", Form::Section(&WEIGHED_KEYS), "The salt.");
pub(super) static SOLVENT: Key<Form> = optional(
    "solvent",
    Form::Section(&WEIGHED_KEYS),
    "The water, weighed.",
);
pub(super) static ALIQUOT: Key<Form> = optional(
    "aliquot",
    Form::Section(&ALIQUOT_KEYS),
    "What was taken of another solution.",
);
pub(super) static MADE_UP: Key<Form> = optional(
    "made_up",
    Form::Section(&MADE_UP_KEYS),
    "The volume it was made up to.",
);

pub(super) static WEIGHED_KEYS: Section = Section {
    what: "a weighing",
    keys: &[&MASS, &BEFORE, &AFTER, &BALANCE],
};
pub(super) static MASS: Key<Measure> =
    optional("mass", positive(Unit::GRAM), "Weighed into a tared vessel.");
pub(super) static BEFORE: Key<Measure> = optional(
    "before",
    positive(Unit::GRAM),
    "By difference: the vessel before it was emptied.",
);
pub(super) static AFTER: Key<Measure> = optional(
    "after",
    zero_or_more(Unit::GRAM),
    "By difference: the vessel after it was emptied.",
);
pub(super) static BALANCE: Key<ApparatusName> = optional(
    "balance",
    ApparatusName(&[Kind::Balance]),
    "The balance; the only one needs no naming.",
);

pub(super) static MADE_UP_KEYS: Section = Section {
    what: "making up",
    keys: &[&TO, &IN],
};
pub(super) static TO: Key<Measure> = required("to", positive(Unit::MILLILITRE), "The volume.");
pub(super) static IN: Key<ApparatusName> =
    optional("in", ApparatusName(HOLDS), "The flask or cylinder.");

pub(super) static ALIQUOT_KEYS: Section = Section {
    what: "an aliquot",
    keys: &[&OF, &ALIQUOT_VOLUME, &WITH],
};
pub(super) static OF: Key<SolutionName> =
    required("of", SolutionName, "The solution it was taken of.");
pub(super) static ALIQUOT_VOLUME: Key<Deliveries> = required(
    "volume",
    Deliveries(positive(Unit::MILLILITRE)),
    "The volume, or one for each delivery: [5.00 mL, 5.00 mL], or 2 × 5.00 mL.",
);
pub(super) static WITH: Key<ApparatusName> =
    optional("with", ApparatusName(DELIVERS), "What delivered it.");

pub(super) static DENSITY_KEYS: Section = Section {
    what: "the density section",
    keys: &[&BALANCE, &PIPETTE, &WEIGHINGS],
};
pub(super) static PIPETTE: Key<ApparatusName> = optional(
    "pipette",
    ApparatusName(MEASURES_VOLUME),
    "What measured the volume weighed.",
);
pub(super) static WEIGHINGS: Key<Form> = required(
    "weighings",
    Form::NamedLists(&REPLICATE_KEYS),
    "By solution.",
);

pub(super) static REPLICATE_KEYS: Section = Section {
    what: "a weighing of a volume",
    keys: &[
        &EMPTY, &FILLED, &VOLUME, &LIQUID, &BALANCE, &PIPETTE, &LEFT_OUT,
    ],
};
pub(super) static EMPTY: Key<Measure> =
    required("empty", zero_or_more(Unit::GRAM), "The vessel empty.");
pub(super) static FILLED: Key<Measure> = required(
    "filled",
    positive(Unit::GRAM),
    "The vessel with the volume in it.",
);
pub(super) static VOLUME: Key<Measure> =
    required("volume", positive(Unit::MILLILITRE), "The volume.");
pub(super) static LEFT_OUT: Key<Text> =
    optional("left_out", Text, "Why it is left out of the mean.");

pub(super) static CALIBRATION_KEYS: Section = Section {
    what: "the calibration",
    keys: &[&AGAINST, &LINE, &FIT],
};
pub(super) static AGAINST: Key<Choice<Scale>> = optional(
    "against",
    Choice(&[
        ("mass percent", Scale::MassPercent),
        ("mass concentration", Scale::MassConcentration),
        ("molarity", Scale::Molarity),
        ("molality", Scale::Molality),
    ]),
    "The measure of composition.",
);
pub(super) static LINE: Key<Choice<Line>> = optional(
    "line",
    Choice(&[("straight", Line::Straight), ("curve", Line::Curve)]),
    "The function: first or second degree.",
);
pub(super) static FIT: Key<Choice<FitMethod>> = optional(
    "fit",
    Choice(&[
        ("generalised", FitMethod::Generalised),
        ("generalized", FitMethod::Generalised),
        ("weighted", FitMethod::Weighted),
        ("ordinary", FitMethod::Ordinary),
    ]),
    "The method of least squares: with all covariances, with variances only, or with every point alike.",
);

pub(super) static REPORT_KEYS: Section = Section {
    what: "the report section",
    keys: &[&COVERAGE, &DIGITS],
};
pub(super) static COVERAGE: Key<Measure> = optional(
    "coverage",
    ratio(0.9999, "more than 0 % and at most 99.99 %"),
    "Coverage probability of expanded uncertainties.",
);
pub(super) static DIGITS: Key<Choice<Digits>> = optional(
    "digits",
    Choice(&[("uncertainty", Digits::Uncertainty)]),
    "The rule by which digits are written.",
);

pub(super) static CORRECTION_KEYS: Section = Section {
    what: "a correction",
    keys: &[&ENTRY, &WAS, &NOW, &WHY, &BY, &ON],
};
pub(super) static ENTRY: Key<Text> = required(
    "entry",
    Text,
    "Name of the entry, e.g. weighings.A.1.filled.",
);
pub(super) static WAS: Key<Text> = required("was", Text, "What it was, as written.");
pub(super) static NOW: Key<Text> = required("now", Text, "What it is now, as written.");
pub(super) static WHY: Key<Text> = required("why", Text, "Why it was changed.");
pub(super) static BY: Key<Text> = optional("by", Text, "Who changed it.");
pub(super) static ON: Key<Day> = optional("on", Day, "The day it was changed, YYYY-MM-DD.");

#[cfg(test)]
mod tests {
    use super::RUN;
    use crate::runfile::vocabulary::{Form, Section};
    use std::collections::BTreeSet;

    fn inside(form: &Form) -> Vec<&'static Section> {
        match form {
            Form::Section(section)
            | Form::NamedLists(section)
            | Form::List(section)
            | Form::WordOrSection(_, section) => vec![*section],
            Form::Named(sections) => sections.to_vec(),
            _ => Vec::new(),
        }
    }

    #[test]
    fn every_word_is_described_once() {
        let mut open: Vec<&'static Section> = vec![&RUN];
        let mut words = 0;
        while let Some(section) = open.pop() {
            let mut seen = BTreeSet::new();
            for key in section.keys {
                assert!(
                    seen.insert(key.name()),
                    "{} stands twice in {}",
                    key.name(),
                    section.what
                );
                assert!(
                    key.about().ends_with('.'),
                    "{} of {} is not described",
                    key.name(),
                    section.what
                );
                open.extend(inside(&key.form()));
                words += 1;
            }
        }
        assert!(words > 70, "sections are not reached: {words} words");
    }
}
