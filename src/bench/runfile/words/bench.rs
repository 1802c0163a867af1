//! The words for vessels and instruments.

use super::super::model::{ApparatusKind as Kind, Class, Glass, ScaleKind, Spread};
use super::super::vocabulary::{Choice, Form, Key, Measure, Scaled, Section, Text};
use super::{BALANCE, EMPTY, FILLED, LEFT_OUT, LIQUID};
use super::{above_zero, between, celsius, optional, positive, required, zero_or_more};
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

section! {
    BALANCE_KEYS = "a balance";
    KIND: Choice<Kind> = required("kind",
        Choice(&[
            ("balance", Kind::Balance), ("pipette", Kind::Pipette),
            ("graduated pipette", Kind::GraduatedPipette), ("burette", Kind::Burette), ("flask", Kind::Flask),
            ("cylinder", Kind::Cylinder), ("thermometer", Kind::Thermometer), ("hydrometer", Kind::Hydrometer),
            ("density meter", Kind::DensityMeter),
        ]),
        "Kind of apparatus.");
    BALANCE_READABILITY: Measure = required("readability", positive(Unit::GRAM), "Step of the display.");
    BALANCE_REPEATABILITY: Measure = optional("repeatability", zero_or_more(Unit::GRAM),
        "Standard deviation of repeated readings.");
    LINEARITY: Measure = optional("linearity", zero_or_more(Unit::GRAM),
        "Limits of the departure from linearity, ±.");
    NOTE: Text = optional("note", Text, "Remarks, e.g. a serial number.");
}

section! {
    WARE_KEYS = "volumetric ware", any_of(&[&[&CLASS], &[&TOLERANCE]]);
    KIND;
    CAPACITY: Measure = required("capacity", positive(Unit::MILLILITRE), "Nominal capacity.");
    CLASS: Choice<Class> = optional("class", Choice(&[("A", Class::A), ("AS", Class::A), ("B", Class::B)]),
        "Accuracy class, unless a tolerance is stated instead.");
    TOLERANCE: Measure = optional("tolerance", positive(Unit::MILLILITRE),
        "Limits of error, ±, in place of those of the class.");
    SPREAD: Choice<Spread> = optional("spread",
        Choice(&[("triangular", Spread::Triangular), ("rectangular", Spread::Rectangular)]),
        "Distribution of errors within the limits.");
    WARE_REPEATABILITY: Measure = optional("repeatability", zero_or_more(Unit::MILLILITRE),
        "Standard deviation from delivery to delivery or filling to filling.");
    GLASS: Choice<Glass> = optional("glass",
        Choice(&[("borosilicate", Glass::Borosilicate), ("soda lime", Glass::SodaLime)]),
        "Kind of glass.");
    NOTE;
}

section! {
    BURETTE_KEYS = "a burette", any_of(&[&[&CLASS], &[&TOLERANCE]]);
    KIND; CAPACITY;
    DIVISION: Measure = optional("division", positive(Unit::MILLILITRE),
        "Division of the scale, on which the limits of the class depend too; if omitted, the coarser of two that the standard lists.");
    CLASS; TOLERANCE; SPREAD; WARE_REPEATABILITY; GLASS; NOTE;
}

section! {
    THERMOMETER_KEYS = "a thermometer", any_of(&[&[&THERMOMETER_READABILITY], &[&ACCURACY]]);
    KIND;
    THERMOMETER_READABILITY: Measure = optional("readability", positive(Unit::CELSIUS_STEP),
        "Step of the display or scale.");
    THERMOMETER_REPEATABILITY: Measure = optional("repeatability", zero_or_more(Unit::CELSIUS_STEP),
        "Standard deviation of repeated readings.");
    ACCURACY: Measure = optional("accuracy", positive(Unit::CELSIUS_STEP), "Limits of error, ±.");
    NOTE;
}

section! {
    DENSITY_INSTRUMENT_KEYS = "a hydrometer or density meter",
        any_of(&[&[&DENSITY_READABILITY], &[&DENSITY_ACCURACY]]);
    KIND;
    SCALE: Choice<ScaleKind> = optional("scale",
        Choice(&[
            ("density", ScaleKind::Density), ("specific gravity", ScaleKind::SpecificGravity),
            ("degrees Baumé", ScaleKind::DegreesBaume), ("degrees Baume", ScaleKind::DegreesBaume),
            ("per cent of saturation", ScaleKind::Saturation), ("percent of saturation", ScaleKind::Saturation),
        ]),
        "Quantity that its scale shows, if not density.");
    STANDARD: Measure = optional("standard", celsius(0.0, 60.0, "between 0 °C and 60 °C"),
        "Reference temperature of its scale; the expansion of glass at another temperature is corrected.");
    SCALE_WATER: Measure = optional("water", celsius(0.0, 40.0, "between 0 °C and 40 °C"),
        "Temperature of the water to which specific gravity is relative, if it is not the reference temperature of the scale.");
    MODULUS: Measure = optional("modulus",
        between(Unit::DEGREE_BAUME, 100.0, 200.0, "between 100 °Bé and 200 °Bé"),
        "Modulus M of its degrees Baumé (specific gravity = M/(M − °Bé)): 145, 144, 144.3 or 146.78.");
    SATURATED: Measure = optional("saturated",
        between(Unit::ONE, 0.2, 0.3, "between 20 % and 30 %"),
        "Mass percent of saturated brine on its scale: 26.395 %, 26.5 % or 25 %.");
    DENSITY_READABILITY: Scaled = optional("readability", Scaled(ERRORS),
        "Step of the display or scale, such as 0.0005 g/mL, 0.1 °Bé, 1 % saturation or specific gravity 0.001.");
    DENSITY_REPEATABILITY: Scaled = optional("repeatability", Scaled(SCATTER),
        "Standard deviation of repeated readings, on the scale.");
    DENSITY_ACCURACY: Scaled = optional("accuracy", Scaled(ERRORS), "Limits of error, ±, on the scale.");
    NOTE;
}

const BAUME: Unit = Unit::DEGREE_BAUME;
const SATURATION: Unit = Unit::PERCENT_SATURATION;
const GRAVITY: Unit = Unit::SPECIFIC_GRAVITY;
const MORE: &str = "more than zero";
/// The densities of liquids on a bench.
const DENSITY_OF_LIQUIDS: Measure = between(
    Unit::GRAM_PER_MILLILITRE,
    0.5,
    3.0,
    "between 0.5 g/mL and 3 g/mL",
);
/// The same, for those that follow from weighings.
pub(in crate::bench::runfile) static DENSITIES: Measure = DENSITY_OF_LIQUIDS;
/// Errors on each of the scales, density first.
const ERRORS: &[Measure] = &[
    positive(Unit::GRAM_PER_MILLILITRE),
    above_zero(BAUME, 100.0, MORE),
    above_zero(SATURATION, 100.0, MORE),
    above_zero(GRAVITY, 1.0, MORE),
];
/// The same, zero among them.
const SCATTER: &[Measure] = &[
    zero_or_more(Unit::GRAM_PER_MILLILITRE),
    between(BAUME, 0.0, 100.0, "zero or more"),
    between(SATURATION, 0.0, 100.0, "zero or more"),
    between(GRAVITY, 0.0, 1.0, "zero or more"),
];
/// What a scale shows, density first.
pub(in crate::bench::runfile) static SHOWN: [Measure; 4] = [
    DENSITY_OF_LIQUIDS,
    between(BAUME, 0.0, 80.0, "between 0 °Bé and 80 °Bé"),
    between(SATURATION, 0.0, 110.0, "between 0 and 110 % of saturation"),
    between(GRAVITY, 0.5, 3.0, "between 0.5 and 3"),
];

section! {
    WARE_CALIBRATION_KEYS = "the calibration of ware";
    LIQUID;
    CALIBRATED_VOLUME: Measure = optional("volume", positive(Unit::MILLILITRE),
        "The volume measured, if it is not the capacity.");
    BALANCE;
    WATER_WEIGHINGS: Form = required("weighings", Form::List(&WATER_WEIGHING_KEYS),
        "The weighings of water, one or more.");
}

section! {
    WATER_WEIGHING_KEYS = "a weighing of water";
    EMPTY; FILLED; LEFT_OUT;
}
