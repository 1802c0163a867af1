//! What the templates of a comparison can use. The documentation of the fields is for those who write templates:
//! `templates/VALUES.md` is made from it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::against_class::ClassLiquid;
use super::by_date::{ByDate, by_date};
use super::claims::{self, ComparedClaimsShown};
use super::found::{Answer, DIGITS, Row, with_uncertainty};
use super::group::{Group, Pairs, Quantity};
use crate::bench::interlaboratory::{FEWEST, Performance, Standing};
use crate::bench::quantity::rounding::{Rounded, signed};
use crate::print::manuscript::plot::Plot;

/// So many slips are named of a bench that stands apart.
const MOST_TOLD: usize = 8;

/// Values that the templates of a comparison may use.
#[derive(Debug, Serialize)]
pub(super) struct ComparisonValues {
    /// The title.
    pub(super) title: String,
    /// How many runs are compared, and how many of these have errors.
    pub(super) count: usize,
    /// The number of these that have errors.
    pub(super) wrong: usize,
    /// The unknowns, each with its quantity.
    pub(super) answers: Vec<ComparedQuantityShown>,
    /// Departures of measured from published densities.
    pub(super) departures: Vec<ComparedQuantityShown>,
    /// The precision of repeated densities.
    pub(super) precisions: Vec<DensityPrecisionShown>,
    /// Unknowns by date.
    pub(super) charts: Vec<ControlChartShown>,
    /// Benches that stand apart from the class, once errors that their own readings share are removed.
    pub(super) apart: Vec<BenchApartShown>,
    /// The smallest slip that shows against the class, by liquid; none if fewer than `fewest` benches measured it.
    pub(super) visible: Vec<VisibleSlipShown>,
    /// The smallest number of benches that are judged against each other.
    pub(super) fewest: usize,
    /// Two liquids at each bench; absent if fewer than three benches have both.
    pub(super) pairs: Option<YoudenShown>,
    /// Results calculated by hand; absent if nothing is claimed.
    pub(super) claims: Option<ComparedClaimsShown>,
    /// The runs, in the order asked for.
    pub(super) benches: Vec<ComparedBenchShown>,
    /// Names of the plots present.
    pub(super) plots: Vec<String>,
}

/// A quantity that several benches have.
#[derive(Debug, Serialize)]
pub(super) struct ComparedQuantityShown {
    /// The solution.
    pub(super) solution: String,
    /// The quantity found, such as `mass percent`.
    pub(super) name: &'static str,
    /// Its unit.
    pub(super) unit: &'static str,
    /// The number of benches that have it.
    pub(super) count: usize,
    /// Robust mean with its expanded uncertainty (*k* = 2), as printed; empty for fewer than three benches.
    pub(super) mean: String,
    /// Robust standard deviation, as printed; empty for fewer than three benches.
    pub(super) deviation: String,
    /// The known value it is compared with, as printed; empty if that is the robust mean.
    pub(super) known: String,
    /// Benches whose z is more than 2 in size.
    pub(super) far: Vec<FarBenchShown>,
    /// The name of its plot; empty if there is none.
    pub(super) plot: String,
    /// Benches that are not drawn in it, as they lie too far from all others.
    pub(super) beyond: Vec<String>,
}

/// An unknown by date.
#[derive(Debug, Serialize)]
pub(super) struct ControlChartShown {
    /// The unknown.
    pub(super) solution: String,
    /// The quantity found, such as `mass percent`.
    pub(super) name: &'static str,
    /// Its unit.
    pub(super) unit: &'static str,
    /// The number of results.
    pub(super) count: usize,
    /// The number of first results from which the control limits are found.
    pub(super) basis: usize,
    /// Centre line, as printed.
    pub(super) centre: String,
    /// Lower control limit, as printed.
    pub(super) lower: String,
    /// Upper control limit, as printed.
    pub(super) upper: String,
    /// Patterns that chance rarely causes, each with the runs where it is complete.
    pub(super) signals: Vec<String>,
    /// The name of its plot.
    pub(super) plot: String,
}

/// A bench that stands apart from its class.
#[derive(Debug, Serialize)]
pub(super) struct BenchApartShown {
    /// The bench.
    pub(super) name: String,
    /// Who did the work.
    pub(super) analysts: String,
    /// The density in error, and its error.
    pub(super) words: String,
    /// The same in standard deviations of the class, to the tenth, without a sign.
    pub(super) deviations: String,
    /// Slips that would explain it in the class, the likeliest first; at most eight.
    pub(super) slips: Vec<String>,
    /// The number of others.
    pub(super) more: usize,
}

/// The smallest slip that shows against the class in 95 of 100 benches.
#[derive(Debug, Serialize)]
pub(super) struct VisibleSlipShown {
    /// The liquid.
    pub(super) solution: String,
    /// The number of benches that measured it.
    pub(super) count: usize,
    /// Robust standard deviation between benches, mg/mL: of the departure from the published density, or of the density of
    /// an unknown at 20 °C.
    pub(super) deviation: String,
    /// The same once the errors that the readings of a bench share are removed, mg/mL.
    pub(super) left: String,
    /// The smallest change of the density, mg/mL.
    pub(super) visible: String,
    /// The same in one of the repeated densities of which it is the mean, mg/mL; empty if no bench has several.
    pub(super) reading: String,
    /// The same in one reading of a mass, mg; empty if no mass is read.
    pub(super) mass: String,
}

/// The departures of two liquids from their published densities at each bench.
#[derive(Debug, Serialize)]
pub(super) struct YoudenShown {
    /// The first liquid.
    pub(super) first: String,
    /// The second one.
    pub(super) second: String,
    /// The number of benches that have both.
    pub(super) count: usize,
    /// Repeatability standard deviation from the differences, mg/mL.
    pub(super) repeatability: String,
    /// Standard deviation between benches from the sums, mg/mL.
    pub(super) between: String,
    /// Benches outside the curve that contains 95 % of pairs if only chance acts.
    pub(super) outside: Vec<String>,
    /// The name of its plot.
    pub(super) plot: String,
    /// Benches left out, as one of their two results lies far from all others.
    pub(super) beyond: Vec<String>,
}

/// A bench that lies far from the others.
#[derive(Debug, Serialize)]
pub(super) struct FarBenchShown {
    /// The bench.
    pub(super) name: String,
    /// z or z′ to the hundredth, with its sign.
    pub(super) z: String,
    /// Whether it is 3 or more in size.
    pub(super) action: bool,
}

/// The precision of repeated densities of a liquid.
#[derive(Debug, Serialize)]
pub(super) struct DensityPrecisionShown {
    /// The liquid.
    pub(super) solution: String,
    /// The number of benches that measured it.
    pub(super) count: usize,
    /// Repeatability standard deviation, mg/mL.
    pub(super) repeatability: String,
    /// Its degrees of freedom.
    pub(super) dof: usize,
    /// Standard deviation between benches, mg/mL.
    pub(super) between: String,
    /// Reproducibility standard deviation, mg/mL.
    pub(super) reproducibility: String,
    /// Outliers and stragglers by Cochran's, Grubbs' and Mandel's statistics, in words; may be empty.
    pub(super) outliers: String,
}

/// A run.
#[derive(Debug, Serialize)]
pub(super) struct ComparedBenchShown {
    /// The bench.
    pub(super) name: String,
    /// Who did the work.
    pub(super) analysts: String,
    /// The day of the work; empty if the run could not be read.
    pub(super) date: String,
    /// Its results for each of `answers`: value with expanded uncertainty, z and *E*ₙ; empty if it has none.
    pub(super) answers: Vec<BenchResultShown>,
    /// The same for each of `departures`.
    pub(super) departures: Vec<BenchResultShown>,
    /// Its flags that are not acknowledged.
    pub(super) flags: Vec<String>,
    /// Slips that would explain them.
    pub(super) slips: Vec<String>,
    /// The first error of its run file, and where; empty if there is none.
    pub(super) problem: String,
}

/// A result of a bench.
#[derive(Debug, Default, Serialize)]
pub(super) struct BenchResultShown {
    /// With expanded uncertainty, without unit.
    pub(super) shown: String,
    /// z or z′ to the hundredth, with its sign; empty if there is none.
    pub(super) z: String,
    /// *E*ₙ against a known value, to the hundredth; empty if there is none.
    pub(super) en: String,
    /// Whether z is more than 2 in size: `warning`, or from 3 on `action`; empty otherwise.
    pub(super) standing: &'static str,
}

impl ComparisonValues {
    pub(super) fn new(
        title: &str,
        rows: &[Row],
        group: &Group,
        plots: &BTreeMap<String, Plot>,
    ) -> Self {
        let of_kind = |is_answer: bool| {
            let quantities = group.quantities.iter().enumerate();
            quantities.filter(move |(_, quantity)| quantity.is_answer == is_answer)
        };
        let shown = |is_answer: bool| -> Vec<ComparedQuantityShown> {
            let all = of_kind(is_answer).filter(|(_, quantity)| quantity.count > 0);
            all.map(|(index, quantity)| ComparedQuantityShown::new(index, quantity, rows, plots))
                .collect()
        };
        let bench = |(index, row): (usize, &Row)| {
            let found = row.found.as_ref();
            let results = |is_answer: bool| {
                let all = of_kind(is_answer).filter(|(_, quantity)| quantity.count > 0);
                all.map(|(_, quantity)| BenchResultShown::new(quantity, index, row))
                    .collect()
            };
            ComparedBenchShown {
                name: row.name.clone(),
                analysts: row.analysts.clone(),
                date: row.date.map_or_else(String::new, |date| date.to_string()),
                answers: results(true),
                departures: results(false),
                flags: found.map(|found| found.flags.clone()).unwrap_or_default(),
                slips: found.map(|found| found.slips.clone()).unwrap_or_default(),
                problem: row.problem.clone().unwrap_or_default(),
            }
        };
        Self {
            title: title.to_owned(),
            count: rows.len(),
            wrong: rows.iter().filter(|row| row.found.is_none()).count(),
            answers: shown(true),
            departures: shown(false),
            precisions: group
                .quantities
                .iter()
                .filter_map(|quantity| DensityPrecisionShown::new(quantity, rows))
                .collect(),
            charts: by_date(rows, group)
                .iter()
                .map(|chart| ControlChartShown::new(chart, rows, group))
                .collect(),
            apart: rows.iter().filter_map(BenchApartShown::new).collect(),
            visible: group
                .class
                .liquids
                .iter()
                .map(VisibleSlipShown::new)
                .collect(),
            fewest: FEWEST,
            pairs: group
                .pairs
                .as_ref()
                .map(|pairs| YoudenShown::new(pairs, rows, group)),
            claims: claims::show(rows),
            benches: rows.iter().enumerate().map(bench).collect(),
            plots: plots.keys().cloned().collect(),
        }
    }
}

/// Returns the name of the plot of a quantity.
pub(super) fn plot_name(index: usize) -> String {
    format!("results_{index}")
}

/// Returns the name of the plot of a quantity by date.
pub(super) fn chart_name(index: usize) -> String {
    format!("by_date_{index}")
}

/// The name of the plot of two liquids.
pub(super) const YOUDEN: &str = "two_liquids";

impl ComparedQuantityShown {
    fn new(
        index: usize,
        quantity: &Quantity,
        rows: &[Row],
        plots: &BTreeMap<String, Plot>,
    ) -> Self {
        let far = quantity.scores.iter().filter_map(|(row, score)| {
            let says = score
                .says()
                .filter(|says| *says > Performance::Acceptable)?;
            Some(FarBenchShown {
                name: rows[*row].name.clone(),
                z: signed(score.z?),
                action: says == Performance::Action,
            })
        });
        let robust = quantity.robust.as_ref();
        let mean = robust.map(|robust| with_uncertainty(robust.mean, 2.0 * robust.uncertainty()));
        let known = quantity.assigned.filter(|assigned| assigned.known);
        let known =
            known.map(|known| with_uncertainty(known.value, 2.0 * known.standard_uncertainty));
        let plot = plot_name(index);
        Self {
            solution: quantity.solution.clone(),
            name: quantity.name,
            unit: quantity.unit,
            count: quantity.count,
            mean: mean.unwrap_or_default(),
            deviation: robust
                .map_or_else(String::new, |robust| two_digits(robust.standard_deviation)),
            known: known.unwrap_or_default(),
            far: far.collect(),
            plot: if plots.contains_key(&plot) {
                plot
            } else {
                String::new()
            },
            beyond: quantity
                .far_off()
                .into_iter()
                .map(|row| rows[row].name.clone())
                .collect(),
        }
    }
}

impl ControlChartShown {
    fn new(by_date: &ByDate, rows: &[Row], group: &Group) -> Self {
        let quantity = &group.quantities[by_date.quantity];
        let chart = &by_date.chart;
        let shown = |value: f64| {
            let rounded = Rounded::new(value, chart.standard_deviation, DIGITS);
            rounded.map_or_else(|| value.to_string(), |rounded| rounded.value())
        };
        let name = |index: usize| rows[by_date.order[index]].name.as_str();
        let signals = by_date.signals.iter().map(|signal| {
            let (first, last) = (name(signal.first), name(signal.last));
            let at = if signal.first == signal.last {
                format!("at {first}")
            } else {
                format!("from {first} to {last}")
            };
            format!("{}, {at}", signal.rule.words())
        });
        Self {
            solution: quantity.solution.clone(),
            name: quantity.name,
            unit: quantity.unit,
            count: by_date.order.len(),
            basis: by_date.basis,
            centre: shown(chart.centre),
            lower: shown(chart.lower),
            upper: shown(chart.upper),
            signals: signals.collect(),
            plot: chart_name(by_date.quantity),
        }
    }
}

impl BenchApartShown {
    fn new(row: &Row) -> Option<Self> {
        let apart = row.found.as_ref()?.apart.as_ref()?;
        Some(Self {
            name: row.name.clone(),
            analysts: row.analysts.clone(),
            words: apart.words.clone(),
            deviations: format!("{:.1}", apart.deviations.abs()),
            slips: apart.slips.iter().take(MOST_TOLD).cloned().collect(),
            more: apart.slips.len().saturating_sub(MOST_TOLD),
        })
    }
}

impl VisibleSlipShown {
    fn new(liquid: &ClassLiquid) -> Self {
        let shown = |value: Option<f64>| value.map_or_else(String::new, two_digits);
        Self {
            solution: liquid.name.clone(),
            count: liquid.count,
            deviation: two_digits(liquid.deviation),
            left: two_digits(liquid.left),
            visible: two_digits(liquid.visible),
            reading: shown(liquid.visible_reading),
            mass: shown(liquid.visible_mass),
        }
    }
}

impl YoudenShown {
    fn new(pairs: &Pairs, rows: &[Row], group: &Group) -> Self {
        let [first, second] = pairs
            .quantities
            .map(|index| group.quantities[index].solution.clone());
        let each = pairs.rows.iter().zip(&pairs.youden.pairs);
        let outside = each.filter(|(_, pair)| pair.outside);
        Self {
            first,
            second,
            count: pairs.rows.len(),
            repeatability: two_digits(pairs.youden.repeatability),
            between: two_digits(pairs.youden.between),
            outside: outside.map(|(row, _)| rows[*row].name.clone()).collect(),
            plot: YOUDEN.to_owned(),
            beyond: pairs
                .left_out
                .iter()
                .map(|row| rows[*row].name.clone())
                .collect(),
        }
    }
}

impl DensityPrecisionShown {
    fn new(quantity: &Quantity, rows: &[Row]) -> Option<Self> {
        let precise = quantity.precision.as_ref()?;
        let mut outliers: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        let mut note = |row: usize, standing: Standing, what: &str| {
            let level = match standing {
                Standing::Correct => return,
                Standing::Straggler => "5 %",
                Standing::Outlier => "1 %",
            };
            let of_row = outliers.entry(row).or_default();
            of_row.push(format!("{what} at {level}"));
        };
        if let Some((row, standing)) = precise.widest {
            note(row, standing, "scatter by Cochran’s test");
        }
        for (row, standing) in &precise.outermost {
            note(*row, *standing, "mean by Grubbs’ test");
        }
        for (row, standing) in &precise.inconsistent {
            note(*row, *standing, "mean or scatter by Mandel’s statistics");
        }
        let of_row = |(row, found): (usize, Vec<String>)| {
            format!("{}: {}", rows[row].name, found.join(", "))
        };
        let outliers: Vec<String> = outliers.into_iter().map(of_row).collect();
        let p = &precise.precision;
        Some(Self {
            solution: quantity.solution.clone(),
            count: p.cells,
            repeatability: two_digits(p.repeatability),
            dof: p.repeatability_dof,
            between: two_digits(p.between),
            reproducibility: two_digits(p.reproducibility),
            outliers: outliers.join("; "),
        })
    }
}

impl BenchResultShown {
    fn new(quantity: &Quantity, index: usize, row: &Row) -> Self {
        let Some(measured) = quantity.values.get(&index) else {
            return Self::default();
        };
        let score = quantity.scores.get(&index);
        let two = |number: Option<f64>| number.map_or_else(String::new, signed);
        let of_answer = |answer: &&Answer| answer.name == quantity.solution;
        let answer = row
            .found
            .iter()
            .flat_map(|found| &found.answers)
            .find(of_answer);
        let shown = match answer.filter(|_| quantity.is_answer) {
            Some(answer) => answer.measured.shown.clone(),
            None => with_uncertainty(measured.value, measured.expanded_uncertainty),
        };
        Self {
            shown,
            z: two(score.and_then(|score| score.z)),
            en: two(score.and_then(|score| score.en)),
            standing: match score.and_then(super::Score::says) {
                Some(Performance::Action) => "action",
                Some(Performance::Warning) => "warning",
                _ => "",
            },
        }
    }
}

fn two_digits(value: f64) -> String {
    let rounded = Rounded::new(value, value, DIGITS);
    rounded.map_or_else(|| value.to_string(), |rounded| rounded.value())
}
