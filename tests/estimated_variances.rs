//! χ² of a fit whose weights rest on variances found from few readings.

use crate::common::Generator;
use fillmark::bench::fit::{Fitted, Method, Model, Point, Sampled, chi_squared_tail, f_tail, fit};

/// Replicates a point.
const COUNT: usize = 3;

/// Means of normal readings about a straight line that have an error in common, with what their spreads tell.
fn simulated(random: &mut Generator, points: usize, pooled: bool) -> (Fitted, Vec<Sampled>) {
    let shared = 2.0 * random.normal();
    let readings: Vec<Vec<f64>> = (0..points)
        .map(|i| {
            let truth = 10.0 + 3.0 * i as f64 + shared;
            (0..COUNT).map(|_| truth + random.normal()).collect()
        })
        .collect();
    let moments: Vec<(f64, f64)> = readings
        .iter()
        .map(|values| {
            let mean = values.iter().sum::<f64>() / COUNT as f64;
            let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
            (mean, squares / (COUNT - 1) as f64)
        })
        .collect();
    let all = moments.iter().map(|m| m.1).sum::<f64>() / points as f64;
    let (mut given, mut sampled) = (Vec::new(), Vec::new());
    for (point, &(mean, own)) in moments.iter().enumerate() {
        let variance = if pooled { all } else { own };
        let standard_uncertainty = (variance / COUNT as f64).sqrt();
        given.push(Point {
            x: point as f64,
            y: mean,
            x_influences: Vec::new(),
            y_influences: vec![(0, 2.0), (1 + point as u32, standard_uncertainty)],
        });
        let dof = if pooled {
            points * (COUNT - 1)
        } else {
            COUNT - 1
        };
        sampled.push(Sampled {
            point,
            standard_uncertainty,
            dof: dof as f64,
            estimate: pooled.then_some(7),
        });
    }
    let fitted = fit(&given, Model::Straight, Method::Generalised).unwrap();
    (fitted, sampled)
}

/// How often a straight line is refused at 5 % though it is right: by plain χ², and with what is allowed for.
fn refusals(points: usize, pooled: bool) -> (f64, f64) {
    const RUNS: usize = 4000;
    let mut random = Generator(11 + points as u64);
    let (mut plain, mut allowed) = (0, 0);
    for _ in 0..RUNS {
        let (fitted, sampled) = simulated(&mut random, points, pooled);
        let observed = fitted.chi_squared.unwrap();
        let allowance = fitted.allowance(&sampled).unwrap();
        plain += usize::from(chi_squared_tail(observed, fitted.dof as f64) < 0.05);
        let (p, few) = allowance.dof();
        allowed += usize::from(f_tail(observed / allowance.factor(), p, few) < 0.05);
    }
    (plain as f64 / RUNS as f64, allowed as f64 / RUNS as f64)
}

/// The property the approximation is made for: a right line is refused about as often as it says.
#[test]
fn right_lines_are_seldom_refused() {
    for (points, pooled) in [(4, false), (6, false), (4, true), (6, true), (12, true)] {
        let (plain, allowed) = refusals(points, pooled);
        let what = format!("{points} points, pooled: {pooled}: plain {plain}, allowed {allowed}");
        assert!(plain > 1.2 * allowed, "{what}");
        println!("{what}");
        // Exact where the spread is pooled; an approximation else.
        let expected = if pooled { 0.04..0.06 } else { 0.03..0.08 };
        assert!(expected.contains(&allowed), "{what}");
    }
}

/// JCGM 100:2008, G.4.1: with one degree of freedom left, the variance of the one contrast has the effective degrees of
/// freedom of Welch and Satterthwaite.
#[test]
fn one_degree_of_freedom_is_welch_and_satterthwaite() {
    let u = [0.3, 0.2, 0.5];
    let dof = [2.0, 3.0, 4.0];
    let (mut points, mut sampled) = (Vec::new(), Vec::new());
    for i in 0..3 {
        points.push(Point {
            x: i as f64 - 1.0,
            y: [1.0, 2.1, 2.9][i],
            x_influences: Vec::new(),
            y_influences: vec![(i as u32, u[i])],
        });
        sampled.push(Sampled {
            point: i,
            standard_uncertainty: u[i],
            dof: dof[i],
            estimate: None,
        });
    }
    let fitted = fit(&points, Model::Straight, Method::Weighted).unwrap();
    let found = fitted.allowance(&sampled).unwrap();
    // The contrast y1 − 2 y2 + y3.
    let parts = [u[0].powi(2), 4.0 * u[1].powi(2), u[2].powi(2)];
    let whole: f64 = parts.iter().sum();
    let effective = whole.powi(2)
        / parts
            .iter()
            .zip(dof)
            .map(|(part, dof)| part * part / dof)
            .sum::<f64>();
    assert!((found.factor() - 1.0).abs() < 1e-12, "{found:?}");
    assert!(
        (found.dof().1 - effective).abs() < 1e-9,
        "{found:?}, {effective}"
    );
}

#[test]
fn nothing_is_allowed_for_what_was_not_sampled() {
    let mut random = Generator(3);
    let (fitted, _) = simulated(&mut random, 5, false);
    assert_eq!(fitted.allowance(&[]), None);
    let certain = Sampled {
        point: 0,
        standard_uncertainty: 1.0,
        dof: f64::INFINITY,
        estimate: None,
    };
    assert_eq!(fitted.allowance(&[certain]), None);
}
