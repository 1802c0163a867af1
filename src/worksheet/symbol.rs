//! The symbol of a quantity, and what the quantity is of.

use smol_str::SmolStr;

use crate::maths::Math;

/// A symbol, as it stands in formulas, with what tells quantities of one kind apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// All of it, e.g. `ρ_A,1`.
    pub whole: Math,
    /// Without what it is of, e.g. `ρ`: the head of a column for all quantities of the kind.
    pub kind: Math,
    /// Without any subscript: quantities by one formula have the same.
    pub letter: Math,
    /// The solution or piece of ware that the quantity is of; empty for what is of none.
    pub of: SmolStr,
    /// Which of several measurements of that, from 1.
    pub number: Option<usize>,
    /// Which pass of an iteration, from 1.
    pub pass: Option<usize>,
}

impl Symbol {
    /// The symbol of another quantity of the same: with a mark.
    #[must_use]
    pub fn prime(self) -> Self {
        Self {
            whole: self.whole.prime(),
            kind: self.kind.prime(),
            letter: self.letter.prime(),
            ..self
        }
    }
}

impl<M: Into<Math>> From<M> for Symbol {
    fn from(symbol: M) -> Self {
        let whole = symbol.into();
        Self {
            kind: whole.clone(),
            letter: whole.clone(),
            whole,
            of: SmolStr::default(),
            number: None,
            pass: None,
        }
    }
}
