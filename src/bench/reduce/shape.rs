//! How the published density of a salt's solutions runs against composition, and how far that shape departs from a
//! fitted line or curve.

use crate::bench::fit::{Fitted, Point};
use crate::bench::reference::brine::{Salt, water_in_model};
use crate::bench::runfile::model::Scale;
use crate::bench::worksheet::{Expr, NodeId, Worksheet};

use super::{CalibrationPoint, SolutionResult};

/// Halvings by which a composition is found from another scale: enough for the digits of a double.
const HALVINGS: usize = 60;

/// The published density of a salt's solutions at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PublishedShape {
    salt: &'static Salt,
    /// °C.
    temperature: f64,
    /// g/mol.
    molar_mass: f64,
}

impl PublishedShape {
    /// Returns the shape at the mean temperature of a calibration's points; `None` without points, or if the salt's
    /// density is not published at that temperature.
    pub fn new(
        ws: &Worksheet,
        salt: &'static Salt,
        molar_mass: NodeId,
        points: &[CalibrationPoint],
        solutions: &[SolutionResult],
    ) -> Option<Self> {
        let temperatures: Vec<f64> = points
            .iter()
            .filter_map(|point| solutions[point.solution].density.as_ref())
            .map(|d| ws.value(d.at_reference.map_or(d.liquid, |at| at.temperature)))
            .collect();
        let temperature = temperatures.iter().sum::<f64>() / temperatures.len() as f64;
        Self::at(salt, temperature, ws.value(molar_mass))
    }

    /// Returns the shape at a temperature in °C, for a molar mass in g/mol; `None` if the salt's density is not
    /// published there.
    pub fn at(salt: &'static Salt, temperature: f64, molar_mass: f64) -> Option<Self> {
        salt.covers(0.0, temperature).then_some(Self {
            salt,
            temperature,
            molar_mass,
        })
    }

    /// Returns the largest mass fraction with a published density.
    pub fn largest_mass_fraction(&self) -> f64 {
        self.salt.largest_mass_fraction
    }

    /// Density in g/mL at a mass fraction.
    pub fn at_mass_fraction(&self, fraction: f64) -> f64 {
        let (w, t) = (Expr::number(fraction), Expr::number(self.temperature));
        let apparent = self.salt.apparent_density(w.clone(), t.clone());
        // The formula holds numbers only.
        self.salt
            .density(w, water_in_model(t), apparent)
            .value(&|_| f64::NAN)
    }

    /// Returns a mass fraction on a scale of composition, in that scale's unit.
    pub fn on_scale(&self, scale: Scale, fraction: f64) -> f64 {
        match scale {
            Scale::MassPercent => 100.0 * fraction,
            Scale::MassConcentration => 1000.0 * self.at_mass_fraction(fraction) * fraction,
            Scale::Molarity => {
                1000.0 * self.at_mass_fraction(fraction) * fraction / self.molar_mass
            }
            Scale::Molality => 1000.0 * fraction / (self.molar_mass * (1.0 - fraction)),
        }
    }

    /// Density in g/mL at a composition on a scale; `None` outside the published range.
    pub fn density(&self, scale: Scale, x: f64) -> Option<f64> {
        Some(self.at_mass_fraction(self.mass_fraction(scale, x)?))
    }

    /// Returns the mass fraction of a composition on a scale; `None` outside the published range.
    pub fn mass_fraction(&self, scale: Scale, x: f64) -> Option<f64> {
        // Every scale rises with the mass fraction.
        let (mut low, mut high) = (0.0, self.salt.largest_mass_fraction);
        if !(0.0..=self.on_scale(scale, high)).contains(&x) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.on_scale(scale, middle) <= x {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(low)
    }

    /// Returns the coefficients of the same fit, its weights held, through published densities at the points'
    /// compositions; `None` if a point lies outside the published range, or nothing can be fitted.
    pub fn fitted(&self, scale: Scale, points: &[Point], like: &Fitted) -> Option<Vec<f64>> {
        let x: Vec<f64> = points.iter().map(|point| point.x).collect();
        let y: Option<Vec<f64>> = x.iter().map(|x| self.density(scale, *x)).collect();
        let mut coefficients = vec![f64::NAN; like.coefficients.len()];
        like.refit.solve(&x, &y?, &mut coefficients);
        let finite = coefficients.iter().all(|found| found.is_finite());
        finite.then_some(coefficients)
    }
}
