//! The calibration of an earlier report, for templates.

use serde::Serialize;

use crate::maths::handles::Handles;
use crate::print::manuscript::said::long_date;

use super::Material;
use super::calibration::CoefficientShown;
use super::shown::{ColumnShown, celsius};
use super::words::figures;

/// The calibration of an earlier report that is used for the unknowns.
#[derive(Debug, Serialize)]
pub(super) struct EarlierShown {
    /// The file that it was taken from.
    file: String,
    /// Title of that report.
    title: String,
    /// Its date.
    date: String,
    /// The measure of composition.
    against: &'static str,
    /// Its symbol.
    symbol: &'static str,
    /// Its unit.
    unit: &'static str,
    /// Whether it is a curve.
    curve: bool,
    /// The lowest composition of its points.
    low: String,
    /// The highest.
    high: String,
    /// Temperature of its points, °C.
    temperature: String,
    /// Whether densities are converted to that temperature with published densities.
    brought: bool,
    /// Its coefficients, in rising powers.
    coefficients: Vec<CoefficientShown>,
    /// They with their expanded uncertainties, for a table.
    coefficient_values: ColumnShown,
    /// Their standard uncertainties.
    standard_uncertainties: ColumnShown,
}

pub(super) fn show(material: &Material, handles: &Handles) -> Option<EarlierShown> {
    let reduction = material.reduction;
    let ws = &reduction.worksheet;
    let (found, earlier) = (
        reduction.earlier.as_ref()?,
        material.run.earlier_calibration.as_ref()?,
    );
    let ids = &found.coefficients;
    Some(EarlierShown {
        file: earlier.file.clone(),
        title: earlier.title.clone(),
        date: long_date(Some(earlier.date)),
        against: found.against.label(),
        symbol: found.against.symbol(),
        unit: found.against.unit().symbol,
        curve: found.coefficients.len() > 2,
        low: figures(found.range.0, 4),
        high: figures(found.range.1, 4),
        temperature: celsius(ws, found.temperature),
        brought: found.brought,
        coefficients: CoefficientShown::each(material, ids, handles),
        coefficient_values: ColumnShown::stated(material, ids),
        standard_uncertainties: ColumnShown::standard_uncertainties(ws, ids),
    })
}
