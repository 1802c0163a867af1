//! Calculations written out: a chain of equations each, or where a formula comes again, a line of a table.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};

use super::ledger::Ledger;
use super::words::with_unit;
use crate::quantity::rounding::Rounded;
use crate::worksheet::{Node, NodeId, Source, Worksheet, tex_unit};

/// One calculation, or some by formulas written out before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Step {
    /// What is calculated, in words; empty for a table.
    name: String,
    /// The chain of equations, TeX, rows divided by `\\`, aligned at `&`; empty for a table.
    tex: String,
    /// The label of that chain; empty for what nothing refers to.
    label: String,
    /// Calculations by formulas written out before.
    again: Vec<Again>,
    /// The same of many solutions.
    ledger: Option<Ledger>,
}

/// A calculation by a formula written out before. Symbols are TeX; values are text, with their units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Again {
    /// The symbol of the quantity whose calculation shows the formula.
    pub(super) like: String,
    /// The label of that calculation; empty where the formula is nobody's but its own.
    pub(super) equation: String,
    /// What goes in.
    pub(super) from: Vec<Given>,
    /// The symbol of what comes out.
    pub(super) symbol: String,
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
    pub(super) symbol: String,
    /// Its value; none for what was calculated, which stands above.
    pub(super) value: Option<Amount>,
    /// The symbol of what goes into the calculation that shows the formula in its place.
    #[serde(skip)]
    pub(super) like: String,
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

/// A symbol without the number at its end: `v_{\mathrm{D},3}` is of the kind of `v_{\mathrm{D},1}`.
fn kind(symbol: &str) -> &str {
    symbol
        .trim_end_matches('}')
        .trim_end_matches(|c: char| c.is_ascii_digit())
}

/// Writes the calculations of a worksheet, each once.
pub(super) struct Writer<'a> {
    pub(super) ws: &'a Worksheet,
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
    pub(super) fn new(ws: &'a Worksheet, left_out: BTreeSet<NodeId>) -> Self {
        Self {
            ws,
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
        let symbol = |id: NodeId| self.ws.node(id).symbol.clone();
        let unit = self.ws.node(id).unit;
        let from = self.given(id).into_iter().zip(self.given(like));
        Again {
            like: symbol(like),
            equation: self.label(like),
            from: from
                .map(|(given, like)| Given {
                    like: like.symbol,
                    ..given
                })
                .collect(),
            symbol: symbol(id),
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

    /// What goes into a calculation. Readings of one kind that follow each other with the same value, as deliveries of a
    /// pipette do, are one.
    fn given(&self, id: NodeId) -> Vec<Given> {
        let mut given: Vec<(Given, usize)> = Vec::new();
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
                Some((first, times))
                    if value.is_some()
                        && first.value == value
                        && kind(&first.symbol) == kind(&node.symbol) =>
                {
                    first.like.clone_from(&node.symbol);
                    *times += 1;
                }
                _ => {
                    let symbol = node.symbol.clone();
                    let like = String::new();
                    given.push((
                        Given {
                            symbol,
                            value,
                            like,
                        },
                        1,
                    ));
                }
            }
        }
        let merged = given.into_iter().map(|(given, times)| match given.value {
            Some(value) if times > 1 => Given {
                symbol: format!("{}, \\ldots, {}", given.symbol, given.like),
                value: Some(Amount {
                    digits: format!("{times} × {}", value.digits),
                    unit: value.unit,
                }),
                ..given
            },
            value => Given { value, ..given },
        });
        merged.collect()
    }

    /// The digits of the standard uncertainty, as text; none for what is exact.
    fn rounded_uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        rounded.uncertainty()
    }

    /// The standard uncertainty with its unit, TeX; none for what is exact.
    fn uncertainty(&self, id: NodeId) -> Option<String> {
        let digits = self.rounded_uncertainty(id)?;
        let unit = match self.ws.node(id).unit {
            "" => String::new(),
            unit => format!("\\,{}", tex_unit(unit)),
        };
        Some(format!("{}{unit}", tex_digits(&digits)))
    }

    fn step(&self, id: NodeId) -> Step {
        let node = self.ws.node(id);
        let (symbol, symbols, numbers) = (
            &node.symbol,
            self.ws.with_symbols(id),
            self.ws.with_numbers(id),
        );
        let mut tex = format!("{symbol} &= {symbols}");
        if numbers != symbols {
            tex += &format!(" \\allowbreak = {numbers}");
        }
        tex += &format!(" \\\\ &= {}", self.ws.with_unit(id));
        if let Some(u) = self.uncertainty(id) {
            tex += &format!(" ,\\quad u({symbol}) = {u}");
        }
        let left_out = if self.left_out.contains(&id) {
            " (left out)"
        } else {
            ""
        };
        Step {
            label: self.label(id),
            ..Step::chain(format!("{}{left_out}", node.name), tex)
        }
    }
}

/// A number to two significant figures, TeX.
pub(super) fn scientific(value: f64) -> String {
    scientific_to(value, 2)
}

/// A number to so many significant figures, TeX.
pub(super) fn scientific_to(value: f64, figures: u32) -> String {
    tex_digits(&super::words::figures(value, figures))
}

/// Printed digits in TeX: true minus and raised exponents become TeX's own.
fn tex_digits(text: &str) -> String {
    let (mantissa, exponent) = match text.split_once("× 10") {
        Some((mantissa, exponent)) => (mantissa.trim_end(), Some(exponent)),
        None => (text, None),
    };
    let mantissa = mantissa.replace('−', "-");
    let Some(exponent) = exponent else {
        return mantissa;
    };
    let lowered: String = exponent
        .chars()
        .filter_map(|c| match c {
            '⁻' => Some('-'),
            '⁰' => Some('0'),
            '¹' => Some('1'),
            '²' => Some('2'),
            '³' => Some('3'),
            '⁴'..='⁹' => char::from_u32('4' as u32 + (c as u32 - '⁴' as u32)),
            _ => None,
        })
        .collect();
    format!("{mantissa} \\times 10^{{{lowered}}}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_powers_become_tex() {
        assert_eq!(tex_digits("−1.2 × 10⁻⁵"), "-1.2 \\times 10^{-5}");
        assert_eq!(tex_digits("0.0041"), "0.0041");
    }
}
