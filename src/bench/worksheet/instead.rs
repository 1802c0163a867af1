//! What a quantity would be if others were: its formulas evaluated again with values put in their places.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::rc::Rc;

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

/// Evaluates quantities of a worksheet again, many times.
pub struct Recalculation<'w> {
    ws: &'w Worksheet,
    /// The quantities that directly depend on each.
    dependents: Vec<Vec<NodeId>>,
    /// Whether each is needed for some others.
    needed: RefCell<HashMap<Vec<NodeId>, Rc<[bool]>>>,
}

impl<'w> Recalculation<'w> {
    /// Prepares a worksheet that is complete.
    #[must_use]
    pub fn new(ws: &'w Worksheet) -> Self {
        let mut dependents = vec![Vec::new(); ws.nodes.len()];
        for (id, _) in ws.nodes() {
            for earlier in ws.dependencies(id) {
                dependents[earlier.0].push(id);
            }
        }
        Self {
            ws,
            dependents,
            needed: RefCell::default(),
        }
    }

    /// Returns the values that quantities would have with others replaced or altered, each in its unit; one that is replaced itself
    /// has that value. Not a number where the formulas give none. The cost grows with the number of quantities between those
    /// that change and those asked for.
    #[must_use]
    pub fn values(
        &self,
        of: &[NodeId],
        instead: &Instead,
        altered: Option<&Altered<'_>>,
    ) -> Vec<f64> {
        let replaced = of.iter().map(|id| instead.get(id).copied());
        if let Some(values) = replaced.collect::<Option<Vec<f64>>>() {
            return values;
        }
        let needed = self.needed(of);
        let first_altered = altered.and_then(|altered| altered.quantities.first());
        let first = instead.keys().next().into_iter().chain(first_altered).min();
        let first = first.map_or(needed.len(), |first| first.0.min(needed.len()));
        let mut changed = Changed {
            ws: self.ws,
            first,
            values: vec![None; needed.len() - first],
        };
        let mut is_waiting = vec![false; needed.len() - first];
        let altered_ones = altered.into_iter().flat_map(|altered| altered.quantities);
        for id in instead.keys().chain(altered_ones) {
            if let Some(waiting) = is_waiting.get_mut(id.0 - first) {
                *waiting = true;
            }
        }
        // Later quantities depend only on earlier ones.
        for (at, needed) in needed[first..].iter().enumerate() {
            if !(is_waiting[at] && *needed) {
                continue;
            }
            let id = NodeId(first + at);
            let found = || changed.evaluated(id);
            changed.values[at] = Some(match (instead.get(&id), altered) {
                (Some(value), _) => *value,
                (None, Some(altered)) if altered.quantities.contains(&id) => (altered.by)(found()),
                (None, _) => found(),
            });
            for later in &self.dependents[id.0] {
                if let Some(waiting) = is_waiting.get_mut(later.0 - first) {
                    *waiting = true;
                }
            }
        }
        of.iter().map(|id| changed.value(*id)).collect()
    }

    /// Returns whether each quantity, up to the last of some, is one of them or leads to one.
    fn needed(&self, of: &[NodeId]) -> Rc<[bool]> {
        if let Some(known) = self.needed.borrow().get(of) {
            return Rc::clone(known);
        }
        let mut needed = vec![false; of.iter().max().map_or(0, |last| last.0 + 1)];
        for id in of {
            needed[id.0] = true;
        }
        for at in (0..needed.len()).rev() {
            if needed[at] {
                for earlier in self.ws.dependencies(NodeId(at)) {
                    needed[earlier.0] = true;
                }
            }
        }
        let needed: Rc<[bool]> = needed.into();
        self.needed
            .borrow_mut()
            .insert(of.to_vec(), Rc::clone(&needed));
        needed
    }
}

/// Values that are not those of the worksheet.
struct Changed<'w> {
    ws: &'w Worksheet,
    /// The index of the first.
    first: usize,
    /// From there on; `None` where nothing changes.
    values: Vec<Option<f64>>,
}

impl Changed<'_> {
    fn value(&self, id: NodeId) -> f64 {
        let changed = id.0.checked_sub(self.first).and_then(|at| self.values[at]);
        changed.unwrap_or_else(|| self.ws.value(id))
    }

    /// Returns a quantity by its formula, from changed values where there are any.
    fn evaluated(&self, id: NodeId) -> f64 {
        match &self.ws.node(id).source {
            Source::Calculated(formula) => formula.value(&|id| self.value(id)),
            Source::Solved(of) => {
                let points = of.solution.points.iter();
                let (x, y): (Vec<f64>, Vec<f64>) = points
                    .map(|(x, y)| (self.value(*x), self.value(*y)))
                    .unzip();
                let mut coefficients = vec![f64::NAN; of.solution.count];
                (of.solution.again)(&x, &y, &mut coefficients);
                coefficients[of.coefficient]
            }
            // What is neglected is zero, and a bias is what it was found to be.
            Source::Input(_) | Source::Neglected(_) | Source::Correction(_) => self.ws.value(id),
        }
    }
}
