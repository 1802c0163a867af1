//! How much salt or water brings a solution to another strength, from a balance of masses.
//!
//! A mass m of a solution of mass percent w, with a mass of salt of which the part P is salt, has the mass percent
//! `(m w + 100 % P m_s)/(m + m_s)`; this is w* for `m_s = m (w* − w)/(100 % P − w*)`. With a mass of water it is w* for
//! `m_w = m (w − w*)/w*`.

use serde::Serialize;

use crate::bench::quantity::Unit;
use crate::bench::reference::{brine, solubility, water};
use crate::bench::runfile::model::{Adjustment, Reading, RunFile};
use crate::bench::worksheet::{
    Component, Distribution, Expr, Input, Label, NodeId, Symbol, Title, Worksheet,
};
use crate::problem::{Code, Problem};

use super::SolutionResult;
use super::allowances::published_water;
use super::preparation::Salt;
use super::stated::{Manner, Stated};

/// What is added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Adding {
    /// Salt, of the purity and moisture stated.
    Salt,
    /// Water.
    Water,
}

impl Adding {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Salt => "salt",
            Self::Water => "water",
        }
    }
}

/// How a solution is brought to another strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdjustmentResult {
    /// The solution, an index into the run's.
    pub solution: usize,
    /// The mass percent wanted, %.
    pub to: NodeId,
    /// The mass of the solution, kg.
    pub mass: NodeId,
    /// What is added.
    pub adding: Adding,
    /// How much of it, kg.
    pub amount: NodeId,
    /// The volume of the water, L; `None` for salt, or if the density of water is not published.
    pub litres: Option<NodeId>,
}

/// Calculates the adjustments that the run asks for. Adds a problem for each strength that cannot be reached; `salt` is the
/// record of a salt with published densities and solubility.
pub(super) fn adjust(
    ws: &mut Worksheet,
    run: &RunFile,
    (proper, known): (&Salt, Option<&brine::Salt>),
    solutions: &[SolutionResult],
    problems: &mut Vec<Problem>,
) -> Vec<AdjustmentResult> {
    let mut all = Vec::new();
    for wanted in &run.adjustments {
        let solution = &solutions[wanted.solution.value];
        match of_solution(ws, wanted, (proper, known), solution) {
            Ok(found) => all.push(found),
            Err(problem) => problems.push(problem),
        }
    }
    all
}

fn of_solution(
    ws: &mut Worksheet,
    wanted: &Adjustment,
    (proper, known): (&Salt, Option<&brine::Salt>),
    solution: &SolutionResult,
) -> Result<AdjustmentResult, Problem> {
    let label = &Label::from(&solution.name);
    let (Some(density), Some(w)) = (&solution.density, solution.composition.mass_percent) else {
        return Err(not_known(wanted, &solution.name));
    };
    saturated(ws.value(density.liquid), known, wanted, &solution.name)?;
    let to = target(ws, wanted, label);
    let volume = volume(ws, &wanted.volume, label);
    let title = Title::new(
        format!("mass of {label}"),
        Symbol::labelled("m", label),
        &Unit::KILOGRAM,
    );
    let mass = ws.calculate(title, Expr::from(volume) * density.density);
    let (adding, amount, litres) = if ws.value(to) >= ws.value(w) {
        let amount = salt(ws, (mass, w, to), proper, label);
        if ws.value(amount) < 0.0 {
            return Err(too_weak(wanted, &solution.name));
        }
        (Adding::Salt, amount, None)
    } else {
        let amount = water(ws, (mass, w, to), label);
        (
            Adding::Water,
            amount,
            litres(ws, amount, density.liquid, label),
        )
    };
    Ok(AdjustmentResult {
        solution: wanted.solution.value,
        to,
        mass,
        adding,
        amount,
        litres,
    })
}

/// Returns the mass percent wanted, an exact number.
fn target(ws: &mut Worksheet, wanted: &Adjustment, label: &Label) -> NodeId {
    let to = &wanted.to;
    let input = Input {
        origin: (&to.entry.name).into(),
        digits: (to.value.unit.symbol == "%").then(|| (&to.value.number.text).into()),
        ..Input::default()
    };
    let name = format!("target mass percent of {label}");
    let title = Title::new(name, Symbol::new("w", "to", label), &Unit::PERCENT);
    ws.input(title, 100.0 * to.value.value, input)
}

/// Returns the volume of the solution, L; without a stated uncertainty, its last digit is uncertain by half.
fn volume(ws: &mut Worksheet, stated: &Reading, label: &Label) -> NodeId {
    let quantity = &stated.value;
    let component = match quantity.standard_uncertainty {
        Some(u) => Component::normal("stated", u / 1000.0),
        None => Component::within(
            "last digit",
            quantity.half_last_place() / 1000.0,
            Distribution::Rectangular,
        ),
    };
    let input = Input {
        origin: (&stated.entry.name).into(),
        digits: (quantity.unit.symbol == "L").then(|| (&quantity.number.text).into()),
        components: vec![component],
        ..Input::default()
    };
    let title = Title::new(
        format!("volume of {label}"),
        Symbol::labelled("V", label),
        &Unit::LITRE,
    );
    ws.input(title, quantity.value / 1000.0, input)
}

/// Returns the salt for a mass of a solution, its mass percent and the one wanted, kg.
fn salt(
    ws: &mut Worksheet,
    (mass, w, to): (NodeId, NodeId, NodeId),
    proper: &Salt,
    label: &Label,
) -> NodeId {
    let mut content = Expr::exactly(100.0, &Unit::PERCENT);
    if let Some(purity) = proper.purity {
        content = content * purity;
    }
    if let Some(moisture) = proper.moisture {
        content = content * (Expr::number(1.0) - moisture);
    }
    let name = format!("salt to be added to {label}");
    let title = Title::new(name, Symbol::new("m", "salt", label), &Unit::KILOGRAM);
    let formula = Expr::from(mass) * (Expr::from(to) - w) / (content - to);
    ws.calculate(title, formula)
}

/// Returns the water for a mass of a solution, its mass percent and the one wanted, kg.
fn water(ws: &mut Worksheet, (mass, w, to): (NodeId, NodeId, NodeId), label: &Label) -> NodeId {
    let name = format!("water to be added to {label}");
    let title = Title::new(name, Symbol::new("m", "water", label), &Unit::KILOGRAM);
    ws.calculate(
        title,
        Expr::from(mass) * (Expr::from(w) - to) / Expr::from(to),
    )
}

/// Returns the volume of a mass of water (kg) at the temperature of the solution, L.
fn litres(ws: &mut Worksheet, mass: NodeId, t: NodeId, label: &Label) -> Option<NodeId> {
    water::TEMPERATURES.contains(&ws.value(t)).then(|| {
        let rho = published_water(ws, label.state("at its temperature"), t);
        let name = format!("volume of the water to be added to {label}");
        let title = Title::new(name, Symbol::new("V", "water", label), &Unit::LITRE);
        ws.calculate(title, Expr::from(mass) / rho)
    })
}

fn not_known(wanted: &Adjustment, name: &str) -> Problem {
    let headline = format!(
        "The strength of {name} cannot be adjusted: its density or its mass percent is not known."
    );
    let entry = &wanted.entry;
    let right = format!("a density of {name}, and its preparation or a calibration");
    let problem = Code::NoComposition.error(headline);
    problem.at_entry(entry).right(right)
}

fn too_weak(wanted: &Adjustment, name: &str) -> Problem {
    let headline = format!(
        "No amount of this salt brings {name} to that strength, which exceeds the purity of the salt."
    );
    out_of_reach(
        wanted,
        Code::SaltTooWeak,
        headline,
        "less than the purity of the salt",
    )
}

/// Refuses a strength beyond saturation at a temperature (°C).
fn saturated(
    t: f64,
    salt: Option<&brine::Salt>,
    wanted: &Adjustment,
    name: &str,
) -> Result<(), Problem> {
    let Some(salt) = salt.filter(|_| solubility::TEMPERATURES.contains(&t)) else {
        return Ok(());
    };
    let most = salt.solubility.at(t);
    if 100.0 * wanted.to.value.value < most {
        return Ok(());
    }
    let headline =
        format!("{name} cannot reach that strength: at most {most:.1} % dissolves at {t:.1} °C.");
    let right = format!("less than {most:.1} %");
    Err(out_of_reach(
        wanted,
        Code::BeyondSaturation,
        headline,
        &right,
    ))
}

/// Returns a strength that cannot be reached.
fn out_of_reach(wanted: &Adjustment, code: Code, headline: String, right: &str) -> Problem {
    let (entry, read) = (&wanted.to.entry, &wanted.to.value);
    let problem = code.error(headline);
    problem
        .at_entry(entry)
        .read(format!("{} {}", read.number.text, read.unit.symbol))
        .right(right)
}

/// How a solution is brought to another strength, for output.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdjustmentStated {
    /// The mass percent wanted, %.
    pub to: f64,
    /// The mass of the solution, kg.
    pub mass: Stated,
    /// `salt` or `water`.
    pub add: Adding,
    /// How much of it, kg.
    pub amount: Stated,
    /// The volume of the water, L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume: Option<Stated>,
    /// Whether the strength found may be the one wanted already: the amount is less than its expanded uncertainty.
    pub within_uncertainty: bool,
}

impl AdjustmentStated {
    pub(super) fn new(found: &AdjustmentResult, ws: &Worksheet, manner: &Manner) -> Self {
        let amount = manner.state(ws, found.amount);
        Self {
            to: ws.value(found.to),
            mass: manner.state(ws, found.mass),
            add: found.adding,
            within_uncertainty: amount.value <= amount.expanded_uncertainty,
            amount,
            volume: found.litres.map(|id| manner.state(ws, id)),
        }
    }
}
