//! Formulas as they are shown: without unknown errors, and without what is neglected.
//!
//! Both stand for zero. They are put into the formula as zero, and what is then without effect (a term 0, a factor 1) is
//! left out, so that a formula that corrects nothing is shown as one that has no correction. Factors between units are 1:
//! every number of an equation between quantities has its unit.

use super::expression::Role;
use super::{Constant, Expr, NodeId, Source, Worksheet};

impl Worksheet {
    /// Returns the quantities of a calculated quantity's equation as it is shown, by place: one, or the terms of a sum
    /// that are of one kind. A quantity that stands in several places is listed at the first.
    pub fn places(&self, id: NodeId) -> Vec<Vec<NodeId>> {
        let mut places: Vec<Vec<NodeId>> = Vec::new();
        if let Source::Calculated(formula) = &self.node(id).source {
            self.shown_form(formula).places(&mut |ids| {
                let mut here: Vec<Vec<NodeId>> = Vec::new();
                for id in ids
                    .iter()
                    .filter(|id| !places.iter().flatten().any(|p| p == *id))
                {
                    let symbol = &self.node(*id).symbol;
                    match here
                        .iter_mut()
                        .find(|p| self.node(p[0]).symbol.is_of_kind(symbol))
                    {
                        Some(place) => place.push(*id),
                        None => here.push(vec![*id]),
                    }
                }
                places.extend(here);
            });
        }
        places
    }

    /// Returns the published coefficients of a calculated quantity's equation as it is shown, each once.
    pub fn coefficients(&self, id: NodeId) -> Vec<&Constant> {
        let mut found = Vec::new();
        if let Source::Calculated(formula) = &self.node(id).source {
            formula.coefficients(&mut found);
        }
        found
    }

    /// Returns a calculated quantity's equation as it is shown.
    pub fn shown_formula(&self, id: NodeId) -> Option<Expr> {
        match &self.node(id).source {
            Source::Calculated(formula) => Some(self.shown_form(formula)),
            _ => None,
        }
    }

    /// Returns whether a calculated quantity is one other quantity but for what is unseen, so that its calculation
    /// shows nothing.
    pub fn is_reading(&self, id: NodeId) -> bool {
        match &self.node(id).source {
            Source::Calculated(formula) => matches!(self.shown_form(formula), Expr::Node(_)),
            _ => false,
        }
    }

    /// Returns the quantities that a quantity's calculation, as it is shown, goes by; of what is neglected, none.
    pub fn leading_to(&self, id: NodeId) -> impl Iterator<Item = NodeId> + '_ {
        let shown = !self.is_unseen(id);
        self.dependencies(id).filter(move |_| shown)
    }

    fn is_unseen(&self, id: NodeId) -> bool {
        match &self.node(id).source {
            Source::Input(input) => input.unseen,
            Source::Neglected(_) => true,
            Source::Calculated(_) | Source::Solved(_) | Source::Correction(_) => false,
        }
    }

    /// Returns whether a formula names something neglected.
    pub(super) fn neglects(&self, tree: &Expr) -> bool {
        match tree {
            Expr::Node(id) => matches!(self.node(*id).source, Source::Neglected(_)),
            _ => tree.parts().into_iter().any(|part| self.neglects(part)),
        }
    }

    /// Returns a formula as it is shown.
    pub(super) fn shown_form(&self, tree: &Expr) -> Expr {
        let seen = |part: &Expr| self.shown_form(part);
        let boxed = |part: Expr| Box::new(part);
        match tree {
            Expr::Node(id) if self.is_unseen(*id) => Expr::number(0.0),
            Expr::Constant(Constant {
                role: Role::Conversion(_),
                ..
            }) => Expr::number(1.0),
            Expr::Node(_) | Expr::Constant(_) => tree.clone(),
            Expr::Sum(terms) => of_several(terms.iter().map(seen), terms.len(), 0.0, Expr::Sum),
            Expr::Difference(a, b) => match (seen(a), seen(b)) {
                (a, b) if is(&b, 0.0) => a,
                (a, b) if is(&a, 0.0) => Expr::Negative(boxed(b)),
                (a, b) => Expr::Difference(boxed(a), boxed(b)),
            },
            Expr::Product(factors) => {
                let seen: Vec<Expr> = factors.iter().map(seen).collect();
                if seen.iter().any(|factor| is(factor, 0.0)) {
                    return Expr::number(0.0);
                }
                of_several(seen.into_iter(), factors.len(), 1.0, Expr::Product)
            }
            Expr::Quotient(a, b) => match (seen(a), seen(b)) {
                (a, _) if is(&a, 0.0) => a,
                (a, b) if is(&b, 1.0) => a,
                (a, b) => Expr::Quotient(boxed(a), boxed(b)),
            },
            Expr::Negative(a) => match seen(a) {
                a if is(&a, 0.0) => a,
                a => Expr::Negative(boxed(a)),
            },
            Expr::Power(a, exponent) => Expr::Power(boxed(seen(a)), *exponent),
            Expr::Exponential(a) => Expr::Exponential(boxed(seen(a))),
            Expr::Root(a) => Expr::Root(boxed(seen(a))),
        }
    }
}

/// Returns whether a tree is this number and no more.
fn is(tree: &Expr, number: f64) -> bool {
    matches!(tree, Expr::Constant(c) if c.role == Role::Plain && c.unit.symbol.is_empty() && c.value.to_bits() == number.to_bits())
}

/// Returns a sum or a product of the parts that are not `idle`; one part alone of several stands without it.
fn of_several(
    parts: impl Iterator<Item = Expr>,
    count: usize,
    idle: f64,
    whole: impl Fn(Vec<Expr>) -> Expr,
) -> Expr {
    let mut left: Vec<Expr> = parts.filter(|part| !is(part, idle)).collect();
    match (left.len(), left.pop()) {
        (_, None) => Expr::number(idle),
        (1, Some(only)) if count > 1 => only,
        (_, Some(last)) => {
            left.push(last);
            whole(left)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Component, Input, Title};
    use super::*;
    use crate::bench::quantity::Unit;

    #[test]
    fn what_is_neglected_leaves_no_trace_in_a_formula() {
        let mut ws = Worksheet::new();
        let mut input = |name: &str, value, unseen| {
            let components = vec![Component::normal("stated", 0.01)];
            let input = Input {
                components,
                unseen,
                ..Input::default()
            };
            ws.input(Title::new(name, name, &Unit::ONE), value, input)
        };
        let [reading, volume, weights, air] =
            [("R", 10.0), ("V", 10.0), ("w", 8.0), ("a", 0.0012)].map(|(n, v)| input(n, v, false));
        let error = input("e", 0.0, true);
        let air = ws.neglect(Title::new("air", "a'", &Unit::ONE), air);
        let left = || Expr::number(1.0) - Expr::from(air) / weights;
        let shown = |ws: &mut Worksheet, formula: Expr| {
            let id = ws.calculate(Title::new("y", "y", &Unit::ONE), formula);
            (ws.with_symbols(id).tex(), ws.value(id))
        };
        let density = Expr::from(reading) * left() / (Expr::from(volume) + error);
        assert_eq!(
            shown(&mut ws, Expr::Sum(vec![density, air.into()])),
            ("\\frac{R}{V}".to_owned(), 1.0)
        );
        let mass = Expr::from(reading) * left() / left();
        assert_eq!(shown(&mut ws, mass.clone()), ("R".to_owned(), 10.0));
        let id = ws.calculate(Title::new("m", "m", &Unit::ONE), mass);
        assert!(ws.is_reading(id), "nothing is left of the correction");
        assert_eq!(ws.places(id), [[reading]]);
        // Sums that a formula has as such stay what they are.
        let sum = Expr::Sum(vec![reading.into()]);
        assert_eq!(ws.shown_form(&sum), sum);
    }

    #[test]
    fn what_is_neglected_is_a_bias_with_its_sign_and_cancels_where_it_is_shared() {
        let mut ws = Worksheet::new();
        let components = vec![Component::normal("not measured", 0.000_05)];
        let input = Input {
            components,
            ..Input::default()
        };
        let estimate = ws.input(Title::new("air", "a", &Unit::ONE), 0.0012, input);
        let air = ws.neglect(Title::new("air", "a'", &Unit::ONE), estimate);
        let [up, down, apart] = [
            Expr::number(1.0) + air,
            Expr::number(2.0) * (Expr::number(3.0) - air),
            (Expr::number(1.0) + air) - (Expr::number(2.0) + air),
        ]
        .map(|formula| ws.calculate(Title::new("y", "y", &Unit::ONE), formula));
        let of = |id| ws.uncertainty(id);
        assert!((ws.value(up) - 1.0).abs() < 1e-15, "not corrected");
        assert!((of(up).bias - 0.0012).abs() < 1e-15, "{:?}", of(up));
        assert!(
            (of(up).standard - 0.000_05).abs() < 1e-15,
            "of the estimate"
        );
        assert!((of(down).bias + 0.0024).abs() < 1e-15, "{:?}", of(down));
        assert_eq!((of(apart).bias, of(apart).standard), (0.0, 0.0), "cancels");
        assert_eq!(ws.neglected(up), [(air, of(up).bias)]);
    }
}
