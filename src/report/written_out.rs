//! Calculations written out: each formula once as a chain of equations, with a table of its uses.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use smol_str::SmolStr;

use super::uses::{Place, Use, Uses, tables};
use super::words::figures;
use crate::maths::handles::Handles;
use crate::maths::{Align, Class, Math};
use crate::quantity::rounding::Rounded;
use crate::worksheet::{Expr, NodeId, Role, Source, Worksheet};

/// A formula worked through, or a table of uses.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub(super) struct Step {
    /// What is calculated, in words; empty for a table.
    name: String,
    /// Where the formula is published.
    source: Option<&'static str>,
    /// What goes in that was not told before.
    terms: Vec<Term>,
    /// The chain of equations, in formulas or TeX, rows divided by `\\`, aligned at `&`; empty for a table.
    tex: String,
    /// The label of that chain; empty for what nothing refers to.
    label: String,
    /// Labels of the tables outside of the appendix that have the further uses of the formula.
    elsewhere: Vec<String>,
    /// A table of uses.
    table: Option<Uses>,
}

/// A symbol and what it stands for.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Term {
    symbol: String,
    name: String,
}

/// The constants of a published equation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Constants {
    /// The label of the equation.
    equation: String,
    /// Where it is published.
    source: Option<&'static str>,
    /// Each as a formula: its symbol, and its value with unit.
    values: Vec<String>,
}

/// A symbol and its value with unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Given {
    pub(super) symbol: String,
    pub(super) value: String,
}

impl Step {
    /// A chain of equations.
    pub(super) fn chain(name: impl Into<String>, tex: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            tex: tex.into(),
            ..Self::default()
        }
    }

    /// A table of uses.
    pub(super) fn table(table: Uses) -> Self {
        Self {
            table: Some(table),
            ..Self::default()
        }
    }

    /// The same, further uses of whose formula stand in a table outside of the appendix.
    pub(super) fn and_in(self, label: &str) -> Self {
        Self {
            elsewhere: vec![label.to_owned()],
            ..self
        }
    }
}

/// A formula, and the quantity whose calculation shows it.
struct Formula {
    example: NodeId,
    shown: Expr,
    places: usize,
}

/// Writes the calculations of a worksheet, each once.
pub(super) struct Writer<'a> {
    pub(super) ws: &'a Worksheet,
    pub(super) handles: &'a Handles,
    /// What has been written already, by place.
    written: Vec<bool>,
    formulas: Vec<Formula>,
    /// What symbols have been told of.
    told: BTreeSet<NodeId>,
    /// The last pass of each iteration, by what it is of.
    passes: BTreeMap<SmolStr, usize>,
    /// The first quantity of each solution and piece of ware.
    pub(super) order: BTreeMap<SmolStr, NodeId>,
    /// Quantities with all that goes into them in a table outside of the appendix, by the table's label.
    outside: BTreeMap<NodeId, String>,
    /// Densities and volumes from weighings that are left out.
    left_out: BTreeSet<NodeId>,
    tables: usize,
    constants: Vec<Constants>,
}

impl<'a> Writer<'a> {
    /// Nothing written yet; `outside` are quantities that stand in tables of these labels, `left_out` densities and volumes
    /// from weighings that are left out.
    pub(super) fn new(
        ws: &'a Worksheet,
        handles: &'a Handles,
        outside: BTreeMap<NodeId, String>,
        left_out: BTreeSet<NodeId>,
    ) -> Self {
        let (mut passes, mut order) = (BTreeMap::new(), BTreeMap::new());
        for (id, node) in ws.nodes() {
            order.entry(node.symbol.of.clone()).or_insert(id);
            if let Some(pass) = node.symbol.pass {
                let last = passes.entry(node.symbol.of.clone()).or_insert(pass);
                *last = pass.max(*last);
            }
        }
        Self {
            ws,
            handles,
            written: vec![false; ws.nodes().count()],
            formulas: Vec::new(),
            told: BTreeSet::new(),
            passes,
            order,
            outside,
            left_out,
            tables: 0,
            constants: Vec::new(),
        }
    }

    /// How many passes lead to what is of something.
    pub(super) fn passes(&self, of: &str) -> Option<usize> {
        self.passes.get(of).copied()
    }

    /// The constants of the published equations written since this was last asked for.
    pub(super) fn constants(&mut self) -> Vec<Constants> {
        std::mem::take(&mut self.constants)
    }

    /// Holds a quantity for written; tells whether it was already.
    pub(super) fn write(&mut self, id: NodeId) -> bool {
        std::mem::replace(&mut self.written[self.ws.place(id)], true)
    }

    /// The calculations that lead to some results and have not been written yet: formulas in an order a hand could follow,
    /// and tables of their uses. Of an iteration there is the last pass.
    pub(super) fn up_to(&mut self, results: &[NodeId]) -> Vec<Step> {
        let mut needed: Vec<NodeId> = Vec::new();
        let mut stack: Vec<NodeId> = results.to_vec();
        while let Some(id) = stack.pop() {
            let symbol = &self.ws.node(id).symbol;
            let last = self.passes.get(&symbol.of).copied();
            if symbol.pass.is_some_and(|pass| Some(pass) < last) || self.write(id) {
                continue;
            }
            if matches!(self.ws.node(id).source, Source::Calculated(_)) && !self.ws.is_reading(id) {
                needed.push(id);
            }
            stack.extend(self.ws.leading_to(id));
        }
        // A quantity stands later on the worksheet than all it depends on.
        needed.sort();
        let mut steps: Vec<Step> = Vec::new();
        // By formula, in the order of their first use here: where that is shown, if it is shown here, and the uses.
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
        // What goes into another formula stands before it.
        in_tables.sort_by_key(|(_, all)| all.last().copied());
        steps.extend(self.tabled(&in_tables).into_iter().map(Step::table));
        steps
    }

    /// Labels of the tables outside of the appendix that have all of some uses of a formula; none if one is missing there, or
    /// something that goes into it and is not the same for all.
    fn elsewhere(&self, uses: &[NodeId]) -> Vec<String> {
        let mut labels: Vec<String> = Vec::new();
        for id in uses {
            match self.outside.get(id) {
                Some(label) if labels.contains(label) => {}
                Some(label) => labels.push(label.clone()),
                None => return Vec::new(),
            }
        }
        let first = self.ws.places(uses[0]);
        let there = |id: &NodeId| {
            self.outside.contains_key(id)
                || self.ws.is_reading(*id)
                || matches!(self.ws.node(*id).source, Source::Input(_))
        };
        let same = |id: &NodeId| {
            let places = self.ws.places(*id);
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
            // Those of one kind, which share a column, together.
            let mut kinds: Vec<(&Math, Vec<NodeId>)> = Vec::new();
            for id in uses {
                let kind = &self.ws.node(*id).symbol.kind;
                match kinds.iter_mut().find(|(other, _)| *other == kind) {
                    Some((_, all)) => all.push(*id),
                    None => kinds.push((kind, vec![*id])),
                }
            }
            for (_, uses) in kinds {
                all.extend(self.used(*example, &uses));
            }
        }
        let made = tables(self, all, self.tables);
        self.tables += made.len();
        made
    }

    /// The uses of a formula, given by its example, for quantities of one kind.
    fn used(&self, example: NodeId, uses: &[NodeId]) -> Vec<Use> {
        let places: Vec<Vec<Vec<NodeId>>> = uses.iter().map(|id| self.ws.places(*id)).collect();
        // By place: whether the same goes in at all uses. At a single one, what is of no solution and no ware.
        let first = places[0].iter().enumerate();
        let same = first.map(|(at, ids)| match uses.len() {
            1 => self.ws.node(ids[0]).symbol.of.is_empty(),
            _ => places.iter().all(|own| own[at] == *ids),
        });
        let same: Vec<bool> = same.collect();
        let heads = self.ws.places(example);
        let each = uses.iter().zip(places).map(|(id, own)| {
            let outside = own.iter().flatten();
            let outside = outside.filter_map(|id| self.outside.get(id).cloned());
            Use {
                result: *id,
                example,
                equation: self.label(example),
                left_out: self.left_out.contains(id),
                outside: outside.collect(),
                places: own
                    .into_iter()
                    .enumerate()
                    // What stands in a table outside is not said again.
                    .filter(|(_, ids)| !ids.iter().all(|id| self.outside.contains_key(id)))
                    .map(|(at, ids)| Place {
                        ids,
                        same: same[at],
                        like: heads[at][0],
                    })
                    .collect(),
            }
        });
        each.collect()
    }

    /// The quantity whose calculation shows the formula of another one, and whether that is this one itself, for the first
    /// time.
    fn example(&mut self, id: NodeId) -> (NodeId, bool) {
        let node = self.ws.node(id);
        let Some(shown) = self.ws.shown_formula(id) else {
            return (id, true);
        };
        let places = self.ws.places(id).len();
        let found = self.formulas.iter().find(|formula| {
            let example = self.ws.node(formula.example);
            let kind = match node.published {
                Some(source) => example.published == Some(source),
                None => example.symbol.letter == node.symbol.letter,
            };
            kind && example.unit == node.unit
                && formula.places == places
                && formula.shown.alike(&shown)
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

    /// The label of the chain that calculates a quantity.
    fn label(&self, id: NodeId) -> String {
        format!("equation-{}", self.ws.place(id) + 1)
    }

    /// A quantity's symbol.
    pub(super) fn symbol(&self, id: NodeId) -> String {
        self.handles.text(self.ws.node(id).symbol.whole.clone())
    }

    /// What goes into a calculation by readings and results that no symbol was told of before.
    fn terms(&mut self, id: NodeId) -> Vec<Term> {
        let mut terms = Vec::new();
        for place in self.ws.places(id) {
            // Of several that are added up, the first tells what they are.
            let first = place[0];
            if place.iter().all(|id| self.told.insert(*id)) {
                terms.push(Term {
                    symbol: self.symbol(first),
                    name: self.ws.node(first).name.clone(),
                });
            }
        }
        self.told.insert(id);
        terms
    }

    /// The digits of the standard uncertainty, as text; none for what is exact.
    pub(super) fn uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        rounded.uncertainty()
    }

    /// A value as it is printed, with its standard uncertainty, as a formula.
    pub(super) fn result(&self, id: NodeId) -> Math {
        let node = self.ws.node(id);
        let value = self.ws.with_unit(id);
        match self.uncertainty(id) {
            None => value,
            Some(digits) => value
                .then(comma_and_room())
                .then(uncertainty_of(&node.symbol.whole).into_parts())
                .then([Math::relation("=")])
                .then(Math::quantity(&digits, node.unit).into_parts()),
        }
    }

    fn step(&mut self, id: NodeId) -> Step {
        let ws = self.ws;
        let node = ws.node(id);
        let equals = || Math::relation("=");
        let coefficients = ws.coefficients(id);
        let (symbols, numbers) = (ws.with_symbols(id), ws.with_numbers(id));
        // The numbers of a published equation stand in the table of its constants.
        let same = numbers == symbols || !coefficients.is_empty();
        let mut chain = Math::row([equals()]).then(symbols.into_parts());
        if !same {
            chain = chain
                .then([Math::Break, equals()])
                .then(numbers.into_parts());
        }
        chain = chain
            .then([Math::Break, equals()])
            .then(self.result(id).into_parts());
        if !coefficients.is_empty() {
            for id in ws.places(id).into_iter().flatten() {
                let value = Math::quantity(&ws.printed_in(id), ws.node(id).unit);
                chain = chain
                    .then(comma_and_room())
                    .then(ws.node(id).symbol.whole.clone().into_parts())
                    .then([equals()])
                    .then(value.into_parts());
            }
        }
        let chain = Math::Table {
            columns: vec![Align::Right, Align::Left],
            rows: vec![vec![node.symbol.whole.clone(), chain]],
        };
        let constants = coefficients.into_iter().filter_map(|constant| {
            let Role::Coefficient(symbol) = constant.role else {
                return None;
            };
            let value = Math::quantity(&constant.text(), constant.unit);
            let equals = Math::from(symbol).then([equals()]);
            Some(self.handles.text(equals.then(value.into_parts())))
        });
        let values: Vec<String> = constants.collect();
        if !values.is_empty() {
            self.constants.push(Constants {
                equation: self.label(id),
                source: node.published,
                values: values.clone(),
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
                // The table of constants tells it.
                let tells = |constants: &Constants| constants.source == Some(*source);
                !self.constants.iter().any(tells)
            }),
            terms: self.terms(id),
            ..Step::chain(format!("{}{left_out}", node.name), self.handles.text(chain))
        }
    }
}

/// Between an equation and the next in one row.
fn comma_and_room() -> [Math; 2] {
    [
        Math::Sign(",".into(), Class::Punctuation),
        Math::Space(18_000),
    ]
}

/// The symbol of a quantity's standard uncertainty.
pub(super) fn uncertainty_of(symbol: &Math) -> Math {
    Math::Variable('u').of(symbol.clone())
}

/// A number to so many significant figures, as a formula.
pub(super) fn rounded(value: f64, to: u32) -> Math {
    Math::number(&figures(value, to))
}
