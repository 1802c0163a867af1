//! Laws that the statistics of several benches obey, on generated values; and what they say of values that leave nothing to
//! say.
#![allow(
    clippy::float_cmp,
    reason = "where floats are compared at all, equality is what is claimed"
)]

use crate::common::Generator;
use fillmark::bench::interlaboratory::{
    Basis, Critical, Performance, Rule, Signal, Standing, Unusable, algorithm_a, cochran_critical,
    cochran_test, consistency, e_n, e_n_acceptable, grubbs_pair_critical, grubbs_pair_test,
    grubbs_test, individuals, is_negligible, mandel_h_critical, mandel_k_critical, median,
    precision, scaled_mad, signals, youden, z, z_prime, zeta,
};

const SEEDS: std::ops::Range<u64> = 1..41;

/// Values about 10 with a standard deviation of about 1.
fn values(seed: u64, count: usize) -> Vec<f64> {
    let mut random = Generator(seed);
    (0..count).map(|_| 10.0 + random.normal()).collect()
}

/// Cells of one value to five, of which some have several.
fn cells(seed: u64, count: usize) -> Vec<Vec<f64>> {
    let mut random = Generator(seed);
    (0..count)
        .map(|i| {
            let size = if i < 3 { 3 } else { 1 + random.below(5) };
            let bench = 10.0 + random.normal();
            (0..size).map(|_| bench + 0.5 * random.normal()).collect()
        })
        .collect()
}

fn shuffled<T>(mut all: Vec<T>, seed: u64) -> Vec<T> {
    let mut random = Generator(seed);
    for i in (1..all.len()).rev() {
        all.swap(i, random.below(i + 1));
    }
    all
}

#[track_caller]
fn close(what: &str, found: f64, expected: f64) {
    assert!(
        (found - expected).abs() <= 1e-9 * (1.0 + expected.abs()),
        "{what}: {found}, expected {expected}"
    );
}

/// What a function finds, apart into what goes with the values, what goes with their unit alone, and pure numbers.
struct Parts {
    places: Vec<f64>,
    sizes: Vec<f64>,
    pure: Vec<f64>,
}

/// A constant added moves places alone; a factor scales places and sizes, and turns no pure number.
#[track_caller]
fn shifts_and_scales(what: &str, find: impl Fn(&dyn Fn(f64) -> f64) -> Parts) {
    let as_is = find(&|v| v);
    for (factor, added) in [(1.0, 1000.0), (1.0, -7.5), (250.0, 0.0), (0.001, 3.0)] {
        let moved = find(&|v| factor * v + added);
        let same = |part: &str, found: &[f64], expected: &[f64], factor: f64, added: f64| {
            assert_eq!(found.len(), expected.len(), "{what}");
            for (found, expected) in found.iter().zip(expected) {
                let what = format!("{what}: {part} after × {factor} + {added}");
                // Digits are lost to what was added.
                let room = 1e-8 * factor.abs() * (1.0 + expected.abs()) + 1e-12 * added.abs();
                let off = (found - (factor * expected + added)).abs();
                assert!(off <= room, "{what}: {found}, was {expected}");
            }
        };
        same("place", &moved.places, &as_is.places, factor, added);
        same("size", &moved.sizes, &as_is.sizes, factor, 0.0);
        same("number", &moved.pure, &as_is.pure, 1.0, 0.0);
    }
}

#[test]
fn robust_means_go_with_the_values() {
    for seed in SEEDS {
        let mut data = values(seed, 3 + seed as usize);
        data[0] = 40.0;
        shifts_and_scales("Algorithm A", |of| {
            let moved: Vec<f64> = data.iter().map(|v| of(*v)).collect();
            let found = algorithm_a(&moved).unwrap();
            Parts {
                places: vec![found.mean, median(&moved)],
                sizes: vec![
                    found.standard_deviation,
                    found.uncertainty(),
                    scaled_mad(&moved),
                ],
                pure: vec![found.below as f64, found.above as f64],
            }
        });
        let mirrored: Vec<f64> = data.iter().map(|v| -v).collect();
        let (found, turned) = (algorithm_a(&data).unwrap(), algorithm_a(&mirrored).unwrap());
        close("mirrored", turned.mean, -found.mean);
        assert_eq!((found.below, found.above), (turned.above, turned.below));
        let mixed = algorithm_a(&shuffled(data, seed)).unwrap();
        close("in another order", mixed.mean, found.mean);
        close(
            "in another order",
            mixed.standard_deviation,
            found.standard_deviation,
        );
    }
}

/// What is found is what the definition asks for: moving the values to x* ± 1.5 s* gives x* and s* again.
#[test]
fn robust_means_stay_where_they_are() {
    for seed in SEEDS {
        let mut data = values(seed, 20);
        data[3] = 100.0;
        data[4] = -5.0;
        let found = algorithm_a(&data).unwrap();
        assert!(found.converged, "{found:?}");
        let reach = 1.5 * found.standard_deviation;
        let moved: Vec<f64> = data
            .iter()
            .map(|v| v.clamp(found.mean - reach, found.mean + reach))
            .collect();
        let mean = moved.iter().sum::<f64>() / 20.0;
        let squares: f64 = moved.iter().map(|v| (v - mean).powi(2)).sum();
        close("x*", found.mean, mean);
        close(
            "s*",
            found.standard_deviation,
            1.134 * (squares / 19.0).sqrt(),
        );
        assert!(found.below >= 1 && found.above >= 1, "{found:?}");
    }
}

#[test]
fn one_wild_value_moves_a_robust_mean_by_little() {
    for seed in SEEDS {
        let data = values(seed, 20);
        let before = algorithm_a(&data).unwrap();
        let with = |wild: f64| {
            let mut data = data.clone();
            data[7] = wild;
            algorithm_a(&data).unwrap()
        };
        for side in [-1.0, 1.0] {
            let (wild, wilder) = (with(side * 1e3), with(side * 1e9));
            let moved = (wild.mean - before.mean).abs() / before.standard_deviation;
            assert!(moved < 0.25, "seed {seed}: by {moved} s*");
            let grown = wild.standard_deviation / before.standard_deviation;
            assert!((0.7..1.4).contains(&grown), "seed {seed}: s* × {grown}");
            // However wild.
            close("mean", wilder.mean, wild.mean);
            close("s*", wilder.standard_deviation, wild.standard_deviation);
        }
    }
}

#[test]
fn many_equal_values_leave_a_robust_standard_deviation() {
    let found = algorithm_a(&[0.1; 7]).unwrap();
    assert_eq!((found.mean, found.standard_deviation), (0.1, 0.0));
    assert!(found.converged && found.below + found.above == 0);
    // More than half are equal, and the scaled median absolute deviation is 0.
    let data = [10.0, 10.0, 10.0, 10.0, 9.0, 11.0, 12.0];
    assert_eq!(scaled_mad(&data), 0.0);
    let found = algorithm_a(&data).unwrap();
    assert!(found.converged, "{found:?}");
    assert!(found.standard_deviation > 0.5, "{found:?}");
    assert!((found.mean - 10.2).abs() < 0.2, "{found:?}");
    // All but one are equal: it counts for nothing in the end.
    let found = algorithm_a(&[5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 9.0]).unwrap();
    assert!(found.converged, "{found:?}");
    assert_eq!((found.mean, found.standard_deviation), (5.0, 0.0));
    assert_eq!((found.below, found.above), (0, 1));
    // A quarter of the values stand apart from others that are equal: each step takes a five-hundredth off, and that the
    // steps did not suffice is told.
    let data = [vec![5.0; 149], vec![6.0; 51]].concat();
    let found = algorithm_a(&data).unwrap();
    assert!(!found.converged && found.above == 51, "{found:?}");
}

#[test]
fn medians() {
    assert_eq!(median(&[3.0, 1.0, 2.0]), 2.0);
    assert_eq!(median(&[4.0, 1.0, 3.0, 2.0]), 2.5);
    assert_eq!(median(&[7.0]), 7.0);
    assert_eq!(scaled_mad(&[1.0, 2.0, 4.0]), 1.483);
    assert!(median(&[]).is_nan() && scaled_mad(&[]).is_nan(), "none");
    assert!(median(&[1.0, f64::NAN, 2.0]).is_nan(), "not a number");
}

#[test]
fn scores_are_pure_numbers() {
    let of = |unit: f64, zero: f64| {
        let (value, assigned) = (1.7 * unit + zero, 1.2 * unit + zero);
        let (a, b) = (0.2 * unit, 0.1 * unit);
        [
            z(value, assigned, a),
            z_prime(value, assigned, a, b),
            zeta(value, a, assigned, b),
            e_n(value, a, assigned, b),
        ]
    };
    for (found, expected) in of(1000.0, 50.0).iter().zip(of(1.0, 0.0)) {
        close("in another unit", *found, expected);
    }
    close("z", of(1.0, 0.0)[0], 2.5);
    assert_eq!(z(1.0, 1.0, 0.5), 0.0);
    for nothing in [
        z(1.0, 2.0, 0.0),
        z(1.0, 2.0, -1.0),
        z_prime(1.0, 2.0, 0.0, 1.0),
        zeta(1.0, 0.0, 2.0, 0.0),
        e_n(1.0, 0.0, 1.0, 0.0),
    ] {
        assert!(nothing.is_nan(), "{nothing}");
        assert_eq!(Performance::from_score(nothing), None);
        assert!(!e_n_acceptable(nothing));
    }
}

/// 1.02 − 1 is a little more than 0.02 in binary.
#[test]
fn limits_of_scores_hold_for_decimal_readings() {
    assert!(z(1.02, 1.0, 0.01) > 2.0, "the case is of use");
    let class = |value| Performance::from_score(z(value, 1.0, 0.01));
    assert_eq!(class(1.02), Some(Performance::Acceptable));
    assert!(z(1.18, 1.15, 0.01) > 3.0 || z(0.97, 1.0, 0.01).abs() >= 3.0);
    assert_eq!(class(0.97), Some(Performance::Action));
    assert_eq!(
        Performance::from_score(3.0 - 1e-15),
        Some(Performance::Action),
        "by rounding"
    );
    assert_eq!(
        Performance::from_score(f64::INFINITY),
        Some(Performance::Action),
        "far"
    );
    assert!(!e_n_acceptable(-1.0 + 1e-15), "by rounding");
    assert!(is_negligible(0.3 * 0.1 + 1e-17, 0.1) && !is_negligible(0.0301, 0.1));
}

#[test]
fn precision_goes_with_the_values() {
    for seed in SEEDS {
        let all = cells(seed, 6);
        shifts_and_scales("precision", |of| {
            let moved: Vec<Vec<f64>> = all
                .iter()
                .map(|cell| cell.iter().map(|v| of(*v)).collect())
                .collect();
            let found = precision(&moved).unwrap();
            let each = consistency(&moved).unwrap();
            let means: Vec<f64> = each.iter().map(|cell| cell.mean).collect();
            let cochran = cochran_test(&moved).unwrap();
            let single = grubbs_test(&means).unwrap();
            let pairs = grubbs_pair_test(&means).unwrap();
            let tests = single.iter().chain(&pairs).map(|test| test.statistic);
            let mandel = each
                .iter()
                .flat_map(|cell| [cell.h, cell.k.unwrap_or_default()]);
            let numbers = [
                cochran.statistic,
                found.f,
                found.p_value,
                found.reproducibility_dof,
            ];
            Parts {
                places: vec![found.mean],
                sizes: vec![found.repeatability, found.between, found.reproducibility],
                pure: numbers.into_iter().chain(tests).chain(mandel).collect(),
            }
        });
        let found = precision(&all).unwrap();
        let mixed: Vec<Vec<f64>> = shuffled(all, seed)
            .into_iter()
            .map(|cell| shuffled(cell, seed))
            .collect();
        let mixed = precision(&mixed).unwrap();
        close("mean", mixed.mean, found.mean);
        close("s_r", mixed.repeatability, found.repeatability);
        close("s_R", mixed.reproducibility, found.reproducibility);
        close(
            "s_R²",
            found.reproducibility.powi(2),
            found.repeatability.powi(2) + found.between.powi(2),
        );
    }
}

/// On the average, the estimates are what the cells were made with, whatever their sizes.
#[test]
fn precision_finds_what_is_there() {
    let rounds = 400;
    let (mut within, mut between) = (0.0, 0.0);
    for seed in 0..rounds {
        let found = precision(&cells(1000 + seed, 9)).unwrap();
        within += found.repeatability.powi(2);
        between += found.between_variance;
    }
    let mean = |sum: f64| sum / rounds as f64;
    assert!((mean(within) - 0.25).abs() < 0.02, "{}", mean(within));
    assert!((mean(between) - 1.0).abs() < 0.1, "{}", mean(between));
}

/// The reproducibility rests on the means alone where repeats do not scatter, and on repeats alone where means agree better
/// than they.
#[test]
fn degrees_of_freedom_of_a_reproducibility() {
    let found = precision(&[vec![1.0, 1.0], vec![2.0, 2.0], vec![4.0, 4.0]]).unwrap();
    close("means alone", found.reproducibility_dof, 2.0);
    assert!(
        found.f.is_infinite() && found.p_value == 0.0,
        "nothing but benches"
    );
    // s_r² = 0.02; squares of means 2 · 0.08/1 = 0.16, so s_L² = 0.07 and s_R² = 0.09 = 0.16/2 + 0.02/2.
    let found = precision(&[vec![1.0, 1.2], vec![1.4, 1.6]]).unwrap();
    close("s_R", found.reproducibility, 0.3);
    close(
        "Welch and Satterthwaite",
        found.reproducibility_dof,
        0.09_f64.powi(2) / (0.08_f64.powi(2) + 0.01_f64.powi(2) / 2.0),
    );
    // Means that agree better than repeats.
    let found = precision(&[vec![1.0, 2.0], vec![1.1, 2.0]]).unwrap();
    assert!(
        found.between == 0.0 && found.between_variance < 0.0,
        "{found:?}"
    );
    assert_eq!(found.reproducibility, found.repeatability);
    assert_eq!(found.reproducibility_dof, 2.0);
}

/// A cell of one value counts in the mean and between benches; it has no k, and Cochran's test passes it over.
#[test]
fn a_cell_of_one_value() {
    let all = [vec![5.0], vec![1.0, 1.2], vec![1.4, 2.0], vec![1.1, 1.3]];
    let found = precision(&all).unwrap();
    assert_eq!((found.values, found.repeatability_dof), (7, 3));
    close("mean", found.mean, 13.0 / 7.0);
    close("s_r", found.repeatability, (0.22_f64 / 3.0).sqrt());
    let each = consistency(&all).unwrap();
    let alone = each[0];
    assert_eq!(
        (alone.k, alone.k_standing, alone.standard_deviation),
        (None, None, None)
    );
    let critical = each[1].k_critical.unwrap();
    assert_eq!(critical.at_5, mandel_k_critical(3, 2, 0.05), "of three");
    let tested = cochran_test(&all).unwrap();
    assert_eq!(tested.which, [2]);
    close("C", tested.statistic, 0.18 / 0.22);
    assert_eq!(tested.critical.at_5, cochran_critical(3, 2, 0.05));
}

/// A larger cell may scatter more by its sum of squares without standing out.
#[test]
fn cells_of_different_sizes_are_tested_by_their_degrees_of_freedom() {
    let all = [
        vec![0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0],
        vec![0.0, 2.0],
        vec![0.0, 0.5],
    ];
    // Sums of squares 2, 2 and 0.125; variances 2/7, 2 and 0.125.
    let found = cochran_test(&all).unwrap();
    assert_eq!(found.which, [1]);
    close("share", found.statistic, 2.0 / 4.125);
    let limit = fillmark::bench::fit::f_quantile(1.0 - 0.05 / 3.0, 1.0, 8.0);
    close("limit", found.critical.at_5, limit / (limit + 8.0));
}

#[test]
fn benches_that_agree_perfectly() {
    let all = vec![vec![0.1, 0.1, 0.1]; 3];
    let found = precision(&all).unwrap();
    assert_eq!(
        (found.mean, found.repeatability, found.reproducibility),
        (0.1, 0.0, 0.0)
    );
    assert!(found.f.is_nan() && found.p_value.is_nan(), "{found:?}");
    let each = consistency(&all).unwrap();
    assert!(each.iter().all(|cell| cell.h.is_nan() && cell.k.is_none()));
    assert!(each.iter().all(|cell| cell.h_standing == Standing::Correct));
    assert_eq!(cochran_test(&all), Err(Unusable::NoScatter));
    assert_eq!(grubbs_test(&[0.1; 5]), Err(Unusable::NoScatter));
    assert_eq!(grubbs_pair_test(&[0.1; 5]), Err(Unusable::NoScatter));
    let equal = individuals(&[0.1; 5], Basis::First(5));
    assert_eq!(equal, Err(Unusable::NoScatter));
    for k in 1..20 {
        let pair = (0.1 * f64::from(k), 0.7 * f64::from(k));
        let pairs = youden(&[pair; 10]).unwrap();
        assert_eq!(
            (pairs.repeatability, pairs.between, pairs.radius),
            (0.0, 0.0, 0.0)
        );
        assert!(pairs.f.is_nan() && pairs.pairs.iter().all(|pair| !pair.outside));
    }
}

/// The more values, the larger the share of the rest; and the table has no slips: it bends evenly.
#[test]
fn the_table_of_pairs_is_smooth() {
    let all: Vec<Critical> = (4..=40).map(|n| grubbs_pair_critical(n).unwrap()).collect();
    for of in [|c: &Critical| c.at_5, |c: &Critical| c.at_1] {
        let column: Vec<f64> = all.iter().map(of).collect();
        assert!(column.is_sorted(), "{column:?}");
        // From nine values on, steps shrink by less than 0.004 each, evenly to the rounding of the table.
        for w in column[5..].windows(4) {
            let bend = |i: usize| w[i + 2] - 2.0 * w[i + 1] + w[i];
            assert!((bend(0) - bend(1)).abs() < 0.0011, "{w:?}");
        }
    }
    assert!(all.iter().all(|c| c.at_1 < c.at_5));
    assert_eq!(grubbs_pair_critical(3), None);
    assert_eq!(grubbs_pair_critical(41), None);
    let many = values(5, 41);
    assert_eq!(grubbs_pair_test(&many), Err(Unusable::TooMany(41, 40)));
}

/// Where the table is too coarse to be smooth, normal values fall below it as often as they should: 2.5 % and 0.5 % on each
/// side.
#[test]
fn the_table_of_pairs_is_right_for_few_values() {
    let mut random = Generator(1972);
    let samples = 20_000;
    for count in 4..10 {
        let (mut stragglers, mut outliers) = (0, 0);
        for _ in 0..samples {
            let sample: Vec<f64> = (0..count)
                .map(|_| {
                    let size = (-2.0 * (1.0 - random.uniform()).ln()).sqrt();
                    size * (std::f64::consts::TAU * random.uniform()).cos()
                })
                .collect();
            for side in grubbs_pair_test(&sample).unwrap() {
                stragglers += usize::from(side.standing >= Standing::Straggler);
                outliers += usize::from(side.standing == Standing::Outlier);
            }
        }
        let share = |found: usize| found as f64 / f64::from(2 * samples);
        let (at_5, at_1) = (share(stragglers), share(outliers));
        assert!((0.0215..0.0285).contains(&at_5), "{count}: {at_5}");
        // The first value of the table is rounded to nothing.
        let right = if count == 4 {
            0.0..1e-9
        } else {
            0.0035..0.0065
        };
        assert!(right.contains(&at_1), "{count}: {at_1}");
    }
}

#[test]
fn charts_go_with_the_values() {
    for seed in SEEDS {
        let data = values(seed, 25);
        shifts_and_scales("chart", |of| {
            let moved: Vec<f64> = data.iter().map(|v| of(*v)).collect();
            let chart = individuals(&moved, Basis::First(20)).unwrap();
            let signals = chart.signals(&moved, &Rule::ALL);
            Parts {
                places: vec![chart.centre, chart.lower, chart.upper],
                sizes: vec![
                    chart.standard_deviation,
                    chart.mean_moving_range,
                    chart.moving_range_upper,
                ],
                pure: chart
                    .outside
                    .iter()
                    .chain(&chart.jumps)
                    .copied()
                    .chain(signals.iter().flat_map(|s| [s.first, s.last]))
                    .map(|i| i as f64)
                    .collect(),
            }
        });
    }
}

#[test]
fn a_chart_rests_on_its_basis_alone() {
    let mut data = values(3, 12);
    let chart = |data: &[f64]| individuals(data, Basis::First(10)).unwrap();
    let before = chart(&data);
    data[11] = 99.0;
    let after = chart(&data);
    assert_eq!(
        (before.centre, before.lower, before.upper),
        (after.centre, after.lower, after.upper)
    );
    assert_eq!((after.outside, after.jumps), (vec![11], vec![11]));
    assert!(before.outside.is_empty() && before.jumps.is_empty());
    // The basis stated instead: the same chart.
    let stated = Basis::Stated {
        centre: before.centre,
        standard_deviation: before.standard_deviation,
    };
    let stated = individuals(&data, stated).unwrap();
    assert_eq!(
        (stated.lower, stated.upper, stated.moving_range_upper),
        (before.lower, before.upper, before.moving_range_upper)
    );
    let signals = stated.signals(&data, &[Rule::Beyond]);
    assert_eq!(
        signals,
        [Signal {
            rule: Rule::Beyond,
            first: 11,
            last: 11
        }]
    );
}

#[test]
fn run_rules_do_not_know_up_from_down() {
    let mut met = std::collections::BTreeSet::new();
    for seed in 0..300 {
        let mut random = Generator(seed);
        let scale = random.between(0.2, 2.0);
        let points: Vec<f64> = (0..60).map(|_| scale * random.normal()).collect();
        let turned: Vec<f64> = points.iter().map(|z| -z).collect();
        let found = signals(&points, &Rule::ALL);
        assert_eq!(found, signals(&turned, &Rule::ALL), "seed {seed}");
        assert!(found.is_sorted_by_key(|signal| (signal.first, signal.rule)));
        // Each rule by itself finds the same.
        for rule in Rule::ALL {
            let own: Vec<Signal> = found.iter().copied().filter(|s| s.rule == rule).collect();
            assert_eq!(own, signals(&points, &[rule, rule]), "{rule:?}");
        }
        met.extend(found.iter().map(|signal| signal.rule));
    }
    assert_eq!(met.len(), Rule::ALL.len(), "each is met somewhere: {met:?}");
}

#[test]
fn a_run_that_goes_on_is_one_signal() {
    let on_one_side = [[0.3, 0.8].repeat(6), vec![-0.5], [0.4, 0.6].repeat(5)].concat();
    let found = signals(&on_one_side, &[Rule::OneSide]);
    let places: Vec<_> = found.iter().map(|s| (s.first, s.last)).collect();
    assert_eq!(places, [(8, 11), (21, 22)]);
    // On the centre line is on neither side, and equal neighbours neither rise nor fall.
    let broken = [vec![0.3; 8], vec![0.0], vec![0.3; 8]].concat();
    assert_eq!(signals(&broken, &[Rule::OneSide, Rule::Steadily]), []);
    // Two of three where there are only two yet, and one that lies beyond on the other side.
    assert_eq!(signals(&[2.1, 2.2], &[Rule::TwoOfThree])[0].first, 1);
    assert_eq!(signals(&[2.1, -2.2, 0.1], &[Rule::TwoOfThree]), []);
    assert_eq!(signals(&[2.1, 0.0, 0.1, 2.2], &[Rule::TwoOfThree]), []);
    let apart = [1.1, 1.2, 0.0, 0.1, 1.3, 1.4];
    assert_eq!(signals(&apart, &[Rule::FourOfFive]), []);
    // A point that is not beyond does not complete what was complete.
    let found = signals(&[2.1, 2.2, 0.1], &[Rule::TwoOfThree]);
    assert_eq!((found.len(), found[0].last), (1, 1));
    for (points, length) in [
        ([0.1, 0.2, 0.3, 0.4, 0.5, 0.6], 1),
        ([0.6, 0.5, 0.4, 0.3, 0.2, 0.1], 1),
        ([0.1, 0.2, 0.3, 0.3, 0.4, 0.5], 0),
    ] {
        assert_eq!(signals(&points, &[Rule::Steadily]).len(), length);
    }
    let turns = [0.5, -0.5].repeat(7);
    assert_eq!(signals(&turns, &[Rule::Alternating])[0].first, 13);
    assert_eq!(signals(&turns[1..], &[Rule::Alternating]), []);
    let far = [1.5, -1.5].repeat(4);
    assert_eq!(signals(&far, &[Rule::Far])[0].first, 7);
    let words: std::collections::BTreeSet<_> = Rule::ALL.iter().map(|rule| rule.words()).collect();
    assert_eq!(words.len(), 8, "each in words of its own");
}

#[test]
fn pairs_go_with_the_values() {
    for seed in SEEDS {
        let mut random = Generator(seed);
        let pairs: Vec<(f64, f64)> = (0..9)
            .map(|_| {
                let bench = random.normal();
                (
                    10.0 + bench + random.normal(),
                    12.0 + bench + random.normal(),
                )
            })
            .collect();
        shifts_and_scales("pairs", |of| {
            let moved: Vec<(f64, f64)> = pairs.iter().map(|(a, b)| (of(*a), of(*b))).collect();
            let found = youden(&moved).unwrap();
            let places = found
                .pairs
                .iter()
                .flat_map(|pair| [pair.along, pair.across]);
            Parts {
                places: found.mean.into_iter().chain(found.median).collect(),
                sizes: places
                    .chain([
                        found.repeatability,
                        found.between,
                        found.total,
                        found.radius,
                    ])
                    .collect(),
                pure: vec![found.f, found.p_value],
            }
        });
        let found = youden(&pairs).unwrap();
        // What all of one material have in common is not seen.
        let higher: Vec<(f64, f64)> = pairs.iter().map(|(a, b)| (*a, b + 5.0)).collect();
        let other = youden(&higher).unwrap();
        close("s_r", other.repeatability, found.repeatability);
        close("s_L", other.between, found.between);
        // The materials exchanged.
        let exchanged: Vec<(f64, f64)> = pairs.iter().map(|(a, b)| (*b, *a)).collect();
        let other = youden(&shuffled(exchanged, seed)).unwrap();
        close("s_r", other.repeatability, found.repeatability);
        close("total", other.total, found.total);
        // Pairs are cells of two, once the materials are brought to one mean.
        let level = found.mean[1] - found.mean[0];
        let cells: Vec<Vec<f64>> = pairs.iter().map(|(a, b)| vec![*a, b - level]).collect();
        let by_cells = precision(&cells).unwrap();
        let dof = 9.0 / 8.0;
        close(
            "s_r by cells",
            by_cells.repeatability.powi(2) * dof,
            found.repeatability.powi(2),
        );
    }
}

#[test]
fn a_pair_far_off_is_outside_the_circle() {
    let mut pairs: Vec<(f64, f64)> = [0.1, -0.1, 0.2, -0.2, 0.0, 0.15, -0.15, 0.05]
        .iter()
        .map(|d| (1.0 + d, 2.0 - d))
        .collect();
    let found = youden(&pairs).unwrap();
    assert!(found.pairs.iter().all(|pair| !pair.outside), "{found:?}");
    // Benches that are high on the one are low on the other: less than chance lets them differ.
    assert!(
        found.between_variance < 0.0 && found.between == 0.0,
        "{found:?}"
    );
    pairs.push((2.0, 3.0));
    let found = youden(&pairs).unwrap();
    let last = found.pairs[8];
    assert!(last.outside && last.along > 1.0, "{last:?}");
    assert!(last.across.abs() < 0.1, "{last:?}");
}

#[test]
fn what_cannot_be_judged_is_told() {
    use Unusable::{Empty, NoRepeats, NotFinite, TooFew};
    let nan = f64::NAN;
    assert_eq!(algorithm_a(&[1.0, 2.0]), Err(TooFew(2, 3)));
    assert_eq!(algorithm_a(&[1.0, nan, 2.0]), Err(NotFinite));
    assert_eq!(algorithm_a(&[1.0, 2.0, 1e200]), Err(NotFinite), "squared");
    assert_eq!(precision(&[vec![1.0, 2.0]]), Err(TooFew(1, 2)));
    assert_eq!(precision(&[vec![1.0], vec![2.0]]), Err(NoRepeats));
    assert_eq!(precision(&[vec![1.0, 2.0], vec![]]), Err(Empty(1)));
    assert_eq!(precision(&[vec![1.0, nan], vec![1.0]]), Err(NotFinite));
    let two = [vec![1.0, 2.0], vec![3.0]];
    assert_eq!(consistency(&two), Err(TooFew(2, 3)));
    assert_eq!(cochran_test(&two), Err(TooFew(1, 2)));
    assert_eq!(cochran_test(&[vec![1.0], vec![2.0]]), Err(NoRepeats));
    assert_eq!(grubbs_test(&[1.0, 2.0]), Err(TooFew(2, 3)));
    assert_eq!(grubbs_pair_test(&[1.0, 2.0, 3.0]), Err(TooFew(3, 4)));
    assert_eq!(individuals(&[1.0], Basis::First(1)), Err(TooFew(1, 2)));
    let values = [1.0, 2.0, 3.0];
    assert_eq!(individuals(&values, Basis::First(1)), Err(TooFew(1, 2)));
    assert_eq!(individuals(&values, Basis::First(4)), Err(TooFew(3, 4)));
    for (centre, standard_deviation, why) in [
        (nan, 1.0, NotFinite),
        (1.0, nan, NotFinite),
        (1.0, 0.0, Unusable::NoScatter),
        (1.0, -1.0, Unusable::NoScatter),
    ] {
        let stated = Basis::Stated {
            centre,
            standard_deviation,
        };
        assert_eq!(individuals(&values, stated), Err(why));
    }
    assert_eq!(youden(&[(1.0, 2.0), (1.1, 2.1)]), Err(TooFew(2, 3)));
    let infinite = [(1.0, 2.0), (1.1, f64::INFINITY), (1.0, 2.0)];
    assert_eq!(youden(&infinite), Err(NotFinite));
    for critical in [
        mandel_h_critical(2, 0.05),
        mandel_h_critical(5, 0.0),
        mandel_k_critical(1, 3, 0.05),
        mandel_k_critical(5, 1, 0.05),
        cochran_critical(1, 3, 0.05),
        cochran_critical(5, 1, 0.05),
        cochran_critical(5, 3, 1.5),
    ] {
        assert!(critical.is_nan(), "{critical}");
    }
    assert_eq!(Empty(1).to_string(), "cell 2 has no values");
    assert_eq!(TooFew(2, 3).to_string(), "2, but 3 are needed");
}
