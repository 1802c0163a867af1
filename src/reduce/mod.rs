//! From what a run file says to results: preparation, dilution, density, composition, calibration, unknowns, comparison.
//!
//! All quantities stand on one [`Worksheet`], so that readings and instruments shared between results keep them
//! correlated. [`reduce`] gives the whole, or every problem that only the reduction can see.

mod bands;
mod calibration;
mod comparison;
pub mod composition;
mod density;
pub mod instruments;
mod judgement;
pub mod monte_carlo;
mod preparation;
mod read_back;
mod replicates;
pub mod results;

pub use bands::Bands;
pub use calibration::{CalibrationPoint, CalibrationResult};
pub use comparison::{Comparison, NotCompared};
pub use composition::Composition;
pub use density::{DensityResult, ReplicateResult};
pub use judgement::Test;
pub use preparation::Preparation;
pub use read_back::fieller;
pub use replicates::{Pooled, Variation};

use crate::fit::Model;
use crate::problem::Problem;
use crate::reference::{atomic_weights, brine};
use crate::runfile::model::{Origin, RunFile, Scale, Solute};
use crate::worksheet::{Component, Distribution, Expr, Input, NodeId, Title, Worksheet, tex_text};
use instruments::Instruments;

/// A run, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// Every quantity.
    pub worksheet: Worksheet,
    /// Molar mass of the solute, g/mol.
    pub molar_mass: NodeId,
    /// Purity of the salt, where it is stated.
    pub purity: Option<NodeId>,
    /// The published density model of the solute, if any.
    pub salt: Option<&'static brine::Salt>,
    /// The solutions, in the order of the run file.
    pub solutions: Vec<SolutionResult>,
    /// What the weighings of all solutions tell of their spread, where that is to be used.
    pub pooled: Option<Pooled>,
    /// The calibration, if one is wanted.
    pub calibration: Option<CalibrationResult>,
    /// The curve through the same points, to stand beside a straight line that does not fit them.
    pub curve: Option<CalibrationResult>,
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
    /// An unknown's composition by [`Reduction::curve`], on the calibration's scale.
    pub by_curve: Option<NodeId>,
    /// The comparison with the published density, or why there is none; none at all without a density.
    pub comparison: Option<Result<Comparison, NotCompared>>,
}

/// A symbol with a solution's name as its subscript, TeX.
fn sub(symbol: &str, name: &str) -> String {
    format!("{symbol}_{{{}}}", tex_text(name))
}

/// A symbol with a kind and a solution's name as its subscript, TeX; an empty kind is left out.
fn sub_kind(symbol: &str, kind: &str, name: &str) -> String {
    if kind.is_empty() {
        return sub(symbol, name);
    }
    format!("{symbol}_{{\\mathrm{{{kind}}},{}}}", tex_text(name))
}

/// Reduces a run.
///
/// # Errors
/// Every problem that shows only in reducing: ware without listed limits of error, a formula that cannot be read, a
/// dilution of a solution whose concentration is not known, no calibration, an unknown off the curve.
pub fn reduce(run: &RunFile) -> Result<Reduction, Vec<Problem>> {
    let mut ws = Worksheet::new();
    let mut problems = Vec::new();
    let mut instruments = Instruments::new(run);
    let salt = salt_of(&run.solute);
    let molar_mass = molar_mass(&mut ws, &run.solute, salt).map_err(|problem| vec![*problem])?;
    let purity = run.solute.purity.as_ref().map(|reading| {
        instruments::put(
            &mut ws,
            Title::new("purity of the salt", "P", ""),
            reading,
            Vec::new(),
        )
    });

    let (mut densities, pooled) = density::all(&mut ws, &mut instruments, run);
    let mut solutions: Vec<Option<SolutionResult>> = run.solutions.iter().map(|_| None).collect();
    for i in parents_first(run) {
        let name = &run.solutions[i].name.value;
        let origin = &run.solutions[i].origin;
        let parent = match origin {
            Origin::Dilution { aliquot, .. } => {
                let parent = solutions[aliquot.of.value].as_ref();
                let gamma = parent.and_then(|p| p.composition.mass_concentration);
                if let (None, Some(parent)) = (gamma, parent) {
                    problems.push(unknown_parent(run, i, &parent.name));
                }
                gamma
            }
            _ => None,
        };
        let (preparation, known) =
            preparation::prepare(&mut ws, &mut instruments, name, origin, purity, parent);
        let density = densities[i].take();
        let rho = density.as_ref().map(|d| d.density);
        let composition = known.map_or_else(Composition::default, |known| {
            composition::complete(&mut ws, name, known, rho, molar_mass)
        });
        solutions[i] = Some(SolutionResult {
            name: name.clone(),
            preparation,
            density,
            composition,
            comparison: None,
            by_curve: None,
        });
    }
    let mut solutions: Vec<SolutionResult> = solutions.into_iter().flatten().collect();
    problems.append(&mut instruments.problems);

    compare(&mut ws, salt, &mut solutions);
    let (mut calibration, mut curve) = (None, None);
    if let (Some(wanted), true) = (&run.calibration, problems.is_empty()) {
        let points = calibration_points(&mut ws, &solutions, wanted.against);
        match calibration::calibrate(&mut ws, wanted, points, &solutions) {
            Ok(found) => {
                if found.fitted.model == Model::Straight && found.refused(run.report.coverage) {
                    curve = calibration::curve_beside(&mut ws, &found, &solutions);
                }
                calibration = Some(found);
            }
            Err(problem) => problems.push(*problem),
        }
    }
    if let Some(calibration) = &calibration {
        let lines = (calibration, curve.as_ref());
        problems.extend(read_unknowns(
            &mut ws,
            run,
            lines,
            molar_mass,
            &mut solutions,
        ));
    }
    if problems.is_empty() {
        Ok(Reduction {
            worksheet: ws,
            molar_mass,
            purity,
            salt,
            solutions,
            pooled,
            calibration,
            curve,
        })
    } else {
        Err(problems)
    }
}

/// Compares the densities of solutions of known composition with published ones.
fn compare(
    ws: &mut Worksheet,
    salt: Option<&'static brine::Salt>,
    solutions: &mut [SolutionResult],
) {
    let mut waters = comparison::Waters::new();
    for solution in solutions {
        let Some(density) = &solution.density else {
            continue;
        };
        let (name, rho, t) = (&solution.name, density.density, density.liquid);
        solution.comparison = match (
            &solution.preparation,
            salt,
            solution.composition.mass_percent,
        ) {
            (Preparation::Pure, _, _) => Some(comparison::with_water(ws, name, rho, t)),
            (Preparation::Unknown, _, _) => None,
            (_, None, _) => Some(Err(NotCompared::NoModel)),
            (_, _, None) => Some(Err(NotCompared::NoComposition)),
            (_, Some(salt), Some(w)) => Some(comparison::with_brine(
                ws,
                name,
                rho,
                t,
                (salt, w),
                &mut waters,
            )),
        };
    }
}

/// Reads the unknowns back from the calibration, and from the curve beside it where there is one; gives the problems of
/// those that cannot be.
fn read_unknowns(
    ws: &mut Worksheet,
    run: &RunFile,
    (calibration, curve): (&CalibrationResult, Option<&CalibrationResult>),
    molar_mass: NodeId,
    solutions: &mut [SolutionResult],
) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (i, solution) in solutions.iter_mut().enumerate() {
        let (Preparation::Unknown, Some(density)) = (&solution.preparation, &solution.density)
        else {
            continue;
        };
        let (name, rho) = (&solution.name, density.density);
        match read_back::read_back(ws, calibration, name, rho) {
            Ok(x) => {
                let known = (calibration.against, x);
                solution.composition =
                    composition::complete(ws, name, known, Some(rho), molar_mass);
            }
            Err(mut problem) => {
                problem.place = Some(run.solutions[i].name.entry.place.clone());
                problems.push(*problem);
            }
        }
        // Where the curve has no such density, the straight line's answer stands alone.
        solution.by_curve = curve.and_then(|curve| read_back::by_curve(ws, curve, name, rho));
    }
    problems
}

/// Every solution after the one it is a dilution of. (The reader of run files lets no ring through.)
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
                let exact = Input {
                    digits: Some("0".into()),
                    ..Input::default()
                };
                Some(ws.input(composition::title(against, &solution.name), 0.0, exact))
            }
            _ => solution.composition.on(against),
        };
        if let Some(x) = x {
            points.push(CalibrationPoint {
                solution: i,
                x,
                y: density.density,
            });
        }
    }
    points
}

fn unknown_parent(run: &RunFile, solution: usize, parent: &str) -> Problem {
    let name = &run.solutions[solution].name;
    Problem::error(
        "concentration-not-known",
        format!("`{}` is a dilution of `{parent}`, whose mass concentration is not known", name.value),
    )
    .at(name.entry.name.clone(), Some(name.entry.place.clone()))
    .right(format!(
        "weighings of `{parent}` under `density`, since a solution made by mass needs its density to be pipetted from"
    ))
}

fn salt_of(solute: &Solute) -> Option<&'static brine::Salt> {
    let by_formula = solute
        .formula
        .as_ref()
        .and_then(|formula| brine::salt(&formula.value));
    brine::salt(&solute.name.value).or(by_formula)
}

/// The molar mass: stated, or by the formula from the standard atomic weights.
fn molar_mass(
    ws: &mut Worksheet,
    solute: &Solute,
    salt: Option<&brine::Salt>,
) -> Result<NodeId, Box<Problem>> {
    let title = || Title::new(format!("molar mass of {}", solute.name.value), "M", "g/mol");
    if let Some(stated) = &solute.molar_mass {
        return Ok(instruments::put(ws, title(), stated, Vec::new()));
    }
    let written = solute.formula.as_ref();
    let formula = written
        .map(|f| f.value.as_str())
        .or(salt.map(|s| s.formula))
        .unwrap_or_default();
    let elements = atomic_weights::elements(formula).map_err(|why| {
        let entry = written.map_or(&solute.name.entry, |f| &f.entry);
        Box::new(
            Problem::error(
                "formula-not-read",
                format!("no molar mass follows from the formula: {why}"),
            )
            .at(entry.name.clone(), Some(entry.place.clone()))
            .read(formula)
            .right("a formula such as `NaCl` or `CaCl2·2H2O`, or `molar_mass: 58.44 g/mol`"),
        )
    })?;
    let mut terms = Vec::new();
    for (element, count) in elements {
        let input = Input {
            origin: String::new(),
            digits: Some(element.text.into()),
            figures: None,
            components: vec![Component::within(
                "atomic weight",
                element.limit,
                Distribution::Rectangular,
            )],
            unseen: false,
        };
        let name = format!("molar mass of {}", element.symbol);
        let id = ws.input(
            Title::new(name, sub("M", element.symbol), "g/mol"),
            element.molar_mass(),
            input,
        );
        terms.push(match count {
            1 => id.into(),
            n => Expr::number(f64::from(n)) * id,
        });
    }
    Ok(ws.calculate(title(), Expr::Sum(terms)))
}
