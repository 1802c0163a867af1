//! Every calculation written out: each formula with symbols, with numbers, with a table of its uses.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::bench::fit::{Method, Model};
use crate::bench::reduce::{CalibrationResult, CumulativeResult, Reduction, SolutionResult};
use crate::bench::runfile::model::{Digits, ReportChoices};
use crate::bench::worksheet::NodeId;
use crate::maths::handles::Handles;

use super::derivation::{Constants, Step, Writer};
use super::printed::Printed;
use super::test_statistics::least;
use super::words::joined;
use super::{limits, spreads, test_statistics};

/// A part of the appendix of calculations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Part {
    /// Its title.
    title: &'static str,
    /// An introduction; may be empty.
    lead: String,
    /// Formulas in the order of calculation, and the tables of their uses.
    steps: Vec<Step>,
    /// The constants of its published equations.
    constants: Vec<Constants>,
}

/// Returns the appendix's parts, from the readings to the trade's scales.
pub(super) fn parts(
    reduction: &Reduction,
    choices: &ReportChoices,
    handles: &Handles,
) -> Vec<Part> {
    let coverage = choices.coverage;
    let (outside, left_out) = in_tables(reduction, choices.digits);
    let printed = Printed {
        ws: &reduction.worksheet,
        handles,
    };
    let mut writer = Writer::new(printed, outside, left_out);
    let mut parts = Vec::new();
    let mut add = |writer: &mut Writer, title, lead: String, steps: Vec<Step>| {
        let constants = writer.constants();
        if !steps.is_empty() {
            parts.push(Part {
                title,
                lead,
                steps,
                constants,
            });
        }
    };
    let solutions = || reduction.solutions.iter();
    let made = || solutions().filter(|s| !is_unknown(s));
    let unknown = || solutions().filter(|s| is_unknown(s));
    let w = &mut writer;

    let steps = w.up_to(&Vec::from_iter(reduction.air));
    add(w, "Density of the air", String::new(), steps);
    let departures: Vec<NodeId> = reduction.ware.iter().map(|ware| ware.departure).collect();
    let steps = w.up_to(&departures);
    add(w, "Calibration of ware", String::new(), steps);
    let steps = w.densities(reduction);
    add(w, "Densities", String::new(), steps);
    let mut compositions = vec![reduction.molar_mass];
    compositions.extend(made().flat_map(composition_nodes));
    let steps = w.up_to(&compositions);
    add(w, "Compositions", String::new(), steps);
    let brought = made().filter_map(|s| Some(s.density.as_ref()?.at_reference?.density));
    let steps = w.up_to(&brought.collect::<Vec<_>>());
    add(
        w,
        "Densities at the reference temperature",
        String::new(),
        steps,
    );
    if let Some(calibration) = &reduction.calibration {
        let mut steps = vec![w.calibration(calibration)];
        steps.extend(test_statistics::tests(calibration, printed));
        add(w, "Calibration", String::new(), steps);
    }
    if let Some(line) = &reduction.refused_line {
        let mut steps = vec![Step::chain(
            "coefficients",
            w.coefficients(&line.coefficients),
        )];
        steps.extend(test_statistics::tests(line, printed));
        let lead = "The same method, applied to the same points.".into();
        add(
            w,
            "The straight line asked for, on which the points do not lie",
            lead,
            steps,
        );
    }
    let passes = unknown().filter_map(|s| Some((s, w.passes(&s.name)?)));
    let passes: Vec<String> = passes
        .map(|(s, passes)| format!("{} in {passes}", s.name))
        .collect();
    let lead = match passes.as_slice() {
        [] => String::new(),
        passes => format!(
            "The change of density with temperature depends on the composition, which is found by iteration: {} passes. The last is \
             shown; it starts from the density of the previous pass.",
            joined(passes)
        ),
    };
    let results = unknown().flat_map(|s| composition_nodes(s).into_iter().chain(s.by_refused_line));
    let mut steps = w.up_to(&results.collect::<Vec<_>>());
    steps.extend(test_statistics::fieller(
        reduction,
        unknown(),
        coverage,
        printed,
    ));
    add(w, "Unknowns", lead, steps);
    let steps = limits::steps(&reduction.conformity, printed);
    let lead = "The error is distributed by Student's distribution with the result's degrees of freedom, or normally if these are infinite. If one rectangular error makes up 0.6 of the variance or more, the error is the sum of a rectangular and a normal error.".into();
    add(
        w,
        "Probability of conformity (JCGM 106:2012, clause 7)",
        lead,
        steps,
    );
    let amounts = reduction
        .adjustments
        .iter()
        .flat_map(|a| [Some(a.amount), a.litres]);
    let steps = w.up_to(&amounts.flatten().collect::<Vec<_>>());
    add(w, "Salt or water to add", String::new(), steps);
    let differences: Vec<NodeId> = reduction.known.iter().map(|k| k.difference).collect();
    let steps = w.up_to(&differences);
    add(
        w,
        "Differences from known compositions",
        String::new(),
        steps,
    );
    let compared = solutions().filter_map(|s| s.comparison.as_ref()?.as_ref().ok());
    let compared = compared.flat_map(|comparison| [comparison.published, comparison.difference]);
    let steps = w.up_to(&compared.collect::<Vec<_>>());
    add(
        w,
        "Comparison with published densities",
        String::new(),
        steps,
    );
    let strengths = solutions().filter_map(|s| s.strength.as_ref());
    let strengths = strengths.flat_map(|strength| {
        let scales = [
            strength.specific_gravity,
            strength.degrees_baume,
            strength.percent_saturation,
        ];
        scales.into_iter().flatten()
    });
    let steps = w.up_to(&strengths.collect::<Vec<_>>());
    add(w, "Brine strength", String::new(), steps);
    parts
}

/// Quantities that the report's tables list with all their readings, by the label of the table, and those of them whose
/// weighing is left out.
fn in_tables(
    reduction: &Reduction,
    digits: Digits,
) -> (BTreeMap<NodeId, String>, BTreeSet<NodeId>) {
    let (mut there, mut left_out) = (BTreeMap::new(), BTreeSet::new());
    let coefficients = reduction
        .earlier
        .iter()
        .flat_map(|earlier| &earlier.coefficients);
    there.extend(coefficients.map(|id| (*id, "tab-coefficients".to_owned())));
    let mut series = 0;
    for density in reduction
        .solutions
        .iter()
        .filter_map(|s| s.density.as_ref())
    {
        let table = format!("tab-{}", density.method.name());
        if let Some(line) = &density.line {
            series += 1;
            let label = format!("{table}-{series}");
            there.extend(line.points.iter().map(|p| (p.volume, label.clone())));
            continue;
        }
        if density.rests_on_spread && digits == Digits::Uncertainty {
            there.insert(density.density, "tab-densities".to_owned());
        }
        for replicate in &density.replicates {
            there.insert(replicate.density, table.clone());
            if replicate.left_out.is_some() {
                left_out.insert(replicate.density);
            }
        }
    }
    for weighing in reduction.ware.iter().flat_map(|ware| &ware.weighings) {
        there.insert(weighing.volume, "tab-ware-weighings".to_owned());
        if weighing.left_out.is_some() {
            left_out.insert(weighing.volume);
        }
    }
    (there, left_out)
}

fn is_unknown(solution: &SolutionResult) -> bool {
    matches!(
        solution.preparation,
        crate::bench::reduce::Preparation::Unknown
    )
}

fn composition_nodes(solution: &SolutionResult) -> Vec<NodeId> {
    let c = &solution.composition;
    [c.mass_concentration, c.mass_percent, c.molarity, c.molality]
        .into_iter()
        .flatten()
        .collect()
}

impl Writer<'_> {
    /// Returns the densities from single weighings, their standard deviations and means; slopes of mass against volume.
    fn densities(&mut self, reduction: &Reduction) -> Vec<Step> {
        let densities = || {
            reduction
                .solutions
                .iter()
                .filter_map(|s| s.density.as_ref())
        };
        let single = densities().flat_map(|density| &density.replicates);
        let mut steps = self.up_to(&single.map(|r| r.density).collect::<Vec<_>>());
        steps.extend(spreads::step(reduction, self.printed));
        let mut first = true;
        for density in densities() {
            if let Some(line) = &density.line {
                steps.extend(self.slope(line, std::mem::take(&mut first)));
            }
        }
        let means = densities().flat_map(|density| [density.density, density.liquid]);
        steps.extend(self.up_to(&means.collect::<Vec<_>>()));
        steps
    }

    /// Returns the sums of volumes and the line of mass against volume; the sum that it minimises for the `first`.
    fn slope(&mut self, line: &CumulativeResult, first: bool) -> Vec<Step> {
        let volumes: Vec<NodeId> = line.points.iter().map(|p| p.volume).collect();
        let mut steps = self.up_to(&volumes);
        if let Some(walk) = line.walk {
            steps.push(Step::chain(
                "standard deviation of a delivery, from the increments between readings",
                format!(
                    "\\rho_\\mathrm{{ends}} &= \\frac{{m_{{\\mathrm{{last}}}} - m_{{\\mathrm{{first}}}}}}{{V_{{\\mathrm{{last}}}} - V_{{\\mathrm{{first}}}}}} ,\\quad \
                     s = \\frac{{1}}{{\\rho_\\mathrm{{ends}}}} \\sqrt{{\\frac{{1}}{{{n}}} \\sum_j \\frac{{(\\Delta m_j - \\rho_\\mathrm{{ends}}\\, \\Delta V_j)^{{2}}}}{{n_j}}}} \
                     = {}\\,{} ,\\quad \\nu = {n}",
                    self.printed.number(walk.standard_deviation, 2),
                    self.printed.unit("mL"),
                    n = walk.dof,
                ),
            ));
        }
        let [m, rho] = [line.intercept, line.fitted_slope].map(|id| self.printed.symbol(id));
        let coefficients = self.coefficients(&[line.intercept, line.fitted_slope]);
        let made_least = if first {
            let least = least(Method::Generalised);
            format!("r_i &= m_i - \\left({m} + {rho} V_i\\right) ,\\quad {least} \\\\ ")
        } else {
            String::new()
        };
        steps.push(Step::chain(
            "coefficients by least squares",
            format!("{made_least}{coefficients}"),
        ));
        if line.scatter > 0.0 {
            let n = line.dof;
            steps.push(Step::chain("additional uncertainty of the slope from the scatter", format!(
                    "\\frac{{\\chi^{{2}}}}{{\\nu}} &= \\frac{{{}}}{{{n}}} ,\\quad \
                     u = u_{{\\mathrm{{points}}}}({rho}) \\sqrt{{\\frac{{\\chi^{{2}}}}{{\\nu}} - 1}} = {}\\,{}",
                    self.printed.number(line.chi_squared, 4),
                    self.printed.number(line.scatter, 2),
                    self.printed.unit("g/mL"),
                )));
        }
        steps
    }

    /// Returns a row for each coefficient of a fit.
    fn coefficients(&mut self, ids: &[NodeId]) -> String {
        let rows = ids.iter().map(|id| {
            self.write(*id);
            format!(
                "{} &= {}",
                self.printed.symbol(*id),
                self.printed.handles.text(self.printed.result(*id))
            )
        });
        rows.collect::<Vec<_>>().join(" \\\\ ")
    }

    /// Returns the sum that the fit minimises, the sums of an ordinary straight line, and the coefficients.
    fn calibration(&mut self, calibration: &CalibrationResult) -> Step {
        let straight = calibration.fitted.model == Model::Straight;
        let x = calibration.against.symbol();
        let value = if straight {
            format!("\\beta_0 + \\beta_1 {x}_i")
        } else {
            format!("\\beta_0 + \\beta_1 {x}_i + \\beta_2 {x}_i^{{2}}")
        };
        let least = least(calibration.fitted.method);
        let mut fit = Vec::new();
        if calibration.fitted.method == Method::Ordinary && straight {
            fit.push(self.ordinary_sums(calibration));
        }
        fit.push(self.coefficients(&calibration.coefficients));
        Step::chain(
            "coefficients by least squares",
            format!(
                "r_i &= \\rho_i - \\left({value}\\right) ,\\quad {least} \\\\ {}",
                fit.join(" \\\\ ")
            ),
        )
    }

    /// Returns the sums from which an ordinary straight line is calculated by hand.
    fn ordinary_sums(&self, calibration: &CalibrationResult) -> String {
        let points: Vec<(f64, f64)> = calibration
            .points
            .iter()
            .map(|p| (self.printed.ws.value(p.x), self.printed.ws.value(p.y)))
            .collect();
        let n = points.len() as f64;
        let (x, y) = (
            points.iter().map(|p| p.0).sum::<f64>() / n,
            points.iter().map(|p| p.1).sum::<f64>() / n,
        );
        let sxx: f64 = points.iter().map(|p| (p.0 - x).powi(2)).sum();
        let sxy: f64 = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum();
        let [b0, b1] = [0, 1].map(|k| self.printed.number(calibration.fitted.coefficients[k], 7));
        let (mean, y, sxx, sxy) = (
            self.printed.number(x, 7),
            self.printed.number(y, 7),
            self.printed.number(sxx, 7),
            self.printed.number(sxy, 7),
        );
        let x = calibration.against.symbol();
        format!(
            "\\overline{{{x}}} &= {mean} ,\\quad \\overline{{\\rho}} = {y} \\\\ \
             S_{{{x}{x}}} &= \\sum_i ({x}_i - \\overline{{{x}}})^{{2}} = {sxx} ,\\quad \
             S_{{{x}\\rho}} = \\sum_i ({x}_i - \\overline{{{x}}})(\\rho_i - \\overline{{\\rho}}) = {sxy} \\\\ \
             \\beta_1 &= \\frac{{S_{{{x}\\rho}}}}{{S_{{{x}{x}}}}} = \\frac{{{sxy}}}{{{sxx}}} = {b1} ,\\quad \
             \\beta_0 = \\overline{{\\rho}} - \\beta_1\\, \\overline{{{x}}} = {y} - {b1} \\times {mean} = {b0}"
        )
    }
}
