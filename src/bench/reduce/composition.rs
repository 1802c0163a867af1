//! Composition on all scales: mass percent, mass concentration, amount concentration, molality.
//!
//! Definitions as in IUPAC, *Quantities, Units and Symbols in Physical Chemistry* (Green Book), 3rd ed. 2007, section
//! 2.10. What is known of a solution (by mass or by volume) is carried to the other scales, as far as its density is
//! known.

use serde::Serialize;

use crate::bench::quantity::Unit;
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};

/// What there is on each scale of composition; a scale that is not reached is absent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OnScales<T> {
    /// Mass percent, %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_percent: Option<T>,
    /// Mass concentration, g/L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_concentration: Option<T>,
    /// Amount concentration, mol/L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub molarity: Option<T>,
    /// Molality, mol/kg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub molality: Option<T>,
}

/// A solution's composition.
pub type Composition = OnScales<NodeId>;

impl<T> Default for OnScales<T> {
    fn default() -> Self {
        Self::from_fn(|_| None)
    }
}

impl<T> OnScales<T> {
    /// Returns what a function gives for each scale.
    pub fn from_fn(mut of: impl FnMut(Scale) -> Option<T>) -> Self {
        Self {
            mass_percent: of(Scale::MassPercent),
            mass_concentration: of(Scale::MassConcentration),
            molarity: of(Scale::Molarity),
            molality: of(Scale::Molality),
        }
    }

    /// Returns what there is on a scale.
    pub fn on(&self, scale: Scale) -> Option<&T> {
        match scale {
            Scale::MassPercent => self.mass_percent.as_ref(),
            Scale::MassConcentration => self.mass_concentration.as_ref(),
            Scale::Molarity => self.molarity.as_ref(),
            Scale::Molality => self.molality.as_ref(),
        }
    }

    /// Returns the place of a scale, to be changed.
    pub fn on_mut(&mut self, scale: Scale) -> &mut Option<T> {
        match scale {
            Scale::MassPercent => &mut self.mass_percent,
            Scale::MassConcentration => &mut self.mass_concentration,
            Scale::Molarity => &mut self.molarity,
            Scale::Molality => &mut self.molality,
        }
    }
}

impl Composition {
    /// Returns the composition on a scale.
    pub fn get(&self, scale: Scale) -> Option<NodeId> {
        self.on(scale).copied()
    }

    /// Returns the composition on each scale that is reached.
    pub fn all(&self) -> impl Iterator<Item = NodeId> + '_ {
        Scale::ALL.into_iter().filter_map(|scale| self.get(scale))
    }

    /// Returns the same composition with one scale known.
    fn with(mut self, scale: Scale, id: NodeId) -> Self {
        *self.on_mut(scale) = Some(id);
        self
    }
}

/// Returns a composition whose mass percent is known, with its volume scales at another density (g/mL).
pub(super) fn at_density(
    ws: &mut Worksheet,
    name: impl Into<Label>,
    composition: &Composition,
    density: NodeId,
    molar_mass: NodeId,
) -> Composition {
    let by_mass = Composition {
        mass_concentration: None,
        molarity: None,
        ..*composition
    };
    fill(ws, name, by_mass, Some(density), molar_mass)
}

/// Returns the title of a solution's composition on a scale.
pub(super) fn title(scale: Scale, name: impl Into<Label>) -> Title {
    let name = name.into();
    Title::new(
        format!("{} of {name}", scale.label()),
        Symbol::labelled(scale.symbol(), name),
        scale.unit(),
    )
}

const GRAM_PER_KILOGRAM: Unit = Unit::derived("g/kg", &[(Unit::GRAM, 1), (Unit::KILOGRAM, -1)]);

/// Carries a composition known on one scale to the others.
///
/// `density` in g/mL is needed to pass between the scales by mass (mass percent, molality) and those by volume.
pub(super) fn complete(
    ws: &mut Worksheet,
    name: impl Into<Label>,
    known: (Scale, NodeId),
    density: Option<NodeId>,
    molar_mass: NodeId,
) -> Composition {
    let (scale, id) = known;
    let known = Composition::default().with(scale, id);
    fill(ws, name, known, density, molar_mass)
}

fn fill(
    ws: &mut Worksheet,
    name: impl Into<Label>,
    mut composition: Composition,
    density: Option<NodeId>,
    molar_mass: NodeId,
) -> Composition {
    let name = name.into();
    let mut add = |composition: Composition, scale: Scale, formula: Option<Expr>| match formula {
        Some(formula) if composition.get(scale).is_none() => {
            let id = ws.calculate(title(scale, &name), formula);
            composition.with(scale, id)
        }
        _ => composition,
    };
    let hundred = || Expr::exactly(100.0, &Unit::PERCENT);
    let percent = || Expr::conversion(&Unit::ONE, &Unit::PERCENT);
    let per_litre = || Expr::conversion(&Unit::LITRE, &Unit::MILLILITRE);
    let per_kilogram = || Expr::conversion(&Unit::KILOGRAM, &Unit::GRAM);

    // To a mass scale from its neighbour, to the volume scales, and back: each scale is reached from the known one.
    let from_molality = composition.molality.map(|b| {
        let salt = Expr::from(b) * molar_mass;
        percent() * salt.clone() / (Expr::exactly(1000.0, &GRAM_PER_KILOGRAM) + salt)
    });
    composition = add(composition, Scale::MassPercent, from_molality);
    let from_amount = composition.molarity.map(|c| Expr::from(c) * molar_mass);
    composition = add(composition, Scale::MassConcentration, from_amount);
    let by_volume = composition
        .mass_percent
        .zip(density)
        .map(|(w, rho)| Expr::from(w) / percent() * rho * per_litre());
    composition = add(composition, Scale::MassConcentration, by_volume);
    let by_mass = composition
        .mass_concentration
        .zip(density)
        .map(|(g, rho)| percent() * g / (per_litre() * rho));
    composition = add(composition, Scale::MassPercent, by_mass);
    let amount = composition
        .mass_concentration
        .map(|g| Expr::from(g) / molar_mass);
    composition = add(composition, Scale::Molarity, amount);
    let molality = composition
        .mass_percent
        .map(|w| per_kilogram() * w / (Expr::from(molar_mass) * (hundred() - w)));
    add(composition, Scale::Molality, molality)
}
