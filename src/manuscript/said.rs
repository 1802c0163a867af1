//! What a manuscript says of itself in words: what references read, numbers of headings, a date in full.
//!
//! Every form of a report has these from here, so that a reader of one finds the same in another.

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt;

use super::{Block, Heading, Inline};

/// Why what a manuscript says cannot be set in any form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unsaid {
    /// A reference to a label that nothing bears.
    UnknownLabel(String),
}

impl fmt::Display for Unsaid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownLabel(label) => write!(f, "nothing bears the label #{label}"),
        }
    }
}

impl Error for Unsaid {}

/// Month names of the long form of a date.
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// What references to each label say: "Table 3", "Figure 1", "Section 2.1", "Appendix A", "equation (4)".
#[must_use]
pub fn references(blocks: &[Block]) -> BTreeMap<String, String> {
    let mut said = BTreeMap::new();
    collect_references(blocks, &mut said);
    said
}

fn collect_references(blocks: &[Block], said: &mut BTreeMap<String, String>) {
    for block in blocks {
        let (label, text) = match block {
            Block::Heading(heading) => {
                let text = match &heading.number {
                    Some(number) if number.starts_with(char::is_alphabetic) => {
                        format!("Appendix\u{a0}{number}")
                    }
                    Some(number) => format!("Section\u{a0}{number}"),
                    None => format!("“{}”", plain_text(&heading.text).replace(' ', "\u{a0}")),
                };
                (&heading.label, text)
            }
            Block::Table(table) => (&table.label, numbered("Table", table.number)),
            Block::Figure(figure) => (&figure.label, numbered("Figure", figure.number)),
            Block::List { items, .. } => {
                for (index, item) in items.iter().enumerate() {
                    if let Some(Block::Label(label)) = item.first() {
                        said.insert(label.clone(), format!("item\u{a0}{}", index + 1));
                    }
                    collect_references(item, said);
                }
                continue;
            }
            Block::Panel(inside) => {
                collect_references(inside, said);
                continue;
            }
            Block::Formula(formula) => {
                let text = match formula.number {
                    Some(number) => format!("equation\u{a0}({number})"),
                    None => "the equation".to_owned(),
                };
                (&formula.label, text)
            }
            Block::Paragraph(_)
            | Block::Listing(_)
            | Block::Contents
            | Block::Label(_)
            | Block::NewPage => continue,
        };
        if let Some(label) = label {
            said.insert(label.clone(), text);
        }
    }
}

fn numbered(what: &str, number: Option<u32>) -> String {
    number.map_or_else(|| what.to_owned(), |number| format!("{what}\u{a0}{number}"))
}

/// What a reference to a label says, or its number alone; `references` are those of the document.
///
/// # Errors
/// Nothing bears the label.
pub fn referred(
    references: &BTreeMap<String, String>,
    label: &str,
    number_only: bool,
) -> Result<String, Unsaid> {
    let said = references
        .get(label)
        .ok_or_else(|| Unsaid::UnknownLabel(label.to_owned()))?;
    Ok(if number_only {
        number_alone(said)
    } else {
        said.clone()
    })
}

/// The number alone, in brackets, of what a reference says; all of it where there is no number.
#[must_use]
pub fn number_alone(said: &str) -> String {
    match said.rsplit_once('\u{a0}') {
        Some((_, number)) if !said.starts_with('“') => {
            format!("({})", number.trim_matches(['(', ')']))
        }
        _ => said.to_owned(),
    }
}

/// The sections that a list of contents names: those that stand after it. Each has its number among all sections of the
/// document, counted from 1.
#[must_use]
pub fn contents(blocks: &[Block]) -> Vec<(usize, &Heading)> {
    let mut sections = Vec::new();
    let (mut count, mut found) = (0, false);
    collect_sections(blocks, &mut count, &mut found, &mut sections);
    sections
}

fn collect_sections<'m>(
    blocks: &'m [Block],
    count: &mut usize,
    found: &mut bool,
    sections: &mut Vec<(usize, &'m Heading)>,
) {
    for block in blocks {
        match block {
            Block::Contents => *found = true,
            Block::Heading(heading) if heading.level == 1 => {
                *count += 1;
                if *found {
                    sections.push((*count, heading));
                }
            }
            Block::List { items, .. } => {
                for item in items {
                    collect_sections(item, count, found, sections);
                }
            }
            Block::Panel(inside) => collect_sections(inside, count, found, sections),
            _ => {}
        }
    }
}

/// The text of inlines without their styles.
#[must_use]
pub fn plain_text(inlines: &[Inline]) -> String {
    let mut text = String::new();
    for inline in inlines {
        match inline {
            Inline::Text(part) | Inline::Code(part) => text.push_str(part),
            Inline::Math(math) => text.push_str(&math.words()),
            Inline::Emphasis(inside) | Inline::Strong(inside) | Inline::Struck(inside) => {
                text.push_str(&plain_text(inside));
            }
            Inline::Linked { text: inside, .. } => text.push_str(&plain_text(inside)),
            Inline::Reference(_) | Inline::Number(_) => {}
            Inline::LineEnd => text.push(' '),
        }
    }
    text
}

/// The number that stands before a heading, "Appendix" included where a section has a letter.
#[must_use]
pub fn heading_number(heading: &Heading) -> Option<String> {
    let number = heading.number.as_ref()?;
    let appendix = heading.level == 1 && number.starts_with(char::is_alphabetic);
    let before = if appendix { "Appendix\u{a0}" } else { "" };
    Some(format!("{before}{number}"))
}

/// `2026-03-04` as 4 March 2026; anything else as it is.
#[must_use]
pub fn long_date(date: &str) -> String {
    let parts: Vec<&str> = date.split('-').collect();
    let read = |at: usize| parts.get(at).and_then(|part| part.parse::<usize>().ok());
    let month = read(1).and_then(|month| MONTHS.get(month.checked_sub(1)?));
    match (parts.len(), read(2), month) {
        (3, Some(day), Some(month)) => format!("{day}\u{a0}{month} {}", parts[0]),
        _ => date.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::{long_date, number_alone};

    #[test]
    fn a_number_alone_stands_in_brackets() {
        for (said, alone) in [
            ("equation\u{a0}(4)", "(4)"),
            ("Section\u{a0}2.1", "(2.1)"),
            (
                "“Result\u{a0}at\u{a0}a\u{a0}glance”",
                "“Result\u{a0}at\u{a0}a\u{a0}glance”",
            ),
            ("Table", "Table"),
        ] {
            assert_eq!(number_alone(said), alone);
        }
    }

    #[test]
    fn dates_are_written_out() {
        assert_eq!(long_date("2026-03-04"), "4\u{a0}March 2026");
        assert_eq!(long_date("spring 2026"), "spring 2026");
        assert_eq!(long_date("2026-13-04"), "2026-13-04");
    }
}
