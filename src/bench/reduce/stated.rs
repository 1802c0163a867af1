//! One result, stated: its value and uncertainty in the digits that a report prints.

use serde::Serialize;

use std::collections::BTreeMap;

use crate::bench::quantity::ShownIn;
use crate::bench::quantity::rounding::Rounded;
use crate::bench::runfile::model::{Digits, RunFile};
use crate::bench::worksheet::{LastPlaces, NodeId, Source, Worksheet};

use super::coverage::expanded;
use super::{Effect, Reduction, coverage_factor};

/// Significant digits of an expanded uncertainty (JCGM 100:2008, 7.2.6).
pub(super) const UNCERTAINTY_DIGITS: u32 = 2;

/// The least share in the variance that a budget names the input of: a hundredth of a per cent.
const LEAST_SHARE: f64 = 1e-4;

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
    /// As printed, without unit: `1.1286 ± 0.0021`; with an interval by Monte Carlo, `1.1286 (1.1262 to
    /// 1.1304)`.
    pub shown: String,
    /// Inputs by their share in the variance, largest first, down to [`LEAST_SHARE`]; empty until it is asked for
    /// ([`Results::in_full`](super::results::Results::in_full)).
    pub budget: Vec<Share>,
    /// The inputs of smaller shares; absent where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub others: Option<Others>,
    /// The quantity.
    #[serde(skip)]
    id: NodeId,
    /// The unit that the report shows it in.
    #[serde(skip)]
    pub shown_in: ShownIn,
    /// Value and expanded uncertainty as printed; `None` if either is not finite.
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
    /// Returns the manner that a run file asks for.
    pub fn new(run: &RunFile, reduction: &Reduction) -> Self {
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

    /// Returns two digits of the expanded uncertainty at a coverage probability (0 to 1), the value to match.
    pub fn by_uncertainty(coverage: f64) -> Self {
        Self {
            coverage,
            figures: None,
            neglected: BTreeMap::new(),
        }
    }

    /// Returns a value and its expanded uncertainty in this manner's digits: two of the uncertainty, or the value's
    /// significant figures. A value without uncertainty, or exact, has no last place by the other rule and is printed
    /// by the first.
    pub fn round(&self, id: NodeId, value: f64, expanded: f64) -> Option<Rounded> {
        match self.last_place(id) {
            Some(place) => Rounded::at(value, expanded, place),
            None => Rounded::new(value, expanded, UNCERTAINTY_DIGITS),
        }
    }

    /// Returns the last significant place of a quantity; `None` if the digits go by the uncertainty, or it is exact.
    pub fn last_place(&self, id: NodeId) -> Option<i32> {
        self.figures
            .as_ref()
            .and_then(|places| places.last_place(id))
    }

    /// Returns what a quantity lacks for each effect not corrected, in the order of the effects.
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
            unit: node.unit.symbol,
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
            others: None,
            id,
            shown_in: ws.shown_in(id),
            rounded,
            interval_shown: None,
        }
    }
}

impl Stated {
    /// Returns it as a report prints it in a unit, without the unit.
    pub fn in_report(&self, shown_in: ShownIn) -> String {
        match &self.rounded {
            Some(rounded) if shown_in.power != 0 => shown_in.rounded(rounded.clone()).to_string(),
            _ => self.shown.clone(),
        }
    }

    /// Enters the budget; the worksheet is the one that it was stated from.
    pub(super) fn add_budget(&mut self, ws: &Worksheet) {
        let rows = ws.budget(self.id);
        let named = rows.partition_point(|row| row.share >= LEAST_SHARE);
        let (named, others) = rows.split_at(named);
        let shares = named.iter().map(|row| Share {
            input: input_name(ws, row.input),
            share: row.share,
        });
        self.others = (!others.is_empty()).then(|| Others {
            inputs: others.len(),
            share: others.iter().map(|row| row.share).sum(),
        });
        self.budget = shares.collect();
    }

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

/// The inputs of a budget that are not named.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Others {
    /// How many.
    pub inputs: usize,
    /// Their share together, 0 to 1.
    pub share: f64,
}

/// Returns an input's entry in the run file, or what it is in words.
fn input_name(ws: &Worksheet, id: NodeId) -> String {
    let node = ws.node(id);
    match &node.source {
        Source::Input(input) if !input.origin.is_empty() => input.origin.to_string(),
        _ => node.name.clone(),
    }
}
