//! **What:** the calibration's points depart from the fitted line by more than their stated uncertainties explain, or
//! the means of their weighings by more than the weighings scatter.
//!
//! **Why it matters:** what is read back from such a line is off by more than its uncertainty says; density is not
//! quite straight in any scale of composition.
//!
//! **Source:** χ² test of ISO/TS 28037:2010, 6.3; F test of lack of fit (Draper and Smith 1998, section 2.1); both at
//! the run's coverage probability.

use super::{Bench, Flag};
use crate::fit::Model;
use crate::reduce::Test;
use crate::runfile::model::FlagCode;

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let Some(calibration) = &bench.reduction.calibration else {
        return;
    };
    let coverage = bench.run.report.coverage;
    let numbers = |symbol: &str, test: Test| {
        format!(
            "{symbol} = {:.3} where at most {:.3} is expected",
            test.observed, test.limit
        )
    };
    let refusing = |test: Option<Test>| test.filter(|test| !test.passed());
    let by_chi_squared = refusing(calibration.chi_squared_test(coverage)).map(|test| {
        format!(
            "The points depart from the fitted line by more than their uncertainties explain: {}.",
            numbers("χ²", test)
        )
    });
    let by_lack_of_fit = refusing(calibration.lack_of_fit_test(coverage)).map(|test| {
        format!(
            "The means of the weighings miss the line by more than the weighings scatter (lack of fit): {}.",
            numbers("F", test)
        )
    });
    let mut message: Vec<String> = by_chi_squared.into_iter().chain(by_lack_of_fit).collect();
    if message.is_empty() {
        return;
    }
    if calibration.fitted.model == Model::Straight {
        message.push("A curve may be called for: `line: curve`.".into());
    }
    flags.push(Flag::new(
        FlagCode::LineDeparts,
        "calibration",
        message.join(" "),
        "What is read back from such a line is off by more than its uncertainty says.",
    ));
}
