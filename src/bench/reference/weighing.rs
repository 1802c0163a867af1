//! What weighing in air does to a mass, a density and a volume.
//!
//! The displaced air carries part of every load. A balance adjusted with weights of density ρc shows, for a load of density
//! ρ and mass m in air of density ρa, the reading `m (1 − ρa/ρ) / (1 − ρa/ρc)`. ISO 4787:2010 and ISO 8655-6:2002 give
//! the volume that follows. All densities here are in one unit, g/mL throughout the program.

use crate::bench::worksheet::Expr;

/// `1 − ρa/ρ`: what of a load of that density the air leaves, a pure number.
fn left_by_air(air: impl Into<Expr>, density: impl Into<Expr>) -> Expr {
    Expr::number(1.0) - air.into() / density.into()
}

/// Returns the mass (unit of the reading) of a load of a known density (g/mL): `R (1 − ρa/ρc) / (1 − ρa/ρ)`.
pub fn mass(
    reading: impl Into<Expr>,
    air: impl Into<Expr>,
    weights: impl Into<Expr>,
    density: impl Into<Expr>,
) -> Expr {
    let air = air.into();
    reading.into() * left_by_air(air.clone(), weights) / left_by_air(air, density)
}

/// Returns the density (g/mL) of a liquid whose volume (mL) was weighed (g): `R (1 − ρa/ρc) / V + ρa`.
pub fn density(
    reading: impl Into<Expr>,
    volume: impl Into<Expr>,
    air: impl Into<Expr>,
    weights: impl Into<Expr>,
) -> Expr {
    let air = air.into();
    let in_air = reading.into() * left_by_air(air.clone(), weights) / volume.into();
    Expr::Sum(vec![in_air, air])
}

/// Returns the density (g/mL) of a liquid from that which readings in air seem to give (g/mL): `ρ' (1 − ρa/ρc) + ρa`.
pub fn density_from_apparent(
    apparent: impl Into<Expr>,
    air: impl Into<Expr>,
    weights: impl Into<Expr>,
) -> Expr {
    let air = air.into();
    let in_air = apparent.into() * left_by_air(air.clone(), weights);
    Expr::Sum(vec![in_air, air])
}

/// Returns the volume (mL) of weighed water (g) of known density (g/mL): `R (1 − ρa/ρc) / (ρw − ρa)` (ISO 4787:2010,
/// the formula of its volume at 20 °C without the expansion of the ware).
pub fn volume(
    reading: impl Into<Expr>,
    air: impl Into<Expr>,
    weights: impl Into<Expr>,
    water: impl Into<Expr>,
) -> Expr {
    let air = air.into();
    reading.into() * left_by_air(air.clone(), weights) / (water.into() - air)
}

/// Returns the density (g/mL) of a liquid that fills the same volume as water: `R/R_w (ρw − ρa) + ρa`, both readings in
/// one unit.
pub fn density_beside_water(
    reading: impl Into<Expr>,
    of_water: impl Into<Expr>,
    water: impl Into<Expr>,
    air: impl Into<Expr>,
) -> Expr {
    let air = air.into();
    let ratio: Expr = reading.into() / of_water.into();
    Expr::Sum(vec![ratio * (water.into() - air.clone()), air])
}
