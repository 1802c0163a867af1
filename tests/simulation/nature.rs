//! Densities as nature has them: the truth of the simulated bench. Nothing here comes from the program.
//!
//! Water: Tanaka, Girard, Davis, Peuto and Bignell, Metrologia 38 (2001) 301, equation 1. Sodium chloride: specific
//! volumes of Rogers and Pitzer, J. Phys. Chem. Ref. Data 11 (1982) 15, as tabulated in the CRC Handbook ("Volumetric
//! properties of aqueous sodium chloride solutions", 1 bar), interpolated as apparent molar volumes.

/// Molar mass of sodium chloride, g/mol.
const MOLAR_MASS: f64 = 58.44;

/// Molality (mol/kg) with the specific volume (cm³/g) at 20 °C and 30 °C.
const SPECIFIC_VOLUMES: [(f64, f64, f64); 6] = [
    (0.1, 0.997_620, 1.000_279),
    (0.5, 0.981_833, 0.984_735),
    (0.75, 0.972_505, 0.975_539),
    (2.0, 0.930_909, 0.934_382),
    (4.0, 0.877_643, 0.881_334),
    (5.0, 0.855_469, 0.859_185),
];

/// Density of pure water at a temperature in °C, g/mL.
pub(crate) fn water(t: f64) -> f64 {
    let [a1, a2, a3, a4, a5] = [-3.983_035, 301.797, 522_528.9, 69.348_81, 0.999_974_950];
    a5 * (1.0 - (t + a1).powi(2) * (t + a2) / (a3 * (t + a4)))
}

/// Density of sodium chloride in water by mass fraction and temperature in °C (15 to 30), g/mL.
pub(crate) fn brine(w: f64, t: f64) -> f64 {
    if w <= 0.0 {
        return water(t);
    }
    let molality = 1000.0 * w / (MOLAR_MASS * (1.0 - w));
    let apparent = apparent_volume(molality, t);
    (1000.0 + molality * MOLAR_MASS) / (1000.0 / water(t) + molality * apparent)
}

/// Density of sodium chloride in water by the published relation, g/mL: Laliberté and Cooper, J. Chem. Eng. Data 49 (2004)
/// 1141, with the coefficients of Laliberté, J. Chem. Eng. Data 54 (2009) 1725, and the water of Kell, J. Chem. Eng. Data
/// 20 (1975) 97.
pub(crate) fn published(w: f64, t: f64) -> f64 {
    let above = [
        999.839_52,
        16.945_176,
        -7.987_040_1e-3,
        -46.170_461e-6,
        105.563_02e-9,
        -280.542_53e-12,
    ];
    let above = above.iter().rev().fold(0.0, |sum, k| sum * t + k);
    let water = above / (1.0 + 16.879_850e-3 * t);
    let salt = (-0.003_241_122_4 * w + 0.063_635_433_6)
        / (w + 1.013_713_994_7 + 0.014_595_101_5 * t)
        * (1e-6 * (t + 3_317.348_544_3).powi(2)).exp();
    let volume = (1.0 - w) / water + w / salt;
    1.0 / (1000.0 * volume)
}

/// Apparent molar volume, cm³/mol: between the molalities of the table straight in their square root, as the limiting law
/// has it, and straight in temperature.
fn apparent_volume(molality: f64, t: f64) -> f64 {
    let at = |(m, v20, v30): (f64, f64, f64)| {
        let of = |v: f64, t: f64| (v * (1000.0 + m * MOLAR_MASS) - 1000.0 / water(t)) / m;
        let [low, high] = [of(v20, 20.0), of(v30, 30.0)];
        low + (high - low) * (t - 20.0) / 10.0
    };
    let above = SPECIFIC_VOLUMES.iter().position(|(m, ..)| *m >= molality);
    let above = above.unwrap_or(SPECIFIC_VOLUMES.len() - 1).max(1);
    let [low, high] = [SPECIFIC_VOLUMES[above - 1], SPECIFIC_VOLUMES[above]];
    let part = (molality.sqrt() - low.0.sqrt()) / (high.0.sqrt() - low.0.sqrt());
    at(low) + (at(high) - at(low)) * part
}

/// The mass fraction of a brine of so much salt in a volume (g/mL) at a temperature in °C.
pub(crate) fn mass_fraction(concentration: f64, t: f64) -> f64 {
    let mut w = concentration;
    for _ in 0..60 {
        w = concentration / brine(w, t);
    }
    w
}

/// Density of moist air, g/mL, by temperature in °C, pressure in hPa and humidity in % (OIML R 111-1:2004, E.3).
pub(crate) fn air(t: f64, pressure: f64, humidity: f64) -> f64 {
    (0.348_48 * pressure - 0.009 * humidity * (0.061 * t).exp()) / (273.15 + t) / 1000.0
}
