//! Every published example in `published/comparison.json`: robust means, scores, precision, outliers, control charts, run
//! rules and pairs. Each value that an example gives is compared with one found here.

use fillmark::bench::fit::{f_quantile, grubbs_critical, student_t_below};
use fillmark::bench::interlaboratory::{
    Basis, Performance, Robust, Rule, Standing, Tested, algorithm_a, cochran_critical,
    cochran_test, consistency, e_n, e_n_acceptable, grubbs_pair_critical, grubbs_pair_test,
    grubbs_test, individuals, is_negligible, mandel_h_critical, mandel_k_critical, median,
    precision, scaled_mad, signals, youden, z, z_prime, zeta,
};
use serde_json::{Map, Value, json};

fn cases() -> Vec<Value> {
    serde_json::from_str(include_str!("published/comparison.json")).unwrap()
}

fn case(id: &str) -> Value {
    cases().into_iter().find(|case| case["id"] == id).unwrap()
}

#[track_caller]
fn number(value: &Value, name: &str) -> f64 {
    value[name]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {name:?} in {value}"))
}

fn count(value: &Value, name: &str) -> usize {
    number(value, name) as usize
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value
        .as_array()
        .unwrap_or_else(|| panic!("no list: {value}"));
    list.iter().map(|v| v.as_f64().unwrap()).collect()
}

fn cells(value: &Value) -> Vec<Vec<f64>> {
    value.as_array().unwrap().iter().map(numbers).collect()
}

/// Positions are counted from one in the examples.
fn positions(indices: &[usize]) -> Vec<usize> {
    indices.iter().map(|i| i + 1).collect()
}

/// What is found against what is expected: numbers within `absolute` + `relative`, all else the same.
fn same(what: &str, found: &Value, expected: &Value, absolute: f64, relative: f64) {
    match (found, expected) {
        (Value::Number(found), Value::Number(expected)) => {
            let (found, expected) = (found.as_f64().unwrap(), expected.as_f64().unwrap());
            let room = absolute + relative * expected.abs();
            assert!(
                (found - expected).abs() <= room,
                "{what} is {found}, expected {expected} ± {room:e}"
            );
        }
        (Value::Array(found), Value::Array(expected)) => {
            assert_eq!(found.len(), expected.len(), "{what}");
            for (i, (found, expected)) in found.iter().zip(expected).enumerate() {
                same(
                    &format!("{what} {}", i + 1),
                    found,
                    expected,
                    absolute,
                    relative,
                );
            }
        }
        (Value::Object(found), Value::Object(expected)) => {
            same_names(what, found, expected, absolute, relative);
        }
        _ => assert_eq!(found, expected, "{what}"),
    }
}

fn same_names(
    what: &str,
    found: &Map<String, Value>,
    expected: &Map<String, Value>,
    absolute: f64,
    relative: f64,
) {
    for (name, expected) in expected.iter().filter(|(name, _)| *name != "published") {
        let found = found
            .get(name)
            .unwrap_or_else(|| panic!("{what}: no check of {name}"));
        same(
            &format!("{what}: {name}"),
            found,
            expected,
            absolute,
            relative,
        );
    }
}

/// All that an example expects against what is found under the same names; values as printed within their own tolerance.
fn compare(case: &Value, found: &Value) {
    let id = case["id"].as_str().unwrap();
    let tolerance = &case["tolerance"];
    // A difference of equal numbers need not come out as nothing.
    let absolute = tolerance["abs"].as_f64().unwrap_or(1e-12);
    let relative = tolerance["rel"].as_f64().unwrap_or(0.0);
    same(id, found, &case["expected"], absolute, relative);
    let printed = case["expected"]["published"].as_object();
    for (name, expected) in printed.into_iter().flatten() {
        let room = tolerance["published"][name]
            .as_f64()
            .unwrap_or_else(|| number(tolerance, "published_abs"));
        let what = format!("{id}: {name} as printed");
        same(&what, &found[name], expected, room, 0.0);
    }
}

/// All examples whose name starts so, of which there are so many.
fn compare_all(start: &str, expected: usize, find: impl Fn(&Value) -> Value) {
    let mut checked = 0;
    for case in cases() {
        if case["id"].as_str().unwrap().starts_with(start) {
            compare(&case, &find(&case["inputs"]));
            checked += 1;
        }
    }
    assert_eq!(checked, expected, "examples of {start}");
}

#[test]
fn every_example_has_a_check() {
    let checked = [
        ("algorithm-a.", 4),
        ("scores.", 5),
        ("precision.", 12),
        ("anova.", 3),
        ("pooled-sd.", 1),
        ("variances.", 3),
        ("cochran.", 11),
        ("grubbs.", 11),
        ("mandel.", 9),
        ("chart-constants.", 1),
        ("individuals.", 2),
        ("run-rules.", 7),
        ("youden.", 2),
    ];
    let all = cases();
    for case in &all {
        let id = case["id"].as_str().unwrap();
        assert!(
            checked.iter().any(|(start, _)| id.starts_with(start)),
            "{id}"
        );
    }
    let sum: usize = checked.iter().map(|(_, count)| count).sum();
    assert_eq!(all.len(), sum, "an example was lost");
}

#[test]
fn robust_means() {
    compare_all("algorithm-a.", 4, |inputs| {
        let data = numbers(&inputs["data"]);
        let found = algorithm_a(&data).unwrap();
        assert!(found.converged && found.steps < 100, "{found:?}");
        assert_eq!(found.count, data.len());
        json!({
            "median": median(&data),
            "MADe": scaled_mad(&data),
            "robust_mean": found.mean,
            "robust_sd": found.standard_deviation,
            "u_robust_mean": found.uncertainty(),
            "winsorised_low": found.below,
            "winsorised_high": found.above,
        })
    });
}

fn class(score: f64) -> &'static str {
    match Performance::from_score(score).unwrap() {
        Performance::Acceptable => "acceptable",
        Performance::Warning => "warning",
        Performance::Action => "action",
    }
}

fn classes(scores: &[f64]) -> Vec<&'static str> {
    scores.iter().copied().map(class).collect()
}

#[test]
fn scores_of_a_comparison() {
    compare_all("scores.ccqm-k30", 1, |inputs| {
        let (values, expanded) = (numbers(&inputs["value_mg_kg"]), numbers(&inputs["U_mg_kg"]));
        let factors = numbers(&inputs["k"]);
        let assigned = number(inputs, "assigned_mg_kg");
        let expanded_assigned = number(inputs, "U_assigned_mg_kg");
        let u_assigned = expanded_assigned / number(inputs, "k_assigned");
        let deviation = number(inputs, "sigma_pt_mg_kg");
        let each = |score: &dyn Fn(usize) -> f64| (0..values.len()).map(score).collect::<Vec<_>>();
        let z = each(&|i| z(values[i], assigned, deviation));
        let zeta = each(&|i| zeta(values[i], expanded[i] / factors[i], assigned, u_assigned));
        let e_n = each(&|i| e_n(values[i], expanded[i], assigned, expanded_assigned));
        json!({
            "z": z,
            "z_prime": each(&|i| z_prime(values[i], assigned, deviation, u_assigned)),
            "zeta": zeta,
            "En": e_n,
            "z_class": classes(&z),
            "zeta_class": classes(&zeta),
            "En_agrees": e_n.iter().map(|e| e_n_acceptable(*e)).collect::<Vec<_>>(),
            "u_assigned_negligible": is_negligible(u_assigned, deviation),
        })
    });
}

#[test]
fn scores_by_a_robust_mean() {
    compare_all("scores.copper-flour", 1, |inputs| {
        let data = numbers(&inputs["data"]);
        let found = algorithm_a(&data).unwrap();
        let z: Vec<f64> = data
            .iter()
            .map(|value| z(*value, found.mean, found.standard_deviation))
            .collect();
        json!({
            "z": z,
            "z_class": classes(&z),
            "p": found.count,
            "u_assigned": found.uncertainty(),
            "u_over_sigma": found.uncertainty() / found.standard_deviation,
            "u_assigned_negligible": is_negligible(found.uncertainty(), found.standard_deviation),
        })
    });
}

#[test]
fn limits_of_scores() {
    compare_all("scores.boundaries", 1, |inputs| {
        let (assigned, deviation) = (number(inputs, "assigned"), number(inputs, "sigma_pt"));
        let values = numbers(&inputs["value"]);
        let z: Vec<f64> = values.iter().map(|v| z(*v, assigned, deviation)).collect();
        let e_n = numbers(&inputs["En"]);
        json!({
            "z": z,
            "z_class": classes(&z),
            "En_agrees": e_n.iter().map(|e| e_n_acceptable(*e)).collect::<Vec<_>>(),
        })
    });
    compare_all("scores.class.a", 1, |inputs| {
        let of = |name: &str| number(inputs, name);
        json!({
            "z": z(of("value"), of("assigned"), of("sigma_pt")),
            "z_prime": z_prime(of("value"), of("assigned"), of("sigma_pt"), of("u_assigned")),
            "zeta": zeta(of("value"), of("u"), of("assigned"), of("u_assigned")),
            "En": e_n(of("value"), of("U"), of("assigned"), of("U_assigned")),
        })
    });
    compare_all("scores.negligible-u", 1, |inputs| {
        let robust = Robust {
            mean: 0.0,
            standard_deviation: number(inputs, "robust_sd"),
            count: count(inputs, "p"),
            below: 0,
            above: 0,
            steps: 1,
            converged: true,
        };
        json!({
            "u_assigned": robust.uncertainty(),
            "u_assigned_negligible": is_negligible(robust.uncertainty(), number(inputs, "sigma_pt")),
        })
    });
}

#[test]
fn precision_of_methods() {
    compare_all("precision.", 12, |inputs| {
        let cells = cells(&inputs["cells"]);
        let found = precision(&cells).unwrap();
        let each = consistency(&cells).unwrap();
        let means: Vec<f64> = each.iter().map(|cell| cell.mean).collect();
        let cochran = cochran_test(&cells).unwrap();
        let [low, high] = grubbs_test(&means).unwrap();
        let [two_low, two_high] = grubbs_pair_test(&means).unwrap();
        let k_critical = each[0].k_critical.unwrap();
        json!({
            "p": found.cells,
            "N": found.values,
            "mean": found.mean,
            "n_bar": found.size,
            "s_r": found.repeatability,
            "s_L": found.between,
            "s_L2_before_truncation": found.between_variance,
            "s_R": found.reproducibility,
            "cell_means": means,
            "h": each.iter().map(|cell| cell.h).collect::<Vec<_>>(),
            "k": each.iter().map(|cell| cell.k.unwrap()).collect::<Vec<_>>(),
            "h_crit_5pc": each[0].h_critical.at_5,
            "h_crit_1pc": each[0].h_critical.at_1,
            "k_crit_5pc": k_critical.at_5,
            "k_crit_1pc": k_critical.at_1,
            "cochran_C": cochran.statistic,
            "cochran_position": cochran.which[0] + 1,
            "cochran_crit_5pc": cochran.critical.at_5,
            "cochran_crit_1pc": cochran.critical.at_1,
            "grubbs_high": high.statistic,
            "grubbs_high_position": high.which[0] + 1,
            "grubbs_low": low.statistic,
            "grubbs_low_position": low.which[0] + 1,
            "grubbs_crit_5pc": low.critical.at_5,
            "grubbs_crit_1pc": low.critical.at_1,
            "grubbs_two_high": two_high.statistic,
            "grubbs_two_low": two_low.statistic,
        })
    });
}

#[test]
fn analyses_of_variance() {
    compare_all("anova.gum-h5", 1, |inputs| {
        let means = numbers(&inputs["day_mean_minus_10V_uV"]);
        let deviations = numbers(&inputs["day_sd_uV"]);
        assert_eq!(count(inputs, "readings_per_day"), 5);
        // Five readings of mean 0 and standard deviation 1.
        let pattern = [-2.0, -1.0, 0.0, 1.0, 2.0].map(|x| x / 2.5_f64.sqrt());
        let days: Vec<Vec<f64>> = means
            .iter()
            .zip(&deviations)
            .map(|(mean, sd)| pattern.iter().map(|x| mean + sd * x).collect())
            .collect();
        let found = precision(&days).unwrap();
        json!({
            "mean_minus_10V_uV": found.mean,
            "pooled_sd_uV": found.repeatability,
            "within_dof": found.repeatability_dof,
            "between_dof": found.between_dof,
            "F": found.f,
            "s_B2_between_days_uV2": found.between_variance,
            "s_B_uV": found.between,
        })
    });
    let by_groups = |inputs: &Value| {
        let found = precision(&cells(&inputs["groups"])).unwrap();
        json!({
            "dof_between": found.between_dof,
            "dof_within": found.repeatability_dof,
            "F": found.f,
            "p": found.p_value,
            "residual_sd": found.repeatability,
        })
    };
    compare_all("anova.nist", 1, by_groups);
    compare_all("anova.plants", 1, by_groups);
    compare_all("pooled-sd.", 1, |inputs| {
        let found = precision(&cells(&inputs["pairs"])).unwrap();
        json!({"pooled_sd": found.repeatability, "dof": found.repeatability_dof})
    });
}

#[test]
fn variances_of_groups() {
    compare_all("variances.", 3, |inputs| {
        let groups = cells(&inputs["groups"]);
        let (found, cochran) = (precision(&groups).unwrap(), cochran_test(&groups).unwrap());
        json!({
            "pooled_sd": found.repeatability,
            "pooled_dof": found.repeatability_dof,
            "cochran_C": cochran.statistic,
            "cochran_position": cochran.which[0] + 1,
            "cochran_crit_5pc": cochran.critical.at_5,
        })
    });
}

#[test]
fn critical_values() {
    let by = |at: &dyn Fn(f64) -> f64| json!({"crit_5pc": at(0.05), "crit_1pc": at(0.01)});
    compare_all("cochran.", 11, |inputs| {
        by(&|level| cochran_critical(count(inputs, "p"), count(inputs, "n"), level))
    });
    compare_all("grubbs.one.", 4, |inputs| {
        by(&|level| grubbs_critical(count(inputs, "p"), level))
    });
    compare_all("grubbs.two.", 7, |inputs| {
        let found = grubbs_pair_critical(count(inputs, "p")).unwrap();
        json!({"crit_5pc": found.at_5, "crit_1pc": found.at_1})
    });
    compare_all("mandel.h.", 4, |inputs| {
        by(&|level| mandel_h_critical(count(inputs, "p"), level))
    });
    compare_all("mandel.k.", 5, |inputs| {
        by(&|level| mandel_k_critical(count(inputs, "p"), count(inputs, "n"), level))
    });
}

/// What the tests say of the published cells.
#[test]
fn stragglers_and_outliers() {
    let published = |id: &str| cells(&case(id)["inputs"]["cells"]);
    let means = |id: &str| -> Vec<f64> {
        let each = consistency(&published(id)).unwrap();
        each.iter().map(|cell| cell.mean).collect()
    };
    let told = |found: &Tested| (found.which.clone(), found.standing);
    // 0.739 between 0.638 and 0.754; 0.636 below 0.638.
    let found = cochran_test(&published("precision.apricot")).unwrap();
    assert_eq!(told(&found), (vec![3], Standing::Straggler));
    let found = cochran_test(&published("precision.creosote.5.all")).unwrap();
    assert_eq!(told(&found), (vec![5], Standing::Correct));
    let found = cochran_test(&published("precision.glucose.E")).unwrap();
    assert_eq!(told(&found), (vec![1], Standing::Outlier));
    // 2.502 above 2.387; the other side 0.860.
    let [low, high] = grubbs_test(&means("precision.creosote.3.all")).unwrap();
    assert_eq!(told(&high), (vec![0], Standing::Outlier));
    assert_eq!(told(&low), (vec![2], Standing::Correct));
    // Two of them: 0.0634 below 0.0851. 0.1298 above 0.1101.
    let [low, high] = grubbs_pair_test(&means("precision.creosote.3.all")).unwrap();
    assert_eq!(told(&high), (vec![0, 7], Standing::Outlier));
    assert_eq!(told(&low), (vec![2, 4], Standing::Correct));
    let [_, high] = grubbs_pair_test(&means("precision.coal.4")).unwrap();
    assert_eq!(told(&high), (vec![2, 5], Standing::Correct));
    // Two of eight far out hide each other from the test of one.
    let two = [0.0, 0.1, -0.1, 0.05, -0.05, 0.02, 1.0, 1.02];
    assert_eq!(grubbs_test(&two).unwrap()[1].standing, Standing::Correct);
    assert_eq!(
        told(&grubbs_pair_test(&two).unwrap()[1]),
        (vec![7, 6], Standing::Outlier)
    );
    // h of the first laboratory, 2.50, above 2.127; k of the fourth, 2.58, above 2.294.
    let each = consistency(&published("precision.creosote.3.all")).unwrap();
    assert_eq!(each[0].h_standing, Standing::Outlier);
    assert_eq!(each[1].h_standing, Standing::Correct);
    // 2.105 between 1.896 and 2.294.
    assert_eq!(each[0].k_standing, Some(Standing::Straggler));
    let each = consistency(&published("precision.apricot")).unwrap();
    assert_eq!(each[3].k_standing, Some(Standing::Outlier));
    assert_eq!(each[5].h_standing, Standing::Straggler, "−1.798");
}

#[test]
fn control_charts() {
    compare_all("individuals.", 2, |inputs| {
        let values = numbers(&inputs["values"]);
        let chart = individuals(&values, Basis::First(values.len())).unwrap();
        json!({
            "centre": chart.centre,
            "mean_moving_range": chart.mean_moving_range,
            "sigma": chart.standard_deviation,
            "upper": chart.upper,
            "lower": chart.lower,
            "moving_range_upper": chart.moving_range_upper,
            "outside_positions": positions(&chart.outside),
            "moving_range_outside_positions": positions(&chart.jumps),
            // As printed, with 1.128 for what is 1.1284.
            "upper_d2_1128": chart.upper,
            "lower_d2_1128": chart.lower,
        })
    });
    compare_all("chart-constants.", 1, |inputs| {
        assert_eq!(count(inputs, "n"), 2);
        let stated = Basis::Stated {
            centre: 0.0,
            standard_deviation: 1.0,
        };
        let chart = individuals(&[0.0, 0.5], stated).unwrap();
        json!({
            "d2": chart.mean_moving_range,
            "D4": chart.moving_range_upper / chart.mean_moving_range,
            "E2": chart.upper / chart.mean_moving_range,
        })
    });
}

/// The names of Nelson's tests in the examples, in the order of [`Rule::ALL`].
const NAMES: [&str; 8] = [
    "1_beyond_3_sigma",
    "9_one_side",
    "6_steadily",
    "14_alternating",
    "2_of_3_beyond_2_sigma",
    "4_of_5_beyond_1_sigma",
    "15_within_1_sigma",
    "8_beyond_1_sigma_both_sides",
];

#[test]
fn run_rules() {
    for (id, expected) in [
        ("run-rules.beyond-3", 1),
        ("run-rules.nine-one-side", 1),
        ("run-rules.two-of-three", 1),
        ("run-rules.four-of-five", 1),
        ("run-rules.fifteen-inside", 1),
        ("run-rules.quiet", 0),
    ] {
        compare_all(id, 1, |inputs| {
            let found = signals(&numbers(&inputs["z"]), &Rule::ALL);
            assert_eq!(found.len(), expected, "{id}: {found:?}");
            let first = |rule: Rule| {
                let signal = found.iter().find(|signal| signal.rule == rule);
                signal.map(|signal| signal.first + 1)
            };
            let each = NAMES.iter().zip(Rule::ALL);
            let each: Map<String, Value> = each
                .map(|(name, rule)| ((*name).to_owned(), json!(first(rule))))
                .collect();
            json!({"first_signal_position": each})
        });
    }
}

/// A point in a zone, and the probability that a normal one is there.
type Zone = (f64, f64);

/// The probability that so many points, each in one of some zones, meet a rule.
fn chance(rule: Rule, count: usize, zones: &[Zone]) -> f64 {
    let all = zones.len().pow(count as u32);
    let met = (0..all).map(|mut number| {
        let (mut points, mut probability) = (Vec::new(), 1.0);
        for _ in 0..count {
            let (point, share) = zones[number % zones.len()];
            number /= zones.len();
            points.push(point);
            probability *= share;
        }
        if signals(&points, &[rule]).is_empty() {
            0.0
        } else {
            probability
        }
    });
    met.sum()
}

/// How many of the orders of so many points meet a rule, and how many there are.
fn orders(rule: Rule, points: &mut Vec<f64>, rest: &[f64]) -> (usize, usize) {
    if rest.is_empty() {
        return (usize::from(!signals(points, &[rule]).is_empty()), 1);
    }
    let mut sum = (0, 0);
    for i in 0..rest.len() {
        let mut others = rest.to_vec();
        points.push(others.remove(i));
        let (met, all) = orders(rule, points, &others);
        points.pop();
        sum = (sum.0 + met, sum.1 + all);
    }
    sum
}

#[test]
fn false_alarms_of_run_rules() {
    let beyond = |z: f64| 1.0 - student_t_below(z, f64::INFINITY);
    // Below, between and above ±z; and the latter two without sides.
    let sides = |z: f64| {
        let tail = beyond(z);
        [(-z - 0.5, tail), (0.1, 1.0 - 2.0 * tail), (z + 0.5, tail)]
    };
    let one = 2.0 * beyond(1.0);
    let (near, far) = ((0.5, 1.0 - one), (1.5, one));
    let (rising, all) = orders(Rule::Steadily, &mut vec![], &[0.1, 0.2, 0.3, 0.4, 0.5, 0.6]);
    // 14 points have too many orders; some are drawn.
    let mut random = crate::common::Generator(1984);
    let draws = 20_000;
    let turns = (0..draws).filter(|_| {
        let points: Vec<f64> = (0..14).map(|_| random.uniform()).collect();
        !signals(&points, &[Rule::Alternating]).is_empty()
    });
    let turns = turns.count() as f64 / f64::from(draws);
    compare_all("run-rules.false-alarm", 1, |_| {
        json!({
            "1_beyond_3_sigma": chance(Rule::Beyond, 1, &sides(3.0)),
            "9_one_side": chance(Rule::OneSide, 9, &[(-0.5, 0.5), (0.5, 0.5)]),
            "6_steadily": rising as f64 / all as f64,
            "14_alternating": turns,
            "2_of_3_beyond_2_sigma": chance(Rule::TwoOfThree, 3, &sides(2.0)),
            "4_of_5_beyond_1_sigma": chance(Rule::FourOfFive, 5, &sides(1.0)),
            "15_within_1_sigma": chance(Rule::Near, 15, &[near, far]),
            "8_beyond_1_sigma_both_sides": chance(Rule::Far, 8, &[near, far]),
        })
    });
}

#[test]
fn pairs_of_youden() {
    compare_all("youden.", 2, |inputs| {
        let (a, b) = (numbers(&inputs["sample_a"]), numbers(&inputs["sample_b"]));
        let found = youden(&a.into_iter().zip(b).collect::<Vec<_>>()).unwrap();
        let dof = found.dof as f64;
        let critical = f_quantile(0.95, dof, dof);
        let by_chance = f_quantile(1.0 - found.p_value, dof, dof);
        assert!((by_chance / found.f - 1.0).abs() < 1e-9, "{by_chance}");
        let outside = found.pairs.iter().filter(|pair| pair.outside);
        let far = found
            .pairs
            .iter()
            .filter(|pair| pair.along.powi(2) + pair.across.powi(2) > found.radius.powi(2));
        assert_eq!(outside.count(), far.count());
        let places = |of: fn(&fillmark::bench::interlaboratory::YoudenPair) -> f64| {
            found.pairs.iter().map(of).collect::<Vec<_>>()
        };
        json!({
            "mean_a": found.mean[0],
            "mean_b": found.mean[1],
            "median_a": found.median[0],
            "median_b": found.median[1],
            "s_r": found.repeatability,
            "s_total": found.total,
            "s_L2": found.between_variance,
            "s_L": found.between,
            "F": found.f,
            "F_crit_5pc": critical,
            "circle_radius_95": found.radius,
            "distance_along": places(|pair| pair.along),
            "distance_across": places(|pair| pair.across),
        })
    });
}
