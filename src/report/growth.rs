//! What lets a template grow without end, and how far it may.
//!
//! The engine counts the steps of a template and the bytes it makes, and stops it. Two things it does not count: lists
//! that are joined, which double with every `x + x` and are laid out in memory all at once; and what the pages take that
//! are made of the text. So lists are not joined, and text is limited by what the pages can take.

use super::Material;

/// Steps that a template may take whatever the run. The engine counts 64 bytes made as one step.
const STEPS: u64 = 1_000_000;
/// And for each quantity of the run: several times what the built-in templates take.
const STEPS_FOR_EACH: u64 = 150;
/// Text that templates may make whatever the run, bytes.
const TEXT: usize = 1_000_000;
/// And for each quantity of the run, and for each byte of its entries, which are a part of the report.
const TEXT_FOR_EACH: usize = 300;
const TEXT_FOR_ENTRIES: usize = 8;

/// What the engine is told when there is no more room for text.
pub(super) const FULL: &str = "the text has no end";

/// How far templates may go with one run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Limits {
    /// Steps of the engine.
    pub(super) steps: u64,
    /// Bytes of text.
    pub(super) text: usize,
}

impl Limits {
    /// In proportion to what there is to report.
    pub(super) fn of(material: &Material) -> Self {
        let quantities = material.reduction.worksheet.nodes().count();
        let beside = material.run.beside.iter().map(|file| file.bytes.len());
        let record = material.record.json().map_or(0, |json| json.len());
        let entries = material.text.len() + beside.sum::<usize>() + record;
        let text = TEXT + TEXT_FOR_EACH * quantities + TEXT_FOR_ENTRIES * entries;
        let steps = STEPS + STEPS_FOR_EACH * quantities as u64 + (text / 64) as u64;
        Self { steps, text }
    }
}

/// Where in a template a `+` stands that could join lists: at neither side of it is a plain number. Byte offset.
pub(super) fn joins_lists(template: &str) -> Option<usize> {
    let mut at = 0;
    while let Some((start, end)) = next_tag(template, at) {
        let inside = &template[start + 2..end];
        if let Some(found) = joined(inside) {
            return Some(start + 2 + found);
        }
        at = end + 2;
        if inside.trim_matches(['-', '+', ' ']) == "raw" {
            // What is raw ends at its own tag; without one nothing comes of the template.
            at += template.get(at..)?.find("endraw")?;
        }
    }
    None
}

/// The next tag that computes something: where its two opening characters and its two closing ones stand.
fn next_tag(template: &str, from: usize) -> Option<(usize, usize)> {
    let mut from = from;
    loop {
        let start = from + template.get(from..)?.find('{')?;
        let end = match template.as_bytes().get(start + 1) {
            Some(b'{') => closing(template, start + 2, "}}"),
            Some(b'%') => closing(template, start + 2, "%}"),
            Some(b'#') => {
                from = start + 2 + template.get(start + 2..)?.find("#}")? + 2;
                continue;
            }
            _ => {
                from = start + 1;
                continue;
            }
        };
        return Some((start, end?));
    }
}

/// Where a tag ends.
fn closing(template: &str, from: usize, mark: &str) -> Option<usize> {
    let rest = template.get(from..)?;
    let mut outside = unquoted(rest);
    outside
        .find(|(at, _)| rest[*at..].starts_with(mark))
        .map(|(at, _)| from + at)
}

/// The characters outside quoted text.
fn unquoted(text: &str) -> impl Iterator<Item = (usize, char)> + '_ {
    let mut quote = None;
    let mut escaped = false;
    text.char_indices().filter(move |(_, c)| {
        match quote {
            Some(_) if escaped => escaped = false,
            Some(_) if *c == '\\' => escaped = true,
            Some(open) if open == *c => quote = None,
            Some(_) => {}
            None if matches!(c, '"' | '\'') => quote = Some(*c),
            None => return true,
        }
        false
    })
}

/// Where inside a tag lists could be joined.
fn joined(tag: &str) -> Option<usize> {
    let mut outside = unquoted(tag);
    let found = outside.find(|(at, c)| {
        let (before, after) = (tag[..*at].trim_end(), tag[*at..].trim_start_matches('+'));
        let after = after.trim_start();
        // At an edge of the tag it is about white space.
        let edge = before.is_empty() || after.is_empty();
        *c == '+' && !edge && !ends_in_number(before) && !begins_with_number(after)
    });
    found.map(|(at, _)| at)
}

/// Whether a plain number begins here that is taken by itself, not times something.
fn begins_with_number(text: &str) -> bool {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let rest = text[digits..].trim_start();
    digits > 0 && !rest.starts_with(['*', '|', '[', '.', '_'])
}

/// Whether a plain number ends here that is taken by itself.
fn ends_in_number(text: &str) -> bool {
    let before = text.trim_end_matches(|c: char| c.is_ascii_digit());
    let part_of_more = before.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | '.'));
    before.len() < text.len() && !part_of_more && !before.trim_end().ends_with('*')
}

#[cfg(test)]
mod tests {
    use super::joins_lists;

    #[test]
    fn lists_are_not_joined_and_numbers_are_added() {
        for (text, joins) in [
            ("a + b {{ c }}", false),
            ("{{ x + x }}", true),
            ("{% set ns.x = ns.x + ns.x %}", true),
            ("{{ x + [1] }}", true),
            ("{{ x + 2 * [1] }}", true),
            ("{{ [1] * 2 + x }}", true),
            ("{{ x2 + y }}", true),
            ("{{ loop.index + 1 }} {{ 1 + loop.index }}", false),
            ("{{ f(2 + n)|length }}", false),
            ("{{ '}} + ' ~ \"\\\" + \" }}", false),
            ("{{+ x +}} {%+ if y +%}{%- endif -%}", false),
            ("{# a + b #}{% raw %}{{ x + x }}{% endraw %}", false),
            ("{% raw %}{{ x + x }}{% endraw %}{{ y + y }}", true),
            ("{ {{ a", false),
        ] {
            assert_eq!(joins_lists(text).is_some(), joins, "{text}");
        }
        assert_eq!(joins_lists("é{{ a + b }}"), Some(7));
    }
}
