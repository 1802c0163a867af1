//! Composition on all scales: mass percent, mass concentration, amount concentration, molality.
//!
//! Definitions as in IUPAC, *Quantities, Units and Symbols in Physical Chemistry* (Green Book), 3rd ed. 2007, section
//! 2.10. What is known of a solution (by mass or by volume) is carried to the other scales, as far as its density is
//! known.

use crate::bench::quantity::Unit;
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};

/// A solution's composition; a scale that cannot be reached is absent.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Composition {
    /// Mass percent, %.
    pub mass_percent: Option<NodeId>,
    /// Mass concentration, g/L.
    pub mass_concentration: Option<NodeId>,
    /// Amount concentration, mol/L.
    pub molarity: Option<NodeId>,
    /// Molality, mol/kg.
    pub molality: Option<NodeId>,
}

impl Composition {
    /// Returns the composition on a scale.
    pub fn get(&self, scale: Scale) -> Option<NodeId> {
        match scale {
            Scale::MassPercent => self.mass_percent,
            Scale::MassConcentration => self.mass_concentration,
            Scale::Molarity => self.molarity,
            Scale::Molality => self.molality,
        }
    }

    /// Returns the composition on each scale that is reached.
    pub fn all(&self) -> impl Iterator<Item = NodeId> + '_ {
        Scale::ALL.into_iter().filter_map(|scale| self.get(scale))
    }

    /// Returns the same composition with one scale known.
    fn with(mut self, scale: Scale, id: NodeId) -> Self {
        *match scale {
            Scale::MassPercent => &mut self.mass_percent,
            Scale::MassConcentration => &mut self.mass_concentration,
            Scale::Molarity => &mut self.molarity,
            Scale::Molality => &mut self.molality,
        } = Some(id);
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
        format!("{} of {name}", label(scale)),
        Symbol::labelled(symbol(scale), name),
        unit(scale),
    )
}

/// Returns a scale in words.
pub fn label(scale: Scale) -> &'static str {
    match scale {
        Scale::MassPercent => "mass percent",
        Scale::MassConcentration => "mass concentration",
        Scale::Molarity => "amount concentration",
        Scale::Molality => "molality",
    }
}

/// Returns a scale's name in the results file.
pub fn key(scale: Scale) -> &'static str {
    match scale {
        Scale::MassPercent => "mass_percent",
        Scale::MassConcentration => "mass_concentration",
        Scale::Molarity => "molarity",
        Scale::Molality => "molality",
    }
}

/// Returns the symbol of a scale.
pub fn symbol(scale: Scale) -> &'static str {
    match scale {
        Scale::MassPercent => "w",
        Scale::MassConcentration => "γ",
        Scale::Molarity => "c",
        Scale::Molality => "b",
    }
}

/// Returns the unit of a scale.
pub fn unit(scale: Scale) -> &'static Unit {
    match scale {
        Scale::MassPercent => &Unit::PERCENT,
        Scale::MassConcentration => &Unit::GRAM_PER_LITRE,
        Scale::Molarity => &Unit::MOLE_PER_LITRE,
        Scale::Molality => &Unit::MOLE_PER_KILOGRAM,
    }
}

/// Returns a strength as a run file states it (a ratio, in g/mL, mol/L or mol/kg) in the unit of its scale.
pub fn in_unit(scale: Scale, strength: f64) -> f64 {
    match scale {
        Scale::MassPercent => 100.0 * strength,
        Scale::MassConcentration => 1000.0 * strength,
        Scale::Molarity | Scale::Molality => strength,
    }
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
