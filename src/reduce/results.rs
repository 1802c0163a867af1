//! The results as they are handed on to other programs: the results file's contents.
//!
//! Numbers are unrounded; `shown` is what the report prints. What does not apply is absent, never a zero.

use serde::Serialize;

use std::collections::BTreeMap;

use crate::quantity::rounding::Rounded;
use crate::runfile::model::{Digits, RunFile, Scale};
use crate::worksheet::{LastPlaces, NodeId, Worksheet};

use super::calibration_stated::calibrated;
pub use super::calibration_stated::{CalibrationStated, PatternStated};
pub use super::comparison_stated::{ComparisonStated, RelativeStated};
pub use super::ware::WareStated;
use super::{
    Composition, Effect, Preparation, Reduction, SolutionResult, Verdict, WareResult,
    coverage::{expanded, widening},
    coverage_factor, fieller,
};

/// Significant digits of an expanded uncertainty (JCGM 100:2008, 7.2.6).
pub(super) const UNCERTAINTY_DIGITS: u32 = 2;

/// A result with its uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stated {
    /// Value, in `unit`.
    pub value: f64,
    /// Unit in plain characters.
    pub unit: &'static str,
    /// Standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// Effective degrees of freedom; absent where infinite.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dof: Option<f64>,
    /// Coverage factor k, expanded over standard uncertainty: Student's t for the run's coverage probability and these
    /// degrees of freedom; more where an estimate of one or two degrees of freedom leads (see
    /// [`super::coverage_factor()`]), and for a result with effects not corrected.
    pub coverage_factor: f64,
    /// Expanded uncertainty k·u, in `unit` (see [`expanded`]).
    pub expanded_uncertainty: f64,
    /// What the value lacks for effects not corrected, by effect; absent where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_corrected: Vec<NotCorrected>,
    /// Ends of the coverage interval by Monte Carlo, where that does not confirm value ± expanded uncertainty and is to be
    /// relied on instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub monte_carlo_interval: Option<[f64; 2]>,
    /// As the report prints it, without unit: `1.1286 ± 0.0021`; with an interval by Monte Carlo, `1.1286 (1.1262 to
    /// 1.1304)`.
    pub shown: String,
    /// Inputs by their share in the variance, largest first; empty but by [`Results::with_budgets`].
    pub budget: Vec<Share>,
    /// The quantity.
    #[serde(skip)]
    id: NodeId,
    /// Value and expanded uncertainty as printed; none where either is not finite.
    #[serde(skip)]
    pub rounded: Option<Rounded>,
    /// The interval by Monte Carlo as printed.
    #[serde(skip)]
    pub interval_shown: Option<String>,
}

/// How results are stated: at which coverage probability, in which digits.
#[derive(Debug, Clone, PartialEq)]
pub struct Manner {
    /// Coverage probability, 0 to 1.
    coverage: f64,
    /// The last significant places by the classroom's rules, where these are wanted.
    figures: Option<LastPlaces>,
    /// Effects not corrected, by the quantities neglected.
    neglected: BTreeMap<NodeId, Effect>,
}

impl Manner {
    /// The manner that a run file asks for.
    #[must_use]
    pub fn of(run: &RunFile, reduction: &Reduction) -> Self {
        let manner = Self {
            neglected: reduction.neglected.clone(),
            ..Self::by_uncertainty(run.report.coverage)
        };
        match run.report.digits {
            Digits::Uncertainty => manner,
            Digits::SignificantFigures => Self {
                figures: Some(reduction.worksheet.last_places()),
                ..manner
            },
        }
    }

    /// Two digits of the expanded uncertainty at a coverage probability (0 to 1), the value to match.
    #[must_use]
    pub fn by_uncertainty(coverage: f64) -> Self {
        Self {
            coverage,
            figures: None,
            neglected: BTreeMap::new(),
        }
    }

    /// A value and its expanded uncertainty in this manner's digits: two of the uncertainty, or the value's significant
    /// figures. A value without uncertainty, or exact, has no last place by the other rule and is printed by the first.
    #[must_use]
    pub fn round(&self, id: NodeId, value: f64, expanded: f64) -> Option<Rounded> {
        match self.last_place(id) {
            Some(place) => Rounded::at(value, expanded, place),
            None => Rounded::new(value, expanded, UNCERTAINTY_DIGITS),
        }
    }

    /// The last significant place of a quantity; none where the digits go by the uncertainty, or it is exact.
    #[must_use]
    pub fn last_place(&self, id: NodeId) -> Option<i32> {
        self.figures.as_ref().and_then(|places| places.of(id))
    }

    /// What a quantity lacks for each effect not corrected, in the order of the effects.
    fn not_corrected(&self, ws: &Worksheet, id: NodeId) -> Vec<NotCorrected> {
        /// A sum of biases that cancel is no more than this share of them.
        const ROUNDED_OFF: f64 = 1e-9;
        let parts = ws.neglected(id);
        let (sum, size) = parts.iter().fold((0.0, 0.0), |(sum, size), (_, part)| {
            (sum + part, size + part.abs())
        });
        if f64::abs(sum) <= ROUNDED_OFF * size {
            return Vec::new();
        }
        let mut by_effect: BTreeMap<Effect, f64> = BTreeMap::new();
        for (id, part) in parts {
            if let Some(effect) = self.neglected.get(&id) {
                *by_effect.entry(*effect).or_insert(0.0) += part;
            }
        }
        let each = by_effect.into_iter();
        each.map(|(effect, lacking)| NotCorrected {
            effect,
            key: effect.key(),
            lacking,
        })
        .collect()
    }

    /// States a quantity of the worksheet.
    #[must_use]
    pub fn state(&self, ws: &Worksheet, id: NodeId) -> Stated {
        let node = ws.node(id);
        let uncertainty = ws.uncertainty(id);
        let expanded = expanded(uncertainty, self.coverage);
        let k = if uncertainty.standard > 0.0 {
            expanded / uncertainty.standard
        } else {
            coverage_factor(self.coverage, &uncertainty)
        };
        let rounded = self.round(id, node.value, expanded);
        Stated {
            value: node.value,
            unit: node.unit,
            standard_uncertainty: uncertainty.standard,
            dof: Some(uncertainty.dof).filter(|dof| dof.is_finite()),
            coverage_factor: k,
            expanded_uncertainty: expanded,
            not_corrected: self.not_corrected(ws, id),
            monte_carlo_interval: None,
            shown: rounded
                .as_ref()
                .map_or_else(|| node.value.to_string(), ToString::to_string),
            budget: Vec::new(),
            id,
            rounded,
            interval_shown: None,
        }
    }
}

impl Stated {
    /// Relies on a coverage interval by Monte Carlo instead of the one by first order; `round` gives the digits.
    pub(super) fn rely_on(&mut self, ends: [f64; 2], round: impl Fn(f64) -> String) {
        let shown = ends.map(&round).join(" to ");
        self.shown = format!("{} ({shown})", round(self.value));
        self.monte_carlo_interval = Some(ends);
        self.interval_shown = Some(shown);
    }
}

/// An effect that was not corrected, in a result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotCorrected {
    /// The effect.
    #[serde(skip)]
    pub effect: Effect,
    /// The key under `allow_for` that corrects it.
    #[serde(rename = "effect")]
    pub key: &'static str,
    /// What the result lacks for it: the best estimate less the value, in the result's unit.
    pub lacking: f64,
}

/// An input's share in a result's variance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// The entry of the run file, or in words what no entry states.
    pub input: String,
    /// Share, 0 to 1.
    pub share: f64,
}

/// A solution's results.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SolutionStated {
    /// Density, g/mL.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density: Option<Stated>,
    /// Density at the temperature that the run asks for, g/mL.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density_at_reference: Option<AtReferenceStated>,
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
    pub by_line_asked_for: Option<Stated>,
    /// The departure of the published density from the line relied on; absent where it is negligible or not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub departure: Option<DepartureStated>,
}

/// The strength of a sodium chloride brine on the trade's scales.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct StrengthStated {
    /// Density at 20 °C over that of water at 20 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub specific_gravity_20_20: Option<Stated>,
    /// Degrees Baumé, modulus 145, 60 °F.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub degrees_baume: Option<Stated>,
    /// Mass percent over that of saturated brine, %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub percent_saturation: Option<Stated>,
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
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct CompositionStated {
    /// %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_percent: Option<Stated>,
    /// g/L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_concentration: Option<Stated>,
    /// mol/L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub molarity: Option<Stated>,
    /// mol/kg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub molality: Option<Stated>,
}

impl CompositionStated {
    /// The composition on a scale.
    #[must_use]
    pub fn on(&self, scale: Scale) -> Option<&Stated> {
        match scale {
            Scale::MassPercent => self.mass_percent.as_ref(),
            Scale::MassConcentration => self.mass_concentration.as_ref(),
            Scale::Molarity => self.molarity.as_ref(),
            Scale::Molality => self.molality.as_ref(),
        }
    }
}

/// The departure of the published density from the line that an unknown is found from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DepartureStated {
    /// The departure in the composition found, in the unit of the calibration's scale, unsigned.
    pub composition: f64,
    /// Whether it is part of the uncertainty; not where the run file asks for the line.
    pub counted: bool,
}

impl DepartureStated {
    /// Two digits of it.
    #[must_use]
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

/// An input's entry in the run file, or what it is in words.
fn input_name(ws: &Worksheet, id: NodeId) -> String {
    let node = ws.node(id);
    match &node.source {
        crate::worksheet::Source::Input(input) if !input.origin.is_empty() => input.origin.clone(),
        _ => node.name.clone(),
    }
}

impl Results {
    /// The results of a reduction.
    pub fn of(run: &RunFile, reduction: &Reduction) -> Self {
        let ws = &reduction.worksheet;
        let manner = Manner::of(run, reduction);
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
                .map(|c| calibrated(ws, c, &state)),
            line_asked_for: reduction
                .refused_line
                .as_ref()
                .map(|c| calibrated(ws, c, &state)),
            unknowns: Vec::new(),
            comparison: Vec::new(),
            manner: manner.clone(),
        };
        for solution in &reduction.solutions {
            let stated = SolutionStated {
                density: solution.density.as_ref().map(|d| state(d.density)),
                density_at_reference: solution.density.as_ref().and_then(|d| {
                    let at = d.at_reference?;
                    Some(AtReferenceStated {
                        temperature: ws.value(at.temperature),
                        density: state(at.density),
                    })
                }),
                strength: solution.strength.map_or_else(StrengthStated::default, |s| {
                    StrengthStated {
                        specific_gravity_20_20: s.specific_gravity.map(state),
                        degrees_baume: s.degrees_baume.map(state),
                        percent_saturation: s.percent_saturation.map(state),
                    }
                }),
                composition: compose(&solution.composition, &state),
                fieller: fieller_interval(reduction, solution, run.report.coverage),
                by_line_asked_for: solution.by_refused_line.map(state),
                departure: solution.left_out.map(|left_out| DepartureStated {
                    composition: left_out.composition,
                    counted: left_out.counted.is_some(),
                }),
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
                let relative = RelativeStated::of(&difference, &published, last_place);
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

    /// The same with the budget of each result, which take more room than all else. The worksheet is the reduction's.
    #[must_use]
    pub fn with_budgets(&self, ws: &Worksheet) -> Self {
        let mut results = self.clone();
        results.each(&mut |stated| {
            let rows = ws.budget(stated.id).into_iter();
            let shares = rows.map(|row| Share {
                input: input_name(ws, row.input),
                share: row.share,
            });
            stated.budget = shares.collect();
        });
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
            } = solution;
            let at_reference = density_at_reference.as_mut().map(|at| &mut at.density);
            let all = [
                density.as_mut(),
                at_reference,
                strength.specific_gravity_20_20.as_mut(),
                strength.degrees_baume.as_mut(),
                strength.percent_saturation.as_mut(),
                composition.mass_percent.as_mut(),
                composition.mass_concentration.as_mut(),
                composition.molarity.as_mut(),
                composition.molality.as_mut(),
                by_line_asked_for.as_mut(),
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
    if solution.preparation != Preparation::Unknown {
        return None;
    }
    let ws = &reduction.worksheet;
    let uncertainty = ws.uncertainty(solution.composition.on(calibration.against)?);
    let factor = coverage_factor(coverage, &uncertainty);
    let found = fieller(ws, calibration, read, factor)?;
    let wider = widening(uncertainty, coverage);
    Some(FiellerStated {
        low: found.low - wider,
        high: found.high + wider,
        g: found.g,
    })
}

fn compose(composition: &Composition, state: &impl Fn(NodeId) -> Stated) -> CompositionStated {
    let on = |scale| composition.on(scale).map(state);
    CompositionStated {
        mass_percent: on(Scale::MassPercent),
        mass_concentration: on(Scale::MassConcentration),
        molarity: on(Scale::Molarity),
        molality: on(Scale::Molality),
    }
}
