//! Effects that a run may ask to correct, and what is on the worksheet for their sake.

use std::collections::BTreeMap;

use crate::bench::reference::expansion::Glass;
use crate::bench::worksheet::{NodeId, Symbol, Title, Worksheet};

/// An effect that is estimated where a run does not ask to correct it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// The buoyancy of the air on what is weighed.
    AirBuoyancy,
    /// The expansion of glass ware from 20 °C to the temperature of the liquid.
    WareExpansion,
    /// Temperatures of the liquids on a calibration line apart from each other.
    LiquidTemperatures,
}

impl Effect {
    /// All of them, in their order.
    pub const ALL: [Self; 3] = [
        Self::AirBuoyancy,
        Self::WareExpansion,
        Self::LiquidTemperatures,
    ];

    /// Returns the key under `allow_for` that corrects it.
    pub fn key(self) -> &'static str {
        self.entry().split(':').next().unwrap_or_default()
    }

    /// Returns the entry under `allow_for` that corrects it.
    pub fn entry(self) -> &'static str {
        match self {
            Self::AirBuoyancy => "air_buoyancy: true",
            Self::WareExpansion => "ware_temperature: true",
            Self::LiquidTemperatures => "density_at: 20 °C",
        }
    }

    /// Returns the effect in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::AirBuoyancy => "air buoyancy",
            Self::WareExpansion => "thermal expansion of glassware",
            Self::LiquidTemperatures => "temperature differences between the liquids",
        }
    }
}

/// What the corrections of a run go by, each put on the worksheet once.
#[derive(Debug, Default)]
pub(super) struct Allowances {
    /// Temperature of the liquids, °C.
    pub(super) liquid: Option<NodeId>,
    /// Density of the air, g/mL.
    pub(super) air: Option<NodeId>,
    /// Whether a correction goes by it, and not an estimate alone.
    pub(super) air_used: bool,
    /// Density of the balance's weights, g/mL.
    pub(super) weights: Option<NodeId>,
    /// Density of the salt's dry crystals, g/mL.
    pub(super) crystals: Option<NodeId>,
    /// Density of water at the temperature of the liquids, g/mL.
    pub(super) water: Option<NodeId>,
    /// Cubic expansion coefficients, 1/°C.
    pub(super) expansion: BTreeMap<Glass, NodeId>,
    /// Quantities neglected.
    pub(super) neglected: BTreeMap<NodeId, Effect>,
    /// Density of the air, neglected.
    pub(super) no_air: Option<NodeId>,
    /// Relative expansions of a glass at a temperature, neglected.
    pub(super) no_expansion: BTreeMap<(Glass, NodeId, Option<NodeId>), NodeId>,
}

impl Allowances {
    /// Puts in a quantity that is not corrected for, by its best estimate.
    pub(super) fn neglect(
        &mut self,
        ws: &mut Worksheet,
        effect: Effect,
        symbol: impl Into<Symbol>,
        estimate: NodeId,
    ) -> NodeId {
        let title = Title::new(
            format!("{}, not corrected", effect.words()),
            symbol,
            ws.node(estimate).unit,
        );
        let id = ws.neglect(title, estimate);
        self.neglected.insert(id, effect);
        id
    }
}
