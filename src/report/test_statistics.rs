//! The calculations of statistics that are no quantities of the worksheet: tests, Fieller's interval.

use crate::bench::fit::{Allowance, Method};
use crate::bench::reduce::coverage::widening;
use crate::bench::reduce::{
    Agreement, CalibrationResult, Course, Pattern, Reduction, SolutionResult, Test,
    coverage_factor, fieller as interval,
};

use super::calibration::NOT_NEGLIGIBLE;
use super::derivation::Step;
use super::printed::Printed;
use super::words::write_plain;

/// Returns the tests of a calibration.
pub(super) fn tests(calibration: &CalibrationResult, printed: Printed) -> Vec<Step> {
    let steps = chi_squared(calibration, printed).into_iter();
    steps.chain(patterns(calibration, printed)).collect()
}

/// Returns the components of the residuals along orthogonal polynomials; `None` without degrees of freedom.
fn patterns(calibration: &CalibrationResult, printed: Printed) -> Option<Step> {
    let agreement = &calibration.agreement;
    let x = calibration.against.symbol();
    let tests = agreement.patterns.iter().zip(agreement.pattern_tests());
    let row = |(pattern, (course, test)): (&Pattern, (Course, Test))| {
        let sign = if test.has_passed() { "\\le" } else { ">" };
        let dof = if pattern.dof.is_finite() {
            printed.number(pattern.dof, 3)
        } else {
            "\\infty".to_owned()
        };
        format!(
            " \\\\ \\tau_{} &= {} {sign} {} ,\\quad \\nu = {dof} ,\\quad P = {}",
            course as usize,
            printed.number(test.observed, 4),
            printed.number(test.limit, 4),
            printed.number(test.p_value, 4)
        )
    };
    let rows: String = tests.map(row).collect();
    (!rows.is_empty()).then(|| {
        Step::chain(
            "patterns of the residuals: their components along orthogonal polynomials of rising degree, divided by their standard uncertainties",
            format!(
                "\\tau_j &= \\frac{{\\left|\\eta_j\\right|}}{{u(\\eta_j)}} ,\\quad \\eta_j = \\sum_i \\varphi_j({x}_i)\\, r_i{rows}"
            ),
        )
    })
}

/// χ² of the points against their uncertainties.
fn chi_squared(calibration: &CalibrationResult, printed: Printed) -> Option<Step> {
    let consistency = calibration.agreement.consistency?;
    let test = calibration.agreement.chi_squared_test()?;
    let sign = if test.has_passed() { "\\le" } else { ">" };
    let (limit, p) = (
        printed.number(test.limit, 4),
        printed.number(test.p_value, 4),
    );
    let at = write_plain(100.0 * Agreement::PROBABILITY);
    // Another fit makes another sum least.
    let of_all = match calibration.fitted.method {
        Method::Generalised => String::new(),
        Method::Ordinary | Method::Weighted => format!(" ,\\quad {}", least(Method::Generalised)),
    };
    let observed = printed.number(test.observed, 4);
    let Some(allowance) = consistency.allowance else {
        let dof = consistency.dof;
        return Some(Step::chain(
            "test of the points against their uncertainties and covariances, by the least sum of squares",
            format!(
                "\\chi^{{2}} &= Q_{{\\min}} = {observed} {sign} \\chi^{{2}}_{{{dof};\\,{at}\\,\\%}} = {limit} ,\\quad P = {p}{of_all}"
            ),
        ));
    };
    let (c, (dof, few)) = (allowance.factor(), allowance.dof());
    let (limit, few) = (printed.number(test.limit / c, 4), printed.number(few, 3));
    let (by, allowed) = match allowance {
        Allowance::Several { amount: a, .. } => (
            "allowing for uncertainties from few weighings (Johansen 1980)",
            format!(
                "J = {} ,\\quad H = {dof} + 2 J - \\frac{{6 J}}{{{dof} + 2}} = {} ,\\quad \
                 \\nu = \\frac{{{dof} \\times ({dof} + 2)}}{{3 J}} = {few}",
                printed.number(a, 4),
                printed.number(c, 4)
            ),
        ),
        Allowance::One { .. } => (
            "with the degrees of freedom of the pooled standard deviation (Satterthwaite 1946)",
            format!("H = {dof} ,\\quad \\nu = {few}"),
        ),
    };
    Some(Step::chain(
        format!(
            "test of the points against their uncertainties and covariances, by the least sum of squares, {by}"
        ),
        format!(
            "\\chi^{{2}} &= Q_{{\\min}} = {observed}{of_all} ,\\quad {allowed} \\\\ \
             \\frac{{\\chi^{{2}}}}{{H}} &= {} {sign} F_{{{dof},\\,\\nu;\\,{at}\\,\\%}} = {limit} ,\\quad P = {p}",
            printed.number(test.observed / c, 4),
        ),
    ))
}

/// The part of an interval from which on its widening shows in the digits printed.
const PRINTED: f64 = 1e-4;

/// Fieller's intervals of the unknowns; none without an unknown that has one.
pub(super) fn fieller<'s>(
    reduction: &Reduction,
    unknowns: impl Iterator<Item = &'s SolutionResult>,
    coverage: f64,
    printed: Printed,
) -> Option<Step> {
    let calibration = reduction.calibration.as_ref()?;
    let rows = unknowns.filter_map(|unknown| interval_of(reduction, unknown, coverage, printed));
    let rows: Vec<String> = rows.collect();
    let x = calibration.against.symbol();
    (!rows.is_empty()).then(|| {
        Step::chain(
            format!(
                "Fieller's interval for the {}",
                calibration.against.label()
            ),
            format!(
                "\\left(\\overline{{\\rho}} - \\beta_0 - \\beta_1 {x}\\right)^{{2}} &\\le k^{{2}}\\, u^{{2}}\\!\\left(\\overline{{\\rho}} - \\beta_0 - \\beta_1 {x}\\right) ,\\quad \
                 g = \\left(\\frac{{k\\, u(\\beta_1)}}{{\\beta_1}}\\right)^{{2}} \\\\ {}",
                rows.join(" \\\\ ")
            ),
        )
    })
}

/// Returns the row of an unknown; `None` if the interval is not stated.
fn interval_of(
    reduction: &Reduction,
    solution: &SolutionResult,
    coverage: f64,
    printed: Printed,
) -> Option<String> {
    let ws = &reduction.worksheet;
    let calibration = reduction.calibration.as_ref()?;
    let density = solution.density.as_ref()?.compared();
    let x = solution.composition.get(calibration.against)?;
    let uncertainty = ws.uncertainty(x);
    let k = coverage_factor(coverage, &uncertainty);
    let departure = solution.left_out.and_then(|left_out| left_out.counted);
    // The body states it from here on.
    let found = interval(ws, calibration, (density, departure), k)
        .filter(|found| found.g >= NOT_NEGLIGIBLE)?;
    let symbol = printed.symbol(x);
    let unit = printed.unit(ws.node(x).unit.symbol);
    let wider = widening(uncertainty, coverage);
    let widened = if wider > PRINTED * (found.high - found.low) {
        format!(
            " ,\\quad \\text{{widened for effects not corrected: }} {} \\text{{ to }} {}\\,{unit}",
            printed.number(found.low - wider, 6),
            printed.number(found.high + wider, 6),
        )
    } else {
        String::new()
    };
    Some(format!(
        "{} &\\le {symbol} \\le {}\\,{unit} ,\\quad k = {} ,\\quad g = {}{widened}",
        printed.number(found.low, 6),
        printed.number(found.high, 6),
        printed.number(k, 4),
        printed.number(found.g, 4),
    ))
}

/// Returns the sum that a method of fitting minimises, of the residuals r; TeX.
pub(super) fn least(method: Method) -> &'static str {
    match method {
        Method::Ordinary => "Q = \\sum_i r_i^{2}",
        Method::Weighted => "Q = \\sum_i \\frac{r_i^{2}}{u^{2}(\\rho_i)}",
        Method::Generalised => {
            "Q = r^{\\mathsf{T}}\\, C^{-1}\\, r ,\\quad C_{ij} = \\mathrm{cov}(r_i, r_j)"
        }
    }
}
