//! The results as they are handed on to other programs: the results file's contents.
//!
//! Numbers are unrounded; `shown` is what the report prints. What does not apply is absent, never a zero.

use serde::Serialize;

use crate::bench::quantity::rounding::Rounded;
use crate::bench::runfile::model::RunFile;
use crate::bench::worksheet::NodeId;

pub use super::adjustment::AdjustmentStated;
use super::calibration_stated::calibrated;
pub use super::calibration_stated::{CalibrationStated, PatternStated};
pub use super::comparison_stated::{ComparisonStated, RelativeStated};
use super::composition::OnScales;
pub use super::conformity::ConformityStated;
use super::coverage::widening;
pub use super::known::KnownStated;
use super::stated::UNCERTAINTY_DIGITS;
pub use super::stated::{Manner, NotCorrected, Share, Stated};
pub use super::ware::WareStated;
use super::{
    Preparation, Reduction, SolutionResult, Verdict, WareResult, coverage_factor, fieller,
};

/// A solution's results.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SolutionStated {
    /// Density, g/mL.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density: Option<Stated>,
    /// Density at the temperature that the run asks for, g/mL.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density_at_reference: Option<Box<AtReferenceStated>>,
    /// Strength on the trade's scales.
    #[serde(flatten)]
    pub strength: StrengthStated,
    /// Composition.
    #[serde(flatten)]
    pub composition: CompositionStated,
    /// Fieller's interval of an unknown read back from a straight line, at Student's t of its composition, widened for
    /// effects not corrected as its expanded uncertainty is; absent where no finite one exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fieller: Option<FiellerStated>,
    /// An unknown's composition by the line that the run file asks for, where the points refuse it and another is relied
    /// on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_line_asked_for: Option<Box<Stated>>,
    /// The departure of the published density from the line relied on; absent where it is negligible or not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub departure: Option<DepartureStated>,
    /// Verdicts on the composition.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<ConformityStated>,
    /// The salt or water that brings it to the strength wanted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adjustment: Option<AdjustmentStated>,
    /// The composition compared with known values.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub known: Vec<KnownStated>,
}

/// The strength of a sodium chloride brine on the trade's scales.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct StrengthStated {
    /// Density at 20 °C over that of water at 20 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub specific_gravity_20_20: Option<Box<Stated>>,
    /// Degrees Baumé, modulus 145, 60 °F.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub degrees_baume: Option<Box<Stated>>,
    /// Mass percent over that of saturated brine, %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub percent_saturation: Option<Box<Stated>>,
}

/// A density at a reference temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtReferenceStated {
    /// The temperature, °C.
    pub temperature: f64,
    /// The density, g/mL.
    #[serde(flatten)]
    pub density: Stated,
}

/// A composition on the scales reached.
pub type CompositionStated = OnScales<Stated>;

/// The departure of the published density from the line that an unknown is found from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DepartureStated {
    /// The departure in the composition found, in the unit of the calibration's scale, unsigned.
    pub composition: f64,
    /// Whether it is part of the uncertainty; not where the run file asks for the line.
    pub counted: bool,
}

impl DepartureStated {
    /// Returns two digits of it.
    pub fn shown(&self) -> String {
        let rounded = Rounded::new(self.composition, self.composition, UNCERTAINTY_DIGITS);
        rounded.map_or_else(|| self.composition.to_string(), |rounded| rounded.value())
    }
}

/// Fieller's interval, on the calibration's scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FiellerStated {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// g, the squared share of the slope's expanded uncertainty in the slope.
    pub g: f64,
}

/// The results of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Results {
    /// Ware calibrated, by name.
    #[serde(serialize_with = "as_map", skip_serializing_if = "Vec::is_empty")]
    pub ware: Vec<(String, WareStated)>,
    /// Solutions made, by name, in the order of the run file.
    #[serde(serialize_with = "as_map")]
    pub solutions: Vec<(String, SolutionStated)>,
    /// The calibration that the results rely on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration: Option<CalibrationStated>,
    /// The line that the run file asks for, where the points refuse it and another is relied on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line_asked_for: Option<CalibrationStated>,
    /// Unknowns, by name.
    #[serde(serialize_with = "as_map")]
    pub unknowns: Vec<(String, SolutionStated)>,
    /// Comparisons with published densities, by name of the solution.
    #[serde(serialize_with = "as_map")]
    pub comparison: Vec<(String, ComparisonStated)>,
    /// How they are stated, for whatever else is.
    #[serde(skip)]
    pub manner: Manner,
}

/// Pairs as a map that keeps their order.
fn as_map<S: serde::Serializer, T: Serialize>(
    pairs: &[(String, T)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_map(pairs.iter().map(|(name, value)| (name, value)))
}

impl Results {
    /// Returns the results of a reduction.
    pub fn new(run: &RunFile, reduction: &Reduction) -> Self {
        let ws = &reduction.worksheet;
        let manner = Manner::new(run, reduction);
        let state = |id: NodeId| manner.state(ws, id);
        let ware = |w: &WareResult| {
            let departure = state(w.departure);
            let verdict = w.verdict(ws, departure.expanded_uncertainty);
            WareStated {
                volume: state(w.volume),
                departure,
                weighings: w.used,
                standard_deviation: w.standard_deviation,
                tolerance: w.tolerance,
                verdict: verdict.map(Verdict::word),
            }
        };
        let mut results = Self {
            ware: reduction
                .ware
                .iter()
                .map(|w| (w.name.clone(), ware(w)))
                .collect(),
            solutions: Vec::new(),
            calibration: reduction
                .calibration
                .as_ref()
                .map(|c| calibrated(reduction, c, &state)),
            line_asked_for: reduction
                .refused_line
                .as_ref()
                .map(|c| calibrated(reduction, c, &state)),
            unknowns: Vec::new(),
            comparison: Vec::new(),
            manner: manner.clone(),
        };
        // Few solutions have them.
        let boxed = |id| Box::new(state(id));
        for (index, solution) in reduction.solutions.iter().enumerate() {
            let stated = SolutionStated {
                density: solution.density.as_ref().map(|d| state(d.density)),
                density_at_reference: solution.density.as_ref().and_then(|d| {
                    let at = d.at_reference?;
                    Some(Box::new(AtReferenceStated {
                        temperature: ws.value(at.temperature),
                        density: state(at.density),
                    }))
                }),
                strength: solution.strength.map_or_else(StrengthStated::default, |s| {
                    StrengthStated {
                        specific_gravity_20_20: s.specific_gravity.map(boxed),
                        degrees_baume: s.degrees_baume.map(boxed),
                        percent_saturation: s.percent_saturation.map(boxed),
                    }
                }),
                composition: OnScales::from_fn(|scale| solution.composition.get(scale).map(state)),
                fieller: fieller_interval(reduction, solution, run.report.coverage),
                by_line_asked_for: solution.by_refused_line.map(boxed),
                departure: solution.left_out.map(|left_out| DepartureStated {
                    composition: left_out.composition,
                    counted: left_out.counted.is_some(),
                }),
                limits: (reduction.conformity.iter())
                    .filter(|judged| judged.solution == index)
                    .map(ConformityStated::new)
                    .collect(),
                adjustment: (reduction.adjustments.iter())
                    .find(|found| found.solution == index)
                    .map(|found| AdjustmentStated::new(found, ws, &manner)),
                known: (reduction.known.iter())
                    .filter(|found| found.solution == index)
                    .map(|found| KnownStated::new(found, ws, &manner, run.report.coverage))
                    .collect(),
            };
            let list = match solution.preparation {
                Preparation::Unknown => &mut results.unknowns,
                _ => &mut results.solutions,
            };
            list.push((solution.name.clone(), stated));
            if let Some(Ok(comparison)) = &solution.comparison {
                let difference = state(comparison.difference);
                let en = difference.value / difference.expanded_uncertainty;
                let published = state(comparison.published);
                let last_place = manner.last_place(comparison.difference);
                let relative = RelativeStated::new(&difference, &published, last_place);
                results.comparison.push((
                    solution.name.clone(),
                    ComparisonStated {
                        published,
                        difference,
                        relative,
                        en,
                    },
                ));
            }
        }
        results
    }

    /// Returns the same with the budget of each result, and of each line what another run needs to read unknowns from
    /// it. They are large, or take long to find, and are therefore added on request; the reduction is the one that was
    /// stated.
    #[must_use]
    pub fn in_full(&self, reduction: &Reduction) -> Self {
        let mut results = self.clone();
        results.each(&mut |stated| stated.add_budget(&reduction.worksheet));
        let lines = [
            (&mut results.calibration, &reduction.calibration),
            (&mut results.line_asked_for, &reduction.refused_line),
        ];
        for (stated, line) in lines {
            if let (Some(stated), Some(line)) = (stated, line) {
                stated.add_for_others(reduction, line);
            }
        }
        results
    }

    /// Visits each result.
    fn each(&mut self, visit: &mut impl FnMut(&mut Stated)) {
        for (_, ware) in &mut self.ware {
            visit(&mut ware.volume);
            visit(&mut ware.departure);
        }
        for (_, solution) in self.solutions.iter_mut().chain(&mut self.unknowns) {
            let SolutionStated {
                density,
                density_at_reference,
                strength,
                composition,
                fieller: _,
                by_line_asked_for,
                departure: _,
                limits: _,
                adjustment,
                known,
            } = solution;
            for beside in known {
                visit(&mut beside.known);
                visit(&mut beside.difference);
            }
            if let Some(adjustment) = adjustment {
                visit(&mut adjustment.mass);
                visit(&mut adjustment.amount);
                adjustment.volume.iter_mut().for_each(&mut *visit);
            }
            let at_reference = density_at_reference.as_mut().map(|at| &mut at.density);
            let all = [
                density.as_mut(),
                at_reference,
                strength.specific_gravity_20_20.as_deref_mut(),
                strength.degrees_baume.as_deref_mut(),
                strength.percent_saturation.as_deref_mut(),
                composition.mass_percent.as_mut(),
                composition.mass_concentration.as_mut(),
                composition.molarity.as_mut(),
                composition.molality.as_mut(),
                by_line_asked_for.as_deref_mut(),
            ];
            all.into_iter().flatten().for_each(&mut *visit);
        }
        let lines = self.calibration.iter_mut().chain(&mut self.line_asked_for);
        lines
            .flat_map(|line| &mut line.coefficients)
            .for_each(&mut *visit);
        for (_, comparison) in &mut self.comparison {
            visit(&mut comparison.published);
            visit(&mut comparison.difference);
        }
    }
}

/// Fieller's interval of an unknown, by Student's t of its composition.
fn fieller_interval(
    reduction: &Reduction,
    solution: &SolutionResult,
    coverage: f64,
) -> Option<FiellerStated> {
    let calibration = reduction.calibration.as_ref()?;
    let departure = solution.left_out.and_then(|left_out| left_out.counted);
    let read = (solution.density.as_ref()?.compared(), departure);
    if !solution.is_unknown() {
        return None;
    }
    let ws = &reduction.worksheet;
    let uncertainty = ws.uncertainty(solution.composition.get(calibration.against)?);
    let factor = coverage_factor(coverage, &uncertainty);
    let found = fieller(ws, calibration, read, factor)?;
    let wider = widening(uncertainty, coverage);
    Some(FiellerStated {
        low: found.low - wider,
        high: found.high + wider,
        g: found.g,
    })
}
