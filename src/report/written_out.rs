//! Calculations written out: a chain of equations each, or where a formula comes again, a line of a table.

use serde::Serialize;

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
    /// Calculations by formulas written out before.
    again: Vec<Again>,
}

/// A calculation by a formula written out before. Symbols are TeX; values are text, with their units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Again {
    /// The symbol of the quantity whose calculation shows the formula.
    pub(super) like: String,
    /// What goes in.
    pub(super) from: Vec<Given>,
    /// The symbol of what comes out.
    pub(super) symbol: String,
    /// Its value.
    pub(super) value: String,
    /// Its standard uncertainty; none for what is exact.
    pub(super) uncertainty: Option<String>,
}

/// What goes into a calculation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Given {
    /// Its symbol.
    pub(super) symbol: String,
    /// Its value; none for what was calculated, which stands above.
    pub(super) value: Option<String>,
}

impl Step {
    /// A chain of equations.
    pub(super) fn chain(name: impl Into<String>, tex: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            tex: tex.into(),
            again: Vec::new(),
        }
    }

    /// A line of a table.
    pub(super) fn line(again: Again) -> Self {
        Self {
            name: String::new(),
            tex: String::new(),
            again: vec![again],
        }
    }

    /// Whether it is a calculation itself rather than a table of some.
    pub(super) fn is_chain(&self) -> bool {
        self.again.is_empty()
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
    /// What has been written already, by place.
    written: Vec<bool>,
    /// Quantities whose calculation was written out as a chain, one for each formula.
    examples: Vec<NodeId>,
    /// Whether every formula that was written out before is referred to, and not only those that recur by nature.
    pub(super) brief: bool,
}

impl<'a> Writer<'a> {
    /// Nothing written yet.
    pub(super) fn new(ws: &'a Worksheet) -> Self {
        Self {
            ws,
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
            stack.extend(self.ws.earlier(id));
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
                Source::Input(_) | Source::Solved(_) => false,
            };
            alike && example.unit == node.unit && example.recurring == node.recurring
        };
        match self.examples.iter().find(shows) {
            Some(like) if node.recurring || self.brief => Some(*like),
            Some(_) => None,
            None => {
                self.examples.push(id);
                None
            }
        }
    }

    fn again(&self, id: NodeId, like: NodeId) -> Again {
        let symbol = |id: NodeId| self.ws.node(id).symbol.clone();
        // What was calculated stands above.
        let given = |id: NodeId| Given {
            symbol: symbol(id),
            value: match self.ws.node(id).source {
                Source::Calculated(_) if !self.ws.is_reading(id) => None,
                _ => Some(self.value(id)),
            },
        };
        Again {
            like: symbol(like),
            from: self.ws.shown_in(id).into_iter().map(given).collect(),
            symbol: symbol(id),
            value: self.value(id),
            uncertainty: self
                .rounded_uncertainty(id)
                .map(|digits| with_unit(&digits, self.ws.node(id).unit)),
        }
    }

    /// The value with its unit, as text.
    pub(super) fn value(&self, id: NodeId) -> String {
        with_unit(&self.ws.printed(id), self.ws.node(id).unit)
    }

    /// The digits of the standard uncertainty, as text; none for what is exact.
    fn rounded_uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        Some(rounded.uncertainty())
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
        Step::chain(node.name.clone(), tex)
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
