//! Worked examples of the guides to uncertainty, as worksheets and fits.

use crate::common::{cases, close, id, number, numbers};
use fillmark::bench::fit::{Method, Model, Point, fit, student_t};
use fillmark::bench::quantity::Unit;
use fillmark::bench::quantity::rounding::Rounded;
use fillmark::bench::reduce::results::Manner;
use fillmark::bench::worksheet::{Component, Distribution, Expr, Input, NodeId, Title, Worksheet};
use serde_json::Value;

/// A worksheet with a shorter way to put inputs in.
#[derive(Default)]
struct Sheet(Worksheet);

impl Sheet {
    fn put(&mut self, symbol: &str, value: f64, components: Vec<Component>) -> Expr {
        let input = Input {
            components,
            ..Input::default()
        };
        self.0
            .input(Title::new(symbol, symbol, &Unit::ONE), value, input)
            .into()
    }

    fn calculate(&mut self, formula: Expr) -> NodeId {
        self.0
            .calculate(Title::new("result", "y", &Unit::ONE), formula)
    }
}

fn limits(of: &Value) -> Component {
    let (name, half) = (of["distribution"].as_str(), number(of, "half_width"));
    let mut component = match name {
        Some("rectangular") => Component::within("limits", half, Distribution::Rectangular),
        Some("triangular") => Component::within("limits", half, Distribution::Triangular),
        // Even in angle between two extremes: a/√2 (JCGM 101:2008, 6.4.6). The product has no such reading.
        Some("arcsine") => Component::normal("cycle", half / 2f64.sqrt()),
        other => panic!("no shape {other:?}"),
    };
    component.dof = of["dof"].as_f64().unwrap_or(f64::INFINITY);
    component
}

/// Value, standard uncertainty, degrees of freedom.
fn triple(of: &Value) -> (f64, Component) {
    let of = numbers(of);
    (of[0], Component::sampled("sample", of[1], of[2]))
}

#[test]
fn examples() {
    let cases = cases(include_str!("published/gum_examples.json"));
    assert_eq!(cases.len(), 9, "a case was lost");
    for case in &cases {
        match id(case) {
            "gum.h1.first-order" => end_gauge(case),
            "gum.g4.welch-satterthwaite" => welch_satterthwaite(case),
            "gum.h3.thermometer" => thermometer(case),
            "gum.7.2.4.expanded" => expanded(case),
            "quam.a1.cadmium" => cadmium(case),
            "quam.a5.calibration" => calibration(case),
            "jcgm101.9.2.2.normal" | "jcgm101.9.2.3.rectangular" => sum_of_four(case),
            "jcgm101.9.3.mass" => mass(case),
            other => panic!("no check for {other}"),
        }
    }
}

fn end_gauge(case: &Value) {
    let (inputs, expected, tolerance) = (&case["inputs"], &case["expected"], &case["tolerance"]);
    let mut sheet = Sheet::default();
    let (value, component) = triple(&inputs["l_S_nm"]);
    let standard = sheet.put("l_S", value, vec![component]);
    let parts = ["d_mean_nm", "d_random_nm", "d_systematic_nm"].map(|name| triple(&inputs[name]));
    let d = parts.iter().map(|part| part.0).sum();
    let difference = sheet.put("d", d, parts.into_iter().map(|part| part.1).collect());
    let alpha = sheet.put(
        "α_S",
        number(&inputs["alpha_S_per_C"], "value"),
        vec![limits(&inputs["alpha_S_per_C"])],
    );
    let apart = sheet.put("δα", 0.0, vec![limits(&inputs["delta_alpha_per_C"])]);
    let warmer = sheet.put("δθ", 0.0, vec![limits(&inputs["delta_theta_C"])]);
    let theta = numbers(&inputs["theta_mean_C"]);
    let spread = vec![
        Component::normal("mean", theta[1]),
        limits(&inputs["theta_cycle_C"]),
    ];
    let theta = sheet.put("θ", theta[0], spread);
    let length = sheet
        .calculate(standard.clone() + difference - standard * (apart * theta + alpha * warmer));
    let (found, u) = (sheet.0.value(length), sheet.0.uncertainty(length));
    close(
        "l, nm",
        found,
        number(expected, "l_nm"),
        number(tolerance, "l_abs"),
        0.0,
    );
    close(
        "u(l), nm",
        u.standard,
        number(expected, "u_nm"),
        number(tolerance, "u_abs"),
        0.0,
    );
    close(
        "ν(l)",
        u.dof,
        number(expected, "dof"),
        number(tolerance, "dof_abs"),
        0.0,
    );
    close(
        "published u(l), nm",
        u.standard,
        number(expected, "u_nm_published"),
        0.5,
        0.0,
    );
    close(
        "published ν(l)",
        u.dof.floor(),
        number(expected, "dof_published"),
        0.0,
        0.0,
    );
    let budget = sheet.0.budget(length);
    let names = [
        ("l_S", "l_S"),
        ("d", "d"),
        ("δα", "delta_alpha"),
        ("δθ", "delta_theta"),
    ];
    assert_eq!(
        budget.len(),
        names.len(),
        "the others contribute nothing to first order"
    );
    for (symbol, name) in names {
        let row = budget
            .iter()
            .find(|row| sheet.0.node(row.input).symbol == symbol.into());
        let row = row.unwrap_or_else(|| panic!("{symbol} is not in the budget"));
        close(
            symbol,
            row.contribution,
            number(&expected["components_nm"], name),
            6e-4,
            0.0,
        );
    }
}

fn welch_satterthwaite(case: &Value) {
    let (expected, tolerance) = (&case["expected"], &case["tolerance"]);
    let mut sheet = Sheet::default();
    let parts = numbers(&case["inputs"]["relative_components_pc"]);
    let factors = parts
        .iter()
        .zip(numbers(&case["inputs"]["dof"]))
        .map(|(u, dof)| sheet.put("x", 1.0, vec![Component::sampled("sample", u / 100.0, dof)]))
        .collect();
    let product = sheet.calculate(Expr::Product(factors));
    let u = sheet.0.uncertainty(product);
    close(
        "u, %",
        100.0 * u.standard,
        number(expected, "combined_pc"),
        1e-5,
        0.0,
    );
    close("ν", u.dof, number(expected, "dof"), 1e-3, 0.0);
    close(
        "published ν",
        u.dof,
        number(expected, "dof_published"),
        number(tolerance, "dof_abs"),
        0.0,
    );
    let stated = Manner::by_uncertainty(0.95).state(&sheet.0, product);
    close(
        "k",
        stated.coverage_factor,
        number(expected, "t95"),
        0.005,
        0.0,
    );
    close(
        "U, %",
        100.0 * stated.expanded_uncertainty,
        number(expected, "U95_pc"),
        number(tolerance, "U_abs"),
        0.0,
    );
}

fn expanded(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let mut sheet = Sheet::default();
    let component = Component::sampled("sample", number(inputs, "u_g"), number(inputs, "dof"));
    let input = sheet.put("m", number(inputs, "value_g"), vec![component]);
    let id = sheet.calculate(input * Expr::number(1.0));
    let stated = Manner::by_uncertainty(number(inputs, "probability")).state(&sheet.0, id);
    close(
        "k",
        stated.coverage_factor,
        number(expected, "k"),
        0.005,
        0.0,
    );
    close(
        "U, g",
        stated.expanded_uncertainty,
        number(expected, "U_g"),
        5e-6,
        0.0,
    );
    assert_eq!(Some(stated.shown.as_str()), expected["text"].as_str());
}

fn cadmium(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let mut sheet = Sheet::default();
    let (p, m, v) = (&inputs["P"], &inputs["m_mg"], &inputs["V_mL"]);
    let purity = sheet.put("P", number(p, "value"), vec![limits(p)]);
    let mass = sheet.put(
        "m",
        number(m, "value"),
        vec![Component::normal("balance", number(m, "u"))],
    );
    let causes = vec![
        limits(&v["calibration"]),
        Component::normal("repeatability", number(v, "repeatability_u")),
        limits(&v["temperature"]),
    ];
    let volume = Input {
        components: causes.clone(),
        ..Input::default()
    }
    .standard_uncertainty();
    close("u(V), mL", volume, number(expected, "u_V_mL"), 5e-6, 0.0);
    let volume = sheet.put("V", number(v, "value"), causes);
    let formula = Expr::number(1000.0) * mass * purity / volume;
    let id = sheet.calculate(formula);
    let u = sheet.0.uncertainty(id).standard;
    close(
        "c, mg/L",
        sheet.0.value(id),
        number(expected, "c_mg_L"),
        number(&case["tolerance"], "c_abs"),
        0.0,
    );
    close(
        "u(c), mg/L",
        u,
        number(expected, "u_mg_L"),
        number(&case["tolerance"], "u_abs"),
        0.0,
    );
    let room = number(&case["tolerance"], "published_u_abs");
    close(
        "published u(c), mg/L",
        u,
        number(&expected["published"], "u"),
        room,
        0.0,
    );
    let budget = sheet.0.budget(id);
    let order: Vec<String> = budget
        .iter()
        .map(|row| sheet.0.node(row.input).symbol.whole().tex())
        .collect();
    assert_eq!(order, ["V", "m", "P"], "largest share first");
    for (row, symbol) in budget.iter().zip(&order) {
        close(
            symbol,
            row.contribution,
            number(&expected["components_mg_L"], symbol),
            6e-5,
            0.0,
        );
    }
}

fn sum_of_four(case: &Value) {
    let expected = &case["expected"];
    let mut sheet = Sheet::default();
    let rectangular = id(case).ends_with("rectangular");
    let terms = (0..4)
        .map(|_| {
            let component = if rectangular {
                Component::within("limits", 3f64.sqrt(), Distribution::Rectangular)
            } else {
                Component::normal("normal", 1.0)
            };
            sheet.put("x", 0.0, vec![component])
        })
        .collect();
    let sum = sheet.calculate(Expr::Sum(terms));
    let stated =
        Manner::by_uncertainty(number(&case["inputs"], "probability")).state(&sheet.0, sum);
    close(
        id(case),
        stated.standard_uncertainty,
        number(expected, "u"),
        1e-12,
        0.0,
    );
    let interval = if rectangular {
        &expected["gum_interval"]
    } else {
        &expected["interval"]
    };
    close(
        id(case),
        stated.expanded_uncertainty,
        numbers(interval)[1],
        0.005,
        0.0,
    );
}

fn mass(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]["first_order"]);
    let mut sheet = Sheet::default();
    let normal = |of: &Value| vec![Component::normal("certificate", number(of, "u"))];
    let (reference, added) = (&inputs["m_R_mg"], &inputs["dm_R_mg"]);
    let reference = sheet.put("m_R", number(reference, "mean"), normal(reference));
    let added = sheet.put("δm_R", number(added, "mean"), normal(added));
    let [air, weight, reference_density] = ["rho_a", "rho_W", "rho_R"].map(|name| {
        let ends = numbers(&inputs[name]["interval"]);
        let half = Component::within(
            "limits",
            (ends[1] - ends[0]) / 2.0,
            Distribution::Rectangular,
        );
        sheet.put(name, f64::midpoint(ends[0], ends[1]), vec![half])
    });
    let one = || Expr::number(1.0);
    let lift = (air - Expr::number(1.2)) * (one() / weight - one() / reference_density);
    let formula = (reference + added) * (one() + lift) - Expr::number(100_000.0);
    let id = sheet.calculate(formula);
    let room = number(&case["tolerance"], "first_order_abs");
    close(
        "δm, mg",
        sheet.0.value(id),
        number(expected, "mean_mg"),
        room,
        0.0,
    );
    close(
        "u(δm), mg",
        sheet.0.uncertainty(id).standard,
        number(expected, "u_mg"),
        room,
        0.0,
    );
    let k = student_t(number(inputs, "probability"), f64::INFINITY);
    let reach = k * sheet.0.uncertainty(id).standard;
    for (sign, end) in [-1.0, 1.0]
        .into_iter()
        .zip(numbers(&expected["interval_mg"]))
    {
        close(
            "end, mg",
            sheet.0.value(id) + sign * reach,
            end,
            2.0 * room,
            0.0,
        );
    }
}

fn line(x: &[f64], y: &[f64]) -> fillmark::bench::fit::Fitted {
    let points: Vec<Point> = x
        .iter()
        .zip(y)
        .map(|(&x, &y)| Point {
            x,
            y,
            ..Point::default()
        })
        .collect();
    fit(&points, Model::Straight, Method::Ordinary).expect("a line")
}

fn thermometer(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let (relative, t0) = (number(&case["tolerance"], "rel"), number(inputs, "t0_C"));
    let x: Vec<f64> = numbers(&inputs["t_C"]).iter().map(|t| t - t0).collect();
    let line = line(&x, &numbers(&inputs["correction_C"]));
    let [u1, u2] = [0, 1].map(|k| line.scatter_covariance[k][k].sqrt());
    let joint = line.scatter_covariance[0][1];
    close(
        "y1",
        line.coefficients[0],
        number(expected, "y1"),
        0.0,
        relative,
    );
    close(
        "y2",
        line.coefficients[1],
        number(expected, "y2"),
        0.0,
        relative,
    );
    close("u(y1)", u1, number(expected, "u_y1"), 0.0, relative);
    close("u(y2)", u2, number(expected, "u_y2"), 0.0, relative);
    close("r", joint / (u1 * u2), number(expected, "r"), 0.0, relative);
    close("s", line.residual_sd, number(expected, "s"), 0.0, relative);
    let at = number(inputs, "predict_at_C") - t0;
    let b = line.coefficients[0] + line.coefficients[1] * at;
    let c = &line.scatter_covariance;
    let u = (c[0][0] + at * (2.0 * c[0][1] + at * c[1][1])).sqrt();
    close("b(30)", b, number(expected, "b30"), 0.0, relative);
    close("u(b(30))", u, number(expected, "u_b30"), 0.0, relative);
    // The printed digits too, each within half a unit of its last.
    let printed = &expected["published"];
    for (got, name, half) in [
        (b, "b30", 5e-5),
        (u, "u_b30", 5e-5),
        (u1, "u_y1", 5e-5),
        (u2, "u_y2", 5e-6),
    ] {
        close(name, got, number(printed, name), half, 0.0);
    }
    let shown = Rounded::new(b, u, 2).expect("a finite number").to_string();
    assert_eq!(shown, "−0.1494 ± 0.0041");
}

fn calibration(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let relative = number(&case["tolerance"], "rel");
    let line = line(
        &numbers(&inputs["concentration_mg_L"]),
        &numbers(&inputs["absorbance"]),
    );
    let covariance = &line.scatter_covariance;
    close(
        "slope",
        line.coefficients[1],
        number(expected, "slope"),
        0.0,
        relative,
    );
    close(
        "intercept",
        line.coefficients[0],
        number(expected, "intercept"),
        0.0,
        relative,
    );
    close(
        "u(slope)",
        covariance[1][1].sqrt(),
        number(expected, "u_slope"),
        0.0,
        relative,
    );
    close(
        "u(intercept)",
        covariance[0][0].sqrt(),
        number(expected, "u_intercept"),
        0.0,
        relative,
    );
    close("s", line.residual_sd, number(expected, "s"), 0.0, relative);
    // Read back on a worksheet, with the line's coefficients correlated by way of two independent inputs.
    let readings = numbers(&inputs["sample_readings"]);
    let count = readings.len() as f64;
    let mut sheet = Sheet::default();
    let mean = Component::normal("readings", line.residual_sd / count.sqrt());
    let reading = sheet.put("A", readings.iter().sum::<f64>() / count, vec![mean]);
    let (u0, slope_on_intercept) = (
        covariance[0][0].sqrt(),
        covariance[0][1] / covariance[0][0].sqrt(),
    );
    let rest = (covariance[1][1] - slope_on_intercept.powi(2)).sqrt();
    let [first, second] =
        ["first", "second"].map(|name| sheet.put(name, 0.0, vec![Component::normal("unit", 1.0)]));
    let intercept = Expr::number(line.coefficients[0]) + Expr::number(u0) * first.clone();
    let slope = Expr::number(line.coefficients[1])
        + Expr::number(slope_on_intercept) * first
        + Expr::number(rest) * second;
    let id = sheet.calculate((reading - intercept) / slope);
    close(
        "c0, mg/L",
        sheet.0.value(id),
        number(expected, "c0_mg_L"),
        0.0,
        relative,
    );
    close(
        "u(c0), mg/L",
        sheet.0.uncertainty(id).standard,
        number(expected, "u_c0_mg_L"),
        0.0,
        relative,
    );
}

/// `E_n` of a difference of two results with stated expanded uncertainties.
#[test]
fn agreement() {
    let cases = cases(include_str!("published/agreement.json"));
    assert_eq!(cases.len(), 2, "a case was lost");
    let k = student_t(0.95, f64::INFINITY);
    for case in &cases {
        let (inputs, expected) = (&case["inputs"], &case["expected"]);
        let mut sheet = Sheet::default();
        let mut stated = |value: &str, expanded: &str| {
            let component = Component::normal("stated", number(inputs, expanded) / k);
            sheet.put(value, number(inputs, value), vec![component])
        };
        let (found, reference) = (stated("value", "U"), stated("reference", "U_reference"));
        let difference = sheet.calculate(found - reference);
        let difference = Manner::by_uncertainty(0.95).state(&sheet.0, difference);
        let en = difference.value / difference.expanded_uncertainty;
        close(
            id(case),
            en,
            number(expected, "En"),
            number(&case["tolerance"], "abs"),
            0.0,
        );
        assert_eq!(
            Some(en.abs() <= 1.0),
            expected["agrees"].as_bool(),
            "{}",
            id(case)
        );
    }
}
