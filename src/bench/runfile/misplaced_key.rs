//! Keys that stand in the wrong section: where they belong.

use super::tree::{Content, Node};
use super::vocabulary::{Form, Section};

/// Returns the key of `section` under which `key` belongs with what stands at it, where that is clear.
pub(super) fn under(section: &'static Section, key: &str, node: &Node) -> Option<&'static str> {
    let single = matches!(node.content, Content::Scalar { .. });
    let mut parents = section.keys.iter().filter(|parent| {
        let (Form::Section(inner) | Form::WordOrSection(_, inner) | Form::TextOrSection(_, inner)) =
            parent.form()
        else {
            return false;
        };
        inner
            .keys
            .iter()
            .any(|known| known.name() == key && known.form().takes_single() == single)
    });
    match (parents.next(), parents.next()) {
        (Some(parent), None) => Some(parent.name()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::runfile::words::{RUN, SOLUTION_KEYS};

    #[test]
    fn strays_are_shown_home() {
        let span = crate::problem::Span {
            file: "bench.yaml".into(),
            line: 1,
            column: 1,
            length: 1,
        };
        let node = |content| Node::new(content, span.clone());
        let section = node(Content::Map(Vec::new()));
        let single = node(Content::Scalar {
            text: "1".to_owned(),
            plain: true,
        });
        for (of, key, node, home) in [
            (&RUN, "weighings", &section, Some("density")),
            (&RUN, "weighings", &single, None),
            (&RUN, "coverage", &single, Some("report")),
            (&SOLUTION_KEYS, "of", &single, Some("aliquot")),
            // Aliquot or solvent, salt or solvent.
            (&SOLUTION_KEYS, "volume", &single, None),
            (&SOLUTION_KEYS, "before", &single, None),
            (&RUN, "stranger", &single, None),
        ] {
            assert_eq!(under(of, key, node), home, "{key}");
        }
    }
}
