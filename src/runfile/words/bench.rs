//! The words for vessels and instruments.

use super::super::model::{ApparatusKind as Kind, Class, Glass, Spread};
use super::super::vocabulary::{Choice, Form, Key, Measure, Section, Text};
use super::{BALANCE, EMPTY, FILLED, LEFT_OUT, LIQUID};
use super::{optional, positive, required, zero_or_more};
use crate::quantity::Unit;

/// The keys of each kind of apparatus.
pub(in crate::runfile) static APPARATUS_KEYS: &[(&Section, &[Kind])] = &[
    (&BALANCE_KEYS, &[Kind::Balance]),
    (
        &WARE_KEYS,
        &[
            Kind::Pipette,
            Kind::GraduatedPipette,
            Kind::Flask,
            Kind::Cylinder,
        ],
    ),
    (&BURETTE_KEYS, &[Kind::Burette]),
    (&THERMOMETER_KEYS, &[Kind::Thermometer]),
    (
        &DENSITY_INSTRUMENT_KEYS,
        &[Kind::Hydrometer, Kind::DensityMeter],
    ),
];
pub(in crate::runfile) static BALANCE_KEYS: Section = Section::of(
    "a balance",
    &[
        &KIND,
        &BALANCE_READABILITY,
        &BALANCE_REPEATABILITY,
        &LINEARITY,
        &NOTE,
    ],
);
pub(in crate::runfile) static WARE_KEYS: Section = Section::of(
    "volumetric ware",
    &[
        &KIND,
        &CAPACITY,
        &CLASS,
        &TOLERANCE,
        &SPREAD,
        &WARE_REPEATABILITY,
        &GLASS,
        &NOTE,
    ],
)
.by(&[&[&CLASS], &[&TOLERANCE]]);
pub(in crate::runfile) static BURETTE_KEYS: Section = Section::of(
    "a burette",
    &[
        &KIND,
        &CAPACITY,
        &DIVISION,
        &CLASS,
        &TOLERANCE,
        &SPREAD,
        &WARE_REPEATABILITY,
        &GLASS,
        &NOTE,
    ],
)
.by(&[&[&CLASS], &[&TOLERANCE]]);
pub(in crate::runfile) static THERMOMETER_KEYS: Section = Section::of(
    "a thermometer",
    &[
        &KIND,
        &THERMOMETER_READABILITY,
        &THERMOMETER_REPEATABILITY,
        &ACCURACY,
        &NOTE,
    ],
)
.by(&[&[&THERMOMETER_READABILITY], &[&ACCURACY]]);
pub(in crate::runfile) static KIND: Key<Choice<Kind>> = required(
    "kind",
    Choice(&[
        ("balance", Kind::Balance),
        ("pipette", Kind::Pipette),
        ("graduated pipette", Kind::GraduatedPipette),
        ("burette", Kind::Burette),
        ("flask", Kind::Flask),
        ("cylinder", Kind::Cylinder),
        ("thermometer", Kind::Thermometer),
        ("hydrometer", Kind::Hydrometer),
        ("density meter", Kind::DensityMeter),
    ]),
    "What it is.",
);
pub(in crate::runfile) static BALANCE_READABILITY: Key<Measure> =
    required("readability", positive(Unit::GRAM), "Step of the display.");
pub(in crate::runfile) static BALANCE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::GRAM),
    "Standard deviation of repeated readings.",
);
pub(in crate::runfile) static LINEARITY: Key<Measure> = optional(
    "linearity",
    zero_or_more(Unit::GRAM),
    "Limits of the departure from linearity, ±.",
);
pub(in crate::runfile) static CAPACITY: Key<Measure> =
    required("capacity", positive(Unit::MILLILITRE), "Nominal capacity.");
pub(in crate::runfile) static DIVISION: Key<Measure> = optional(
    "division",
    positive(Unit::MILLILITRE),
    "Division of the scale, by which the limits of the class go too; without it, the coarser of two that the standard lists.",
);
pub(in crate::runfile) static CLASS: Key<Choice<Class>> = optional(
    "class",
    Choice(&[("A", Class::A), ("AS", Class::A), ("B", Class::B)]),
    "Accuracy class, where no tolerance is stated in its place.",
);
pub(in crate::runfile) static TOLERANCE: Key<Measure> = optional(
    "tolerance",
    positive(Unit::MILLILITRE),
    "Limits of error, ±, in place of those of the class.",
);
pub(in crate::runfile) static SPREAD: Key<Choice<Spread>> = optional(
    "spread",
    Choice(&[
        ("triangular", Spread::Triangular),
        ("rectangular", Spread::Rectangular),
    ]),
    "How errors lie within the limits.",
);
pub(in crate::runfile) static GLASS: Key<Choice<Glass>> = optional(
    "glass",
    Choice(&[
        ("borosilicate", Glass::Borosilicate),
        ("soda lime", Glass::SodaLime),
    ]),
    "What it is made of.",
);
pub(in crate::runfile) static WARE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::MILLILITRE),
    "Standard deviation from delivery to delivery or filling to filling.",
);
pub(in crate::runfile) static THERMOMETER_READABILITY: Key<Measure> = optional(
    "readability",
    positive(Unit::CELSIUS_STEP),
    "Step of the display or scale.",
);
pub(in crate::runfile) static THERMOMETER_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::CELSIUS_STEP),
    "Standard deviation of repeated readings.",
);
pub(in crate::runfile) static ACCURACY: Key<Measure> = optional(
    "accuracy",
    positive(Unit::CELSIUS_STEP),
    "Limits of error, ±.",
);
pub(in crate::runfile) static DENSITY_INSTRUMENT_KEYS: Section = Section::of(
    "a hydrometer or density meter",
    &[
        &KIND,
        &DENSITY_READABILITY,
        &DENSITY_REPEATABILITY,
        &DENSITY_ACCURACY,
        &NOTE,
    ],
)
.by(&[&[&DENSITY_READABILITY], &[&DENSITY_ACCURACY]]);
pub(in crate::runfile) static DENSITY_READABILITY: Key<Measure> = optional(
    "readability",
    positive(Unit::GRAM_PER_MILLILITRE),
    "Step of the display or scale.",
);
pub(in crate::runfile) static DENSITY_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::GRAM_PER_MILLILITRE),
    "Standard deviation of repeated readings.",
);
pub(in crate::runfile) static DENSITY_ACCURACY: Key<Measure> = optional(
    "accuracy",
    positive(Unit::GRAM_PER_MILLILITRE),
    "Limits of error, ±.",
);
pub(in crate::runfile) static NOTE: Key<Text> = optional(
    "note",
    Text,
    "Anything worth telling, e.g. a serial number.",
);

pub(in crate::runfile) static WARE_CALIBRATION_KEYS: Section = Section::of(
    "the calibration of ware",
    &[&LIQUID, &CALIBRATED_VOLUME, &BALANCE, &WATER_WEIGHINGS],
);
pub(in crate::runfile) static CALIBRATED_VOLUME: Key<Measure> = optional(
    "volume",
    positive(Unit::MILLILITRE),
    "The volume measured out, where it is not the capacity.",
);
pub(in crate::runfile) static WATER_WEIGHINGS: Key<Form> = required(
    "weighings",
    Form::List(&WATER_WEIGHING_KEYS),
    "The water weighed, once or more often.",
);
pub(in crate::runfile) static WATER_WEIGHING_KEYS: Section =
    Section::of("a weighing of water", &[&EMPTY, &FILLED, &LEFT_OUT]);
