//! What a quantity would be if others were: its formulas evaluated again with values put in their places.

use std::collections::BTreeMap;

use super::{NodeId, Source, Worksheet};

/// Values put in place of those of some quantities, each in its unit.
pub type Instead = BTreeMap<NodeId, f64>;

impl Worksheet {
    /// The value that a quantity would have with others replaced, in its unit; where it is replaced itself, that value. Not
    /// a number where the formulas give none. The cost grows with the number of quantities between the first one replaced and
    /// this one.
    #[must_use]
    pub fn value_with(&self, of: NodeId, instead: &Instead) -> f64 {
        let Some(first) = instead.keys().next().filter(|first| **first <= of) else {
            return self.value(of);
        };
        // Later quantities depend only on earlier ones.
        let mut changed: Vec<Option<f64>> = vec![None; of.0 - first.0 + 1];
        for (id, value) in instead.range(..=of) {
            changed[id.0 - first.0] = Some(*value);
        }
        for place in first.0..=of.0 {
            let id = NodeId(place);
            if changed[place - first.0].is_some() {
                continue;
            }
            let now = |id: NodeId| {
                let changed = id.0.checked_sub(first.0).and_then(|at| changed[at]);
                changed.unwrap_or_else(|| self.value(id))
            };
            let touched = || {
                let mut earlier = self.earlier(id);
                earlier.any(|id| id.0 >= first.0 && changed[id.0 - first.0].is_some())
            };
            let found = match &self.node(id).source {
                Source::Calculated(formula) if touched() => formula.value(&now),
                Source::Solved(of) if touched() => {
                    let points = of.solution.points.iter();
                    let (x, y): (Vec<f64>, Vec<f64>) =
                        points.map(|(x, y)| (now(*x), now(*y))).unzip();
                    let mut coefficients = vec![f64::NAN; of.solution.count];
                    (of.solution.again)(&x, &y, &mut coefficients);
                    coefficients[of.coefficient]
                }
                // What is neglected is zero, and a bias is what it was found to be.
                _ => continue,
            };
            changed[place - first.0] = Some(found);
        }
        changed[of.0 - first.0].unwrap_or_else(|| self.value(of))
    }
}
