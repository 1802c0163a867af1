//! Manuscript into pages.
//!
//! Four passes: *collect* and *measure* make words of a text (`inline`), *break* makes lines of words (`paragraph`) and
//! rows of tables and formulas (`table`, `formula`), *place* sets them as strips across the column (`line`,
//! `flow_item`) and those on pages (`flow`), where text may pass a figure (`reading_order`). A list of contents is filled in when their heights are known (`contents`).
//! Elements of the document's structure are made on the way, in reading order. What stands on every page comes last
//! (`furniture`), when their number is known.

mod blocks;
mod contents;
mod digits;
mod fitting;
mod flow;
mod flow_item;
mod formula;
mod furniture;
mod inline;
mod line;
mod listing;
mod math_nodes;
mod maths;
mod paragraph;
mod reading_order;
mod style;
mod syllables;
mod table;
mod text_run;
mod words;
mod write_in;

pub use style::Style;

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use self::contents::Listed;
use self::flow::{Placed, flow};
use self::maths::Maths;
use crate::print::figure;
use crate::print::manuscript::Manuscript;
use crate::print::manuscript::said::{self, ManuscriptError, Reference};
use crate::print::page::{About, Document, Element, Glyph, Link, Role};
use crate::print::typeface::Typefaces;
use crate::problem::{Code, Problem};

/// A set document, and what could not be set as it was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// The document.
    pub document: Document,
    /// Warnings: characters that no face has.
    pub warnings: Vec<Problem>,
}

/// Why a manuscript cannot be set.
#[derive(Debug)]
pub enum LayoutError {
    /// What it says.
    Said(ManuscriptError),
    /// A plot cannot be drawn.
    Figure(figure::FigureError),
}

impl std::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Said(unsaid) => unsaid.fmt(f),
            Self::Figure(failure) => write!(f, "a plot cannot be drawn: {failure}"),
        }
    }
}

impl std::error::Error for LayoutError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Figure(failure) => Some(failure),
            Self::Said(_) => None,
        }
    }
}

impl From<ManuscriptError> for LayoutError {
    fn from(unsaid: ManuscriptError) -> Self {
        Self::Said(unsaid)
    }
}

/// Sets a manuscript in a style.
///
/// Nothing is cut and nothing lies outside a page: what is too wide is broken, set smaller or divided, in this order.
/// A character that no face has is set as U+FFFD, with a warning.
///
/// # Errors
/// A formula that cannot be read, a reference without a target or a plot that cannot be drawn; the first one found.
pub fn set(
    mut manuscript: Manuscript,
    typefaces: &Typefaces,
    style: &Style,
) -> Result<Laid, LayoutError> {
    let root = Element {
        role: Role::Document,
        parent: None,
        alternative: None,
    };
    let mut setter = Layouter {
        style,
        typefaces,
        maths: Maths::new(typefaces, 0.5 * style.text_height()),
        references: said::references(&manuscript.blocks),
        referred: said::referred(&manuscript.blocks)
            .into_iter()
            .map(str::to_owned)
            .collect(),
        structure: vec![root],
        missing: BTreeSet::new(),
        panels: 0,
        sections: 0,
        listed: contents::list(said::contents(&manuscript.blocks)),
        lists: Vec::new(),
        spaces: [const { OnceCell::new() }; 5],
    };
    let column = Column {
        left: style.left_margin,
        width: style.measure(),
    };
    let title = setter.title_block(&manuscript, column, ROOT)?;
    // Each is dropped once it is set: of a long document all of them would take much memory beside the strips.
    let blocks = std::mem::take(&mut manuscript.blocks);
    let mut slabs = setter.blocks(blocks, column, ROOT)?;
    slabs.splice(..0, title);
    let slabs = setter.close_contents(slabs);
    let Placed {
        mut pages,
        outline,
        labels,
        links,
        passed,
    } = flow(slabs, style);
    for (page, link) in links {
        if let (Some(on), Some(&(page, y))) = (pages.get_mut(page), labels.get(&link.label)) {
            let flow_item::PendingLink {
                area,
                description,
                element,
                ..
            } = link;
            on.links.push(Link {
                area,
                page,
                y,
                description,
                element,
            });
        }
    }
    if passed {
        reading_order::reorder(&mut setter.structure, &mut pages);
    }
    setter.furnish(&mut pages, &manuscript, &outline);
    let Layouter {
        structure, missing, ..
    } = setter;
    let about = About {
        title: manuscript.title,
        authors: manuscript.authors,
        subject: manuscript.subject,
        language: manuscript.language,
        date: manuscript.date,
        made_from: String::new(),
    };
    Ok(Laid {
        document: Document {
            about,
            pages,
            structure,
            outline,
            attachments: Vec::new(),
        },
        warnings: warnings(&missing),
    })
}

/// The element that is the whole document.
const ROOT: usize = 0;

/// What the passes share.
struct Layouter<'a> {
    style: &'a Style,
    typefaces: &'a Typefaces,
    maths: Maths<'a>,
    /// What references to each label say.
    references: BTreeMap<String, Reference>,
    /// Labels that the manuscript refers to.
    referred: BTreeSet<String>,
    structure: Vec<Element>,
    missing: BTreeSet<char>,
    panels: usize,
    /// Sections so far.
    sections: usize,
    /// What lists of contents name.
    listed: Vec<Listed>,
    /// The elements of each list of contents.
    lists: Vec<Range<usize>>,
    /// The space of each face and its width in em.
    spaces: [OnceCell<(Glyph, f32)>; 5],
}

/// Where a block may be set: from `left` on, `width` wide.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Column {
    left: f32,
    width: f32,
}

impl Column {
    /// Less on both sides.
    fn inset(self, left: f32, right: f32) -> Self {
        Self {
            left: self.left + left,
            width: (self.width - left - right).max(1.0),
        }
    }
}

fn warnings(missing: &BTreeSet<char>) -> Vec<Problem> {
    missing
        .iter()
        .map(|c| {
            let headline = format!(
                "no typeface has the character U+{:04X}; it is printed as \u{fffd}",
                u32::from(*c)
            );
            Code::MissingGlyph.warning(headline).read(c.to_string())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Style, set};
    use crate::print::manuscript::{Block, Inline, Manuscript};
    use crate::print::typeface::{SHAPED, Typefaces};

    /// Bytes of text that are shaped while a manuscript is set.
    fn shaped(title: &str, words: &str) -> usize {
        let manuscript = Manuscript {
            title: title.to_owned(),
            blocks: vec![Block::Paragraph(vec![Inline::Text(words.to_owned())])],
            ..Manuscript::default()
        };
        let before = SHAPED.get();
        let faces = Typefaces::load();
        set(manuscript, &faces, &Style::default()).expect("can be set");
        SHAPED.get() - before
    }

    #[test]
    fn long_titles_and_words_cost_no_more_than_their_length() {
        for part in ["brine bath strength ", "brine-bath-", "x", "漢", "\u{301}"] {
            let of = |times: usize| {
                let text = part.repeat(times);
                [shaped(&text, ""), shaped("", &text)]
            };
            for (short, long) in of(2_000).into_iter().zip(of(8_000)) {
                assert!(
                    long < 6 * short.max(10_000),
                    "{part}: {short}, and then {long}"
                );
            }
        }
    }
}
