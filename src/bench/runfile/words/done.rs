//! The words for what was done besides reading, and for what is known of it.

use super::super::model::FlagCode;
use super::super::vocabulary::{
    Account, Choice, Count, Form, Key, Measure, Section, SolutionName, Text,
};
use super::{BY, ON, WHY, optional, positive, required};
use crate::bench::quantity::Unit;

/// Nobody rinses more often.
const MOST_RINSES: u32 = 99;

pub(in crate::bench::runfile) static PRACTICE: Key<Form> = optional(
    "practice",
    Form::Section(&PRACTICE_KEYS),
    "How ware was rinsed and solutions were mixed, unless an entry says otherwise.",
);
pub(in crate::bench::runfile) static PRACTICE_KEYS: Section =
    Section::of("the practice", &[&RINSED, &MIXED]);
pub(in crate::bench::runfile) static RINSED: Key<Count> = optional(
    "rinsed",
    Count(MOST_RINSES),
    "Number of times ware was rinsed with the next liquid; a flask, with water.",
);
pub(in crate::bench::runfile) static MIXED: Key<Account> = optional(
    "mixed",
    Account {
        asks: "how",
        not: &[
            "no",
            "n",
            "false",
            "0",
            "none",
            "never",
            "not",
            "not mixed",
            "unmixed",
            "-",
        ],
        right: "how it was mixed, such as inverted ten times; or no such key, if it was not",
        may_be_blank: true,
    },
    "How solutions were mixed, e.g. inverted ten times.",
);
pub(in crate::bench::runfile) static OVER_MARK: Key<Measure> = optional(
    "over_mark",
    positive(Unit::MILLILITRE),
    "Approximate volume over the mark.",
);

pub(in crate::bench::runfile) static PHOTOS: Key<Form> = optional(
    "photos",
    Form::List(&PHOTO_KEYS),
    "Photographs beside the run file, for the report to show.",
);
pub(in crate::bench::runfile) static PHOTO_KEYS: Section =
    Section::of("a photograph", &[&PHOTO_FILE, &CAPTION, &SHOWS]);
pub(in crate::bench::runfile) static PHOTO_FILE: Key<Text> = required(
    "file",
    Text,
    "The path of a JPEG or PNG picture, from the run file's folder.",
);
pub(in crate::bench::runfile) static CAPTION: Key<Text> =
    required("caption", Text, "What the photograph shows.");
pub(in crate::bench::runfile) static SHOWS: Key<SolutionName> =
    optional("shows", SolutionName, "The solution that it shows.");

pub(in crate::bench::runfile) static ACKNOWLEDGED: Key<Form> = optional(
    "acknowledged",
    Form::List(&ACKNOWLEDGED_KEYS),
    "Flags that are accepted, each with the reason.",
);
pub(in crate::bench::runfile) static ACKNOWLEDGED_KEYS: Section =
    Section::of("an acknowledgement", &[&FLAG, &FLAGGED_AT, &WHY, &BY, &ON]);
pub(in crate::bench::runfile) static FLAG: Key<Choice<FlagCode>> =
    required("flag", Choice(FlagCode::WORDS), "The flag, by its code.");
pub(in crate::bench::runfile) static FLAGGED_AT: Key<Text> = optional(
    "at",
    Text,
    "The entry that the flag names; if omitted, the flag at every entry.",
);
