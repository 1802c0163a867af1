//! The words for what is done at the bench: solutions and weighings.

use super::super::model::{ApparatusKind as Kind, ReplicateSpread};
use super::super::vocabulary::{
    ApparatusName, Choice, Deliveries, Explanation, Form, Key, Mark, Measure, Scaled, Section,
    Short, SolutionName, Stranger, Text, Texts,
};
use super::bench::{GLASS, NOTE, SHOWN};
use super::done::{MIXED, OVER_MARK, RINSED};
use super::{LIQUID, optional, positive, required, zero_or_more};
use crate::bench::quantity::Unit;

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

section! {
    SOLUTION_KEYS = "a solution",
        exactly_one_of(&[&[&PURE], &[&UNKNOWN], &[&WEIGHED, &MADE_UP], &[&WEIGHED, &SOLVENT], &[&ALIQUOT, &MADE_UP]]);
    PURE: Mark = optional("pure", Mark, "Pure water.");
    UNKNOWN: Mark = optional("unknown", Mark, "Composition to be found from the density.");
    WEIGHED: Form = optional("weighed", Form::Section(&WEIGHED_KEYS), "The salt.");
    SOLVENT: Form = optional("solvent", Form::Section(&SOLVENT_KEYS), "The water, weighed or measured out.");
    ALIQUOT: Form = optional("aliquot", Form::Section(&ALIQUOT_KEYS), "The aliquot taken of another solution.");
    MADE_UP: Form = optional("made_up", Form::Section(&MADE_UP_KEYS), "The volume it was made up to.");
    MIXED; NOTE;
}

section! {
    WEIGHED_KEYS = "a weighing", exactly_one_of(&[&[&MASS], &[&BEFORE, &AFTER]]), or_short(Short::Of("mass"));
    MASS: Measure = optional("mass", positive(Unit::GRAM), "Weighed into a tared vessel.");
    BEFORE: Measure = optional("before", positive(Unit::GRAM), "By difference: the vessel before it was emptied.");
    AFTER: Measure = optional("after", zero_or_more(Unit::GRAM), "By difference: the vessel after it was emptied.");
    BALANCE: ApparatusName = optional("balance", ApparatusName(&[Kind::Balance]),
        "The balance; a single one need not be named.");
}

section! {
    SOLVENT_KEYS = "the water", exactly_one_of(&[&[&MASS], &[&BEFORE, &AFTER], &[&WATER_VOLUME]]),
        or_short(Short::Amount { mass: "mass", volume: "volume" });
    MASS; BEFORE; AFTER; BALANCE;
    WATER_VOLUME: Deliveries = optional("volume", Deliveries(positive(Unit::MILLILITRE)),
        "The volume, or one for each delivery: [50.0 mL, 45.0 mL], or 2 × 50.0 mL.");
    WITH: ApparatusName = optional("with", ApparatusName(DELIVERS), "The ware that delivered it.");
}

section! {
    MADE_UP_KEYS = "making up", or_short(Short::Of("to"));
    TO: Measure = required("to", positive(Unit::MILLILITRE), "The volume.");
    IN: ApparatusName = optional("in", ApparatusName(HOLDS), "The flask or cylinder.");
    RINSED; OVER_MARK;
}

section! {
    ALIQUOT_KEYS = "an aliquot", or_short(Short::TakenOf { volume: "volume", of: "of" });
    OF: SolutionName = required("of", SolutionName, "The solution it was taken from.");
    ALIQUOT_VOLUME: Deliveries = required("volume", Deliveries(positive(Unit::MILLILITRE)),
        "The volume, or one for each delivery: [5.00 mL, 5.00 mL], or 2 × 5.00 mL.");
    WITH; RINSED;
}

section! {
    DENSITY_KEYS = "the density section", any_of(&[&[&WEIGHINGS], &[&CUMULATIVE], &[&PYCNOMETER], &[&READINGS]]);
    BALANCE;
    PIPETTE: ApparatusName = optional("pipette", ApparatusName(MEASURES_VOLUME),
        "The ware that measured the volume.");
    REPLICATE_SPREAD: Choice<ReplicateSpread> = optional("repeatability",
        Choice(&[("own", ReplicateSpread::Own), ("pooled", ReplicateSpread::Pooled)]),
        "Whether each solution has its own standard deviation, or all have a pooled one.");
    WEIGHINGS: Form = optional("weighings", Form::NamedListsOrSection(&REPLICATE_KEYS, &FROM_KEYS),
        "Weighings of known volumes, by solution; or the file that contains them.");
    CUMULATIVE: Form = optional("cumulative", Form::Named(&CUMULATIVE_KEYS),
        "Successive deliveries into one vessel without taring, by solution.");
    PYCNOMETER: Form = optional("pycnometer", Form::Section(&PYCNOMETER_KEYS),
        "A pycnometer, filled with water and with solutions.");
    READINGS: Form = optional("readings", Form::NamedLists(&READING_KEYS),
        "Densities read from a hydrometer or density meter, by solution.");
}

section! {
    CUMULATIVE_KEYS = "successive deliveries";
    VESSEL_EMPTY: Measure = optional("empty", zero_or_more(Unit::GRAM),
        "The vessel before the first delivery; a further point of the line.");
    LIQUID; BALANCE; PIPETTE; RINSED;
    DELIVERIES: Form = required("deliveries", Form::List(&DELIVERY_KEYS), "The deliveries, in order.");
}

section! {
    DELIVERY_KEYS = "a delivery";
    VOLUME: Measure = required("volume", positive(Unit::MILLILITRE), "The volume.");
    MASS_SO_FAR: Measure = required("mass", positive(Unit::GRAM),
        "The reading of the balance after it, including all earlier deliveries.");
    LEFT_OUT;
}

section! {
    PYCNOMETER_KEYS = "the pycnometer";
    EMPTY;
    WATER: Form = required("water", Form::Section(&WATER_KEYS), "The pycnometer filled with pure water.");
    BALANCE; GLASS;
    FILLING_REPEATABILITY: Measure = optional("repeatability", zero_or_more(Unit::MILLILITRE),
        "Standard deviation of its contents, from filling to filling.");
    FILLINGS: Form = required("readings", Form::NamedLists(&FILLING_KEYS), "The pycnometer filled, by solution.");
}

section! {
    WATER_KEYS = "the filling with water", exactly_one_of(&[&[&WATER_FILLED], &[&WATER_FILLINGS]]);
    WATER_FILLED: Measure = optional("filled", positive(Unit::GRAM), "The pycnometer filled with water once.");
    WATER_FILLINGS: Form = optional("readings", Form::List(&WATER_FILLING_KEYS),
        "The pycnometer filled with water several times, at one temperature.");
    LIQUID;
}

section! {
    WATER_FILLING_KEYS = "a filling with water";
    FILLED; LEFT_OUT;
}

section! {
    FILLING_KEYS = "a filling";
    FILLED; LIQUID; LEFT_OUT;
}

section! {
    READING_KEYS = "a reading of density", or_short(Short::Of("density"));
    DENSITY_READ: Scaled = required("density", Scaled(&SHOWN),
        "The density shown, or the reading on the instrument's own scale: 19.1 °Bé, 76 % saturation, specific gravity 1.152.");
    LIQUID;
    WITH_INSTRUMENT: ApparatusName = optional("with", ApparatusName(&[Kind::Hydrometer, Kind::DensityMeter]),
        "The hydrometer or density meter.");
    LEFT_OUT;
}

section! {
    REPLICATE_KEYS = "a weighing of a volume", not(&[mass_alone("mass"), mass_alone("weight")]);
    EMPTY: Measure = required("empty", zero_or_more(Unit::GRAM), "The empty vessel.");
    FILLED: Measure = required("filled", positive(Unit::GRAM), "The vessel with the volume in it.");
    VOLUME_WEIGHED: Deliveries = required("volume", Deliveries(positive(Unit::MILLILITRE)),
        "The volume delivered, or one for each delivery: 2 × 5.00 mL. Deliveries weighed one by one into one vessel go under cumulative.");
    LIQUID; BALANCE; PIPETTE; RINSED;
    LEFT_OUT: Explanation = optional("left_out",
        Explanation {
            asks: "why",
            not: &["true", "yes", "y", "x", "1", "false", "no", "n", "0", "none", "-"],
            right: "the reason why it is left out, such as bubble in the pipette; or no such key, to include it",
            may_be_blank: false,
        },
        "Why it is left out of the mean.");
}

/// Returns a word for the mass of what was weighed, in place of both readings.
const fn mass_alone(word: &'static str) -> Stranger {
    Stranger {
        word,
        right: "`empty` and `filled`, as shown; for a tared vessel, `empty: 0.00 g` and the mass as `filled`",
        stands_for: &["empty", "filled"],
    }
}

section! {
    FROM_KEYS = "weighings from a file";
    FROM: Text = required("from", Text,
        "Path, from the run file's folder, of a CSV file with a weighing in each line.");
    COLUMNS: Form = optional("columns", Form::Section(&COLUMN_KEYS),
        "The names of its columns, if they differ from the keys.");
    UNREAD: Texts = optional("unread", Texts, "Columns that contain no readings of this run.");
}

section! {
    COLUMN_KEYS = "the columns";
    SOLUTION_COLUMN: Text = optional("solution", Text, "The column with the name of the solution weighed.");
    EMPTY_COLUMN: Text = optional("empty", Text, "The column with the mass of the empty vessel.");
    FILLED_COLUMN: Text = optional("filled", Text, "The column with the mass of the vessel with the volume in it.");
    VOLUME_COLUMN: Text = optional("volume", Text, "The column with the volume.");
    LIQUID_COLUMN: Text = optional("liquid", Text, "The column with the temperature of the liquid.");
    BALANCE_COLUMN: Text = optional("balance", Text, "The column with the name of the balance.");
    PIPETTE_COLUMN: Text = optional("pipette", Text,
        "The column with the name of the ware that measured the volume.");
    RINSED_COLUMN: Text = optional("rinsed", Text, "The column with the number of rinses of the pipette.");
    LEFT_OUT_COLUMN: Text = optional("left_out", Text,
        "The column with the reason why a weighing is left out of the mean.");
}

/// The same, as they are read.
pub(in crate::bench::runfile) static COLUMNS_READ: [&Key<Text>; 9] = [
    &SOLUTION_COLUMN,
    &EMPTY_COLUMN,
    &FILLED_COLUMN,
    &VOLUME_COLUMN,
    &LIQUID_COLUMN,
    &BALANCE_COLUMN,
    &PIPETTE_COLUMN,
    &RINSED_COLUMN,
    &LEFT_OUT_COLUMN,
];

#[cfg(test)]
mod tests {
    use super::{COLUMN_KEYS, COLUMNS_READ, REPLICATE_KEYS, SOLUTION_COLUMN};

    #[test]
    fn a_column_for_the_solution_and_for_each_key_of_a_weighing() {
        let mut columns: Vec<_> = COLUMN_KEYS.keys.iter().map(|key| key.name()).collect();
        assert_eq!(columns, COLUMNS_READ.map(|key| key.name), "all are read");
        let mut keys: Vec<_> = REPLICATE_KEYS.keys.iter().map(|key| key.name()).collect();
        keys.push(SOLUTION_COLUMN.name);
        keys.sort_unstable();
        columns.sort_unstable();
        assert_eq!(columns, keys, "by the same names");
    }
}
