//! What a run file says, entry by entry, each with its name and span.
//!
//! Everything here is as written and checked for itself (a mass is a mass, a name is known); what follows from it is
//! the reduction's business. Entries are named by their path with the keys of the file, items counted from 1; the
//! weighings of the section `density` are named `weighings.SOLUTION.N.KEY`.

mod asked;
mod density_method;

use smol_str::SmolStr;

pub use super::at::{At, Entry, Reading, Ref};
pub use super::file_loader::{FileBeside, Holds};
pub use super::flag_code::FlagCode;
pub use super::instrument_scale::{InstrumentScale, ScaleKind, Shows};
pub use super::origin::{Aliquot, Delivered, MadeUp, Origin, Solvent, Weighed, WeighedReadings};
pub use super::records::{Acknowledged, Correction, Practice, Reason};
pub use super::scale::Scale;
use crate::bench::quantity::DensityUnit;
use crate::bench::reference::brine::{Salt, find_by_name, salt};
pub use crate::bench::reference::expansion::Glass;
use crate::problem::Span;
pub use asked::{
    Adjustment, Claim, EarlierCalibration, KnownComposition, Limits, Photo, Points, Rule, Step,
};
pub use density_method::{Densities, DensityMethod, Measurements, ReadWith, Single};
use time::Date;

/// A whole run file.
#[derive(Debug, Clone, PartialEq)]
pub struct RunFile {
    /// The file as the user named it.
    pub file: std::sync::Arc<str>,
    /// Title of the report.
    pub title: At<String>,
    /// Date of the work, `YYYY-MM-DD`, a day that exists.
    pub date: At<Date>,
    /// Who did it.
    pub analysts: Vec<String>,
    /// Where.
    pub place: Option<String>,
    /// What for.
    pub aim: Option<String>,
    /// Steps done, in order.
    pub procedure: Vec<String>,
    /// Anything else worth telling.
    pub notes: Vec<String>,
    /// Whether its report is a draft, which is not counted as an issue.
    pub draft: bool,
    /// Conditions at the bench.
    pub conditions: Conditions,
    /// What is dissolved.
    pub solute: Solute,
    /// Vessels and instruments, in the order of the file.
    pub apparatus: Vec<Apparatus>,
    /// Solutions, in the order of the file.
    pub solutions: Vec<Solution>,
    /// Ware calibrated at the bench, in the order of the file.
    pub ware_calibrations: Vec<WareCalibration>,
    /// Corrections asked for.
    pub allow_for: AllowFor,
    /// What was measured of densities.
    pub densities: Densities,
    /// How density is set against composition; none: no calibration is wanted.
    pub calibration: Option<Calibration>,
    /// The scale on which unknowns are read from published densities, where that is wanted in place of a calibration.
    pub from_published: Option<At<Scale>>,
    /// The calibration of an earlier report that unknowns are read from, where that is wanted.
    pub earlier_calibration: Option<EarlierCalibration>,
    /// Limits of the strengths of solutions.
    pub limits: Vec<Limits>,
    /// Strengths that solutions are brought to.
    pub adjustments: Vec<Adjustment>,
    /// What solutions are known to hold.
    pub known: Vec<KnownComposition>,
    /// Results as somebody calculated them by hand.
    pub claimed: Vec<Claim>,
    /// Points for those that are right.
    pub points: Option<Points>,
    /// How the report is written.
    pub report: ReportChoices,
    /// What holds of every rinsing and mixing that does not say otherwise.
    pub practice: Practice,
    /// Flags that the writer knows of.
    pub acknowledged: Vec<Acknowledged>,
    /// Record of corrections.
    pub corrections: Vec<Correction>,
    /// Every single value of the file as written, in the order of the file, then those of the files beside it: what a
    /// comparison of two files goes by.
    pub entries: Vec<At<SmolStr>>,
    /// The files beside it that hold a part of its readings.
    pub beside: Vec<FileBeside>,
    /// Photographs, in the order in which they are named.
    pub photos: Vec<Photo>,
}

impl RunFile {
    /// Returns its name without folders.
    pub fn file_name(&self) -> &str {
        self.file.rsplit(['/', '\\']).next().unwrap_or_default()
    }

    /// Returns the name of the solution that a photograph shows.
    pub fn shown_on(&self, photo: &Photo) -> Option<&str> {
        let solution = self.solutions.get(photo.shows.as_ref()?.value)?;
        Some(&solution.name.value)
    }

    /// Returns where an entry stands: its own value, or the first below it.
    pub fn span_of(&self, entry: &str) -> Option<&Span> {
        let names = |at: &&At<SmolStr>| {
            let rest = at.entry.name.strip_prefix(entry);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        self.entries.iter().find(names).map(|at| &at.entry.span)
    }
}

/// Conditions at the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// Temperature of the liquids unless a weighing says otherwise, °C.
    pub liquid: Option<Reading>,
    /// Thermometer that measured it (apparatus of kind thermometer).
    pub thermometer: Option<Ref>,
    /// Temperature of the air, °C.
    pub air: Option<Reading>,
    /// Pressure of the air, hPa.
    pub pressure: Option<Reading>,
    /// Relative humidity of the air, ratio.
    pub humidity: Option<Reading>,
}

/// The calibration of a piece of ware by the water it delivers or holds.
#[derive(Debug, Clone, PartialEq)]
pub struct WareCalibration {
    /// The ware, an index into [`RunFile::apparatus`].
    pub ware: Ref,
    /// The volume measured out, mL, where it is not the capacity.
    pub volume: Option<Reading>,
    /// Temperature of the water, °C, where it differs from the conditions.
    pub liquid: Option<Reading>,
    /// The balance; `None` if every mass states its own uncertainty.
    pub balance: Option<Ref>,
    /// The weighings, in order.
    pub weighings: Vec<WaterWeighing>,
    /// The entry of the whole.
    pub entry: Entry,
}

/// A volume of water weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterWeighing {
    /// The vessel empty, g.
    pub empty: Reading,
    /// The vessel with the water in it, g.
    pub filled: Reading,
    /// Why it is left out, if it is.
    pub left_out: Option<At<String>>,
    /// The entry of the weighing.
    pub entry: Entry,
}

/// Corrections that are made when asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AllowFor {
    /// For the air that every load displaces.
    pub air_buoyancy: Option<AirBuoyancy>,
    /// For the expansion of the ware: the entry that asks for it.
    pub ware_temperature: Option<Entry>,
    /// For the temperature of the liquids: the one that densities are brought to, °C.
    pub density_at: Option<Reading>,
}

/// The correction for the buoyancy of the air.
#[derive(Debug, Clone, PartialEq)]
pub struct AirBuoyancy {
    /// Density of the weights that the balance was adjusted with, g/mL, if stated.
    pub weights: Option<Reading>,
    /// The entry that asks for it.
    pub entry: Entry,
}

/// What is dissolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Solute {
    /// Name as written, e.g. `sodium chloride`.
    pub name: At<String>,
    /// Chemical formula as written, if any; the known names need none.
    pub formula: Option<At<String>>,
    /// Molar mass, g/mol, if stated.
    pub molar_mass: Option<Reading>,
    /// Mass of the salt in the mass of what was weighed (with a moisture: in that of what was weighed, once dry), ratio,
    /// if stated.
    pub purity: Option<Reading>,
    /// Mass of water in the mass of what was weighed, ratio, if stated.
    pub moisture: Option<Reading>,
    /// Density of the dry crystals, g/mL, if stated.
    pub density: Option<Reading>,
}

impl Solute {
    /// Returns its published record, found by name or formula. A name in common use counts only if neither formula nor
    /// molar mass is stated.
    pub fn salt(&self) -> Option<&'static Salt> {
        let name = &self.name.value;
        if self.formula.is_none() && self.molar_mass.is_none() {
            return find_by_name(name);
        }
        let by_formula = || salt(&self.formula.as_ref()?.value);
        salt(name).or_else(by_formula)
    }
}

/// What a piece of apparatus is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ApparatusKind {
    /// A balance.
    Balance,
    /// A one-mark pipette.
    Pipette,
    /// A graduated pipette.
    GraduatedPipette,
    /// A burette.
    Burette,
    /// A one-mark volumetric flask.
    Flask,
    /// A graduated measuring cylinder.
    Cylinder,
    /// A thermometer.
    Thermometer,
    /// A hydrometer.
    Hydrometer,
    /// A density meter.
    DensityMeter,
}

impl ApparatusKind {
    /// Returns whether it measures one volume only, its capacity.
    pub fn has_one_mark(self) -> bool {
        matches!(self, Self::Pipette | Self::Flask)
    }
}

/// Accuracy class of glassware.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// Class A (or AS: the same limits).
    A,
    /// Class B.
    B,
}

/// How an error within limits is distributed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// Small errors likelier: standard uncertainty a/√6.
    Triangular,
    /// All alike: a/√3.
    Rectangular,
}

/// A vessel or instrument. Fields that do not belong to its kind are refused when the file is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Apparatus {
    /// Its name.
    pub name: At<String>,
    /// What it is.
    pub kind: ApparatusKind,
    /// Nominal capacity, mL (ware; required there).
    pub capacity: Option<Reading>,
    /// Division of the scale, mL (burette), where it is stated.
    pub division: Option<Reading>,
    /// Class (ware).
    pub class: Option<At<Class>>,
    /// Limits of error ±a, mL (ware), in place of the class's.
    pub tolerance: Option<Reading>,
    /// How errors within the tolerance are distributed (ware; default triangular).
    pub spread: Spread,
    /// What it is made of (ware; default borosilicate).
    pub glass: Glass,
    /// Step of the display or scale: g (balance; required there), °C (thermometer), g/mL (hydrometer, density meter).
    pub readability: Option<Reading>,
    /// Standard deviation of repeated readings: g (balance), °C (thermometer), g/mL (hydrometer, density meter), mL (ware:
    /// from delivery to delivery or filling to filling).
    pub repeatability: Option<Reading>,
    /// Limits of the departure from linearity ±a, g (balance).
    pub linearity: Option<Reading>,
    /// Limits of error of a thermometer ±a, °C, of a hydrometer or density meter, g/mL.
    pub accuracy: Option<Reading>,
    /// What its scale shows and when, where that is stated (hydrometer, density meter). Readability, repeatability, accuracy
    /// and readings are then on it.
    pub scale: Option<InstrumentScale>,
    /// Free text, e.g. a serial number.
    pub note: Option<String>,
}

/// A solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Its name.
    pub name: At<String>,
    /// How it came to be.
    pub origin: Origin,
    /// How it was mixed, where this is not as for the whole run.
    pub mixed: Option<At<String>>,
    /// Free text.
    pub note: Option<String>,
}

/// The weighings of one solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighings {
    /// The solution, an index into [`RunFile::solutions`].
    pub solution: Ref,
    /// Its replicates, in order.
    pub replicates: Vec<Replicate>,
}

impl Weighings {
    /// Returns how many of them count: those not left out.
    pub fn counted(&self) -> usize {
        self.replicates
            .iter()
            .filter(|replicate| replicate.left_out.is_none())
            .count()
    }
}

/// What the standard deviation of replicate weighings is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReplicateSpread {
    /// From each solution's own replicates.
    Own,
    /// From those of all solutions together, as far as they were measured in the same way.
    Pooled,
}

/// A known volume weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct Replicate {
    /// The vessel empty, g.
    pub empty: Reading,
    /// The vessel with the volume in it, g.
    pub filled: Reading,
    /// The volume delivered, mL: one delivery or several.
    pub volumes: Vec<Reading>,
    /// Temperature of the liquid, °C, where it differs from the conditions.
    pub liquid: Option<Reading>,
    /// The balance (own, or the section's); `None` if both masses state their own uncertainty.
    pub balance: Option<Ref>,
    /// The pipette (own, or the section's); `None` if the volume states its own uncertainty.
    pub pipette: Option<Ref>,
    /// How often that was rinsed with the solution before, a count.
    pub rinsed: Option<At<u32>>,
    /// Why it is left out, if it is.
    pub left_out: Option<At<String>>,
    /// The entry of the whole replicate, e.g. `weighings.A.2`.
    pub entry: Entry,
}

/// Successive deliveries of one solution into one vessel, without taring.
#[derive(Debug, Clone, PartialEq)]
pub struct Cumulative {
    /// The solution, an index into [`RunFile::solutions`].
    pub solution: Ref,
    /// The vessel empty, g, if it was read.
    pub empty: Option<Reading>,
    /// Temperature of the liquid, °C, where it differs from the conditions.
    pub liquid: Option<Reading>,
    /// The balance; `None` if every mass states its own uncertainty.
    pub balance: Option<Ref>,
    /// The pipette; `None` if every volume states its own uncertainty.
    pub pipette: Option<Ref>,
    /// How often that was rinsed with the solution before, a count.
    pub rinsed: Option<At<u32>>,
    /// The deliveries, in order.
    pub deliveries: Vec<Delivery>,
    /// The entry of the whole.
    pub entry: Entry,
}

/// A delivery, and what the balance showed after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Delivery {
    /// The volume delivered, mL.
    pub volume: Reading,
    /// The vessel with all delivered so far, g.
    pub mass: Reading,
    /// Why the reading is left out, if it is; the volume is in the vessel all the same.
    pub left_out: Option<At<String>>,
    /// The entry of the delivery.
    pub entry: Entry,
}

/// A pycnometer, calibrated with water.
#[derive(Debug, Clone, PartialEq)]
pub struct Pycnometer {
    /// Empty, g.
    pub empty: Reading,
    /// Its fillings with water, in order.
    pub water: Vec<PycnometerFilling>,
    /// Temperature of that water, °C, where it differs from the conditions.
    pub water_liquid: Option<Reading>,
    /// Standard deviation from filling to filling, mL.
    pub repeatability: Option<Reading>,
    /// The balance; `None` if every mass states its own uncertainty.
    pub balance: Option<Ref>,
    /// What it is made of.
    pub glass: Glass,
    /// Its fillings with solutions, in the order of the file.
    pub fillings: Vec<Fillings>,
    /// The entry of the whole.
    pub entry: Entry,
}

/// The fillings of a pycnometer with one solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Fillings {
    /// The solution, an index into [`RunFile::solutions`].
    pub solution: Ref,
    /// Its fillings, in order.
    pub fillings: Vec<PycnometerFilling>,
}

/// A pycnometer filled.
#[derive(Debug, Clone, PartialEq)]
pub struct PycnometerFilling {
    /// Filled, g.
    pub filled: Reading,
    /// Temperature of the liquid, °C, where it differs from the conditions; the water has one for all fillings.
    pub liquid: Option<Reading>,
    /// Why it is left out, if it is.
    pub left_out: Option<At<String>>,
    /// The entry of the filling.
    pub entry: Entry,
}

/// The densities of one solution as an instrument showed them.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityReadings {
    /// The solution, an index into [`RunFile::solutions`].
    pub solution: Ref,
    /// The readings, in order.
    pub readings: Vec<DensityReading>,
}

/// A density as an instrument showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityReading {
    /// The density, g/mL, or what the scale of the instrument shows.
    pub density: Reading,
    /// Temperature of the liquid, °C, where it differs from the conditions.
    pub liquid: Option<Reading>,
    /// The instrument; `None` if the reading states its own uncertainty.
    pub with: Option<Ref>,
    /// Why it is left out, if it is.
    pub left_out: Option<At<String>>,
    /// The entry of the reading.
    pub entry: Entry,
}

/// The line wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The abscissa.
    pub against: Scale,
    /// The function.
    pub line: Line,
    /// The method.
    pub fit: FitMethod,
    /// Solutions kept out of the fit, indices into [`RunFile::solutions`].
    pub without: Vec<Ref>,
    /// Where the section stands.
    pub entry: Entry,
}

/// The function that the run file asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// The run file does not choose: the report does.
    LeftOpen,
    /// A straight line.
    Straight,
    /// A quadratic.
    Curve,
}

/// The method of fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FitMethod {
    /// With all variances and covariances.
    Generalised,
    /// Weighted by the density's variance.
    Weighted,
    /// Every point alike.
    Ordinary,
}

/// How the report is written.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportChoices {
    /// Coverage probability of expanded uncertainties, ratio; 0.95 unless stated.
    pub coverage: f64,
    /// The rule for digits.
    pub digits: Digits,
    /// The unit of densities; g/mL unless stated.
    pub density_unit: DensityUnit,
    /// The trade's scales on which brines are stated; empty by default.
    pub scales: Vec<At<TradeScale>>,
}

/// A scale by which the trade names the strength of a sodium chloride brine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TradeScale {
    /// Density at 20 °C over that of water at 20 °C.
    SpecificGravity,
    /// Degrees Baumé, modulus 145, 60 °F.
    DegreesBaume,
    /// Mass percent over that of saturated brine.
    PercentSaturation,
}

/// The rule by which digits are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Digits {
    /// Two significant digits of the expanded uncertainty, the value to match.
    Uncertainty,
    /// The value's significant figures by the classroom's rules, the uncertainty to match.
    SignificantFigures,
}
