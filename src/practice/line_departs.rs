//! **What:** the calibration's points depart from the fitted line by more than their stated uncertainties explain.
//!
//! **Why it matters:** what is read back from such a line is off by more than its uncertainty says; density is not
//! quite straight in any scale of composition.
//!
//! **Source:** χ² test of ISO/TS 28037:2010, 6.3, at the run's coverage probability.

use super::{Bench, Flag};
use crate::fit::{Model, chi_squared_quantile};

pub(super) fn check(bench: &Bench, flags: &mut Vec<Flag>) {
    let Some(calibration) = &bench.reduction.calibration else {
        return;
    };
    let fitted = &calibration.fitted;
    let Some(observed) = fitted.chi_squared.filter(|_| fitted.dof > 0) else {
        return;
    };
    let limit = chi_squared_quantile(bench.run.report.coverage, fitted.dof as f64);
    if observed <= limit {
        return;
    }
    let advice = match fitted.model {
        Model::Straight => " A curve may be called for: `line: curve`.",
        Model::Quadratic => "",
    };
    flags.push(Flag {
        code: "line-departs",
        entry: "calibration".into(),
        message: format!(
            "The points depart from the fitted line by more than their uncertainties explain: χ² = {observed:.3} where \
             at most {limit:.3} is expected.{advice}"
        ),
    });
}
