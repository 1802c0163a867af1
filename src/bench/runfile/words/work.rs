//! The words for what is done at the bench: solutions and weighings.

use super::super::model::{ApparatusKind as Kind, ReplicateSpread};
use super::super::vocabulary::{
    Account, ApparatusName, Choice, Deliveries, Form, Key, Mark, Measure, Scaled, Section, Short,
    SolutionName, Stranger, Text, Texts,
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

pub(in crate::bench::runfile) static SOLUTION_KEYS: Section = Section::of(
    "a solution",
    &[
        &PURE, &UNKNOWN, &WEIGHED, &SOLVENT, &ALIQUOT, &MADE_UP, &MIXED, &NOTE,
    ],
)
.exactly_one_of(&[
    &[&PURE],
    &[&UNKNOWN],
    &[&WEIGHED, &MADE_UP],
    &[&WEIGHED, &SOLVENT],
    &[&ALIQUOT, &MADE_UP],
]);
pub(in crate::bench::runfile) static PURE: Key<Mark> = optional("pure", Mark, "Pure water.");
pub(in crate::bench::runfile) static UNKNOWN: Key<Mark> =
    optional("unknown", Mark, "Composition to be found from the density.");
pub(in crate::bench::runfile) static WEIGHED: Key<Form> =
    optional("weighed", Form::Section(&WEIGHED_KEYS), "The salt.");
pub(in crate::bench::runfile) static SOLVENT: Key<Form> = optional(
    "solvent",
    Form::Section(&SOLVENT_KEYS),
    "The water, weighed or measured out.",
);
pub(in crate::bench::runfile) static ALIQUOT: Key<Form> = optional(
    "aliquot",
    Form::Section(&ALIQUOT_KEYS),
    "The aliquot taken of another solution.",
);
pub(in crate::bench::runfile) static MADE_UP: Key<Form> = optional(
    "made_up",
    Form::Section(&MADE_UP_KEYS),
    "The volume it was made up to.",
);

pub(in crate::bench::runfile) static WEIGHED_KEYS: Section =
    Section::of("a weighing", &[&MASS, &BEFORE, &AFTER, &BALANCE])
        .exactly_one_of(&[&[&MASS], &[&BEFORE, &AFTER]])
        .or_short(Short::Of("mass"));
pub(in crate::bench::runfile) static MASS: Key<Measure> =
    optional("mass", positive(Unit::GRAM), "Weighed into a tared vessel.");
pub(in crate::bench::runfile) static BEFORE: Key<Measure> = optional(
    "before",
    positive(Unit::GRAM),
    "By difference: the vessel before it was emptied.",
);
pub(in crate::bench::runfile) static AFTER: Key<Measure> = optional(
    "after",
    zero_or_more(Unit::GRAM),
    "By difference: the vessel after it was emptied.",
);
pub(in crate::bench::runfile) static BALANCE: Key<ApparatusName> = optional(
    "balance",
    ApparatusName(&[Kind::Balance]),
    "The balance; a single one need not be named.",
);

pub(in crate::bench::runfile) static SOLVENT_KEYS: Section = Section::of(
    "the water",
    &[&MASS, &BEFORE, &AFTER, &BALANCE, &WATER_VOLUME, &WITH],
)
.exactly_one_of(&[&[&MASS], &[&BEFORE, &AFTER], &[&WATER_VOLUME]]);
pub(in crate::bench::runfile) static WATER_VOLUME: Key<Deliveries> = optional(
    "volume",
    Deliveries(positive(Unit::MILLILITRE)),
    "The volume, or one for each delivery: [50.0 mL, 45.0 mL], or 2 × 50.0 mL.",
);

pub(in crate::bench::runfile) static MADE_UP_KEYS: Section =
    Section::of("making up", &[&TO, &IN, &RINSED, &OVER_MARK]).or_short(Short::Of("to"));
pub(in crate::bench::runfile) static TO: Key<Measure> =
    required("to", positive(Unit::MILLILITRE), "The volume.");
pub(in crate::bench::runfile) static IN: Key<ApparatusName> =
    optional("in", ApparatusName(HOLDS), "The flask or cylinder.");

pub(in crate::bench::runfile) static ALIQUOT_KEYS: Section =
    Section::of("an aliquot", &[&OF, &ALIQUOT_VOLUME, &WITH, &RINSED]).or_short(Short::TakenOf {
        volume: "volume",
        of: "of",
    });
pub(in crate::bench::runfile) static OF: Key<SolutionName> =
    required("of", SolutionName, "The solution it was taken of.");
pub(in crate::bench::runfile) static ALIQUOT_VOLUME: Key<Deliveries> = required(
    "volume",
    Deliveries(positive(Unit::MILLILITRE)),
    "The volume, or one for each delivery: [5.00 mL, 5.00 mL], or 2 × 5.00 mL.",
);
pub(in crate::bench::runfile) static WITH: Key<ApparatusName> = optional(
    "with",
    ApparatusName(DELIVERS),
    "The ware that delivered it.",
);

pub(in crate::bench::runfile) static DENSITY_KEYS: Section = Section::of(
    "the density section",
    &[
        &BALANCE,
        &PIPETTE,
        &REPLICATE_SPREAD,
        &WEIGHINGS,
        &CUMULATIVE,
        &PYCNOMETER,
        &READINGS,
    ],
)
.any_of(&[&[&WEIGHINGS], &[&CUMULATIVE], &[&PYCNOMETER], &[&READINGS]]);
pub(in crate::bench::runfile) static PIPETTE: Key<ApparatusName> = optional(
    "pipette",
    ApparatusName(MEASURES_VOLUME),
    "The ware that measured the volume.",
);
pub(in crate::bench::runfile) static REPLICATE_SPREAD: Key<Choice<ReplicateSpread>> = optional(
    "repeatability",
    Choice(&[
        ("own", ReplicateSpread::Own),
        ("pooled", ReplicateSpread::Pooled),
    ]),
    "Whether each solution has its own standard deviation, or all have a pooled one.",
);
pub(in crate::bench::runfile) static WEIGHINGS: Key<Form> = optional(
    "weighings",
    Form::NamedListsOrSection(&REPLICATE_KEYS, &FROM_KEYS),
    "Weighings of known volumes, by solution; or the file that contains them.",
);
pub(in crate::bench::runfile) static CUMULATIVE: Key<Form> = optional(
    "cumulative",
    Form::Named(&CUMULATIVE_KEYS),
    "Successive deliveries into one vessel without taring, by solution.",
);
pub(in crate::bench::runfile) static PYCNOMETER: Key<Form> = optional(
    "pycnometer",
    Form::Section(&PYCNOMETER_KEYS),
    "A pycnometer, filled with water and with solutions.",
);
pub(in crate::bench::runfile) static READINGS: Key<Form> = optional(
    "readings",
    Form::NamedLists(&READING_KEYS),
    "Densities read from a hydrometer or density meter, by solution.",
);

pub(in crate::bench::runfile) static CUMULATIVE_KEYS: Section = Section::of(
    "successive deliveries",
    &[
        &VESSEL_EMPTY,
        &LIQUID,
        &BALANCE,
        &PIPETTE,
        &RINSED,
        &DELIVERIES,
    ],
);
pub(in crate::bench::runfile) static VESSEL_EMPTY: Key<Measure> = optional(
    "empty",
    zero_or_more(Unit::GRAM),
    "The vessel before the first delivery; a further point of the line.",
);
pub(in crate::bench::runfile) static DELIVERIES: Key<Form> = required(
    "deliveries",
    Form::List(&DELIVERY_KEYS),
    "The deliveries, in order.",
);
pub(in crate::bench::runfile) static DELIVERY_KEYS: Section =
    Section::of("a delivery", &[&VOLUME, &MASS_SO_FAR, &LEFT_OUT]);
pub(in crate::bench::runfile) static MASS_SO_FAR: Key<Measure> = required(
    "mass",
    positive(Unit::GRAM),
    "The reading of the balance after it, including all earlier deliveries.",
);

pub(in crate::bench::runfile) static PYCNOMETER_KEYS: Section = Section::of(
    "the pycnometer",
    &[
        &EMPTY,
        &WATER,
        &BALANCE,
        &GLASS,
        &FILLING_REPEATABILITY,
        &FILLINGS,
    ],
);
pub(in crate::bench::runfile) static FILLING_REPEATABILITY: Key<Measure> = optional(
    "repeatability",
    zero_or_more(Unit::MILLILITRE),
    "Standard deviation of its contents, from filling to filling.",
);
pub(in crate::bench::runfile) static WATER: Key<Form> = required(
    "water",
    Form::Section(&WATER_KEYS),
    "The pycnometer filled with pure water.",
);
pub(in crate::bench::runfile) static WATER_KEYS: Section = Section::of(
    "the filling with water",
    &[&WATER_FILLED, &WATER_FILLINGS, &LIQUID],
)
.exactly_one_of(&[&[&WATER_FILLED], &[&WATER_FILLINGS]]);
pub(in crate::bench::runfile) static WATER_FILLED: Key<Measure> = optional(
    "filled",
    positive(Unit::GRAM),
    "The pycnometer filled with water once.",
);
pub(in crate::bench::runfile) static WATER_FILLINGS: Key<Form> = optional(
    "readings",
    Form::List(&WATER_FILLING_KEYS),
    "The pycnometer filled with water several times, at one temperature.",
);
pub(in crate::bench::runfile) static WATER_FILLING_KEYS: Section =
    Section::of("a filling with water", &[&FILLED, &LEFT_OUT]);
pub(in crate::bench::runfile) static FILLINGS: Key<Form> = required(
    "readings",
    Form::NamedLists(&FILLING_KEYS),
    "The pycnometer filled, by solution.",
);
pub(in crate::bench::runfile) static FILLING_KEYS: Section =
    Section::of("a filling", &[&FILLED, &LIQUID, &LEFT_OUT]);

pub(in crate::bench::runfile) static READING_KEYS: Section = Section::of(
    "a reading of density",
    &[&DENSITY_READ, &LIQUID, &WITH_INSTRUMENT, &LEFT_OUT],
)
.or_short(Short::Of("density"));
pub(in crate::bench::runfile) static DENSITY_READ: Key<Scaled> = required(
    "density",
    Scaled(&SHOWN),
    "The density shown, or the reading on the instrument's own scale: 19.1 °Bé, 76 % saturation, specific gravity 1.152.",
);
pub(in crate::bench::runfile) static WITH_INSTRUMENT: Key<ApparatusName> = optional(
    "with",
    ApparatusName(&[Kind::Hydrometer, Kind::DensityMeter]),
    "The hydrometer or density meter.",
);

pub(in crate::bench::runfile) static REPLICATE_KEYS: Section = Section::of(
    "a weighing of a volume",
    &[
        &EMPTY,
        &FILLED,
        &VOLUME_WEIGHED,
        &LIQUID,
        &BALANCE,
        &PIPETTE,
        &RINSED,
        &LEFT_OUT,
    ],
)
.not(&[mass_alone("mass"), mass_alone("weight")]);

/// A word for the mass of what was weighed, in place of both readings.
const fn mass_alone(word: &'static str) -> Stranger {
    Stranger {
        word,
        right: "`empty` and `filled`, as shown; for a tared vessel, `empty: 0.00 g` and the mass as `filled`",
        stands_for: &["empty", "filled"],
    }
}
pub(in crate::bench::runfile) static EMPTY: Key<Measure> =
    required("empty", zero_or_more(Unit::GRAM), "The empty vessel.");
pub(in crate::bench::runfile) static FILLED: Key<Measure> = required(
    "filled",
    positive(Unit::GRAM),
    "The vessel with the volume in it.",
);
pub(in crate::bench::runfile) static VOLUME_WEIGHED: Key<Deliveries> = required(
    "volume",
    Deliveries(positive(Unit::MILLILITRE)),
    "The volume delivered, or one for each delivery: 2 × 5.00 mL. Deliveries weighed one by one into one vessel go under cumulative.",
);
pub(in crate::bench::runfile) static VOLUME: Key<Measure> =
    required("volume", positive(Unit::MILLILITRE), "The volume.");
pub(in crate::bench::runfile) static LEFT_OUT: Key<Account> = optional(
    "left_out",
    Account {
        asks: "why",
        not: &[
            "true", "yes", "y", "x", "1", "false", "no", "n", "0", "none", "-",
        ],
        right: "the reason why it is left out, such as bubble in the pipette; or no such key, to include it",
        may_be_blank: false,
    },
    "Why it is left out of the mean.",
);

pub(in crate::bench::runfile) static FROM_KEYS: Section =
    Section::of("weighings from a file", &[&FROM, &COLUMNS, &UNREAD]);
pub(in crate::bench::runfile) static FROM: Key<Text> = required(
    "from",
    Text,
    "Path, from the run file's folder, of a CSV file with a weighing in each line.",
);
pub(in crate::bench::runfile) static COLUMNS: Key<Form> = optional(
    "columns",
    Form::Section(&COLUMN_KEYS),
    "The names of its columns, if they differ from the keys.",
);
pub(in crate::bench::runfile) static UNREAD: Key<Texts> = optional(
    "unread",
    Texts,
    "Columns that contain no readings of this run.",
);
pub(in crate::bench::runfile) static COLUMN_KEYS: Section = Section::of(
    "the columns",
    &[
        &SOLUTION_COLUMN,
        &EMPTY_COLUMN,
        &FILLED_COLUMN,
        &VOLUME_COLUMN,
        &LIQUID_COLUMN,
        &BALANCE_COLUMN,
        &PIPETTE_COLUMN,
        &RINSED_COLUMN,
        &LEFT_OUT_COLUMN,
    ],
);
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
pub(in crate::bench::runfile) static SOLUTION_COLUMN: Key<Text> = optional(
    "solution",
    Text,
    "The column with the name of the solution weighed.",
);
static EMPTY_COLUMN: Key<Text> = optional(
    "empty",
    Text,
    "The column with the mass of the empty vessel.",
);
static FILLED_COLUMN: Key<Text> = optional(
    "filled",
    Text,
    "The column with the mass of the vessel with the volume in it.",
);
static VOLUME_COLUMN: Key<Text> = optional("volume", Text, "The column with the volume.");
static LIQUID_COLUMN: Key<Text> = optional(
    "liquid",
    Text,
    "The column with the temperature of the liquid.",
);
static BALANCE_COLUMN: Key<Text> =
    optional("balance", Text, "The column with the name of the balance.");
static PIPETTE_COLUMN: Key<Text> = optional(
    "pipette",
    Text,
    "The column with the name of the ware that measured the volume.",
);
static RINSED_COLUMN: Key<Text> = optional(
    "rinsed",
    Text,
    "The column with the number of rinses of the pipette.",
);
static LEFT_OUT_COLUMN: Key<Text> = optional(
    "left_out",
    Text,
    "The column with the reason why a weighing is left out of the mean.",
);

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
