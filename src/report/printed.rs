//! Quantities of the worksheet as the appendix prints them.

use serde::Serialize;

use super::words::{figures, with_unit};
use crate::bench::quantity::rounding::Rounded;
use crate::bench::worksheet::{NodeId, Worksheet};
use crate::maths::handles::Handles;
use crate::maths::{Class, Math};

/// A symbol and its value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Operand {
    /// Formula of the symbol.
    pub(super) symbol: String,
    /// The value, with unit.
    pub(super) value: String,
}

/// A worksheet, and the formulas of the text that its quantities are printed in.
#[derive(Clone, Copy)]
pub(super) struct Printed<'a> {
    pub(super) ws: &'a Worksheet,
    pub(super) handles: &'a Handles,
}

impl Printed<'_> {
    /// Returns a quantity's symbol.
    pub(super) fn symbol(&self, id: NodeId) -> String {
        self.handles.text(self.ws.node(id).symbol.whole())
    }

    /// Returns a unit, as a formula.
    pub(super) fn unit(&self, unit: &str) -> String {
        self.handles.text(Math::unit(unit))
    }

    /// Returns a number to so many significant figures, as a formula.
    pub(super) fn number(&self, value: f64, to: u32) -> String {
        self.handles.text(Math::number(&figures(value, to)))
    }

    /// Returns a density, or a number that is proportional to densities, as [`Self::number`] does.
    pub(super) fn density(&self, value: f64, to: u32) -> String {
        let shown = self.ws.density_unit.of_density().significant(value, to);
        self.handles.text(Math::number(&shown))
    }

    /// Returns the unit of densities, as a formula.
    pub(super) fn density_unit(&self) -> String {
        self.unit(self.ws.density_unit.of_density().unit.symbol)
    }

    /// Returns a quantity as it enters other calculations.
    pub(super) fn as_input(&self, id: NodeId) -> Operand {
        Operand {
            symbol: self.symbol(id),
            value: with_unit(&self.ws.printed_in(id), self.ws.shown_in(id).unit.symbol),
        }
    }

    /// Returns the digits of the standard uncertainty; `None` for an exact value.
    pub(super) fn uncertainty(&self, id: NodeId) -> Option<String> {
        let u = self.ws.uncertainty(id).standard;
        let rounded = Rounded::new(u, u, 2).filter(|_| u > 0.0)?;
        self.ws.shown_in(id).rounded(rounded).uncertainty()
    }

    /// Returns the value of a result, with its standard uncertainty, as a formula.
    pub(super) fn result(&self, id: NodeId) -> Math {
        let node = self.ws.node(id);
        let value = self.ws.with_unit(id);
        match self.uncertainty(id) {
            None => value,
            Some(digits) => value
                .then(comma_and_room())
                .then(
                    Math::Variable('u')
                        .applied_to(node.symbol.whole())
                        .into_parts(),
                )
                .then([Math::relation("=")])
                .then(Math::quantity(&digits, self.ws.shown_in(id).unit.symbol).into_parts()),
        }
    }
}

/// Between an equation and the next in one row.
pub(super) fn comma_and_room() -> [Math; 3] {
    [
        Math::Sign(",".into(), Class::Punctuation),
        Math::Space(18_000),
        Math::Break,
    ]
}
