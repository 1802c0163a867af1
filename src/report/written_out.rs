//! Calculations written out: a chain of equations each, or where a formula comes again, a line of a table.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};

use super::ledger::Ledger;
use super::words::{figures, with_unit};
use crate::maths::handles::Handles;
use crate::maths::{Align, Class, EMPTY, Math};
use crate::quantity::rounding::Rounded;
use crate::worksheet::{Node, NodeId, Source, Worksheet};

/// One calculation, or some by formulas written out before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Step {
    /// What is calculated, in words; empty for a table.
    name: String,
    /// The chain of equations, in formulas or TeX, rows divided by `\\`, aligned at `&`; empty for a table.
    tex: String,
    /// The label of that chain; empty for what nothing refers to.
    label: String,
    /// Calculations by formulas written out before.
    again: Vec<Again>,
    /// The same of many solutions.
    ledger: Option<Ledger>,
}

/// A calculation by a formula written out before. Symbols are formulas; values are text, with their units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Again {
    /// The symbol of the quantity whose calculation shows the formula.
    pub(super) like: Symbol,
    /// The label of that calculation; empty where the formula is nobody's but its own.
    pub(super) equation: String,
    /// What goes in.
    pub(super) from: Vec<Given>,
    /// The symbol of what comes out.
    pub(super) symbol: Symbol,
    /// Its value.
    pub(super) value: Amount,
    /// Its standard uncertainty; none for what is exact.
    pub(super) uncertainty: Option<Amount>,
    /// Whether it is a density or volume from a weighing that is left out.
    pub(super) left_out: bool,
}

/// What goes into a calculation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Given {
    /// Its symbol; of some that come one after the other with the same value, those of the first and the last.
    pub(super) symbol: Symbol,
    /// Its value; none for what was calculated, which stands above.
    pub(super) value: Option<Amount>,
    /// The symbol of what goes into the calculation that shows the formula in its place.
    #[serde(skip)]
    pub(super) like: Symbol,
}

/// What a line or a column of the appendix is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Subject {
    /// A quantity.
    Quantity(NodeId),
    /// What a spread, by its number among those that are written out, gives for the mean of so many; of a solution's own
    /// spread there is no number.
    OfMean {
        /// Which spread.
        spread: Option<usize>,
        /// Of how many.
        used: usize,
    },
}

/// A symbol, and what it stands for; templates see the symbol.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Symbol {
    /// What it stands for.
    pub(super) of: Subject,
    /// Its formula, as text has it.
    pub(super) text: String,
}

impl Serialize for Symbol {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

/// A value as it is printed; templates see it as one text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    /// Its digits.
    pub(super) digits: String,
    /// Its unit, empty for a pure number.
    pub(super) unit: &'static str,
}

impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&with_unit(&self.digits, self.unit))
    }
}

impl Step {
    /// A chain of equations.
    pub(super) fn chain(name: impl Into<String>, tex: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            tex: tex.into(),
            label: String::new(),
            again: Vec::new(),
            ledger: None,
        }
    }

    /// A line of a table.
    pub(super) fn line(again: Again) -> Self {
        Self {
            again: vec![again],
            ..Self::chain("", "")
        }
    }

    /// A table of many solutions.
    pub(super) fn ledger(ledger: Ledger) -> Self {
        Self {
            ledger: Some(ledger),
            ..Self::chain("", "")
        }
    }

    /// Whether it is a calculation itself rather than a table of some.
    pub(super) fn is_chain(&self) -> bool {
        self.again.is_empty() && self.ledger.is_none()
    }

    /// The calculations of a table; a chain is given back.
    pub(super) fn lines(self) -> Result<Vec<Again>, Box<Self>> {
        if self.again.is_empty() {
            Err(Box::new(self))
        } else {
            Ok(self.again)
        }
    }
}

/// Adds steps after others; tables that meet become one.
pub(super) fn go_on(steps: &mut Vec<Step>, more: Vec<Step>) {
    for step in more {
        match steps.last_mut() {
            Some(table) if !table.is_chain() && !step.is_chain() => table.again.extend(step.again),
            _ => steps.push(step),
        }
    }
}

/// Writes the calculations of a worksheet, each once.
pub(super) struct Writer<'a> {
    pub(super) ws: &'a Worksheet,
    pub(super) handles: &'a Handles,
    /// What has been written already, by place.
    written: Vec<bool>,
    /// Quantities whose calculation was written out as a chain, one for each formula.
    examples: Vec<NodeId>,
    /// Densities and volumes from weighings that are left out.
    left_out: BTreeSet<NodeId>,
    /// Whether every formula that was written out before is referred to, and not only those that recur by nature.
    pub(super) brief: bool,
}

impl<'a> Writer<'a> {
    /// Nothing written yet; `left_out` are densities and volumes from weighings that are left out.
    pub(super) fn new(ws: &'a Worksheet, handles: &'a Handles, left_out: BTreeSet<NodeId>) -> Self {
        Self {
            ws,
            handles,
            left_out,
            written: vec![false; ws.nodes().count()],
            examples: Vec::new(),
            brief: false,
        }
    }

    /// Holds a quantity for written; tells whether it was already.
    pub(super) fn write(&mut self, id: NodeId) -> bool {
        std::mem::replace(&mut self.written[self.ws.place(id)], true)
    }

    /// The calculations that lead to some results and have not been written yet, each after what it needs.
    pub(super) fn up_to(&mut self, results: &[NodeId]) -> Vec<Step> {
        let mut needed: Vec<NodeId> = Vec::new();
        let mut stack: Vec<NodeId> = results.to_vec();
        while let Some(id) = stack.pop() {
            if self.write(id) {
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
        for id in needed {
            let step = match self.example(id) {
                Some(like) => Step::line(self.again(id, like)),
                None => self.step(id),
            };
            go_on(&mut steps, vec![step]);
        }
        steps
    }

    /// The quantity whose calculation shows the formula of another one; none where that is to be written out itself, which
    /// then is an example for those to come.
    fn example(&mut self, id: NodeId) -> Option<NodeId> {
        let node = self.ws.node(id);
        let Source::Calculated(sought) = &node.source else {
            return None;
        };
        let shows = |example: &&NodeId| {
            let example: &Node = self.ws.node(**example);
            let alike = match &example.source {
                Source::Calculated(formula) => formula.alike(sought),
                _ => false,
            };
            alike && example.unit == node.unit && example.recurring == node.recurring
        };
        let given = self.given(id).len();
        let shows = |example: &&NodeId| shows(example) && self.given(**example).len() == given;
        match self.examples.iter().find(shows) {
            Some(like) if node.recurring || self.brief => Some(*like),
            Some(_) => None,
            None => {
                self.examples.push(id);
                None
            }
        }
    }

    /// The label of the chain that calculates a quantity.
    fn label(&self, id: NodeId) -> String {
        format!("equation-{}", self.ws.place(id) + 1)
    }

    fn again(&self, id: NodeId, like: NodeId) -> Again {
        let unit = self.ws.node(id).unit;
        let from = self.given(id).into_iter().zip(self.given(like));
        Again {
            like: self.symbol(like),
            equation: self.label(like),
            from: from
                .map(|(given, like)| Given {
                    like: like.symbol,
                    ..given
                })
                .collect(),
            symbol: self.symbol(id),
            value: Amount {
                digits: self.ws.printed(id),
                unit,
            },
            uncertainty: self
                .rounded_uncertainty(id)
                .map(|digits| Amount { digits, unit }),
            left_out: self.left_out.contains(&id),
        }
    }

    pub(super) fn symbol(&self, id: NodeId) -> Symbol {
        Symbol {
            of: Subject::Quantity(id),
            text: self.handles.text(self.ws.node(id).symbol.clone()),
        }
    }

    /// What goes into a calculation. Readings that are added up, follow each other and have the same value, as deliveries of
    /// a pipette do, are one.
    fn given(&self, id: NodeId) -> Vec<Given> {
        let summed = self.ws.summed_in(id);
        let added_up = |a: NodeId, b: NodeId| {
            summed
                .iter()
                .any(|sum| sum.contains(&a) && sum.contains(&b))
        };
        let mut given: Vec<(NodeId, NodeId, usize, Option<Amount>)> = Vec::new();
        for id in self.ws.shown_in(id) {
            let node = self.ws.node(id);
            // What was calculated stands above.
            let value = match node.source {
                Source::Calculated(_) if !self.ws.is_reading(id) => None,
                _ => Some(Amount {
                    digits: self.ws.printed(id),
                    unit: node.unit,
                }),
            };
            match given.last_mut() {
                Some((_, last, times, before))
                    if value.is_some() && *before == value && added_up(*last, id) =>
                {
                    *last = id;
                    *times += 1;
                }
                _ => given.push((id, id, 1, value)),
            }
        }
        let shown = |(first, last, times, value): (NodeId, NodeId, usize, Option<Amount>)| {
            let symbol = self.symbol(first);
            let (text, value) = match value {
                Some(value) if times > 1 => {
                    let [from, to] = [first, last].map(|id| self.ws.node(id).symbol.clone());
                    let comma = || Math::Sign(",".into(), Class::Punctuation);
                    let dots = [comma(), Math::Upright("…".into()), comma()];
                    let value = Amount {
                        digits: format!("{times} × {}", value.digits),
                        unit: value.unit,
                    };
                    (
                        self.handles.text(from.then(dots).then(to.into_parts())),
                        Some(value),
                    )
                }
                value => (symbol.text.clone(), value),
            };
            Given {
                symbol: Symbol { text, ..symbol },
                like: symbol,
                value,
            }
        };
        given.into_iter().map(shown).collect()
    }

    /// The digits of the standard uncertainty, as text; none for what is exact.
    fn rounded_uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        rounded.uncertainty()
    }

    fn step(&self, id: NodeId) -> Step {
        let node = self.ws.node(id);
        let equals = || Math::relation("=");
        let (symbols, numbers) = (self.ws.with_symbols(id), self.ws.with_numbers(id));
        let same = numbers == symbols;
        let mut first = Math::row([equals()]).then(symbols.into_parts());
        if !same {
            first = first
                .then([Math::Break, equals()])
                .then(numbers.into_parts());
        }
        let mut second = Math::row([equals()]).then(self.ws.with_unit(id).into_parts());
        if let Some(digits) = self.rounded_uncertainty(id) {
            let comma = Math::Sign(",".into(), Class::Punctuation);
            second = second
                .then([comma, Math::Space(18_000)])
                .then(uncertainty_of(&node.symbol).into_parts())
                .then([equals()])
                .then(Math::quantity(&digits, node.unit).into_parts());
        }
        let chain = Math::Table {
            columns: vec![Align::Right, Align::Left],
            rows: vec![vec![node.symbol.clone(), first], vec![EMPTY, second]],
        };
        let left_out = if self.left_out.contains(&id) {
            " (left out)"
        } else {
            ""
        };
        Step {
            label: self.label(id),
            ..Step::chain(format!("{}{left_out}", node.name), self.handles.text(chain))
        }
    }
}

/// The symbol of a quantity's standard uncertainty.
pub(super) fn uncertainty_of(symbol: &Math) -> Math {
    Math::Variable('u').of(symbol.clone())
}

/// A number to so many significant figures, as a formula.
pub(super) fn rounded(value: f64, to: u32) -> Math {
    Math::number(&figures(value, to))
}
