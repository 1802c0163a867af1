//! The composition of an unknown from the published density of the salt's solutions at the temperature of the liquid.

use crate::bench::quantity::Unit;
use crate::bench::reference::brine::{self, Salt};
use crate::bench::runfile::model::{RunFile, Scale};
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::DensityResult;
use super::allowances::published_error;
use super::composition::{self, Composition};
use super::published::Published;
use super::reference_temperature::{Bringing, corrected};

/// The published densities that unknowns are read from.
pub(super) struct ByPublished<'a> {
    pub(super) run: &'a RunFile,
    pub(super) salt: &'static Salt,
    pub(super) molar_mass: NodeId,
}

impl ByPublished<'_> {
    /// Reads an unknown's composition from its density, corrected for what the run leaves uncorrected in it: published
    /// densities hold in vacuum. Where the run asks for a reference temperature, the density is brought to it, and the
    /// composition by volume holds there.
    ///
    /// # Errors
    /// A problem, where the temperature or the density lies outside the published values.
    pub(super) fn read(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        (name, density): (&str, &mut DensityResult),
        bringing: Option<&Bringing<'_>>,
    ) -> Result<Composition, Problem> {
        let label = &Label::from(name);
        let t = density.liquid;
        if !self.salt.temperatures.contains(&ws.value(t)) {
            return Err(self.temperature_outside(ws, name, density));
        }
        let rho = corrected(ws, label, density.density);
        let at = |w| self.salt.density_at(w, ws.value(t));
        let (low, high) = (at(0.0), at(self.salt.largest_mass_fraction));
        if !(low..=high).contains(&ws.value(rho)) {
            return Err(self.density_outside(ws, (name, density), (rho, low, high)));
        }
        let w = self.mass_percent(ws, published, label, (rho, t));
        let known = (Scale::MassPercent, w);
        let Some(bringing) = bringing else {
            return Ok(composition::complete(
                ws,
                label,
                known,
                Some(rho),
                self.molar_mass,
            ));
        };
        let at = bringing.bring(ws, published, (label, rho), (self.salt, w), t);
        let at = at.ok_or_else(|| self.temperature_outside(ws, name, density))?;
        density.at_reference = Some(at);
        Ok(composition::complete(
            ws,
            label,
            known,
            Some(at.density),
            self.molar_mass,
        ))
    }

    /// Returns the mass percent, by the published formula solved for it.
    fn mass_percent(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        label: &Label,
        (rho, t): (NodeId, NodeId),
    ) -> NodeId {
        let salt = self.salt;
        let u = salt.standard_uncertainty_at(ws.value(rho), ws.value(t));
        let title = Title::new(
            format!("error of the published density of {label}"),
            Symbol::labelled("δ", label),
            &Unit::GRAM_PER_MILLILITRE,
        );
        let error = published_error(ws, title, u);
        let water = published.water(ws, t);
        let growth = published.growth(ws, salt, t);
        let title = Title::new(
            format!("relative difference in density of {label} from water"),
            Symbol::labelled("q", label),
            &Unit::ONE,
        );
        let density = Expr::conversion(&Unit::GRAM_PER_MILLILITRE, &Unit::KILOGRAM_PER_CUBIC_METRE)
            * (Expr::from(rho) - error);
        let lighter = ws.calculate(title, Expr::number(1.0) - Expr::from(water) / density);
        let names = ["first", "second", "third"];
        let kinds = ["2", "1", "0"];
        let [a, b, c] = salt.inverse_coefficients(water, growth, lighter, t);
        let mut put = |i: usize, formula: Expr| {
            let title = Title::new(
                format!(
                    "{} coefficient of the equation for the mass fraction of {label}",
                    names[i]
                ),
                Symbol::new("K", kinds[i], label),
                &Unit::KILOGRAM_PER_CUBIC_METRE,
            );
            ws.calculate(title.published(brine::SOURCE), formula)
        };
        let (a, b, c) = (put(0, a), put(1, b), put(2, c));
        let fraction = brine::mass_fraction(a, b, c);
        ws.calculate(
            composition::title(Scale::MassPercent, label),
            Expr::exactly(100.0, &Unit::PERCENT) * fraction,
        )
    }

    fn problem(&self, name: &str, density: &DensityResult, headline: String) -> Problem {
        let entry = density.replicates.iter().find(|r| r.left_out.is_none());
        let entry = entry.map_or(density.entry.as_str(), |replicate| replicate.entry.as_str());
        let span = self.run.span_of(entry).or_else(|| {
            let solution = self.run.solutions.iter().find(|s| s.name.value == name)?;
            Some(&solution.name.entry.span)
        });
        Code::OutsidePublishedRange
            .error(headline)
            .at(entry, span.cloned())
    }

    fn density_outside(
        &self,
        ws: &Worksheet,
        (name, density): (&str, &DensityResult),
        (rho, low, high): (NodeId, f64, f64),
    ) -> Problem {
        let (t, salt) = (ws.value(density.liquid), self.salt);
        let headline = format!(
            "The density of {name} lies outside the published densities of {} solutions at {t:.1} °C.",
            salt.name
        );
        self.problem(name, density, headline)
            .read(format!("{:.4} g/mL", ws.value(rho)))
            .right(format!(
                "{low:.4} g/mL to {high:.4} g/mL at that temperature (0 % to {:.2} % by mass); check that density and temperature are those of this liquid",
                100.0 * salt.largest_mass_fraction
            ))
    }

    fn temperature_outside(&self, ws: &Worksheet, name: &str, density: &DensityResult) -> Problem {
        let range = &self.salt.temperatures;
        let headline = format!(
            "The temperature of {name} lies outside the published densities of {} solutions.",
            self.salt.name
        );
        self.problem(name, density, headline)
            .read(format!("{:.1} °C", ws.value(density.liquid)))
            .right(format!("{} °C to {} °C", range.start(), range.end()))
    }
}
