//! How the parts of a row take each other: which signs join two operands, and where functions keep off.
//!
//! The classes are those of TeX (D. E. Knuth, *The `TeXbook`*, Addison-Wesley 1986, chapters 17 and 18).

use super::{Class, Math};

/// A part of a row beside its neighbours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted<'m> {
    /// The part.
    pub part: &'m Math,
    /// Of an operator, whether it stands between two operands; if not, it is a sign of what follows.
    pub infix: bool,
    /// How it is applied, if it is a function.
    pub function: Application,
}

/// How a function is applied to what follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Application {
    /// Whether room is left before its name.
    pub apart: bool,
    /// Whether it is applied to something.
    pub applied: bool,
    /// Whether room is left behind its name.
    pub open: bool,
}

/// What a part is to its neighbours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Atom {
    Operand,
    Function,
    Operator,
    Relation,
    Open,
    Close,
    Punctuation,
}

/// Returns the parts of a row, each with how its neighbours take it; `continued` if an operand stands before the first.
pub fn fitted(row: &[Math], continued: bool) -> Vec<Fitted<'_>> {
    let mut before = continued.then_some(Atom::Operand);
    let mut parts = Vec::with_capacity(row.len());
    for (at, part) in row.iter().enumerate() {
        let mut fitted = Fitted {
            part,
            infix: false,
            function: Application::default(),
        };
        let after_operand = matches!(before, Some(Atom::Operand | Atom::Close));
        match atom(part) {
            None => {}
            Some(Atom::Operator) => {
                let next = row[at + 1..].iter().find_map(atom);
                fitted.infix = after_operand
                    && matches!(
                        next,
                        Some(Atom::Operand | Atom::Function | Atom::Operator | Atom::Open)
                    );
                before = Some(if fitted.infix {
                    Atom::Operator
                } else {
                    Atom::Operand
                });
            }
            Some(Atom::Function) if is_named(part) => {
                let next = row[at + 1..].iter().find_map(atom);
                fitted.function = Application {
                    apart: after_operand,
                    applied: next.is_some(),
                    open: next.is_some_and(|next| {
                        !matches!(next, Atom::Open | Atom::Close | Atom::Punctuation)
                    }),
                };
                before = Some(Atom::Function);
            }
            found => before = found,
        }
        parts.push(fitted);
    }
    parts
}

/// Returns what a part is to its neighbours; room is nothing to them.
fn atom(part: &Math) -> Option<Atom> {
    Some(match part {
        Math::Space(_) | Math::Break => return None,
        Math::Function(_) => Atom::Function,
        Math::Sign(_, class) => match class {
            Class::Operator => Atom::Operator,
            Class::Relation => Atom::Relation,
            Class::Punctuation | Class::Middle => Atom::Punctuation,
            Class::Large => Atom::Function,
            Class::Open(_) => Atom::Open,
            Class::Close(_) => Atom::Close,
            Class::Stretched => Atom::Operand,
        },
        Math::Scripts(scripts) => match &scripts.base {
            Math::Function(_) => Atom::Function,
            _ => Atom::Operand,
        },
        _ => Atom::Operand,
    })
}

/// Returns whether a part is a function's name, with scripts or without.
fn is_named(part: &Math) -> bool {
    match part {
        Math::Function(_) => true,
        Math::Scripts(scripts) => matches!(scripts.base, Math::Function(_)),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::{Math, fitted};

    #[test]
    fn an_operator_joins_only_what_is_on_both_of_its_sides() {
        let [a, minus] = [Math::Variable('a'), Math::operator("−")];
        let row = [minus.clone(), a.clone(), Math::Break, minus.clone(), a];
        let infix = |continued| -> Vec<bool> {
            fitted(&row, continued)
                .iter()
                .map(|part| part.infix)
                .collect()
        };
        assert_eq!(infix(false), [false, false, false, true, false]);
        assert_eq!(infix(true), [true, false, false, true, false]);
        assert!(!fitted(&row[1..4], false)[2].infix, "nothing follows");
    }
}
