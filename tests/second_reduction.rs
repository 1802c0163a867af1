//! A plain second reduction, with nothing of the product in it: formulas over numbers, the line by normal equations,
//! the unknown by Newton's method, uncertainty by numerical derivatives over all inputs.

use crate::common::{close, reduced, results};
use crate::generated_runs::{Balance, Origin, Plan, Solution, Weighing};
use crate::second_spreads::{self as spreads, Weighed};
use std::collections::BTreeMap;

/// An input by name: value, standard uncertainty, degrees of freedom, and the estimate of variance behind it where others
/// rest on it too.
type Inputs = BTreeMap<String, (f64, f64, f64, Option<usize>)>;
type Outputs = BTreeMap<String, f64>;

/// The air, g/mL, that no plan corrects for: its density and that's standard uncertainty.
const AIR: (f64, f64) = (0.0012, 0.000_05);
/// The expansion of borosilicate glass, 1/°C, and its standard uncertainty.
const GLASS: (f64, f64) = (9.9e-6, 0.05 * 9.9e-6);

/// What each input is, and how well it is known. Air and expansion have the values that are used: none.
#[allow(
    clippy::too_many_lines,
    reason = "one list in the order of the run file; parts of it would share all its local names"
)]
fn inputs(plan: &Plan) -> Inputs {
    let mut all = Inputs::new();
    let mut put = |name: String, value: f64, variance: f64| {
        all.insert(name, (value, variance.sqrt(), f64::INFINITY, None));
    };
    if let Some((m, u)) = plan.molar_mass {
        put("M".into(), m, u * u);
    } else {
        put("M Na".into(), 22.989_769_28, 2e-8_f64.powi(2) / 3.0);
        put("M Cl".into(), 35.45, 0.01 * 0.01 / 3.0);
    }
    if let Some((p, u)) = plan.purity {
        put("P".into(), p / 100.0, (u / 100.0).powi(2));
    }
    put("t".into(), plan.liquid.value(), 0.05 * 0.05 / 3.0);
    put("air".into(), 0.0, AIR.1 * AIR.1);
    put("glass".into(), 0.0, GLASS.1 * GLASS.1);
    put("expansion".into(), 0.0, 0.0);
    for ware in &plan.ware {
        let variance = ware.tolerance.powi(2) / if ware.rectangular { 3.0 } else { 6.0 };
        put(format!("error of {}", ware.name), 0.0, variance);
    }
    let mass = |balance: usize, scatter: Scatter| {
        let b = &plan.balances[balance];
        b.readability.powi(2) / 12.0 + scatter.variance(b.repeatability, b.readability)
    };
    for (balance, loads) in plan.balances.iter().zip(loads(plan)) {
        let variance = balance.linearity.unwrap_or(0.0).powi(2) / 3.0;
        for load in 0..=loads.len() {
            put(format!("{} at load {load}", balance.name), 0.0, variance);
        }
    }
    let weighed: Vec<Weighed> = plan.solutions.iter().map(|s| weighed(plan, s)).collect();
    let estimates = spreads::estimates(plan.spread, &weighed);
    let volume = |ware: usize, scatter: Scatter| {
        let w = &plan.ware[ware];
        scatter.variance(w.repeatability, w.tolerance / 3.0)
    };
    let mut found = Vec::new();
    for (
        index,
        Solution {
            name,
            origin,
            weighings,
        },
    ) in plan.solutions.iter().enumerate()
    {
        put(format!("{name} published"), 0.0, 0.0);
        put(format!("{name} lacks"), 0.0, 0.0);
        match origin {
            Origin::Pure | Origin::Unknown => {}
            Origin::ByDifference {
                before,
                after,
                volume: v,
            } => {
                put(
                    format!("{name} before"),
                    before.value(),
                    mass(0, Scatter::Stated),
                );
                put(
                    format!("{name} after"),
                    after.value(),
                    mass(0, Scatter::Stated),
                );
                put(
                    format!("{name} volume"),
                    v.value(),
                    volume(0, Scatter::Stated),
                );
            }
            Origin::Tared { mass: m, volume: v } => {
                put(format!("{name} mass"), m.value(), mass(0, Scatter::Stated));
                put(
                    format!("{name} volume"),
                    v.value(),
                    volume(0, Scatter::Stated),
                );
            }
            Origin::ByMass { salt, water } => {
                put(
                    format!("{name} mass"),
                    salt.value(),
                    mass(0, Scatter::Stated),
                );
                put(
                    format!("{name} water"),
                    water.value(),
                    mass(0, Scatter::Stated),
                );
            }
            Origin::Dilution {
                deliveries,
                volume: v,
                ..
            } => {
                for (i, delivery) in deliveries.iter().enumerate() {
                    put(
                        format!("{name} delivery {i}"),
                        delivery.value(),
                        volume(2, Scatter::Stated),
                    );
                }
                put(
                    format!("{name} volume"),
                    v.value(),
                    volume(1, Scatter::Stated),
                );
            }
        }
        let used = used(weighings);
        let spread = estimates.iter().position(|e| e.serves.contains(&index));
        let once = one_empty(weighings);
        let scatter = match spread {
            None => Scatter::Single,
            Some(_) => Scatter::Seen,
        };
        for (i, w) in used.iter().enumerate() {
            if !once || i == 0 {
                let unseen = spread.is_some_and(|e| weighed[estimates[e].serves[0]].one_empty);
                let of_empty = if once || unseen {
                    Scatter::Stated
                } else {
                    scatter
                };
                put(
                    format!("{name} empty {i}"),
                    w.empty.value(),
                    mass(1, of_empty),
                );
            }
            put(
                format!("{name} filled {i}"),
                w.filled.value(),
                mass(1, scatter),
            );
            put(
                format!("{name} taken {i}"),
                w.volume.value(),
                volume(3, scatter),
            );
        }
        if let Some(number) = spread {
            let (estimate, n) = (&estimates[number], used.len() as f64);
            let of = &weighed[index];
            let (mut sd, mut dof, mut shared) = (estimate.deviation, estimate.dof, Some(number));
            let rounded = estimate.observed < of.rounding;
            if rounded && of.repeatability > sd {
                (sd, dof, shared) = (of.repeatability, f64::INFINITY, None);
            }
            found.push((format!("{name} spread"), (0.0, sd / n.sqrt(), dof, shared)));
            if rounded {
                let rest = of.rounding * (1.0 - 1.0 / n).sqrt();
                found.push((
                    format!("{name} resolution"),
                    (0.0, rest, f64::INFINITY, None),
                ));
            }
        }
    }
    all.extend(found);
    all
}

/// How a reading's own scatter enters.
#[derive(Clone, Copy)]
enum Scatter {
    /// It is seen in the spread of several.
    Seen,
    /// As stated, if it is.
    Stated,
    /// Of a density weighed once: as stated, or else the customary one.
    Single,
}

impl Scatter {
    fn variance(self, stated: Option<f64>, customary: f64) -> f64 {
        let deviation = match self {
            Self::Seen => 0.0,
            Self::Stated => stated.unwrap_or(0.0),
            Self::Single => stated.unwrap_or(customary),
        };
        deviation.powi(2)
    }
}

/// The weighings that count.
fn used(weighings: &[Weighing]) -> Vec<&Weighing> {
    weighings.iter().filter(|w| !w.left_out).collect()
}

/// Whether the same empty vessel is written at all of several weighings: it is one reading then.
fn one_empty(weighings: &[Weighing]) -> bool {
    let used = used(weighings);
    used.len() > 1 && used.iter().all(|w| w.empty == used[0].empty)
}

/// What the weighings of a solution show, and what is stated of them.
fn weighed(plan: &Plan, solution: &Solution) -> Weighed {
    let used = used(&solution.weighings);
    let once = one_empty(&solution.weighings);
    let densities = used
        .iter()
        .map(|w| (w.filled.value() - w.empty.value()) / w.volume.value());
    let densities: Vec<f64> = densities.collect();
    let (balance, ware) = (&plan.balances[1], &plan.ware[3]);
    let readings = if once { 1.0 } else { 2.0 };
    let (mut rounding, mut stated) = (0.0, 0.0);
    for (w, d) in used.iter().zip(&densities) {
        let (v, n) = (w.volume.value(), used.len() as f64);
        let delivered = d * ware.repeatability.unwrap_or(0.0);
        rounding += readings * balance.readability.powi(2) / 12.0 / (v * v) / n;
        let of_masses = readings * balance.repeatability.unwrap_or(0.0).powi(2);
        stated += (of_masses + delivered * delivered) / (v * v) / n;
    }
    Weighed {
        densities,
        one_empty: once,
        rounding: rounding.sqrt(),
        repeatability: stated.sqrt(),
        all_stated: balance.repeatability.is_some() && ware.repeatability.is_some(),
    }
}

/// The upper ends of the loads of each balance: loads half a gram or more apart are two.
fn loads(plan: &Plan) -> [Vec<f64>; 2] {
    let (mut coarse, mut fine) = (Vec::new(), Vec::new());
    for solution in &plan.solutions {
        match &solution.origin {
            Origin::ByDifference { before, after, .. } => {
                coarse.extend([before.value(), after.value()]);
            }
            Origin::Tared { mass, .. } => coarse.push(mass.value()),
            Origin::ByMass { salt, water } => coarse.extend([salt.value(), water.value()]),
            Origin::Pure | Origin::Unknown | Origin::Dilution { .. } => {}
        }
        let weighings = solution.weighings.iter();
        fine.extend(weighings.flat_map(|w| [w.empty.value(), w.filled.value()]));
    }
    [coarse, fine].map(|mut all: Vec<f64>| {
        all.sort_by(f64::total_cmp);
        let ends = all.windows(2).filter(|pair| pair[1] - pair[0] > 0.5);
        ends.map(|pair| pair[0]).collect()
    })
}

/// The error of linearity at a load.
fn bent(
    plan: &Plan,
    ends: &[Vec<f64>; 2],
    balance: usize,
    load: f64,
    x: &dyn Fn(&str) -> f64,
) -> f64 {
    let Balance {
        name, linearity, ..
    } = &plan.balances[balance];
    let number = ends[balance].iter().filter(|end| **end < load).count();
    linearity.map_or(0.0, |_| x(&format!("{name} at load {number}")))
}

/// Density of sodium chloride solution, g/mL (Laliberté 2009 with the water of Kell 1975).
fn brine(w: f64, t: f64) -> f64 {
    let above = 999.839_52
        + t * (16.945_176
            + t * (-7.987_040_1e-3
                + t * (-46.170_461e-6 + t * (105.563_02e-9 - t * 280.542_53e-12))));
    let water = above / (1.0 + 16.879_850e-3 * t);
    let factor = (1e-6 * (t + 3_317.348_544_265_37).powi(2)).exp();
    let apparent = (-0.003_241_122_236_551_49 * w + 0.063_635_433_590_661_6) * factor
        / (w + 1.013_713_994_673_65 + 0.014_595_101_521_015_9 * t);
    1e-3 / ((1.0 - w) / water + w / apparent)
}

/// Density of water, g/mL (Tanaka 2001).
fn water(t: f64) -> f64 {
    0.999_974_95 * (1.0 - (t - 3.983_035).powi(2) * (t + 301.797) / (522_528.9 * (t + 69.348_81)))
}

/// Composition on all scales that can be had, in the order of [`crate::generated_runs::SCALES`].
fn scales(known: usize, value: f64, density: Option<f64>, m: f64) -> [Option<f64>; 4] {
    let by_mass = |w: f64, rho: Option<f64>| {
        let gamma = rho.map(|rho| 10.0 * w * rho);
        [
            Some(w),
            gamma,
            gamma.map(|g| g / m),
            Some(1000.0 * w / (m * (100.0 - w))),
        ]
    };
    let by_volume = |gamma: f64| match density {
        Some(rho) => by_mass(gamma / (10.0 * rho), density),
        None => [None, Some(gamma), Some(gamma / m), None],
    };
    match known {
        0 => by_mass(value, density),
        1 => by_volume(value),
        2 => by_volume(value * m),
        _ => by_mass(100.0 * value * m / (1000.0 + value * m), density),
    }
}

/// Every result of the run, with the inputs' values given.
fn outputs(plan: &Plan, x: &dyn Fn(&str) -> f64) -> Outputs {
    let m = if plan.molar_mass.is_some() {
        x("M")
    } else {
        x("M Na") + x("M Cl")
    };
    let purity = if plan.purity.is_some() { x("P") } else { 1.0 };
    let error = |ware: usize| x(&format!("error of {}", plan.ware[ware].name));
    let of = |name: &str, what: &str| x(&format!("{name} {what}"));
    let ends = loads(plan);
    let at = |balance: usize, load: f64| bent(plan, &ends, balance, load, x);
    // What air leaves of a load of some density, over what it leaves of the weights.
    let (air, grown) = (x("air"), 1.0 + x("expansion"));
    let in_vacuum = |mass: f64, density: f64| mass * (1.0 - air / 8.0) / (1.0 - air / density);
    let mut compositions: Vec<[Option<f64>; 4]> = Vec::new();
    let mut densities = Vec::new();
    for Solution {
        name,
        origin,
        weighings,
    } in &plan.solutions
    {
        let used = used(weighings);
        let once = one_empty(weighings);
        let each = |i: usize| {
            let empty = if once { 0 } else { i };
            let empty = of(name, &format!("empty {empty}")) + at(1, used[i].empty.value());
            let filled = of(name, &format!("filled {i}")) + at(1, used[i].filled.value());
            let volume = (of(name, &format!("taken {i}")) + error(3)) * grown;
            (filled - empty) * (1.0 - air / 8.0) / volume + air
        };
        let made_up = |ware: usize| (of(name, "volume") + error(ware)) * grown;
        let unseen = || of(name, "spread") + of(name, "resolution");
        let density = match used.len() {
            0 => None,
            n => Some((0..n).map(each).sum::<f64>() / n as f64 + unseen()),
        };
        densities.push(density);
        compositions.push(match origin {
            Origin::Pure | Origin::Unknown => [None; 4],
            Origin::ByDifference { before, after, .. } => {
                let mass = of(name, "before") + at(0, before.value())
                    - of(name, "after")
                    - at(0, after.value());
                let gamma = 1000.0 * in_vacuum(mass, 2.165) * purity / made_up(0);
                scales(1, gamma, density, m)
            }
            Origin::Tared { mass, .. } => {
                let mass = in_vacuum(of(name, "mass") + at(0, mass.value()), 2.165);
                let gamma = 1000.0 * mass * purity / made_up(0);
                scales(1, gamma, density, m)
            }
            Origin::ByMass { salt, water } => {
                let mass = in_vacuum(of(name, "mass") + at(0, salt.value()), 2.165);
                let water = in_vacuum(of(name, "water") + at(0, water.value()), 1.0);
                scales(0, 100.0 * mass * purity / (mass + water), density, m)
            }
            Origin::Dilution {
                of: parent,
                deliveries,
                ..
            } => {
                let taken: f64 = (0..deliveries.len())
                    .map(|i| of(name, &format!("delivery {i}")) + error(2))
                    .sum();
                let parent = compositions[*parent][1].expect("a parent's concentration");
                scales(1, parent * (taken * grown) / made_up(1), density, m)
            }
        });
    }
    let against = crate::generated_runs::SCALES
        .iter()
        .position(|s| *s == plan.against)
        .expect("a scale");
    let points: Vec<(f64, f64)> = plan
        .solutions
        .iter()
        .zip(&compositions)
        .zip(&densities)
        .filter_map(|((s, c), d)| {
            let x = if matches!(s.origin, Origin::Pure) {
                Some(0.0)
            } else {
                c[against]
            };
            Some((x?, (*d)?))
        })
        .collect();
    let line = least_squares(&points, if plan.curve { 3 } else { 2 });
    let mut all: Outputs = line
        .iter()
        .enumerate()
        .map(|(k, b)| (format!("coefficient {k}"), *b))
        .collect();
    for (i, Solution { name, origin, .. }) in plan.solutions.iter().enumerate() {
        if let (Origin::Unknown, Some(density)) = (origin, densities[i]) {
            compositions[i] = scales(against, read_back(&line, density), Some(density), m);
        }
        let Some(density) = densities[i] else {
            continue;
        };
        all.insert(format!("density of {name}"), density);
        let published = match (origin, compositions[i][0]) {
            (Origin::Pure, _) => Some(water(x("t"))),
            (Origin::Unknown, _) => None,
            (_, w) => w.map(|w| brine(w / 100.0, x("t"))),
        };
        if let Some(published) = published {
            let published = published + of(name, "published");
            all.insert(format!("published of {name}"), published);
            let measured = density + of(name, "lacks");
            all.insert(format!("difference of {name}"), measured - published);
        }
    }
    for (solution, composition) in plan.solutions.iter().zip(&compositions) {
        for (scale, value) in crate::generated_runs::SCALES.iter().zip(composition) {
            if let Some(value) = value {
                all.insert(format!("{scale} of {}", solution.name), *value);
            }
        }
    }
    all
}

/// Coefficients by rising powers, from normal equations in a shifted and scaled abscissa.
fn least_squares(points: &[(f64, f64)], count: usize) -> Vec<f64> {
    let n = points.len() as f64;
    let middle = points.iter().map(|p| p.0).sum::<f64>() / n;
    let scale = points
        .iter()
        .map(|p| (p.0 - middle).abs())
        .fold(0.0, f64::max);
    let mut rows = vec![vec![0.0; count + 1]; count];
    for (x, y) in points {
        let z = (x - middle) / scale;
        for (i, row) in rows.iter_mut().enumerate() {
            for (j, sum) in row.iter_mut().take(count).enumerate() {
                *sum += z.powi((i + j) as i32);
            }
            row[count] += y * z.powi(i as i32);
        }
    }
    for i in 0..count {
        for j in 0..count {
            if i != j {
                let factor = rows[j][i] / rows[i][i];
                let pivot = rows[i].clone();
                rows[j]
                    .iter_mut()
                    .zip(&pivot)
                    .for_each(|(to, from)| *to -= factor * from);
            }
        }
    }
    let a: Vec<f64> = (0..count).map(|i| rows[i][count] / rows[i][i]).collect();
    let shift = middle / scale;
    match a.as_slice() {
        [a0, a1] => vec![a0 - a1 * shift, a1 / scale],
        [a0, a1, a2] => {
            vec![
                a0 - a1 * shift + a2 * shift * shift,
                (a1 - 2.0 * a2 * shift) / scale,
                a2 / (scale * scale),
            ]
        }
        _ => panic!("two or three coefficients"),
    }
}

/// Where the line has a density: Newton's method.
fn read_back(line: &[f64], density: f64) -> f64 {
    let mut x = (density - line[0]) / line[1];
    for _ in 0..60 {
        let height = line.iter().rev().fold(0.0, |sum, b| sum * x + b) - density;
        let slope = line
            .iter()
            .enumerate()
            .skip(1)
            .map(|(k, b)| k as f64 * b * x.powi(k as i32 - 1))
            .sum::<f64>();
        x -= height / slope;
    }
    x
}

/// Each result's part of standard uncertainty due to each input, by five-point numerical derivatives.
fn parts(plan: &Plan, inputs: &Inputs) -> BTreeMap<String, Vec<(f64, f64, Option<usize>)>> {
    let mut all: BTreeMap<String, Vec<(f64, f64, Option<usize>)>> = BTreeMap::new();
    for (name, (_, u, dof, estimate)) in inputs.iter().filter(|(_, (_, u, ..))| *u > 0.0) {
        let step = 0.5 * u;
        let at = |steps: f64| {
            outputs(plan, &|asked| {
                let moved = steps * step;
                inputs.get(asked).map_or(0.0, |input| input.0)
                    + match asked {
                        _ if asked == name => moved,
                        // The expansion that is not corrected is α (t − 20 °C).
                        "expansion" if name == "t" => GLASS.0 * moved,
                        "expansion" if name == "glass" => (inputs["t"].0 - 20.0) * moved,
                        _ => 0.0,
                    }
            })
        };
        let [far_below, below, above, far_above] = [-2.0, -1.0, 1.0, 2.0].map(at);
        for result in above.keys() {
            let slope = (8.0 * (above[result] - below[result])
                - (far_above[result] - far_below[result]))
                / 12.0;
            all.entry(result.clone())
                .or_default()
                .push((slope / 0.5, *dof, *estimate));
        }
    }
    all
}

/// What each result lacks for air and expansion, to first order, by five-point numerical derivatives.
fn lacking(plan: &Plan, inputs: &Inputs) -> Outputs {
    let expansion = GLASS.0 * (inputs["t"].0 - 20.0);
    let mut all = Outputs::new();
    for (name, what) in [("air", AIR.0), ("expansion", expansion)] {
        let at = |steps: f64| {
            outputs(plan, &|asked| {
                let value = inputs.get(asked).map_or(0.0, |input| input.0);
                value + if asked == name { steps * 1e-4 } else { 0.0 }
            })
        };
        let [far_below, below, above, far_above] = [-2.0, -1.0, 1.0, 2.0].map(at);
        for result in above.keys() {
            let slope = (8.0 * (above[result] - below[result])
                - (far_above[result] - far_below[result]))
                / 12e-4;
            *all.entry(result.clone()).or_insert(0.0) += slope * what;
        }
    }
    all
}

#[test]
fn a_second_reduction_agrees() {
    let (mut curves, mut chains, mut refusals) = (0, 0, 0);
    for seed in 1..=24 {
        let mut plan = Plan::generated(seed);
        let run = reduced(&plan.text("ordinary"));
        // A straight line asked for that the points refuse gives way to a curve.
        let relied_on = run.reduction.calibration.as_ref().expect("a calibration");
        let refused = run.reduction.refused_line.is_some();
        assert!(!(plan.curve && refused), "seed {seed}");
        refusals += usize::from(refused);
        plan.curve |= refused;
        assert_eq!(relied_on.coefficients.len() == 3, plan.curve, "seed {seed}");
        let ws = &run.reduction.worksheet;
        let mut inputs = inputs(&plan);
        let lacks = lacking(&plan, &inputs);
        for Solution { name, .. } in &plan.solutions {
            if let Some(lacks) = lacks.get(&format!("difference of {name}")) {
                inputs.insert(format!("{name} lacks"), (*lacks, 0.0, f64::INFINITY, None));
            }
        }
        let values = outputs(&plan, &|name| inputs.get(name).map_or(0.0, |input| input.0));
        for Solution { name, origin, .. } in &plan.solutions {
            let strong = values
                .get(&format!("mass percent of {name}"))
                .is_some_and(|w| *w > 22.0);
            let u = match origin {
                Origin::Pure => 0.42e-6,
                _ if strong => 0.5e-3,
                _ => 0.3e-3,
            };
            inputs.insert(format!("{name} published"), (0.0, u, f64::INFINITY, None));
        }
        let parts = parts(&plan, &inputs);
        let found: BTreeMap<String, _> = results(&run.reduction).into_iter().collect();
        assert_eq!(
            found.keys().collect::<Vec<_>>(),
            values.keys().collect::<Vec<_>>(),
            "seed {seed}"
        );
        for (name, id) in &found {
            let what = format!("seed {seed}: {name}");
            // A difference of densities is small: what counts is the rounding of the densities themselves.
            close(&what, ws.value(*id), values[name], 1e-12, 1e-9);
            let variance: f64 = parts[name].iter().map(|(part, ..)| part * part).sum();
            let u = ws.uncertainty(*id);
            // What is compared with published values lacks nothing.
            let compared = name.starts_with("difference");
            let lacks = if compared { 0.0 } else { lacks[name] };
            close(
                &format!("bias of {what}"),
                u.bias,
                lacks,
                1e-6 * u.standard,
                1e-6,
            );
            close(
                &format!("u of {what}"),
                u.standard,
                variance.sqrt(),
                0.0,
                1e-6,
            );
            // Parts by one estimate of variance are added up first.
            let mut of_estimates: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
            let mut by_freedom = 0.0;
            for (part, dof, estimate) in &parts[name] {
                match estimate {
                    Some(number) => {
                        of_estimates.entry(*number).or_insert((0.0, *dof)).0 += part * part;
                    }
                    None => by_freedom += part.powi(4) / dof,
                }
            }
            by_freedom += of_estimates
                .values()
                .map(|(v, dof)| v * v / dof)
                .sum::<f64>();
            close(
                &format!("1/ν of {what}"),
                1.0 / u.dof,
                by_freedom / (variance * variance),
                1e-9,
                1e-5,
            );
        }
        for (a, b) in found.keys().zip(found.keys().skip(1)) {
            let covariance: f64 = parts[a].iter().zip(&parts[b]).map(|(a, b)| a.0 * b.0).sum();
            let (ia, ib) = (found[a], found[b]);
            let size = ws.uncertainty(ia).standard * ws.uncertainty(ib).standard;
            close(
                &format!("seed {seed}: r of {a} and {b}"),
                ws.covariance(ia, ib) / size,
                covariance / size,
                2e-6,
                0.0,
            );
        }
        curves += usize::from(plan.curve);
        chains += usize::from(found.contains_key("molality of E"));
    }
    assert!(
        curves > refusals + 3 && curves < 24 && refusals > 0 && chains == 24,
        "the plans are too much alike: {curves} {refusals} {chains}"
    );
}
