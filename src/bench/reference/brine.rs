//! The salts known by name, each in one record, and the density of their solutions in water.
//!
//! M. Laliberté, W. E. Cooper, *Model for calculating the density of aqueous electrolyte solutions*, J. Chem. Eng. Data 49
//! (2004) 1141–1151; coefficients as refitted in M. Laliberté, J. Chem. Eng. Data 54 (2009) 1725–1760. The density of
//! water inside the model is that of G. S. Kell, J. Chem. Eng. Data 20 (1975) 97–105, as the model was fitted with it.

use std::ops::RangeInclusive;

use super::solubility::{POTASSIUM_CHLORIDE, SODIUM_CHLORIDE, Solubility};
use crate::bench::quantity::Unit;
use crate::bench::worksheet::{Expr, NodeId};

/// The source, as it is cited in a report.
pub const SOURCE: &str = "Laliberté & Cooper, J. Chem. Eng. Data 49 (2004) 1141–1151, with the coefficients of Laliberté, J. Chem. Eng. Data 54 (2009) 1725–1760";

/// The source of the density of water inside the model, as it is cited in a report.
pub const WATER_SOURCE: &str = "Kell, J. Chem. Eng. Data 20 (1975) 97–105";

const PER_CELSIUS_2: Unit = Unit::derived("°C⁻²", &[(Unit::CELSIUS, -2)]);

/// What is published of a salt. Its molar mass follows from its formula: see [`crate::bench::reference::atomic_weights`].
#[derive(Debug, PartialEq)]
pub struct Salt {
    /// Its name.
    pub name: &'static str,
    /// Other names in common use.
    pub also: &'static [&'static str],
    /// Its chemical formula.
    pub formula: &'static str,
    /// Coefficients c0 and c1 (kg/m³), c2 (1), c3 (1/°C), c4 (°C) of the apparent density.
    coefficients: [f64; 5],
    /// Temperatures the coefficients were fitted over, °C.
    pub temperatures: RangeInclusive<f64>,
    /// Largest mass fraction they were fitted to.
    pub largest_mass_fraction: f64,
    /// Standard uncertainty of a density, g/mL, up to a mass fraction of [`STRONG_BRINE`] and above it.
    uncertainties: [f64; 2],
    /// Density of the dry crystals in g/mL, in the digits of the handbooks (from memory).
    pub crystals: &'static str,
    /// How much of it dissolves.
    pub solubility: &'static Solubility,
}

/// Standard uncertainty, g/mL, of the density of dry crystals (ours: handbooks differ by about as much).
pub const CRYSTAL_STANDARD_UNCERTAINTY: f64 = 0.010;

/// Density, g/mL, and its standard uncertainty, g/mL, of the crystals of a salt of which nothing is stated: to estimate the
/// buoyancy of the air on it. Common practice, no source: most salts lie between 1.5 g/mL and 3.2 g/mL.
pub const ANY_CRYSTALS: (&str, f64) = ("2.2", 0.5);

/// Standard uncertainty of the model's change of density with temperature, (g/mL)/°C. Ours: between 10 °C and 30 °C it
/// departs from Rogers & Pitzer 1982 and the International Critical Tables by up to 0.026 (kg/m³)/°C, taken as the limit
/// of a rectangular distribution.
pub const TEMPERATURE_STANDARD_UNCERTAINTY: f64 = 1.5e-5;

/// Mass fraction from which the larger standard uncertainty holds. Tables of sodium chloride set it. Potassium chloride
/// shares it as it shares the uncertainties: the model stays within the smaller one of its table throughout.
pub const STRONG_BRINE: f64 = 0.22;

/// The salts known by name.
///
/// Uncertainties are ours: root mean square and largest disagreement between the model and measured tables. For sodium
/// chloride: CRC Handbook 102nd ed. (20 °C), Rogers & Pitzer 1982, Pitzer, Peiper & Busey 1984, International Critical
/// Tables (10–30 °C). For potassium chloride: at most 0.3 kg/m³ from the CRC Handbook at 20 °C (table from memory).
pub static SALTS: &[Salt] = &[
    Salt {
        name: "sodium chloride",
        also: &["salt", "common salt", "table salt"],
        formula: "NaCl",
        coefficients: [
            -0.003_241_122_236_551_49,
            0.063_635_433_590_661_6,
            1.013_713_994_673_65,
            0.014_595_101_521_015_9,
            3_317.348_544_265_37,
        ],
        temperatures: 0.0..=140.0,
        largest_mass_fraction: 0.265_899_304_218_77,
        uncertainties: [0.3e-3, 0.5e-3],
        crystals: "2.165",
        solubility: &SODIUM_CHLORIDE,
    },
    Salt {
        name: "potassium chloride",
        also: &[],
        formula: "KCl",
        coefficients: [
            -0.855_928_945_959_145,
            6.040_735_713_064_02,
            2.817_874_162_171_66,
            0.025_392_464_587_733_8,
            2_681.617_234_658_86,
        ],
        temperatures: 5.0..=125.0,
        largest_mass_fraction: 0.264_280_379_722_009,
        uncertainties: [0.3e-3, 0.5e-3],
        crystals: "1.984",
        solubility: &POTASSIUM_CHLORIDE,
    },
];

/// Returns their names, as a choice: `sodium chloride or potassium chloride`.
pub fn names() -> String {
    SALTS
        .iter()
        .map(|salt| salt.name)
        .collect::<Vec<_>>()
        .join(" or ")
}

/// Returns the salt with a name or formula, ignoring case.
pub fn salt(name: &str) -> Option<&'static Salt> {
    let name = name.trim();
    let is = |known: &str| known.eq_ignore_ascii_case(name);
    SALTS.iter().find(|salt| is(salt.name) || is(salt.formula))
}

/// Returns the salt with a name, also one in common use such as `salt`, ignoring case.
pub fn find_by_name(name: &str) -> Option<&'static Salt> {
    let is = |known: &&str| known.eq_ignore_ascii_case(name.trim());
    let also = || SALTS.iter().find(|salt| salt.also.iter().any(is));
    salt(name).or_else(also)
}

impl Salt {
    /// Density of a solution in g/mL, from its mass fraction (1) and temperature (°C):
    /// `1 / ((1 − w)/ρw + w/ρapp)`, ρapp by [`Salt::apparent_density`], ρw by [`water_in_model`], both in kg/m³.
    pub fn density(
        &self,
        w: impl Into<Expr>,
        water: impl Into<Expr>,
        apparent: impl Into<Expr>,
    ) -> Expr {
        let w: Expr = w.into();
        let volume = (Expr::number(1.0) - w.clone()) / water.into() + w / apparent.into();
        Expr::number(1.0)
            / (Expr::conversion(&Unit::GRAM_PER_MILLILITRE, &Unit::KILOGRAM_PER_CUBIC_METRE)
                * volume)
    }

    /// Apparent density of the dissolved salt in kg/m³, from mass fraction (1) and temperature (°C):
    /// `(c0 w + c1) exp(10⁻⁶ (t + c4)²) / (w + c2 + c3 t)`.
    pub fn apparent_density(&self, w: impl Into<Expr>, t: impl Into<Expr>) -> Expr {
        let (w, t): (Expr, Expr) = (w.into(), t.into());
        let [c0, c1, c2, c3, _] = self.coefficients;
        let c = Expr::renamed_coefficient;
        let above = c(&["a_s,0", "c_0"], c0, &Unit::KILOGRAM_PER_CUBIC_METRE) * w.clone()
            + c(&["a_s,1", "c_1"], c1, &Unit::KILOGRAM_PER_CUBIC_METRE);
        let below = w
            + c(&["a_s,2", "c_2"], c2, &Unit::ONE)
            + c(&["a_s,3", "c_3"], c3, &Unit::PER_CELSIUS) * t.clone();
        (above / below) * self.growth(t)
    }

    /// Returns the factor `exp(10⁻⁶ (t + c4)²)` (1) of the apparent density at a temperature (°C).
    pub fn growth(&self, t: impl Into<Expr>) -> Expr {
        let c4 = Expr::renamed_coefficient(&["a_s,4", "c_4"], self.coefficients[4], &Unit::CELSIUS);
        (Expr::exactly(1e-6, &PER_CELSIUS_2) * (t.into() + c4).power(2)).exponential()
    }

    /// Returns the coefficients a, b and c (kg/m³) of the equation that [`mass_fraction`] solves, from the density of
    /// water in the model (kg/m³), the factor of [`Salt::growth`] (1), the share by which water is lighter (1), and the
    /// temperature (°C): `a = ρw − c0 g`, `b = (c1 − c0 q) g − ρw (c2 + c3 t)`, `c = c1 g q`.
    pub fn inverse_coefficients(
        &self,
        water: impl Into<Expr>,
        growth: impl Into<Expr>,
        lighter: impl Into<Expr>,
        t: impl Into<Expr>,
    ) -> [Expr; 3] {
        let (water, growth, lighter) = (water.into(), growth.into(), lighter.into());
        let [c0, c1, c2, c3, _] = self.coefficients;
        let k = Expr::renamed_coefficient;
        let c0 = || k(&["a_s,0", "c_0"], c0, &Unit::KILOGRAM_PER_CUBIC_METRE);
        let c1 = || k(&["a_s,1", "c_1"], c1, &Unit::KILOGRAM_PER_CUBIC_METRE);
        let at = k(&["a_s,2", "c_2"], c2, &Unit::ONE)
            + k(&["a_s,3", "c_3"], c3, &Unit::PER_CELSIUS) * t.into();
        [
            water.clone() - c0() * growth.clone(),
            (c1() - c0() * lighter.clone()) * growth.clone() - water * at,
            c1() * growth * lighter,
        ]
    }

    /// Standard uncertainty of the published density at a mass fraction, g/mL.
    pub fn standard_uncertainty(&self, w: f64) -> f64 {
        self.uncertainties[usize::from(w > STRONG_BRINE)]
    }

    /// Standard uncertainty of the published density, g/mL, where that is this one (g/mL) at a temperature (°C).
    pub fn standard_uncertainty_at(&self, density: f64, t: f64) -> f64 {
        self.uncertainties[usize::from(density > self.density_at(STRONG_BRINE, t))]
    }

    /// Returns the published density, g/mL, at a mass fraction and temperature (°C), as a number.
    pub fn density_at(&self, w: f64, t: f64) -> f64 {
        let (w, t) = (Expr::number(w), Expr::number(t));
        let apparent = self.apparent_density(w.clone(), t.clone());
        self.density(w, water_in_model(t), apparent)
            .value(&|_| f64::NAN)
    }

    /// Returns whether the coefficients hold at a mass fraction and temperature (°C).
    pub fn covers(&self, w: f64, t: f64) -> bool {
        (0.0..=self.largest_mass_fraction).contains(&w) && self.temperatures.contains(&t)
    }
}

/// Mass fraction (1) of a solution from the coefficients of [`Salt::inverse_coefficients`] (kg/m³): the smaller root of
/// `a w² − b w + c = 0`, which [`Salt::density`] becomes where its denominators are multiplied out, without the difference
/// of two numbers nearly equal: `2 c / (b + √(b² − 4 a c))`.
pub fn mass_fraction(a: NodeId, b: NodeId, c: NodeId) -> Expr {
    let discriminant = Expr::from(b).power(2) - Expr::number(4.0) * a * c;
    Expr::number(2.0) * c / (Expr::from(b) + discriminant.root())
}

/// Density of water as the model has it, kg/m³, from the temperature in °C: a quintic over a line (Kell 1975).
pub fn water_in_model(t: impl Into<Expr>) -> Expr {
    const DENSITY: Unit = Unit::KILOGRAM_PER_CUBIC_METRE;
    const PER_CELSIUS_1: Unit = Unit::derived("kg/m³ °C⁻¹", &[(DENSITY, 1), (Unit::CELSIUS, -1)]);
    const PER_CELSIUS_2: Unit = Unit::derived("kg/m³ °C⁻²", &[(DENSITY, 1), (Unit::CELSIUS, -2)]);
    const PER_CELSIUS_3: Unit = Unit::derived("kg/m³ °C⁻³", &[(DENSITY, 1), (Unit::CELSIUS, -3)]);
    const PER_CELSIUS_4: Unit = Unit::derived("kg/m³ °C⁻⁴", &[(DENSITY, 1), (Unit::CELSIUS, -4)]);
    const PER_CELSIUS_5: Unit = Unit::derived("kg/m³ °C⁻⁵", &[(DENSITY, 1), (Unit::CELSIUS, -5)]);
    let t: Expr = t.into();
    let k = Expr::coefficient;
    let above = k("a_w,0", 999.839_52, &DENSITY)
        + k("a_w,1", 16.945_176, &PER_CELSIUS_1) * t.clone()
        + k("a_w,2", -7.987_040_1e-3, &PER_CELSIUS_2) * t.clone().power(2)
        + k("a_w,3", -46.170_461e-6, &PER_CELSIUS_3) * t.clone().power(3)
        + k("a_w,4", 105.563_02e-9, &PER_CELSIUS_4) * t.clone().power(4)
        + k("a_w,5", -280.542_53e-12, &PER_CELSIUS_5) * t.clone().power(5);
    above / (Expr::number(1.0) + k("a_w,6", 16.879_850e-3, &Unit::PER_CELSIUS) * t)
}
