//! What a quantity would be if others were: its formulas evaluated again with values put in their places.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

use foldhash::HashMap;

use super::solved::Solution;
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
    /// The quantities that lead to some, these among them, in the order of calculation.
    leading: RefCell<HashMap<Vec<NodeId>, Rc<[NodeId]>>>,
    state: RefCell<State<'w>>,
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
            leading: RefCell::default(),
            state: RefCell::new(State {
                values: ws.nodes().map(|(_, node)| node.value).collect(),
                is_waiting: vec![false; ws.nodes.len()],
                waiting: Vec::new(),
                solved: None,
            }),
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
        let leading = self.leading(of);
        let mut state = self.state.borrow_mut();
        let altered_ones = altered.into_iter().flat_map(|altered| altered.quantities);
        for id in instead.keys().chain(altered_ones) {
            state.wait(*id);
        }
        let first = state.waiting.iter().min();
        let first = first.map_or(leading.len(), |first| {
            leading.partition_point(|id| id < first)
        });
        // Later quantities depend only on earlier ones.
        for id in &leading[first..] {
            if !state.is_waiting[id.0] {
                continue;
            }
            state.values[id.0] = match (instead.get(id), altered) {
                (Some(value), _) => *value,
                (None, Some(altered)) if altered.quantities.contains(id) => {
                    (altered.by)(state.evaluate(self.ws, *id))
                }
                (None, _) => state.evaluate(self.ws, *id),
            };
            for later in &self.dependents[id.0] {
                state.wait(*later);
            }
        }
        let values = of.iter().map(|id| state.values[id.0]).collect();
        state.restore(self.ws);
        values
    }

    /// Returns the quantities that lead to some, these among them.
    fn leading(&self, of: &[NodeId]) -> Rc<[NodeId]> {
        if let Some(known) = self.leading.borrow().get(of) {
            return Rc::clone(known);
        }
        let mut is_leading = vec![false; of.iter().max().map_or(0, |last| last.0 + 1)];
        for id in of {
            is_leading[id.0] = true;
        }
        for at in (0..is_leading.len()).rev() {
            if is_leading[at] {
                for earlier in self.ws.dependencies(NodeId(at)) {
                    is_leading[earlier.0] = true;
                }
            }
        }
        let all = is_leading.iter().enumerate();
        let leading: Rc<[NodeId]> = all
            .filter_map(|(at, is)| is.then_some(NodeId(at)))
            .collect();
        self.leading
            .borrow_mut()
            .insert(of.to_vec(), Rc::clone(&leading));
        leading
    }
}

/// Values in the course of being calculated again. Between calculations they are those of the worksheet.
struct State<'w> {
    values: Vec<f64>,
    /// Whether something that each quantity depends on has changed.
    is_waiting: Vec<bool>,
    /// The quantities of which that is true.
    waiting: Vec<NodeId>,
    /// Coefficients that were solved for last: those of a line follow each other.
    solved: Option<(&'w Arc<Solution>, Vec<f64>)>,
}

impl<'w> State<'w> {
    fn wait(&mut self, id: NodeId) {
        if !std::mem::replace(&mut self.is_waiting[id.0], true) {
            self.waiting.push(id);
        }
    }

    fn restore(&mut self, ws: &Worksheet) {
        for id in self.waiting.drain(..) {
            self.is_waiting[id.0] = false;
            self.values[id.0] = ws.value(id);
        }
        self.solved = None;
    }

    /// Returns a quantity by its formula, from the values of others as they are now.
    fn evaluate(&mut self, ws: &'w Worksheet, id: NodeId) -> f64 {
        let values = &self.values;
        match &ws.node(id).source {
            Source::Calculated(formula) => formula.value(&|id: NodeId| values[id.0]),
            Source::Solved(of) => {
                let known = self.solved.take();
                let known = known.filter(|(solution, _)| Arc::ptr_eq(solution, &of.solution));
                let (_, coefficients) = self.solved.insert(known.unwrap_or_else(|| {
                    let points = of.solution.points.iter();
                    let (x, y): (Vec<f64>, Vec<f64>) =
                        points.map(|(x, y)| (values[x.0], values[y.0])).unzip();
                    let mut coefficients = vec![f64::NAN; of.solution.count];
                    (of.solution.again)(&x, &y, &mut coefficients);
                    (&of.solution, coefficients)
                }));
                coefficients[of.coefficient]
            }
            // What is neglected is zero, and a bias is what it was found to be.
            Source::Input(_) | Source::Neglected(_) | Source::Correction(_) => ws.value(id),
        }
    }
}
