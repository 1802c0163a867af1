//! What a template can use. The documentation of the fields is for those who write templates: `templates/VALUES.md` is made
//! from it.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::bench::quantity::DensityUnit;
use crate::bench::quantity::rounding::Rounded;
use crate::bench::reduce::results::ComparisonStated;
use crate::bench::reduce::{DensityResult, Preparation, has_one_empty};
use crate::bench::reference::atomic_weights;
use crate::bench::runfile::model::{DensityMethod, Digits, FileBeside, Holds};
use crate::maths::handles::Handles;
use crate::print::manuscript::plot::Plot;

use super::Material;
use super::adjustments::{self, AdjustmentShown};
use super::allowances::Allowances;
use super::budgets::{Budget, budgets};
use super::calculations::{Part, parts};
use super::calibration::{
    CalibrationShown, FromPublished, UnknownShown, calibration, from_published, unknowns,
};
use super::claims::{self, ClaimsShown};
use super::comparisons::{ComparisonShown, NotComparedShown, comparison, not_compared};
use super::densities::{
    self, CumulativeShown, LeftOut, PycnometerShown, ReadingShown, WeighingShown,
};
use super::earlier::{self, EarlierShown};
use super::flags::{FlagShown, Mark, Marks};
use super::known::{self, KnownShown};
use super::limits::{self, LimitShown};
use super::monte_carlo::CheckShown;
use super::record::{self, IssueShown};
use super::rows;
use super::shown::{ColumnShown, CompositionShown, ResultShown, temperature};
use super::spreads::{self, SpreadShown};
use super::strength::{self, StrengthShown};
use super::ware::{self, WareShown};
use super::words::{self, EntryWords, write_plain, write_quantity};

/// Values that every template may use.
#[derive(Debug, Serialize)]
pub(super) struct Values {
    /// The title, as written in the run file.
    title: String,
    /// The date of the run, as written.
    date: String,
    /// The analysts, as written.
    analysts: Vec<String>,
    /// The place, as written.
    place: Option<String>,
    /// The aim, as written.
    aim: Option<String>,
    /// The steps of the procedure, as written; may be empty.
    procedure: Vec<String>,
    /// Notes, as written; may be empty.
    notes: Vec<String>,
    /// Whether it is a draft, which is not counted as an issue.
    draft: bool,
    /// The units of densities.
    units: Units,
    /// The coverage probability, with %.
    coverage: String,
    /// The conditions stated.
    conditions: Vec<Condition>,
    /// The salt.
    solute: SoluteShown,
    /// Vessels and instruments.
    apparatus: Vec<ApparatusShown>,
    /// The corrections.
    allowances: Allowances,
    /// Ware calibrated with water.
    ware: Vec<WareShown>,
    /// The air assumed in the buoyancy correction of that calibration.
    ware_air: String,
    /// The solutions, in the order of the run file.
    solutions: Vec<SolutionShown>,
    /// Weighings of known volumes.
    weighings: Vec<WeighingShown>,
    /// Series of deliveries without taring.
    cumulative: Vec<CumulativeShown>,
    /// Densities by pycnometer.
    pycnometer: Option<PycnometerShown>,
    /// Densities as an instrument showed them.
    readings: Vec<ReadingShown>,
    /// The density of each solution at the temperature of the liquid.
    densities: Vec<DensityShown>,
    /// The standard deviations of single weighings or readings of each.
    density_spreads: ColumnShown,
    /// How single weighings, fillings and readings scatter.
    spreads: Vec<SpreadShown>,
    /// Apparatus given a customary repeatability, with its size.
    customary: Vec<String>,
    /// The calibration.
    calibration: Option<CalibrationShown>,
    /// Solutions of unknown composition.
    unknowns: Vec<UnknownShown>,
    /// The published densities from which unknowns are found, if they are.
    from_published: Option<FromPublished>,
    /// The calibration of an earlier report that is used for the unknowns.
    earlier_calibration: Option<EarlierShown>,
    /// Whether a solution of known composition was made.
    made: bool,
    /// Results with limits, and the verdicts.
    limits: Vec<LimitShown>,
    /// The salt or water that brings solutions to their target strengths.
    adjustments: Vec<AdjustmentShown>,
    /// Results compared with known values.
    known_compositions: Vec<KnownShown>,
    /// Results calculated by hand, judged.
    claims: Option<ClaimsShown>,
    /// Sodium chloride brines in trade units.
    strength: Vec<StrengthShown>,
    /// Sources of those units; empty for specific gravity alone.
    strength_sources: String,
    /// Measured densities compared with published ones.
    comparison: Vec<ComparisonShown>,
    /// Solutions that cannot be compared.
    not_compared: Vec<NotComparedShown>,
    /// Sources of the published densities compared with.
    sources: Vec<&'static str>,
    /// Uncertainty budgets of the main results.
    budgets: Vec<Budget>,
    /// The Monte Carlo check, if asked for.
    monte_carlo: Option<CheckShown>,
    /// Whether digits follow the rules of significant figures.
    significant_figures: bool,
    /// Points that deserve a second look.
    flags: Vec<FlagShown>,
    /// Readings left out.
    left_out: Vec<LeftOut>,
    /// Entries corrected.
    corrections: Vec<CorrectionShown>,
    /// The number of this issue of the report.
    issue: u32,
    /// The last issue that is no longer listed because the record became too long.
    issues_not_listed: Option<u32>,
    /// The issues after the first, the latest first.
    issues: Vec<IssueShown>,
    /// Every calculation, in parts.
    calculations: Vec<Part>,
    /// The run file's name without folders.
    file: String,
    /// The run file's text.
    entries: String,
    /// Files that the run file takes readings from.
    beside: Vec<BesideShown>,
    /// Photographs, in the order of the run file; `![](photo:1)` places the first.
    photos: Vec<PhotoShown>,
    /// Names of the plots present: `calibration`, `calibration_low` (lower, without residuals), `spread` (single
    /// densities about their means).
    plots: Vec<String>,
    /// Solutions of which the plot `spread` has points that coincide, drawn side by side.
    coincident: Vec<String>,
}

/// The units of densities.
#[derive(Debug, Serialize)]
struct Units {
    /// The unit of densities, their standard deviations and uncertainties: `g/mL`, or `kg/m³` if the run file asks for it.
    density: &'static str,
    /// The unit of residuals and other small differences of densities: `mg/mL` or `kg/m³`.
    density_difference: &'static str,
    /// Whether `density` is `kg/m³`: 1000 times the quotient of a mass in g and a volume in mL.
    by_cubic_metre: bool,
}

/// A file that the run file takes readings from.
#[derive(Debug, Serialize)]
struct BesideShown {
    /// Its path from the run file's folder.
    file: String,
    /// Its text.
    entries: String,
}

/// A photograph.
#[derive(Debug, Serialize)]
struct PhotoShown {
    /// Its path from the run file's folder.
    file: String,
    /// Its caption, as written.
    caption: String,
    /// The solution that it shows.
    shows: Option<String>,
}

/// A condition of the run.
#[derive(Debug, Serialize)]
struct Condition {
    /// The quantity read, in words.
    name: &'static str,
    /// The reading, with unit.
    shown: String,
}

/// The salt.
#[derive(Debug, Serialize)]
struct SoluteShown {
    /// Its name.
    name: String,
    /// Its chemical formula.
    formula: Option<String>,
    /// Its molar mass.
    molar_mass: ResultShown,
    /// The source of the molar mass.
    molar_mass_source: String,
    /// The purity as stated, with unit.
    purity: Option<String>,
    /// The moisture as stated, with unit.
    moisture: Option<String>,
}

/// A vessel or an instrument.
#[derive(Debug, Serialize)]
struct ApparatusShown {
    /// Its name.
    name: String,
    /// Its kind.
    kind: &'static str,
    /// Capacity and class, or readability.
    details: String,
    /// Its limits of error.
    errors: String,
    /// Its repeatability, with unit, if it is stated.
    repeatability: Option<String>,
}

/// A solution.
#[derive(Debug, Serialize)]
struct SolutionShown {
    /// Its name.
    name: String,
    /// The flags raised within its entry.
    marks: Vec<Mark>,
    /// How it was made.
    made: String,
    /// A note, as written.
    note: Option<String>,
    /// Whether it is pure water.
    pure: bool,
    /// Whether its composition is unknown.
    unknown: bool,
    /// Its density.
    density: Option<ResultShown>,
    /// Its composition, by preparation or found from its density.
    composition: CompositionShown,
    /// Its published density.
    published: Option<ResultShown>,
    /// The measured minus the published density, in percent of the latter, with expanded uncertainty.
    difference: Option<String>,
}

/// The density of a solution.
#[derive(Debug, Serialize)]
struct DensityShown {
    /// Name of the solution.
    solution: String,
    /// The flags raised on its weighings or readings.
    marks: Vec<Mark>,
    /// The number of weighings or readings that are not left out.
    used: usize,
    /// The temperature of the liquid, °C.
    liquid: String,
    /// Their mean, or the slope of a series.
    density: ResultShown,
    /// The density carried forward ± its standard uncertainty; absent with significant figures.
    carried: Option<String>,
    /// Whether they scatter by less than rounding alone would cause.
    alike: bool,
    /// Whether all weighings have the same reading of the empty vessel.
    one_empty: bool,
}

/// An entry corrected, as written in the run file.
#[derive(Debug, Serialize)]
struct CorrectionShown {
    /// Its name.
    entry: String,
    /// What is read at it, in words; its name where it is no reading.
    of: String,
    /// Its earlier value.
    was: String,
    /// Its value now.
    now: String,
    /// The reason.
    why: String,
    /// Who corrected it; may be empty.
    by: String,
    /// The date of the correction; may be empty.
    on: String,
}

impl BesideShown {
    fn new(beside: &FileBeside) -> Self {
        let text = String::from_utf8_lossy(&beside.bytes);
        Self {
            file: beside.path.clone(),
            entries: text.trim_start_matches('\u{feff}').to_owned(),
        }
    }
}

impl Units {
    fn new(unit: DensityUnit) -> Self {
        Self {
            density: unit.of_density().unit.symbol,
            density_difference: unit.of_difference(),
            by_cubic_metre: unit == DensityUnit::KilogramPerCubicMetre,
        }
    }
}

impl Values {
    pub(super) fn new(
        material: &Material,
        plots: &BTreeMap<String, Plot>,
        handles: &Handles,
    ) -> Self {
        let Material {
            run,
            text,
            reduction,
            ..
        } = *material;
        let coverage = run.report.coverage;
        let entry_words = EntryWords::new(run, reduction);
        let tables = run
            .beside
            .iter()
            .filter(|file| file.holds == Holds::Weighings);
        let sources: Vec<&'static str> = {
            let mut seen = Vec::new();
            for comparison in reduction
                .solutions
                .iter()
                .filter_map(|s| s.comparison.as_ref()?.as_ref().ok())
            {
                if !seen.contains(&comparison.source) {
                    seen.push(comparison.source);
                }
            }
            seen
        };
        let marks = Marks::new(material.flags.iter().map(|flag| flag.entry.as_str()));
        Self {
            title: run.title.value.clone(),
            date: run.date.value.to_string(),
            analysts: run.analysts.clone(),
            place: run.place.clone(),
            aim: run.aim.clone(),
            procedure: run.procedure.clone(),
            notes: run.notes.clone(),
            draft: run.draft,
            units: Units::new(run.report.density_unit),
            coverage: words::with_unit(&write_plain(100.0 * coverage), "%"),
            conditions: conditions(material),
            solute: solute(material),
            apparatus: run
                .apparatus
                .iter()
                .enumerate()
                .map(|(i, a)| ApparatusShown {
                    name: a.name.value.clone(),
                    kind: words::kind(a.kind),
                    details: words::details(a),
                    errors: reduction
                        .ware
                        .iter()
                        .find(|w| w.ware == i)
                        .map_or_else(|| words::errors(a), |w| ware::errors(material, w)),
                    repeatability: a
                        .repeatability
                        .as_ref()
                        .map(|sd| words::write_quantity(&sd.value)),
                })
                .collect(),
            allowances: Allowances::new(material),
            ware: ware::show(material),
            ware_air: ware::air(material),
            solutions: solutions(material, &marks),
            weighings: densities::weighings(material, &marks),
            cumulative: densities::cumulative(material),
            pycnometer: densities::pycnometer(material),
            readings: densities::readings(material, DensityMethod::Readings),
            densities: densities(material, &marks),
            density_spreads: density_spreads(material),
            spreads: spreads::show(material),
            customary: spreads::customary(material),
            calibration: reduction
                .calibration
                .as_ref()
                .map(|c| calibration(material, c, handles)),
            unknowns: unknowns(material),
            from_published: from_published(material),
            earlier_calibration: earlier::show(material, handles),
            made: reduction.solutions.iter().any(|s| !s.is_unknown()),
            limits: limits::show(material),
            adjustments: adjustments::show(material),
            known_compositions: known::show(material),
            claims: claims::show(material),
            strength: strength::show(material),
            strength_sources: strength::sources(material),
            comparison: comparison(material),
            not_compared: not_compared(material),
            sources,
            budgets: budgets(reduction, &material.results.manner),
            monte_carlo: material.monte_carlo.map(CheckShown::new),
            significant_figures: run.report.digits == Digits::SignificantFigures,
            flags: material
                .flags
                .iter()
                .map(|flag| FlagShown::new(flag, &entry_words))
                .collect(),
            left_out: densities::left_out(material),
            issue: material.record.number(),
            issues_not_listed: material.record.not_listed,
            issues: record::show(material, &entry_words),
            corrections: run
                .corrections
                .iter()
                .map(|c| CorrectionShown {
                    entry: c.entry.value.clone(),
                    of: entry_words.name(&c.entry.value),
                    was: c.was.value.clone(),
                    now: c.now.value.clone(),
                    why: c.reason.why.clone(),
                    by: c.reason.by.clone().unwrap_or_default(),
                    on: c.reason.on.clone().unwrap_or_default(),
                })
                .collect(),
            calculations: parts(reduction, &run.report, handles),
            file: material.run.file_name().to_owned(),
            entries: text.trim_start_matches('\u{feff}').to_owned(),
            beside: tables.map(BesideShown::new).collect(),
            photos: photos(material),
            plots: plots.keys().cloned().collect(),
            coincident: plots
                .get("spread")
                .map(rows::coincident)
                .unwrap_or_default(),
        }
    }
}

/// Returns those that there are pictures of.
fn photos(material: &Material) -> Vec<PhotoShown> {
    let shown = material.run.photos.iter().zip(material.photos);
    shown
        .map(|(photo, _)| PhotoShown {
            file: photo.path.value.clone(),
            caption: photo.caption.clone(),
            shows: material.run.shown_on(photo).map(str::to_owned),
        })
        .collect()
}

fn conditions(material: &Material) -> Vec<Condition> {
    let c = &material.run.conditions;
    [
        ("Temperature of the liquids", &c.liquid),
        ("Temperature of the air", &c.air),
        ("Pressure of the air", &c.pressure),
        ("Relative humidity", &c.humidity),
    ]
    .into_iter()
    .filter_map(|(name, reading)| {
        Some(Condition {
            name,
            shown: write_quantity(&reading.as_ref()?.value),
        })
    })
    .collect()
}

fn solute(material: &Material) -> SoluteShown {
    let Material {
        run,
        reduction,
        results,
        ..
    } = *material;
    let molar_mass = results
        .manner
        .state(&reduction.worksheet, reduction.molar_mass);
    let formula = run.solute.formula.as_ref().map(|f| f.value.clone());
    SoluteShown {
        name: run.solute.name.value.clone(),
        formula: formula.or(reduction.salt.map(|s| s.formula.into())),
        molar_mass: ResultShown::new(&molar_mass),
        molar_mass_source: match run.solute.molar_mass {
            Some(_) => "as stated in the run file".into(),
            None => atomic_weights::SOURCE.into(),
        },
        purity: run.solute.purity.as_ref().map(|p| write_quantity(&p.value)),
        moisture: run
            .solute
            .moisture
            .as_ref()
            .map(|m| write_quantity(&m.value)),
    }
}

fn solutions(material: &Material, marks: &Marks) -> Vec<SolutionShown> {
    let Material {
        run,
        reduction,
        results,
        ..
    } = *material;
    let stated = |name: &str| {
        results
            .solutions
            .iter()
            .chain(&results.unknowns)
            .find(|(n, _)| n == name)
            .map(|(_, s)| s)
    };
    let compared: BTreeMap<&str, &ComparisonStated> = results
        .comparison
        .iter()
        .map(|(name, comparison)| (name.as_str(), comparison))
        .collect();
    run.solutions
        .iter()
        .zip(&reduction.solutions)
        .filter_map(|(written, reduced)| {
            let stated = stated(&reduced.name)?;
            let compared = compared.get(reduced.name.as_str());
            Some(SolutionShown {
                name: reduced.name.clone(),
                marks: marks.at(&[format!("solutions.{}", reduced.name)]),
                made: words::preparation(run, &written.origin),
                note: written.note.clone(),
                pure: reduced.preparation == Preparation::Pure,
                unknown: reduced.is_unknown(),
                density: stated.density.as_ref().map(ResultShown::new),
                composition: CompositionShown::new(&stated.composition),
                published: compared.map(|c| ResultShown::new(&c.published)),
                difference: compared.and_then(|c| Some(c.relative.rounded.as_ref()?.to_string())),
            })
        })
        .collect()
}

fn density_spreads(material: &Material) -> ColumnShown {
    /// What rounding of binary numbers leaves of the scatter of equal densities, relative to them.
    const NO_SCATTER: f64 = 1e-12;
    let reduction = material.reduction;
    let shown_in = reduction.worksheet.density_unit.of_density();
    ColumnShown::new(reduction.densities().map(|density| {
        let least = NO_SCATTER * reduction.worksheet.value(density.density);
        let scatter = density.standard_deviation?;
        let scatter = if scatter < least { 0.0 } else { scatter };
        Some(shown_in.rounded(Rounded::significant(scatter, 2)?))
    }))
}

fn densities(material: &Material, marks: &Marks) -> Vec<DensityShown> {
    let Material {
        reduction, results, ..
    } = *material;
    let ws = &reduction.worksheet;
    let once = material
        .run
        .densities
        .weighings
        .iter()
        .filter(|w| has_one_empty(w));
    let once: Vec<usize> = once.map(|w| w.solution.value).collect();
    let by_uncertainty = material.run.report.digits == Digits::Uncertainty;
    let show = |i: usize, name: &str, d: &DensityResult| DensityShown {
        solution: name.to_owned(),
        marks: marks.at(std::slice::from_ref(&d.entry)),
        used: d.used,
        liquid: temperature(material, d),
        density: ResultShown::new(&results.manner.state(ws, d.density)),
        carried: by_uncertainty.then(|| {
            let u = ws.uncertainty(d.density).standard;
            let u = ws.shown_in(d.density).significant(u, 2);
            format!("{} ± {u}", ws.printed(d.density))
        }),
        alike: d.alike,
        one_empty: once.contains(&i),
    };
    reduction
        .solutions
        .iter()
        .enumerate()
        .filter_map(|(i, s)| Some(show(i, &s.name, s.density.as_ref()?)))
        .collect()
}
