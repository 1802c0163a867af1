//! What a careful reader of the readings would point at: one file per flag, named for the fault.
//!
//! A flag never stops a report; it stands in it, with the reason of whoever acknowledged it.

mod beyond_saturation;
pub mod class;
pub mod conditioning;
mod density_off_published;
mod digits_not_shown;
mod last_digit_habit;
mod level;
mod line_departs;
mod message;
mod no_density;
mod not_recorded;
mod outside_calibration;
mod over_the_mark;
mod published;
mod readings;
mod scene;
mod series;
mod slip;
mod spread_unexplained;
mod suspect_weighing;
mod temperature_unlikely;
mod ware_outside_tolerance;

pub use message::Message;
pub use slip::{AT_A_BENCH, Candidate, SlipKind};

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::bench::quantity::rounding::significant;
use crate::bench::reduce::results::{Results, SolutionStated};
use crate::bench::reduce::{Reduction, SolutionResult, reduce};
use crate::bench::runfile::model::{Acknowledged, FlagCode, Reason, RunFile};
use crate::bench::worksheet::Source;
use crate::problem::{Code, Problem};
use level::Tested;
use scene::Scene;

/// No warning names more entries than this.
const MOST_SHOWN: usize = 12;

/// Something in the readings or results that asks for a second look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flag {
    /// Its code.
    pub code: FlagCode,
    /// The entry of the run file it concerns.
    pub entry: String,
    /// What is the matter, in a plain sentence or two.
    pub message: Message,
    /// Why it matters.
    pub reason: &'static str,
    /// How much it may have done to a result, where that can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub effect: Option<String>,
    /// Slips that would explain it, the likeliest first: one of them happened, or none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub candidates: Vec<Candidate>,
    /// Why it may stand, where the run file says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acknowledged: Option<Reason>,
}

impl Flag {
    fn new(
        code: FlagCode,
        entry: impl Into<String>,
        message: impl Into<Message>,
        reason: &'static str,
    ) -> Self {
        Self {
            code,
            entry: entry.into(),
            message: message.into(),
            reason,
            effect: None,
            candidates: Vec::new(),
            acknowledged: None,
        }
    }

    fn with_effect(self, effect: impl Into<String>) -> Self {
        Self {
            effect: Some(effect.into()),
            ..self
        }
    }

    /// With the slips that would explain it, in its message as well.
    fn with_candidates(mut self, candidates: &[Candidate]) -> Self {
        slip::tell(candidates, &mut self.message);
        self.candidates = candidates.to_vec();
        self
    }
}

/// What a flag may look at.
struct Bench<'a> {
    run: &'a RunFile,
    reduction: &'a Reduction,
    results: &'a Results,
}

impl Bench<'_> {
    /// Density and its expanded uncertainty at the run's coverage, both g/mL.
    fn density(&self, solution: &SolutionResult) -> Option<(f64, f64)> {
        let density = self.stated(&solution.name)?.density.as_ref()?;
        Some((density.value, density.expanded_uncertainty))
    }

    /// Expanded uncertainty of a solution's mass concentration at the run's coverage, g/L.
    fn expanded_concentration(&self, solution: &SolutionResult) -> Option<f64> {
        let composition = &self.stated(&solution.name)?.composition;
        Some(
            composition
                .mass_concentration
                .as_ref()?
                .expanded_uncertainty,
        )
    }

    fn stated(&self, name: &str) -> Option<&SolutionStated> {
        let mut all = self.results.solutions.iter().chain(&self.results.unknowns);
        all.find(|(other, _)| *other == name)
            .map(|(_, stated)| stated)
    }

    /// Returns the largest share of the expanded uncertainty of a density or mass concentration by which it moves if
    /// one of some readings moves by so much, in its own unit; `None` if none of them reaches a result.
    fn share(&self, readings: &BTreeMap<&str, f64>) -> Option<f64> {
        let ws = &self.reduction.worksheet;
        let mut largest: Option<f64> = None;
        for solution in &self.reduction.solutions {
            let density = solution.density.as_ref().map(|d| d.density);
            let results = [
                density.zip(self.density(solution).map(|(_, expanded)| expanded)),
                (solution.composition.mass_concentration)
                    .zip(self.expanded_concentration(solution)),
            ];
            for (id, expanded) in results.into_iter().flatten() {
                for (input, c) in ws.sensitivities(id) {
                    let Source::Input(read) = &ws.node(*input).source else {
                        continue;
                    };
                    if let Some(by) = readings.get(read.origin.as_str()) {
                        let share = (c * by / expanded).abs();
                        largest = Some(largest.map_or(share, |before| before.max(share)));
                    }
                }
            }
        }
        largest
    }
}

/// A part of the practice, which raises one or two codes.
enum Check {
    /// It says what was written down, what follows from it, or what the reduction has judged: the calibration's line,
    /// which decides what is calculated, at its own share of the level (see [`level`]).
    Seen(fn(&Bench, &mut Vec<Flag>)),
    /// It judges.
    Judged(Judge),
}

/// A test that calls chance an insufficient explanation.
#[derive(Clone, Copy)]
struct Judge {
    /// Its tests of a run, those that pass as well.
    tests: fn(&Scene) -> Vec<Tested>,
    /// The flags for those that are refused, each named once, rising.
    flags: fn(&Scene, &[usize], &Slips) -> Vec<Flag>,
    slips: SlipsBehind,
}

/// What slips may be behind what a judge tests.
#[derive(Clone, Copy, PartialEq, Eq)]
enum SlipsBehind {
    /// Its tests are not of solutions.
    None,
    /// Those that move a solution's density or composition.
    Density,
    /// Those that make its weighings scatter.
    Scatter,
}

/// The checks in the order in which their flags are listed.
const CHECKS: &[Check] = &[
    Check::Seen(conditioning::check),
    Check::Seen(over_the_mark::check),
    Check::Seen(no_density::check),
    Check::Seen(temperature_unlikely::check),
    Check::Seen(digits_not_shown::check),
    Check::Judged(last_digit_habit::JUDGE),
    Check::Judged(spread_unexplained::JUDGE),
    Check::Judged(suspect_weighing::JUDGE),
    Check::Judged(ware_outside_tolerance::JUDGE),
    Check::Judged(density_off_published::JUDGE),
    Check::Judged(beyond_saturation::JUDGE),
    Check::Seen(beyond_saturation::check_undecided),
    Check::Seen(line_departs::check),
    Check::Seen(outside_calibration::check),
    Check::Seen(not_recorded::check),
];

/// Slips are looked for behind the densities of so many solutions at most, the least likely by chance.
const MOST_SEARCHED: usize = 6;

/// The slips that would explain what is refused, by the places of the solutions.
#[derive(Default)]
struct Slips(BTreeMap<usize, Vec<Candidate>>);

impl Slips {
    /// Looks for them: `refused` is each refused solution, the least likely by chance first, with what is refused of it.
    fn behind(scene: &Scene, refused: &[(usize, SlipsBehind)]) -> Self {
        let off: BTreeSet<usize> = refused.iter().map(|(solution, _)| *solution).collect();
        let off: Vec<usize> = off.into_iter().collect();
        let mut all = BTreeMap::new();
        for (solution, _) in refused {
            if all.len() < MOST_SEARCHED && !all.contains_key(solution) {
                let scatters = refused.contains(&(*solution, SlipsBehind::Scatter));
                let found = slip::explaining(scene, (*solution, *solution), scatters, &off);
                all.insert(*solution, found.candidates);
            }
        }
        Self(all)
    }

    /// Returns those of a solution.
    fn candidates(&self, solution: usize) -> &[Candidate] {
        self.0.get(&solution).map_or(&[], Vec::as_slice)
    }
}

/// Returns the flags of a run that cannot be reduced, from its reduction without the unknowns: a slip in a calibration
/// point can leave a sound unknown without a place on the curve. Only flags with candidates are returned.
pub fn flags_of_unreduced(run: &RunFile) -> Vec<Flag> {
    let without = RunFile {
        calibration: None,
        ..run.clone()
    };
    let Ok(reduction) = reduce(&without) else {
        return Vec::new();
    };
    let results = Results::new(&without, &reduction);
    let mut flags = flags(&without, &reduction, &results);
    flags.retain(|flag| !flag.candidates.is_empty());
    flags
}

/// Returns all flags of a run, in the order of the checks and of the run's solutions.
pub fn flags(run: &RunFile, reduction: &Reduction, results: &Results) -> Vec<Flag> {
    let bench = Bench {
        run,
        reduction,
        results,
    };
    let scene = Scene::new(&bench);
    let judges = CHECKS.iter().filter_map(|check| match check {
        Check::Judged(judge) => Some(judge),
        Check::Seen(_) => None,
    });
    let tests: Vec<(usize, SlipsBehind, Tested)> = judges
        .enumerate()
        .flat_map(|(number, judge)| {
            let each = (judge.tests)(&scene).into_iter();
            each.map(move |tested| (number, judge.slips, tested))
        })
        .collect();
    let p: Vec<f64> = tests.iter().map(|(_, _, tested)| tested.p).collect();
    let refused = level::find_refused(&p);
    let mut refused: Vec<_> = tests
        .into_iter()
        .zip(refused)
        .filter_map(|(test, refused)| refused.then_some(test))
        .collect();
    refused.sort_by(|a, b| a.2.p.total_cmp(&b.2.p));
    let with_slips = refused
        .iter()
        .filter(|(_, slips, _)| *slips != SlipsBehind::None)
        .map(|(_, slips, tested)| (tested.of, *slips));
    let slips = Slips::behind(&scene, &with_slips.collect::<Vec<_>>());
    let mut flags = Vec::new();
    let mut number = 0;
    for check in CHECKS {
        match check {
            Check::Seen(check) => check(&bench, &mut flags),
            Check::Judged(judge) => {
                let own = refused.iter().filter(|(judge, _, _)| *judge == number);
                let own: BTreeSet<usize> = own.map(|(_, _, tested)| tested.of).collect();
                let own: Vec<usize> = own.into_iter().collect();
                flags.extend((judge.flags)(&scene, &own, &slips));
                number += 1;
            }
        }
    }
    // The first that means a flag, be it at its entry or everywhere.
    let mut known_at = BTreeMap::new();
    for (index, known) in run.acknowledged.iter().enumerate() {
        known_at.entry(acknowledged_flag(known)).or_insert(index);
    }
    for flag in &mut flags {
        let at = |entry| known_at.get(&(flag.code, entry));
        let first = [at(None), at(Some(flag.entry.as_str()))];
        let known = first.into_iter().flatten().min();
        flag.acknowledged = known.map(|index| run.acknowledged[*index].reason.clone());
    }
    flags
}

/// Returns a warning for every acknowledgement of what is not flagged.
pub fn unmatched_acknowledgements(run: &RunFile, flags: &[Flag]) -> Vec<Problem> {
    let mut raised: BTreeMap<FlagCode, Vec<&str>> = BTreeMap::new();
    for flag in flags {
        raised.entry(flag.code).or_default().push(&flag.entry);
    }
    let places: BTreeSet<(FlagCode, &str)> = flags
        .iter()
        .map(|flag| (flag.code, flag.entry.as_str()))
        .collect();
    let vain = |known: &&Acknowledged| match acknowledged_flag(known) {
        (code, None) => !raised.contains_key(&code),
        (code, Some(entry)) => !places.contains(&(code, entry)),
    };
    let warning = |known: &Acknowledged| {
        let word = known.flag.value.word();
        let entry = &known.flag.entry;
        let right = match raised.get(&known.flag.value).map(Vec::as_slice) {
            None => "no such acknowledgement".to_owned(),
            Some(entries) => {
                let more = entries.len().saturating_sub(MOST_SHOWN);
                let and_more = if more > 0 {
                    format!(
                        " or at {more} more entr{}",
                        if more == 1 { "y" } else { "ies" }
                    )
                } else {
                    String::new()
                };
                let shown = &entries[..entries.len() - more];
                format!("at: {}{and_more}", shown.join(", or "))
            }
        };
        let place = known.at.as_ref().map_or(entry, |at| &at.entry);
        Code::NothingToAcknowledge
            .warning(format!("`{word}` is acknowledged, but not raised there."))
            .at_entry(place)
            .right(right)
    };
    run.acknowledged.iter().filter(vain).map(warning).collect()
}

/// Returns the flag that an acknowledgement means, and the entry if it means only one.
fn acknowledged_flag(known: &Acknowledged) -> (FlagCode, Option<&str>) {
    let at = known.at.as_ref().map(|at| at.value.as_str());
    (known.flag.value, at)
}

/// Returns a size to two significant figures.
fn size(value: f64) -> String {
    significant(value, 2).unwrap_or_default()
}

/// Returns names as a sentence lists them: `A, B and C`.
pub fn listed<S: AsRef<str>>(names: &[S]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}
