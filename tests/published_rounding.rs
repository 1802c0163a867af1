//! Rounding against printed examples: JCGM 100:2008 (7.2.2, 7.2.6) and Flowers et al., Chemistry 2e (section 1.5);
//! and significant figures by the classroom's rules against the examples of textbooks.

use fillmark::bench::quantity::Unit;
use fillmark::bench::quantity::rounding::{Rounded, significant, to_place};
use fillmark::bench::worksheet::{Component, Expr, Input, Title, Worksheet};
use serde_json::Value;

fn number(case: &Value, key: &str) -> Option<f64> {
    case["inputs"][key]
        .as_str()
        .and_then(|text| text.parse().ok())
}

#[test]
fn rounded_as_printed() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("published/rounding.json")).unwrap();
    let mut used = 0;
    for case in cases
        .iter()
        .filter(|case| case["inputs"]["operation"].is_null())
    {
        let id = case["id"].as_str().unwrap();
        let expected = case["expected"]["text"].as_str().unwrap();
        let found = match (number(case, "value"), number(case, "uncertainty")) {
            (Some(value), None) => significant(
                value,
                case["inputs"]["significant_figures"].as_u64().unwrap() as u32,
            )
            .unwrap(),
            (Some(value), Some(uncertainty)) => {
                let rounded = Rounded::new(value, uncertainty, 2).unwrap();
                match id {
                    id if id.starts_with("parenthesis.") => {
                        let last = rounded.uncertainty().unwrap_or_default();
                        format!(
                            "{}({})",
                            rounded.value(),
                            last.trim_start_matches(['0', '.'])
                        )
                    }
                    id if id.starts_with("gum726.") => rounded.value(),
                    _ => rounded.to_string(),
                }
            }
            (None, Some(uncertainty)) => significant(uncertainty, 2).unwrap(),
            (None, None) => panic!("{id} has no value"),
        };
        assert_eq!(found, expected, "{id}");
        used += 1;
    }
    assert_eq!(used, 13, "a case is gone");
}

/// Readings combined on a worksheet, the result written to its last significant place.
#[test]
fn significant_figures_as_printed() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("published/rounding.json")).unwrap();
    let mut used = 0;
    for case in &cases {
        let Some(operation) = case["inputs"]["operation"].as_str() else {
            continue;
        };
        let mut ws = Worksheet::new();
        let operands: Vec<Expr> = case["inputs"]["operands"]
            .as_array()
            .unwrap()
            .iter()
            .map(|digits| {
                let digits = digits.as_str().unwrap();
                let input = Input {
                    origin: "operand".into(),
                    digits: Some(digits.into()),
                    components: vec![Component::normal("stated", 1e-3)],
                    ..Input::default()
                };
                ws.input(
                    Title::new("x", "x", &Unit::ONE),
                    digits.parse().unwrap(),
                    input,
                )
                .into()
            })
            .collect();
        let formula = match (operation, operands.as_slice()) {
            ("add", _) => Expr::Sum(operands),
            ("multiply", _) => Expr::Product(operands),
            ("divide", [a, b]) => a.clone() / b.clone(),
            _ => panic!("{operation} is not known"),
        };
        let id = ws.calculate(Title::new("y", "y", &Unit::ONE), formula);
        let last = ws.last_places().last_place(id).unwrap();
        let found = to_place(ws.value(id), last).unwrap();
        assert_eq!(
            found,
            case["expected"]["text"].as_str().unwrap(),
            "{}",
            case["id"]
        );
        used += 1;
    }
    assert_eq!(used, 9, "a case is gone");
}
