//! The calculations of statistics that are no quantities of the worksheet: tests, Fieller's interval.

use crate::fit::Allowance;
use crate::reduce::coverage::widening;
use crate::reduce::{
    CalibrationResult, Reduction, SolutionResult, Test, coverage_factor, fieller as interval,
};
use crate::worksheet::tex_unit;

use super::words::plain;
use super::written_out::{Step, scientific_to};

/// The tests of a calibration.
pub(super) fn tests(calibration: &CalibrationResult, coverage: f64) -> Vec<Step> {
    let mut steps = Vec::new();
    let at = plain(100.0 * coverage);
    let verdict = |test: Test| {
        let sign = if test.passed() { "\\le" } else { ">" };
        (sign, number(test.limit), number(test.p_value))
    };
    if let (Some(test), Some(allowance)) = (
        calibration.chi_squared_test(coverage),
        calibration.allowance,
    ) {
        let (sign, _, p) = verdict(test);
        let (c, (dof, few)) = (allowance.factor(), allowance.dof());
        let (limit, few) = (number(test.limit / c), scientific_to(few, 3));
        let (by, allowed) = match allowance {
            Allowance::Several { amount: a, .. } => (
                "with A for those that rest on few weighings (Johansen 1980)",
                format!(
                    "A &= {} ,\\quad c = {dof} + 2 A - \\frac{{6 A}}{{{dof} + 2}} = {} ,\\quad \
                     \\nu = \\frac{{{dof} \\times ({dof} + 2)}}{{3 A}} = {few}",
                    number(a),
                    number(c)
                ),
            ),
            Allowance::One { .. } => (
                "with the degrees of freedom of the pooled spread in them (Satterthwaite 1946)",
                format!("c &= {dof} ,\\quad \\nu = {few}"),
            ),
        };
        steps.push(Step::chain(
            format!("test of the points against their uncertainties, by the least Q, {by}"),
            format!(
                "\\chi^{{2}} &= Q_{{\\min}} = {} \\\\ {allowed} \\\\ \
                 \\frac{{\\chi^{{2}}}}{{c}} &= {} {sign} F_{{{dof},\\,\\nu;\\,{at}\\,\\%}} = {limit} ,\\quad p = {p}",
                number(test.observed),
                number(test.observed / c),
            ),
        ));
    } else if let Some(test) = calibration.chi_squared_test(coverage) {
        let (sign, limit, p) = verdict(test);
        let dof = calibration.fitted.dof;
        steps.push(Step::chain("test of the points against their uncertainties, by the least Q", format!(
                "\\chi^{{2}} &= Q_{{\\min}} = {} {sign} \\chi^{{2}}_{{{dof};\\,{at}\\,\\%}} = {limit} ,\\quad p = {p}",
                number(test.observed)
            )));
    }
    if let (Some(test), Some(found)) = (
        calibration.lack_of_fit_test(coverage),
        calibration.lack_of_fit.filter(|found| found.f.is_finite()),
    ) {
        let (sign, limit, p) = verdict(test);
        let (pure, lack) = (
            number(found.pure_squares),
            number(found.residual_squares - found.pure_squares),
        );
        let (a, b) = (found.lack_dof, found.pure_dof);
        steps.push(Step::chain("lack of fit of an ordinary fit to the single weighings", format!(
                "S_{{\\mathrm{{pure}}}} &= \\sum_i \\sum_j (\\rho_{{ij}} - \\overline{{\\rho}}_i)^{{2}} = {pure} \\\\ \
                 S_{{\\mathrm{{lack}}}} &= \\sum_i n_i (\\overline{{\\rho}}_i - \\hat{{\\rho}}_i)^{{2}} = {lack} \\\\ \
                 F &= \\frac{{S_{{\\mathrm{{lack}}}} / {a}}}{{S_{{\\mathrm{{pure}}}} / {b}}} = {} {sign} \
                 F_{{{a},\\,{b};\\,{at}\\,\\%}} = {limit} ,\\quad p = {p}",
                number(test.observed)
            )));
    }
    steps
}

/// The part of an interval from which on its widening shows in the digits printed.
const PRINTED: f64 = 1e-4;

/// Fieller's interval of an unknown; none where there is none.
pub(super) fn fieller(
    reduction: &Reduction,
    solution: &SolutionResult,
    coverage: f64,
) -> Option<Step> {
    let ws = &reduction.worksheet;
    let calibration = reduction.calibration.as_ref()?;
    let density = solution.density.as_ref()?.compared();
    let x = solution.composition.on(calibration.against)?;
    let uncertainty = ws.uncertainty(x);
    let k = coverage_factor(coverage, &uncertainty);
    let found = interval(ws, calibration, density, k)?;
    let symbol = &ws.node(x).symbol;
    let unit = tex_unit(ws.node(x).unit);
    let rho = &ws.node(density).symbol;
    let wider = widening(uncertainty, coverage);
    let widened = if wider > PRINTED * (found.high - found.low) {
        format!(
            " \\\\ &\\text{{widened for what is not corrected: }} {} \\le {symbol} \\le {}\\,{unit}",
            scientific_to(found.low - wider, 6),
            scientific_to(found.high + wider, 6),
        )
    } else {
        String::new()
    };
    Some(Step::chain(
        format!(
            "Fieller's interval: all {} of {} that the line and the density allow at k = {k:.3}",
            crate::reduce::composition::label(calibration.against),
            solution.name
        ),
        format!(
            "\\left({rho} - b_0 - b_1 x\\right)^{{2}} &\\le k^{{2}}\\, u^{{2}}\\!\\left({rho} - b_0 - b_1 x\\right) \\\\ \
             g &= \\left(\\frac{{k\\, u(b_1)}}{{b_1}}\\right)^{{2}} = {} \\\\ \
             {} &\\le {symbol} \\le {}\\,{unit}{widened}",
            number(found.g),
            scientific_to(found.low, 6),
            scientific_to(found.high, 6),
        ),
    ))
}

/// A statistic in TeX.
fn number(value: f64) -> String {
    scientific_to(value, 4)
}
