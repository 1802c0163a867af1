//! Densities brought to one temperature, by the published change of density with temperature.
//!
//! What is added is the difference of two published densities at the measured composition, so that an error common to
//! both falls out; what is left of it enters as an uncertainty of the temperature coefficient.
//!
//! An unknown's change of density depends on its composition, which is only known from its density, so it is found in
//! passes: each takes the composition of the one before. Two or three leave less than a ten-thousandth of its uncertainty.
//! Every pass stands on the worksheet, so that sensitivities are exact and the appendix can be followed by hand.

use crate::bench::quantity::Unit;
use crate::bench::quantity::rounding::without_last_zeros;
use crate::bench::reference::brine::{self, Salt};
use crate::bench::reference::water;
use crate::bench::runfile::model::RunFile;
use crate::bench::worksheet::{Expr, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::allowances::published_error;
use super::composition::{self, Composition};
use super::instruments::add_reading;
use super::published::Published;
use super::read_back::{Curve, Read, read_back};
use super::{Preparation, SolutionResult};

/// A density brought to the reference temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtReference {
    /// What temperature adds to it, g/mL.
    pub change: NodeId,
    /// The density at the reference temperature, g/mL.
    pub density: NodeId,
    /// The temperature, °C.
    pub temperature: NodeId,
    /// Where the change is published.
    pub source: &'static str,
}

/// What a density is brought to another temperature by.
#[derive(Debug, Clone, Copy)]
pub(super) enum Liquid<'a> {
    /// Pure water.
    Water,
    /// A solution of a salt, of this mass percent.
    Brine(&'a Salt, NodeId),
}

/// Brings a density (g/mL) from one temperature to another (both °C); `None` if the published values do not reach.
pub(super) fn bring(
    ws: &mut Worksheet,
    published: &mut Published,
    label: &Label,
    density: NodeId,
    liquid: Liquid<'_>,
    (from, to): (NodeId, NodeId),
) -> Option<AtReference> {
    let shown = label.state(&format!("at {} °C", write_plain(ws.value(to))));
    let (change, source) = change(ws, published, (label, &shown), liquid, (from, to))?;
    let title = Title::new(
        format!("density of {shown}"),
        Symbol::labelled("ρ", &shown),
        &Unit::GRAM_PER_MILLILITRE,
    );
    Some(AtReference {
        change,
        density: ws.calculate(title, Expr::from(density) + change),
        temperature: to,
        source,
    })
}

/// Returns the published change of a density, g/mL, from one temperature to another (both °C), and its source; `None`
/// if the published values do not reach. `shown` names the liquid at the other temperature.
pub(super) fn change(
    ws: &mut Worksheet,
    published: &mut Published,
    (label, shown): (&Label, &Label),
    liquid: Liquid<'_>,
    (from, to): (NodeId, NodeId),
) -> Option<(NodeId, &'static str)> {
    let (t, target) = (ws.value(from), ws.value(to));
    let (there, here, u, source) = match liquid {
        Liquid::Water => {
            let range = &water::TEMPERATURES;
            if !range.contains(&t) || !range.contains(&target) {
                return None;
            }
            let mut at = |t, label: &Label| {
                let title = Title::new(
                    format!("published density of {label}"),
                    Symbol::new("ρ", "pub", label),
                    &Unit::GRAM_PER_MILLILITRE,
                );
                ws.calculate(title.published(water::SOURCE), water::density(t))
            };
            let (there, here) = (at(to, shown), at(from, &label.state("as measured")));
            (there, here, water::STANDARD_UNCERTAINTY, water::SOURCE)
        }
        Liquid::Brine(salt, w) => {
            let value = ws.value(w) / 100.0;
            if !salt.covers(value, t) || !salt.covers(value, target) {
                return None;
            }
            let there = published.density(ws, shown, salt, w, to);
            let here = published.density(ws, label, salt, w, from);
            let u = brine::TEMPERATURE_STANDARD_UNCERTAINTY * (target - t).abs();
            (there, here, u, brine::SOURCE)
        }
    };
    let error = published_error(
        ws,
        Title::new(
            format!("error of the published change with temperature of {shown}"),
            Symbol::new("δ", "t", shown),
            &Unit::GRAM_PER_MILLILITRE,
        ),
        u,
    );
    let title = Title::new(
        format!("published change of density of {shown}"),
        Symbol::labelled("Δρ", shown),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let formula = Expr::from(there) - here;
    let change = ws.calculate(title, Expr::Sum(vec![formula, error.into()]));
    Some((change, source))
}

/// Returns a density (g/mL) corrected for the effects that its run leaves uncorrected, if there are any.
pub(super) fn corrected(ws: &mut Worksheet, label: &Label, density: NodeId) -> NodeId {
    if ws.uncertainty(density).bias == 0.0 {
        return density;
    }
    let title = Title::new(
        format!("correction for effects not corrected elsewhere, {label}"),
        Symbol::new("Δρ", "corr", label),
        &Unit::GRAM_PER_MILLILITRE,
    );
    let correction = ws.correction(title, &[(density, 1.0)]);
    let title = Title::new(
        format!("density of {label}, corrected"),
        Symbol::new("ρ", "corr", label),
        &Unit::GRAM_PER_MILLILITRE,
    );
    ws.calculate(title, Expr::from(density) + correction)
}

fn write_plain(value: f64) -> String {
    without_last_zeros(&format!("{value:.2}")).to_owned()
}

/// The densities of a run brought to the temperature that it asks for.
pub(super) struct Bringing<'a> {
    run: &'a RunFile,
    salt: Option<&'static Salt>,
    molar_mass: NodeId,
    to: NodeId,
}

impl<'a> Bringing<'a> {
    /// `None` if the run does not ask for it.
    pub(super) fn new(
        ws: &mut Worksheet,
        run: &'a RunFile,
        salt: Option<&'static Salt>,
        molar_mass: NodeId,
    ) -> Option<Self> {
        let reading = run.allow_for.density_at.as_ref()?;
        let title = Title::new("reference temperature", "t_ref", &Unit::CELSIUS);
        Some(Self {
            run,
            salt,
            molar_mass,
            to: add_reading(ws, title, reading, Vec::new()),
        })
    }

    /// Brings densities to another temperature (°C) than that of the run file.
    pub(super) fn to(
        run: &'a RunFile,
        salt: &'static Salt,
        molar_mass: NodeId,
        temperature: NodeId,
    ) -> Self {
        Self {
            run,
            salt: Some(salt),
            molar_mass,
            to: temperature,
        }
    }

    /// Brings a density (g/mL) from a temperature (°C) to this one, for a solution of this salt and mass percent. `None`
    /// outside the range of the published values.
    pub(super) fn bring(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        (label, density): (&Label, NodeId),
        (salt, w): (&Salt, NodeId),
        from: NodeId,
    ) -> Option<AtReference> {
        let liquid = Liquid::Brine(salt, w);
        bring(ws, published, label, density, liquid, (from, self.to))
    }

    /// Brings the densities of solutions of known composition, and states their compositions there; a solution whose mass
    /// percent is not known stays as it is.
    pub(super) fn bring_known(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        solutions: &mut [SolutionResult],
        problems: &mut Vec<Problem>,
    ) {
        for (i, solution) in solutions.iter_mut().enumerate() {
            let Some(density) = &mut solution.density else {
                continue;
            };
            let liquid = match (&solution.preparation, solution.composition.mass_percent) {
                (Preparation::Pure, _) => Liquid::Water,
                (Preparation::Unknown, _) | (_, None) => continue,
                (_, Some(w)) => {
                    let Some(salt) = self.salt else {
                        problems.push(self.no_model());
                        return;
                    };
                    Liquid::Brine(salt, w)
                }
            };
            let name = &Label::from(&solution.name);
            match bring(
                ws,
                published,
                name,
                density.density,
                liquid,
                (density.liquid, self.to),
            ) {
                Some(at) => {
                    density.at_reference = Some(at);
                    if let Liquid::Brine(..) = liquid {
                        solution.composition = composition::at_density(
                            ws,
                            name.state(&format!("at {} °C", write_plain(ws.value(self.to)))),
                            &solution.composition,
                            at.density,
                            self.molar_mass,
                        );
                    }
                }
                None => problems.push(self.out_of_range(i)),
            }
        }
    }

    /// Reads an unknown back from a calibration at the reference temperature.
    ///
    /// The change of its density depends on its composition, which follows from the density: each pass takes the
    /// composition of the pass before. The change differs so little between compositions that an error of a pass is some
    /// hundredfold smaller in the next; passes end where what the next would change no longer tells.
    ///
    /// # Errors
    /// A problem, where the calibration never has that density, or the published values do not reach.
    pub(super) fn read_back(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        (curve, departure): (Curve<'_>, Option<NodeId>),
        (index, name, (density, liquid)): (usize, &Label, (NodeId, NodeId)),
    ) -> Result<(AtReference, Composition), Problem> {
        /// A change of mass percent in its standard uncertainty: a hundredth of it, what the next pass would change, no
        /// longer tells.
        const SETTLED: f64 = 0.01;
        const MOST_PASSES: usize = 8;
        let salt = self.salt.ok_or_else(|| self.no_model())?;
        let mut rho = density;
        let mut last = f64::NAN;
        for pass in 1..=MOST_PASSES {
            let label = name.pass(pass);
            let composition = self.at_density(
                ws,
                curve,
                &label,
                Read {
                    density: rho,
                    departure,
                },
            )?;
            let Some(w) = composition.mass_percent else {
                break;
            };
            let brine = Liquid::Brine(salt, w);
            let at = bring(ws, published, &label, density, brine, (liquid, self.to))
                .ok_or_else(|| self.out_of_range(index))?;
            rho = at.density;
            let change = (ws.value(w) - last).abs();
            last = ws.value(w);
            if change <= (SETTLED * ws.uncertainty(w).standard).max(1e-9) {
                let composition = self.at_density(
                    ws,
                    curve,
                    name,
                    Read {
                        density: rho,
                        departure,
                    },
                )?;
                return Ok((at, composition));
            }
        }
        Err(self.out_of_range(index))
    }

    /// Returns an unknown's composition by a calibration from its density.
    fn at_density(
        &self,
        ws: &mut Worksheet,
        curve: Curve<'_>,
        label: &Label,
        read: Read,
    ) -> Result<Composition, Problem> {
        let known = (curve.against, read_back(ws, curve, label, read)?);
        Ok(composition::complete(
            ws,
            label,
            known,
            Some(read.density),
            self.molar_mass,
        ))
    }

    fn no_model(&self) -> Problem {
        let entry = self.run.allow_for.density_at.as_ref().map(|at| &at.entry);
        let problem = Code::NoTemperatureModel.error(format!(
                "The densities of {} cannot be converted to another temperature: no published densities of its solutions are available.",
                self.run.solute.name.value
            ));
        match entry {
            Some(entry) => problem.at_entry(entry),
            None => problem,
        }
        .right(format!("{}, or no `density_at`", brine::names()))
    }

    fn out_of_range(&self, solution: usize) -> Problem {
        let name = &self.run.solutions[solution].name;
        Code::OutsidePublishedRange.error(format!(
                "The density of {} cannot be converted to another temperature: its composition or a temperature lies outside the published values.",
                name.value
            ))
        .at_entry(&name.entry)
        .right("weighings near that temperature, or no `density_at`")
    }
}
