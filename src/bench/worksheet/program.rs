//! The formulas that lead to some results, made flat, so that they can be evaluated for many draws at once.
//!
//! Quantities stand in slots, each holding the values of one batch of draws. A quantity used in several places is
//! evaluated once; what does not vary is worked out beforehand.

use std::collections::BTreeMap;
use std::mem::take;
use std::sync::Arc;

use rand_distr::ChiSquared;
use rand_pcg::Pcg64Dxsm;

use super::draws::{Shape, draw, draw_scaled, draws};
use super::{Estimate, Expr, Input, NodeId, Solution, Source, Worksheet};

/// Draws evaluated together: few enough that all slots stay near the processor.
pub(super) const BATCH: usize = 200;

/// A result or an intermediate one.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Operand {
    Slot(usize),
    Fixed(f64),
}

#[derive(Debug, Clone, Copy)]
enum Binary {
    Add,
    Subtract,
    Multiply,
    Divide,
}

#[derive(Debug, Clone, Copy)]
enum Unary {
    Negate,
    Power(i32),
    Exponential,
    Root,
}

enum Step<'a> {
    Fill(usize, f64),
    /// Adds draws of a shape times a scale.
    Draw(usize, Shape, f64),
    /// Adds normal draws times what stands in another slot, times a scale.
    DrawScaled(usize, usize, f64),
    Binary(Binary, usize, Operand, Operand),
    Unary(Unary, usize, usize),
    /// Solves for coefficients from points; their slots.
    Solve {
        solution: &'a Solution,
        points: Vec<(Operand, Operand)>,
        coefficients: Vec<Option<usize>>,
    },
}

/// What to do for a batch.
pub(super) struct Program<'a> {
    steps: Vec<Step<'a>>,
    slots: usize,
    results: Vec<Operand>,
}

/// Slots filled for one batch after the other.
pub(super) struct Slots(Vec<Vec<f64>>);

impl<'a> Program<'a> {
    /// Makes the formulas of some results flat.
    pub(super) fn new(ws: &'a Worksheet, results: &[NodeId]) -> Self {
        let mut needed = vec![false; ws.nodes.len()];
        let mut waiting = results.to_vec();
        while let Some(id) = waiting.pop() {
            if std::mem::replace(&mut needed[id.0], true) {
                continue;
            }
            waiting.extend(ws.dependencies(id));
            if let Source::Solved(of) = &ws.node(id).source {
                waiting.extend(of.solution.points.iter().flat_map(|(x, y)| [*x, *y]));
            }
        }
        let places = vec![Operand::Fixed(f64::NAN); needed.len()];
        let mut writer = Writer {
            steps: Vec::new(),
            places,
            slots: 0,
            spare: Vec::new(),
            estimates: BTreeMap::new(),
        };
        // Coefficients found together are solved for once, where the first of them stands.
        let mut solved: Vec<&Arc<Solution>> = Vec::new();
        for (id, node) in ws.nodes().filter(|(id, _)| needed[id.0]) {
            writer.places[id.0] = match &node.source {
                Source::Input(input) => writer.input(input, node.value),
                Source::Calculated(formula) => {
                    let own = writer.slot();
                    writer.formula(formula, own)
                }
                // Errors are those of what it is, and not of the zero that it is taken for.
                Source::Neglected(estimate) => writer.places[estimate.0],
                // Nothing is left to be made up for.
                Source::Correction(_) => Operand::Fixed(0.0),
                Source::Solved(of) => {
                    let solution = &of.solution;
                    if solved.iter().any(|other| Arc::ptr_eq(other, solution)) {
                        continue;
                    }
                    solved.push(solution);
                    writer.solve(ws, solution, &needed);
                    continue;
                }
            };
        }
        let results = results.iter().map(|id| writer.places[id.0]).collect();
        Self {
            steps: writer.steps,
            slots: writer.slots,
            results,
        }
    }

    /// Slots for this program.
    pub(super) fn slots(&self) -> Slots {
        Slots(vec![vec![0.0; BATCH]; self.slots])
    }

    /// Evaluates one batch.
    pub(super) fn run(&self, slots: &mut Slots, random: &mut Pcg64Dxsm) {
        let slots = &mut slots.0;
        for step in &self.steps {
            match step {
                Step::Fill(to, value) => slots[*to].fill(*value),
                Step::Draw(to, shape, scale) => draw(&mut slots[*to], *shape, *scale, random),
                Step::DrawScaled(to, scales, by) => {
                    let mut slot = take(&mut slots[*to]);
                    draw_scaled(&mut slot, &slots[*scales], *by, random);
                    slots[*to] = slot;
                }
                Step::Binary(what, to, a, b) => match what {
                    Binary::Add => binary(slots, *to, *a, *b, |a, b| a + b),
                    Binary::Subtract => binary(slots, *to, *a, *b, |a, b| a - b),
                    Binary::Multiply => binary(slots, *to, *a, *b, |a, b| a * b),
                    Binary::Divide => binary(slots, *to, *a, *b, |a, b| a / b),
                },
                Step::Unary(what, to, a) => match *what {
                    Unary::Negate => unary(slots, *to, *a, |a| -a),
                    Unary::Power(exponent) => unary(slots, *to, *a, |a| a.powi(exponent)),
                    Unary::Exponential => unary(slots, *to, *a, f64::exp),
                    Unary::Root => unary(slots, *to, *a, f64::sqrt),
                },
                Step::Solve {
                    solution,
                    points,
                    coefficients,
                } => solve(slots, solution, points, coefficients),
            }
        }
    }

    /// The values of a result, by its index, after a run.
    pub(super) fn result(&self, slots: &Slots, index: usize, onto: &mut [f64]) {
        match self.results[index] {
            Operand::Slot(slot) => onto.copy_from_slice(&slots.0[slot]),
            Operand::Fixed(value) => onto.fill(value),
        }
    }
}

/// Writes a program.
struct Writer<'a> {
    steps: Vec<Step<'a>>,
    /// Where each quantity written so far stands.
    places: Vec<Operand>,
    slots: usize,
    /// Slots for the parts of formulas, free to be used again.
    spare: Vec<usize>,
    /// Where the standard deviation behind an estimate stands, over that estimate.
    estimates: BTreeMap<Estimate, usize>,
}

impl<'a> Writer<'a> {
    fn slot(&mut self) -> usize {
        self.slots += 1;
        self.slots - 1
    }

    fn input(&mut self, input: &Input, value: f64) -> Operand {
        let draws = draws(&input.components);
        let shared: Vec<(usize, f64)> = input
            .components
            .iter()
            .filter(|c| c.standard_uncertainty != 0.0)
            .filter_map(|c| Some((self.of_estimate(c.estimate?, c.dof), c.standard_uncertainty)))
            .collect();
        if draws.is_empty() && shared.is_empty() {
            return Operand::Fixed(value);
        }
        let slot = self.slot();
        self.steps.push(Step::Fill(slot, value));
        self.steps.extend(
            draws
                .into_iter()
                .map(|(shape, scale)| Step::Draw(slot, shape, scale)),
        );
        self.steps.extend(
            shared
                .into_iter()
                .map(|(scales, by)| Step::DrawScaled(slot, scales, by)),
        );
        Operand::Slot(slot)
    }

    /// Returns the slot of a standard deviation over its estimate: drawn once for all errors that rest on it, so that
    /// their sum is Student's t as each of them is.
    fn of_estimate(&mut self, estimate: Estimate, dof: f64) -> usize {
        if let Some(slot) = self.estimates.get(&estimate) {
            return *slot;
        }
        let slot = self.slot();
        match ChiSquared::new(dof) {
            Ok(chi_squared) => {
                self.steps.push(Step::Fill(slot, 0.0));
                let shape = Shape::OfEstimate(chi_squared, dof);
                self.steps.push(Step::Draw(slot, shape, 1.0));
            }
            // No degrees of freedom, no distribution.
            Err(_) => self.steps.push(Step::Fill(slot, f64::NAN)),
        }
        self.estimates.insert(estimate, slot);
        slot
    }

    /// Writes a tree; the slot given is its own to work in, and may stay unused.
    fn formula(&mut self, tree: &Expr, own: usize) -> Operand {
        match tree {
            Expr::Node(id) => self.places[id.0],
            Expr::Constant(constant) => Operand::Fixed(constant.value),
            Expr::Sum(terms) => self.chain(Binary::Add, 0.0, terms, own),
            Expr::Product(factors) => self.chain(Binary::Multiply, 1.0, factors, own),
            Expr::Difference(a, b) => self.two(Binary::Subtract, a, b, own),
            Expr::Quotient(a, b) => self.two(Binary::Divide, a, b, own),
            Expr::Negative(a) => self.one(Unary::Negate, a, own),
            Expr::Power(a, exponent) => self.one(Unary::Power(*exponent), a, own),
            Expr::Exponential(a) => self.one(Unary::Exponential, a, own),
            Expr::Root(a) => self.one(Unary::Root, a, own),
        }
    }

    fn chain(&mut self, what: Binary, start: f64, parts: &[Expr], own: usize) -> Operand {
        let mut parts = parts.iter();
        let Some(first) = parts.next() else {
            return Operand::Fixed(start);
        };
        let mut so_far = self.formula(first, own);
        for part in parts {
            so_far = self.with(what, so_far, part, own);
        }
        so_far
    }

    /// Joins a tree to what stands already; it is worked out in a slot that is free again afterwards.
    fn with(&mut self, what: Binary, left: Operand, right: &Expr, own: usize) -> Operand {
        let beside = self.spare.pop().unwrap_or_else(|| self.slot());
        let right = self.formula(right, beside);
        let joined = self.binary(what, left, right, own);
        self.spare.push(beside);
        joined
    }

    fn two(&mut self, what: Binary, a: &Expr, b: &Expr, own: usize) -> Operand {
        let a = self.formula(a, own);
        self.with(what, a, b, own)
    }

    fn one(&mut self, what: Unary, a: &Expr, own: usize) -> Operand {
        match self.formula(a, own) {
            Operand::Slot(slot) => {
                self.steps.push(Step::Unary(what, own, slot));
                Operand::Slot(own)
            }
            Operand::Fixed(a) => Operand::Fixed(match what {
                Unary::Negate => -a,
                Unary::Power(exponent) => a.powi(exponent),
                Unary::Exponential => a.exp(),
                Unary::Root => a.sqrt(),
            }),
        }
    }

    fn binary(&mut self, what: Binary, a: Operand, b: Operand, own: usize) -> Operand {
        if let (Operand::Fixed(a), Operand::Fixed(b)) = (a, b) {
            return Operand::Fixed(match what {
                Binary::Add => a + b,
                Binary::Subtract => a - b,
                Binary::Multiply => a * b,
                Binary::Divide => a / b,
            });
        }
        self.steps.push(Step::Binary(what, own, a, b));
        Operand::Slot(own)
    }

    fn solve(&mut self, ws: &Worksheet, solution: &'a Arc<Solution>, needed: &[bool]) {
        let points = solution
            .points
            .iter()
            .map(|(x, y)| (self.places[x.0], self.places[y.0]))
            .collect();
        let mut coefficients = vec![None; solution.count];
        for (id, node) in ws.nodes() {
            if let (true, Source::Solved(of)) = (needed[id.0], &node.source)
                && Arc::ptr_eq(&of.solution, solution)
                && of.coefficient < solution.count
            {
                // Two quantities that are the same coefficient share its slot.
                let slot = coefficients[of.coefficient].unwrap_or_else(|| self.slot());
                coefficients[of.coefficient] = Some(slot);
                self.places[id.0] = Operand::Slot(slot);
            }
        }
        self.steps.push(Step::Solve {
            solution,
            points,
            coefficients,
        });
    }
}

fn unary(slots: &mut [Vec<f64>], to: usize, a: usize, f: impl Fn(f64) -> f64) {
    let mut onto = take(&mut slots[to]);
    if a == to {
        for value in &mut onto {
            *value = f(*value);
        }
    } else {
        onto.iter_mut()
            .zip(&slots[a])
            .for_each(|(value, a)| *value = f(*a));
    }
    slots[to] = onto;
}

fn binary(slots: &mut [Vec<f64>], to: usize, a: Operand, b: Operand, f: impl Fn(f64, f64) -> f64) {
    let mut onto = take(&mut slots[to]);
    // A formula's own slot stands for its left part only: the right part is always another's.
    match (a, b) {
        (Operand::Slot(a), Operand::Slot(b)) if a == to => {
            onto.iter_mut()
                .zip(&slots[b])
                .for_each(|(value, b)| *value = f(*value, *b));
        }
        (Operand::Slot(a), Operand::Slot(b)) => {
            let both = slots[a].iter().zip(&slots[b]);
            onto.iter_mut()
                .zip(both)
                .for_each(|(value, (a, b))| *value = f(*a, *b));
        }
        (Operand::Slot(a), Operand::Fixed(b)) if a == to => {
            for value in &mut onto {
                *value = f(*value, b);
            }
        }
        (Operand::Slot(a), Operand::Fixed(b)) => {
            onto.iter_mut()
                .zip(&slots[a])
                .for_each(|(value, a)| *value = f(*a, b));
        }
        (Operand::Fixed(a), Operand::Slot(b)) => {
            onto.iter_mut()
                .zip(&slots[b])
                .for_each(|(value, b)| *value = f(a, *b));
        }
        (Operand::Fixed(a), Operand::Fixed(b)) => onto.fill(f(a, b)),
    }
    slots[to] = onto;
}

fn solve(
    slots: &mut [Vec<f64>],
    solution: &Solution,
    points: &[(Operand, Operand)],
    coefficients: &[Option<usize>],
) {
    let (mut x, mut y) = (vec![0.0; points.len()], vec![0.0; points.len()]);
    let mut found = vec![f64::NAN; coefficients.len()];
    for draw in 0..BATCH {
        for (k, (from_x, from_y)) in points.iter().enumerate() {
            (x[k], y[k]) = (value(slots, *from_x, draw), value(slots, *from_y, draw));
        }
        (solution.again)(&x, &y, &mut found);
        for (slot, value) in coefficients.iter().zip(&found) {
            if let Some(slot) = slot {
                slots[*slot][draw] = *value;
            }
        }
    }
}

/// Returns the value of an operand in one draw of a batch.
fn value(slots: &[Vec<f64>], operand: Operand, draw: usize) -> f64 {
    match operand {
        Operand::Slot(slot) => slots[slot][draw],
        Operand::Fixed(value) => value,
    }
}
