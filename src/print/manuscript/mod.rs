//! What is to be set: prose, tables, formulas and plots, with no size and no place yet.
//!
//! A manuscript is read from Markdown ([`markdown`]) that a template wrote, together with the plots it names. Layout
//! turns it into pages.

pub mod markdown;
pub mod plot;
pub mod said;
pub mod tex;
pub mod walk;
pub mod write_in;

use std::sync::Arc;

use time::Date;

use crate::maths::Math;
use crate::print::page::Pixels;
use plot::Plot;
use write_in::WriteIn;

/// A whole manuscript.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Manuscript {
    /// Title, shown at the top of the first page and in the document's own data.
    pub title: String,
    /// Authors.
    pub authors: Vec<String>,
    /// One line on what it is.
    pub subject: String,
    /// Date of the work, `YYYY-MM-DD`.
    pub date: Option<Date>,
    /// Left part of the running head.
    pub running_head: String,
    /// A word before the running head of every page, e.g. that this is a draft; may be empty.
    pub mark: String,
    /// The line set small at the foot of every page, left of the page number.
    pub running_foot: String,
    /// BCP 47 language tag.
    pub language: String,
    /// The blocks in reading order.
    pub blocks: Vec<Block>,
}

/// A block of the manuscript.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(Heading),
    /// A paragraph.
    Paragraph(Vec<Inline>),
    /// A list.
    List {
        /// What stands before its items.
        marks: ListMarks,
        /// Each item's blocks.
        items: Vec<Vec<Block>>,
    },
    /// A panel set apart by a quiet rule and tint, e.g. the result at a glance.
    Panel(Vec<Block>),
    /// A line of a panel set large: the answer.
    Answer(Vec<Inline>),
    /// A table.
    Table(Table),
    /// A figure.
    Figure(Figure),
    /// A displayed formula.
    Formula(Formula),
    /// Text as it was written, line by line, in monospace, with line numbers.
    Listing(String),
    /// A list of the sections that follow, with their pages; on pages only, and only of many of them.
    Contents,
    /// Shows nothing: the name by which links lead to the item of a list that it begins.
    Label(String),
    /// Goes on at the top of a new page.
    NewPage,
}

/// What stands before the items of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ListMarks {
    /// A point before each.
    Points,
    /// Numbers from 1.
    Numbers,
    /// Letters, by which notes of tables refer to the items.
    Letters,
}

impl ListMarks {
    /// Returns the mark of an item, counted from 1: `•`, `1.`, `a.`
    #[must_use]
    pub fn mark(self, item: usize) -> String {
        match self {
            Self::Points => "•".to_owned(),
            Self::Numbers => format!("{item}."),
            Self::Letters => format!("{}.", letters(item)),
        }
    }
}

/// The letters for a number from 1: `a` to `z`, then `aa`, `ab` and so on.
#[must_use]
pub fn letters(number: usize) -> String {
    let mut found = Vec::new();
    let mut rest = number;
    while rest > 0 {
        found.push(char::from(
            b'a' + u8::try_from((rest - 1) % 26).unwrap_or_default(),
        ));
        rest = (rest - 1) / 26;
    }
    found.iter().rev().collect()
}

/// A heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// 1 for a section, 2 for a part of it, and so on. (The document's title is not a heading.)
    pub level: u8,
    /// What it says, without its number.
    pub text: Vec<Inline>,
    /// The name that references use.
    pub label: Option<String>,
    /// The number before it; `None` for an unnumbered one.
    pub number: Option<SectionNumber>,
}

/// The number of a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SectionNumber {
    /// As it is shown, e.g. `3.2` or `A.1`.
    pub text: String,
    /// Whether it is an appendix or a part of one.
    pub appendix: bool,
}

/// A piece of a line.
#[derive(Debug, Clone, PartialEq)]
pub enum Inline {
    /// Plain text; U+00A0 and U+202F do not break.
    Text(String),
    /// Italic.
    Emphasis(Vec<Inline>),
    /// Bold.
    Strong(Vec<Inline>),
    /// Struck through: left out but legible.
    Struck(Vec<Inline>),
    /// Monospace.
    Code(String),
    /// A formula in the line.
    Math(Arc<Math>),
    /// "Table 3", "Figure 1", "Section 2", "equation (4)": a link to what bears that label.
    Reference(String),
    /// "(4)": the same with the number alone.
    Number(String),
    /// Text that is a link to what bears that label.
    Linked {
        /// Where it leads.
        label: String,
        /// What it says.
        text: Vec<Inline>,
    },
    /// A line end that must stand.
    LineEnd,
    /// A box to tick; at the beginning of a text, it is for that.
    Tick,
    /// A cell to write in.
    WriteIn(WriteIn),
    /// A share of a whole; alone in a cell of a table, with a bar.
    Share {
        /// Its size.
        per_mille: u16,
        /// What it says.
        text: String,
    },
}

/// How a column is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Text, flush left.
    Left,
    /// Centred.
    Centre,
    /// Numbers: aligned on the decimal point, `±` parts on theirs; what is not a number is set flush right.
    Decimal,
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Caption.
    pub caption: Vec<Inline>,
    /// The name that references use.
    pub label: Option<String>,
    /// Its number: `3`, counted through the document, or `A.3`, counted in its appendix. `None` for a table without caption.
    pub number: Option<String>,
    /// One alignment a column.
    pub columns: Vec<Align>,
    /// Head cells.
    pub head: Vec<Vec<Inline>>,
    /// Rows of cells.
    pub rows: Vec<Vec<Vec<Inline>>>,
}

impl Table {
    /// Returns the share that a cell shows with a bar, 0 to 1.
    pub fn bar(cell: &[Inline]) -> Option<f32> {
        match cell {
            [Inline::Share { per_mille, .. }] => Some(f32::from(*per_mille) / 1000.0),
            _ => None,
        }
    }

    /// Returns whether the first cell of each row names what the row is about: text under a head that says what is
    /// named. A table that would then have more heads than values is read aloud faster without.
    pub fn names_its_rows(&self) -> bool {
        let named = self.head.first().is_some_and(|head| !head.is_empty());
        let (rows, columns) = (self.rows.len(), self.head.len());
        let values = rows * columns.saturating_sub(1);
        named && values >= rows + columns && self.columns.first() == Some(&Align::Left)
    }
}

/// A figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Caption.
    pub caption: Vec<Inline>,
    /// The name that references use.
    pub label: Option<String>,
    /// Its number, counted through the document.
    pub number: Option<u32>,
    /// What it shows.
    pub shows: Shown,
}

/// What a figure shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// A plot.
    Plot(Box<Plot>),
    /// A photograph.
    Photo(Photo),
}

/// A photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// The picture, upright, no larger than print needs.
    pub pixels: Arc<Pixels>,
    /// What it shows, for those who cannot see it.
    pub alternative: String,
}

/// A displayed formula: a chain of rows aligned at their relation sign.
///
/// The row *ρ* = *m*/*V* has left *ρ*, right = *m*/*V*. A row too long for the line may be broken where the outermost row of
/// its right side has a [`Math::Break`].
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// Rows: left and right of the alignment point.
    pub rows: Vec<(Arc<Math>, Arc<Math>)>,
    /// The name that references use.
    pub label: Option<String>,
    /// Its number, counted through the document.
    pub number: Option<u32>,
}

impl Formula {
    /// Returns a chain without label and number.
    pub fn new(rows: Vec<(Math, Math)>) -> Self {
        let shared = |(left, right)| (Arc::new(left), Arc::new(right));
        Self {
            rows: rows.into_iter().map(shared).collect(),
            label: None,
            number: None,
        }
    }

    /// Returns the formula in words and plain characters, for those who cannot see it.
    pub fn words(&self) -> String {
        let row = |(left, right): &(Arc<Math>, Arc<Math>)| {
            let said = format!("{} {}", left.words(), right.words());
            said.trim().to_owned()
        };
        self.rows.iter().map(row).collect::<Vec<_>>().join("; ")
    }
}
