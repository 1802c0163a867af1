//! Labels of quantities: the solution or piece of ware, its state, and the number of a measurement.

use std::fmt;

use smol_str::{SmolStr, format_smolstr};

use crate::maths::Math;
use crate::worksheet::Symbol;

/// The subject of a quantity; printed as `A`, `A at 20 °C` or `A,1`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    of: SmolStr,
    /// In words that follow the name.
    state: SmolStr,
    /// The number of a measurement and of a part of it, each after a comma.
    numbers: SmolStr,
    number: Option<usize>,
    pass: Option<usize>,
}

impl Label {
    /// The same with the number of a measurement, or of a part of it, from 1.
    pub(super) fn numbered(&self, number: usize) -> Self {
        Self {
            numbers: format_smolstr!("{},{number}", self.numbers),
            number: self.number.or(Some(number)),
            ..self.clone()
        }
    }

    /// The same in a state, in words that follow the name.
    pub(super) fn state(&self, words: &str) -> Self {
        Self {
            state: format_smolstr!("{} {words}", self.state),
            ..self.clone()
        }
    }

    /// The same in a pass of an iteration, from 1.
    pub(super) fn pass(&self, pass: usize) -> Self {
        Self {
            state: format_smolstr!("{}, pass {pass}", self.state),
            pass: Some(pass),
            ..self.clone()
        }
    }

    /// A label of no solution and no ware, with a condition in words.
    pub(super) fn under(condition: &str) -> Self {
        Self {
            numbers: condition.into(),
            ..Self::from("")
        }
    }
}

impl From<&str> for Label {
    fn from(of: &str) -> Self {
        Self {
            of: of.into(),
            state: SmolStr::default(),
            numbers: SmolStr::default(),
            number: None,
            pass: None,
        }
    }
}

impl From<&String> for Label {
    fn from(of: &String) -> Self {
        of.as_str().into()
    }
}

impl From<&Label> for Label {
    fn from(label: &Label) -> Self {
        label.clone()
    }
}

impl fmt::Display for Label {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}{}", self.of, self.state, self.numbers)
    }
}

/// A symbol with a label as its subscript.
pub(super) fn sub(symbol: impl Into<Math>, label: impl Into<Label>) -> Symbol {
    let label = label.into();
    with(symbol.into(), "", &label)
}

/// A symbol with a kind and a label as its subscript; an empty kind is left out.
pub(super) fn sub_kind(symbol: &str, kind: &str, label: impl Into<Label>) -> Symbol {
    with(Math::from(symbol), kind, &label.into())
}

fn with(symbol: Math, kind: &str, label: &Label) -> Symbol {
    let under = |below: &str| match below {
        "" => symbol.clone(),
        below => symbol.clone().subscript(Math::label(below)),
    };
    let behind = |kind: &str, words: &str| match (kind, words) {
        ("", words) => words.to_owned(),
        (kind, "") => kind.to_owned(),
        (kind, words) => format!("{kind},{words}"),
    };
    Symbol {
        whole: under(&behind(kind, &label.to_string())),
        kind: under(&behind(kind, label.state.trim_start_matches([',', ' ']))),
        letter: symbol,
        of: label.of.clone(),
        number: label.number,
        pass: label.pass,
    }
}
