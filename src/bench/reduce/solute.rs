//! What is dissolved: its published densities and its molar mass.

use crate::bench::quantity::Unit;
use crate::bench::reference::{atomic_weights, brine};
use crate::bench::runfile::model::Solute;
use crate::bench::worksheet::{Component, Distribution, Expr, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::instruments;

/// Returns the molar mass: stated, or by the formula from the standard atomic weights.
pub(super) fn molar_mass(
    ws: &mut Worksheet,
    solute: &Solute,
    salt: Option<&brine::Salt>,
) -> Result<NodeId, Problem> {
    let title = || {
        Title::new(
            format!("molar mass of {}", solute.name.value),
            "M",
            &Unit::GRAM_PER_MOLE,
        )
    };
    if let Some(stated) = &solute.molar_mass {
        return Ok(instruments::add_reading(ws, title(), stated, Vec::new()));
    }
    let written = solute.formula.as_ref();
    let formula = written
        .map(|f| f.value.as_str())
        .or(salt.map(|s| s.formula))
        .unwrap_or_default();
    let elements = atomic_weights::elements(formula).map_err(|why| {
        let entry = written.map_or(&solute.name.entry, |f| &f.entry);
        Code::FormulaNotRead
            .error(format!("No molar mass follows from the formula: {why}."))
            .at_entry(entry)
            .read(formula)
            .right("a formula such as `NaCl` or `CaCl2·2H2O`, or `molar_mass: 58.44 g/mol`")
    })?;
    let mut terms = Vec::new();
    for (element, count) in elements {
        let (limit, shape) = (element.limit, Distribution::Rectangular);
        let title = Title::new(
            format!("molar mass of {}", element.symbol),
            Symbol::labelled("M", element.symbol),
            &Unit::GRAM_PER_MOLE,
        );
        let component = Component::within("atomic weight", limit, shape);
        let id = ws.quoted(title, element.text, vec![component]);
        terms.push(match count {
            1 => id.into(),
            n => Expr::number(f64::from(n)) * id,
        });
    }
    Ok(ws.calculate(title(), Expr::Sum(terms)))
}

/// Returns the molar mass of a solute, g/mol: stated, or by the formula from the standard atomic weights.
///
/// # Errors
/// A problem, where the formula cannot be read.
pub fn molar_mass_of(solute: &Solute) -> Result<f64, Problem> {
    let mut ws = Worksheet::new();
    let id = molar_mass(&mut ws, solute, solute.salt())?;
    Ok(ws.value(id))
}
