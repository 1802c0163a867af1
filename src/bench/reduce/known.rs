//! Comparison of results with known compositions.

use serde::Serialize;

use crate::bench::fit::student_t;
use crate::bench::runfile::model::{KnownComposition, RunFile, Scale};
use crate::bench::worksheet::{Component, Expr, Input, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::SolutionResult;
use super::comparison_stated::RelativeStated;
use super::composition::title;
use super::stated::{Manner, Stated};

/// A result with its known value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownResult {
    /// The solution, an index into the run's.
    pub solution: usize,
    /// The measure of composition.
    pub scale: Scale,
    /// The result.
    pub result: NodeId,
    /// What is known.
    pub known: NodeId,
    /// The difference of the result from the known value.
    pub difference: NodeId,
}

/// Compares results with known values. Adds a problem for each solution whose composition is not measured.
pub(super) fn compare(
    ws: &mut Worksheet,
    run: &RunFile,
    solutions: &[SolutionResult],
    problems: &mut Vec<Problem>,
) -> Vec<KnownResult> {
    let mut all = Vec::new();
    for known in &run.known {
        let solution = &solutions[known.solution.value];
        match solution.composition.get(known.scale) {
            Some(result) => all.push(with_known(ws, known, result, &solution.name)),
            None => problems.push(not_measured(known, &solution.name)),
        }
    }
    all
}

/// Returns the problem of a solution whose composition on a scale is not measured.
fn not_measured(known: &KnownComposition, name: &str) -> Problem {
    let scale = known.scale.label();
    let entry = &known.value.entry;
    Code::NoComposition
        .error(format!(
            "The known {scale} of {name} cannot be compared: it is not measured."
        ))
        .at_entry(entry)
        .right(format!(
            "a density of {name}, and its preparation or a calibration"
        ))
}

/// Returns the difference of a result from its known value.
fn with_known(
    ws: &mut Worksheet,
    known: &KnownComposition,
    result: NodeId,
    name: &str,
) -> KnownResult {
    let (scale, quantity) = (known.scale, &known.value.value);
    let (symbol, unit) = (scale.symbol(), scale.unit());
    let in_unit = |strength| scale.in_unit(strength);
    let stated = quantity.standard_uncertainty;
    let components = stated.map(|u| Component::normal("stated", in_unit(u)));
    let input = Input {
        origin: (&known.value.entry.name).into(),
        digits: (quantity.unit.symbol == unit.symbol).then(|| (&quantity.number.text).into()),
        components: Vec::from_iter(components),
        ..Input::default()
    };
    let solution = known.solution.value;
    let label = &Label::from(name);
    let of = title(scale, label).name;
    let symbol_known = Symbol::new(symbol, "known", label);
    let known = Title::new(format!("known {of}"), symbol_known, unit);
    let known = ws.input(known, in_unit(quantity.value), input);
    let difference = Title::new(
        format!("difference of the {of} from the known value"),
        Symbol::new(&*format!("Δ{symbol}"), "known", label),
        unit,
    );
    KnownResult {
        solution,
        scale,
        result,
        known,
        difference: ws.calculate(difference, Expr::from(result) - known),
    }
}

/// A result with its known value, for output.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KnownStated {
    /// `mass_percent` or `mass_concentration`.
    pub quantity: &'static str,
    /// The known value, with its expanded uncertainty.
    pub known: Stated,
    /// The difference of the result from the known value.
    pub difference: Stated,
    /// The difference in per cent of the known value.
    pub difference_percent: f64,
    /// The same, as printed.
    #[serde(skip)]
    pub relative: RelativeStated,
    /// The difference over the root of the sum of squares of both expanded uncertainties (ISO 13528:2015, 9.7); absent where
    /// neither has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub en: Option<f64>,
}

impl KnownStated {
    /// States a result with its known value at a coverage probability.
    pub fn new(found: &KnownResult, ws: &Worksheet, manner: &Manner, coverage: f64) -> Self {
        let [result, known, difference] =
            [found.result, found.known, found.difference].map(|id| manner.state(ws, id));
        // The error of the known value is assumed to be normal.
        let reference = student_t(coverage, f64::INFINITY) * known.standard_uncertainty;
        let expanded = result.expanded_uncertainty.hypot(reference);
        let relative = RelativeStated::new(&difference, &known, None);
        Self {
            quantity: found.scale.key(),
            difference_percent: 100.0 * difference.value / known.value,
            en: (expanded > 0.0).then(|| difference.value / expanded),
            relative,
            known,
            difference,
        }
    }
}
