//! Every calculation written out: formula, with numbers, result with unit and standard uncertainty.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::fit::{Method, Model};
use crate::maths::Math;
use crate::maths::handles::Handles;
use crate::reduce::{CalibrationResult, CumulativeResult, Reduction, SolutionResult, Way};
use crate::reference::{air, expansion};
use crate::worksheet::NodeId;

use super::ledger::ledgers;
use super::words::figures;
use super::written_out::{Again, Amount, Given, Step, Writer, go_on, rounded, uncertainty_of};
use super::{judged, spreads};

/// A part of the appendix on each solution is written out for so many; what is calculated for more of them by the same
/// formulas stands in tables. A class's run is written out whole, and a works' season of brines does not fill a thousand
/// pages.
pub(super) const WRITTEN_OUT: usize = 12;

/// A part of the appendix.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Part {
    /// Its title.
    title: String,
    /// What it does, in a sentence; may be empty.
    lead: String,
    /// Its calculations, in an order a hand could follow.
    steps: Vec<Step>,
}

/// The appendix's parts, from the molar mass to the comparison.
pub(super) fn parts(reduction: &Reduction, coverage: f64, handles: &Handles) -> Vec<Part> {
    let mut writer = Writer::new(&reduction.worksheet, handles, left_out(reduction));
    let mut parts = prepared(&mut writer, reduction);
    calibrated(&mut writer, reduction, coverage, &mut parts);
    judged_by_others(&mut writer, reduction, &mut parts);
    parts.retain(|part| !part.steps.is_empty());
    parts
}

/// Densities and volumes from weighings that are left out.
fn left_out(reduction: &Reduction) -> BTreeSet<NodeId> {
    let densities = reduction
        .solutions
        .iter()
        .filter_map(|s| s.density.as_ref());
    let densities = densities.flat_map(|density| &density.replicates);
    let volumes = reduction.ware.iter().flat_map(|ware| &ware.weighings);
    densities
        .filter(|r| r.left_out.is_some())
        .map(|r| r.density)
        .chain(volumes.filter(|w| w.left_out.is_some()).map(|w| w.volume))
        .collect()
}

/// What leads to the composition and density of each solution made.
fn prepared(writer: &mut Writer, reduction: &Reduction) -> Vec<Part> {
    let mut parts = vec![Part {
        title: "Molar mass".into(),
        lead: String::new(),
        steps: writer.up_to(&[reduction.molar_mass]),
    }];
    parts.push(Part {
        title: "Spread of single densities".into(),
        lead: "From the densities by single weighings, fillings or readings, which the next parts give.".into(),
        steps: spreads::steps(reduction, writer.handles),
    });
    if let Some(air) = reduction.air {
        parts.push(Part {
            title: "Density of the air".into(),
            lead: format!("By {}.", air::SOURCE),
            steps: writer.up_to(&[air]),
        });
    }
    for ware in &reduction.ware {
        parts.push(Part {
            title: format!("Calibration of {}", ware.name),
            lead: format!("By {}.", expansion::SOURCE),
            steps: writer.up_to(&[ware.departure]),
        });
    }
    let weighed = reduction.solutions.iter().filter(|s| s.density.is_some());
    parts.extend(each(
        writer,
        weighed,
        |name| format!("Density of {name}"),
        |_| String::new(),
        |writer, solution| writer.density(reduction, solution),
    ));
    let made = || reduction.solutions.iter().filter(|s| !is_unknown(s));
    parts.extend(each(
        writer,
        made(),
        |name| format!("Composition of {name}"),
        |_| String::new(),
        |writer, solution| writer.up_to(&composition_nodes(solution)),
    ));
    let at_reference = |s: &SolutionResult| s.density.as_ref().and_then(|d| d.at_reference);
    parts.extend(each(
        writer,
        made(),
        |name| format!("Density of {name} at the reference temperature"),
        |solution| {
            at_reference(solution)
                .map_or_else(String::new, |at| format!("Published by {}.", at.source))
        },
        |writer, solution| {
            at_reference(solution).map_or_else(Vec::new, |at| writer.up_to(&[at.density]))
        },
    ));
    parts
}

/// A part for each of some solutions, whose steps `steps` gives. Solutions of which no more than lines of tables are left to
/// write share one part, after the others, and so do all beyond the first [`WRITTEN_OUT`].
fn each<'s>(
    writer: &mut Writer,
    solutions: impl Iterator<Item = &'s SolutionResult>,
    title: impl Fn(&str) -> String,
    lead: impl Fn(&SolutionResult) -> String,
    mut steps: impl FnMut(&mut Writer, &SolutionResult) -> Vec<Step>,
) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut shared_steps = Vec::new();
    let mut shared: Vec<(String, Vec<Again>)> = Vec::new();
    let mut leads: Vec<String> = Vec::new();
    for (number, solution) in solutions.enumerate() {
        writer.brief = number >= WRITTEN_OUT;
        let steps = steps(writer, solution);
        let lead = lead(solution);
        if !writer.brief && steps.iter().any(Step::is_chain) {
            parts.push(Part {
                title: title(&solution.name),
                lead,
                steps,
            });
        } else if !steps.is_empty() {
            let mut lines = Vec::new();
            for step in steps {
                match step.lines() {
                    Ok(more) => lines.extend(more),
                    Err(chain) => shared_steps.push(*chain),
                }
            }
            shared.push((solution.name.clone(), lines));
            if !leads.contains(&lead) {
                leads.push(lead);
            }
        }
    }
    writer.brief = false;
    let name = match shared.as_slice() {
        [] => return parts,
        [(only, _)] => only.clone(),
        several => format!("{} more solutions", several.len()),
    };
    shared_steps.extend(ledgers(&shared).into_iter().map(Step::ledger));
    parts.push(Part {
        title: title(&name),
        lead: leads.join(" "),
        steps: shared_steps,
    });
    parts
}

/// The calibration and what is read back from it.
fn calibrated(writer: &mut Writer, reduction: &Reduction, coverage: f64, parts: &mut Vec<Part>) {
    if let Some(calibration) = &reduction.calibration {
        parts.push(Part {
            title: "Calibration".into(),
            lead: String::new(),
            steps: {
                let mut steps = writer.calibration(calibration);
                steps.extend(judged::tests(calibration, writer.handles));
                steps
            },
        });
    }
    if let Some(line) = &reduction.refused_line {
        parts.push(Part {
            title: "The straight line asked for, which the points refuse".into(),
            lead: "By the same method, from the same points.".into(),
            steps: {
                let mut steps = writer.coefficients(line);
                steps.extend(judged::tests(line, writer.handles));
                steps
            },
        });
    }
    let unknowns = reduction.solutions.iter().filter(|s| is_unknown(s));
    parts.extend(each(
        writer,
        unknowns,
        |name| format!("Composition of {name}, read back"),
        |_| String::new(),
        |writer, solution| {
            let mut results = composition_nodes(solution);
            results.extend(solution.by_refused_line);
            let mut steps = writer.up_to(&results);
            steps.extend(judged::fieller(
                reduction,
                solution,
                coverage,
                writer.handles,
            ));
            steps
        },
    ));
}

/// What stands beside the results: published densities, the scales of the trade.
fn judged_by_others(writer: &mut Writer, reduction: &Reduction, parts: &mut Vec<Part>) {
    parts.extend(each(
        writer,
        reduction.solutions.iter(),
        |name| format!("Comparison of {name} with the published density"),
        |solution| match &solution.comparison {
            Some(Ok(comparison)) => format!("Published by {}.", comparison.source),
            _ => String::new(),
        },
        |writer, solution| match &solution.comparison {
            Some(Ok(comparison)) => writer.up_to(&[comparison.published, comparison.difference]),
            _ => Vec::new(),
        },
    ));
    parts.extend(each(
        writer,
        reduction.solutions.iter(),
        |name| format!("Brine strength of {name}"),
        |_| String::new(),
        |writer, solution| {
            let Some(strength) = &solution.strength else {
                return Vec::new();
            };
            let scales = [
                Some(strength.specific_gravity),
                strength.degrees_baume,
                strength.percent_saturation,
            ];
            writer.up_to(&scales.into_iter().flatten().collect::<Vec<_>>())
        },
    ));
}

fn is_unknown(solution: &SolutionResult) -> bool {
    matches!(solution.preparation, crate::reduce::Preparation::Unknown)
}

fn composition_nodes(solution: &SolutionResult) -> Vec<NodeId> {
    let c = &solution.composition;
    [c.mass_concentration, c.mass_percent, c.molarity, c.molality]
        .into_iter()
        .flatten()
        .collect()
}

impl Writer<'_> {
    /// The densities of a solution's weighings, their spread, and their mean.
    fn density(&mut self, reduction: &Reduction, solution: &SolutionResult) -> Vec<Step> {
        let Some(density) = &solution.density else {
            return Vec::new();
        };
        if let Way::Cumulative(line) = &density.way {
            let mut steps = self.slope(line);
            steps.extend(self.up_to(&[density.density, density.liquid]));
            return steps;
        }
        let each: Vec<NodeId> = density.replicates.iter().map(|r| r.density).collect();
        let mut steps = self.up_to(&each);
        let n = density.used;
        let spread = density.spread.as_ref();
        let spread =
            spread.map(|s| spreads::of_mean(reduction, &solution.name, n, s, self.handles));
        if let Some((symbol, standard, _)) = spread.as_ref().filter(|_| self.brief) {
            let kept = density.replicates.iter().filter(|r| r.left_out.is_none());
            let each = kept.map(|r| Given {
                symbol: self.symbol(r.density),
                value: None,
                like: self.symbol(r.density),
            });
            go_on(
                &mut steps,
                vec![Step::line(Again {
                    like: symbol.clone(),
                    equation: String::new(),
                    from: each.collect(),
                    symbol: symbol.clone(),
                    value: Amount {
                        digits: figures(*standard, 2),
                        unit: "g/mL",
                    },
                    uncertainty: None,
                    left_out: false,
                })],
            );
        } else if let Some((.., Some(step))) = spread {
            steps.push(step);
        } else if let Some(sd) = density.standard_deviation {
            let standard = sd / (n as f64).sqrt();
            let mean = self.symbol(density.density).text;
            steps.push(Step::chain(format!("spread of the {n} weighings used of {}", solution.name), format!(
                    "s &= \\sqrt{{\\frac{{\\sum_i (\\rho_i - {mean})^{{2}}}}{{{n} - 1}}}} = {}\\,{unit} \\\\ \
                     \\frac{{s}}{{\\sqrt{{{n}}}}} &= {}\\,{unit}",
                    self.number(sd, 2),
                    self.number(standard, 2),
                    unit = self.handles.text(Math::unit("g/mL")),
                )));
        }
        let rest = self.up_to(&[density.density, density.liquid]);
        go_on(&mut steps, rest);
        steps
    }

    /// The volumes added up, the line of mass on volume, and its coefficients.
    fn slope(&mut self, line: &CumulativeResult) -> Vec<Step> {
        let volumes: Vec<NodeId> = line.points.iter().map(|p| p.volume).collect();
        let mut steps = self.up_to(&volumes);
        if let Some(walk) = line.walk {
            steps.push(Step::chain(
                "standard deviation of a delivery, by the increments between readings",
                format!(
                    "b &= \\frac{{m_{{\\mathrm{{last}}}} - m_{{\\mathrm{{first}}}}}}{{V_{{\\mathrm{{last}}}} - V_{{\\mathrm{{first}}}}}} \\\\ \
                     s &= \\frac{{1}}{{b}} \\sqrt{{\\frac{{1}}{{{n}}} \\sum_j \\frac{{(\\Delta m_j - b\\, \\Delta V_j)^{{2}}}}{{n_j}}}} \
                     = {}\\,{} ,\\quad \\nu = {n}",
                    self.number(walk.standard_deviation, 2),
                    self.handles.text(Math::unit("mL")),
                    n = walk.dof,
                ),
            ));
        }
        let [m, rho] = [line.intercept, line.fitted_slope].map(|id| self.symbol(id).text);
        steps.push(Step::chain(
            "what the coefficients make least",
            format!(
                "r_i &= m_i - \\left({m} + {rho} V_i\\right) \\\\ {}",
                least(Method::Generalised)
            ),
        ));
        steps.extend([line.intercept, line.fitted_slope].map(|id| self.coefficient(id)));
        if line.scatter > 0.0 {
            let n = line.dof;
            steps.push(Step::chain("what the scatter adds to the uncertainty of the slope", format!(
                    "\\frac{{\\chi^{{2}}}}{{\\nu}} &= \\frac{{{}}}{{{n}}} \\\\ \
                     u &= u_{{\\mathrm{{points}}}}({rho}) \\sqrt{{\\frac{{\\chi^{{2}}}}{{\\nu}} - 1}} = {}\\,{}",
                    self.number(line.chi_squared, 4),
                    self.number(line.scatter, 2),
                    self.handles.text(Math::unit("g/mL")),
                )));
        }
        steps
    }

    /// A number to so many significant figures.
    fn number(&self, value: f64, figures: u32) -> String {
        self.handles.text(rounded(value, figures))
    }

    /// A coefficient that was solved for.
    fn coefficient(&mut self, id: NodeId) -> Step {
        self.write(id);
        let node = self.ws.node(id);
        let u = self.ws.uncertainty(id).standard;
        Step::chain(
            node.name.clone(),
            format!(
                "{} &= {} ,\\quad {} = {}\\,{}",
                self.symbol(id).text,
                self.handles.text(self.ws.with_unit(id)),
                self.handles.text(uncertainty_of(&node.symbol)),
                self.number(u, 2),
                self.handles.text(Math::unit(node.unit)),
            ),
        )
    }

    /// What the fit makes least, its sums for an ordinary straight line, and its coefficients.
    fn calibration(&mut self, calibration: &CalibrationResult) -> Vec<Step> {
        let mut steps = Vec::new();
        let straight = calibration.fitted.model == Model::Straight;
        let value = if straight {
            "b_0 + b_1 x_i"
        } else {
            "b_0 + b_1 x_i + b_2 x_i^{2}"
        };
        let least = least(calibration.fitted.method);
        steps.push(Step::chain(
            "what the coefficients make least",
            format!("r_i &= \\rho_i - \\left({value}\\right) \\\\ {least}"),
        ));
        if calibration.fitted.method == Method::Ordinary && straight {
            steps.push(self.ordinary_sums(calibration));
        }
        steps.extend(self.coefficients(calibration));
        steps
    }

    /// The coefficients of a fit.
    fn coefficients(&mut self, calibration: &CalibrationResult) -> Vec<Step> {
        let mut steps = Vec::new();
        for id in &calibration.coefficients {
            steps.push(self.coefficient(*id));
        }
        steps
    }

    /// The sums by which a hand finds an ordinary straight line.
    fn ordinary_sums(&self, calibration: &CalibrationResult) -> Step {
        let points: Vec<(f64, f64)> = calibration
            .points
            .iter()
            .map(|p| (self.ws.value(p.x), self.ws.value(p.y)))
            .collect();
        let n = points.len() as f64;
        let (x, y) = (
            points.iter().map(|p| p.0).sum::<f64>() / n,
            points.iter().map(|p| p.1).sum::<f64>() / n,
        );
        let sxx: f64 = points.iter().map(|p| (p.0 - x).powi(2)).sum();
        let sxy: f64 = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum();
        let [b0, b1] = [0, 1].map(|k| self.number(calibration.fitted.coefficients[k], 7));
        let (x, y, sxx, sxy) = (
            self.number(x, 7),
            self.number(y, 7),
            self.number(sxx, 7),
            self.number(sxy, 7),
        );
        Step::chain(
            "the sums of an ordinary straight line",
            format!(
                "\\overline{{x}} &= {x} ,\\quad \\overline{{\\rho}} = {y} \\\\ \
                 S_{{xx}} &= \\sum_i (x_i - \\overline{{x}})^{{2}} = {sxx} \\\\ \
                 S_{{xy}} &= \\sum_i (x_i - \\overline{{x}})(\\rho_i - \\overline{{\\rho}}) = {sxy} \\\\ \
                 b_1 &= \\frac{{S_{{xy}}}}{{S_{{xx}}}} = \\frac{{{sxy}}}{{{sxx}}} = {b1} \\\\ \
                 b_0 &= \\overline{{\\rho}} - b_1\\, \\overline{{x}} = {y} - {b1} \\times {x} = {b0}"
            ),
        )
    }
}

/// What a method of fitting makes least of the residuals r, TeX.
pub(super) fn least(method: Method) -> &'static str {
    match method {
        Method::Ordinary => "Q &= \\sum_i r_i^{2}",
        Method::Weighted => "Q &= \\sum_i \\frac{r_i^{2}}{u^{2}(\\rho_i)}",
        Method::Generalised => {
            "Q &= r^{\\mathsf{T}}\\, C^{-1}\\, r \\\\ C_{ij} &= \\mathrm{cov}(r_i, r_j)"
        }
    }
}
