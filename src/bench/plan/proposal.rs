//! A proposal as data, for its text and for other programs.

use std::collections::BTreeMap;

use serde::Serialize;

use super::bench::Bench;
use super::changes;
use super::foretell::Foretold;
use super::series::{Recipe, Series, run_text};
use super::steps::{in_short, steps, weighed_out};
use super::weighing::Weighing;
use super::{Candidate, Tried, wishes};
use crate::bench::quantity::rounding::significant;
use crate::bench::reduce::Reduction;
use crate::bench::reduce::results::Stated;
use crate::bench::runfile::model::Scale;
use crate::bench::runfile::planned_run::Readings;
use crate::bench::worksheet::{Input, Source};

/// Shares of the variance below this are not listed.
const LEAST_SHARE: f64 = 0.02;
/// The number of other ways listed.
const OTHERS: usize = 4;

/// How a series can be made, and what its run will give.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// Title of the plan.
    pub title: String,
    /// What is to be done, in order, in words.
    pub steps: Vec<String>,
    /// The solutions wanted, in the order of the plan.
    pub solutions: Vec<SolutionForetold>,
    /// The unknown, at the ends and in the middle of the range expected.
    pub unknown: Vec<UnknownForetold>,
    /// What the uncertainty of the unknown in the middle of its range comes from, largest first.
    pub comes_from: Vec<Share>,
    /// Deliveries of aliquots.
    pub deliveries: u32,
    /// Solution made up in all, mL.
    pub made_up: f64,
    /// Salt weighed out in all, g.
    pub salt: f64,
    /// Water used in all, about, mL.
    pub water: f64,
    /// The expanded uncertainty of the unknown that is wanted, in the unit of its strength.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wanted: Option<f64>,
    /// What would change an answer that is not good enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change: Option<Change>,
    /// What should be thought over.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Other ways, the best first.
    pub others: Vec<WayInShort>,
    /// What was tried.
    pub tried: Counts,
    /// The run file, ready for readings.
    #[serde(skip)]
    pub run: String,
    /// The same with the readings that are expected, by where in its range the unknown is: at its lower end, in its
    /// middle, at its upper end.
    #[serde(skip)]
    pub expected: Vec<String>,
}

/// A solution wanted, and what the way gives.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SolutionForetold {
    /// Its name.
    pub name: String,
    /// Its strength as wanted, in `unit`.
    pub wanted: f64,
    /// The unit of its strength.
    pub unit: &'static str,
    /// Its strength as it will be, with its expanded uncertainty.
    pub strength: String,
    /// The expanded uncertainty of its strength, in `unit`.
    pub strength_uncertainty: f64,
    /// Its density, g/mL, with its expanded uncertainty.
    pub density: String,
    /// The expanded uncertainty of its density, g/mL.
    pub density_uncertainty: f64,
}

/// The unknown at a strength.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnknownForetold {
    /// The strength, in `unit`.
    pub strength: f64,
    /// Its unit.
    pub unit: &'static str,
    /// As the report will print it.
    pub shown: String,
    /// The expanded uncertainty, in `unit`.
    pub expanded_uncertainty: f64,
}

/// A part of the variance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// Of what.
    pub of: String,
    /// 0 to 1.
    pub share: f64,
}

/// A change that makes the uncertainty smaller.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// In words, to follow "with ".
    pub with: String,
    /// The expanded uncertainty of the unknown then, at worst, in the unit of its strength.
    pub expanded_uncertainty: f64,
    /// Whether that is what is wanted.
    pub reaches: bool,
}

/// Another way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayInShort {
    /// In words.
    pub way: String,
    /// The expanded uncertainty of the unknown at worst, in the unit of its strength.
    pub expanded_uncertainty: f64,
}

/// What was tried.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Ways of single solutions.
    pub ways: usize,
    /// Series whose runs were foretold.
    pub series: usize,
    /// Runs reduced.
    pub runs: usize,
    /// Whether there were more ways than were weighed up.
    pub more: bool,
}

impl Proposal {
    /// Returns the largest expanded uncertainty of the unknown, in the unit of its strength.
    pub fn answer(&self) -> f64 {
        let each = self.unknown.iter().map(|u| u.expanded_uncertainty);
        each.fold(0.0, f64::max)
    }
}

/// Returns the proposal that the candidates make; the best stands first.
pub(super) fn propose(bench: &Bench, candidates: Vec<Candidate>, tried: &Tried) -> Proposal {
    let series_tried = candidates.len();
    let mut candidates = candidates.into_iter();
    let Some(best) = candidates.next() else {
        unreachable!("a search without candidates has ended with a problem")
    };
    let plan = bench.plan;
    let Candidate {
        series,
        weighing,
        foretold,
    } = &best;
    let scale = plan.expected.scale;
    let wanted = plan.wanted.as_ref();
    let wanted = wanted.map(|wanted| scale.in_unit(wanted.value.value));
    let change = wanted
        .filter(|wanted| foretold.answer() > *wanted)
        .and_then(|wanted| changes::cheapest(bench, series, weighing, wanted))
        .map(|found| Change {
            with: found.words,
            expanded_uncertainty: found.answer,
            reaches: found.reaches,
        });
    let mut told = vec![weighed_out(bench, series)];
    let mut others = Vec::new();
    for other in candidates {
        let sort = weighed_out(bench, &other.series);
        if others.len() < OTHERS && !told.contains(&sort) {
            told.push(sort);
            let way = in_short(bench, &other.series);
            let way = format!("{way}; {} mL made up", other.series.volume(bench));
            others.push(WayInShort {
                way,
                expanded_uncertainty: other.foretold.answer(),
            });
        }
    }
    let text = |part, readings| text_of(bench, series, weighing, part, readings);
    Proposal {
        title: plan.title.value.clone(),
        steps: steps(bench, series, weighing),
        solutions: solutions(bench, foretold),
        unknown: unknown(foretold),
        comes_from: shares(&foretold.middle, scale),
        deliveries: series.deliveries(),
        made_up: series.volume(bench),
        salt: salt(series),
        water: water(bench, series, weighing),
        wanted,
        change,
        cautions: wishes::cautions(bench),
        others,
        tried: Counts {
            ways: tried.ways,
            series: series_tried,
            runs: tried.reduced,
            more: tried.cut,
        },
        run: text(0.5, Readings::Blank),
        expected: super::foretell::WITHIN
            .into_iter()
            .map(|part| text(part, Readings::Expected))
            .collect(),
    }
}

fn text_of(
    bench: &Bench,
    series: &Series,
    weighing: &Weighing,
    part: f64,
    readings: Readings,
) -> String {
    let x = super::foretell::strength_within(bench, part);
    let gamma = super::bench::gamma(&bench.shape, bench.plan.expected.scale, x);
    let gamma = gamma.unwrap_or(f64::NAN);
    run_text(bench, series, weighing, gamma, readings).unwrap_or_default()
}

fn solutions(bench: &Bench, foretold: &Foretold) -> Vec<SolutionForetold> {
    let wanted = bench.plan.solutions.iter();
    let each = wanted.filter_map(|wanted| {
        let name = &wanted.name.value;
        let (_, found) = foretold.solutions.iter().find(|(of, _)| of == name)?;
        let strength = found.composition.on(wanted.scale)?;
        let density = found.density.as_ref()?;
        Some(SolutionForetold {
            name: name.clone(),
            wanted: wanted.scale.in_unit(wanted.strength.value.value),
            unit: strength.unit,
            strength: strength.shown.clone(),
            strength_uncertainty: strength.expanded_uncertainty,
            density: density.shown.clone(),
            density_uncertainty: density.expanded_uncertainty,
        })
    });
    each.collect()
}

fn unknown(foretold: &Foretold) -> Vec<UnknownForetold> {
    let each = foretold.unknown.iter();
    let one = |(strength, stated): &(f64, Stated)| UnknownForetold {
        strength: *strength,
        unit: stated.unit,
        shown: stated.shown.clone(),
        expanded_uncertainty: stated.expanded_uncertainty,
    };
    each.map(one).collect()
}

/// Sources of the uncertainty of the unknown: inputs of one kind together.
fn shares(reduction: &Reduction, scale: Scale) -> Vec<Share> {
    let ws = &reduction.worksheet;
    let unknown = reduction.unknowns().next();
    let Some(id) = unknown.and_then(|unknown| unknown.composition.get(scale)) else {
        return Vec::new();
    };
    let mut by_kind: BTreeMap<String, f64> = BTreeMap::new();
    for row in ws.budget(id) {
        let node = ws.node(row.input);
        let kind = match &node.source {
            Source::Input(input) => kind(input, &node.name),
            _ => node.name.clone(),
        };
        *by_kind.entry(kind).or_insert(0.0) += row.share;
    }
    let mut shares: Vec<Share> = by_kind
        .into_iter()
        .map(|(of, share)| Share { of, share })
        .filter(|share| share.share >= LEAST_SHARE)
        .collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.of.cmp(&b.of)));
    shares
}

/// Returns what an input is one of.
fn kind(input: &Input, name: &str) -> String {
    let component = input.components.first();
    let cause = component.map(|component| component.cause);
    // What was found from a sample is of one kind in all solutions; an instrument's error is its own.
    let sampled = component.is_some_and(|component| component.dof.is_finite());
    let section = input.origin.split('.').next().unwrap_or_default();
    match (section, cause) {
        ("", Some(cause)) if !input.unseen || sampled => cause.to_owned(),
        ("weighings", Some(cause)) => format!("{cause}, in weighing the densities"),
        ("solutions", Some(cause)) => format!("{cause}, in making the solutions"),
        _ => name.to_owned(),
    }
}

/// Salt weighed out, g.
fn salt(series: &Series) -> f64 {
    let each = series.steps.iter().filter_map(|step| match &step.making {
        Recipe::Weighed { mass, .. } => Some(mass.grams),
        Recipe::Diluted { .. } => None,
    });
    each.sum()
}

/// Water used, mL, to three digits: for making up, weighing and rinsing the pipette.
fn water(bench: &Bench, series: &Series, weighing: &Weighing) -> f64 {
    let taken = series.steps.iter().map(|step| match &step.making {
        Recipe::Weighed { .. } => 0.0,
        Recipe::Diluted { aliquot, .. } => aliquot.total,
    });
    let made = series.volume(bench) - taken.sum::<f64>();
    let weighed = f64::from(weighing.times) * weighing.deliveries.total;
    let all = made + weighed + bench.deliver[weighing.ware].conditioning();
    significant(all, 3)
        .and_then(|text| text.parse().ok())
        .unwrap_or(all)
}
