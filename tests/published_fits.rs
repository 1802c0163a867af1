//! Every published fit and statistic in `published/line_fits.json` and `published/statistics.json`.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
#![allow(clippy::float_cmp, reason = "counts, read from JSON as floats")]

use fillmark::bench::fit::{
    Fitted, Method, Model, Point, chi_squared_quantile, fieller, fit, grubbs_critical, student_t,
};
use nalgebra::DMatrix;
use serde_json::Value;

fn cases(text: &str) -> Vec<Value> {
    serde_json::from_str(text).unwrap()
}

fn number(value: &Value, name: &str) -> f64 {
    value[name]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {name:?} in {value}"))
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value
        .as_array()
        .unwrap_or_else(|| panic!("no list: {value}"));
    list.iter().map(|v| v.as_f64().unwrap()).collect()
}

fn matrix(value: &Value) -> DMatrix<f64> {
    let rows: Vec<Vec<f64>> = value.as_array().unwrap().iter().map(numbers).collect();
    DMatrix::from_fn(rows.len(), rows[0].len(), |i, j| rows[i][j])
}

#[track_caller]
fn close(id: &str, what: &str, got: f64, expected: f64, absolute: f64, relative: f64) {
    let room = absolute + relative * expected.abs();
    assert!(
        (got - expected).abs() <= room,
        "{id}: {what} is {got}, expected {expected} ± {room:e}"
    );
}

/// Points with exact x and y.
fn exact(x: &[f64], y: &[f64]) -> Vec<Point> {
    x.iter()
        .zip(y)
        .map(|(&x, &y)| Point {
            x,
            y,
            ..Point::default()
        })
        .collect()
}

/// Points with independent errors.
fn independent(x: &[f64], u_x: &[f64], y: &[f64], u_y: &[f64]) -> Vec<Point> {
    let mut points = exact(x, y);
    for (i, point) in points.iter_mut().enumerate() {
        if u_x[i] > 0.0 {
            point.x_influences = vec![(2 * i as u32, u_x[i])];
        }
        point.y_influences = vec![(2 * i as u32 + 1, u_y[i])];
    }
    points
}

/// Points whose influences are the rows of a factor L of their joint covariance L Lᵀ, x first, then y.
fn jointly(x: &[f64], y: &[f64], factor: &DMatrix<f64>) -> Vec<Point> {
    let row = |i: usize| {
        let row = factor
            .row(i)
            .iter()
            .enumerate()
            .map(|(s, &u)| (s as u32, u))
            .collect::<Vec<_>>();
        row.into_iter().filter(|&(_, u)| u != 0.0).collect()
    };
    let mut points = exact(x, y);
    let count = points.len();
    for (i, point) in points.iter_mut().enumerate() {
        (point.x_influences, point.y_influences) = (row(i), row(count + i));
    }
    points
}

/// Covariance of the coefficients, the partials being propagated through the influences.
fn propagated(points: &[Point], fitted: &Fitted) -> Vec<Vec<f64>> {
    let sources = points
        .iter()
        .flat_map(|p| p.x_influences.iter().chain(&p.y_influences));
    let count = sources.map(|&(s, _)| s as usize + 1).max().unwrap_or(0);
    let effects: Vec<Vec<f64>> = fitted
        .partials
        .iter()
        .map(|by_point| {
            let mut effect = vec![0.0; count];
            for (point, (by_x, by_y)) in points.iter().zip(by_point) {
                for &(s, u) in &point.x_influences {
                    effect[s as usize] += by_x * u;
                }
                for &(s, u) in &point.y_influences {
                    effect[s as usize] += by_y * u;
                }
            }
            effect
        })
        .collect();
    let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum();
    effects
        .iter()
        .map(|a| effects.iter().map(|b| product(a, b)).collect())
        .collect()
}

/// Standard uncertainty of (y₀ − b₀)/b₁ for a reading of variance `reading`, independent of the line.
fn read_back_uncertainty(fitted: &Fitted, covariance: &[Vec<f64>], reading: f64, x: f64) -> f64 {
    let line = covariance[0][0] + 2.0 * x * covariance[0][1] + x * x * covariance[1][1];
    (reading + line).sqrt() / fitted.coefficients[1]
}

/// A generalised fit against coefficients, uncertainties, covariance and χ², all in the case's own names.
fn check_generalised(id: &str, points: &[Point], case: &Value) -> (Fitted, Vec<Vec<f64>>) {
    let fitted =
        fit(points, Model::Straight, Method::Generalised).unwrap_or_else(|e| panic!("{id}: {e}"));
    let covariance = propagated(points, &fitted);
    let (expected, tolerance) = (&case["expected"], &case["tolerance"]);
    let (fine, coarse) = (
        number(tolerance, "rel_coefficients"),
        number(tolerance, "rel_uncertainties"),
    );
    close(
        id,
        "intercept",
        fitted.coefficients[0],
        number(expected, "intercept"),
        0.0,
        fine,
    );
    close(
        id,
        "slope",
        fitted.coefficients[1],
        number(expected, "slope"),
        0.0,
        fine,
    );
    for matrix in [&covariance, &fitted.scatter_covariance] {
        close(
            id,
            "u_intercept",
            matrix[0][0].sqrt(),
            number(expected, "u_intercept"),
            0.0,
            coarse,
        );
        close(
            id,
            "u_slope",
            matrix[1][1].sqrt(),
            number(expected, "u_slope"),
            0.0,
            coarse,
        );
        close(
            id,
            "covariance",
            matrix[0][1],
            number(expected, "covariance"),
            0.0,
            coarse,
        );
    }
    close(
        id,
        "χ²",
        fitted.chi_squared.unwrap(),
        number(expected, "chi_squared"),
        0.0,
        fine,
    );
    assert_eq!(fitted.dof as f64, number(expected, "dof"), "{id}");
    (fitted, covariance)
}

/// An ordinary fit against whichever of the usual names the case gives.
fn check_ordinary(id: &str, x: &[f64], y: &[f64], case: &Value) -> Fitted {
    let fitted = fit(&exact(x, y), Model::Straight, Method::Ordinary).unwrap();
    let (expected, relative) = (&case["expected"], number(&case["tolerance"], "rel"));
    let covariance = &fitted.scatter_covariance;
    let found = [
        ("intercept", fitted.coefficients[0]),
        ("slope", fitted.coefficients[1]),
        ("u_intercept", covariance[0][0].sqrt()),
        ("u_slope", covariance[1][1].sqrt()),
        ("covariance", covariance[0][1]),
        ("residual_sd", fitted.residual_sd),
        ("R2", fitted.r_squared),
        (
            "sum_of_squares",
            fitted.residuals.iter().map(|r| r * r).sum(),
        ),
        ("dof", fitted.dof as f64),
    ];
    let checked = found.iter().filter(|(name, got)| {
        expected[name].as_f64().is_some_and(|wanted| {
            close(id, name, *got, wanted, 0.0, relative);
            true
        })
    });
    assert!(checked.count() >= 5, "{id}: too little checked");
    fitted
}

fn check_certified(id: &str, case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let relative = number(&case["tolerance"], "rel");
    let fitted = fit(
        &exact(&numbers(&inputs["x"]), &numbers(&inputs["y"])),
        Model::Straight,
        Method::Ordinary,
    )
    .unwrap();
    let (certified, errors) = (
        numbers(&expected["coefficients_ascending"]),
        numbers(&expected["standard_errors"]),
    );
    for k in 0..2 {
        close(
            id,
            "coefficient",
            fitted.coefficients[k],
            certified[k],
            0.0,
            relative,
        );
        close(
            id,
            "standard error",
            fitted.scatter_covariance[k][k].sqrt(),
            errors[k],
            0.0,
            relative,
        );
    }
    close(
        id,
        "residual sd",
        fitted.residual_sd,
        number(expected, "residual_sd"),
        0.0,
        relative,
    );
    close(
        id,
        "R²",
        fitted.r_squared,
        number(expected, "R2"),
        0.0,
        relative,
    );
    assert_eq!(fitted.dof as f64, number(expected, "dof"), "{id}");
}

/// A line through the origin is one through a point that leaves no room for error.
fn check_through_origin(id: &str, case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let relative = number(&case["tolerance"], "rel");
    let (x, y) = (numbers(&inputs["x"]), numbers(&inputs["y"]));
    let mut points = independent(&x, &vec![0.0; x.len()], &y, &vec![1.0; x.len()]);
    points.insert(1, Point::default());
    let fitted = fit(&points, Model::Straight, Method::Generalised).unwrap();
    let sd = (fitted.chi_squared.unwrap() / fitted.dof as f64).sqrt();
    let error = sd * propagated(&points, &fitted)[1][1].sqrt();
    close(id, "intercept", fitted.coefficients[0], 0.0, 1e-14, 0.0);
    close(
        id,
        "slope",
        fitted.coefficients[1],
        numbers(&expected["coefficients_ascending"])[0],
        0.0,
        relative,
    );
    close(
        id,
        "standard error",
        error,
        numbers(&expected["standard_errors"])[0],
        0.0,
        relative,
    );
    close(
        id,
        "residual sd",
        sd,
        number(expected, "residual_sd"),
        0.0,
        relative,
    );
    let total: f64 = y.iter().map(|y| y * y).sum();
    close(
        id,
        "R²",
        1.0 - fitted.chi_squared.unwrap() / total,
        number(expected, "R2"),
        0.0,
        relative,
    );
    assert_eq!(fitted.dof as f64, number(expected, "dof"), "{id}");
}

fn check_weighted(id: &str, case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let relative = number(&case["tolerance"], "rel");
    let (x, y, u_y) = (
        numbers(&inputs["x"]),
        numbers(&inputs["y"]),
        numbers(&inputs["u_y"]),
    );
    let points = independent(&x, &vec![0.0; x.len()], &y, &u_y);
    for method in [Method::Weighted, Method::Generalised] {
        let fitted = fit(&points, Model::Straight, method).unwrap();
        let covariance = propagated(&points, &fitted);
        close(
            id,
            "intercept",
            fitted.coefficients[0],
            number(expected, "intercept"),
            0.0,
            relative,
        );
        close(
            id,
            "slope",
            fitted.coefficients[1],
            number(expected, "slope"),
            0.0,
            relative,
        );
        close(
            id,
            "u_intercept",
            covariance[0][0].sqrt(),
            number(expected, "u_intercept"),
            0.0,
            relative,
        );
        close(
            id,
            "u_slope",
            covariance[1][1].sqrt(),
            number(expected, "u_slope"),
            0.0,
            relative,
        );
        close(
            id,
            "covariance",
            covariance[0][1],
            number(expected, "covariance"),
            0.0,
            relative,
        );
        close(
            id,
            "χ²",
            fitted.chi_squared.unwrap(),
            number(expected, "chi_squared"),
            0.0,
            relative,
        );
        let limit = chi_squared_quantile(0.95, fitted.dof as f64);
        close(
            id,
            "χ² limit",
            limit,
            number(expected, "chi_squared_95"),
            6e-4,
            0.0,
        );
        let reading = &inputs["read_back"];
        let x0 = (number(reading, "y0") - fitted.coefficients[0]) / fitted.coefficients[1];
        close(id, "x0", x0, number(expected, "x0"), 0.0, relative);
        let u_x0 = read_back_uncertainty(&fitted, &covariance, number(reading, "u_y0").powi(2), x0);
        close(id, "u_x0", u_x0, number(expected, "u_x0"), 0.0, relative);
    }
}

fn check_york(id: &str, case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let uncertainties = |name: &str| {
        numbers(&inputs[name])
            .iter()
            .map(|w| 1.0 / w.sqrt())
            .collect::<Vec<_>>()
    };
    let (x, y) = (numbers(&inputs["x"]), numbers(&inputs["y"]));
    let points = independent(
        &x,
        &uncertainties("weight_x"),
        &y,
        &uncertainties("weight_y"),
    );
    let (fitted, covariance) = check_generalised(id, &points, case);
    let published = &expected["published"];
    close(
        id,
        "published slope",
        fitted.coefficients[1],
        number(published, "slope"),
        5e-7,
        0.0,
    );
    close(
        id,
        "published intercept",
        fitted.coefficients[0],
        number(published, "intercept"),
        5e-6,
        0.0,
    );
    close(
        id,
        "published u_slope",
        covariance[1][1].sqrt(),
        number(published, "u_slope"),
        5e-4,
        0.0,
    );
    let scale = (fitted.chi_squared.unwrap() / fitted.dof as f64).sqrt();
    let scaled = &expected["scaled_by_sqrt_chi2_over_dof"];
    close(
        id,
        "scaled u_slope",
        scale * covariance[1][1].sqrt(),
        number(scaled, "u_slope"),
        0.0,
        1e-4,
    );
}

fn check_joint(id: &str, case: &Value) {
    let inputs = &case["inputs"];
    let (x, y) = (
        numbers(&inputs["x_mass_percent"]),
        numbers(&inputs["y_g_mL"]),
    );
    let factor = if inputs["L_rows_x_then_y"].is_array() {
        matrix(&inputs["L_rows_x_then_y"])
    } else {
        let (xx, yy, xy) = (
            matrix(&inputs["U_x"]),
            matrix(&inputs["U_y"]),
            matrix(&inputs["U_xy"]),
        );
        let n = x.len();
        let joint = DMatrix::from_fn(2 * n, 2 * n, |i, j| match (i < n, j < n) {
            (true, true) => xx[(i, j)],
            (true, false) => xy[(i, j - n)],
            (false, true) => xy[(j, i - n)],
            (false, false) => yy[(i - n, j - n)],
        });
        joint.cholesky().unwrap().l()
    };
    let (fitted, covariance) = check_generalised(id, &jointly(&x, &y, &factor), case);
    let reading = &inputs["read_back"];
    if reading.is_object() {
        let (expected, tolerance) = (&case["expected"], &case["tolerance"]);
        let x0 = (number(reading, "y0") - fitted.coefficients[0]) / fitted.coefficients[1];
        close(
            id,
            "x0",
            x0,
            number(expected, "x0"),
            0.0,
            number(tolerance, "rel_coefficients"),
        );
        let u_x0 = read_back_uncertainty(&fitted, &covariance, number(reading, "u_y0").powi(2), x0);
        close(
            id,
            "u_x0",
            u_x0,
            number(expected, "u_x0"),
            0.0,
            number(tolerance, "rel_uncertainties"),
        );
    }
}

fn check_harvey(id: &str, case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let relative = number(&case["tolerance"], "rel");
    let fitted = check_ordinary(id, &numbers(&inputs["x"]), &numbers(&inputs["y"]), case);
    let readings = numbers(&inputs["readings"]);
    let mean = readings.iter().sum::<f64>() / readings.len() as f64;
    let variance = fitted.residual_sd.powi(2) / readings.len() as f64;
    let covariance = &fitted.scatter_covariance;
    let t = student_t(number(inputs, "probability"), fitted.dof as f64);
    close(id, "t", t, number(expected, "t"), 0.0, relative);
    let line = [fitted.coefficients[0], fitted.coefficients[1]];
    let joint = [
        [variance, 0.0, 0.0],
        [0.0, covariance[0][0], covariance[0][1]],
        [0.0, covariance[1][0], covariance[1][1]],
    ];
    let found = fieller(mean, line, &joint, t).unwrap();
    close(
        id,
        "x0",
        found.abscissa,
        number(expected, "x0"),
        0.0,
        relative,
    );
    let u_x0 = read_back_uncertainty(&fitted, covariance, variance, found.abscissa);
    close(id, "u_x0", u_x0, number(expected, "u_x0"), 0.0, relative);
    let first_order = numbers(&expected["interval_first_order"]);
    close(
        id,
        "first-order low",
        found.abscissa - t * u_x0,
        first_order[0],
        0.0,
        relative,
    );
    close(
        id,
        "first-order high",
        found.abscissa + t * u_x0,
        first_order[1],
        0.0,
        relative,
    );
    let exact = &expected["fieller"];
    close(id, "g", found.g, number(exact, "g"), 0.0, relative);
    close(
        id,
        "low",
        found.low,
        numbers(&exact["interval"])[0],
        0.0,
        relative,
    );
    close(
        id,
        "high",
        found.high,
        numbers(&exact["interval"])[1],
        0.0,
        relative,
    );
}

#[test]
fn line_fits() {
    let cases = cases(include_str!("published/line_fits.json"));
    assert_eq!(cases.len(), 12, "a case was lost");
    for case in &cases {
        let id = case["id"].as_str().unwrap();
        let inputs = &case["inputs"];
        match id {
            "nist.Norris" => check_certified(id, case),
            "nist.NoInt2" => check_through_origin(id, case),
            // Of the fifth degree, which no model here has: checked on the kernel, in src/bench/fit/linear.rs.
            "nist.Wampler2" => {}
            "york.pearson" => check_york(id, case),
            "iso28037.6.3-equal" => check_weighted(id, case),
            "iso28037.annex-e" => {
                let fitted =
                    check_ordinary(id, &numbers(&inputs["x"]), &numbers(&inputs["y"]), case);
                let x0 = (number(&inputs["read_back"], "y0") - fitted.coefficients[0])
                    / fitted.coefficients[1];
                close(id, "x0", x0, number(&case["expected"], "x0"), 0.0, 1e-8);
                let variance = fitted.residual_sd.powi(2);
                let u_x0 = read_back_uncertainty(&fitted, &fitted.scatter_covariance, variance, x0);
                close(
                    id,
                    "u_x0",
                    u_x0,
                    number(&case["expected"], "u_x0"),
                    0.0,
                    1e-8,
                );
            }
            "iso28037.7" => {
                let list = |name: &str| numbers(&inputs[name]);
                check_generalised(
                    id,
                    &independent(&list("x"), &list("u_x"), &list("y"), &list("u_y")),
                    case,
                );
            }
            "correlated-xy.a" | "correlated-xy.singular.a" => check_joint(id, case),
            "anscombe.1" | "anscombe.3" => {
                check_ordinary(id, &numbers(&inputs["x"]), &numbers(&inputs["y"]), case);
            }
            "inverse.harvey" => check_harvey(id, case),
            other => panic!("no check for {other}"),
        }
    }
}

#[test]
fn statistics() {
    let cases = cases(include_str!("published/statistics.json"));
    assert_eq!(cases.len(), 31, "a case was lost");
    for case in &cases {
        let id = case["id"].as_str().unwrap();
        let (inputs, expected, tolerance) =
            (&case["inputs"], &case["expected"], &case["tolerance"]);
        match id.split('.').next().unwrap() {
            "t" => {
                let t = student_t(number(inputs, "probability"), number(inputs, "dof"));
                close(
                    id,
                    "t",
                    t,
                    number(expected, "t"),
                    number(tolerance, "abs"),
                    0.0,
                );
            }
            "grubbs" => {
                let g = grubbs_critical(number(inputs, "n") as usize, number(inputs, "alpha"));
                close(
                    id,
                    "G",
                    g,
                    number(expected, "G"),
                    number(tolerance, "abs"),
                    0.0,
                );
            }
            other => panic!("no check for {other}"),
        }
    }
}
