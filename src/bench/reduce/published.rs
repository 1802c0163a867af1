//! Published densities of brine on the worksheet, each part put there once.

use std::collections::BTreeMap;

use crate::bench::quantity::Unit;
use crate::bench::reference::brine::{self, Salt, water_in_model};
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};

/// The parts of published densities, by what they were calculated from.
#[derive(Debug, Default)]
pub(super) struct Published {
    /// Density of water as the model has it, kg/m³, by temperature.
    waters: BTreeMap<NodeId, NodeId>,
    /// Factor of the apparent density, by temperature.
    growths: BTreeMap<NodeId, NodeId>,
    /// Apparent density of the salt, kg/m³, by mass percent and temperature.
    apparent: BTreeMap<(NodeId, NodeId), NodeId>,
    /// Density, g/mL, by mass percent and temperature.
    densities: BTreeMap<(NodeId, NodeId), NodeId>,
}

impl Published {
    /// Returns the formula of the published density of a salt's solution in g/mL, from its mass percent and temperature
    /// (°C); `at` labels the solution at that temperature.
    pub(super) fn formula(
        &mut self,
        ws: &mut Worksheet,
        at: &Label,
        salt: &Salt,
        w: NodeId,
        t: NodeId,
    ) -> Expr {
        let fraction = Expr::from(w) / Expr::conversion(&Unit::ONE, &Unit::PERCENT);
        let pure = self.water(ws, t);
        let apparent = *self.apparent.entry((w, t)).or_insert_with(|| {
            let title = Title::new(
                format!("apparent density of the salt in {at}"),
                Symbol::new("ρ", "app", at),
                &Unit::KILOGRAM_PER_CUBIC_METRE,
            );
            let formula = salt.apparent_density(fraction.clone(), t);
            ws.calculate(title.published(brine::SOURCE), formula)
        });
        salt.density(fraction, pure, apparent)
    }

    /// Returns the density of water in the model, kg/m³, at a temperature (°C).
    pub(super) fn water(&mut self, ws: &mut Worksheet, t: NodeId) -> NodeId {
        *self.waters.entry(t).or_insert_with(|| {
            let title = Title::new(
                "density of water in the model",
                of_temperature(ws, "ρ_w", t),
                &Unit::KILOGRAM_PER_CUBIC_METRE,
            );
            ws.calculate(title.published(brine::WATER_SOURCE), water_in_model(t))
        })
    }

    /// Returns the factor of the apparent density at a temperature (°C).
    pub(super) fn growth(&mut self, ws: &mut Worksheet, salt: &Salt, t: NodeId) -> NodeId {
        *self.growths.entry(t).or_insert_with(|| {
            let title = Title::new(
                "temperature factor of the apparent density",
                of_temperature(ws, "G", t),
                &Unit::ONE,
            );
            ws.calculate(title.published(brine::SOURCE), salt.growth(t))
        })
    }

    /// Returns the published density of a salt's solution, g/mL, as [`Published::formula`] has it.
    pub(super) fn density(
        &mut self,
        ws: &mut Worksheet,
        at: &Label,
        salt: &Salt,
        w: NodeId,
        t: NodeId,
    ) -> NodeId {
        if let Some(id) = self.densities.get(&(w, t)) {
            return *id;
        }
        let formula = self.formula(ws, at, salt, w, t);
        let title = Title::new(
            format!("density of {at} from the model"),
            Symbol::new("ρ", "model", at),
            &Unit::GRAM_PER_MILLILITRE,
        );
        let id = ws.calculate(title.published(brine::SOURCE), formula);
        self.densities.insert((w, t), id);
        id
    }
}

/// Returns the symbol of a quantity as a function of a temperature.
fn of_temperature(ws: &Worksheet, kind: &str, t: NodeId) -> Symbol {
    Symbol::from(kind).applied_to(ws.node(t).symbol.whole())
}
