//! Measured densities against published ones at the temperature of the liquid.

use crate::bench::quantity::Unit;
use crate::bench::reference::{brine::Salt, water};
use crate::bench::worksheet::{Expr, NodeId, Symbol, Title, Worksheet};

use super::allowances::published_error;
use super::published::Published;

/// A comparison with the published density.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// What the measured density is corrected by for the comparison, g/mL: published densities hold in vacuum, and for the
    /// composition without the effects that were not corrected. `None` if nothing is left to correct.
    pub correction: Option<NodeId>,
    /// The published density at the solution's composition and temperature, g/mL.
    pub published: NodeId,
    /// Measured, corrected, minus published, g/mL.
    pub difference: NodeId,
    /// Where it is published.
    pub source: &'static str,
}

/// Why a density is not compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotCompared {
    /// The solute has no published density model here.
    NoModel,
    /// The composition is not known by its preparation.
    NoComposition,
    /// Composition or temperature lies outside the range of the published values.
    OutOfRange,
}

/// Returns the published density of pure water, and the difference.
pub(super) fn with_water(
    ws: &mut Worksheet,
    name: &str,
    density: NodeId,
    t: NodeId,
) -> Result<Comparison, NotCompared> {
    if !water::TEMPERATURES.contains(&ws.value(t)) {
        return Err(NotCompared::OutOfRange);
    }
    Ok(compare(
        ws,
        name,
        density,
        water::density(t),
        water::STANDARD_UNCERTAINTY,
        water::SOURCE,
    ))
}

/// Returns the published density of a salt's solution of mass percent `w`, and the difference.
pub(super) fn with_brine(
    ws: &mut Worksheet,
    name: &str,
    density: NodeId,
    t: NodeId,
    (salt, w): (&Salt, NodeId),
    published: &mut Published,
) -> Result<Comparison, NotCompared> {
    let fraction_value = ws.value(w) / 100.0;
    if !salt.covers(fraction_value, ws.value(t)) {
        return Err(NotCompared::OutOfRange);
    }
    let formula = published.formula(ws, &name.into(), salt, w, t);
    let u = salt.standard_uncertainty(fraction_value);
    Ok(compare(
        ws,
        name,
        density,
        formula,
        u,
        crate::bench::reference::brine::SOURCE,
    ))
}

fn compare(
    ws: &mut Worksheet,
    name: &str,
    density: NodeId,
    formula: Expr,
    standard_uncertainty: f64,
    source: &'static str,
) -> Comparison {
    let model = Title::new(
        format!("error of the published density of {name}"),
        Symbol::labelled("δ", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let error = published_error(ws, model, standard_uncertainty);
    let title = Title::new(
        format!("published density of {name}"),
        Symbol::new("ρ", "pub", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let published = ws.calculate(
        title.published(source),
        Expr::Sum(vec![formula, error.into()]),
    );
    let lacking = [(density, 1.0), (published, -1.0)];
    let biased = lacking
        .iter()
        .any(|(id, _)| ws.uncertainty(*id).bias != 0.0);
    let correction = biased.then(|| {
        let title = Title::new(
            format!("correction for effects not corrected elsewhere, {name}"),
            Symbol::new("Δρ", "corr", name),
            &Unit::GRAM_PER_MILLILITRE,
        );
        ws.correction(title, &lacking)
    });
    let measured = match correction {
        Some(correction) => Expr::from(density) + correction,
        None => density.into(),
    };
    let title = Title::new(
        format!("difference of {name} from the published density"),
        Symbol::labelled("Δρ", name),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let difference = ws.calculate(title, measured - published);
    Comparison {
        correction,
        published,
        difference,
        source,
    }
}
