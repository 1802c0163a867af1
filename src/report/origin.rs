//! Where in the templates a line of rendered Markdown came from, and where they name a label.

use super::templates::Template;
use crate::problem::Place;

/// The line of the templates that most of a rendered line was written by. What a template computes may read as anything;
/// its other text must be there, in its order.
pub(super) fn of_line<'t>(
    rendered: &str,
    templates: impl IntoIterator<Item = &'t Template>,
) -> Option<Place> {
    let mut best: Option<(usize, Place)> = None;
    for template in templates {
        for (number, line) in template.text.lines().enumerate() {
            let pieces = literal(line);
            let length = pieces.iter().map(|piece| piece.len()).sum();
            if best.as_ref().is_none_or(|(most, _)| length > *most) && written_by(rendered, &pieces)
            {
                best = Some((length, place(template, number, line.trim_end())));
            }
        }
    }
    best.map(|(_, place)| place)
}

/// The first place where a template refers to a label, which has its `#`.
pub(super) fn of_reference<'t>(
    label: &str,
    templates: impl IntoIterator<Item = &'t Template>,
) -> Option<Place> {
    let wanted = format!("({label})");
    templates.into_iter().find_map(|template| {
        let mut lines = template.text.lines().enumerate();
        let (number, line, at) =
            lines.find_map(|(number, line)| Some((number, line, line.find(&wanted)?)))?;
        Some(Place {
            column: line[..at].chars().count() + 1,
            length: wanted.chars().count(),
            ..place(template, number, line)
        })
    })
}

fn place(template: &Template, number: usize, line: &str) -> Place {
    Place {
        file: template.file.as_str().into(),
        line: number + 1,
        column: 1,
        length: line.chars().count().max(1),
    }
}

/// A line of a template without what is computed.
fn literal(line: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = line.trim();
    while let Some(start) = rest.find("{{").into_iter().chain(rest.find("{%")).min() {
        pieces.push(rest[..start].trim());
        let end = if rest[start..].starts_with("{{") {
            "}}"
        } else {
            "%}"
        };
        rest = rest[start..]
            .find(end)
            .map_or("", |length| &rest[start + length + end.len()..]);
    }
    pieces.push(rest.trim());
    pieces.retain(|piece| !piece.is_empty());
    pieces
}

fn written_by(rendered: &str, pieces: &[&str]) -> bool {
    let mut rest = rendered;
    !pieces.is_empty()
        && pieces.iter().all(|piece| {
            rest.find(piece)
                .map(|at| rest = &rest[at + piece.len()..])
                .is_some()
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(rendered: &str, text: &str) -> Option<usize> {
        let template = Template {
            file: "own/report.md".into(),
            text: text.into(),
        };
        of_line(rendered, [&template]).map(|place| place.line)
    }

    #[test]
    fn a_line_is_known_by_what_is_not_computed() {
        let text = "# Title\n\n{{ name }}\nThe {{ name }} is {% if x %}of{% endif %} use\n| {{ a }} | {{ b }} |\n";
        for (rendered, line) in [
            ("# Title", Some(1)),
            ("The balance is of use", Some(4)),
            ("| 1 | 2 |", Some(5)),
            ("something else", None),
        ] {
            assert_eq!(found(rendered, text), line, "{rendered}");
        }
    }
}
