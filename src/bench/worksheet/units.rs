//! The units of formulas, worked out from those of their quantities.
//!
//! Values of the worksheet are numbers in the unit of their quantity. The unit of a formula is the product, quotient or
//! root that its tree says, in base units of the SI; terms of a sum must have the same one, to the factor, and an exponent
//! must be a pure number. A formula that is not an equation between quantities, or gives another unit than stated, is an
//! error of the program.
//!
//! A temperature in °C and one in K have the same unit, as a step of either is the same; a scale's zero is not checked.

use super::{Constant, Expr, NodeId, Role, Title, Worksheet};
use crate::bench::quantity::{SiUnit, Unit};

impl Constant {
    fn si_unit(&self) -> SiUnit {
        match self.role {
            Role::Conversion(from) => self.unit.in_si().times(from.in_si().to_power(-1)),
            _ => self.unit.in_si(),
        }
    }
}

impl Expr {
    /// Returns the unit of the formula, given those of its quantities.
    ///
    /// # Errors
    /// Says which of its parts do not go together.
    fn si_unit(&self, of: &impl Fn(NodeId) -> &'static Unit) -> Result<SiUnit, String> {
        let equal = |what: &str, units: &mut dyn Iterator<Item = Result<SiUnit, String>>| {
            let first = units.next().unwrap_or(Ok(SiUnit::ONE))?;
            for unit in units {
                let unit = unit?;
                if unit != first {
                    return Err(format!("{what} of units {first} and {unit}"));
                }
            }
            Ok(first)
        };
        match self {
            Self::Node(id) => Ok(of(*id).in_si()),
            Self::Constant(constant) => Ok(constant.si_unit()),
            Self::Sum(terms) => equal("a sum", &mut terms.iter().map(|term| term.si_unit(of))),
            Self::Difference(a, b) => equal(
                "a difference",
                &mut [a, b].into_iter().map(|term| term.si_unit(of)),
            ),
            Self::Product(factors) => factors.iter().try_fold(SiUnit::ONE, |product, factor| {
                Ok(product.times(factor.si_unit(of)?))
            }),
            Self::Quotient(a, b) => Ok(a.si_unit(of)?.times(b.si_unit(of)?.to_power(-1))),
            Self::Negative(a) => a.si_unit(of),
            Self::Power(a, exponent) => Ok(a.si_unit(of)?.to_power(*exponent)),
            Self::Exponential(a) => {
                let unit = a.si_unit(of)?;
                let is_number = unit == SiUnit::ONE;
                is_number
                    .then_some(unit)
                    .ok_or_else(|| format!("an exponent of unit {unit}"))
            }
            Self::Root(a) => {
                let unit = a.si_unit(of)?;
                unit.root().ok_or_else(|| format!("a root of unit {unit}"))
            }
        }
    }
}

impl Worksheet {
    /// Returns what is wrong with the unit of a quantity that a formula is to give; `None` if it is right.
    pub(super) fn unit_error(&self, title: &Title, formula: &Expr) -> Option<String> {
        let Title { name, unit, .. } = title;
        let found = match formula.si_unit(&|id| self.node(id).unit) {
            Ok(found) if found == unit.in_si() => return None,
            Ok(found) => format!("its formula gives {found}"),
            Err(mismatch) => format!("its formula has {mismatch}"),
        };
        let (symbol, si) = (unit.symbol, unit.in_si());
        Some(format!(
            "{name} is stated in “{symbol}” ({si}), but {found}"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::super::Input;
    use super::*;

    /// Returns what is found wrong with a quantity stated in a unit and given by a formula of a mass and a volume.
    fn error(unit: &'static Unit, formula: impl Fn(Expr, Expr) -> Expr) -> String {
        let mut ws = Worksheet::new();
        let mass = ws.input(Title::new("mass", "m", &Unit::GRAM), 2.0, Input::default());
        let volume = Title::new("volume", "V", &Unit::MILLILITRE);
        let volume = ws.input(volume, 2.0, Input::default());
        let formula = formula(mass.into(), volume.into());
        let title = Title::new("result", "x", unit);
        ws.unit_error(&title, &formula).unwrap_or_default()
    }

    #[test]
    fn wrong_units_are_found_by_dimension_and_by_factor() {
        let density = |m, v| m / v;
        assert_eq!(error(&Unit::GRAM_PER_MILLILITRE, density), "");
        assert_eq!(
            error(&Unit::GRAM_PER_LITRE, density),
            "result is stated in “g/L” (1 kg m⁻³), but its formula gives 1000 kg m⁻³",
        );
        let per_litre = |m, v| m / v * Expr::conversion(&Unit::LITRE, &Unit::MILLILITRE);
        assert_eq!(error(&Unit::GRAM_PER_LITRE, per_litre), "");
        assert_eq!(
            error(&Unit::GRAM, density),
            "result is stated in “g” (0.001 kg), but its formula gives 1000 kg m⁻³",
        );
        assert_eq!(error(&Unit::GRAM, |m: Expr, _| (m.clone() * m).root()), "");
        assert!(
            error(&Unit::GRAM, |m, v| m + v).ends_with("a sum of units 0.001 kg and 0.000001 m³")
        );
        assert!(
            error(&Unit::ONE, |m, _| m.exponential()).ends_with("an exponent of unit 0.001 kg")
        );
        assert!(error(&Unit::ONE, |m, _| m.root()).ends_with("a root of unit 0.001 kg"));
    }

    #[test]
    #[cfg(debug_assertions)]
    #[should_panic(
        expected = "sum is stated in “mL” (0.000001 m³), but its formula gives 0.001 kg"
    )]
    fn a_formula_of_another_unit_does_not_enter() {
        let mut ws = Worksheet::new();
        let mass = ws.input(Title::new("mass", "m", &Unit::GRAM), 2.0, Input::default());
        let sum = Expr::from(mass) + mass;
        ws.calculate(Title::new("sum", "s", &Unit::MILLILITRE), sum);
    }
}
