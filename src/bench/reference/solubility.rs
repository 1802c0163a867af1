//! How much sodium or potassium chloride dissolves in water.
//!
//! The curves are ours: least squares through the medians of the tables below at each temperature, w in mass percent of the
//! saturated solution, t in °C. The tables differ from the curves by up to [`Solubility::limit`]; nearer to a curve than
//! that, they do not decide whether a solution is saturated.

use std::ops::RangeInclusive;

use std::sync::OnceLock;

use crate::bench::quantity::Unit;
use crate::bench::worksheet::Expr;

/// The sources, as they are cited in a report.
pub const SOURCES: &str = "solubility by a curve through published tables (CRC Handbook of Chemistry and Physics, 98th ed., 2017; Kaufmann 1960; Sparrow 2003; Steiger et al. 2008)";

/// Temperatures of the curves, °C.
pub const TEMPERATURES: RangeInclusive<f64> = 0.0..=100.0;

/// A published table: temperatures (°C) and mass percent of the saturated solution.
#[derive(Debug, PartialEq)]
pub struct Table {
    /// Where it is published.
    pub source: &'static str,
    /// Its rows.
    pub rows: &'static [(f64, f64)],
}

/// The solubility of a salt.
#[derive(Debug, PartialEq)]
pub struct Solubility {
    /// Coefficients of rising powers of the temperature in °C, mass percent.
    coefficients: &'static [(&'static str, f64)],
    /// What is published.
    pub tables: &'static [Table],
    /// See [`Solubility::limit`].
    limit: OnceLock<f64>,
}

/// Of sodium chloride.
pub static SODIUM_CHLORIDE: Solubility = Solubility {
    coefficients: &[
        ("a_sat,0", 26.2565),
        ("a_sat,1", 0.005_374_984),
        ("a_sat,2", 0.000_133_747_2),
    ],
    tables: &[
        Table {
            source: "CRC Handbook of Chemistry and Physics, 98th ed. (2017), Solubility of Common Salts at Ambient Temperatures",
            rows: &[
                (10.0, 26.313),
                (20.0, 26.395),
                (25.0, 26.449),
                (35.0, 26.588),
            ],
        },
        Table {
            source: "table of saturated brine of the salt trade (per cent salt)",
            rows: &[
                (0.0, 26.29),
                (4.44, 26.33),
                (15.56, 26.395),
                (37.78, 26.68),
                (51.67, 26.92),
                (65.56, 27.21),
                (79.44, 27.62),
                (93.33, 27.91),
                (100.0, 28.12),
            ],
        },
        Table {
            source: "Kaufmann, Sodium Chloride, ACS Monograph 145 (1960)",
            rows: &[
                (10.0, 26.35),
                (25.0, 26.48),
                (30.0, 26.56),
                (40.0, 26.71),
                (50.0, 26.89),
                (60.0, 27.09),
                (80.0, 27.53),
            ],
        },
        Table {
            source: "Steiger, Kiekbusch & Nicolai, Constr. Build. Mater. 22 (2008) 1841–1850",
            rows: &[
                (0.0, 26.289),
                (10.0, 26.312),
                (20.0, 26.391),
                (25.0, 26.447),
                (30.0, 26.512),
                (40.0, 26.669),
                (50.0, 26.854),
            ],
        },
        Table {
            source: "the Pitzer data set pitzer.dat, halite",
            rows: &[
                (0.0, 26.383),
                (10.0, 26.285),
                (20.0, 26.320),
                (25.0, 26.374),
                (30.0, 26.446),
                (40.0, 26.631),
                (50.0, 26.855),
                (60.0, 27.105),
                (70.0, 27.370),
                (80.0, 27.645),
                (90.0, 27.926),
                (100.0, 28.212),
            ],
        },
        Table {
            source: "Sparrow, Desalination 159 (2003) 161–170",
            rows: &[
                (0.0, 26.280),
                (10.0, 26.354),
                (15.0, 26.399),
                (20.0, 26.449),
                (25.0, 26.505),
                (30.0, 26.566),
                (40.0, 26.704),
                (50.0, 26.865),
                (60.0, 27.047),
                (70.0, 27.250),
                (80.0, 27.476),
                (90.0, 27.723),
                (100.0, 27.992),
            ],
        },
    ],
    limit: OnceLock::new(),
};

/// Of potassium chloride.
pub static POTASSIUM_CHLORIDE: Solubility = Solubility {
    coefficients: &[
        ("a_sat,0", 21.807_81),
        ("a_sat,1", 0.196_947_4),
        ("a_sat,2", -0.000_751_781_7),
        ("a_sat,3", 1.984_94e-6),
    ],
    tables: &[
        Table {
            source: "handbook table after Seidell",
            rows: &[
                (0.0, 21.875),
                (20.0, 25.484),
                (30.0, 27.114),
                (40.0, 28.622),
                (60.0, 31.413),
                (100.0, 36.020),
            ],
        },
        Table {
            source: "CRC Handbook of Chemistry and Physics, Aqueous Solubility of Inorganic Compounds at Various Temperatures (from memory but for 20 °C)",
            rows: &[
                (0.0, 21.74),
                (10.0, 23.61),
                (20.0, 25.39),
                (25.0, 26.22),
                (30.0, 27.04),
                (40.0, 28.59),
                (50.0, 30.04),
                (60.0, 31.40),
                (70.0, 32.66),
                (80.0, 33.86),
                (90.0, 34.99),
                (100.0, 36.05),
            ],
        },
        Table {
            source: "Steiger, Kiekbusch & Nicolai, Constr. Build. Mater. 22 (2008) 1841–1850",
            rows: &[
                (0.0, 21.870),
                (10.0, 23.747),
                (20.0, 25.506),
                (30.0, 27.133),
                (40.0, 28.631),
                (50.0, 30.012),
            ],
        },
        Table {
            // Below 10 °C it lies 0.75 % too low.
            source: "the Pitzer data set pitzer.dat, sylvite, from 10 °C on",
            rows: &[
                (10.0, 23.449),
                (20.0, 25.430),
                (25.0, 26.319),
                (30.0, 27.151),
                (40.0, 28.675),
                (50.0, 30.051),
                (60.0, 31.316),
                (70.0, 32.496),
                (80.0, 33.610),
                (90.0, 34.672),
                (100.0, 35.692),
            ],
        },
    ],
    limit: OnceLock::new(),
};

/// Units of the coefficients, rising powers of the temperature.
static COEFFICIENT_UNITS: [Unit; 4] = [
    Unit::PERCENT,
    Unit::derived("% °C⁻¹", &[(Unit::PERCENT, 1), (Unit::CELSIUS, -1)]),
    Unit::derived("% °C⁻²", &[(Unit::PERCENT, 1), (Unit::CELSIUS, -2)]),
    Unit::derived("% °C⁻³", &[(Unit::PERCENT, 1), (Unit::CELSIUS, -3)]),
];

impl Solubility {
    /// Mass percent of the saturated solution at a temperature in °C: `a0 + a1 t + a2 t² + …`, between 0 °C and 100 °C.
    pub fn mass_percent(&self, t: impl Into<Expr>) -> Expr {
        let t: Expr = t.into();
        let term = |(power, (symbol, value)): (usize, &(&'static str, f64))| {
            let coefficient = Expr::coefficient(symbol, *value, &COEFFICIENT_UNITS[power]);
            match power {
                0 => coefficient,
                1 => coefficient * t.clone(),
                _ => coefficient * t.clone().power(power as i32),
            }
        };
        Expr::Sum(self.coefficients.iter().enumerate().map(term).collect())
    }

    /// Mass percent of the saturated solution at a temperature in °C, as a number.
    pub fn at(&self, t: f64) -> f64 {
        self.mass_percent(Expr::number(t)).value(&|_| f64::NAN)
    }

    /// Returns how far the curve is from the table that differs most from it, in % by mass: a limit of its error.
    pub fn limit(&self) -> f64 {
        *self.limit.get_or_init(|| {
            let rows = self.tables.iter().flat_map(|table| table.rows);
            rows.map(|(t, w)| (w - self.at(*t)).abs())
                .fold(0.0, f64::max)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_agree_with_the_curve_as_far_as_is_said() {
        for (salt, known, limit) in [
            ("NaCl", &SODIUM_CHLORIDE, 0.139),
            ("KCl", &POTASSIUM_CHLORIDE, 0.278),
        ] {
            assert!(
                (known.limit() - limit).abs() < 0.0006,
                "{salt}: {}",
                known.limit()
            );
            // The medians that the curve was put through lie nearer: the tables of the handbooks do.
            for (t, w) in known.tables[0].rows {
                assert!((known.at(*t) - w).abs() < 0.07, "{salt} at {t} °C");
            }
        }
    }
}
