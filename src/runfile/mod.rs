//! The run file: text in, what it says out, each entry with its name and place; or every problem it has.
//!
//! The way of a file: bytes → text (`syntax`) → shape with places (`shape`) → tree of texts, digit for digit (`tree`) →
//! sections read key by key (`fields`, by the `words`) → rules that hold between sections (`rules`).

mod allow_for;
mod apparatus;
pub mod blank_run;
mod densities;
mod entries;
mod fields;
mod flag_code;
mod found;
mod instrument;
pub mod model;
mod practice;
mod records;
mod register;
mod rules;
mod scalars;
pub mod schema;
mod sections;
mod shape;
mod solutions;
mod syntax;
mod tree;
pub mod vocabulary;
mod ware_calibration;
mod weighings;
mod words;

pub use fields::BLANK;
pub use words::RUN;

use crate::problem::{Problem, Severity};
use fields::Value;
use found::Found;
use model::{ReplicateSpread, RunFile};
use std::sync::Arc;

/// Reads a run file.
///
/// `file` is the name the user knows it by. With problems of severity [`Severity::Error`] there is no run file; with
/// warnings alone there is. Problems come in the order of the file, those without a place first.
#[must_use]
pub fn read(file: &str, bytes: &[u8]) -> (Option<RunFile>, Vec<Problem>) {
    let file: Arc<str> = file.into();
    let root = syntax::decode(&file, bytes).and_then(|text| tree::read(&file, text));
    let root = match root {
        Ok(Some(root)) if !root.is_empty() => root,
        Ok(_) => return (None, vec![syntax::empty(&file)]),
        Err(problem) => return (None, vec![*problem]),
    };
    let mut found = Found::default();
    let run = run_file(
        &mut found,
        &file,
        &Value {
            node: &root,
            name: String::new(),
            key_place: Some(root.place.clone()),
        },
    );
    let problems = found.into_problems();
    let failed = problems
        .iter()
        .any(|problem| problem.severity == Severity::Error);
    (run.filter(|_| !failed), problems)
}

fn run_file(found: &mut Found, file: &Arc<str>, root: &Value<'_>) -> Option<RunFile> {
    let fields = root.fields(found, &RUN)?;
    let title = fields.text(found, &words::TITLE);
    let date = fields.day(found, &words::DATE);
    let analysts = fields.texts(found, &words::ANALYSTS);
    let place = fields.text(found, &words::PLACE).map(|text| text.value);
    let aim = fields.text(found, &words::AIM).map(|text| text.value);
    let procedure = fields.texts(found, &words::PROCEDURE);
    let notes = fields.texts(found, &words::NOTES);
    let bench = apparatus::read(found, &fields);
    let conditions = sections::conditions(found, &fields, &bench);
    let ware_calibrations = ware_calibration::read(found, &fields, &bench, &conditions);
    let solute = sections::solute(found, &fields);
    let solutions = solutions::read(found, &fields, &bench);
    let densities = densities::read(found, &fields, &bench, &solutions, &conditions);
    let wish = sections::calibration(found, &fields, &solutions);
    let report = sections::report(found, &fields);
    let allow_for = allow_for::read(found, &fields);
    let practice = practice::read(found, &fields);
    let acknowledged = practice::acknowledged(found, &fields);
    let entries = entries::all(root);
    let corrections = sections::corrections(found, &fields, &entries);
    rules::dilutions(found, &solutions);
    rules::pooling(found, densities.as_ref());
    allow_for::needs(found, &allow_for, &fields, solute.as_ref(), &solutions);
    let calibration = rules::calibration(found, wish, &solutions, densities.as_ref());
    let densities = densities?;
    Some(RunFile {
        file: Arc::clone(file),
        title: title?,
        date: date?,
        analysts,
        place,
        aim,
        procedure,
        notes,
        conditions: conditions.read,
        solute: solute?,
        apparatus: bench.into_items()?,
        allow_for,
        ware_calibrations: ware_calibrations?,
        solutions: solutions.into_items()?,
        replicate_spread: densities
            .replicate_spread
            .map_or(ReplicateSpread::Own, |choice| choice.value),
        weighings: densities.weighings,
        cumulative: densities.cumulative,
        pycnometer: densities.pycnometer,
        readings: densities.readings,
        calibration,
        report,
        practice,
        acknowledged,
        corrections,
        entries,
    })
}
