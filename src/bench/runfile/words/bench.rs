//! The words for vessels and instruments.

use super::super::model::{ApparatusKind as Kind, Class, Glass, ScaleKind, Spread};
use super::super::vocabulary::{Choice, Form, Key, Measure, Scaled, Section, Text};
use super::{BALANCE, EMPTY, FILLED, LEFT_OUT, LIQUID};
use super::{celsius, optional, positive, required, zero_or_more};
use crate::bench::quantity::Unit;

/// The keys of each kind of apparatus.
pub(in crate::bench::runfile) static APPARATUS_KEYS: &[(&Section, &[Kind])] = &[
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
pub(in crate::bench::runfile) static BALANCE_KEYS: Section = Section::of(
    "a balance",
    &[
        &KIND,
        &BALANCE_READABILITY,
        &BALANCE_REPEATABILITY,
        &LINEARITY,
        &NOTE,
    ],
);
pub(in crate::bench::runfile) static WARE_KEYS: Section = Section::of(
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
.any_of(&[&[&CLASS], &[&TOLERANCE]]);
pub(in crate::bench::runfile) static BURETTE_KEYS: Section = Section::of(
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
.any_of(&[&[&CLASS], &[&TOLERANCE]]);
pub(in crate::bench::runfile) static THERMOMETER_KEYS: Section = Section::of(
    "a thermometer",
    &[
        &KIND,
        &THERMOMETER_READABILITY,
        &THERMOMETER_REPEATABILITY,
        &ACCURACY,
        &NOTE,
    ],
)
.any_of(&[&[&THERMOMETER_READABILITY], &[&ACCURACY]]);
pub(in crate::bench::runfile) static KIND: Key<Choice<Kind>> = required(
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
    "Kind of apparatus.",
);
pub(in crate::bench::runfile) static BALANCE_READABILITY: Key<Measure> =
    required("readability", positive(Unit::GRAM), "Step of the display.");
pub(in crate::bench::runfile) static BALANCE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::GRAM),
    "Standard deviation of repeated readings.",
);
pub(in crate::bench::runfile) static LINEARITY: Key<Measure> = optional(
    "linearity",
    zero_or_more(Unit::GRAM),
    "Limits of the departure from linearity, ±.",
);
pub(in crate::bench::runfile) static CAPACITY: Key<Measure> =
    required("capacity", positive(Unit::MILLILITRE), "Nominal capacity.");
pub(in crate::bench::runfile) static DIVISION: Key<Measure> = optional(
    "division",
    positive(Unit::MILLILITRE),
    "Division of the scale, on which the limits of the class depend too; if omitted, the coarser of two that the standard lists.",
);
pub(in crate::bench::runfile) static CLASS: Key<Choice<Class>> = optional(
    "class",
    Choice(&[("A", Class::A), ("AS", Class::A), ("B", Class::B)]),
    "Accuracy class, unless a tolerance is stated instead.",
);
pub(in crate::bench::runfile) static TOLERANCE: Key<Measure> = optional(
    "tolerance",
    positive(Unit::MILLILITRE),
    "Limits of error, ±, in place of those of the class.",
);
pub(in crate::bench::runfile) static SPREAD: Key<Choice<Spread>> = optional(
    "spread",
    Choice(&[
        ("triangular", Spread::Triangular),
        ("rectangular", Spread::Rectangular),
    ]),
    "Distribution of errors within the limits.",
);
pub(in crate::bench::runfile) static GLASS: Key<Choice<Glass>> = optional(
    "glass",
    Choice(&[
        ("borosilicate", Glass::Borosilicate),
        ("soda lime", Glass::SodaLime),
    ]),
    "Kind of glass.",
);
pub(in crate::bench::runfile) static WARE_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::MILLILITRE),
    "Standard deviation from delivery to delivery or filling to filling.",
);
pub(in crate::bench::runfile) static THERMOMETER_READABILITY: Key<Measure> = optional(
    "readability",
    positive(Unit::CELSIUS_STEP),
    "Step of the display or scale.",
);
pub(in crate::bench::runfile) static THERMOMETER_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::CELSIUS_STEP),
    "Standard deviation of repeated readings.",
);
pub(in crate::bench::runfile) static ACCURACY: Key<Measure> = optional(
    "accuracy",
    positive(Unit::CELSIUS_STEP),
    "Limits of error, ±.",
);
pub(in crate::bench::runfile) static DENSITY_INSTRUMENT_KEYS: Section = Section::of(
    "a hydrometer or density meter",
    &[
        &KIND,
        &SCALE,
        &STANDARD,
        &SCALE_WATER,
        &MODULUS,
        &SATURATED,
        &DENSITY_READABILITY,
        &DENSITY_REPEATABILITY,
        &DENSITY_ACCURACY,
        &NOTE,
    ],
)
.any_of(&[&[&DENSITY_READABILITY], &[&DENSITY_ACCURACY]]);
pub(in crate::bench::runfile) static SCALE: Key<Choice<ScaleKind>> = optional(
    "scale",
    Choice(&[
        ("density", ScaleKind::Density),
        ("specific gravity", ScaleKind::SpecificGravity),
        ("degrees Baumé", ScaleKind::DegreesBaume),
        ("degrees Baume", ScaleKind::DegreesBaume),
        ("per cent of saturation", ScaleKind::Saturation),
        ("percent of saturation", ScaleKind::Saturation),
    ]),
    "Quantity that its scale shows, if not density.",
);
pub(in crate::bench::runfile) static STANDARD: Key<Measure> = optional(
    "standard",
    celsius(0.0, 60.0, "between 0 °C and 60 °C"),
    "Reference temperature of its scale; the expansion of glass at another temperature is corrected.",
);
pub(in crate::bench::runfile) static SCALE_WATER: Key<Measure> = optional(
    "water",
    celsius(0.0, 40.0, "between 0 °C and 40 °C"),
    "Temperature of the water to which specific gravity is relative, if it is not the reference temperature of the scale.",
);
pub(in crate::bench::runfile) static MODULUS: Key<Measure> = optional(
    "modulus",
    Measure {
        unit: Unit::DEGREE_BAUME,
        low: 100.0,
        low_allowed: true,
        high: 200.0,
        limits: "between 100 °Bé and 200 °Bé",
    },
    "Modulus M of its degrees Baumé (specific gravity = M/(M − °Bé)): 145, 144, 144.3 or 146.78.",
);
pub(in crate::bench::runfile) static SATURATED: Key<Measure> = optional(
    "saturated",
    Measure {
        unit: Unit::ONE,
        low: 0.2,
        low_allowed: true,
        high: 0.3,
        limits: "between 20 % and 30 %",
    },
    "Mass percent of saturated brine on its scale: 26.395 %, 26.5 % or 25 %.",
);

const fn of_scale(
    unit: Unit,
    low: f64,
    low_allowed: bool,
    high: f64,
    limits: &'static str,
) -> Measure {
    Measure {
        unit,
        low,
        low_allowed,
        high,
        limits,
    }
}
const BAUME: Unit = Unit::DEGREE_BAUME;
const SATURATION: Unit = Unit::PERCENT_SATURATION;
const GRAVITY: Unit = Unit::SPECIFIC_GRAVITY;
const MORE: &str = "more than zero";
/// The densities of liquids on a bench.
const DENSITY_OF_LIQUIDS: Measure = of_scale(
    Unit::GRAM_PER_MILLILITRE,
    0.5,
    true,
    3.0,
    "between 0.5 g/mL and 3 g/mL",
);
/// The same, for those that follow from weighings.
pub(in crate::bench::runfile) static DENSITIES: Measure = DENSITY_OF_LIQUIDS;
/// Errors on each of the scales, density first.
const ERRORS: &[Measure] = &[
    positive(Unit::GRAM_PER_MILLILITRE),
    of_scale(BAUME, 0.0, false, 100.0, MORE),
    of_scale(SATURATION, 0.0, false, 100.0, MORE),
    of_scale(GRAVITY, 0.0, false, 1.0, MORE),
];
/// The same, zero among them.
const SCATTER: &[Measure] = &[
    zero_or_more(Unit::GRAM_PER_MILLILITRE),
    of_scale(BAUME, 0.0, true, 100.0, "zero or more"),
    of_scale(SATURATION, 0.0, true, 100.0, "zero or more"),
    of_scale(GRAVITY, 0.0, true, 1.0, "zero or more"),
];
/// What a scale shows, density first.
pub(in crate::bench::runfile) static SHOWN: [Measure; 4] = [
    DENSITY_OF_LIQUIDS,
    of_scale(BAUME, 0.0, true, 80.0, "between 0 °Bé and 80 °Bé"),
    of_scale(
        SATURATION,
        0.0,
        true,
        110.0,
        "between 0 and 110 % of saturation",
    ),
    of_scale(GRAVITY, 0.5, true, 3.0, "between 0.5 and 3"),
];
pub(in crate::bench::runfile) static DENSITY_READABILITY: Key<Scaled> = optional(
    "readability",
    Scaled(ERRORS),
    "Step of the display or scale, such as 0.0005 g/mL, 0.1 °Bé, 1 % saturation or specific gravity 0.001.",
);
pub(in crate::bench::runfile) static DENSITY_REPEATABILITY: Key<Scaled> = optional(
    "repeatability",
    Scaled(SCATTER),
    "Standard deviation of repeated readings, on the scale.",
);
pub(in crate::bench::runfile) static DENSITY_ACCURACY: Key<Scaled> = optional(
    "accuracy",
    Scaled(ERRORS),
    "Limits of error, ±, on the scale.",
);
pub(in crate::bench::runfile) static NOTE: Key<Text> =
    optional("note", Text, "Remarks, e.g. a serial number.");

pub(in crate::bench::runfile) static WARE_CALIBRATION_KEYS: Section = Section::of(
    "the calibration of ware",
    &[&LIQUID, &CALIBRATED_VOLUME, &BALANCE, &WATER_WEIGHINGS],
);
pub(in crate::bench::runfile) static CALIBRATED_VOLUME: Key<Measure> = optional(
    "volume",
    positive(Unit::MILLILITRE),
    "The volume measured, if it is not the capacity.",
);
pub(in crate::bench::runfile) static WATER_WEIGHINGS: Key<Form> = required(
    "weighings",
    Form::List(&WATER_WEIGHING_KEYS),
    "The weighings of water, one or more.",
);
pub(in crate::bench::runfile) static WATER_WEIGHING_KEYS: Section =
    Section::of("a weighing of water", &[&EMPTY, &FILLED, &LEFT_OUT]);
