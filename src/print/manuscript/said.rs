//! What a manuscript says of itself in words: what references read, numbers of headings, a date in full.
//!
//! Every form of a report has these from here, so that a reader of one finds the same in another.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use time::Date;

use super::walk::{each_block, each_inline};
use super::{Block, Heading, Inline};

/// Why what a manuscript says cannot be set in any form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ManuscriptError {
    /// A reference to a label that nothing bears.
    #[error("nothing has the label #{0}")]
    UnknownLabel(String),
}

/// What a reference says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reference {
    /// "Table 3", "Figure 1", "Section 2.1", "Appendix A", "equation (4)".
    pub text: String,
    /// The number alone, in brackets; all of it where there is no number.
    pub alone: String,
}

impl Reference {
    fn numbered(text: String, number: &str) -> Self {
        let alone = format!("({number})");
        Self { text, alone }
    }

    fn unnumbered(text: String) -> Self {
        let alone = text.clone();
        Self { text, alone }
    }
}

/// Returns what references to each label say.
pub fn references(blocks: &[Block]) -> BTreeMap<String, Reference> {
    let mut said = BTreeMap::new();
    each_block(blocks, &mut |block| {
        let (label, reference) = match block {
            Block::Heading(heading) => {
                let reference = if let Some(number) = &heading.number {
                    let what = if number.appendix {
                        "Appendix"
                    } else {
                        "Section"
                    };
                    Reference::numbered(format!("{what}\u{a0}{}", number.text), &number.text)
                } else {
                    let title = plain_text(&heading.text).replace(' ', "\u{a0}");
                    Reference::unnumbered(format!("“{title}”"))
                };
                (&heading.label, reference)
            }
            Block::Table(table) => (&table.label, captioned("Table", table.number.as_ref())),
            Block::Figure(figure) => (&figure.label, captioned("Figure", figure.number)),
            Block::List { marks, items } => {
                for (index, item) in items.iter().enumerate() {
                    if let Some(Block::Label(label)) = item.first() {
                        let mark = marks.mark(index + 1);
                        let number = mark.trim_end_matches('.');
                        let text = format!("item\u{a0}{number}");
                        said.insert(label.clone(), Reference::numbered(text, number));
                    }
                }
                return;
            }
            Block::Formula(formula) => {
                let reference = match formula.number {
                    Some(number) => Reference::numbered(
                        format!("equation\u{a0}({number})"),
                        &number.to_string(),
                    ),
                    None => Reference::unnumbered("the equation".to_owned()),
                };
                (&formula.label, reference)
            }
            Block::Paragraph(_)
            | Block::Answer(_)
            | Block::Panel(_)
            | Block::Listing(_)
            | Block::Contents
            | Block::Label(_)
            | Block::NewPage => return,
        };
        if let Some(label) = label {
            said.insert(label.clone(), reference);
        }
    });
    said
}

fn captioned(what: &str, number: Option<impl fmt::Display>) -> Reference {
    match number {
        Some(number) => Reference::numbered(format!("{what}\u{a0}{number}"), &number.to_string()),
        None => Reference::unnumbered(what.to_owned()),
    }
}

/// Returns what a reference to a label says, or its number alone; `references` are those of the document.
///
/// # Errors
/// Nothing bears the label.
pub fn reference_text(
    references: &BTreeMap<String, Reference>,
    label: &str,
    number_only: bool,
) -> Result<String, ManuscriptError> {
    let said = references
        .get(label)
        .ok_or_else(|| ManuscriptError::UnknownLabel(label.to_owned()))?;
    Ok(if number_only { &said.alone } else { &said.text }.clone())
}

/// Returns the sections that a list of contents names: those that stand after it. Each has its number among all
/// sections of the document, counted from 1.
pub fn contents(blocks: &[Block]) -> Vec<(usize, &Heading)> {
    let mut sections = Vec::new();
    let (mut count, mut found) = (0, false);
    each_block(blocks, &mut |block| match block {
        Block::Contents => found = true,
        Block::Heading(heading) if heading.level == 1 => {
            count += 1;
            if found {
                sections.push((count, heading));
            }
        }
        _ => {}
    });
    sections
}

/// Returns the labels of the numbered items that the text of a manuscript refers to.
pub fn referred(blocks: &[Block]) -> BTreeSet<&str> {
    let mut labels = BTreeSet::new();
    each_block(blocks, &mut |block| labels.extend(refers_to(block)));
    labels
}

/// Returns the labels of the numbered items ("Table 3", "(4)") that a block's text refers to.
pub fn refers_to(block: &Block) -> Vec<&str> {
    let mut labels = Vec::new();
    for text in block.texts() {
        each_inline(text, &mut |inline| {
            if let Inline::Reference(label) | Inline::Number(label) = inline {
                labels.push(label.as_str());
            }
        });
    }
    labels
}

/// Returns the text of inlines without their styles.
pub fn plain_text(inlines: &[Inline]) -> String {
    let mut text = String::new();
    for inline in inlines {
        match inline {
            Inline::Text(part) | Inline::Code(part) | Inline::Share { text: part, .. } => {
                text.push_str(part);
            }
            Inline::Math(math) => text.push_str(&math.words()),
            Inline::Emphasis(inside) | Inline::Strong(inside) | Inline::Struck(inside) => {
                text.push_str(&plain_text(inside));
            }
            Inline::Linked { text: inside, .. } => text.push_str(&plain_text(inside)),
            Inline::Reference(_) | Inline::Number(_) | Inline::Tick => {}
            Inline::LineEnd => text.push(' '),
            Inline::WriteIn(cell) => text.push_str(&cell.said),
        }
    }
    text
}

/// Returns the number that stands before a heading, "Appendix" included where a section has a letter.
pub fn heading_number(heading: &Heading) -> Option<String> {
    let number = heading.number.as_ref()?;
    let appendix = heading.level == 1 && number.appendix;
    let before = if appendix { "Appendix\u{a0}" } else { "" };
    Some(format!("{before}{}", number.text))
}

/// Returns a day written out, as 4 March 2026; empty where there is none.
pub fn long_date(date: Option<Date>) -> String {
    date.map_or_else(String::new, |date| {
        format!("{}\u{a0}{} {:04}", date.day(), date.month(), date.year())
    })
}

#[cfg(test)]
mod tests {
    use super::{captioned, long_date};

    #[test]
    fn a_number_alone_stands_in_brackets() {
        assert_eq!(captioned("Table", Some(3)).alone, "(3)");
        assert_eq!(captioned("Table", None::<u32>).alone, "Table");
    }

    #[test]
    fn dates_are_written_out() {
        let day = time::Date::from_ordinal_date(2026, 63).ok();
        assert_eq!(long_date(day), "4\u{a0}March 2026");
        assert_eq!(long_date(None), "");
    }
}
