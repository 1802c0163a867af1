//! The strength of sodium chloride brine on the trade's scales.

use crate::bench::quantity::Unit;
use crate::bench::reference::brine::Salt;
use crate::bench::reference::brine_strength::{
    BAUME_SOURCE, BAUME_TEMPERATURE, GRAVITY_TEMPERATURE, degrees_baume,
};
use crate::bench::reference::solubility;
use crate::bench::runfile::model::TradeScale;
use crate::bench::worksheet::{
    Component, Distribution, Expr, Input, Label, NodeId, Symbol, Title, Worksheet,
};

use super::SolutionResult;
use super::allowances::published_water;
use super::published::Published;
use super::reference_temperature::{Liquid, bring};

/// The strength of a brine on the trade's scales that the run file asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// Density at 20 °C over that of water at 20 °C.
    pub specific_gravity: Option<NodeId>,
    /// Degrees Baumé (heavier than water, modulus 145, 60 °F); `None` for what is lighter than water.
    pub degrees_baume: Option<NodeId>,
    /// Mass percent over that of saturated brine at the temperature of the liquid, %; `None` if no solubility is listed.
    pub percent_saturation: Option<NodeId>,
}

/// A temperature of a scale, with the density of water there.
#[derive(Debug, Clone, Copy)]
struct Point {
    t: NodeId,
    water: NodeId,
}

/// What the scales of a run's solutions share.
pub(super) struct Scales {
    salt: &'static Salt,
    wanted: Vec<TradeScale>,
    /// Temperatures of scales by density, with the density of water there.
    gravity: Option<Point>,
    baume: Option<Point>,
}

impl Scales {
    /// `None` for a solute other than sodium chloride.
    pub(super) fn new(
        ws: &mut Worksheet,
        salt: Option<&'static Salt>,
        wanted: Vec<TradeScale>,
    ) -> Option<Self> {
        let salt = salt.filter(|salt| salt.formula == "NaCl")?;
        let mut point = |scale, label: &str, symbol: &str, value| {
            wanted.contains(&scale).then(|| {
                let title = Title::new(label, symbol, &Unit::CELSIUS);
                let t = ws.input(title, value, Input::default());
                let water = published_water(ws, Label::under(label), t);
                Point { t, water }
            })
        };
        Some(Self {
            salt,
            gravity: point(
                TradeScale::SpecificGravity,
                "20 °C",
                "t_20",
                GRAVITY_TEMPERATURE,
            ),
            baume: point(
                TradeScale::DegreesBaume,
                "60 °F",
                "t_60F",
                BAUME_TEMPERATURE,
            ),
            wanted,
        })
    }

    /// Returns the strength of a solution; `None` if its density or mass percent is not known, or published densities
    /// do not reach.
    pub(super) fn strength(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        solution: &SolutionResult,
    ) -> Option<Strength> {
        let name = &solution.name;
        let density = solution.density.as_ref()?;
        let w = solution.composition.mass_percent?;
        let (rho, t) = (density.density, density.liquid);
        let mut gravity = |ws: &mut Worksheet,
                           point: Option<Point>,
                           kind: &'static str,
                           unit: &str| {
            let point = point?;
            let at = match density.at_reference {
                // The run may have brought the density to that temperature already.
                Some(at) if ws.value(at.temperature).to_bits() == ws.value(point.t).to_bits() => {
                    at.density
                }
                _ => {
                    let liquid = Liquid::Brine(self.salt, w);
                    bring(ws, published, &name.into(), rho, liquid, (t, point.t))?.density
                }
            };
            let title = Title::new(
                format!("specific gravity {kind}{unit} of {name}"),
                Symbol::new("d", kind, name),
                &Unit::ONE,
            );
            Some(ws.calculate(title, Expr::from(at) / point.water))
        };
        let specific_gravity = gravity(ws, self.gravity, "20/20", "");
        let at_60 = gravity(ws, self.baume, "60/60", " °F");
        let degrees = at_60.filter(|at_60| ws.value(*at_60) >= 1.0).map(|at_60| {
            let title = Title::new(
                format!("degrees Baumé of {name}"),
                Symbol::labelled("B", name),
                &Unit::DEGREE_BAUME,
            );
            ws.calculate(title.published(BAUME_SOURCE), degrees_baume(at_60))
        });
        let saturation = self.wanted.contains(&TradeScale::PercentSaturation);
        Some(Strength {
            specific_gravity,
            degrees_baume: degrees,
            percent_saturation: saturation
                .then(|| self.saturation(ws, name, w, t))
                .flatten(),
        })
    }

    fn saturation(&self, ws: &mut Worksheet, name: &str, w: NodeId, t: NodeId) -> Option<NodeId> {
        if !solubility::TEMPERATURES.contains(&ws.value(t)) {
            return None;
        }
        let limit = self.salt.solubility.limit();
        let component = Component::within("published values", limit, Distribution::Rectangular);
        let title = Title::new(
            format!("error of the published solubility for {name}"),
            Symbol::new("δ", "sat", name),
            &Unit::PERCENT,
        );
        let error = ws.unseen(title, vec![component]);
        let title = Title::new(
            format!("mass percent of saturated brine at the temperature of {name}"),
            Symbol::new("w", "sat", name),
            &Unit::PERCENT,
        );
        let formula = self.salt.solubility.mass_percent(t) + error;
        let saturated = ws.calculate(title.published(solubility::SOURCES), formula);
        let title = Title::new(
            format!("percent of saturation of {name}"),
            Symbol::labelled("Ω", name),
            &Unit::PERCENT,
        );
        let formula = Expr::conversion(&Unit::ONE, &Unit::PERCENT) * w / Expr::from(saturated);
        Some(ws.calculate(title, formula))
    }
}
