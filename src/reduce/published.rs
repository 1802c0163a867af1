//! Published densities of brine on the worksheet, each part put there once.

use std::collections::BTreeMap;

use crate::maths::Math;
use crate::reference::brine::{Salt, water_in_model};
use crate::worksheet::{Expr, NodeId, Title, Worksheet};

use super::{sub, sub_kind};

/// The parts of published densities, by what they were calculated from.
#[derive(Debug, Default)]
pub(super) struct Published {
    /// Density of water as the model has it, kg/m³, by temperature.
    waters: BTreeMap<NodeId, NodeId>,
    /// Mass fraction, by mass percent.
    fractions: BTreeMap<NodeId, NodeId>,
    /// Apparent density of the salt, kg/m³, by mass percent and temperature.
    apparent: BTreeMap<(NodeId, NodeId), NodeId>,
    /// Density, g/mL, by mass percent and temperature.
    densities: BTreeMap<(NodeId, NodeId), NodeId>,
}

impl Published {
    /// The published density of a salt's solution in g/mL as a formula, from its mass percent and temperature (°C); `label`
    /// names the solution, and `at` the same at that temperature.
    pub(super) fn formula(
        &mut self,
        ws: &mut Worksheet,
        (label, at): (&str, &str),
        salt: &Salt,
        w: NodeId,
        t: NodeId,
    ) -> Expr {
        let fraction = *self.fractions.entry(w).or_insert_with(|| {
            let title = Title::new(format!("mass fraction of {label}"), sub("ω", label), "");
            let formula = Expr::from(w) / Expr::factor(100.0, "%");
            ws.calculate(title.recurring(), formula)
        });
        let pure = *self.waters.entry(t).or_insert_with(|| {
            let symbol = Math::from("ρ_w").of(ws.node(t).symbol.clone());
            let title = Title::new("density of water in the model", symbol, "kg/m³");
            ws.calculate(title.recurring(), water_in_model(t))
        });
        let apparent = *self.apparent.entry((w, t)).or_insert_with(|| {
            let title = Title::new(
                format!("apparent density of the salt in {at}"),
                sub_kind("ρ", "app", at),
                "kg/m³",
            );
            ws.calculate(title.recurring(), salt.apparent_density(fraction, t))
        });
        salt.density(fraction, pure, apparent)
    }

    /// The published density of a salt's solution, g/mL, as [`Published::formula`] has it.
    pub(super) fn density(
        &mut self,
        ws: &mut Worksheet,
        (label, at): (&str, &str),
        salt: &Salt,
        w: NodeId,
        t: NodeId,
    ) -> NodeId {
        if let Some(id) = self.densities.get(&(w, t)) {
            return *id;
        }
        let formula = self.formula(ws, (label, at), salt, w, t);
        let title = Title::new(
            format!("density of {at} by the model"),
            sub_kind("ρ", "model", at),
            "g/mL",
        );
        let id = ws.calculate(title.recurring(), formula);
        self.densities.insert((w, t), id);
        id
    }
}
