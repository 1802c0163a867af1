//! From what a run file says to results: preparation, dilution, density, composition, calibration, unknowns, comparison.
//!
//! All quantities stand on one [`Worksheet`], so that readings and instruments shared between results keep them
//! correlated. [`reduce`] gives the whole, or every problem that only the reduction can see.

mod adjustment;
mod allowances;
mod apart;
mod bands;
mod by_earlier;
mod by_published;
mod calibration;
mod calibration_stated;
mod choice;
mod claimed;
mod comparison;
mod comparison_stated;
pub mod composition;
mod conformity;
pub mod coverage;
mod coverage_factor;
mod cumulative;
mod densities;
mod density;
mod density_readings;
mod effect;
mod instrument_scale;
pub mod instruments;
mod judgement;
mod known;
mod loads;
pub mod monte_carlo;
mod one_empty;
mod preparation;
mod published;
mod pycnometer;
mod read_back;
mod reference_temperature;
mod replicates;
pub mod results;
mod roots;
mod shape;
mod solute;
mod spread;
mod stated;
mod strength;
mod unknowns;
mod ware;

pub use adjustment::{Adding, AdjustmentResult};
pub use bands::Bands;
pub use by_earlier::EarlierResult;
pub use calibration::{CalibrationPoint, CalibrationResult};
pub use choice::{Choice, Departure};
pub use claimed::Target;
pub use comparison::{Comparison, NotCompared};
pub use composition::Composition;
pub use conformity::{Conformity, Conforms};
pub use coverage_factor::coverage_factor;
pub use density::{CumulativePoint, CumulativeResult, DensityResult, Walk};
pub use effect::Effect;
pub use judgement::{
    Agreement, Consistency, Course, Pattern, REFUSAL_LEVEL, Test, points_reached,
    residual_influences,
};
pub use known::KnownResult;
pub use one_empty::has_one_empty;
pub use preparation::Preparation;
pub use read_back::{LeftOut, fieller};
pub use reference_temperature::AtReference;
pub use replicates::{ReplicateResult, Variation};
pub use shape::PublishedShape;
pub use solute::molar_mass_of;
pub use spread::{Cochran, Grounds, Liquid, OwnSpread, Spread, StatedSpread};
pub use strength::Strength;
pub use ware::{Verdict, WareResult, WareWeighing};

use std::collections::BTreeMap;

use crate::bench::quantity::Unit;
use crate::bench::reference::brine;
use crate::bench::runfile::model::{Origin, Reading, RunFile, Scale};
use crate::bench::worksheet::{NodeId, Title, Worksheet};
use crate::problem::{Code, Problem};
use apart::Apart;
use calibration::Calibrated;
use instruments::Instruments;
use published::Published;
use reference_temperature::Bringing;
use solute::molar_mass;
use strength::Scales;

/// A run, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// Every quantity.
    pub worksheet: Worksheet,
    /// Molar mass of the solute, g/mol.
    pub molar_mass: NodeId,
    /// Purity of the salt, where it is stated.
    pub purity: Option<NodeId>,
    /// Density of the air, where weighings are corrected by it, g/mL.
    pub air: Option<NodeId>,
    /// What was not corrected, by the quantities neglected.
    pub neglected: BTreeMap<NodeId, Effect>,
    /// The published density model of the solute, if any.
    pub salt: Option<&'static brine::Salt>,
    /// Ware calibrated, in the order of the run file.
    pub ware: Vec<WareResult>,
    /// The solutions, in the order of the run file.
    pub solutions: Vec<SolutionResult>,
    /// The estimates of how single weighings, fillings and readings scatter.
    pub spreads: Vec<Spread>,
    /// The customary repeatabilities of apparatus that states none, counted where nothing else shows the scatter of what was
    /// measured once; by the apparatus, an index into the run's, in its unit.
    pub customary: BTreeMap<usize, f64>,
    /// The calibration that the results rely on, if one is wanted.
    pub calibration: Option<CalibrationResult>,
    /// The line that the run file asks for, if the points refuse it and another is relied on.
    pub refused_line: Option<CalibrationResult>,
    /// The published density of the salt's solutions at the temperature of the calibration's points, if there is one.
    pub published_shape: Option<PublishedShape>,
    /// The scale on which unknowns are read from published densities, where the run asks for that in place of a calibration.
    pub from_published: Option<Scale>,
    /// The calibration of an earlier report, where unknowns are read from it.
    pub earlier: Option<EarlierResult>,
    /// Results judged by the limits of the run.
    pub conformity: Vec<Conformity>,
    /// The salt or water that brings solutions to the strengths wanted.
    pub adjustments: Vec<AdjustmentResult>,
    /// Results compared with known values.
    pub known: Vec<KnownResult>,
    /// What the claimed results are of, in their order.
    pub claimed: Vec<Target>,
}

impl Reduction {
    /// Returns the densities of the solutions that were weighed, in the order of the run file.
    pub fn densities(&self) -> impl Iterator<Item = &DensityResult> {
        let solutions = self.solutions.iter();
        solutions.filter_map(|solution| solution.density.as_ref())
    }

    /// Returns the unknowns, in the order of the run file.
    pub fn unknowns(&self) -> impl Iterator<Item = &SolutionResult> {
        let solutions = self.solutions.iter();
        solutions.filter(|solution| solution.is_unknown())
    }

    /// Returns the scale on which unknowns are answered, if anything answers them.
    pub fn against(&self) -> Option<Scale> {
        let calibration = self.calibration.as_ref().map(|c| c.against);
        let earlier = self.earlier.as_ref().map(|earlier| earlier.against);
        calibration.or(self.from_published).or(earlier)
    }

    /// Returns the lowest and highest composition of the points that unknowns are read from, where a composition on
    /// their scale lies beyond them.
    pub fn beyond(&self, x: f64) -> Option<(f64, f64)> {
        let calibration = self.calibration.as_ref();
        let range = calibration.map(|calibration| calibration.range(&self.worksheet));
        let range = range.or(self.earlier.as_ref().map(|earlier| earlier.range));
        range.filter(|(low, high)| !(*low..=*high).contains(&x))
    }
}

/// A solution, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct SolutionResult {
    /// Its name.
    pub name: String,
    /// What went into it.
    pub preparation: Preparation,
    /// Its density, where it was weighed.
    pub density: Option<DensityResult>,
    /// Its composition: by preparation, or for an unknown by the calibration.
    pub composition: Composition,
    /// An unknown's composition by [`Reduction::refused_line`], on the calibration's scale.
    pub by_refused_line: Option<NodeId>,
    /// Of an unknown: the departure of the published density from the line relied on; `None` if it is negligible or not
    /// known.
    pub left_out: Option<LeftOut>,
    /// The comparison with the published density, or why there is none; none at all without a density.
    pub comparison: Option<Result<Comparison, NotCompared>>,
    /// Its strength on the trade's scales, where it is a sodium chloride brine of known density and mass percent.
    pub strength: Option<Strength>,
}

impl SolutionResult {
    /// Returns whether its composition is to be found.
    pub fn is_unknown(&self) -> bool {
        self.preparation == Preparation::Unknown
    }
}

/// Reduces a run.
///
/// # Errors
/// Every problem that shows only in reducing: ware without listed limits of error, a formula that cannot be read, a
/// dilution of a solution whose concentration is not known, no calibration, an unknown off the curve.
pub fn reduce(run: &RunFile) -> Result<Reduction, Vec<Problem>> {
    let mut ws = Worksheet::new();
    ws.density_unit = run.report.density_unit;
    let salt = run.solute.salt();
    let molar_mass = molar_mass(&mut ws, &run.solute, salt).map_err(|problem| vec![problem])?;
    let mut stated = |reading: &Option<Reading>, name: &str, symbol: &str| {
        let title = Title::new(name, symbol, &Unit::ONE);
        let reading = reading.as_ref()?;
        Some(instruments::add_reading(
            &mut ws,
            title,
            reading,
            Vec::new(),
        ))
    };
    let proper = preparation::Salt {
        purity: stated(&run.solute.purity, "purity of the salt", "w_pure"),
        moisture: stated(&run.solute.moisture, "moisture of the salt", "w_moist"),
    };
    let mut bench = Bench {
        run,
        ws,
        instruments: Instruments::new(run),
        published: Published::default(),
        problems: Vec::new(),
        salt,
        molar_mass,
    };
    let ware = bench.ware();
    let (densities, spreads) = densities::all(&mut bench.ws, &mut bench.instruments);
    let mut solutions = bench.solutions(densities, &proper);
    bench.problems.append(&mut bench.instruments.problems);
    bench.compare(&mut solutions);
    let bringing = Bringing::new(&mut bench.ws, run, salt, molar_mass);
    if let (Some(bringing), true) = (&bringing, bench.problems.is_empty()) {
        bringing.bring_known(
            &mut bench.ws,
            &mut bench.published,
            &mut solutions,
            &mut bench.problems,
        );
    }
    let apart = bench.temperatures_apart(&mut solutions);
    let (shape, calibrated) = bench.calibrate(&solutions).unzip();
    let published_shape = shape.flatten();
    if let Some(calibrated) = &calibrated {
        let lines = (calibrated, published_shape.as_ref());
        bench.read_back(&mut solutions, lines, (bringing.as_ref(), apart.as_ref()));
    }
    bench.read_from_published(&mut solutions, bringing.as_ref());
    let earlier = bench.read_from_earlier(&mut solutions);
    let (calibration, refused_line) = calibrated.map_or((None, None), |calibrated| {
        (Some(calibrated.relied_on), calibrated.refused)
    });
    bench.name_strengths(&mut solutions);
    let (conformity, adjustments, known) = bench.judge(&proper, &solutions);
    let mut claimed = Vec::new();
    if bench.problems.is_empty() {
        let (calibration, problems) = (calibration.as_ref(), &mut bench.problems);
        claimed = claimed::targets(run, &solutions, calibration, problems);
    }
    if !bench.problems.is_empty() {
        return Err(bench.problems);
    }
    Ok(Reduction {
        worksheet: bench.ws,
        molar_mass,
        purity: proper.purity,
        air: bench.instruments.air_used(),
        neglected: bench.instruments.allowances.neglected,
        customary: bench.instruments.customary,
        ware,
        salt,
        solutions,
        spreads,
        calibration,
        refused_line,
        published_shape,
        from_published: run.from_published.as_ref().map(|scale| scale.value),
        earlier,
        conformity,
        adjustments,
        known,
        claimed,
    })
}

/// A run in the course of its reduction.
struct Bench<'a> {
    run: &'a RunFile,
    ws: Worksheet,
    instruments: Instruments<'a>,
    published: Published,
    problems: Vec<Problem>,
    salt: Option<&'static brine::Salt>,
    molar_mass: NodeId,
}

impl Bench<'_> {
    /// Calibrates ware, so that what follows goes by the volumes found.
    fn ware(&mut self) -> Vec<WareResult> {
        let wanted = self.run.ware_calibrations.iter();
        wanted
            .filter_map(|wanted| ware::calibrate(&mut self.ws, &mut self.instruments, wanted))
            .collect()
    }

    /// Returns the solutions, with what of their composition is known by preparation.
    fn solutions(
        &mut self,
        mut densities: Vec<Option<DensityResult>>,
        proper: &preparation::Salt,
    ) -> Vec<SolutionResult> {
        let run = self.run;
        let mut solutions: Vec<Option<SolutionResult>> =
            run.solutions.iter().map(|_| None).collect();
        for i in parents_first(run) {
            let name = &run.solutions[i].name.value;
            let origin = &run.solutions[i].origin;
            let parent = match origin {
                Origin::Dilution { aliquot, .. } => {
                    let parent = solutions[aliquot.of.value].as_ref();
                    let gamma = parent.and_then(|p| p.composition.mass_concentration);
                    if let (None, Some(parent)) = (gamma, parent) {
                        self.problems
                            .push(preparation::unknown_parent(run, i, &parent.name));
                    }
                    gamma
                }
                _ => None,
            };
            let (ws, instruments) = (&mut self.ws, &mut self.instruments);
            let (preparation, known) =
                preparation::prepare(ws, instruments, name, origin, proper, parent);
            let density = densities[i].take();
            let rho = density.as_ref().map(|d| d.density);
            let composition = known.map_or_else(Composition::default, |known| {
                composition::complete(ws, name, known, rho, self.molar_mass)
            });
            solutions[i] = Some(SolutionResult {
                name: name.clone(),
                preparation,
                density,
                composition,
                comparison: None,
                by_refused_line: None,
                left_out: None,
                strength: None,
            });
        }
        solutions.into_iter().flatten().collect()
    }

    /// Judges solutions by their limits, calculates adjustments, and compares results with known values. Does nothing if
    /// there are problems already.
    fn judge(
        &mut self,
        proper: &preparation::Salt,
        solutions: &[SolutionResult],
    ) -> (Vec<Conformity>, Vec<AdjustmentResult>, Vec<KnownResult>) {
        if !self.problems.is_empty() {
            return Default::default();
        }
        let (ws, run, problems) = (&mut self.ws, self.run, &mut self.problems);
        let conformity = conformity::judge(ws, run, solutions, problems);
        let salt = (proper, self.salt);
        let adjustments = adjustment::adjust(ws, run, salt, solutions, problems);
        let known = known::compare(ws, run, solutions, problems);
        (conformity, adjustments, known)
    }

    /// Compares densities with published ones at the temperature of the liquid.
    fn compare(&mut self, solutions: &mut [SolutionResult]) {
        let ws = &mut self.ws;
        for solution in solutions {
            let Some(density) = &solution.density else {
                continue;
            };
            let (name, rho, t) = (&solution.name, density.density, density.liquid);
            let w = solution.composition.mass_percent;
            solution.comparison = match (&solution.preparation, self.salt, w) {
                (Preparation::Pure, _, _) => Some(comparison::with_water(ws, name, rho, t)),
                (Preparation::Unknown, _, _) => None,
                (_, None, _) => Some(Err(NotCompared::NoModel)),
                (_, _, None) => Some(Err(NotCompared::NoComposition)),
                (_, Some(salt), Some(w)) => {
                    let published = &mut self.published;
                    let brine = (salt, w);
                    Some(comparison::with_brine(ws, name, rho, t, brine, published))
                }
            };
        }
    }

    /// Returns what the points of a calibration lack for temperatures apart, where the run does not bring them to one.
    fn temperatures_apart(&mut self, solutions: &mut [SolutionResult]) -> Option<Apart<'static>> {
        self.run.calibration.as_ref()?;
        if self.run.allow_for.density_at.is_some() || !self.problems.is_empty() {
            return None;
        }
        let apart = Apart::new(&mut self.ws, self.salt, solutions)?;
        let allowances = &mut self.instruments.allowances;
        apart.of_known(&mut self.ws, &mut self.published, allowances, solutions);
        Some(apart)
    }

    /// Returns the calibration, where one is wanted and nothing is amiss so far, and the published shape beside it.
    fn calibrate(
        &mut self,
        solutions: &[SolutionResult],
    ) -> Option<(Option<PublishedShape>, Calibrated)> {
        let wanted = self.run.calibration.as_ref()?;
        if !self.problems.is_empty() {
            return None;
        }
        let points = calibration_points(&mut self.ws, solutions, wanted.against);
        let shape = self.salt.and_then(|salt| {
            PublishedShape::new(&self.ws, salt, self.molar_mass, &points, solutions)
        });
        let unknowns: Vec<NodeId> = solutions
            .iter()
            .filter(|s| s.preparation == Preparation::Unknown)
            .filter_map(|s| Some(s.density.as_ref()?.density))
            .collect();
        let beside = (shape.as_ref(), self.run.report.coverage);
        match calibration::calibrate(&mut self.ws, wanted, points, &unknowns, beside) {
            Ok(found) => Some((shape, found)),
            Err(problem) => {
                self.problems.push(problem);
                None
            }
        }
    }

    /// States brines on the trade's scales.
    fn name_strengths(&mut self, solutions: &mut [SolutionResult]) {
        if !self.problems.is_empty() {
            return;
        }
        let asked = &self.run.report.scales;
        let Some(first) = asked.first() else {
            return;
        };
        let wanted = asked.iter().map(|scale| scale.value).collect();
        let Some(scales) = Scales::new(&mut self.ws, self.salt, wanted) else {
            let problem = Code::NoSuchScale
                .error("The trade units of strength are for sodium chloride brine.");
            self.problems.push(
                problem
                    .at_entry(&first.entry)
                    .right("no `scales`, or sodium chloride as the solute"),
            );
            return;
        };
        for solution in solutions {
            solution.strength = scales.strength(&mut self.ws, &mut self.published, solution);
        }
    }
}

/// Returns every solution after the one it is a dilution of. (The reader of run files lets no ring through.)
fn parents_first(run: &RunFile) -> Vec<usize> {
    let parent = |i: usize| match &run.solutions[i].origin {
        Origin::Dilution { aliquot, .. } => Some(aliquot.of.value),
        _ => None,
    };
    let mut done = vec![false; run.solutions.len()];
    let mut order = Vec::with_capacity(done.len());
    for i in 0..done.len() {
        let mut chain = Vec::new();
        let mut next = Some(i);
        while let Some(j) = next.filter(|j| !done[*j]) {
            done[j] = true;
            chain.push(j);
            next = parent(j);
        }
        order.extend(chain.into_iter().rev());
    }
    order
}

/// Solutions of known composition and density; pure water stands at zero.
fn calibration_points(
    ws: &mut Worksheet,
    solutions: &[SolutionResult],
    against: Scale,
) -> Vec<CalibrationPoint> {
    let mut points = Vec::new();
    for (i, solution) in solutions.iter().enumerate() {
        let Some(density) = &solution.density else {
            continue;
        };
        let x = match solution.preparation {
            Preparation::Unknown => None,
            Preparation::Pure => {
                let title = composition::title(against, &solution.name);
                Some(ws.quoted(title, "0", Vec::new()))
            }
            _ => solution.composition.get(against),
        };
        if let Some(x) = x {
            points.push(CalibrationPoint {
                solution: i,
                x,
                y: density.compared(),
            });
        }
    }
    points
}
