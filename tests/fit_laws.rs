//! Laws that every fit obeys, on generated points; and a second, plain generalised fit to compare with.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
#![allow(
    clippy::float_cmp,
    reason = "where floats are compared at all, equality is what is claimed"
)]
#![allow(clippy::cast_possible_wrap, reason = "small exponents")]

use crate::common::Generator;
use fillmark::bench::fit::{FitError, Fitted, Method, Model, Point, fit};
use nalgebra::{DMatrix, DVector};

const SEEDS: std::ops::Range<u64> = 1..41;
const MODELS: [Model; 2] = [Model::Straight, Model::Quadratic];
const METHODS: [Method; 3] = [Method::Ordinary, Method::Weighted, Method::Generalised];

/// A series such as the bench makes: private sources on x, on y and on both, and `shared` ones on all points, drawn so
/// that the points scatter as stated.
fn series(seed: u64, count: usize, shared: usize) -> Vec<Point> {
    let mut random = Generator(seed);
    let (offset, slope, bend) = (
        random.between(0.9, 1.1),
        random.between(0.005, 0.02),
        random.between(-1e-5, 1e-5),
    );
    let common: Vec<(f64, f64)> = (0..shared)
        .map(|_| (random.normal(), random.normal()))
        .collect();
    (0..count)
        .map(|i| {
            let truth = 20.0 * (i as f64 + random.between(0.0, 0.5)) / count as f64;
            let mut point = Point {
                x: truth,
                y: offset + slope * truth + bend * truth * truth,
                ..Point::default()
            };
            let first = 100 + 3 * i as u32;
            for (source, to_x, to_y) in [
                (first, random.between(0.01, 0.05), 0.0),
                (first + 1, 0.0, random.between(1e-4, 9e-4)),
                (
                    first + 2,
                    random.between(-0.02, 0.02),
                    random.between(-3e-4, 3e-4),
                ),
            ] {
                add(&mut point, source, to_x, to_y, random.normal());
            }
            for (source, (on_x, on_y)) in common.iter().enumerate() {
                let draw = Generator(seed * 1000 + source as u64).normal();
                add(
                    &mut point,
                    source as u32,
                    0.003 * on_x * truth.sqrt(),
                    2e-4 * on_y * (1.0 + 0.1 * truth),
                    draw,
                );
            }
            point.x_influences.sort_by_key(|&(source, _)| source);
            point.y_influences.sort_by_key(|&(source, _)| source);
            point
        })
        .collect()
}

fn add(point: &mut Point, source: u32, to_x: f64, to_y: f64, draw: f64) {
    if to_x != 0.0 {
        point.x_influences.push((source, to_x));
    }
    if to_y != 0.0 {
        point.y_influences.push((source, to_y));
    }
    point.x += to_x * draw;
    point.y += to_y * draw;
}

#[track_caller]
fn same(what: &str, a: &[f64], b: &[f64], relative: f64) {
    assert_eq!(a.len(), b.len(), "{what}");
    let size = a.iter().fold(0.0_f64, |most, v| most.max(v.abs()));
    for (a, b) in a.iter().zip(b) {
        assert!(
            (a - b).abs() <= relative * size,
            "{what}: {a} and {b} differ by {:e} of {size:e}",
            (a - b) / size
        );
    }
}

/// Standard uncertainties (or, off the diagonal, correlations) in one list.
fn uncertainties(covariance: &[Vec<f64>]) -> Vec<f64> {
    let sd: Vec<f64> = (0..covariance.len())
        .map(|k| covariance[k][k].sqrt())
        .collect();
    let mut all: Vec<f64> = vec![];
    for (i, row) in covariance.iter().enumerate() {
        all.extend(
            row.iter()
                .enumerate()
                .map(|(j, c)| if i == j { 1.0 } else { c / sd[i] / sd[j] }),
        );
    }
    all
}

#[track_caller]
fn same_fit(what: &str, a: &Fitted, b: &Fitted, relative: f64) {
    for k in 0..a.coefficients.len() {
        same(
            &format!("{what}: coefficient {k}"),
            &a.coefficients[k..=k],
            &b.coefficients[k..=k],
            relative,
        );
        let (p, q) = (a.scatter_covariance[k][k], b.scatter_covariance[k][k]);
        same(&format!("{what}: variance {k}"), &[p], &[q], relative);
    }
    same(
        &format!("{what}: correlations"),
        &uncertainties(&a.scatter_covariance),
        &uncertainties(&b.scatter_covariance),
        relative,
    );
}

#[test]
fn partials_are_derivatives() {
    for seed in SEEDS {
        let points = series(seed, 7, 2);
        for model in MODELS {
            for method in [Method::Ordinary, Method::Weighted] {
                let fitted = fit(&points, model, method).unwrap();
                for i in 0..points.len() {
                    for on_x in [true, false] {
                        let step = if on_x { 1e-3 } else { 1e-4 };
                        let moved = |by: f64| {
                            let mut points = points.clone();
                            let target = if on_x {
                                &mut points[i].x
                            } else {
                                &mut points[i].y
                            };
                            *target += by;
                            fit(&points, model, method).unwrap().coefficients
                        };
                        let (far, near) = (
                            moved(step)
                                .iter()
                                .zip(moved(-step))
                                .map(|(a, b)| (a - b) / (2.0 * step))
                                .collect::<Vec<_>>(),
                            moved(step / 2.0)
                                .iter()
                                .zip(moved(-step / 2.0))
                                .map(|(a, b)| (a - b) / step)
                                .collect::<Vec<_>>(),
                        );
                        for k in 0..fitted.coefficients.len() {
                            let (by_x, by_y) = fitted.partials[k][i];
                            let exact = if on_x { by_x } else { by_y };
                            // Richardson: the error of the difference is of fourth order.
                            let numeric = (4.0 * near[k] - far[k]) / 3.0;
                            let all = fitted.partials[k].iter();
                            let size = all.fold(0.0_f64, |m, (x, y)| {
                                m.max(if on_x { x.abs() } else { y.abs() })
                            });
                            assert!(
                                (exact - numeric).abs() <= 1e-7 * size,
                                "seed {seed}, {model:?}, {method:?}, point {i}, x {on_x}, coefficient {k}: {exact} against {numeric}"
                            );
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn units_do_not_matter() {
    for seed in SEEDS {
        let points = series(seed, 8, 3);
        let (by_x, by_y) = (
            2.0_f64.powi(seed as i32 - 20),
            10.0_f64.powi(15 - seed as i32),
        );
        let mut scaled = points.clone();
        for point in &mut scaled {
            point.x *= by_x;
            point.y *= by_y;
            point.x_influences.iter_mut().for_each(|(_, u)| *u *= by_x);
            point.y_influences.iter_mut().for_each(|(_, u)| *u *= by_y);
        }
        for model in MODELS {
            for method in METHODS {
                let (a, mut b) = (
                    fit(&points, model, method).unwrap(),
                    fit(&scaled, model, method).unwrap(),
                );
                let unit: Vec<f64> = (0..3).map(|k| by_x.powi(k) / by_y).collect();
                for k in 0..b.coefficients.len() {
                    b.coefficients[k] *= unit[k];
                    for j in 0..b.coefficients.len() {
                        b.scatter_covariance[k][j] *= unit[k] * unit[j];
                    }
                }
                let what = format!("seed {seed}, {model:?}, {method:?}");
                same_fit(&what, &a, &b, 1e-8);
                same(&what, &a.standardised, &b.standardised, 1e-8);
            }
        }
    }
}

#[test]
fn order_does_not_matter() {
    for seed in SEEDS {
        let points = series(seed, 9, 3);
        let order: Vec<usize> = (0..9).map(|i| (i * 4 + seed as usize) % 9).collect();
        let mixed: Vec<Point> = order.iter().map(|&i| points[i].clone()).collect();
        for model in MODELS {
            for method in METHODS {
                let (a, b) = (
                    fit(&points, model, method).unwrap(),
                    fit(&mixed, model, method).unwrap(),
                );
                let what = format!("seed {seed}, {model:?}, {method:?}");
                same_fit(&what, &a, &b, 1e-9);
                let residuals: Vec<f64> = order.iter().map(|&i| a.residuals[i]).collect();
                same(&what, &residuals, &b.residuals, 1e-8);
            }
        }
    }
}

#[test]
fn each_method_reduces_to_the_simpler() {
    for seed in SEEDS {
        let mut points = series(seed, 8, 0);
        for (i, point) in points.iter_mut().enumerate() {
            point.x_influences.clear();
            point.y_influences = vec![(i as u32, 1e-4 * (1.0 + i as f64)), (100 + i as u32, 2e-4)];
        }
        for model in MODELS {
            let what = format!("seed {seed}, {model:?}");
            let (weighted, generalised) = (
                fit(&points, model, Method::Weighted).unwrap(),
                fit(&points, model, Method::Generalised).unwrap(),
            );
            same_fit(&what, &weighted, &generalised, 1e-9);
            same(
                &what,
                &weighted.standardised,
                &generalised.standardised,
                1e-8,
            );

            points
                .iter_mut()
                .enumerate()
                .for_each(|(i, p)| p.y_influences = vec![(i as u32, 3e-4)]);
            let (mut ordinary, weighted) = (
                fit(&points, model, Method::Ordinary).unwrap(),
                fit(&points, model, Method::Weighted).unwrap(),
            );
            let scale = (3e-4 / ordinary.residual_sd).powi(2);
            ordinary
                .scatter_covariance
                .iter_mut()
                .flatten()
                .for_each(|c| *c *= scale);
            same_fit(&what, &ordinary, &weighted, 1e-9);
        }
    }
}

#[test]
fn a_common_offset_moves_the_intercept_alone() {
    for seed in SEEDS {
        let points = series(seed, 8, 0);
        let mut offset = points.clone();
        for point in &mut offset {
            point.y_influences.insert(0, (0, 0.05));
        }
        for model in MODELS {
            for method in [Method::Ordinary, Method::Generalised] {
                let what = format!("seed {seed}, {model:?}, {method:?}");
                let (a, b) = (
                    fit(&points, model, method).unwrap(),
                    fit(&offset, model, method).unwrap(),
                );
                for k in 1..a.coefficients.len() {
                    same(&what, &a.coefficients[k..=k], &b.coefficients[k..=k], 1e-8);
                    same(
                        &what,
                        &[a.scatter_covariance[k][k]],
                        &[b.scatter_covariance[k][k]],
                        1e-8,
                    );
                }
                // The offset's effect, propagated: one on the intercept, none on the others.
                for (k, by_point) in b.partials.iter().enumerate() {
                    let effect: f64 = by_point.iter().map(|(_, by_y)| by_y).sum();
                    let size: f64 = by_point.iter().map(|(_, by_y)| by_y.abs()).sum();
                    let expected = if k == 0 { 1.0 } else { 0.0 };
                    assert!(
                        (effect - expected).abs() <= 1e-9 * size.max(1.0),
                        "{what}, coefficient {k}: {effect}"
                    );
                }
            }
        }
    }
}

/// The general case of ISO/TS 28037:2010 written out: the joint covariance of all coordinates as a dense matrix, all
/// abscissae as unknowns, Gauss–Newton steps. Coefficients, their covariance, χ².
fn plain(points: &[Point], count: usize) -> (DVector<f64>, DMatrix<f64>, f64) {
    let n = points.len();
    let sources = points
        .iter()
        .flat_map(|p| p.x_influences.iter().chain(&p.y_influences));
    let mut factor =
        DMatrix::<f64>::zeros(2 * n, sources.map(|&(s, _)| s as usize + 1).max().unwrap());
    for (i, point) in points.iter().enumerate() {
        point
            .x_influences
            .iter()
            .for_each(|&(s, u)| factor[(i, s as usize)] += u);
        point
            .y_influences
            .iter()
            .for_each(|&(s, u)| factor[(n + i, s as usize)] += u);
    }
    let root = (&factor * factor.transpose()).cholesky().unwrap().l();
    let centre = points.iter().map(|p| p.x).sum::<f64>() / n as f64;
    let mut unknowns = DVector::zeros(count + n);
    unknowns[0] = points.iter().map(|p| p.y).sum::<f64>() / n as f64;
    points
        .iter()
        .enumerate()
        .for_each(|(i, p)| unknowns[count + i] = p.x - centre);
    let mut result = (DMatrix::zeros(0, 0), 0.0);
    for _ in 0..100 {
        let mut residuals = DVector::zeros(2 * n);
        let mut jacobian = DMatrix::zeros(2 * n, count + n);
        for (i, point) in points.iter().enumerate() {
            let t: f64 = unknowns[count + i];
            residuals[i] = point.x - centre - t;
            jacobian[(i, count + i)] = 1.0;
            let (mut value, mut slope) = (0.0, 0.0);
            for k in 0..count {
                value += unknowns[k] * t.powi(k as i32);
                jacobian[(n + i, k)] = t.powi(k as i32);
                if k > 0 {
                    slope += unknowns[k] * k as f64 * t.powi(k as i32 - 1);
                }
            }
            residuals[n + i] = point.y - value;
            jacobian[(n + i, count + i)] = slope;
        }
        let (r, j) = (
            root.solve_lower_triangular(&residuals).unwrap(),
            root.solve_lower_triangular(&jacobian).unwrap(),
        );
        let normal = (j.transpose() * &j).cholesky().unwrap();
        unknowns += normal.solve(&(j.transpose() * &r));
        result = (
            normal.inverse().view((0, 0), (count, count)).into_owned(),
            r.norm_squared(),
        );
    }
    // Back from centred abscissae.
    let back = DMatrix::from_fn(count, count, |k, j| match (k, j) {
        _ if k == j => 1.0,
        (0, 1) => -centre,
        (0, 2) => centre * centre,
        (1, 2) => -2.0 * centre,
        _ => 0.0,
    });
    (
        &back * unknowns.rows(0, count),
        &back * result.0 * back.transpose(),
        result.1,
    )
}

#[test]
fn agrees_with_the_plain_form() {
    for seed in SEEDS {
        // Fewer shared sources than points, as many, and more than coordinates.
        for shared in [0, 1, 5, 9, 40] {
            let points = series(seed, 9, shared);
            for model in MODELS {
                let what = format!("seed {seed}, {shared} shared, {model:?}");
                let fitted = fit(&points, model, Method::Generalised).unwrap();
                let (coefficients, covariance, chi_squared) = plain(&points, model.coefficients());
                for k in 0..coefficients.len() {
                    let sd = covariance[(k, k)].sqrt();
                    let difference = (fitted.coefficients[k] - coefficients[k]) / sd;
                    assert!(
                        difference.abs() < 1e-6,
                        "{what}: coefficient {k} off by {difference:e} of its uncertainty"
                    );
                    for j in 0..coefficients.len() {
                        let scale = sd * covariance[(j, j)].sqrt();
                        let difference =
                            (fitted.scatter_covariance[k][j] - covariance[(k, j)]) / scale;
                        assert!(
                            difference.abs() < 1e-6,
                            "{what}: covariance {k} {j} off by {difference:e}"
                        );
                    }
                }
                same(&what, &[chi_squared], &[fitted.chi_squared.unwrap()], 1e-6);
            }
        }
    }
}

/// Points without private sources, exact points and repeated exact points: the partials, propagated, still give the
/// stated covariance, and what must be met is met.
#[test]
fn singular_covariances_are_met() {
    for seed in SEEDS {
        let mut points = series(seed, 8, 3);
        // Water: exact, and entered twice; then a point whose y has shared sources only.
        points[0] = Point {
            x: 0.0,
            y: 0.9982,
            ..Point::default()
        };
        points[1] = points[0].clone();
        points[3].x_influences.retain(|&(source, _)| source < 100);
        points[3].y_influences.retain(|&(source, _)| source < 100);
        for model in MODELS {
            let what = format!("seed {seed}, {model:?}");
            let fitted = fit(&points, model, Method::Generalised).unwrap();
            assert_eq!(
                fitted.dof,
                points.len() - 1 - model.coefficients(),
                "{what}"
            );
            assert!(
                (fitted.coefficients[0] - 0.9982).abs() < 1e-14,
                "{what}: {}",
                fitted.coefficients[0]
            );
            assert!(
                fitted.residuals[0].abs() < 1e-14 && fitted.standardised[0] == 0.0,
                "{what}: water"
            );
            let mut effects = vec![vec![0.0; 200]; fitted.coefficients.len()];
            for (k, by_point) in fitted.partials.iter().enumerate() {
                for (point, (by_x, by_y)) in points.iter().zip(by_point) {
                    point
                        .x_influences
                        .iter()
                        .for_each(|&(s, u)| effects[k][s as usize] += by_x * u);
                    point
                        .y_influences
                        .iter()
                        .for_each(|&(s, u)| effects[k][s as usize] += by_y * u);
                }
            }
            for k in 1..effects.len() {
                for j in 1..effects.len() {
                    let product: f64 = effects[k].iter().zip(&effects[j]).map(|(a, b)| a * b).sum();
                    let scale =
                        (fitted.scatter_covariance[k][k] * fitted.scatter_covariance[j][j]).sqrt();
                    let difference = (product - fitted.scatter_covariance[k][j]) / scale;
                    assert!(
                        difference.abs() < 1e-8,
                        "{what}: covariance {k} {j} off by {difference:e}"
                    );
                }
            }
            // An exact point is the limit of one that is nearly so.
            for point in &mut points[..2] {
                point.y_influences = vec![];
            }
            let mut nearly = points.clone();
            nearly[0].y_influences = vec![(1000, 1e-9)];
            nearly[1].y_influences = vec![(1001, 1e-9)];
            let limit = fit(&nearly, model, Method::Generalised).unwrap();
            same(&what, &fitted.coefficients, &limit.coefficients, 1e-7);
        }
    }
}

#[test]
fn exact_points_that_disagree_are_a_contradiction() {
    let mut points = series(1, 6, 0);
    for (i, y) in [(0, 0.998), (2, 0.999)] {
        points[i] = Point {
            x: 0.0,
            y,
            ..Point::default()
        };
    }
    let found = fit(&points, Model::Straight, Method::Generalised);
    assert!(
        matches!(found, Err(FitError::Contradiction(0 | 2))),
        "{found:?}"
    );
}

#[test]
fn bad_points_fail_cleanly() {
    let good = series(1, 6, 2);
    let with = |change: &dyn Fn(&mut Vec<Point>)| {
        let mut points = good.clone();
        change(&mut points);
        points
    };
    for method in METHODS {
        for model in MODELS {
            let failure = |points: &[Point]| fit(points, model, method).err();
            let need = model.coefficients();
            assert_eq!(failure(&[]), Some(FitError::TooFewPoints(0, need)));
            assert_eq!(
                failure(&good[..need - 1]),
                Some(FitError::TooFewPoints(need - 1, need))
            );
            assert_eq!(
                failure(&with(&|p| p.iter_mut().for_each(|p| p.x = 3.3))),
                Some(FitError::NoSpread)
            );
            for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                assert_eq!(failure(&with(&|p| p[2].x = bad)), Some(FitError::NotFinite));
                assert_eq!(failure(&with(&|p| p[2].y = bad)), Some(FitError::NotFinite));
                assert_eq!(
                    failure(&with(&|p| p[2].y_influences[0].1 = bad)),
                    Some(FitError::NotFinite)
                );
                assert_eq!(
                    failure(&with(&|p| p[2].x_influences[0].1 = bad)),
                    Some(FitError::NotFinite)
                );
            }
        }
        let two_abscissae = with(&|p| {
            p.iter_mut()
                .enumerate()
                .for_each(|(i, p)| p.x = (i % 2) as f64);
        });
        assert_eq!(
            fit(&two_abscissae, Model::Quadratic, method).err(),
            Some(FitError::NoSpread)
        );
        assert!(
            fit(&two_abscissae, Model::Straight, method).is_ok(),
            "{method:?}"
        );
    }
    let certain = with(&|p| p[4].y_influences.clear());
    assert_eq!(
        fit(&certain, Model::Straight, Method::Weighted).err(),
        Some(FitError::NoUncertainty(4))
    );
}

/// As many points as coefficients, flat points, huge and tiny scales: an answer or a failure, never a panic or a NaN.
#[test]
fn odd_points_never_panic() {
    let good = series(2, 6, 2);
    for model in MODELS {
        for method in METHODS {
            let few = fit(&good[..model.coefficients()], model, method).unwrap();
            assert!(few.dof == 0 && few.residual_sd.is_nan(), "{few:?}");
            assert!(few.standardised.iter().all(|&r| r == 0.0), "{few:?}");
            for (by_x, by_y, by_u) in [
                (1e150, 1e150, 1.0),
                (1e300, 1e-300, 1.0),
                (1e-300, 1e300, 1e200),
                (1e-310, 1.0, 1.0),
                (1.0, 0.0, 1.0),
                (0.0, 1.0, 1.0),
                (1.0, 0.0, 0.0),
                (1.0, 1.0, 0.0),
                (1.0, 1.0, 1e-200),
                (1.0, 1.0, 1e12),
                (1.0, 1.0, 1e200),
                (1e307, 1e307, 1e307),
            ] {
                let mut points = good.clone();
                for point in &mut points {
                    point.x *= by_x;
                    point.y *= by_y;
                    point.x_influences.iter_mut().for_each(|(_, u)| *u *= by_u);
                    point.y_influences.iter_mut().for_each(|(_, u)| *u *= by_u);
                }
                if let Ok(fitted) = fit(&points, model, method) {
                    assert!(
                        fitted.coefficients.iter().all(|v| v.is_finite()),
                        "{fitted:?}"
                    );
                }
            }
        }
    }
}

/// Many points that leave no room for error, more than there are unknowns.
#[test]
fn many_exact_points() {
    let line: Vec<Point> = (0..50)
        .map(|i| Point {
            x: 0.2 * f64::from(i),
            y: 1.0 + 0.014 * f64::from(i),
            ..Point::default()
        })
        .collect();
    let fitted = fit(&line, Model::Straight, Method::Generalised).unwrap();
    assert!(
        (fitted.coefficients[1] - 0.07).abs() < 1e-13 && fitted.dof == 0,
        "{fitted:?}"
    );
    let mut off = line.clone();
    off[17].y += 0.001;
    let found = fit(&off, Model::Straight, Method::Generalised);
    assert!(
        matches!(found, Err(FitError::Contradiction(_))),
        "{found:?}"
    );
    // One shared source cannot account for it either, unless it is that point's own.
    for point in &mut off {
        point.y_influences = vec![(1, 0.002)];
    }
    let found = fit(&off, Model::Straight, Method::Generalised);
    assert!(
        matches!(found, Err(FitError::Contradiction(_))),
        "{found:?}"
    );
    off[17].y_influences.push((2, 0.002));
    assert!(
        fit(&off, Model::Straight, Method::Generalised).is_ok(),
        "one point with room"
    );
}

/// The time of a fit with all covariances goes by the points times the square of the sources shared: too many are refused
/// before they are looked at, and other methods do without them.
#[test]
fn too_many_shared_sources_are_refused() {
    let points: Vec<Point> = (0..1_000_u32)
        .map(|i| Point {
            x: f64::from(i),
            y: 1.0 + 0.001 * f64::from(i),
            x_influences: Vec::new(),
            y_influences: vec![(i / 2, 0.001), (1_000 + i, 0.001)],
        })
        .collect();
    let found = fit(&points, Model::Straight, Method::Generalised);
    let Err(FitError::TooManyShared(500, most)) = found else {
        panic!("{found:?}")
    };
    assert!(most < 500, "{most}");
    assert!(fit(&points, Model::Straight, Method::Weighted).is_ok());
    let fewer = &points[..2 * most.min(100)];
    assert!(fit(fewer, Model::Straight, Method::Generalised).is_ok());
}
