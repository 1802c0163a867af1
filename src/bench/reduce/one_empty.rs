//! One reading of the empty vessel that serves several weighings.

use crate::bench::runfile::model::{Reading, Ref, Weighings};
use crate::bench::worksheet::{Expr, NodeId};

/// The reading of the empty vessel of a solution, where the very same one is written at each of several weighings that count.
///
/// It is then taken as read once: its error does not average out, and the spread of the densities does not show it. Equal
/// readings of a coarse balance may be honest repeats. Their rounding is then the same as well, and to count the stated
/// repeatability once more is on the safe side; to average the error of one reading is not.
pub(super) struct OneEmpty<'w> {
    reading: &'w Reading,
    balance: Option<usize>,
    pub(super) found: Option<(NodeId, Expr)>,
}

impl<'w> OneEmpty<'w> {
    pub(super) fn new(weighings: &'w Weighings) -> Option<Self> {
        let mut counted = weighings.replicates.iter().filter(|r| r.left_out.is_none());
        let first = counted.next()?;
        let one = Self {
            reading: &first.empty,
            balance: first.balance.as_ref().map(|balance| balance.value),
            found: None,
        };
        let mut others = counted.peekable();
        others.peek()?;
        others
            .all(|r| one.is(&r.empty, r.balance.as_ref()))
            .then_some(one)
    }

    pub(super) fn is(&self, reading: &Reading, balance: Option<&Ref>) -> bool {
        let (own, other) = (&self.reading.value, &reading.value);
        own.number.text == other.number.text
            && own.unit == other.unit
            && own.standard_uncertainty == other.standard_uncertainty
            && self.balance == balance.map(|balance| balance.value)
    }
}

/// Returns whether the very same reading of the empty vessel is written at each of several weighings of a solution.
pub fn has_one_empty(weighings: &Weighings) -> bool {
    OneEmpty::new(weighings).is_some()
}
