//! Symbols of quantities, with their subjects.

use smol_str::SmolStr;

use crate::maths::Math;

/// The symbol of a quantity in formulas, with the subject that distinguishes quantities of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// The whole symbol, e.g. `ρ_A,1`.
    pub whole: Math,
    /// The symbol without the subject, e.g. `ρ`; the head of a column of such quantities.
    pub kind: Math,
    /// The symbol without any subscript; quantities calculated by one formula share it.
    pub letter: Math,
    /// The solution or piece of ware; empty for neither.
    pub of: SmolStr,
    /// The number of the measurement, from 1.
    pub number: Option<usize>,
    /// The pass of an iteration, from 1.
    pub pass: Option<usize>,
}

impl Symbol {
    /// The symbol with a prime, for another quantity of the same subject.
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
