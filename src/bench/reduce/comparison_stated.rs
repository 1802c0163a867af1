//! The results of a comparison with a published density, as they are handed on and printed.

use serde::Serialize;

use super::stated::{Stated, UNCERTAINTY_DIGITS};
use crate::bench::quantity::rounding::Rounded;

/// A comparison's results.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComparisonStated {
    /// Published density, g/mL.
    pub published: Stated,
    /// Measured minus published, g/mL.
    pub difference: Stated,
    /// The difference in relation to the published density.
    #[serde(skip)]
    pub relative: RelativeStated,
    /// Difference over its expanded uncertainty (ISO 13528:2015, 9.7).
    pub en: f64,
}

/// A difference in relation to a published density, as printed.
#[derive(Debug, Clone, PartialEq)]
pub struct RelativeStated {
    /// The difference and its expanded uncertainty, in per cent of the published density; `None` if one is not finite.
    pub rounded: Option<Rounded>,
}

impl RelativeStated {
    /// In the digits of the difference; the uncertainty of the published density is in that of the difference already.
    pub(super) fn new(difference: &Stated, published: &Stated, last_place: Option<i32>) -> Self {
        let percent = |amount: f64| 100.0 * amount / published.value;
        let (value, expanded) = (
            percent(difference.value),
            percent(difference.expanded_uncertainty),
        );
        Self {
            // A density of about 1 g/mL: the hundredth part is two places further.
            rounded: match last_place {
                Some(place) => Rounded::at(value, expanded, place.saturating_add(2)),
                None => Rounded::new(value, expanded, UNCERTAINTY_DIGITS),
            },
        }
    }

    /// With its unit, e.g. `0.12 ± 0.35 %`.
    pub fn in_percent(&self) -> String {
        self.rounded
            .as_ref()
            .map_or_else(|| "–".into(), |rounded| format!("{rounded} %"))
    }
}
