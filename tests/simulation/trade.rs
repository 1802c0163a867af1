//! Brines read on the scales of the trade by a hydrometer, and their strength by published densities.
//!
//! What a scale means is written here once more (ISO 1768 for the glass; the definitions as in `src/bench/reference`'s sources).
//! The density of a brine departs from the published one by an error as uncertain as is said, and so does the density
//! that a scale of saturation was drawn by.

use super::chance::Chance;
use super::judge::results;
use super::nature;

/// A hydrometer with a scale of the trade.
pub(crate) struct Trade {
    pub(crate) name: &'static str,
    /// What the run file says of its scale.
    says: &'static str,
    /// What it shows a density of the liquid at the temperature of the scale as, g/mL.
    shows: fn(f64) -> f64,
    /// A reading as it is written.
    written: fn(f64) -> String,
    /// The step of the scale and the limits of its error, both in its unit.
    step: f64,
    limit: f64,
    /// The temperature at which it holds, °C.
    standard: f64,
}

/// 60 °F.
const SIXTY: f64 = (60.0 - 32.0) * 5.0 / 9.0;
/// Standard uncertainty of published densities up to 22 % by mass, g/mL.
const PUBLISHED: f64 = 0.3e-3;
/// Cubic expansion coefficient of the glass of hydrometers, 1/°C (ISO 1768).
const GLASS: f64 = 25e-6;
const SATURATED: f64 = 26.395;

/// The hydrometers tried.
pub(crate) fn all() -> [Trade; 3] {
    [
        Trade {
            name: "degrees Baumé, modulus 145, 60 °F",
            says: "scale: degrees Baumé, modulus: 145, standard: 60 °F, readability: 0.1 °Bé, accuracy: 0.1 °Bé",
            shows: |density| 145.0 - 145.0 * nature::water(SIXTY) / density,
            written: |shown| format!("{shown:.1} °Bé"),
            step: 0.1,
            limit: 0.1,
            standard: SIXTY,
        },
        Trade {
            name: "specific gravity 20/4",
            says: "scale: specific gravity, standard: 20 °C, water: 4 °C, readability: specific gravity 0.001, accuracy: specific gravity 0.001",
            shows: |density| density / nature::water(4.0),
            written: |shown| format!("specific gravity {shown:.3}"),
            step: 0.001,
            limit: 0.001,
            standard: 20.0,
        },
        Trade {
            name: "per cent of saturation, 26.395 %, 60 °F",
            says: "scale: per cent of saturation, saturated: 26.395 %, standard: 60 °F, readability: 0.5 % saturation, accuracy: 1 % saturation",
            shows: |density| 100.0 * 100.0 * fraction(density, SIXTY) / SATURATED,
            written: |shown| format!("{shown:.1} % saturation"),
            step: 0.5,
            limit: 1.0,
            standard: SIXTY,
        },
    ]
}

/// The mass fraction whose published density is this, g/mL, by halving.
fn fraction(density: f64, t: f64) -> f64 {
    let (mut low, mut high) = (0.0, 0.3);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if nature::published(middle, t) < density {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

impl Trade {
    /// Whether the interval of a brine of 5 % to 20 % at 10 °C to 25 °C holds the truth.
    ///
    /// # Panics
    /// Where the program refuses the reading.
    pub(crate) fn holds(&self, run: u64) -> bool {
        let mut chance = Chance::of(run, 92);
        let percent = chance.between(5.0, 20.0);
        let t = chance.between(10.0, 25.0);
        let density = nature::published(percent / 100.0, t) + chance.normal(PUBLISHED);
        let drawn_by = if self.name.contains("saturation") {
            chance.normal(PUBLISHED)
        } else {
            0.0
        };
        // The glass has another volume than at the temperature of the scale.
        let at_scale = density / (1.0 - GLASS * (t - self.standard)) - drawn_by;
        let error = chance.between(-self.limit, self.limit);
        let shown = (((self.shows)(at_scale) + error) / self.step).round() * self.step;
        let text = format!(
            "
title: A reading
date: 2026-04-02
analysts: R. Example
conditions: {{liquid: {:.2} ± 0.1 °C}}
solute: sodium chloride
apparatus: {{spindle: {{kind: hydrometer, {}}}}}
solutions: {{bath: {{unknown: true}}}}
density: {{readings: {{bath: ['{}']}}}}
calibration: published
",
            t + chance.normal(0.1),
            self.says,
            (self.written)(shown)
        );
        let results = results(&text).unwrap_or_else(|problem| panic!("{text}{problem}"));
        let found = results.unknowns[0].1.composition.mass_percent.as_ref();
        let found = found.expect("a strength");
        (found.value - percent).abs() <= found.expanded_uncertainty
    }
}
