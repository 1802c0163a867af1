//! Whether a claimed result is written with the digits that its uncertainty supports.

use serde::Serialize;

use super::Claimed;
use crate::bench::quantity::rounding::Rounded;
use crate::bench::reduce::results::Manner;
use crate::bench::reduce::{Reduction, Target};
use crate::bench::runfile::model::Step;

/// How the digits of a claimed result are judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DigitsJudged {
    /// As many as its uncertainty supports.
    Adequate,
    /// More than that.
    TooMany,
    /// Fewer.
    TooFew,
}

impl DigitsJudged {
    /// For people.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Adequate => "adequate",
            Self::TooMany => "too many",
            Self::TooFew => "too few",
        }
    }
}

/// How the digits of a claimed result of an expanded uncertainty are judged. They go to its second digit or its first; those
/// of what is only on the way may have one more, and those of a mass are those of its readings. `None` if there is no
/// uncertainty to go by.
pub(super) fn digits(
    claimed: &Claimed<'_>,
    reduction: &Reduction,
    manner: &Manner,
    uncertainty: Option<f64>,
) -> Option<DigitsJudged> {
    let last = (2.0 * claimed.half).log10().round() as i32;
    if let Target::Quantity(id) = claimed.target {
        let by_rules = [reduction.worksheet.exact_place(id), manner.last_place(id)];
        if by_rules.contains(&Some(last)) {
            return Some(DigitsJudged::Adequate);
        }
    }
    let finest = Rounded::new(claimed.value, uncertainty?, 2)?.last_place();
    let on_the_way = !matches!(claimed.claim.of, Step::Density(_) | Step::Composition(..));
    Some(if last > finest + 1 {
        DigitsJudged::TooFew
    } else if last < finest - i32::from(on_the_way) {
        DigitsJudged::TooMany
    } else {
        DigitsJudged::Adequate
    })
}
