//! Units of the bench and their dimensions.

use std::fmt;

use super::si::SiUnit;

/// What a unit measures, with the base unit that values are kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Mass; base g.
    Mass,
    /// Volume; base mL.
    Volume,
    /// Celsius temperature; base °C.
    Temperature,
    /// Difference of temperatures; base °C (or K: the same step).
    TemperatureStep,
    /// Pressure; base hPa.
    Pressure,
    /// Ratio; base 1 (so 48 % is 0.48).
    Ratio,
    /// Density; base g/mL.
    Density,
    /// Molar mass; base g/mol.
    MolarMass,
    /// Density over that of water; base 1, which has no symbol.
    SpecificGravity,
    /// Degrees Baumé for liquids heavier than water; base °Bé.
    DegreesBaume,
    /// Part of what a saturated brine holds; base per cent of it.
    Saturation,
    /// Amount concentration; base mol/L.
    AmountConcentration,
    /// Molality; base mol/kg.
    Molality,
    /// Amount of substance, in units of formulas only; base mol.
    Amount,
    /// Quantity that only formulas have; base the unit itself.
    Derived,
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Mass => "mass",
            Self::Volume => "volume",
            Self::Temperature => "temperature",
            Self::TemperatureStep => "temperature difference",
            Self::Pressure => "pressure",
            Self::Ratio => "ratio",
            Self::Density => "density",
            Self::MolarMass => "molar mass",
            Self::SpecificGravity => "specific gravity",
            Self::DegreesBaume => "strength in degrees Baumé",
            Self::Saturation => "percent of saturation",
            Self::AmountConcentration => "amount concentration",
            Self::Molality => "molality",
            Self::Amount => "amount of substance",
            Self::Derived => "derived quantity",
        })
    }
}

/// A unit: base value = (written value + `offset`) × `factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As it is printed, e.g. `mL`; empty for a bare ratio.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Base units in one of it.
    pub factor: f64,
    /// Added to the written value before the factor is applied (temperature scales only).
    pub offset: f64,
    /// The units that it is a product of, each with its power; empty for a unit with a name of its own.
    parts: Parts,
    /// The same with kg/m³ in the place of g/mL; `None` if there is no g/mL in it.
    pub(super) by_cubic_metre: Option<&'static Unit>,
}

type Parts = &'static [(Unit, i8)];

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64) -> Unit {
    product(symbol, dimension, factor, &[])
}

const fn product(symbol: &'static str, dimension: Dimension, factor: f64, parts: Parts) -> Unit {
    Unit {
        symbol,
        dimension,
        factor,
        offset: 0.0,
        parts,
        by_cubic_metre: None,
    }
}

impl Unit {
    /// Gram, the base of mass.
    pub const GRAM: Self = unit("g", Dimension::Mass, 1.0);
    /// Kilogram.
    pub const KILOGRAM: Self = unit("kg", Dimension::Mass, 1e3);
    /// Millilitre, the base of volume.
    pub const MILLILITRE: Self = unit("mL", Dimension::Volume, 1.0);
    /// Litre.
    pub const LITRE: Self = unit("L", Dimension::Volume, 1e3);
    /// Cubic metre.
    pub const CUBIC_METRE: Self = unit("m³", Dimension::Volume, 1e6);
    /// Degree Celsius, the base of temperature.
    pub const CELSIUS: Self = unit("°C", Dimension::Temperature, 1.0);
    /// Per degree Celsius.
    pub const PER_CELSIUS: Self = Self::derived("°C⁻¹", &[(Self::CELSIUS, -1)]);
    /// A step of one degree Celsius, the base of temperature differences.
    pub const CELSIUS_STEP: Self = unit("°C", Dimension::TemperatureStep, 1.0);
    /// Kelvin, of a temperature difference or a thermodynamic temperature.
    pub const KELVIN: Self = unit("K", Dimension::TemperatureStep, 1.0);
    /// Hectopascal, the base of pressure.
    pub const HECTOPASCAL: Self = unit("hPa", Dimension::Pressure, 1.0);
    /// Pascal.
    pub const PASCAL: Self = unit("Pa", Dimension::Pressure, 0.01);
    /// One, the base of ratios; it has no symbol.
    pub const ONE: Self = unit("", Dimension::Ratio, 1.0);
    /// Percent.
    pub const PERCENT: Self = unit("%", Dimension::Ratio, 0.01);
    /// Gram per millilitre, the base of density.
    pub const GRAM_PER_MILLILITRE: Self = product(
        "g/mL",
        Dimension::Density,
        1.0,
        &[(Self::GRAM, 1), (Self::MILLILITRE, -1)],
    )
    .or_by_cubic_metre(&Self::KILOGRAM_PER_CUBIC_METRE);
    /// Kilogram per cubic metre.
    pub const KILOGRAM_PER_CUBIC_METRE: Self = product(
        "kg/m³",
        Dimension::Density,
        1e-3,
        &[(Self::KILOGRAM, 1), (Self::CUBIC_METRE, -1)],
    );
    /// Gram per litre.
    pub const GRAM_PER_LITRE: Self = product(
        "g/L",
        Dimension::Density,
        1e-3,
        &[(Self::GRAM, 1), (Self::LITRE, -1)],
    );
    /// Mole, the base of amount of substance.
    pub const MOLE: Self = unit("mol", Dimension::Amount, 1.0);
    /// Mole per litre, the base of amount concentration.
    pub const MOLE_PER_LITRE: Self = product(
        "mol/L",
        Dimension::AmountConcentration,
        1.0,
        &[(Self::MOLE, 1), (Self::LITRE, -1)],
    );
    /// Mole per kilogram, the base of molality.
    pub const MOLE_PER_KILOGRAM: Self = product(
        "mol/kg",
        Dimension::Molality,
        1.0,
        &[(Self::MOLE, 1), (Self::KILOGRAM, -1)],
    );
    /// Gram per mole, the base of molar mass.
    pub const GRAM_PER_MOLE: Self = product(
        "g/mol",
        Dimension::MolarMass,
        1.0,
        &[(Self::GRAM, 1), (Self::MOLE, -1)],
    );
    /// One, the base of specific gravities; it has no symbol.
    pub const SPECIFIC_GRAVITY: Self = unit("", Dimension::SpecificGravity, 1.0);
    /// Degree Baumé.
    pub const DEGREE_BAUME: Self = unit("°Bé", Dimension::DegreesBaume, 1.0);
    /// Per cent of saturation.
    pub const PERCENT_SATURATION: Self = unit("% saturation", Dimension::Saturation, 1.0);

    /// Returns a unit of formulas only, printed as `symbol`: the product of units, each with its power.
    pub const fn derived(symbol: &'static str, parts: &'static [(Self, i8)]) -> Self {
        product(symbol, Dimension::Derived, 1.0, parts)
    }

    /// Returns the same, with what it becomes where densities are shown in kg/m³: a thousandth of it.
    #[must_use]
    pub const fn or_by_cubic_metre(self, other: &'static Self) -> Self {
        Self {
            by_cubic_metre: Some(other),
            ..self
        }
    }

    /// Returns the unit in base units of the SI; the offset of a temperature scale is not part of it.
    pub fn in_si(&self) -> SiUnit {
        if !self.parts.is_empty() {
            let powers = self.parts.iter();
            let powers = powers.map(|(part, power)| part.in_si().to_power((*power).into()));
            return powers.fold(SiUnit::ONE, SiUnit::times);
        }
        match self.dimension {
            Dimension::Mass => SiUnit::KILOGRAM.scaled(1e-3 * self.factor),
            Dimension::Volume => SiUnit::METRE.to_power(3).scaled(1e-6 * self.factor),
            Dimension::Temperature | Dimension::TemperatureStep => {
                SiUnit::KELVIN.scaled(self.factor)
            }
            Dimension::Pressure => SiUnit::PASCAL.scaled(100.0 * self.factor),
            Dimension::Amount => SiUnit::MOLE.scaled(self.factor),
            Dimension::DegreesBaume => SiUnit::DEGREE_BAUME.scaled(self.factor),
            Dimension::Saturation => SiUnit::ONE.scaled(0.01 * self.factor),
            _ => SiUnit::ONE.scaled(self.factor),
        }
    }

    /// Returns the unit as the divisor of a quantity: a product or quotient of units stands in brackets.
    pub fn as_divisor(&self) -> String {
        match self.parts {
            [] | [_] => self.symbol.to_owned(),
            _ => format!("({})", self.symbol),
        }
    }

    /// Returns the unit written as `symbol`, by any of its spellings: the one of the dimension `wanted` if there is
    /// one, else one that measures something else.
    pub fn from_symbol(symbol: &str, wanted: Dimension) -> Option<&'static Self> {
        let spelt = || {
            TABLE
                .iter()
                .filter(|(unit, also)| unit.symbol == symbol || also.contains(&symbol))
                .map(|(unit, _)| unit)
        };
        spelt()
            .find(|unit| unit.dimension == wanted)
            .or_else(|| spelt().next())
    }

    /// Returns the symbols of a dimension's units, as printed, the base unit first; a bare ratio has none.
    pub fn symbols(dimension: Dimension) -> impl Iterator<Item = &'static str> {
        TABLE
            .iter()
            .filter(move |(unit, _)| unit.dimension == dimension && !unit.symbol.is_empty())
            .map(|(unit, _)| unit.symbol)
    }

    /// Returns every spelling of the units of a dimension; a bare ratio has none.
    pub fn all_spellings(dimension: Dimension) -> Vec<&'static str> {
        spellings(dimension).collect()
    }

    /// Returns what is written in this unit for a value in the base unit.
    pub fn from_base(&self, value: f64) -> f64 {
        value / self.factor - self.offset
    }

    /// Returns a written value in the base unit.
    pub fn to_base(&self, written: f64) -> f64 {
        (written + self.offset) * self.factor
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol)
    }
}

/// Returns every spelling of every unit of a dimension; a bare ratio has none.
pub(super) fn spellings(dimension: Dimension) -> impl Iterator<Item = &'static str> {
    TABLE
        .iter()
        .filter(move |(unit, _)| unit.dimension == dimension)
        .flat_map(|(unit, also)| also.iter().copied().chain([unit.symbol]))
        .filter(|spelling| !spelling.is_empty())
}

/// Every unit with its other spellings. The conventional millimetre of mercury is 133.322387415 Pa (BS 350:Part 1:1974);
/// the other factors are exact by definition (BIPM, SI Brochure, 2019).
static TABLE: &[(Unit, &[&str])] = &[
    (Unit::GRAM, &[]),
    (unit("mg", Dimension::Mass, 1e-3), &[]),
    (Unit::KILOGRAM, &[]),
    (Unit::MILLILITRE, &["ml"]),
    (Unit::LITRE, &["l"]),
    (
        unit("µL", Dimension::Volume, 1e-3),
        &["\u{3bc}L", "uL", "µl", "\u{3bc}l", "ul"],
    ),
    (unit("cm³", Dimension::Volume, 1.0), &["cm3", "cm^3", "cc"]),
    (Unit::CELSIUS, &["C", "\u{2103}", "ºC", "degC"]),
    (
        Unit {
            symbol: "K",
            dimension: Dimension::Temperature,
            factor: 1.0,
            offset: -273.15,
            parts: &[],
            by_cubic_metre: None,
        },
        &["\u{212a}"],
    ),
    (
        Unit {
            symbol: "°F",
            dimension: Dimension::Temperature,
            factor: 5.0 / 9.0,
            offset: -32.0,
            parts: &[],
            by_cubic_metre: None,
        },
        &["F", "\u{2109}", "ºF", "degF"],
    ),
    (Unit::CELSIUS_STEP, &["C", "\u{2103}", "ºC", "degC"]),
    (Unit::KELVIN, &["\u{212a}"]),
    (
        unit("°F", Dimension::TemperatureStep, 5.0 / 9.0),
        &["F", "\u{2109}", "ºF", "degF"],
    ),
    (Unit::HECTOPASCAL, &[]),
    (unit("kPa", Dimension::Pressure, 10.0), &[]),
    (Unit::PASCAL, &[]),
    (unit("mbar", Dimension::Pressure, 1.0), &[]),
    (unit("bar", Dimension::Pressure, 1e3), &[]),
    (unit("mmHg", Dimension::Pressure, 1.333_223_874_15), &[]),
    (Unit::ONE, &[]),
    (Unit::PERCENT, &["\u{ff05}"]),
    (
        Unit::GRAM_PER_MILLILITRE,
        &["g/ml", "g/cm³", "g/cm3", "g/cm^3"],
    ),
    (Unit::KILOGRAM_PER_CUBIC_METRE, &["kg/m3", "kg/m^3"]),
    (Unit::GRAM_PER_LITRE, &["g/l"]),
    (Unit::GRAM_PER_MOLE, &[]),
    (Unit::SPECIFIC_GRAVITY, &["specific gravity", "SG"]),
    (
        Unit::DEGREE_BAUME,
        &["°Be", "°Baumé", "Bé", "degrees Baumé"],
    ),
    (
        Unit::PERCENT_SATURATION,
        &["% of saturation", "per cent of saturation"],
    ),
    (Unit::MOLE_PER_LITRE, &["mol/l"]),
    (Unit::MOLE_PER_KILOGRAM, &[]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_name_one_unit_of_a_dimension() {
        let mut seen = std::collections::BTreeSet::new();
        for (unit, also) in TABLE {
            for spelling in also.iter().chain([&unit.symbol]) {
                assert!(
                    seen.insert((*spelling, unit.dimension)),
                    "{spelling} stands twice"
                );
                assert_eq!(
                    Unit::from_symbol(spelling, unit.dimension),
                    Some(unit),
                    "{spelling}"
                );
            }
        }
        assert_eq!(
            Unit::from_symbol("stone", Dimension::Mass),
            None,
            "not a unit of this bench"
        );
        assert_eq!(
            Unit::from_symbol("mL", Dimension::Mass),
            Some(&Unit::MILLILITRE),
            "another dimension"
        );
    }

    #[test]
    fn factors_agree_with_the_units_in_base_units_of_the_si() {
        for (unit, _) in TABLE {
            let mut of_dimension = TABLE.iter().map(|(base, _)| base);
            let base = of_dimension
                .find(|base| base.dimension == unit.dimension)
                .unwrap();
            let base = base.in_si().scaled(unit.factor / base.factor);
            assert_eq!(unit.in_si(), base, "{unit}");
        }
        let per_mole = |unit: Unit| unit.in_si().times(Unit::GRAM_PER_MOLE.in_si());
        assert_eq!(per_mole(Unit::MOLE_PER_LITRE), Unit::GRAM_PER_LITRE.in_si());
    }

    #[test]
    fn products_and_quotients_stand_in_brackets_as_divisors() {
        for (unit, divisor) in [
            (Unit::MILLILITRE, "mL"),
            (Unit::PER_CELSIUS, "°C⁻¹"),
            (Unit::MOLE_PER_KILOGRAM, "(mol/kg)"),
        ] {
            assert_eq!(unit.as_divisor(), divisor);
        }
    }

    #[test]
    fn scales_convert() {
        let in_base = |value: f64, symbol: &str| {
            Unit::from_symbol(symbol, Dimension::Temperature)
                .unwrap()
                .to_base(value)
        };
        assert!((in_base(68.0, "°F") - 20.0).abs() < 1e-12, "Fahrenheit");
        assert!((in_base(293.15, "K") - 20.0).abs() < 1e-12, "kelvin");
        assert!(
            (in_base(760.0, "mmHg") - 1013.25).abs() < 2e-4,
            "millimetres of mercury"
        );
        assert!((in_base(998.2, "kg/m³") - 0.9982).abs() < 1e-12, "density");
    }
}
