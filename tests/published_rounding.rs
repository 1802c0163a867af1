//! Rounding against printed examples: JCGM 100:2008 (7.2.2, 7.2.6) and Flowers et al., Chemistry 2e (section 1.5).

use fillmark::quantity::rounding::{Rounded, significant};
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
    for case in &cases {
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
                    id if id.starts_with("parenthesis.") => rounded.parenthesis(),
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
