//! Every calculation written out: each formula with symbols, with numbers, with a table of its uses.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::bench::fit::{Method, Model};
use crate::bench::practice::listed;
use crate::bench::reduce::{CalibrationResult, CumulativeResult, Reduction, SolutionResult};
use crate::bench::runfile::model::{Digits, ReportChoices};
use crate::bench::worksheet::NodeId;
use crate::maths::handles::Handles;

use super::derivation::{Constants, Step, Writer};
use super::printed::Printed;
use super::test_statistics::least;
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
    let (outside, left_out) = in_tables(reduction, choices.digits);
    let printed = Printed {
        ws: &reduction.worksheet,
        handles,
    };
    let mut appendix = Appendix {
        writer: Writer::new(printed, outside, left_out),
        parts: Vec::new(),
    };
    let a = &mut appendix;
    let solutions = || reduction.solutions.iter();
    let made = || solutions().filter(|s| !s.is_unknown());
    let unknown = || solutions().filter(|s| s.is_unknown());

    a.add_up_to("Density of the air", reduction.air);
    let departures = reduction.ware.iter().map(|ware| ware.departure);
    a.add_up_to("Calibration of ware", departures);
    let steps = a.writer.densities(reduction);
    a.add("Densities", String::new(), steps);
    let compositions = made().flat_map(composition_nodes);
    a.add_up_to(
        "Compositions",
        [reduction.molar_mass].into_iter().chain(compositions),
    );
    let brought = made().filter_map(|s| Some(s.density.as_ref()?.at_reference?.density));
    a.add_up_to("Densities at the reference temperature", brought);
    if let Some(calibration) = &reduction.calibration {
        let mut steps = vec![a.writer.calibration(calibration)];
        steps.extend(test_statistics::tests(calibration, printed));
        a.add("Calibration", String::new(), steps);
    }
    if let Some(line) = &reduction.refused_line {
        let coefficients = a.writer.coefficients(&line.coefficients);
        let mut steps = vec![Step::chain("coefficients", coefficients)];
        steps.extend(test_statistics::tests(line, printed));
        a.add(
            "The straight line asked for, on which the points do not lie",
            "The same method, applied to the same points.".into(),
            steps,
        );
    }
    let passes = unknown().filter_map(|s| Some((s, a.writer.passes(&s.name)?)));
    let passes: Vec<String> = passes
        .map(|(s, passes)| format!("{} in {passes}", s.name))
        .collect();
    let lead = match passes.as_slice() {
        [] => String::new(),
        passes => format!(
            "The change of density with temperature depends on the composition, which is found by iteration: {} passes. The last is \
             shown; it starts from the density of the previous pass.",
            listed(passes)
        ),
    };
    let results = unknown().flat_map(|s| composition_nodes(s).into_iter().chain(s.by_refused_line));
    let mut steps = a.writer.up_to(&results.collect::<Vec<_>>());
    steps.extend(test_statistics::fieller(
        reduction,
        unknown(),
        choices.coverage,
        printed,
    ));
    a.add("Unknowns", lead, steps);
    a.add(
        "Probability of conformity (JCGM 106:2012, clause 7)",
        "The error is distributed by Student's distribution with the result's degrees of freedom, or normally if these are infinite. If one rectangular error makes up 0.6 of the variance or more, the error is the sum of a rectangular and a normal error.".into(),
        limits::steps(&reduction.conformity, printed),
    );
    let amounts = reduction.adjustments.iter();
    let amounts = amounts.flat_map(|found| [Some(found.amount), found.litres]);
    a.add_up_to("Salt or water to add", amounts.flatten());
    let differences = reduction.known.iter().map(|known| known.difference);
    a.add_up_to("Differences from known compositions", differences);
    let compared = solutions().filter_map(|s| s.comparison.as_ref()?.as_ref().ok());
    let compared = compared.flat_map(|comparison| [comparison.published, comparison.difference]);
    a.add_up_to("Comparison with published densities", compared);
    let strengths = solutions().filter_map(|s| s.strength.as_ref());
    let strengths = strengths.flat_map(|strength| {
        [
            strength.specific_gravity,
            strength.degrees_baume,
            strength.percent_saturation,
        ]
    });
    a.add_up_to("Brine strength", strengths.flatten());
    appendix.parts
}

/// The appendix while it is written.
struct Appendix<'a> {
    writer: Writer<'a>,
    parts: Vec<Part>,
}

impl Appendix<'_> {
    /// Adds a part, unless it has no steps.
    fn add(&mut self, title: &'static str, lead: String, steps: Vec<Step>) {
        let constants = self.writer.constants();
        if !steps.is_empty() {
            self.parts.push(Part {
                title,
                lead,
                steps,
                constants,
            });
        }
    }

    /// Adds a part with all that leads to some results.
    fn add_up_to(&mut self, title: &'static str, results: impl IntoIterator<Item = NodeId>) {
        let results: Vec<NodeId> = results.into_iter().collect();
        let steps = self.writer.up_to(&results);
        self.add(title, String::new(), steps);
    }
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
    for density in reduction.densities() {
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
        let densities = || reduction.densities();
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
                    self.printed.density(line.scatter, 2),
                    self.printed.density_unit(),
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
        let [b0, b1] = [0, 1].map(|k| self.printed.density(calibration.fitted.coefficients[k], 7));
        let (mean, y, sxx, sxy) = (
            self.printed.number(x, 7),
            self.printed.density(y, 7),
            self.printed.number(sxx, 7),
            self.printed.density(sxy, 7),
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
