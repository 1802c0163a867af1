//! The compositions of unknowns: by the run's own calibration, by published densities, or by an earlier calibration.

use crate::bench::reference::brine;
use crate::bench::worksheet::Label;
use crate::problem::Code;

use super::apart::Apart;
use super::by_earlier::{ByEarlier, EarlierResult};
use super::by_published::ByPublished;
use super::calibration::Calibrated;
use super::read_back::{Read, by_refused_line, read_back};
use super::reference_temperature::{Bringing, Liquid};
use super::{
    Bench, CalibrationResult, DensityResult, LeftOut, PublishedShape, SolutionResult, composition,
};

impl Bench<'_> {
    /// Reads the unknowns' compositions back, at the reference temperature where there is one, and by the line asked for
    /// where another is relied on.
    pub(super) fn read_back(
        &mut self,
        solutions: &mut [SolutionResult],
        (lines, shape): (&Calibrated, Option<&PublishedShape>),
        (bringing, apart): (Option<&Bringing<'_>>, Option<&Apart<'_>>),
    ) {
        let calibration = &lines.relied_on;
        let shaped = shape.and_then(|shape| calibration.beside(&self.ws, shape));
        for (i, solution) in solutions
            .iter_mut()
            .enumerate()
            .filter(|(_, s)| s.is_unknown())
        {
            let Some(density) = &mut solution.density else {
                continue;
            };
            let name = &solution.name;
            solution.left_out = shaped.as_ref().and_then(|shaped| {
                let shaped = (shaped, self.run.report.coverage);
                LeftOut::new(&mut self.ws, calibration, shaped, name, density.density)
            });
            let departure = solution.left_out.and_then(|left_out| left_out.counted);
            let found = if let Some(bringing) = bringing {
                let unknown = (i, &Label::from(name), (density.density, density.liquid));
                let line = (calibration.curve(&self.ws), departure);
                let found = bringing.read_back(&mut self.ws, &mut self.published, line, unknown);
                found.map(|(at, composition)| {
                    density.at_reference = Some(at);
                    composition
                })
            } else {
                if let Some(apart) = apart {
                    self.lacks_for_temperature(apart, calibration, name, density);
                }
                let rho = density.density;
                let read = Read {
                    density: density.compared(),
                    departure,
                };
                let curve = calibration.curve(&self.ws);
                read_back(&mut self.ws, curve, name, read).map(|x| {
                    let known = (calibration.against, x);
                    composition::complete(&mut self.ws, name, known, Some(rho), self.molar_mass)
                })
            };
            let plain = Read {
                density: density.compared(),
                departure: None,
            };
            solution.by_refused_line = lines
                .refused
                .as_ref()
                .and_then(|line| by_refused_line(&mut self.ws, line, name, plain));
            match found {
                Ok(composition) => solution.composition = composition,
                Err(mut problem) => {
                    problem.span = Some(self.run.solutions[i].name.entry.span.clone());
                    self.problems.push(problem);
                }
            }
        }
    }

    /// Reads the unknowns' compositions from published densities, where the run asks for it.
    pub(super) fn read_from_published(
        &mut self,
        solutions: &mut [SolutionResult],
        bringing: Option<&Bringing<'_>>,
    ) {
        let Some(wanted) = &self.run.from_published else {
            return;
        };
        let Some(salt) = self.salt else {
            let headline = format!(
                "No published densities of {} solutions are available.",
                self.run.solute.name.value
            );
            let (name, span) = (wanted.entry.name.clone(), wanted.entry.span.clone());
            let problem = Code::NoPublishedDensity.error(headline);
            self.problems
                .push(problem.at(name, Some(span)).right(format!(
                    "{}, or solutions of known composition to calibrate with",
                    brine::names()
                )));
            return;
        };
        let by = ByPublished {
            run: self.run,
            salt,
            molar_mass: self.molar_mass,
        };
        for solution in solutions.iter_mut().filter(|s| s.is_unknown()) {
            let Some(density) = &mut solution.density else {
                continue;
            };
            let of = (solution.name.as_str(), density);
            match by.read(&mut self.ws, &mut self.published, of, bringing) {
                Ok(composition) => solution.composition = composition,
                Err(problem) => self.problems.push(problem),
            }
        }
    }

    /// Reads the unknowns' compositions from the calibration of an earlier report, where the run asks for it.
    pub(super) fn read_from_earlier(
        &mut self,
        solutions: &mut [SolutionResult],
    ) -> Option<EarlierResult> {
        let (run, molar_mass) = (self.run, self.molar_mass);
        let earlier = run.earlier_calibration.as_ref()?;
        let on_worksheet = EarlierResult::new(&mut self.ws, earlier, self.salt.is_some());
        let to = on_worksheet.temperature;
        let by = ByEarlier {
            run,
            molar_mass,
            earlier,
            on_worksheet: &on_worksheet,
            bringing: self
                .salt
                .map(|salt| Bringing::to(run, salt, molar_mass, to)),
        };
        if let Err(problem) = by.of_this_salt() {
            self.problems.push(problem);
            return None;
        }
        for (i, solution) in solutions
            .iter_mut()
            .enumerate()
            .filter(|(_, s)| s.is_unknown())
        {
            let Some(density) = &mut solution.density else {
                continue;
            };
            let of = (i, solution.name.as_str());
            match by.read(&mut self.ws, &mut self.published, of, density) {
                Ok(composition) => solution.composition = composition,
                Err(mut problem) => {
                    problem.span = Some(run.solutions[i].name.entry.span.clone());
                    self.problems.push(problem);
                }
            }
        }
        Some(on_worksheet)
    }

    /// What an unknown lacks for its temperature: by the composition that its density as measured has on the line.
    fn lacks_for_temperature(
        &mut self,
        apart: &Apart<'_>,
        calibration: &CalibrationResult,
        name: &str,
        density: &mut DensityResult,
    ) {
        let (ws, label) = (&mut self.ws, Label::from(name).state("at first"));
        let measured = Read {
            density: density.density,
            departure: None,
        };
        let curve = calibration.curve(ws);
        let Ok(x) = read_back(ws, curve, &label, measured) else {
            return;
        };
        let known = (calibration.against, x);
        let rho = Some(density.density);
        let composition = composition::complete(ws, &label, known, rho, self.molar_mass);
        if let (Some(salt), Some(w)) = (self.salt, composition.mass_percent) {
            let (published, allowances) = (&mut self.published, &mut self.instruments.allowances);
            let liquid = Liquid::Brine(salt, w);
            apart.neglect(ws, published, allowances, &name.into(), density, liquid);
        }
    }
}
