//! Calculations written out: each formula once as a chain of equations, with a table of its uses.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use smol_str::SmolStr;

use super::printed::{Printed, comma_and_room};
use super::uses::{InputPlace, Use, Uses, tables};
use crate::bench::worksheet::{Expr, NodeId, Role, Source, Symbol};
use crate::maths::{Align, Math};

/// A formula worked through, or a table of uses.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub(super) struct Step {
    /// The quantity calculated; empty for a table.
    name: String,
    /// The source of the formula, unless the table of constants gives it.
    source: Option<&'static str>,
    /// Inputs not introduced before.
    terms: Vec<Term>,
    /// Formula: the chain of equations, rows divided by `\\`, aligned at `&`; empty for a table.
    tex: String,
    /// The label of the chain, to which tables refer; may be empty.
    label: String,
    /// Labels of tables of the report that list the other uses, e.g. `tab-weighings` or `tab-cumulative-1`.
    elsewhere: Vec<String>,
    /// The table of uses.
    table: Option<Uses>,
}

/// A symbol and its meaning.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Term {
    /// Formula of the symbol.
    symbol: String,
    /// The quantity in words.
    name: String,
}

/// The constants of a published equation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Constants {
    /// The label of the equation.
    equation: String,
    /// Its source.
    source: Option<&'static str>,
    /// Formula of each constant, with its value and unit.
    values: Vec<String>,
    /// Their symbols in the source, in Markdown; empty if they are the same.
    in_source: Vec<String>,
}

impl Step {
    /// Returns a chain of equations.
    pub(super) fn chain(name: impl Into<String>, tex: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            tex: tex.into(),
            ..Self::default()
        }
    }

    /// Returns a table of uses.
    pub(super) fn table(table: Uses) -> Self {
        Self {
            table: Some(table),
            ..Self::default()
        }
    }

    /// Returns the same, with the other uses of its formula in a table of the body.
    pub(super) fn and_in(self, label: &str) -> Self {
        Self {
            elsewhere: vec![label.to_owned()],
            ..self
        }
    }
}

/// A formula with its example: the quantity whose calculation shows it.
struct Formula {
    example: NodeId,
    shown: Expr,
    places: usize,
}

/// Writes the calculations of a worksheet, each once.
pub(super) struct Writer<'a> {
    pub(super) printed: Printed<'a>,
    /// Whether a quantity has been written, by place.
    written: Vec<bool>,
    formulas: Vec<Formula>,
    /// Quantities whose symbols have been introduced.
    introduced: BTreeSet<NodeId>,
    /// The number of passes of each iteration, by the name of its solution.
    passes: BTreeMap<SmolStr, usize>,
    /// The first quantity of each solution and piece of ware.
    order: BTreeMap<SmolStr, NodeId>,
    /// Quantities that a table of the body lists with all their input quantities, and the table's label.
    outside: BTreeMap<NodeId, String>,
    /// Densities and volumes from weighings that are left out.
    left_out: BTreeSet<NodeId>,
    tables: usize,
    constants: Vec<Constants>,
}

impl<'a> Writer<'a> {
    /// Returns a writer that has written nothing yet. `outside` are quantities that the body's tables list, by label;
    /// `left_out` are densities and volumes from weighings that are left out.
    pub(super) fn new(
        printed: Printed<'a>,
        outside: BTreeMap<NodeId, String>,
        left_out: BTreeSet<NodeId>,
    ) -> Self {
        let (mut passes, mut order) = (BTreeMap::new(), BTreeMap::new());
        for (id, node) in printed.ws.nodes() {
            order.entry(node.symbol.label().of.clone()).or_insert(id);
            if let Some(pass) = node.symbol.label().pass {
                let last = passes.entry(node.symbol.label().of.clone()).or_insert(pass);
                *last = pass.max(*last);
            }
        }
        Self {
            printed,
            written: vec![false; printed.ws.nodes().count()],
            formulas: Vec::new(),
            introduced: BTreeSet::new(),
            passes,
            order,
            outside,
            left_out,
            tables: 0,
            constants: Vec::new(),
        }
    }

    /// Returns the number of passes of the iteration for a solution; none without an iteration.
    pub(super) fn passes(&self, of: &str) -> Option<usize> {
        self.passes.get(of).copied()
    }

    /// Returns the constants of the published equations written since the last call.
    pub(super) fn constants(&mut self) -> Vec<Constants> {
        std::mem::take(&mut self.constants)
    }

    /// Marks a quantity as written; tells whether it was before.
    pub(super) fn write(&mut self, id: NodeId) -> bool {
        std::mem::replace(&mut self.written[self.printed.ws.index(id)], true)
    }

    /// Returns the calculations that lead to some results and have not been written yet: formulas in the order of
    /// calculation, and tables of their uses. Of an iteration only the last pass is written.
    pub(super) fn up_to(&mut self, results: &[NodeId]) -> Vec<Step> {
        let mut needed: Vec<NodeId> = Vec::new();
        let mut stack: Vec<NodeId> = results.to_vec();
        while let Some(id) = stack.pop() {
            let symbol = &self.printed.ws.node(id).symbol;
            let last = self.passes.get(&symbol.label().of).copied();
            if symbol.label().pass.is_some_and(|pass| Some(pass) < last) || self.write(id) {
                continue;
            }
            if matches!(self.printed.ws.node(id).source, Source::Calculated(_))
                && !self.printed.ws.is_reading(id)
            {
                needed.push(id);
            }
            stack.extend(self.printed.ws.leading_to(id));
        }
        // A quantity stands on the worksheet after all that it depends on.
        needed.sort();
        let mut steps: Vec<Step> = Vec::new();
        // The example of each formula, the step that shows it, if it is one of these, and all uses.
        let mut uses: Vec<(NodeId, Option<usize>, Vec<NodeId>)> = Vec::new();
        for id in needed {
            let (example, new) = self.example(id);
            let shown = new.then(|| {
                steps.push(self.step(id));
                steps.len() - 1
            });
            match uses.iter_mut().find(|(of, ..)| *of == example) {
                Some((.., all)) => all.push(id),
                None => uses.push((example, shown, vec![id])),
            }
        }
        let mut in_tables = Vec::new();
        for (example, shown, all) in uses {
            if shown.is_some() && all.len() == 1 {
                continue;
            }
            let elsewhere = self.elsewhere(&all);
            match (shown, elsewhere.is_empty()) {
                (Some(shown), false) => steps[shown].elsewhere = elsewhere,
                _ => in_tables.push((example, all)),
            }
        }
        // Input quantities stand before the formulas that use them.
        in_tables.sort_by_key(|(_, all)| all.last().copied());
        steps.extend(self.tabled(&in_tables).into_iter().map(Step::table));
        steps
    }

    /// Labels of the body's tables that list all of some uses of a formula; none if a use is missing there, or an input
    /// quantity that the uses do not share.
    fn elsewhere(&self, uses: &[NodeId]) -> Vec<String> {
        let mut labels: Vec<String> = Vec::new();
        for id in uses {
            match self.outside.get(id) {
                Some(label) if labels.contains(label) => {}
                Some(label) => labels.push(label.clone()),
                None => return Vec::new(),
            }
        }
        let first = self.printed.ws.places(uses[0]);
        let there = |id: &NodeId| {
            self.outside.contains_key(id)
                || self.printed.ws.is_reading(*id)
                || matches!(self.printed.ws.node(*id).source, Source::Input(_))
        };
        let same = |id: &NodeId| {
            let places = self.printed.ws.places(*id);
            places
                .iter()
                .zip(&first)
                .all(|(place, first)| place == first || place.iter().all(there))
        };
        if uses.iter().all(same) {
            labels
        } else {
            Vec::new()
        }
    }

    /// Tables of the uses of some formulas, each given by its example.
    fn tabled(&mut self, formulas: &[(NodeId, Vec<NodeId>)]) -> Vec<Uses> {
        let mut all = Vec::new();
        for (example, uses) in formulas {
            // Quantities of one kind share a column.
            let mut kinds: Vec<(&Symbol, Vec<NodeId>)> = Vec::new();
            for id in uses {
                let symbol = &self.printed.ws.node(*id).symbol;
                match kinds.iter_mut().find(|(other, _)| other.is_of_kind(symbol)) {
                    Some((_, all)) => all.push(*id),
                    None => kinds.push((symbol, vec![*id])),
                }
            }
            for (_, uses) in kinds {
                all.extend(self.used(*example, &uses));
            }
        }
        let made = tables(self.printed, &self.order, all, self.tables);
        self.tables += made.len();
        made
    }

    /// Returns the uses of a formula, given by its example, for quantities of one kind.
    fn used(&self, example: NodeId, uses: &[NodeId]) -> Vec<Use> {
        let places: Vec<Vec<Vec<NodeId>>> =
            uses.iter().map(|id| self.printed.ws.places(*id)).collect();
        // For each place, whether all uses share its input; of a single use, whether that is of no solution and no ware.
        let first = places[0].iter().enumerate();
        let shared = first.map(|(at, ids)| match uses.len() {
            1 => self.printed.ws.node(ids[0]).symbol.label().of.is_empty(),
            _ => places.iter().all(|own| own[at] == *ids),
        });
        let shared: Vec<bool> = shared.collect();
        let heads = self.printed.ws.places(example);
        let each = uses.iter().zip(places).map(|(id, own)| {
            let outside = own.iter().flatten();
            let outside = outside.filter_map(|id| self.outside.get(id).cloned());
            Use {
                result: *id,
                example,
                equation: self.label(example),
                left_out: self.left_out.contains(id),
                outside: outside.collect(),
                inputs: own
                    .into_iter()
                    .enumerate()
                    // A table of the body lists these.
                    .filter(|(_, ids)| !ids.iter().all(|id| self.outside.contains_key(id)))
                    .map(|(at, ids)| InputPlace {
                        ids,
                        shared: shared[at],
                        like: heads[at][0],
                    })
                    .collect(),
            }
        });
        each.collect()
    }

    /// Returns the example of a quantity's formula, and whether the quantity itself becomes it.
    fn example(&mut self, id: NodeId) -> (NodeId, bool) {
        let node = self.printed.ws.node(id);
        let Some(shown) = self.printed.ws.shown_formula(id) else {
            return (id, true);
        };
        let places = self.printed.ws.places(id).len();
        let found = self.formulas.iter().find(|formula| {
            let example = self.printed.ws.node(formula.example);
            let kind = match node.published {
                Some(source) => example.published == Some(source),
                None => example.symbol.has_letter_of(&node.symbol),
            };
            kind && example.unit == node.unit
                && formula.places == places
                && formula.shown.is_alike(&shown)
        });
        if let Some(found) = found {
            return (found.example, false);
        }
        self.formulas.push(Formula {
            example: id,
            shown,
            places,
        });
        (id, true)
    }

    /// Returns the label of the chain that calculates a quantity.
    fn label(&self, id: NodeId) -> String {
        format!("equation-{}", self.printed.ws.index(id) + 1)
    }

    /// Returns the input quantities of a calculation that have not been introduced, which introduces them.
    fn terms(&mut self, id: NodeId) -> Vec<Term> {
        let mut terms = Vec::new();
        for place in self.printed.ws.places(id) {
            // The first term of a sum introduces all.
            let first = place[0];
            if place.iter().all(|id| self.introduced.insert(*id)) {
                terms.push(Term {
                    symbol: self.printed.symbol(first),
                    name: self.printed.ws.node(first).name.clone(),
                });
            }
        }
        self.introduced.insert(id);
        terms
    }

    fn step(&mut self, id: NodeId) -> Step {
        let ws = self.printed.ws;
        let node = ws.node(id);
        let equals = || Math::relation("=");
        let coefficients = ws.coefficients(id);
        let (symbols, numbers) = (ws.with_symbols(id), ws.with_numbers(id));
        // A table lists the constants of a published equation.
        let same = numbers == symbols || !coefficients.is_empty();
        let mut chain = Math::row([equals()]).then(symbols.into_parts());
        if !same {
            chain = chain
                .then([Math::Break, equals()])
                .then(numbers.into_parts());
        }
        chain = chain
            .then([Math::Break, equals()])
            .then(self.printed.result(id).into_parts());
        if !coefficients.is_empty() {
            for id in ws.places(id).into_iter().flatten() {
                let value = Math::quantity(&ws.printed_in(id), ws.shown_in(id).unit.symbol);
                chain = chain
                    .then(comma_and_room())
                    .then(ws.node(id).symbol.whole().into_parts())
                    .then([equals()])
                    .then(value.into_parts());
            }
        }
        let chain = Math::Table {
            columns: vec![Align::Right, Align::Left],
            rows: vec![vec![node.symbol.whole(), chain]],
        };
        let (mut values, mut originals) = (Vec::new(), Vec::new());
        for constant in coefficients {
            let Some(symbol) = constant.role.symbol() else {
                continue;
            };
            let value = Math::quantity(&constant.text(), constant.unit.symbol);
            let equals = Math::from(symbol).then([equals()]);
            values.push(self.printed.handles.text(equals.then(value.into_parts())));
            if let Role::Renamed([_, in_source]) = constant.role {
                originals.push(quoted(in_source));
            }
        }
        if !values.is_empty() {
            self.constants.push(Constants {
                equation: self.label(id),
                source: node.published,
                values,
                in_source: originals,
            });
        }
        let left_out = if self.left_out.contains(&id) {
            " (left out)"
        } else {
            ""
        };
        Step {
            label: self.label(id),
            source: node.published.filter(|source| {
                // The table of constants gives it.
                let tells = |constants: &Constants| constants.source == Some(*source);
                !self.constants.iter().any(tells)
            }),
            terms: self.terms(id),
            ..Step::chain(
                format!("{}{left_out}", node.name),
                self.printed.handles.text(chain),
            )
        }
    }
}

/// A symbol of another text, as Markdown: its letter in italics, its index behind it.
fn quoted(symbol: &str) -> String {
    let (letter, index) = symbol.split_once('_').unwrap_or((symbol, ""));
    let lowered = index
        .chars()
        .filter_map(|digit| char::from_u32('₀' as u32 + digit.to_digit(10)?));
    format!("*{letter}*{}", lowered.collect::<String>())
}
