//! **What:** the calibration's points depart from the fitted line by more than their stated uncertainties explain, or
//! the means of their weighings by more than the weighings scatter.
//!
//! **Why it matters:** what is read back from such a line is off by more than its uncertainty says; density is not
//! quite straight in any scale of composition.
//!
//! **Source:** χ² test of ISO/TS 28037:2010, 6.3; F test of lack of fit (Draper and Smith 1998, section 2.1).

use super::level::Tested;
use super::scene::Scene;
use super::{Flag, Judge, Slips, SlipsBehind};
use crate::fit::Model;
use crate::reduce::Test;
use crate::runfile::model::FlagCode;

pub(super) const JUDGE: Judge = Judge {
    tests,
    flags,
    slips: SlipsBehind::None,
};

/// The tests of the line there are: by stated uncertainties, by the scatter of the weighings.
fn of_line(scene: &Scene) -> [Option<Test>; 2] {
    let coverage = scene.bench.run.report.coverage;
    let calibration = scene.bench.reduction.calibration.as_ref();
    [
        calibration.and_then(|c| c.chi_squared_test(coverage)),
        calibration.and_then(|c| c.lack_of_fit_test(coverage)),
    ]
}

fn tests(scene: &Scene) -> Vec<Tested> {
    let each = of_line(scene).into_iter().enumerate();
    each.filter_map(|(of, test)| {
        Some(Tested {
            of,
            p: test?.p_value,
        })
    })
    .collect()
}

fn flags(scene: &Scene, refused: &[usize], _: &Slips) -> Vec<Flag> {
    let Some(calibration) = &scene.bench.reduction.calibration else {
        return Vec::new();
    };
    let numbers = |symbol: &str, test: Test| {
        format!(
            "{symbol} = {:.3} where at most {:.3} is expected",
            test.observed, test.limit
        )
    };
    let [by_chi_squared, by_lack_of_fit] = of_line(scene);
    let mut message: Vec<String> = Vec::new();
    if let Some(test) = by_chi_squared.filter(|_| refused.contains(&0)) {
        message.push(format!(
            "The points depart from the fitted line by more than their uncertainties explain: {}.",
            numbers("χ²", test)
        ));
    }
    if let Some(test) = by_lack_of_fit.filter(|_| refused.contains(&1)) {
        message.push(format!(
            "The means of the weighings depart from the line by more than the weighings scatter (lack of fit): {}.",
            numbers("F", test)
        ));
    }
    if message.is_empty() {
        return Vec::new();
    }
    if calibration.fitted.model == Model::Straight {
        message.push("A curve may be called for: `line: curve`.".into());
    }
    vec![Flag::new(
        FlagCode::LineDeparts,
        "calibration",
        message.join(" "),
        "What is read from such a line is in error by more than its stated uncertainty.",
    )]
}
