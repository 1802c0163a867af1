//! The words for what was done besides reading, and for what is known of it.

use super::super::model::FlagCode;
use super::super::vocabulary::{
    Choice, Count, Explanation, Form, Key, Measure, Section, SolutionName, Text,
};
use super::{BY, ON, WHY, optional, positive, required};
use crate::bench::quantity::Unit;

/// Nobody rinses more often.
const MOST_RINSES: u32 = 99;

keys! {
    PRACTICE: Form = optional("practice", Form::Section(&PRACTICE_KEYS),
        "How ware was rinsed and solutions were mixed, unless an entry says otherwise.");
}

section! {
    PRACTICE_KEYS = "the practice";
    RINSED: Count = optional("rinsed", Count(MOST_RINSES),
        "Number of times ware was rinsed with the next liquid; a flask, with water.");
    MIXED: Explanation = optional("mixed",
        Explanation {
            asks: "how",
            not: &["no", "n", "false", "0", "none", "never", "not", "not mixed", "unmixed", "-"],
            right: "how it was mixed, such as inverted ten times; or no such key, if it was not",
            may_be_blank: true,
        },
        "How solutions were mixed, e.g. inverted ten times.");
}

keys! {
    OVER_MARK: Measure = optional("over_mark", positive(Unit::MILLILITRE), "Approximate volume over the mark.");
    PHOTOS: Form = optional("photos", Form::List(&PHOTO_KEYS),
        "Photographs beside the run file, for the report to show.");
}

section! {
    PHOTO_KEYS = "a photograph";
    PHOTO_FILE: Text = required("file", Text, "The path of a JPEG or PNG picture, from the run file's folder.");
    CAPTION: Text = required("caption", Text, "What the photograph shows.");
    SHOWS: SolutionName = optional("shows", SolutionName, "The solution that it shows.");
}

keys! {
    ACKNOWLEDGED: Form = optional("acknowledged", Form::List(&ACKNOWLEDGED_KEYS),
        "Flags that are accepted, each with the reason.");
}

section! {
    ACKNOWLEDGED_KEYS = "an acknowledgement";
    FLAG: Choice<FlagCode> = required("flag", Choice(FlagCode::WORDS), "The flag, by its code.");
    FLAGGED_AT: Text = optional("at", Text, "The entry that the flag names; if omitted, the flag at every entry.");
    WHY; BY; ON;
}
