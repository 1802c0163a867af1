//! Expression trees: the one definition of a formula.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::NodeId;
use crate::bench::quantity::Unit;

/// A constant of a formula: a published coefficient, a factor between units, a count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constant {
    /// Its value.
    pub value: f64,
    /// What it is.
    pub role: Role,
    /// Its unit.
    pub unit: &'static Unit,
}

impl Constant {
    /// Returns its shortest digits; with a power of ten where plain ones would be mostly zeros.
    pub fn text(&self) -> String {
        if self.value != 0.0 && self.value.abs() < 1e-3 {
            format!("{:e}", self.value)
        } else {
            self.value.to_string()
        }
    }
}

/// The role of a constant in a formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// A number of the formula itself.
    Plain,
    /// A coefficient of a published equation, by its symbol as it is typed.
    Coefficient(&'static str),
    /// One whose letter in the source stands for a quantity here: its symbol in formulas, and that in the source.
    Renamed(&'static [&'static str; 2]),
    /// The number of terms.
    Count,
    /// The number of its unit in one of this unit, which equations between quantities omit.
    Conversion(&'static Unit),
}

impl Role {
    /// Returns the symbol of a coefficient in formulas.
    pub fn symbol(&self) -> Option<&'static str> {
        match self {
            Self::Coefficient(symbol) | Self::Renamed([symbol, _]) => Some(symbol),
            Self::Plain | Self::Count | Self::Conversion(_) => None,
        }
    }
}

/// A formula as a tree over the quantities of a worksheet.
///
/// Trees are built with the arithmetic operators and the methods below; sums of many terms are flat ([`Expr::Sum`]).
#[derive(Debug, Clone, PartialEq)]
pub enum Expr {
    /// A quantity of the worksheet.
    Node(NodeId),
    /// A constant.
    Constant(Constant),
    /// Terms added; empty is 0.
    Sum(Vec<Expr>),
    /// One term taken from another.
    Difference(Box<Expr>, Box<Expr>),
    /// Factors multiplied; empty is 1.
    Product(Vec<Expr>),
    /// A fraction.
    Quotient(Box<Expr>, Box<Expr>),
    /// The negative.
    Negative(Box<Expr>),
    /// A whole power.
    Power(Box<Expr>, i32),
    /// The exponential function.
    Exponential(Box<Expr>),
    /// The square root.
    Root(Box<Expr>),
}

impl Expr {
    fn constant(value: f64, role: Role, unit: &'static Unit) -> Self {
        Self::Constant(Constant { value, role, unit })
    }

    /// Returns an exact number.
    pub fn number(value: f64) -> Self {
        Self::constant(value, Role::Plain, &Unit::ONE)
    }

    /// Returns an exact quantity, e.g. 100 %.
    pub fn exactly(value: f64, unit: &'static Unit) -> Self {
        Self::constant(value, Role::Plain, unit)
    }

    /// Returns the factor from one unit to another of its dimension, e.g. 1000 mL/L from litres to millilitres.
    pub fn conversion(from: &'static Unit, to: &'static Unit) -> Self {
        Self::constant(from.factor / to.factor, Role::Conversion(from), to)
    }

    /// Returns a published coefficient with its symbol, as [`Math`](crate::maths::Math) reads it, and its unit.
    pub fn coefficient(symbol: &'static str, value: f64, unit: &'static Unit) -> Self {
        Self::constant(value, Role::Coefficient(symbol), unit)
    }

    /// The same where the letter of the source stands for a quantity: with another symbol, and that of the source.
    pub fn renamed_coefficient(
        symbols: &'static [&'static str; 2],
        value: f64,
        unit: &'static Unit,
    ) -> Self {
        Self::constant(value, Role::Renamed(symbols), unit)
    }

    /// Returns a whole power.
    #[must_use]
    pub fn power(self, exponent: i32) -> Self {
        Self::Power(Box::new(self), exponent)
    }

    /// Returns the exponential function.
    #[must_use]
    pub fn exponential(self) -> Self {
        Self::Exponential(Box::new(self))
    }

    /// Returns the square root.
    #[must_use]
    pub fn root(self) -> Self {
        Self::Root(Box::new(self))
    }

    /// Returns the mean of terms; of none, 0/0.
    pub fn mean(terms: Vec<Expr>) -> Self {
        let count = Self::constant(terms.len() as f64, Role::Count, &Unit::ONE);
        Self::Sum(terms) / count
    }

    /// Returns whether another tree is the same formula, over whatever quantities. A sum of quantities is the same
    /// formula for any number of them, and so is a mean.
    pub fn is_alike(&self, other: &Self) -> bool {
        let each = |a: &[Self], b: &[Self]| {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.is_alike(b))
        };
        match (self, other) {
            (Self::Node(_), Self::Node(_)) => true,
            (Self::Constant(a), Self::Constant(b)) => {
                a == b || (a.role, b.role) == (Role::Count, Role::Count)
            }
            (Self::Sum(a), Self::Sum(b)) if are_quantities(a) && are_quantities(b) => true,
            (Self::Sum(a), Self::Sum(b)) | (Self::Product(a), Self::Product(b)) => each(a, b),
            (Self::Difference(a, c), Self::Difference(b, d))
            | (Self::Quotient(a, c), Self::Quotient(b, d)) => a.is_alike(b) && c.is_alike(d),
            (Self::Negative(a), Self::Negative(b))
            | (Self::Exponential(a), Self::Exponential(b))
            | (Self::Root(a), Self::Root(b)) => a.is_alike(b),
            (Self::Power(a, m), Self::Power(b, n)) => m == n && a.is_alike(b),
            _ => false,
        }
    }

    /// Returns the direct subtrees, from left to right.
    pub(super) fn parts(&self) -> Vec<&Self> {
        match self {
            Self::Node(_) | Self::Constant(_) => Vec::new(),
            Self::Sum(parts) | Self::Product(parts) => parts.iter().collect(),
            Self::Difference(a, b) | Self::Quotient(a, b) => vec![a, b],
            Self::Negative(a) | Self::Power(a, _) | Self::Exponential(a) | Self::Root(a) => vec![a],
        }
    }

    /// Calls `found` for each place of the tree, from left to right, with its quantity, or with those terms of a sum that
    /// are quantities.
    pub(super) fn places(&self, found: &mut impl FnMut(&[NodeId])) {
        let quantity = |tree: &Self| match tree {
            Self::Node(id) => Some(*id),
            _ => None,
        };
        match self {
            Self::Node(id) => found(&[*id]),
            Self::Sum(terms) if are_quantities(terms) => {
                found(&terms.iter().filter_map(quantity).collect::<Vec<_>>());
            }
            _ => self.parts().into_iter().for_each(|part| part.places(found)),
        }
    }

    /// Adds the published coefficients of the tree to `onto`, each once.
    pub(super) fn coefficients<'a>(&'a self, onto: &mut Vec<&'a Constant>) {
        if let Self::Constant(constant) = self
            && constant.role.symbol().is_some()
            && !onto.contains(&constant)
        {
            onto.push(constant);
        }
        for part in self.parts() {
            part.coefficients(onto);
        }
    }

    /// Returns the value, with the quantities' values given.
    pub fn value(&self, of: &impl Fn(NodeId) -> f64) -> f64 {
        match self {
            Self::Node(id) => of(*id),
            Self::Constant(constant) => constant.value,
            Self::Sum(terms) => terms.iter().map(|term| term.value(of)).sum(),
            Self::Difference(a, b) => a.value(of) - b.value(of),
            Self::Product(factors) => factors.iter().map(|factor| factor.value(of)).product(),
            Self::Quotient(a, b) => a.value(of) / b.value(of),
            Self::Negative(a) => -a.value(of),
            Self::Power(a, exponent) => a.value(of).powi(*exponent),
            Self::Exponential(a) => a.value(of).exp(),
            Self::Root(a) => a.value(of).sqrt(),
        }
    }

    /// Adds this tree's partial derivatives, times `weight`, to `onto`: one addend for each mention of a quantity.
    pub(super) fn gradient(
        &self,
        of: &impl Fn(NodeId) -> f64,
        weight: f64,
        onto: &mut Vec<(NodeId, f64)>,
    ) {
        match self {
            Self::Node(id) => onto.push((*id, weight)),
            Self::Constant(_) => {}
            Self::Sum(terms) => {
                for term in terms {
                    term.gradient(of, weight, onto);
                }
            }
            Self::Difference(a, b) => {
                a.gradient(of, weight, onto);
                b.gradient(of, -weight, onto);
            }
            Self::Product(factors) => {
                // The product of the others is formed anew for each factor: dividing it out would fail at zero.
                for (i, factor) in factors.iter().enumerate() {
                    let others: f64 = factors
                        .iter()
                        .enumerate()
                        .filter(|(j, _)| *j != i)
                        .map(|(_, f)| f.value(of))
                        .product();
                    factor.gradient(of, weight * others, onto);
                }
            }
            Self::Quotient(a, b) => {
                let (above, below) = (a.value(of), b.value(of));
                a.gradient(of, weight / below, onto);
                b.gradient(of, -weight * above / (below * below), onto);
            }
            Self::Negative(a) => a.gradient(of, -weight, onto),
            Self::Power(a, exponent) => {
                let slope = f64::from(*exponent) * a.value(of).powi(exponent - 1);
                a.gradient(of, weight * slope, onto);
            }
            Self::Exponential(a) => a.gradient(of, weight * a.value(of).exp(), onto),
            Self::Root(a) => a.gradient(of, weight * 0.5 / a.value(of).sqrt(), onto),
        }
    }
}

/// Returns whether terms are quantities each.
fn are_quantities(terms: &[Expr]) -> bool {
    terms.iter().all(|term| matches!(term, Expr::Node(_)))
}

impl From<NodeId> for Expr {
    fn from(id: NodeId) -> Self {
        Self::Node(id)
    }
}

/// Sums and products of two grow flat where the left side is one already: `a + b + c` is one sum of three.
impl<T: Into<Expr>> Add<T> for Expr {
    type Output = Expr;

    fn add(self, other: T) -> Expr {
        match self {
            Self::Sum(mut terms) => {
                terms.push(other.into());
                Self::Sum(terms)
            }
            first => Self::Sum(vec![first, other.into()]),
        }
    }
}

impl<T: Into<Expr>> Mul<T> for Expr {
    type Output = Expr;

    fn mul(self, other: T) -> Expr {
        match self {
            Self::Product(mut factors) => {
                factors.push(other.into());
                Self::Product(factors)
            }
            first => Self::Product(vec![first, other.into()]),
        }
    }
}

impl<T: Into<Expr>> Sub<T> for Expr {
    type Output = Expr;

    fn sub(self, other: T) -> Expr {
        Self::Difference(Box::new(self), Box::new(other.into()))
    }
}

impl<T: Into<Expr>> Div<T> for Expr {
    type Output = Expr;

    fn div(self, other: T) -> Expr {
        Self::Quotient(Box::new(self), Box::new(other.into()))
    }
}

impl Neg for Expr {
    type Output = Expr;

    fn neg(self) -> Expr {
        Self::Negative(Box::new(self))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_alike_whatever_they_are_taken_over_but_not_with_other_constants() {
        let formula =
            |id, factor| Expr::number(factor) * NodeId(id) + Expr::from(NodeId(1)).power(2);
        assert!(
            formula(0, 2.0).is_alike(&formula(7, 2.0)),
            "other quantities"
        );
        assert!(
            !formula(0, 2.0).is_alike(&formula(0, 3.0)),
            "another factor"
        );
        assert!(
            !formula(0, 2.0).is_alike(&-formula(0, 2.0)),
            "another formula"
        );
        let sum = |count| Expr::Sum((0..count).map(|id| Expr::Node(NodeId(id))).collect());
        assert!(sum(1).is_alike(&sum(4)), "a sum of any number");
        let mean = |count| Expr::mean((0..count).map(|id| Expr::Node(NodeId(id))).collect());
        assert!(mean(3).is_alike(&mean(4)), "and a mean of any number");
        let mut places = Vec::new();
        (mean(2) * formula(3, 2.0)).places(&mut |ids| places.push(ids.to_vec()));
        let expected: [&[NodeId]; 3] = [&[NodeId(0), NodeId(1)], &[NodeId(3)], &[NodeId(1)]];
        assert_eq!(places, expected, "in their order");
    }
}
