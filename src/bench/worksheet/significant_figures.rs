//! Significant figures by the classroom's rules, followed through the formulas. Nothing is rounded on the way.
//!
//! A reading has the digits it was written with, trailing zeros among them; a published value, likewise. A sum or
//! difference is good to the decimal place of its coarsest term; a product, quotient, power or root has as many
//! figures as its poorest factor (Flowers et al., Chemistry 2e, section 1.5). Constants of formulas, counts and inputs
//! that are exact by definition limit nothing, and neither do the unknown errors of instruments.
//!
//! Where the textbooks are silent or differ, by common practice, no source:
//! - the mean of replicates keeps their decimal place, however many they are;
//! - an exponential has as many figures as its exponent has decimals, at least one, as an antilogarithm has as many as
//!   the decimals of the logarithm;
//! - a coefficient solved for has as many figures as the poorest ordinate of its points.

use std::collections::BTreeSet;

use super::{Expr, Input, NodeId, Source, Worksheet};
use crate::bench::quantity::{Written, rounding::first_place};

/// The place of the last significant digit of every quantity of a worksheet.
#[derive(Debug, Clone, PartialEq)]
pub struct LastPlaces {
    places: Vec<Option<i32>>,
}

impl LastPlaces {
    /// Power of ten of the quantity's last significant digit; `None` for an exact number.
    pub fn last_place(&self, id: NodeId) -> Option<i32> {
        self.places.get(id.0).copied().flatten()
    }
}

/// The place of an unknown error, which is zero: finer than none.
const NO_DIGITS: i32 = i32::MAX;

/// A value and its last significant place; none for an exact one.
#[derive(Debug, Clone, Copy)]
struct Known {
    value: f64,
    last: Option<i32>,
}

impl Known {
    fn exact(value: f64) -> Self {
        Self { value, last: None }
    }

    /// Returns a value good to so many figures, `zero` being the place of the first figure where the value is zero.
    fn with_figures(value: f64, figures: i32, zero: i32) -> Self {
        let first = magnitude(value).unwrap_or(zero);
        let last = first.saturating_add(1).saturating_sub(figures);
        // 0.0996 to two figures is 0.10: the carry takes the last figure's place with it.
        let carried = first_place(value, last).is_some_and(|rounded| rounded > first.max(last));
        Self {
            value,
            last: Some(if carried { last + 1 } else { last }),
        }
    }

    /// Significant figures, as counted when it is written; of a value that rounds to nothing, none or fewer, so that
    /// nothing calculated from it gains a digit. `None` for an exact number.
    fn figures(self) -> Option<i32> {
        let last = self.last?;
        let first = first_place(self.value, last)
            .or(magnitude(self.value))
            .unwrap_or(last);
        Some(first.saturating_add(1).saturating_sub(last))
    }

    /// Returns the place of the first figure; for zero, of its last.
    fn first(self) -> i32 {
        magnitude(self.value).or(self.last).unwrap_or(0)
    }
}

/// Power of ten of a value's first digit; `None` for zero and for what is not finite.
fn magnitude(value: f64) -> Option<i32> {
    // The last place of the shortest decimal that names a finite value is at least 10⁻³⁴³.
    first_place(value, -343)
}

impl Worksheet {
    /// Returns the last significant place of every quantity, by the rules at the head of this module's source.
    pub fn last_places(&self) -> LastPlaces {
        let mut places = Vec::with_capacity(self.nodes.len());
        for node in &self.nodes {
            let place = match &node.source {
                Source::Input(input) => of_input(input, node.value),
                Source::Calculated(formula) => self.known(&self.shown_form(formula), &places).last,
                Source::Neglected(_) | Source::Correction(_) => None,
                Source::Solved(solved) => {
                    let ordinates = solved.solution.points.iter();
                    let figures = ordinates
                        .filter_map(|(_, y)| self.as_seen(*y, &places).figures())
                        .min();
                    figures.and_then(|figures| Known::with_figures(node.value, figures, 0).last)
                }
            };
            places.push(place.filter(|_| node.value.is_finite()));
        }
        LastPlaces { places }
    }

    /// Power of ten of the last digit read: of a reading, or the coarsest of those that a quantity is calculated from;
    /// `None` if there is no reading among them.
    pub fn last_place_read(&self, id: NodeId) -> Option<i32> {
        // Estimates of what is neglected are not calculated with.
        let (mut waiting, mut seen) = (vec![id], BTreeSet::new());
        let mut coarsest = None;
        while let Some(id) = waiting.pop() {
            if let Source::Input(input) = &self.node(id).source {
                coarsest = coarsest.max(of_input(input, self.value(id)));
            }
            waiting.extend(self.leading_to(id).filter(|earlier| seen.insert(*earlier)));
        }
        coarsest
    }

    /// Power of ten of the last digit of a quantity that has no more: a reading with its digits, or sums and differences
    /// of such and of constants; unknown errors have none. `None` for any other quantity.
    pub fn exact_place(&self, id: NodeId) -> Option<i32> {
        self.node(id)
            .exact_place
            .filter(|place| *place != NO_DIGITS)
    }

    /// Returns the same of a quantity about to enter; [`NO_DIGITS`] for an unknown error.
    pub(super) fn place_of_source(&self, source: &Source) -> Option<i32> {
        match source {
            Source::Input(input) if input.unseen => Some(NO_DIGITS),
            Source::Input(input) => Some(Written::parse(input.digits.as_ref()?).ok()?.last_place),
            Source::Calculated(formula) if self.neglects(formula) => {
                self.place_of_tree(&self.shown_form(formula))
            }
            Source::Calculated(formula) => self.place_of_tree(formula),
            Source::Neglected(_) => Some(NO_DIGITS),
            Source::Solved(_) | Source::Correction(_) => None,
        }
    }

    fn place_of_tree(&self, tree: &Expr) -> Option<i32> {
        let finest = |parts: &mut dyn Iterator<Item = &Expr>| {
            parts
                .map(|part| self.place_of_tree(part))
                .try_fold(NO_DIGITS, |finest, place| Some(finest.min(place?)))
        };
        match tree {
            Expr::Node(id) => self.node(*id).exact_place,
            Expr::Constant(constant) => Some(Written::parse(&constant.text()).ok()?.last_place),
            Expr::Sum(terms) => finest(&mut terms.iter()),
            Expr::Difference(a, b) => finest(&mut [&**a, &**b].into_iter()),
            Expr::Negative(a) => self.place_of_tree(a),
            Expr::Product(factors) => factors
                .iter()
                .any(|factor| self.place_of_tree(factor) == Some(NO_DIGITS))
                .then_some(NO_DIGITS),
            Expr::Quotient(..) | Expr::Power(..) | Expr::Exponential(_) | Expr::Root(_) => None,
        }
    }

    fn as_seen(&self, id: NodeId, places: &[Option<i32>]) -> Known {
        Known {
            value: self.value(id),
            last: places.get(id.0).copied().flatten(),
        }
    }

    /// Returns a tree's value and last place, from those of earlier quantities.
    fn known(&self, tree: &Expr, places: &[Option<i32>]) -> Known {
        let value = tree.value(&|id| self.value(id));
        let known = |part: &Expr| self.known(part, places);
        let coarsest = |parts: &[Known]| parts.iter().filter_map(|part| part.last).max();
        match tree {
            Expr::Node(id) => self.as_seen(*id, places),
            Expr::Constant(_) | Expr::Power(_, 0) => Known::exact(value),
            Expr::Sum(terms) => {
                let terms: Vec<Known> = terms.iter().map(known).collect();
                Known {
                    value,
                    last: coarsest(&terms),
                }
            }
            Expr::Difference(a, b) => Known {
                value,
                last: coarsest(&[known(a), known(b)]),
            },
            Expr::Product(factors) => {
                let factors: Vec<Known> = factors.iter().map(known).collect();
                if factors
                    .iter()
                    .any(|factor| factor.value == 0.0 && factor.last.is_none())
                {
                    return Known::exact(value);
                }
                let zero = factors.iter().map(|factor| factor.first()).sum();
                poorest(value, &factors, zero)
            }
            Expr::Quotient(a, b) => match (&**a, &**b) {
                // A mean.
                (Expr::Sum(terms), Expr::Constant(count)) if is_count(count.value, terms.len()) => {
                    Known {
                        value,
                        last: known(a).last,
                    }
                }
                _ => {
                    let (a, b) = (known(a), known(b));
                    if a.value == 0.0 && a.last.is_none() {
                        return Known::exact(value);
                    }
                    poorest(value, &[a, b], a.first() - b.first())
                }
            },
            Expr::Negative(a) => Known { value, ..known(a) },
            Expr::Power(a, exponent) => {
                let a = known(a);
                poorest(value, &[a], a.first().saturating_mul(*exponent))
            }
            Expr::Root(a) => {
                let a = known(a);
                poorest(value, &[a], a.first().div_euclid(2))
            }
            Expr::Exponential(a) => match known(a).last {
                Some(last) => Known::with_figures(value, (-last).max(1), 0),
                None => Known::exact(value),
            },
        }
    }
}

/// Returns whether a constant is this count.
fn is_count(constant: f64, count: usize) -> bool {
    (constant - count as f64).abs() < f64::EPSILON
}

/// Returns a value with as many figures as its poorest part.
fn poorest(value: f64, parts: &[Known], zero: i32) -> Known {
    match parts.iter().filter_map(|part| part.figures()).min() {
        Some(figures) => Known::with_figures(value, figures, zero),
        None => Known::exact(value),
    }
}

/// Returns the last place of an input; `None` for an unknown error, and for what is exact: neither read nor in error.
fn of_input(input: &Input, value: f64) -> Option<i32> {
    if input.unseen || (input.origin.is_empty() && input.components.is_empty()) {
        return None;
    }
    match (&input.digits, input.figures) {
        (Some(digits), _) => Written::parse(digits)
            .ok()
            .map(|written| written.last_place),
        // A zero written in another unit: one figure, of unknown place; taken as the units'.
        (None, Some(figures)) => Known::with_figures(value, i32::try_from(figures).ok()?, 0).last,
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::quantity::Unit;
    use crate::bench::quantity::rounding::to_place;
    use crate::bench::worksheet::{Component, Solution, Solved, Title};
    use std::sync::Arc;

    fn reading(ws: &mut Worksheet, digits: &str) -> NodeId {
        let input = Input {
            origin: digits.into(),
            digits: Some(digits.into()),
            components: vec![Component::normal("stated", 0.001)],
            ..Input::default()
        };
        ws.input(
            Title::new("x", "x", &Unit::ONE),
            digits.parse().unwrap(),
            input,
        )
    }

    /// Returns the result as written to its last significant place.
    fn written(ws: &mut Worksheet, formula: Expr) -> String {
        let id = ws.calculate(Title::new("y", "y", &Unit::ONE), formula);
        let last = ws.last_places().last_place(id);
        last.map_or("exact".into(), |last| to_place(ws.value(id), last).unwrap())
    }

    #[test]
    fn a_density_loses_figures_in_the_difference_first() {
        let mut ws = Worksheet::new();
        let [filled, empty, volume] = ["42.510", "42.104", "10.00"].map(|d| reading(&mut ws, d));
        let error = Input {
            unseen: true,
            components: vec![Component::normal("tolerance", 0.1)],
            ..Input::default()
        };
        let error = ws.input(Title::new("e", "e", &Unit::ONE), 0.0, error);
        let net = Expr::from(filled) - empty;
        assert_eq!(
            written(&mut ws, net / (Expr::from(volume) + error)),
            "0.0406"
        );
    }

    #[test]
    fn rules_one_by_one() {
        let mut ws = Worksheet::new();
        let [a, b, c, zero] = ["9.6", "0.4", "2.50", "0.0"].map(|d| reading(&mut ws, d));
        for (formula, text) in [
            (Expr::from(c) * Expr::number(3.0), "7.50"),
            // The sum is 10.0, three figures, and so is the quotient.
            ((Expr::from(a) + b) / c, "4.00"),
            (
                Expr::mean(vec![a.into(), a.into(), a.into(), b.into()]),
                "7.3",
            ),
            (Expr::from(c).power(2), "6.25"),
            (Expr::from(a).root(), "3.1"),
            (Expr::from(c).exponential(), "12"),
            (Expr::from(zero) * c, "0.0"),
            (Expr::number(0.0) * c, "exact"),
            (Expr::from(a).power(0), "exact"),
            // Rounds to nothing; dividing does not bring digits back.
            ((Expr::from(a) - a) / c, "0.0"),
        ] {
            assert_eq!(written(&mut ws, formula.clone()), text, "{formula:?}");
        }
    }

    #[test]
    fn a_value_read_in_another_unit_keeps_its_figures() {
        let mut ws = Worksheet::new();
        let input = Input {
            origin: "made_up".into(),
            figures: Some(3),
            ..Input::default()
        };
        let id = ws.input(Title::new("V", "V", &Unit::MILLILITRE), 250.0, input);
        assert_eq!(ws.last_places().last_place(id), Some(0));
    }

    #[test]
    fn coefficients_have_the_figures_of_the_poorest_ordinate() {
        let mut ws = Worksheet::new();
        let points: Vec<(NodeId, NodeId)> = [("1.00", "0.9982"), ("2.00", "1.13")]
            .map(|(x, y)| (reading(&mut ws, x), reading(&mut ws, y)))
            .into();
        let solution = Arc::new(Solution {
            points,
            count: 1,
            again: Arc::new(|_, _, _| {}),
        });
        let id = ws.solved(
            Title::new("b", "b", &Unit::ONE),
            0.131_81,
            Vec::new(),
            Solved {
                solution,
                coefficient: 0,
            },
        );
        assert_eq!(ws.last_places().last_place(id), Some(-3));
    }
}
