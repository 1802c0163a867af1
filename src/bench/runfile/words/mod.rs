//! The words of the run file, each once.
//!
//! Whoever reads a value asks for it by its key's constant here, so that a key that is read and a key that is known are
//! the same thing; whoever describes the run file to others walks [`RUN`].

/// Declares keys: what may stand at each, and what it means.
macro_rules! keys {
    ($($(#[$doc:meta])* $key:ident: $form:ty = $made:expr;)*) => {
        $($(#[$doc])* pub(crate) static $key: Key<$form> = $made;)*
    };
}

/// Declares a section and, in the order they are best written, its keys. A key that is declared elsewhere is only named.
macro_rules! section {
    (
        $(#[$doc:meta])* $section:ident = $what:literal $(, $rule:ident($($given:expr),*))*;
        $($key:ident $(: $form:ty = $made:expr)?;)*
    ) => {
        $(#[$doc])*
        pub(in crate::bench::runfile) static $section: Section =
            Section::new($what, &[$(&$key),*])$(.$rule($($given),*))*;
        $($(keys! { $key: $form = $made; })?)*
    };
}

mod bench;
mod benches;
mod claimed;
mod done;
mod limits;
mod plan;
mod work;

pub(crate) use bench::*;
pub(crate) use benches::*;
pub(crate) use claimed::*;
pub(crate) use done::*;
pub(crate) use limits::*;
pub(crate) use plan::*;
pub(crate) use work::*;

use super::model::{ApparatusKind, Digits, FitMethod, Line, Scale, TradeScale};
use super::vocabulary::{
    ApparatusName, Choice, Choices, Day, Form, Key, Mark, Measure, Section, SolutionNames,
    Stranger, Text, Texts,
};
use crate::bench::quantity::{DensityUnit, Unit};
use crate::bench::reference::brine::{SALTS, Salt};

/// What the trade calls things by other words than the run file does.
const SYNONYMS: &[(&str, &[&str])] = &[
    ("tare", &["empty"]),
    ("vessel", &["empty"]),
    ("gross", &["filled"]),
    ("full", &["filled"]),
    ("total", &["filled"]),
    ("temperature", &["liquid"]),
    ("temp", &["liquid"]),
    ("t", &["liquid"]),
    ("sols", &["solutions"]),
    ("samples", &["solutions"]),
    ("sample", &["solution"]),
    ("vol", &["volume"]),
    ("vol.", &["volume"]),
    ("salt", &["solute"]),
    ("equipment", &["apparatus"]),
    ("instruments", &["apparatus"]),
    ("glassware", &["apparatus"]),
    ("resolution", &["readability"]),
    ("rejected", &["left_out"]),
    ("excluded", &["left_out"]),
    ("reason", &["why"]),
    ("old", &["was"]),
    ("new", &["now"]),
    ("rinses", &["rinsed"]),
    ("conditioned", &["rinsed"]),
    ("form", &["from"]),
    ("file", &["from"]),
    ("source", &["of", "from"]),
    ("size", &["capacity"]),
    ("graduation", &["division"]),
    ("graduations", &["division"]),
    ("amount", &["mass", "volume"]),
    ("weight", &["mass", "weighed"]),
    ("author", &["analysts"]),
    ("name", &["title"]),
    ("volumetric flask", &["flask"]),
    ("one mark pipette", &["pipette"]),
    ("one mark flask", &["flask"]),
    ("graduated flask", &["flask"]),
    ("volumetric pipette", &["pipette"]),
    ("bulb pipette", &["pipette"]),
    ("transfer pipette", &["pipette"]),
    ("measuring pipette", &["graduated pipette"]),
    ("measuring cylinder", &["cylinder"]),
    ("graduated cylinder", &["cylinder"]),
    ("buret", &["burette"]),
    ("scale", &["balance"]),
    ("scales", &["balance"]),
    ("densitometer", &["density meter"]),
    ("areometer", &["hydrometer"]),
    ("spindle", &["hydrometer"]),
    ("analytical balance", &["balance"]),
    ("baume", &["degrees Baumé"]),
    ("baumé", &["degrees Baumé"]),
    ("°bé", &["degrees Baumé"]),
    ("sg", &["specific gravity"]),
    ("relative density", &["specific gravity"]),
    ("saturation", &["per cent of saturation"]),
    ("salometer", &["per cent of saturation"]),
];

/// Returns the word among those known that stands for what the trade also calls `word`.
pub(super) fn synonym(
    word: &str,
    mut known: impl Iterator<Item = &'static str>,
) -> Option<&'static str> {
    let folded = word.trim().to_lowercase().replace(['_', '-'], " ");
    let (_, meant) = SYNONYMS.iter().find(|(other, _)| *other == folded)?;
    known.find(|word| meant.contains(word))
}

/// Returns the meaning of a word among those of a choice, ignoring case; also of a synonym in the trade.
pub(super) fn meaning<T: Copy>(choice: &Choice<T>, text: &str) -> Option<T> {
    let fold = |word: &str| word.trim().to_lowercase().replace(['_', '-'], " ");
    let word = fold(synonym(text, choice.words()).unwrap_or(text));
    let mut all = choice.0.iter();
    all.find(|(known, _)| fold(known) == word)
        .map(|(_, meaning)| *meaning)
}

/// Synonyms of `word` in the trade.
pub(super) fn others_for(word: &str) -> impl Iterator<Item = &'static str> {
    let all = SYNONYMS.iter();
    let all = all.filter(move |(_, meant)| meant.contains(&word));
    all.map(|(other, _)| *other)
}

/// Returns the keys of all sections of a run file.
pub(super) fn all_keys() -> impl Iterator<Item = &'static str> {
    let sections = RUN.with_all_below().into_iter();
    sections.flat_map(Section::names)
}

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

/// From `low` on, itself included.
const fn between(unit: Unit, low: f64, high: f64, limits: &'static str) -> Measure {
    Measure {
        unit,
        low,
        low_allowed: true,
        high,
        limits,
    }
}

const fn above_zero(unit: Unit, high: f64, limits: &'static str) -> Measure {
    Measure {
        low_allowed: false,
        ..between(unit, 0.0, high, limits)
    }
}

/// Keeps products and sums of readings far within the range of f64.
const HIGHEST: f64 = 1e9;

const fn positive(unit: Unit) -> Measure {
    above_zero(unit, HIGHEST, "more than zero")
}

const fn zero_or_more(unit: Unit) -> Measure {
    between(unit, 0.0, HIGHEST, "zero or more")
}

const fn celsius(low: f64, high: f64, limits: &'static str) -> Measure {
    between(Unit::CELSIUS, low, high, limits)
}

/// Returns a bare number is the ratio itself, so that percent are written as such.
const fn ratio(high: f64, limits: &'static str) -> Measure {
    above_zero(Unit::ONE, high, limits)
}

const SOLID_DENSITY: Measure = between(
    Unit::KILOGRAM_PER_CUBIC_METRE,
    0.5,
    25.0,
    "between 500 kg/m³ and 25000 kg/m³",
);

const LIQUID_LIMITS: &str = "between −25 °C and 110 °C, where brine is liquid";

section! {
    RUN = "a run file",
        not(&[Stranger { word: "temperature", right: "conditions: {liquid: 20.6 °C}", stands_for: &[] }]);
    TITLE: Text = required("title", Text, "Title of the report.");
    DATE: Day = required("date", Day, "Day of the work, YYYY-MM-DD.");
    ANALYSTS: Texts = required("analysts", Texts, "Who did the work.");
    PLACE: Text = optional("place", Text, "Where it was done.");
    AIM: Text = optional("aim", Text, "Aim of the work.");
    PROCEDURE: Texts = optional("procedure", Texts, "The steps done, in order.");
    NOTES: Texts = optional("notes", Texts, "Other remarks.");
    DRAFT: Mark = optional("draft", Mark,
        "The report is marked as a draft on every page, and is not counted as an issue.");
    CONDITIONS: Form = optional("conditions", Form::Section(&CONDITION_KEYS),
        "Temperatures, pressure and humidity at the bench.");
    SOLUTE: Form = required("solute", Form::TextOrSection(known_salts, &SOLUTE_KEYS),
        "The salt: a known name, such as sodium chloride, or a section that describes it.");
    APPARATUS: Form = optional("apparatus", Form::NamedByKind(APPARATUS_KEYS), "Vessels and instruments, by name.");
    WARE_CALIBRATION: Form = optional("ware_calibration", Form::Named(&WARE_CALIBRATION_KEYS),
        "Ware calibrated by weighing the water it delivers or holds, by the ware's name.");
    ALLOW_FOR: Form = optional("allow_for", Form::Section(&ALLOW_FOR_KEYS),
        "Corrections to be made; off unless asked for.");
    SOLUTIONS: Form = required("solutions", Form::Named(&SOLUTION_KEYS), "The solutions, by name.");
    DENSITY: Form = optional("density", Form::Section(&DENSITY_KEYS),
        "How the densities were found: one method for each solution.");
    CALIBRATION: Form = optional("calibration", Form::WordOrSection(&["none", PUBLISHED], &CALIBRATION_KEYS),
        "Calibration of density against composition; if omitted, a generalised fit against mass percent if there are enough points. Published: unknowns are found from the published density of the salt's solutions, without calibration solutions.");
    LIMITS; ADJUST; KNOWN; CLAIMED; POINTS; PRACTICE; PHOTOS;
    REPORT: Form = optional("report", Form::Section(&REPORT_KEYS), "How the report is written.");
    ACKNOWLEDGED;
    CORRECTIONS: Form = optional("corrections", Form::List(&CORRECTION_KEYS),
        "Record of entries changed after the work.");
    RUNS;
}

section! {
    CONDITION_KEYS = "the conditions";
    LIQUID: Measure = optional("liquid", celsius(-25.0, 110.0, LIQUID_LIMITS),
        "Temperature of the liquid that was weighed.");
    THERMOMETER: ApparatusName = optional("thermometer", ApparatusName(&[ApparatusKind::Thermometer]),
        "The thermometer; a single one need not be named.");
    AIR: Measure = optional("air", celsius(-20.0, 60.0, "between −20 °C and 60 °C"), "Temperature of the air.");
    PRESSURE: Measure = optional("pressure",
        between(Unit::HECTOPASCAL, 300.0, 1100.0, "between 300 hPa and 1100 hPa"),
        "Pressure of the air at the bench, not reduced to sea level.");
    HUMIDITY: Measure = optional("humidity", ratio(1.0, "more than 0 % and at most 100 %"),
        "Relative humidity of the air.");
}

section! {
    SOLUTE_KEYS = "the solute";
    NAME: Text = required("name", Text, "Name of the salt.");
    FORMULA: Text = optional("formula", Text, "Chemical formula, e.g. NaCl.");
    MOLAR_MASS: Measure = optional("molar_mass", positive(Unit::GRAM_PER_MOLE), "Molar mass.");
    PURITY: Measure = optional("purity", ratio(1.0, "more than 0 % and at most 100 %"),
        "Mass fraction of the salt in the material weighed.");
    MOISTURE: Measure = optional("moisture",
        between(Unit::ONE, 0.0, 0.9, "zero or more and at most 90 %"),
        "Mass fraction of water in the material weighed; purity is then that of the dry material.");
    CRYSTAL_DENSITY: Measure = optional("density", SOLID_DENSITY,
        "Density of the dry crystals, for the buoyancy of the air.");
}

/// Returns all names of the salts.
pub(in crate::bench::runfile) fn known_salts() -> Vec<&'static str> {
    let names = |salt: &Salt| {
        [salt.name, salt.formula]
            .into_iter()
            .chain(salt.also.iter().copied())
    };
    SALTS.iter().flat_map(names).collect()
}

section! {
    ALLOW_FOR_KEYS = "the corrections asked for";
    AIR_BUOYANCY: Form = optional("air_buoyancy", Form::WordOrSection(&["true"], &AIR_BUOYANCY_KEYS),
        "Buoyancy of the air, from air, pressure and humidity under conditions: true, or a section with the weights.");
    WARE_TEMPERATURE: Mark = optional("ware_temperature", Mark,
        "Expansion of glassware from 20 °C to the temperature of the liquid.");
    DENSITY_AT: Measure = optional("density_at", celsius(0.0, 40.0, "between 0 °C and 40 °C"),
        "Temperature to which densities are converted before the calibration.");
}

section! {
    AIR_BUOYANCY_KEYS = "the buoyancy of the air";
    WEIGHTS: Measure = required("weights", SOLID_DENSITY,
        "Density of the weights that the balance was adjusted with; 8000 kg/m³ if only true is written.");
}

section! {
    CALIBRATION_KEYS = "the calibration";
    AGAINST: Choice<Scale> = optional("against",
        Choice(&[
            ("mass percent", Scale::MassPercent), ("mass concentration", Scale::MassConcentration),
            ("molarity", Scale::Molarity), ("molality", Scale::Molality),
        ]),
        "The measure of composition.");
    LINE: Choice<ReadFrom> = optional("line",
        Choice(&[
            ("straight", ReadFrom::Line(Line::Straight)), ("curve", ReadFrom::Line(Line::Curve)),
            (PUBLISHED, ReadFrom::Published),
        ]),
        "The function: a straight line, a quadratic curve, or the published density of the salt's solutions. If omitted, the report chooses between the first two and says why.");
    FIT: Choice<FitMethod> = optional("fit",
        Choice(&[
            ("generalised", FitMethod::Generalised), ("generalized", FitMethod::Generalised),
            ("weighted", FitMethod::Weighted), ("ordinary", FitMethod::Ordinary),
        ]),
        "The method of least squares: with all covariances, with variances only, or with equal weights.");
    WITHOUT: SolutionNames = optional("without", SolutionNames,
        "Solutions kept out of the fit; they are still compared and shown.");
    CALIBRATION_FROM: Text = optional("from", Text,
        "Path, from the run file's folder, of the report (PDF) or results file (JSON) of an earlier run, whose calibration is used for the unknowns; without the other keys.");
}

/// What an unknown is read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ReadFrom {
    /// A line through the solutions of the bench.
    Line(Line),
    /// Published densities.
    Published,
}

/// The word for published densities.
pub(in crate::bench::runfile) const PUBLISHED: &str = "published";

section! {
    REPORT_KEYS = "the report section";
    COVERAGE: Measure = optional("coverage", ratio(0.9999, "more than 0 % and at most 99.99 %"),
        "Coverage probability of expanded uncertainties.");
    DIGITS: Choice<Digits> = optional("digits",
        Choice(&[("uncertainty", Digits::Uncertainty), ("significant figures", Digits::SignificantFigures)]),
        "The rule for the digits of results.");
    DENSITY_UNIT: Choice<DensityUnit> = optional("density_unit",
        Choice(&[
            ("g/mL", DensityUnit::GramPerMillilitre), ("kg/m³", DensityUnit::KilogramPerCubicMetre),
            ("kg/m3", DensityUnit::KilogramPerCubicMetre),
        ]),
        "The unit that the report states densities in.");
    SCALES: Choices<TradeScale> = optional("scales",
        Choices(Choice(&[
            ("specific gravity", TradeScale::SpecificGravity), ("degrees Baumé", TradeScale::DegreesBaume),
            ("degrees Baume", TradeScale::DegreesBaume),
            ("per cent of saturation", TradeScale::PercentSaturation),
            ("percent of saturation", TradeScale::PercentSaturation),
        ])),
        "Trade units in which the strength of sodium chloride brines is stated.");
}

section! {
    CORRECTION_KEYS = "a correction";
    ENTRY: Text = required("entry", Text, "Name of the entry, e.g. weighings.A.1.filled.");
    WAS: Text = required("was", Text, "The old value, as written.");
    NOW: Text = required("now", Text, "The present value, as written.");
    WHY: Text = required("why", Text, "The reason.");
    BY: Text = optional("by", Text, "Who says so.");
    ON: Day = optional("on", Day, "The day, YYYY-MM-DD.");
}

#[cfg(test)]
mod tests {
    use super::{PLAN_FILE, RUN};
    use crate::bench::runfile::vocabulary::Section;
    use std::collections::BTreeSet;

    #[test]
    fn every_word_is_described_once() {
        let mut words = 0;
        let files = [&RUN, &PLAN_FILE].into_iter();
        for section in files.flat_map(Section::with_all_below) {
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
                words += 1;
            }
        }
        assert!(words > 70, "sections are not reached: {words} words");
    }
}
