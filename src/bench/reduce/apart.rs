//! Densities weighed at temperatures apart from each other, and not brought to one: what a calibration line and an unknown
//! read back from it lack for that.
//!
//! Every density enters the line as it was measured. What would bring it to the mean temperature of all that are on the line
//! or read back from it, by the published change of density ([`super::reference_temperature`]), is neglected, and so biases
//! the line and what is read back from it.
//!
//! Compositions by volume are left out: they change by 0.03 % for each °C, a tenth of the change of density.

use crate::bench::quantity::Unit;
use crate::bench::reference::brine::Salt;
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::maths::Math;

use super::effect::{Allowances, Effect};
use super::published::Published;
use super::reference_temperature::{Liquid, change};
use super::{DensityResult, Preparation, SolutionResult};

/// To what the mean of the temperatures is rounded, °C.
const STEP: f64 = 0.01;

/// Liquids at temperatures apart from each other.
pub(super) struct Apart<'a> {
    salt: &'a Salt,
    /// The mean of their temperatures, °C.
    mean: NodeId,
}

impl<'a> Apart<'a> {
    /// `None` if all temperatures are one reading, or if no published densities tell what they do.
    pub(super) fn new(
        ws: &mut Worksheet,
        salt: Option<&'a Salt>,
        solutions: &[SolutionResult],
    ) -> Option<Self> {
        let salt = salt?;
        let liquids = solutions
            .iter()
            .filter_map(|s| Some(s.density.as_ref()?.liquid));
        let liquids: Vec<NodeId> = liquids.collect();
        if liquids.iter().all(|t| *t == liquids[0]) {
            return None;
        }
        // A temperature agreed on, not a result: an error of one reading is no error of the densities of all the others.
        let sum: f64 = liquids.iter().map(|t| ws.value(*t)).sum();
        let mean = (sum / liquids.len() as f64 / STEP).round() * STEP;
        let title = Title::new(
            format!("mean of the liquids' temperatures, to {STEP} °C"),
            Math::from("t").bar(),
            &Unit::CELSIUS,
        );
        Some(Self {
            salt,
            mean: ws.calculate(title, Expr::exactly(mean, &Unit::CELSIUS)),
        })
    }

    /// Has the densities of solutions of known composition enter the line with what they lack.
    pub(super) fn of_known(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        allowances: &mut Allowances,
        solutions: &mut [SolutionResult],
    ) {
        for solution in solutions {
            let (name, w) = (&solution.name, solution.composition.mass_percent);
            let liquid = match (&solution.preparation, w) {
                (Preparation::Pure, _) => Liquid::Water,
                (Preparation::Unknown, _) | (_, None) => continue,
                (_, Some(w)) => Liquid::Brine(self.salt, w),
            };
            if let Some(density) = &mut solution.density {
                self.neglect(ws, published, allowances, &name.into(), density, liquid);
            }
        }
    }

    /// The same for a density of a liquid; none is lacking where the published values do not reach.
    pub(super) fn neglect(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        allowances: &mut Allowances,
        name: &Label,
        density: &mut DensityResult,
        liquid: Liquid<'_>,
    ) {
        let (label, between) = (name.state("at the mean"), (density.liquid, self.mean));
        let Some((change, _)) = change(ws, published, (name, &label), liquid, between) else {
            return;
        };
        let symbol = Symbol::labelled("Δρ'", name);
        let neglected = allowances.neglect(ws, Effect::LiquidTemperatures, symbol, change);
        // Shown as the density that it is.
        let node = ws.node(density.density);
        let title = Title::new(node.name.clone(), node.symbol.clone(), node.unit);
        let formula = Expr::Sum(vec![density.density.into(), neglected.into()]);
        density.in_line = Some(ws.calculate(title, formula));
    }
}
