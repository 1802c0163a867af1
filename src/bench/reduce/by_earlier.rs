//! The composition of an unknown by the calibration of an earlier report.
//!
//! The coefficients are numbers with covariances. Which instruments both runs share, such as a pipette, is not known, so
//! all errors of the calibration count as independent of this run's. Coefficients and densities are both corrected for
//! the effects that their runs leave uncorrected. Densities are brought to the temperature of the calibration by the
//! published change of density, if the salt has one.

use crate::bench::quantity::Unit;
use crate::bench::runfile::model::{EarlierCalibration, RunFile, Scale};
use crate::bench::worksheet::{Component, Expr, Input, Label, NodeId, Symbol, Title, Worksheet};
use crate::problem::{Code, Problem};

use super::DensityResult;
use super::allowances::published_error;
use super::calibration::{COEFFICIENTS, titles};
use super::choice::NEGLIGIBLE;
use super::composition::{self, Composition};
use super::published::Published;
use super::read_back::{Curve, Read, read_back};
use super::reference_temperature::{Bringing, corrected};
use super::roots::single_root;

/// A calibration from an earlier report, on the worksheet.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierResult {
    /// The abscissa.
    pub against: Scale,
    /// Its coefficients, rising powers.
    pub coefficients: Vec<NodeId>,
    /// The lowest and highest composition of its points.
    pub range: (f64, f64),
    /// The temperature of its points, °C.
    pub temperature: NodeId,
    /// Whether densities are brought to that temperature.
    pub brought: bool,
}

impl EarlierResult {
    /// Puts a calibration on the worksheet; `brought` says whether densities are brought to its temperature.
    pub(super) fn new(ws: &mut Worksheet, earlier: &EarlierCalibration, brought: bool) -> Self {
        let origin = || earlier.entry.name.clone();
        let error = || Input {
            origin: origin().into(),
            components: vec![Component::sampled("earlier calibration", 1.0, earlier.dof)],
            unseen: true,
            ..Input::default()
        };
        let errors: Vec<NodeId> = (0..earlier.coefficients.len())
            .map(|j| {
                let name = format!("error {} of the earlier calibration", j + 1);
                let title = Title::new(name, format!("e_{}", j + 1).as_str(), &Unit::ONE);
                ws.input(title, 0.0, error())
            })
            .collect();
        let rows = earlier.coefficients.iter().zip(&earlier.errors);
        let rows: Vec<_> = rows.zip(titles(&COEFFICIENTS, earlier.against)).collect();
        let coefficients = rows.into_iter().map(|((&value, factors), title)| {
            let unit = title.unit;
            let parts = errors.iter().zip(factors);
            let parts = parts.map(|(error, factor)| Expr::exactly(*factor, unit) * *error);
            let sum = std::iter::once(Expr::exactly(value, unit)).chain(parts);
            ws.calculate(title, Expr::Sum(sum.collect()))
        });
        let coefficients = coefficients.collect();
        let (value, u) = earlier.temperature;
        let input = Input {
            origin: origin().into(),
            digits: Some(value.to_string().into()),
            components: vec![Component::normal("earlier calibration", u)],
            ..Input::default()
        };
        let title = Title::new(
            "temperature of the earlier calibration",
            "t_cal",
            &Unit::CELSIUS,
        );
        Self {
            against: earlier.against,
            coefficients,
            range: earlier.range,
            temperature: ws.input(title, value, input),
            brought,
        }
    }
}

/// Reads unknowns by an earlier calibration.
pub(super) struct ByEarlier<'a> {
    pub(super) run: &'a RunFile,
    pub(super) molar_mass: NodeId,
    pub(super) earlier: &'a EarlierCalibration,
    pub(super) on_worksheet: &'a EarlierResult,
    /// Brings densities to its temperature; `None` for a salt without published densities.
    pub(super) bringing: Option<Bringing<'a>>,
}

impl ByEarlier<'_> {
    /// Reads the composition of an unknown, the `index`-th solution, from its density.
    ///
    /// # Errors
    /// A problem, where the calibration has no such density, or the published values do not reach.
    pub(super) fn read(
        &self,
        ws: &mut Worksheet,
        published: &mut Published,
        (index, name): (usize, &str),
        density: &mut DensityResult,
    ) -> Result<Composition, Problem> {
        let label = &Label::from(name);
        let rho = corrected(ws, label, density.density);
        let curve = Curve {
            against: self.earlier.against,
            coefficients: &self.on_worksheet.coefficients,
            range: self.earlier.range,
        };
        let departure = self.departure(ws, label, rho);
        if let Some(bringing) = &self.bringing {
            let unknown = (index, label, (rho, density.liquid));
            let line = (curve, departure);
            let (at, composition) = bringing.read_back(ws, published, line, unknown)?;
            density.at_reference = Some(at);
            return Ok(composition);
        }
        let read = Read {
            density: rho,
            departure,
        };
        let x = read_back(ws, curve, label, read)?;
        let known = (self.earlier.against, x);
        let all = composition::complete(ws, label, known, Some(rho), self.molar_mass);
        Ok(all)
    }

    /// Returns the departure of the published density from the line at a density; `None` if it is negligible compared
    /// with the density's expanded uncertainty.
    fn departure(&self, ws: &mut Worksheet, label: &Label, rho: NodeId) -> Option<NodeId> {
        let (coefficients, range) = (&self.earlier.coefficients, self.earlier.range);
        let x = single_root(coefficients, ws.value(rho), range).ok()?;
        let departure = self.earlier.departure(x).abs();
        let uncertainty = ws.uncertainty(rho);
        let expanded = super::coverage::expanded(uncertainty, self.run.report.coverage);
        let title = Title::new(
            format!("departure of the published density from the calibration at {label}"),
            Symbol::new("δ", "shape", label),
            &Unit::GRAM_PER_MILLILITRE,
        );
        (departure > NEGLIGIBLE * expanded).then(|| published_error(ws, title, departure))
    }

    /// Refuses a calibration of another salt.
    ///
    /// # Errors
    /// A problem at the entry that names it.
    pub(super) fn of_this_salt(&self) -> Result<(), Problem> {
        let (run, earlier) = (self.run, self.earlier);
        let here = &run.solute.name.value;
        let salts =
            [here, &earlier.solute].map(|name| crate::bench::reference::brine::find_by_name(name));
        let same = match salts {
            [Some(here), Some(there)] => std::ptr::eq(here, there),
            [None, None] => here.to_lowercase() == earlier.solute.to_lowercase(),
            _ => run
                .solute
                .salt()
                .is_some_and(|salt| salts.contains(&Some(salt))),
        };
        if same {
            return Ok(());
        }
        let headline = format!("The calibration of {} is not for {here}.", earlier.file);
        let entry = &earlier.entry;
        Err(Code::NoEarlierCalibration
            .error(headline)
            .at_entry(entry)
            .read(earlier.solute.as_str())
            .right(format!("a calibration with solutions of {here}")))
    }
}
