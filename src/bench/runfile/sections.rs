//! The smaller sections: conditions, solute, calibration, report, corrections.

use smol_str::SmolStr;

use super::diagnostics::Diagnostics;
use super::earlier_calibration;
use super::fields::{Fields, Value};
use super::file_loader::{FileBeside, FileLoader};
use super::model::{
    At, Calibration, Correction, Digits, EarlierCalibration, FitMethod, Line, Reason,
    ReportChoices, Scale, Solute,
};
use super::solutions::{self as solution_reader, Solutions};
use super::tree::Content;
use super::words::{self, ReadFrom};
use crate::bench::quantity::{DensityUnit, Dimension, Unit};
use crate::problem::{Code, Span, nearest};
use std::collections::BTreeMap;
use std::sync::Arc;
use time::Date;

pub(super) fn solute(run: &Fields<'_>) -> Option<Solute> {
    let value = run.value(&words::SOLUTE)?;
    let solute = if let Content::Scalar { text, .. } = &value.node.content {
        let name = At::new(text.trim().to_owned(), value.entry());
        Solute {
            name,
            formula: None,
            molar_mass: None,
            purity: None,
            moisture: None,
            density: None,
        }
    } else {
        let fields = value.fields(&words::SOLUTE_KEYS)?;
        let name = fields.text(&words::NAME);
        let formula = fields.text(&words::FORMULA);
        let molar_mass = fields.measure(&words::MOLAR_MASS);
        let purity = fields.measure(&words::PURITY);
        let moisture = fields.measure(&words::MOISTURE);
        let density = fields.measure(&words::CRYSTAL_DENSITY);
        let name = name?;
        if fields.has(&words::FORMULA) && formula.is_none()
            || fields.has(&words::MOLAR_MASS) && molar_mass.is_none()
        {
            return None;
        }
        Solute {
            name,
            formula,
            molar_mass,
            purity,
            moisture,
            density,
        }
    };
    if solute.salt().is_none() && solute.formula.is_none() && solute.molar_mass.is_none() {
        let names = || words::known_salts().into_iter();
        let name = &solute.name;
        run.found.add(|| {
            let problem = Code::UnknownSolute
                .error(format!("{} is not a salt known by name.", name.value))
                .at_entry(&name.entry)
                .read(name.value.as_str());
            let known = names().collect::<Vec<_>>().join(", ");
            let meant = nearest(&name.value, names());
            let perhaps = meant
                .map(|meant| format!("perhaps {meant}; "))
                .unwrap_or_default();
            let mut problem = problem.right(format!(
                "{perhaps}one of {known}; other salts with `name`, and `formula` or `molar_mass`"
            ));
            problem.nearest = meant.map(str::to_owned);
            problem
        });
        return None;
    }
    Some(solute)
}

/// What the file says of the calibration.
pub(super) enum CalibrationWish {
    /// Nothing.
    Unsaid,
    /// None is wanted, or what is wanted could not be read.
    None,
    /// This one.
    This(Calibration),
    /// Published densities, on a scale.
    Published(At<Scale>),
    /// That of an earlier report.
    Earlier(Box<EarlierCalibration>),
}

pub(super) fn calibration(
    (file, run): (&Arc<str>, &Fields<'_>),
    solutions: &Solutions,
    (beside, files): (&dyn FileLoader, &mut Vec<FileBeside>),
) -> CalibrationWish {
    if !run.has(&words::CALIBRATION) {
        return CalibrationWish::Unsaid;
    }
    let Some(value) = run.value(&words::CALIBRATION) else {
        return CalibrationWish::None;
    };
    if let Content::Scalar { text, .. } = &value.node.content {
        match text.trim() {
            "none" => return CalibrationWish::None,
            words::PUBLISHED => return CalibrationWish::Published(value.at(Scale::MassPercent)),
            _ => {}
        }
    }
    let Some(fields) = value.fields(&words::CALIBRATION_KEYS) else {
        return CalibrationWish::None;
    };
    if fields.has(&words::CALIBRATION_FROM) {
        let others = [
            fields.value(&words::AGAINST),
            fields.value(&words::LINE),
            fields.value(&words::FIT),
            fields.value(&words::WITHOUT),
        ];
        let why = "unknowns are found from the calibration of an earlier report";
        nothing_fitted(run.found, others, (value.node.span.clone(), why));
        let read = earlier_calibration::read(file, &fields, beside);
        return read.map_or(CalibrationWish::None, |(earlier, file)| {
            files.push(file);
            CalibrationWish::Earlier(Box::new(earlier))
        });
    }
    let names = fields.names(&words::WITHOUT);
    let without = names
        .iter()
        .filter_map(|(value, name)| solution_reader::find(solutions, value, name))
        .collect();
    let against = fields
        .choice(&words::AGAINST)
        .map_or(Scale::MassPercent, |choice| choice.value);
    let line = match fields.choice(&words::LINE) {
        None => Line::LeftOpen,
        Some(At {
            value: ReadFrom::Line(line),
            ..
        }) => line,
        Some(published) => {
            let fitted = [fields.value(&words::FIT), fields.value(&words::WITHOUT)];
            let why = "unknowns are found from published densities";
            nothing_fitted(run.found, fitted, (published.entry.span.clone(), why));
            return CalibrationWish::Published(value.at(against));
        }
    };
    CalibrationWish::This(Calibration {
        without,
        against,
        line,
        fit: fields
            .choice(&words::FIT)
            .map_or(FitMethod::Generalised, |choice| choice.value),
        entry: value.entry(),
    })
}

/// Notes keys of a fit where none is made, and why.
fn nothing_fitted<const N: usize>(
    found: &Diagnostics,
    keys: [Option<&Value<'_>>; N],
    (span, why): (Span, &str),
) {
    for value in keys.into_iter().flatten() {
        let headline = format!(
            "{} is for a line through the bench's own solutions, but none is fitted.",
            value.name
        );
        found.add(|| {
            let problem = value.problem(Code::NothingFitted, headline);
            let right = "no such key, or a calibration with solutions of the bench";
            problem.right(right).also(span.clone(), why)
        });
    }
}

pub(super) fn report(run: &Fields<'_>) -> ReportChoices {
    let mut choices = ReportChoices {
        coverage: 0.95,
        digits: Digits::Uncertainty,
        density_unit: DensityUnit::default(),
        scales: Vec::new(),
    };
    if let Some(fields) = run
        .value(&words::REPORT)
        .and_then(|value| value.fields(&words::REPORT_KEYS))
    {
        if let Some(coverage) = fields.measure(&words::COVERAGE) {
            choices.coverage = coverage.value.value;
        }
        if let Some(digits) = fields.choice(&words::DIGITS) {
            choices.digits = digits.value;
        }
        if let Some(unit) = fields.choice(&words::DENSITY_UNIT) {
            choices.density_unit = unit.value;
        }
        choices.scales = fields.choices(&words::SCALES);
    }
    choices
}

pub(super) fn corrections(
    run: &Fields<'_>,
    is_told: &dyn Fn(&str) -> bool,
    date: Option<&At<Date>>,
    entries: &[At<SmolStr>],
) -> Vec<Correction> {
    let Some(value) = run.value(&words::CORRECTIONS) else {
        return Vec::new();
    };
    let written: BTreeMap<&str, &At<SmolStr>> = entries
        .iter()
        .map(|entry| (entry.entry.name.as_str(), entry))
        .collect();
    let mut corrections: Vec<Correction> = Vec::new();
    for item in value.numbered() {
        let Some(fields) = item.fields(&words::CORRECTION_KEYS) else {
            continue;
        };
        let entry = fields.text(&words::ENTRY);
        let was = fields.text(&words::WAS);
        let now = fields.text(&words::NOW);
        let why = fields.text(&words::WHY);
        let by = fields.text(&words::BY).map(|text| text.value);
        let on = fields.day(&words::ON);
        if let (Some(on), Some(date)) = (&on, date)
            && on.value < date.value
        {
            run.found.add(|| {
                Code::CorrectedBeforeTheWork
                    .error(format!("{} is before the day of the work.", on.entry.name))
                    .at_entry(&on.entry)
                    .read(on.value.to_string())
                    .right(format!("{} or later", date.value))
                    .also(date.entry.span.clone(), "the day of the work")
            });
        }
        if let (Some(was), Some(now)) = (&was, &now) {
            changed(run.found, was, now);
        }
        let on = on.map(|day| day.value.to_string());
        if let Some(entry) = entry
            .as_ref()
            .filter(|entry| !written.contains_key(entry.value.as_str()) && is_told(&entry.value))
        {
            run.found.add(|| {
                let problem = Code::UnknownEntry
                    .error(format!("{} is not an entry of this file.", entry.value))
                    .at_entry(&entry.entry)
                    .read(entry.value.as_str());
                let such = "a name such as `weighings.A.1.filled` or `solutions.B.made_up.to`";
                let meant = nearest(&entry.value, written.keys().copied());
                let mut problem = problem
                    .right(meant.map_or(such.to_owned(), |meant| format!("perhaps {meant}")));
                problem.nearest = meant.map(str::to_owned);
                problem
            });
        }
        if let (Some(entry), Some(was), Some(now), Some(why)) = (entry, was, now, why) {
            corrections.push(Correction {
                entry,
                was,
                now,
                reason: Reason {
                    why: why.value,
                    by,
                    on,
                },
            });
        }
    }
    // The last correction of an entry tells what stands there.
    let last: BTreeMap<&str, &Correction> = corrections
        .iter()
        .map(|done| (done.entry.value.as_str(), done))
        .collect();
    for (name, correction) in last {
        let Some(present) = written
            .get(name)
            .filter(|present| !are_written_alike(&present.value, &correction.now.value))
        else {
            continue;
        };
        run.found.add(|| {
            let now = &correction.now;
            Code::CorrectionNotMade
                .warning(format!("{name} differs from its corrected value."))
                .at_entry(&now.entry)
                .read(now.value.as_str())
                .right(present.value.as_str())
                .also(present.entry.span.clone(), "the present entry")
        });
    }
    corrections
}

/// Notes a correction that changes nothing, or from one dimension to another.
fn changed(found: &Diagnostics, was: &At<String>, now: &At<String>) {
    if was.value.trim() == now.value.trim() {
        found.add(|| {
            Code::NothingCorrected
                .error(format!(
                    "{} is the same as the corrected value.",
                    was.entry.name
                ))
                .at_entry(&was.entry)
                .read(was.value.as_str())
                .right("the old value")
                .also(now.entry.span.clone(), "the present value")
        });
    }
    let of_number =
        |c: char| c.is_ascii_digit() || c.is_whitespace() || ".+-\u{2212}\u{b1}()".contains(c);
    let unit = |text: &str| {
        let begins = text.trim_start().starts_with(|c: char| c.is_ascii_digit());
        let symbol = text.trim_start_matches(of_number).trim();
        begins
            .then(|| Unit::from_symbol(symbol, Dimension::Mass))
            .flatten()
    };
    let (Some(before), Some(after)) = (unit(&was.value), unit(&now.value)) else {
        return;
    };
    if before.dimension != after.dimension {
        found.add(|| {
            Code::WrongDimension
                .error(format!(
                    "{} has {} where a {} belongs.",
                    was.entry.name, before.symbol, after.dimension
                ))
                .at_entry(&was.entry)
                .read(was.value.as_str())
                .right(format!("a {}, as it is now", after.dimension))
                .also(now.entry.span.clone(), "the present value")
        });
    }
}

/// Returns whether two entries are written alike but for white space and a unit left out in one of them.
pub fn are_written_alike(a: &str, b: &str) -> bool {
    let (a, b): (String, String) = (
        a.split_whitespace().collect(),
        b.split_whitespace().collect(),
    );
    let (short, long) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    match long.strip_prefix(&short) {
        Some("") => true,
        Some(rest) => {
            short.ends_with(|c: char| c.is_ascii_digit())
                && rest.starts_with(|c: char| c.is_alphabetic() || matches!(c, '°' | '%'))
        }
        None => false,
    }
}

#[cfg(test)]
mod tests {
    use super::are_written_alike;

    #[test]
    fn a_unit_may_be_left_out() {
        for (a, b, alike) in [
            ("42.510 g", "42.510", true),
            ("42.510", "42.510 g", true),
            ("42.510g", "42.510 g", true),
            ("42.510", "42.5101", false),
            ("42.51", "42.510", false),
            ("bubble", "bubbles", false),
        ] {
            assert_eq!(are_written_alike(a, b), alike, "{a} and {b}");
        }
    }
}
