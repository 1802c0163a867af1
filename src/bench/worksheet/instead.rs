//! What a quantity would be if others were: its formulas evaluated again with values put in their places.

use std::collections::{BTreeMap, BTreeSet};

use super::{NodeId, Source, Worksheet};

/// Values put in place of those of some quantities, each in its unit.
pub type Instead = BTreeMap<NodeId, f64>;

/// Quantities that are altered, as by rounding, before others are calculated from them.
pub struct Altered<'a> {
    /// These quantities; one that is replaced is not altered.
    pub quantities: &'a BTreeSet<NodeId>,
    /// The altered value from the one that the formula gives, both in the unit of the quantity.
    pub by: &'a dyn Fn(f64) -> f64,
}

impl Worksheet {
    /// The value that a quantity would have with others replaced: see [`Worksheet::values_with`].
    #[must_use]
    pub fn value_with(&self, of: NodeId, instead: &Instead) -> f64 {
        self.values_with(&[of], instead, None)[0]
    }

    /// The values that quantities would have with others replaced or altered, each in its unit; one that is replaced itself
    /// has that value. Not a number where the formulas give none. The cost grows with the number of quantities that those
    /// asked for rest on, of those on the worksheet from the first one replaced or altered on.
    #[must_use]
    pub fn values_with(
        &self,
        of: &[NodeId],
        instead: &Instead,
        altered: Option<&Altered<'_>>,
    ) -> Vec<f64> {
        let first_altered = altered.and_then(|altered| altered.quantities.first());
        let first = instead.keys().next().into_iter().chain(first_altered).min();
        let (Some(first), Some(last)) = (first, of.iter().max()) else {
            return of.iter().map(|id| self.value(*id)).collect();
        };
        let count = (last.0 + 1).saturating_sub(first.0);
        let mut changed = Changed {
            ws: self,
            first: first.0,
            values: vec![None; count],
        };
        for (id, value) in instead.iter().take_while(|(id, _)| *id <= last) {
            changed.values[id.0 - first.0] = Some(*value);
        }
        let index = |id: NodeId| id.0.checked_sub(first.0);
        let mut is_needed = vec![false; count];
        for asked in of.iter().filter_map(|id| index(*id)) {
            is_needed[asked] = true;
        }
        // Later quantities depend only on earlier ones.
        for at in (0..count).rev() {
            if is_needed[at] && changed.values[at].is_none() {
                let earlier = self.dependencies(NodeId(first.0 + at));
                for earlier in earlier.filter_map(index) {
                    is_needed[earlier] = true;
                }
            }
        }
        for (at, _) in is_needed.iter().enumerate().filter(|(_, is)| **is) {
            if changed.values[at].is_none() {
                let id = NodeId(first.0 + at);
                let found = changed.evaluated(id);
                changed.values[at] = match altered {
                    Some(altered) if altered.quantities.contains(&id) => {
                        Some((altered.by)(found.unwrap_or_else(|| self.value(id))))
                    }
                    _ => found,
                };
            }
        }
        of.iter().map(|id| changed.value(*id)).collect()
    }
}

/// Values that are not those of the worksheet.
struct Changed<'w> {
    ws: &'w Worksheet,
    /// The place of the first.
    first: usize,
    /// From there on; `None` where nothing changes.
    values: Vec<Option<f64>>,
}

impl Changed<'_> {
    fn changed(&self, id: NodeId) -> Option<f64> {
        let place = id.0.checked_sub(self.first)?;
        self.values.get(place).copied().flatten()
    }

    fn value(&self, id: NodeId) -> f64 {
        self.changed(id).unwrap_or_else(|| self.ws.value(id))
    }

    /// A quantity evaluated again; `None` if nothing that it depends on changes.
    fn evaluated(&self, id: NodeId) -> Option<f64> {
        let mut earlier = self.ws.dependencies(id);
        if !earlier.any(|id| self.changed(id).is_some()) {
            return None;
        }
        match &self.ws.node(id).source {
            Source::Calculated(formula) => Some(formula.value(&|id| self.value(id))),
            Source::Solved(of) => {
                let points = of.solution.points.iter();
                let (x, y): (Vec<f64>, Vec<f64>) = points
                    .map(|(x, y)| (self.value(*x), self.value(*y)))
                    .unzip();
                let mut coefficients = vec![f64::NAN; of.solution.count];
                (of.solution.again)(&x, &y, &mut coefficients);
                Some(coefficients[of.coefficient])
            }
            // What is neglected is zero, and a bias is what it was found to be.
            Source::Input(_) | Source::Neglected(_) | Source::Correction(_) => None,
        }
    }
}
