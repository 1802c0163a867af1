//! The calibration of an earlier report, by which unknowns are read.
//!
//! It is read from the report's results: coefficients with covariances, and the range and temperature of its points. The
//! results also state the corrections that the earlier report did not make; they are applied here.

use std::sync::Arc;

use nalgebra::{Cholesky, DMatrix};
use serde::Deserialize;

use super::at::At;
use super::fields::Fields;
use super::file_loader::{FileBeside, FileLoader, Holds, name_beside, why_refused};
use super::model::EarlierCalibration;
use super::scale::Scale;
use super::{days, words};
use crate::problem::Code;

/// The part of a results file that is needed.
#[derive(Deserialize)]
struct ResultsFile {
    title: String,
    date: String,
    solute: String,
    calibration: Option<Stated>,
}

#[derive(Deserialize)]
struct Stated {
    against: String,
    coefficients: Vec<Coefficient>,
    covariance: Vec<Vec<f64>>,
    range: (f64, f64),
    temperature: Temperature,
    line_dof: Option<f64>,
    #[serde(default)]
    published_departures: Vec<(f64, f64)>,
    #[serde(default = "agreed")]
    consistent: bool,
}

fn agreed() -> bool {
    true
}

#[derive(Deserialize)]
struct Coefficient {
    value: f64,
    #[serde(default)]
    not_corrected: Vec<NotCorrected>,
}

#[derive(Deserialize)]
struct NotCorrected {
    lacking: f64,
}

#[derive(Deserialize)]
struct Temperature {
    value: f64,
    standard_uncertainty: f64,
}

/// Reads the calibration that `from` names, with the results that it stands in.
pub(super) fn read(
    run: &Arc<str>,
    fields: &Fields<'_>,
    beside: &dyn FileLoader,
) -> Option<(EarlierCalibration, FileBeside)> {
    let path = fields.text(&words::CALIBRATION_FROM)?.value;
    let from = fields.value(&words::CALIBRATION_FROM)?;
    let problem = |code, headline: String, right: &str| {
        fields
            .found
            .add(|| from.problem(code, headline).right(right));
    };
    if let Some(why) = why_refused(&path) {
        let right = "a path down from the run file's folder, its parts divided by /";
        problem(
            Code::PathNotBeside,
            format!("The path {path} {why}."),
            right,
        );
        return None;
    }
    let right = "the report (PDF) or results file (JSON) of a run with a calibration; its path starts from the run file's folder";
    let file = match results(run, &path, beside) {
        Ok(file) => file,
        Err(why) => {
            let headline = format!("{path} cannot be read: {why}.");
            problem(Code::FileBesideNotRead, headline, right);
            return None;
        }
    };
    match of_results(&file.bytes, from.at(path.clone())) {
        Ok(read) => Some((read, file)),
        Err(why) => {
            let headline = format!("{path} gives no calibration: {why}.");
            problem(Code::NoEarlierCalibration, headline, right);
            None
        }
    }
}

/// Returns the results at a path: those attached to a report or, if the report is missing, the results file beside it.
fn results(run: &Arc<str>, path: &str, beside: &dyn FileLoader) -> Result<FileBeside, String> {
    let stem = path.strip_suffix(".pdf");
    let carried = stem.map_or_else(|| path.to_owned(), |stem| format!("{stem}.results.json"));
    let (bytes, source) = match beside.report(path) {
        Ok(bytes) if bytes.starts_with(b"%PDF") => (beside.results_of(&bytes)?, path.to_owned()),
        Ok(bytes) => (bytes, path.to_owned()),
        Err(why) if carried == path => return Err(why),
        Err(why) => (beside.report(&carried).map_err(|_| why)?, carried.clone()),
    };
    Ok(FileBeside {
        file: name_beside(run, &carried),
        path: carried,
        source,
        holds: Holds::Calibration,
        bytes: bytes.into(),
    })
}

fn of_results(bytes: &[u8], from: At<String>) -> Result<EarlierCalibration, String> {
    let read: ResultsFile = serde_json::from_slice(bytes)
        .map_err(|error| format!("it is not a results file of this version ({error})"))?;
    let Some(stated) = read.calibration else {
        return Err("its run has none".into());
    };
    if !stated.consistent {
        return Err("its points do not lie on its line".into());
    }
    let against = match stated.against.as_str() {
        "mass percent" => Scale::MassPercent,
        "mass concentration" => Scale::MassConcentration,
        "amount concentration" => Scale::Molarity,
        "molality" => Scale::Molality,
        other => return Err(format!("it is against {other:?}")),
    };
    let count = stated.coefficients.len();
    let dof = stated.line_dof.unwrap_or(f64::INFINITY);
    let lacking = |b: &Coefficient| b.not_corrected.iter().map(|part| part.lacking).sum::<f64>();
    let each = stated.coefficients.iter();
    let coefficients: Vec<f64> = each.map(|b| b.value + lacking(b)).collect();
    let slope = coefficients.get(1).copied().unwrap_or_default();
    let (low, high) = stated.range;
    let Temperature {
        value: t,
        standard_uncertainty: u,
    } = stated.temperature;
    let sound = matches!(count, 2 | 3)
        && slope != 0.0
        && dof >= 1.0
        && low < high
        && (-25.0..=110.0).contains(&t)
        && (0.0..=10.0).contains(&u)
        && stated.published_departures.is_sorted_by(|a, b| a.0 < b.0)
        && stated.covariance.len() == count
        && stated.covariance.iter().all(|row| row.len() == count);
    let errors = sound.then(|| lower_factor(&stated.covariance)).flatten();
    Ok(EarlierCalibration {
        entry: from.entry,
        file: from.value,
        title: read.title,
        date: days::day(&read.date).ok_or("its date is not valid")?,
        solute: read.solute,
        against,
        coefficients,
        errors: errors.ok_or("its numbers are not those of a calibration")?,
        dof,
        range: (low, high),
        temperature: (t, u),
        departures: stated.published_departures,
    })
}

/// Returns the lower Cholesky factor of a covariance matrix; `None` if it is not positive definite. The matrix is
/// scaled to correlations first because the coefficients differ by powers of ten.
fn lower_factor(covariance: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let count = covariance.len();
    let sizes: Vec<f64> = (0..count).map(|i| covariance[i][i].sqrt()).collect();
    if !sizes.iter().all(|size| *size > 0.0 && size.is_finite()) {
        return None;
    }
    let scaled = DMatrix::from_fn(count, count, |i, j| {
        covariance[i][j] / (sizes[i] * sizes[j])
    });
    let factor = Cholesky::new(scaled)?.l();
    let row = |i: usize| (0..count).map(|j| sizes[i] * factor[(i, j)]).collect();
    Some((0..count).map(row).collect())
}
