//! Formulas as they are set: with symbols, with numbers, and the result.
//!
//! A result is written to one digit more than the two of its standard uncertainty. A value that is calculated with has as
//! many digits as matter to the result: one more than two digits of its tolerance. Numbers carry their units, so that
//! formulas are equations between quantities (ISO 80000-1) without factors between units; [`Expr::conversion`] is what a
//! calculation with plain numbers needs besides.

use super::{Constant, Expr, Input, NodeId, Role, Source, Worksheet};
use crate::bench::quantity::rounding::{printed, shift_point, without_last_zeros};
use crate::maths::{Math, THIN};

/// Guard digits beyond the two significant digits of a standard uncertainty, so that a calculation by hand from printed
/// numbers reproduces the next printed result.
const GUARD_DIGITS: i32 = 1;

/// Significant digits of a calculated value that has no uncertainty.
const EXACT_DIGITS: i32 = 10;

/// A sum of more terms over a count is written `1/n (…)`, which can be broken, instead of as one fraction.
const LONGEST_FRACTION: usize = 4;

/// How tightly a tree holds together; a looser tree inside a tighter place needs parentheses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Precedence {
    /// A sum that begins with a sign.
    Signed,
    Sum,
    Product,
    Atom,
}

/// How quantities are written in a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Symbols,
    /// Numbers with their units; published coefficients by their symbols.
    Numbers,
}

impl Worksheet {
    /// Returns the right side of a calculated quantity's equation with symbols; its own symbol for an input.
    pub fn with_symbols(&self, id: NodeId) -> Math {
        match &self.node(id).source {
            Source::Calculated(formula) => {
                self.set(&self.shown_form(formula), Form::Symbols, true).0
            }
            _ => self.node(id).symbol.whole(),
        }
    }

    /// Returns the right side of a calculated quantity's equation with numbers; its value for an input.
    pub fn with_numbers(&self, id: NodeId) -> Math {
        match &self.node(id).source {
            Source::Calculated(formula) => {
                self.set(&self.shown_form(formula), Form::Numbers, true).0
            }
            _ => self.with_unit(id),
        }
    }

    /// Returns the quantity's value and unit as a result: an input's digits as written; a calculated value with one
    /// digit more than two digits of its standard uncertainty or of its tolerance need; a sum of readings with no more
    /// decimals than these have.
    pub fn with_unit(&self, id: NodeId) -> Math {
        let known = self.uncertainty(self.known_as(id)).standard;
        let known = if known > 0.0 { known } else { f64::INFINITY };
        let digits = self.decimal(id, known.min(self.tolerance(id)));
        Math::quantity(&digits, self.shown_in(id).unit.symbol)
    }

    /// Returns the value as a result, in plain text, without unit.
    pub fn printed(&self, id: NodeId) -> String {
        let known = self.uncertainty(self.known_as(id)).standard;
        let known = if known > 0.0 { known } else { f64::INFINITY };
        printed(&self.decimal(id, known.min(self.tolerance(id))))
    }

    /// Returns the value as an input quantity, in plain text, without unit, with the digits that matter for the
    /// calculations.
    pub fn printed_in(&self, id: NodeId) -> String {
        printed(&self.decimal(id, self.tolerance(id)))
    }

    /// Returns the quantity whose digits this one has: a correction has those of the quantity that it corrects.
    fn known_as(&self, id: NodeId) -> NodeId {
        match self.node(id).source {
            Source::Correction(of) => of,
            _ => id,
        }
    }

    /// Returns the tolerance of a value: the standard uncertainty that would by itself cause that of a result
    /// calculated directly from it; the smallest over such results. Infinite if nothing is calculated from it.
    fn tolerance(&self, id: NodeId) -> f64 {
        let all = self.tolerances.0.get_or_init(|| {
            let mut all = vec![f64::INFINITY; self.nodes.len()];
            // Whether a quantity is used at all, and by a quantity that is shown.
            let mut goes_on = vec![(false, false); self.nodes.len()];
            for (at, node) in self.nodes.iter().enumerate().rev() {
                let shown = match node.source {
                    Source::Neglected(_) => false,
                    _ => goes_on[at] != (true, false),
                };
                let of = match node.source {
                    Source::Calculated(_) | Source::Solved(_) if shown => {
                        self.uncertainty(NodeId(at)).standard
                    }
                    _ => 0.0,
                };
                for (earlier, partial) in &node.partials {
                    goes_on[earlier.0].0 = true;
                    goes_on[earlier.0].1 |= shown;
                    let asked = of / partial.abs();
                    if asked > 0.0 && asked < all[earlier.0] {
                        all[earlier.0] = asked;
                    }
                }
            }
            all
        });
        all[id.0]
    }

    /// Returns a value in the unit shown, in Rust's notation, `1.2e-3` if it was written so, with digits enough for the
    /// uncertainty `beside` it.
    fn decimal(&self, id: NodeId, beside: f64) -> String {
        let node = self.node(id);
        let decimal = match &node.source {
            Source::Input(Input {
                digits: Some(written),
                ..
            }) => written.to_string(),
            Source::Input(_) => exact(node.value),
            _ => {
                let guarded = (beside > 0.0 && beside.is_finite())
                    .then(|| beside.log10().floor() as i32 - 1 - GUARD_DIGITS);
                // A sum of readings has no digit beyond theirs.
                match (guarded, self.exact_place(id)) {
                    (Some(guarded), Some(last)) => fixed(node.value, guarded.max(last)),
                    (Some(place), None) | (None, Some(place)) => fixed(node.value, place),
                    (None, None) => exact(node.value),
                }
            }
        };
        shift_point(decimal, self.shown_in(id).power)
    }

    /// Sets a tree; `outermost` allows breaks between the terms or factors of a long line.
    fn set(&self, tree: &Expr, form: Form, outermost: bool) -> (Math, Precedence) {
        match tree {
            Expr::Node(id) => match form {
                Form::Symbols => (self.node(*id).symbol.whole(), Precedence::Atom),
                Form::Numbers => set_number(
                    &self.decimal(*id, self.tolerance(*id)),
                    self.shown_in(*id).unit.symbol,
                ),
            },
            Expr::Constant(constant) => self.set_constant(constant, form),
            Expr::Sum(terms) => self.set_sum(terms, form, outermost),
            Expr::Difference(a, b) => {
                let (left, hold) = self.set(a, form, false);
                let whole = left.then(pause(outermost)).then(self.added(b, form, true));
                (whole, hold.min(Precedence::Sum))
            }
            Expr::Product(factors) => self.set_product(factors, form, outermost),
            Expr::Quotient(a, b) => {
                let below = self.set(b, form, false).0;
                match &**a {
                    Expr::Sum(terms) if terms.len() > LONGEST_FRACTION => {
                        let above = self.set(a, form, outermost).0;
                        let share = Math::fraction(Math::Number("1".into()), below);
                        (share.applied_to(above), Precedence::Product)
                    }
                    _ => {
                        let above = self.set(a, form, false).0;
                        (Math::fraction(above, below), Precedence::Atom)
                    }
                }
            }
            Expr::Negative(a) => {
                let right = self.within(a, form, Precedence::Product);
                let whole = Math::row([Math::operator("−")]).then(right.into_parts());
                (whole, Precedence::Signed)
            }
            Expr::Power(a, exponent) => {
                let (mut base, hold) = self.set(a, form, false);
                // A number with its unit, and a fraction, are raised as a whole only inside parentheses.
                let whole = match &**a {
                    Expr::Node(_) => form == Form::Symbols,
                    Expr::Quotient(..) => false,
                    _ => true,
                };
                if hold != Precedence::Atom || !whole {
                    base = base.parenthesised();
                }
                let exponent = Math::number(&exponent.to_string());
                (base.power(exponent), Precedence::Atom)
            }
            Expr::Exponential(a) => {
                let argument = self.set(a, form, false).0.parenthesised();
                let whole = [Math::Function("exp".into()), argument];
                (Math::row(whole), Precedence::Product)
            }
            Expr::Root(a) => (self.set(a, form, false).0.root(), Precedence::Atom),
        }
    }

    fn set_sum(&self, terms: &[Expr], form: Form, outermost: bool) -> (Math, Precedence) {
        if let (Form::Numbers, Some((times, id))) = (form, self.repeated(terms)) {
            let one = self.set(&Expr::Node(id), form, false).0;
            let whole = Math::number(&times.to_string()).then([Math::operator("×")]);
            return (whole.then(one.into_parts()), Precedence::Product);
        }
        let (first, rest) = match terms {
            [] => return set_number("0", ""),
            [only] => return self.set(only, form, outermost),
            [first, rest @ ..] => (first, rest),
        };
        let (first, hold) = self.set(first, form, false);
        let rest = rest.iter().flat_map(|term| {
            let term = match term {
                Expr::Negative(a) => self.added(a, form, true),
                term => self.added(term, form, false),
            };
            pause(outermost).chain(term)
        });
        (first.then(rest), hold.min(Precedence::Sum))
    }

    /// Returns the number of terms of a sum of equal readings, and the first of them.
    fn repeated(&self, terms: &[Expr]) -> Option<(usize, NodeId)> {
        let mut all = terms.iter().map(|term| match term {
            Expr::Node(id) => Some(*id),
            _ => None,
        });
        let first = all.next()??;
        let value = |id: NodeId| {
            (
                self.decimal(id, self.tolerance(id)),
                self.node(id).unit.symbol,
            )
        };
        let same = all.all(|id| id.is_some_and(|id| value(id) == value(first)));
        (same && terms.len() > 1).then_some((terms.len(), first))
    }

    /// Returns a term with its sign, to follow others; a negative number is subtracted.
    fn added(&self, term: &Expr, form: Form, taken: bool) -> Vec<Math> {
        let (set, hold) = self.set(term, form, false);
        let place = if taken {
            Precedence::Product
        } else {
            Precedence::Sum
        };
        let (set, taken) = match (hold, set) {
            (Precedence::Signed, Math::Row(mut parts))
                if is_minus(parts.first())
                    && !matches!(term, Expr::Sum(_) | Expr::Difference(..)) =>
            {
                parts.remove(0);
                (Math::row(parts), !taken)
            }
            (hold, set) if hold < place => (set.parenthesised(), taken),
            (_, set) => (set, taken),
        };
        let mut parts = vec![Math::operator(if taken { "−" } else { "+" })];
        parts.extend(set.into_parts());
        parts
    }

    fn set_product(&self, factors: &[Expr], form: Form, outermost: bool) -> (Math, Precedence) {
        // A number is never left to be multiplied by mere juxtaposition.
        let plain =
            |factor: &Expr| matches!(factor, Expr::Constant(c) if c.role.symbol().is_none());
        let mut parts = Vec::new();
        let mut whole = Precedence::Product;
        for (i, factor) in factors.iter().enumerate() {
            if i > 0 {
                parts.extend(pause(outermost));
                parts.push(match form {
                    Form::Symbols if !plain(factor) && !plain(&factors[i - 1]) => THIN,
                    _ => Math::operator("×"),
                });
            }
            let set = match factor {
                // One that is written as a product may be broken as one.
                Expr::Quotient(..) => self.set(factor, form, outermost).0,
                Expr::Node(_) if i == 0 => {
                    let (set, hold) = self.set(factor, form, false);
                    whole = whole.min(hold);
                    set
                }
                _ => self.within(factor, form, Precedence::Product),
            };
            parts.extend(set.into_parts());
        }
        (Math::row(parts), whole)
    }

    fn set_constant(&self, constant: &Constant, form: Form) -> (Math, Precedence) {
        match (form, constant.role) {
            (_, Role::Coefficient(symbol) | Role::Renamed(&[symbol, _])) => {
                (Math::from(symbol), Precedence::Atom)
            }
            (Form::Symbols, Role::Count) => (Math::Variable('n'), Precedence::Atom),
            _ => {
                let shown = self.density_unit.show(constant.unit);
                set_number(
                    &shift_point(constant.text(), shown.power),
                    shown.unit.symbol,
                )
            }
        }
    }

    /// Sets a tree in a place that holds at least so tightly.
    fn within(&self, tree: &Expr, form: Form, place: Precedence) -> Math {
        let (set, hold) = self.set(tree, form, false);
        if hold < place {
            set.parenthesised()
        } else {
            set
        }
    }
}

/// Returns where a long line may be broken, if it is the outermost.
fn pause(outermost: bool) -> impl Iterator<Item = Math> {
    outermost.then_some(Math::Break).into_iter()
}

/// Returns whether a part is a minus sign.
fn is_minus(part: Option<&Math>) -> bool {
    part == Some(&Math::operator("−"))
}

/// Returns a number with its unit; one with a sign holds together as a sum, one with a power of ten as a product.
fn set_number(digits: &str, unit: &str) -> (Math, Precedence) {
    let set = Math::quantity(digits, unit);
    let hold = match set.parts() {
        [first, ..] if is_minus(Some(first)) => Precedence::Signed,
        parts if parts.contains(&Math::operator("×")) => Precedence::Product,
        _ => Precedence::Atom,
    };
    (set, hold)
}

/// Returns a number's digits with its last one at a power of ten.
fn fixed(value: f64, last_place: i32) -> String {
    if last_place <= 0 {
        let text = format!("{value:.*}", last_place.unsigned_abs() as usize);
        // A negative number that rounds to nothing has no sign.
        match text.strip_prefix('-') {
            Some(zero) if zero.bytes().all(|b| matches!(b, b'0' | b'.')) => zero.to_owned(),
            _ => text,
        }
    } else {
        let step = 10f64.powi(last_place);
        format!("{}", (value / step).round() * step)
    }
}

/// Returns a number without uncertainty, in as many digits as it needs up to [`EXACT_DIGITS`].
fn exact(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let place = value.abs().log10().floor() as i32 - EXACT_DIGITS + 1;
    without_last_zeros(&fixed(value, place)).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::quantity::Unit;
    use crate::bench::worksheet::{Component, Input, Title};

    fn reading(ws: &mut Worksheet, symbol: &str, digits: &str, unit: &'static Unit) -> NodeId {
        let input = Input {
            digits: Some(digits.into()),
            components: vec![Component::normal("stated", 0.001)],
            ..Input::default()
        };
        ws.input(
            Title::new(symbol, symbol, unit),
            digits.parse().unwrap(),
            input,
        )
    }

    #[test]
    fn a_density_shows_its_readings_and_hides_the_pipettes_error() {
        let mut ws = Worksheet::new();
        let filled = reading(&mut ws, "m_2", "42.510", &Unit::GRAM);
        let empty = reading(&mut ws, "m_1", "31.204", &Unit::GRAM);
        let volume = reading(&mut ws, "V", "10.00", &Unit::MILLILITRE);
        let error = Input {
            unseen: true,
            components: vec![Component::normal("tolerance", 0.01)],
            ..Input::default()
        };
        let error = ws.input(Title::new("error", "e", &Unit::MILLILITRE), 0.0, error);
        let rho = ws.calculate(
            Title::new("density", "ρ", &Unit::GRAM_PER_MILLILITRE),
            (Expr::from(filled) - empty) / (Expr::from(volume) + error),
        );
        assert_eq!(ws.with_symbols(rho).tex(), "\\frac{m_2 - m_1}{V}");
        assert_eq!(
            ws.with_numbers(rho).tex(),
            "\\frac{42.510\\,\\mathrm{g} - 31.204\\,\\mathrm{g}}{10.00\\,\\mathrm{mL}}"
        );
        assert_eq!(ws.with_unit(rho).tex(), "1.13060\\,\\mathrm{g/mL}");
    }

    #[test]
    fn many_deliveries_can_be_broken_over_lines() {
        let mut ws = Worksheet::new();
        let stock = reading(&mut ws, "c", "2.5", &Unit::GRAM_PER_LITRE);
        let flask = reading(&mut ws, "V", "250", &Unit::MILLILITRE);
        let deliveries =
            (1..=5).map(|i| reading(&mut ws, &format!("v_{i}"), "10.00", &Unit::MILLILITRE));
        let deliveries = Expr::Sum(deliveries.map(Expr::from).collect::<Vec<_>>());
        let diluted = ws.calculate(
            Title::new("dilution", "c_1", &Unit::GRAM_PER_LITRE),
            Expr::from(stock) * (deliveries / flask),
        );
        assert_eq!(
            ws.with_symbols(diluted).tex(),
            r"c\allowbreak\,\frac{1}{V}(v_1\allowbreak + v_2\allowbreak + v_3\allowbreak + v_4\allowbreak + v_5)"
        );
    }

    #[test]
    fn parentheses_stand_where_the_tree_needs_them_and_only_there() {
        let mut ws = Worksheet::new();
        let a = reading(&mut ws, "a", "1.5", &Unit::ONE);
        let b = reading(&mut ws, "b", "-2", &Unit::ONE);
        let title = || Title::new("x", "x", &Unit::ONE);
        let product = ws.calculate(title(), (Expr::from(a) - b) * a * Expr::number(3.0));
        assert_eq!(
            ws.with_symbols(product).tex(),
            r"\left(a - b\right)\allowbreak\,a\allowbreak \times 3"
        );
        let nested = ws.calculate(title(), Expr::from(a) - (Expr::from(b) - a));
        assert_eq!(
            ws.with_symbols(nested).tex(),
            r"a\allowbreak - \left(b - a\right)"
        );
        let c = reading(&mut ws, "c", "2.06e1", &Unit::ONE);
        let power = ws.calculate(title(), Expr::from(c).power(2));
        assert_eq!(
            ws.with_numbers(power).tex(),
            r"\left(2.06 \times 10^1\right)^2"
        );
        let power = ws.calculate(title(), (Expr::from(a) / b).power(2));
        assert_eq!(ws.with_symbols(power).tex(), r"\left(\frac{a}{b}\right)^2");
        let sum = ws.calculate(title(), Expr::from(a) + b + -Expr::from(a));
        assert_eq!(
            ws.with_numbers(sum).tex(),
            r"1.5\allowbreak - 2\allowbreak - 1.5"
        );
    }
}
