//! Symbols of quantities, with their subjects.
//!
//! A symbol is kept as what it is made of. Its tree is built where a formula is printed: most quantities of a run that is
//! only checked or compared are never printed.

use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

use smol_str::{SmolStr, format_smolstr};

use crate::maths::Math;

/// The subject of a quantity, shared by all that tells of it; printed as `A`, `A at 20 °C` or `A,1`.
#[derive(Debug, Clone, PartialEq)]
pub struct Label(Option<Arc<Subject>>);

/// What a label says.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// The solution or piece of ware; empty for neither.
    pub of: SmolStr,
    /// In words that follow the name.
    state: SmolStr,
    /// The number of a measurement and of a part of it, each after a comma.
    numbers: SmolStr,
    /// The number of the measurement, from 1.
    pub number: Option<usize>,
    /// The pass of an iteration, from 1.
    pub pass: Option<usize>,
}

impl Deref for Label {
    type Target = Subject;

    fn deref(&self) -> &Subject {
        static NONE: Subject = Subject {
            of: SmolStr::new_static(""),
            state: SmolStr::new_static(""),
            numbers: SmolStr::new_static(""),
            number: None,
            pass: None,
        };
        self.0.as_deref().unwrap_or(&NONE)
    }
}

impl From<Subject> for Label {
    fn from(subject: Subject) -> Self {
        Self(Some(Arc::new(subject)))
    }
}

impl Label {
    /// Returns the same with the number of a measurement, or of a part of it, from 1.
    #[must_use]
    pub fn numbered(&self, number: usize) -> Self {
        Self::from(Subject {
            numbers: format_smolstr!("{},{number}", self.numbers),
            number: self.number.or(Some(number)),
            ..(**self).clone()
        })
    }

    /// Returns the same in a state, in words that follow the name.
    #[must_use]
    pub fn state(&self, words: &str) -> Self {
        Self::from(Subject {
            state: format_smolstr!("{} {words}", self.state),
            ..(**self).clone()
        })
    }

    /// Returns the same in a pass of an iteration, from 1.
    #[must_use]
    pub fn pass(&self, pass: usize) -> Self {
        Self::from(Subject {
            state: format_smolstr!("{}, pass {pass}", self.state),
            pass: Some(pass),
            ..(**self).clone()
        })
    }

    /// Returns a label of no solution and no ware, with a condition in words.
    pub fn under(condition: &str) -> Self {
        Self::from(Subject {
            numbers: condition.into(),
            ..(*Self(None)).clone()
        })
    }
}

impl From<&str> for Label {
    fn from(of: &str) -> Self {
        if of.is_empty() {
            return Self(None);
        }
        Self::from(Subject {
            of: of.into(),
            ..(*Self(None)).clone()
        })
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

/// The symbol of a quantity in formulas, with the subject that distinguishes quantities of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// Without any subscript or prime; quantities calculated by one formula share it.
    letter: Math,
    /// The first part of the subscript, which tells kinds with one letter apart; may be empty.
    kind: &'static str,
    /// The rest of the subscript.
    label: Label,
    /// What it is a function of.
    argument: Option<Box<Math>>,
    primes: u8,
}

impl Symbol {
    /// Returns a letter with a kind and a label as its subscript; an empty kind is left out.
    pub fn new(letter: impl Into<Math>, kind: &'static str, label: impl Into<Label>) -> Self {
        Self {
            letter: letter.into(),
            kind,
            label: label.into(),
            argument: None,
            primes: 0,
        }
    }

    /// Returns a letter with a label as its subscript.
    pub fn labelled(letter: impl Into<Math>, label: impl Into<Label>) -> Self {
        Self::new(letter, "", label)
    }

    /// Returns the symbol with a prime, for another quantity of the same subject.
    #[must_use]
    pub fn prime(self) -> Self {
        Self {
            primes: self.primes + 1,
            ..self
        }
    }

    /// Returns the symbol as a function of another quantity.
    #[must_use]
    pub fn applied_to(self, argument: Math) -> Self {
        Self {
            argument: Some(Box::new(argument)),
            ..self
        }
    }

    /// Returns what the subscript tells of the subject.
    pub fn label(&self) -> &Label {
        &self.label
    }

    /// Returns the whole symbol, e.g. `ρ_A,1`.
    pub fn whole(&self) -> Math {
        let whole = self.under(&self.label.to_string());
        match &self.argument {
            Some(argument) => whole.applied_to((**argument).clone()),
            None => whole,
        }
    }

    /// Returns the symbol without the subject, e.g. `ρ`; the head of a column of such quantities.
    pub fn kind(&self) -> Math {
        self.under(self.state())
    }

    /// Returns whether both have the same [`Symbol::kind`].
    pub fn is_of_kind(&self, other: &Self) -> bool {
        self.has_letter_of(other) && self.kind == other.kind && self.state() == other.state()
    }

    /// Returns whether both have the same letter and primes.
    pub fn has_letter_of(&self, other: &Self) -> bool {
        self.primes == other.primes && self.letter == other.letter
    }

    /// Returns the state of the subject in words.
    fn state(&self) -> &str {
        self.label.state.trim_start_matches([',', ' '])
    }

    fn under(&self, words: &str) -> Math {
        let below = match (self.kind, words) {
            ("", words) => SmolStr::from(words),
            (kind, "") => SmolStr::from(kind),
            (kind, words) => format_smolstr!("{kind},{words}"),
        };
        let mut symbol = self.letter.clone();
        if !below.is_empty() {
            symbol = symbol.subscript(Math::label(&below));
        }
        (0..self.primes).fold(symbol, |symbol, _| symbol.prime())
    }
}

impl<M: Into<Math>> From<M> for Symbol {
    fn from(symbol: M) -> Self {
        Self::labelled(symbol, "")
    }
}
