//! What must hold between sections.

use super::diagnostics::Diagnostics;
use super::instrument::about;
use super::model::{
    Aliquot, At, Calibration, Densities, EarlierCalibration, Entry, FitMethod, Line, Measurements,
    Origin, Reading, ReplicateSpread, Scale,
};
use super::sections::CalibrationWish;
use super::solutions::Solutions;
use crate::bench::quantity::rounding::to_place;
use crate::bench::reference::brine;
use crate::problem::{Code, Problem};
use std::collections::BTreeSet;

/// Returns what helps where solutions are too few to calibrate with.
fn more_points() -> String {
    let salts = brine::names();
    format!(
        "more solutions weighed under `density` (pure water counts), `calibration: published` for {salts}, or `calibration: none`"
    )
}

/// A longer ring is shown by its beginning.
const MOST_SHOWN: usize = 12;

/// So many dilutions may be made one from the other. Each carries the errors of all before it, so that the cost of a longer
/// row would grow with the square of its length; the salt is gone long before.
const LONGEST_ROW: usize = 100;

/// Checks what dilutions are made from: something with salt in it of known amount, and in the end not themselves; and
/// that no more was taken than there is room for.
pub(super) fn dilutions(found: &Diagnostics, solutions: &Solutions) {
    for solution in solutions.items.iter().flatten() {
        let Origin::Dilution { aliquot, made_up } = &solution.origin else {
            continue;
        };
        let name = &solution.name.value;
        let taken: f64 = aliquot
            .deliveries
            .iter()
            .map(|delivery| delivery.value.value)
            .sum();
        let volume = made_up.to.value.value;
        if taken > volume * (1.0 + 1e-9) {
            found.add(|| {
                about(
                    &made_up.to,
                    Code::AliquotTooLarge,
                    format!("{name} is made up to less than the aliquot taken for it."),
                )
                .right(format!(
                    "at least {} mL, or a smaller aliquot",
                    sum(taken, &aliquot.deliveries)
                ))
                .also(aliquot.deliveries[0].entry.span.clone(), "the aliquot")
            });
        }
        if let Some(source) = solutions.get(aliquot.of.value) {
            let fault = match source.origin {
                Origin::Pure => Some((Code::DilutionOfWater, "pure water")),
                Origin::Unknown => {
                    Some((Code::DilutionOfUnknown, "a solution of unknown composition"))
                }
                _ => None,
            };
            if let Some((code, what)) = fault {
                found.add(|| {
                    at_source(
                        aliquot,
                        code,
                        format!(
                            "{name} is a dilution of {}, which is {what}.",
                            source.name.value
                        ),
                    )
                    .right("the solution that was diluted")
                    .also(
                        source.name.entry.span.clone(),
                        format!("{} is {what}", source.name.value),
                    )
                });
            }
        }
    }
    rings(found, solutions);
    rows(found, solutions);
}

/// `is one`, `are 2`.
fn spell_count(points: usize) -> String {
    match points {
        0 => "is none".to_owned(),
        1 => "is one".to_owned(),
        n => format!("are {n}"),
    }
}

/// Returns a sum of readings in mL with the decimals of the finest of them.
fn sum(total: f64, readings: &[Reading]) -> String {
    let finest = readings
        .iter()
        .map(|reading| reading.value.half_last_place())
        .fold(f64::INFINITY, f64::min);
    to_place(total, (2.0 * finest).log10().round() as i32).unwrap_or_default()
}

fn at_source(aliquot: &Aliquot, code: Code, headline: String) -> Problem {
    let of = &aliquot.of.entry;
    code.error(headline).at_entry(of)
}

/// Finds dilutions that lead back to themselves. Each has one source, so that every walk along sources ends in a
/// solution seen before; each solution is walked through once.
fn rings(found: &Diagnostics, solutions: &Solutions) {
    let source = |index: usize| match solutions.get(index).map(|solution| &solution.origin) {
        Some(Origin::Dilution { aliquot, .. }) => Some(aliquot),
        _ => None,
    };
    let mut walk_of = vec![None; solutions.items.len()];
    for start in 0..solutions.items.len() {
        let mut path = Vec::new();
        let mut at = start;
        while walk_of[at].is_none() {
            walk_of[at] = Some(start);
            path.push(at);
            match source(at) {
                Some(aliquot) => at = aliquot.of.value,
                None => break,
            }
        }
        let closes = source(path.last().copied().unwrap_or(at))
            .is_some_and(|aliquot| aliquot.of.value == at);
        let Some(first) = path.iter().position(|step| *step == at).filter(|_| closes) else {
            continue;
        };
        let Some(aliquot) = source(at) else { continue };
        let ring: Vec<&str> = path[first..]
            .iter()
            .chain([&at])
            .map(|index| solutions.names[*index].value.as_str())
            .collect();
        let shown = if ring.len() > MOST_SHOWN {
            format!("{} ← …", ring[..MOST_SHOWN].join(" ← "))
        } else {
            ring.join(" ← ")
        };
        found.add(|| {
            let headline = if ring.len() == 2 {
                format!("{} is a dilution of itself.", ring[0])
            } else {
                format!("These dilutions are made from each other in a circle: {shown}.")
            };
            let problem = at_source(aliquot, Code::DilutionRing, headline)
                .right("a solution made from weighed salt");
            let others = path[first..].iter().skip(1).take(MOST_SHOWN);
            others.fold(problem, |problem, index| match source(*index) {
                Some(aliquot) => problem.also(
                    aliquot.of.entry.span.clone(),
                    format!("the source of {}", solutions.names[*index].value),
                ),
                None => problem,
            })
        });
    }
}

/// Refuses rows of dilutions longer than [`LONGEST_ROW`], each at the first that is too many.
fn rows(found: &Diagnostics, solutions: &Solutions) {
    let source = |index: usize| match solutions.get(index).map(|solution| &solution.origin) {
        Some(Origin::Dilution { aliquot, .. }) => Some(aliquot.of.value),
        _ => None,
    };
    let mut before: Vec<Option<usize>> = vec![None; solutions.items.len()];
    for start in 0..solutions.items.len() {
        let mut path = Vec::new();
        let mut at = start;
        // One of a ring counts as the first of its row.
        while before[at].is_none() {
            before[at] = Some(0);
            path.push(at);
            match source(at) {
                Some(of) => at = of,
                None => break,
            }
        }
        let mut length = before[at].unwrap_or(0);
        for step in path.into_iter().rev() {
            if source(step).is_some() {
                length += 1;
            }
            before[step] = Some(length);
        }
    }
    for (index, before) in before.iter().enumerate() {
        let aliquot = match solutions.get(index).map(|solution| &solution.origin) {
            Some(Origin::Dilution { aliquot, .. }) if *before == Some(LONGEST_ROW + 1) => aliquot,
            _ => continue,
        };
        found.add(|| {
            let name = &solutions.names[index].value;
            at_source(
                aliquot,
                Code::TooManyDilutions,
                format!("{name} is the last of more than {LONGEST_ROW} dilutions, each made from the one before."),
            )
            .right("a solution fewer dilutions from the one that was weighed")
        });
    }
}

/// A spread to be pooled needs one solution at least that was weighed twice.
pub(super) fn pooling(found: &Diagnostics, densities: Option<&Densities>) {
    let Some((densities, wish)) = densities.and_then(|d| Some((d, d.replicate_spread.as_ref()?)))
    else {
        return;
    };
    let none_twice = densities
        .weighings
        .iter()
        .all(|weighed| weighed.counted() < 2);
    if wish.value == ReplicateSpread::Pooled && none_twice {
        found.add(|| {
            Code::NothingToPool.error("No solution has two weighings that are not left out, so no standard deviation can be pooled.")
            .at_entry(&wish.entry)
            .right("two weighings or more of a solution, or no `repeatability` under `density`")
        });
    }
}

/// The calibration or published densities that unknowns are read from.
#[derive(Default)]
pub(super) struct ReadBack {
    /// The calibration to be made: what was asked for, or a line where there are points enough for it.
    pub(super) calibration: Option<Calibration>,
    /// The scale on which published densities are wanted in its place.
    pub(super) published: Option<At<Scale>>,
    /// That of an earlier report.
    pub(super) earlier: Option<EarlierCalibration>,
}

/// Returns the calibration or published densities that unknowns are read from, if there are any.
pub(super) fn calibration(
    found: &Diagnostics,
    wish: CalibrationWish,
    solutions: &Solutions,
    densities: Option<&Densities>,
) -> ReadBack {
    // Where something could not be read, what follows from it is not known either.
    let Some(densities) =
        densities.filter(|_| solutions.complete && solutions.items.iter().all(Option::is_some))
    else {
        return ReadBack::default();
    };
    let is_unknown = |index: usize| {
        solutions
            .get(index)
            .is_some_and(|solution| solution.origin == Origin::Unknown)
    };
    let kept_out: Vec<usize> = match &wish {
        CalibrationWish::This(wish) => wish.without.iter().map(|r| r.value).collect(),
        _ => Vec::new(),
    };
    let measured = || densities.measurements().filter_map(Measurements::solution);
    let points = measured()
        .map(|solution| solution.value)
        .filter(|solution| !is_unknown(*solution) && !kept_out.contains(solution))
        .count();
    let unknowns = || (0..solutions.items.len()).filter(|index| is_unknown(*index));
    let first_unknown = unknowns().next();
    let weighed: BTreeSet<usize> = measured().map(|s| s.value).collect();
    for index in unknowns().filter(|index| !weighed.contains(index)) {
        let name = &solutions.names[index];
        found.add(|| {
            Code::UnknownNotWeighed
                .error(format!("The unknown {} has no weighings.", name.value))
                .at_entry(&name.entry)
                .right(format!("weighings of {} under `density`", name.value))
        });
    }
    let needs_unknown = |from: &str, entry: &Entry| {
        if first_unknown.is_none() {
            let headline =
                format!("Unknowns are to be found from {from}, but no solution is unknown.");
            found.add(|| {
                Code::NoUnknown
                    .error(headline)
                    .at_entry(entry)
                    .right("a solution with `unknown: true`, or no such key")
            });
        }
    };
    let (calibration, published) = match wish {
        CalibrationWish::Earlier(earlier) => {
            needs_unknown("the calibration of an earlier report", &earlier.entry);
            return ReadBack {
                earlier: Some(*earlier),
                ..ReadBack::default()
            };
        }
        CalibrationWish::Published(scale) => {
            needs_unknown("published densities", &scale.entry);
            (None, Some(scale))
        }
        CalibrationWish::None => (None, None),
        CalibrationWish::This(calibration) => {
            let (needed, line) = match calibration.line {
                Line::LeftOpen | Line::Straight => (2, "straight line"),
                Line::Curve => (3, "curve"),
            };
            if points < needed {
                let Entry { name, span } = calibration.entry.clone();
                found.add(|| {
                    Code::TooFewPoints.error(format!("A {line} needs {needed} weighed solutions of known composition; there {}.", spell_count(points)))
                        .at(name, Some(span))
                        .right(more_points())
                });
            }
            (Some(calibration), None)
        }
        CalibrationWish::Unsaid if points >= 2 => (
            solutions.names.first().map(|first| Calibration {
                against: Scale::MassPercent,
                line: Line::LeftOpen,
                fit: FitMethod::Generalised,
                without: Vec::new(),
                entry: Entry::new("calibration", first.entry.span.clone()),
            }),
            None,
        ),
        CalibrationWish::Unsaid => {
            if let Some(index) = first_unknown {
                let name = &solutions.names[index];
                found.add(|| {
                    Code::TooFewPoints.error(format!("The unknown {} needs two weighed solutions of known composition; there {}.", name.value, spell_count(points)))
                    .at_entry(&name.entry)
                    .right(more_points())
                });
            }
            (None, None)
        }
    };
    ReadBack {
        calibration,
        published,
        earlier: None,
    }
}
