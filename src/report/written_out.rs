//! Calculations written out: a chain of equations each, or where a formula comes again, a line of a table.

use serde::Serialize;

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

/// A calculation by a formula written out before, in TeX.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Again {
    /// The symbol of the quantity whose calculation shows the formula.
    like: String,
    /// What goes in: its symbol, and for what was not calculated its value.
    from: Vec<String>,
    /// What comes out: symbol = value.
    result: String,
    /// Its standard uncertainty; none for what is exact.
    uncertainty: Option<String>,
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

    /// Whether it is a calculation itself rather than a table of some.
    fn is_chain(&self) -> bool {
        self.again.is_empty()
    }
}

/// Writes the calculations of a worksheet, each once.
pub(super) struct Writer<'a> {
    pub(super) ws: &'a Worksheet,
    /// What has been written already, by place.
    written: Vec<bool>,
    /// Recurring quantities whose formula has been written out.
    examples: Vec<NodeId>,
}

impl<'a> Writer<'a> {
    /// Nothing written yet.
    pub(super) fn new(ws: &'a Worksheet) -> Self {
        Self {
            ws,
            written: vec![false; ws.nodes().count()],
            examples: Vec::new(),
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
            let Some(like) = self.example(id) else {
                steps.push(self.step(id));
                continue;
            };
            let again = self.again(id, like);
            match steps.last_mut() {
                Some(table) if !table.is_chain() => table.again.push(again),
                _ => steps.push(Step {
                    name: String::new(),
                    tex: String::new(),
                    again: vec![again],
                }),
            }
        }
        steps
    }

    /// The quantity whose calculation shows the formula of a recurring one; none where this is the first.
    fn example(&mut self, id: NodeId) -> Option<NodeId> {
        let node = self.ws.node(id);
        let formula = |node: &'a Node| match &node.source {
            Source::Calculated(formula) if node.recurring => Some(formula),
            _ => None,
        };
        let sought = formula(node)?;
        let like = self.examples.iter().find(|example| {
            let example = self.ws.node(**example);
            example.unit == node.unit && formula(example).is_some_and(|f| f.alike(sought))
        });
        let like = like.copied();
        if like.is_none() {
            self.examples.push(id);
        }
        like
    }

    fn again(&self, id: NodeId, like: NodeId) -> Again {
        let equation =
            |id: NodeId| format!("{} = {}", self.ws.node(id).symbol, self.ws.with_unit(id));
        // What was calculated stands above.
        let shown = |id: NodeId| match self.ws.node(id).source {
            Source::Calculated(_) if !self.ws.is_reading(id) => self.ws.node(id).symbol.clone(),
            _ => equation(id),
        };
        Again {
            like: self.ws.node(like).symbol.clone(),
            from: self.ws.shown_in(id).into_iter().map(shown).collect(),
            result: equation(id),
            uncertainty: self.uncertainty(id),
        }
    }

    /// The standard uncertainty with its unit, TeX; none for what is exact.
    fn uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        let unit = match self.ws.node(id).unit {
            "" => String::new(),
            unit => format!("\\,{}", tex_unit(unit)),
        };
        Some(format!("{}{unit}", tex_digits(&rounded.uncertainty())))
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
