//! What a template can use. Each field's meaning is told in DEVELOPERS.md under template values.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::manuscript::plot::Plot;
use crate::maths::handles::Handles;
use crate::quantity::rounding::to_place;
use crate::reduce::results::{ComparisonStated, CompositionStated, Stated};
use crate::reduce::{DensityResult, Preparation, has_one_empty};
use crate::reference::atomic_weights;
use crate::runfile::model::{Digits, FileBeside, Reading, Replicate};
use crate::worksheet::{NodeId, Worksheet};

use super::Material;
use super::allowances::Allowances;
use super::budgets::{Budget, Leading, budgets, leading};
use super::calculations::{Part, parts};
use super::calibration::{CalibrationShown, UnknownShown, calibration, unknowns};
use super::comparisons::{ComparisonShown, NotComparedShown, comparison, not_compared};
use super::densities::{self, CumulativeShown, LeftOut, PycnometerShown, ReadingShown};
use super::flags::{FlagShown, Mark, Marks};
use super::monte_carlo::CheckShown;
use super::record::{self, IssueShown};
use super::spreads::{self, SpreadShown};
use super::strength::{self, StrengthShown};
use super::ware::{self, WareShown};
use super::words::{self, delivered, digits, figures, plain, written};

/// All values, as templates see them.
#[derive(Debug, Serialize)]
pub(super) struct Values {
    title: String,
    date: String,
    analysts: Vec<String>,
    place: Option<String>,
    aim: Option<String>,
    procedure: Vec<String>,
    notes: Vec<String>,
    /// Whether it is a draft, which is not counted as an issue.
    draft: bool,
    /// The coverage probability in per cent.
    coverage: String,
    conditions: Vec<Condition>,
    solute: SoluteShown,
    apparatus: Vec<ApparatusShown>,
    allowances: Allowances,
    ware: Vec<WareShown>,
    /// What the buoyancy correction of the calibrated ware went by.
    ware_air: String,
    solutions: Vec<SolutionShown>,
    weighings: Vec<WeighingShown>,
    cumulative: Vec<CumulativeShown>,
    pycnometer: Option<PycnometerShown>,
    readings: Vec<ReadingShown>,
    densities: Vec<DensityShown>,
    /// How single densities scatter.
    spreads: Vec<SpreadShown>,
    /// Apparatus whose repeatability is a customary one, with its size.
    customary: Vec<String>,
    calibration: Option<CalibrationShown>,
    unknowns: Vec<UnknownShown>,
    /// Sodium chloride brines on the trade's scales.
    strength: Vec<StrengthShown>,
    strength_sources: String,
    comparison: Vec<ComparisonShown>,
    not_compared: Vec<NotComparedShown>,
    /// Sources of the published densities compared with.
    sources: Vec<&'static str>,
    budgets: Vec<Budget>,
    leading: Vec<Leading>,
    /// The Monte Carlo check, where it was asked for.
    monte_carlo: Option<CheckShown>,
    /// Whether the digits follow the classroom's rules.
    significant_figures: bool,
    flags: Vec<FlagShown>,
    left_out: Vec<LeftOut>,
    corrections: Vec<CorrectionShown>,
    /// The number of this issue of the report.
    issue: u32,
    /// The last issue that is no longer listed.
    issues_not_listed: Option<u32>,
    /// What issues after the first changed, the latest first.
    issues: Vec<IssueShown>,
    calculations: Vec<Part>,
    file: String,
    entries: String,
    /// The files beside the run file.
    beside: Vec<BesideShown>,
    photos: Vec<PhotoShown>,
    /// Names of the plots there are.
    plots: Vec<String>,
}

#[derive(Debug, Serialize)]
struct BesideShown {
    file: String,
    entries: String,
}

#[derive(Debug, Serialize)]
struct PhotoShown {
    file: String,
    caption: String,
    shows: Option<String>,
}

#[derive(Debug, Serialize)]
struct Condition {
    name: &'static str,
    shown: String,
}

#[derive(Debug, Serialize)]
struct SoluteShown {
    name: String,
    formula: Option<String>,
    molar_mass: ResultShown,
    molar_mass_source: String,
    purity: Option<String>,
    moisture: Option<String>,
}

#[derive(Debug, Serialize)]
struct ApparatusShown {
    name: String,
    kind: &'static str,
    details: String,
    errors: String,
}

/// A result as printed.
#[derive(Debug, Serialize)]
pub(super) struct ResultShown {
    /// Value ± expanded uncertainty.
    pub(super) shown: String,
    /// The value alone, rounded alike.
    value: String,
    /// The expanded uncertainty alone; `None` if it is at most half a unit of the value's last place.
    expanded: Option<String>,
    unit: &'static str,
    /// Coverage factor.
    k: String,
    /// The interval by Monte Carlo, where that is to be relied on instead of value ± expanded uncertainty.
    interval: Option<String>,
}

impl ResultShown {
    pub(super) fn of(stated: &Stated) -> Self {
        let (value, expanded) = match &stated.rounded {
            Some(rounded) if stated.expanded_uncertainty > 0.0 => {
                (rounded.value(), rounded.uncertainty())
            }
            _ => (plain(stated.value), Some("0".into())),
        };
        Self {
            shown: stated.shown.clone(),
            value,
            expanded,
            unit: stated.unit,
            k: format!("{:.2}", stated.coverage_factor),
            interval: stated.interval_shown.clone(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(super) struct CompositionShown {
    mass_percent: Option<ResultShown>,
    mass_concentration: Option<ResultShown>,
    molarity: Option<ResultShown>,
    molality: Option<ResultShown>,
}

impl CompositionShown {
    pub(super) fn of(composition: &CompositionStated) -> Self {
        let show = |stated: &Option<Stated>| stated.as_ref().map(ResultShown::of);
        Self {
            mass_percent: show(&composition.mass_percent),
            mass_concentration: show(&composition.mass_concentration),
            molarity: show(&composition.molarity),
            molality: show(&composition.molality),
        }
    }
}

#[derive(Debug, Serialize)]
struct SolutionShown {
    name: String,
    /// Numbers of the flags of its making.
    marks: Vec<Mark>,
    made: String,
    note: Option<String>,
    pure: bool,
    unknown: bool,
    density: Option<ResultShown>,
    composition: CompositionShown,
    /// The published density.
    published: Option<ResultShown>,
    /// The difference from it, in per cent of it.
    difference: Option<String>,
}

#[derive(Debug, Serialize)]
struct WeighingShown {
    solution: String,
    /// Numbers of its flags.
    marks: Vec<Mark>,
    number: usize,
    empty: String,
    filled: String,
    volume: String,
    liquid: String,
    density: String,
    left_out: Option<String>,
}

#[derive(Debug, Serialize)]
struct DensityShown {
    solution: String,
    /// Numbers of the flags of its weighings or readings.
    marks: Vec<Mark>,
    used: usize,
    liquid: String,
    density: ResultShown,
    /// The value carried forward, with its standard uncertainty; `None` with significant figures.
    carried: Option<String>,
    /// Standard deviation of the weighings used.
    spread: Option<String>,
    /// Whether they scatter by less than rounding would make them.
    alike: bool,
    /// Whether the very same reading of the empty vessel is written at each weighing.
    one_empty: bool,
}

#[derive(Debug, Serialize)]
struct CorrectionShown {
    entry: String,
    was: String,
    now: String,
    why: String,
    by: String,
    on: String,
}

impl BesideShown {
    fn of(beside: &FileBeside) -> Self {
        let text = String::from_utf8_lossy(&beside.bytes);
        Self {
            file: beside.path.clone(),
            entries: text.trim_start_matches('\u{feff}').to_owned(),
        }
    }
}

impl Values {
    pub(super) fn of(
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
        let marks = Marks::of(material.flags.iter().map(|flag| flag.entry.as_str()));
        Self {
            title: run.title.value.clone(),
            date: run.date.value.to_string(),
            analysts: run.analysts.clone(),
            place: run.place.clone(),
            aim: run.aim.clone(),
            procedure: run.procedure.clone(),
            notes: run.notes.clone(),
            draft: run.draft,
            coverage: words::with_unit(&plain(100.0 * coverage), "%"),
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
                })
                .collect(),
            allowances: Allowances::of(material),
            ware: ware::shown(material),
            ware_air: ware::air(material),
            solutions: solutions(material, &marks),
            weighings: weighings(material, &marks),
            cumulative: densities::cumulative(material),
            pycnometer: densities::pycnometer(material),
            readings: densities::readings(material),
            densities: densities(material, &marks),
            spreads: spreads::shown(material),
            customary: spreads::customary(material),
            calibration: reduction
                .calibration
                .as_ref()
                .map(|c| calibration(material, c, handles)),
            unknowns: unknowns(material),
            strength: strength::shown(material),
            strength_sources: strength::sources(material),
            comparison: comparison(material),
            not_compared: not_compared(material),
            sources,
            budgets: budgets(reduction, &material.results.manner),
            monte_carlo: material.monte_carlo.map(CheckShown::of),
            significant_figures: run.report.digits == Digits::SignificantFigures,
            leading: leading(reduction),
            flags: material.flags.iter().map(FlagShown::of).collect(),
            left_out: densities::left_out(material),
            issue: material.record.number(),
            issues_not_listed: material.record.not_listed,
            issues: record::shown(material),
            corrections: run
                .corrections
                .iter()
                .map(|c| CorrectionShown {
                    entry: c.entry.value.clone(),
                    was: c.was.value.clone(),
                    now: c.now.value.clone(),
                    why: c.why.clone(),
                    by: c.by.clone().unwrap_or_default(),
                    on: c.on.clone().unwrap_or_default(),
                })
                .collect(),
            calculations: parts(reduction, &run.report, handles),
            file: material.file_name().to_owned(),
            entries: text.trim_start_matches('\u{feff}').to_owned(),
            beside: run.beside.iter().map(BesideShown::of).collect(),
            photos: photos(material),
            plots: plots.keys().cloned().collect(),
        }
    }
}

/// Those that there are pictures of.
fn photos(material: &Material) -> Vec<PhotoShown> {
    let shown = material.run.photos.iter().zip(material.photos);
    shown
        .map(|(photo, _)| PhotoShown {
            file: photo.path.value.clone(),
            caption: photo.caption.clone(),
            shows: photo.solution(material.run).map(str::to_owned),
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
            shown: written(&reading.as_ref()?.value),
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
        molar_mass: ResultShown::of(&molar_mass),
        molar_mass_source: match run.solute.molar_mass {
            Some(_) => "as stated in the run file".into(),
            None => atomic_weights::SOURCE.into(),
        },
        purity: run.solute.purity.as_ref().map(|p| written(&p.value)),
        moisture: run.solute.moisture.as_ref().map(|m| written(&m.value)),
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
                unknown: reduced.preparation == Preparation::Unknown,
                density: stated.density.as_ref().map(ResultShown::of),
                composition: CompositionShown::of(&stated.composition),
                published: compared.map(|c| ResultShown::of(&c.published)),
                difference: compared.and_then(|c| Some(c.relative.rounded.as_ref()?.to_string())),
            })
        })
        .collect()
}

fn weighings(material: &Material, marks: &Marks) -> Vec<WeighingShown> {
    let Material { run, reduction, .. } = *material;
    let mut rows = Vec::new();
    for weighings in &run.weighings {
        let Some(density) = &reduction.solutions[weighings.solution.value].density else {
            continue;
        };
        for (i, (read, reduced)) in weighings
            .replicates
            .iter()
            .zip(&density.replicates)
            .enumerate()
        {
            let solution = &run.solutions[weighings.solution.value].name.value;
            rows.push(WeighingShown {
                solution: solution.clone(),
                marks: marks.at(&[format!("weighings.{solution}.{}", i + 1)]),
                number: i + 1,
                empty: digits(&read.empty.value),
                filled: digits(&read.filled.value),
                volume: delivered(&read.volumes),
                liquid: liquid(material, read)
                    .map(|r| digits(&r.value))
                    .unwrap_or_default(),
                density: densities::alone(material, reduced.density),
                left_out: reduced.left_out.clone(),
            });
        }
    }
    rows
}

fn liquid<'a>(material: &'a Material, replicate: &'a Replicate) -> Option<&'a Reading> {
    replicate
        .liquid
        .as_ref()
        .or(material.run.conditions.liquid.as_ref())
}

/// Where the entries of a density stand, by the ways to one.
const WAYS: [&str; 4] = [
    "weighings",
    "density.cumulative",
    "density.pycnometer.readings",
    "density.readings",
];

fn densities(material: &Material, marks: &Marks) -> Vec<DensityShown> {
    let Material {
        reduction, results, ..
    } = *material;
    let ws = &reduction.worksheet;
    let once = material.run.weighings.iter().filter(|w| has_one_empty(w));
    let once: Vec<usize> = once.map(|w| w.solution.value).collect();
    let by_uncertainty = material.run.report.digits == Digits::Uncertainty;
    let show = |i: usize, name: &str, d: &DensityResult| DensityShown {
        solution: name.to_owned(),
        marks: marks.at(&WAYS.map(|way| format!("{way}.{name}"))),
        used: d.used,
        liquid: temperature(material, d),
        density: ResultShown::of(&results.manner.state(ws, d.density)),
        carried: by_uncertainty.then(|| {
            let u = figures(ws.uncertainty(d.density).standard, 2);
            format!("{} ± {u}", ws.printed(d.density))
        }),
        spread: d.standard_deviation.map(|sd| figures(sd, 2)),
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

/// The mean temperature of a density, °C.
pub(super) fn temperature(material: &Material, density: &DensityResult) -> String {
    celsius(&material.reduction.worksheet, density.liquid)
}

/// A temperature, °C, to the last place read; to the hundredth if it was calculated from no reading.
pub(super) fn celsius(ws: &Worksheet, temperature: NodeId) -> String {
    let place = ws.last_place_read(temperature).unwrap_or(-2);
    to_place(ws.value(temperature), place).unwrap_or_default()
}
