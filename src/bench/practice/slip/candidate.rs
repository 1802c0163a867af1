//! A slip, as it is named to the reader and to other programs.

use serde::Serialize;

use super::super::Message;
use super::AT_A_BENCH;
use crate::bench::quantity::{NumberSlip, Quantity, Unit};

/// A kind of slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SlipKind {
    /// Two neighbouring digits exchanged.
    DigitsTransposed,
    /// The decimal point one place off.
    PointMoved,
    /// A number one whole unit too large or too small.
    WholeUnit,
    /// One digit taken for another.
    DigitMisread,
    /// One delivery too many or too few written down.
    DeliveryCount,
    /// Filled to another mark.
    OtherMark,
    /// Two solutions taken for each other.
    Exchanged,
    /// A delivery of a cumulative series that was not written down.
    DeliveryOmitted,
    /// A temperature of another scale.
    OtherScale,
}

impl SlipKind {
    /// Returns what happened, in a few words.
    fn happened(self) -> &'static str {
        match self {
            Self::DigitsTransposed => "two digits transposed",
            Self::PointMoved => "decimal point moved",
            Self::WholeUnit => "off by one whole unit",
            Self::DigitMisread => "one digit misread",
            Self::DeliveryCount => "deliveries miscounted",
            Self::OtherMark => "filled to another mark",
            Self::Exchanged => "exchanged when they were measured",
            Self::DeliveryOmitted => "a delivery not written down",
            Self::OtherScale => "another scale",
        }
    }
}

impl From<NumberSlip> for SlipKind {
    fn from(slip: NumberSlip) -> Self {
        match slip {
            NumberSlip::DigitsTransposed => Self::DigitsTransposed,
            NumberSlip::PointMoved => Self::PointMoved,
            NumberSlip::WholeUnit => Self::WholeUnit,
            NumberSlip::DigitMisread => Self::DigitMisread,
        }
    }
}

/// Returns the same number in degrees Fahrenheit, if that is a likely temperature at a bench and the one written is
/// not.
pub(in crate::bench::practice) fn in_fahrenheit(written: &Quantity) -> Option<Quantity> {
    let fahrenheit = Unit::from_symbol("°F", written.unit.dimension)?;
    let meant = Quantity {
        unit: fahrenheit,
        ..written.clone()
    };
    let meant = meant.with_number(&written.number.text)?;
    let unlikely = !AT_A_BENCH.contains(&written.value) && written.unit.symbol != fahrenheit.symbol;
    (unlikely && AT_A_BENCH.contains(&meant.value)).then_some(meant)
}

/// A slip that would explain a flag.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Candidate {
    /// The kind of slip, e.g. `digits-transposed`.
    pub kind: SlipKind,
    /// The entry of the run file that would be wrong.
    pub entry: String,
    /// What is written there.
    pub read: String,
    /// The right value.
    pub meant: String,
}

impl Candidate {
    /// In words; `opening` names the entry, as in `weighings.A.1.filled was`.
    pub fn in_words(&self, opening: &str) -> String {
        let Self {
            kind, read, meant, ..
        } = self;
        let happened = kind.happened();
        match kind {
            SlipKind::Exchanged => format!("{read} and {meant} were {happened}"),
            _ => format!("{opening} {meant}, not {read} ({happened})"),
        }
    }
}

/// So many candidates are named in a sentence.
const MOST_TOLD: usize = 8;

/// Adds all candidates in a sentence or two; nothing without any.
pub(in crate::bench::practice) fn tell(candidates: &[Candidate], message: &mut Message) {
    message.add(match candidates {
        [] => return,
        [_] => " One slip would explain it: ",
        _ => " Any of these slips would explain it: ",
    });
    for (i, candidate) in candidates.iter().take(MOST_TOLD).enumerate() {
        if i > 0 {
            message.add("; ");
        }
        if candidate.kind == SlipKind::Exchanged {
            message.add(candidate.in_words(""));
        } else {
            message.add_entry(&candidate.entry);
            message.add(candidate.in_words(" was"));
        }
    }
    if let more @ 1.. = candidates.len().saturating_sub(MOST_TOLD) {
        message.add(format!("; {more} others in the results file"));
    }
    message.add(". Look at the notebook before changing anything.");
}
