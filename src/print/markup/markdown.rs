//! Markdown to paste into a wiki: `CommonMark` with pipe tables, strike-through and `$` maths; plots as files beside it.
//!
//! References are links to the section in which what they name stands, since Markdown gives names to headings alone.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fmt::Display;

use super::escape::{line_start, markdown as escaped};
use super::mark::marked;
use super::{MarkupError, svg};
use crate::maths::Math;
use crate::print::manuscript::said::{
    Reference, heading_number, long_date, plain_text, reference_text, references,
};
use crate::print::manuscript::walk::each_block;
use crate::print::manuscript::{
    Align, Block, Figure, Formula, Heading, Inline, ListMarks, Manuscript, Table,
};
use crate::print::page::Colour;
use crate::print::typeface::Typefaces;

/// A table whose rows would be longer than this is not padded, characters.
const PADDED: usize = 140;

/// A report in Markdown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Markdown {
    /// The text.
    pub text: String,
    /// Plots it shows, whose files stand beside it: what their names have after the stem, and what is in them.
    pub plots: Vec<(String, String)>,
}

/// Writes a manuscript as Markdown; `stem` begins the names of the plots' files, `accent` is their second ink. Each file says
/// near its beginning what it was `made_from`, a word of letters and digits, if that is not empty.
///
/// # Errors
/// As [`super::html()`].
pub fn markdown(
    manuscript: &Manuscript,
    typefaces: &Typefaces,
    accent: Colour,
    stem: &OsStr,
    made_from: &str,
) -> Result<Markdown, MarkupError> {
    let mut writer = Writer {
        typefaces,
        accent,
        stem,
        made_from,
        references: references(&manuscript.blocks),
        sections: sections(&manuscript.blocks),
        names: BTreeSet::new(),
        plots: Vec::new(),
    };
    let mut blocks = vec![format!("# {}", escaped(&manuscript.title))];
    if !manuscript.mark.is_empty() {
        blocks.push(format!("**{}**", escaped(&manuscript.mark)));
    }
    if !manuscript.subject.is_empty() {
        blocks.push(format!("*{}*", escaped(&manuscript.subject)));
    }
    let byline = [manuscript.authors.join(", "), long_date(manuscript.date)];
    let byline: Vec<String> = byline
        .iter()
        .filter(|part| !part.is_empty())
        .map(|part| escaped(part))
        .collect();
    blocks.push(line_start(&byline.join(" · ")));
    blocks.extend(writer.blocks(&manuscript.blocks)?);
    blocks.push(line_start(&escaped(&manuscript.running_foot)));
    blocks.retain(|block| !block.is_empty());
    let text = format!("\n{}\n", blocks.join("\n\n"));
    let plots: Vec<String> = writer.plots.iter().map(|(name, _)| name.clone()).collect();
    Ok(Markdown {
        text: marked("", &text, made_from, &plots),
        plots: writer.plots,
    })
}

struct Writer<'a> {
    typefaces: &'a Typefaces,
    accent: Colour,
    stem: &'a OsStr,
    made_from: &'a str,
    /// What references to each label say.
    references: BTreeMap<String, Reference>,
    /// The name of the heading above each label.
    sections: BTreeMap<String, String>,
    /// Names of plots that are taken.
    names: BTreeSet<String>,
    plots: Vec<(String, String)>,
}

impl Writer<'_> {
    fn blocks(&mut self, blocks: &[Block]) -> Result<Vec<String>, MarkupError> {
        let shown = blocks
            .iter()
            .filter(|block| !matches!(block, Block::Label(_)));
        shown.map(|block| self.block(block)).collect()
    }

    fn block(&mut self, block: &Block) -> Result<String, MarkupError> {
        Ok(match block {
            Block::Heading(heading) => self.heading(heading)?,
            Block::Paragraph(text) | Block::Answer(text) => {
                line_start(&self.inlines(text, "\\\n")?)
            }
            Block::List { marks, items } => self.list(*marks, items)?,
            Block::Panel(blocks) => indented(&self.blocks(blocks)?.join("\n\n"), "> ", "> "),
            Block::Table(table) => self.table(table)?,
            Block::Figure(figure) => self.figure(figure)?,
            Block::Formula(formula) => displayed(formula),
            Block::Listing(text) => {
                let fence = "`".repeat(longest_run(text, '`').max(2) + 1);
                format!("{fence}\n{}\n{fence}", text.trim_end_matches('\n'))
            }
            Block::Contents | Block::Label(_) | Block::NewPage => String::new(),
        })
    }

    fn heading(&self, heading: &Heading) -> Result<String, MarkupError> {
        let signs = "#".repeat(usize::from(heading.level + 1).min(6));
        let number = number_of(heading);
        let text = self.inlines(&heading.text, " ")?;
        // Signs at the end would be taken for a closing of the heading.
        let text = text
            .strip_suffix('#')
            .map_or_else(|| text.clone(), |before| format!("{before}\\#"));
        Ok(format!("{signs} {number}{text}"))
    }

    fn list(&mut self, marks: ListMarks, items: &[Vec<Block>]) -> Result<String, MarkupError> {
        let mut set = Vec::new();
        let mut apart = "\n";
        for (index, item) in items.iter().enumerate() {
            let mark = marks.mark(index + 1);
            let (sign, rest) = match marks {
                ListMarks::Points => ("- ".to_owned(), 2),
                ListMarks::Numbers => (format!("{mark} "), mark.len() + 1),
                // Markdown knows no lists with letters.
                ListMarks::Letters => (format!("- {mark} "), 2),
            };
            let blocks = self.blocks(item)?;
            if blocks.len() > 1 {
                apart = "\n\n";
            }
            let rest = " ".repeat(rest);
            set.push(indented(&blocks.join("\n\n"), &sign, &rest));
        }
        Ok(set.join(apart))
    }

    fn table(&self, table: &Table) -> Result<String, MarkupError> {
        let mut rows = Vec::with_capacity(table.rows.len() + 1);
        for row in std::iter::once(&table.head).chain(&table.rows) {
            let cells: Result<Vec<String>, MarkupError> =
                row.iter().map(|cell| self.cell(cell)).collect();
            rows.push(cells?);
        }
        let mut widths: Vec<usize> = (0..table.columns.len())
            .map(|column| {
                let lengths = rows.iter().filter_map(|row| row.get(column));
                lengths
                    .map(|cell| cell.chars().count())
                    .max()
                    .unwrap_or_default()
                    .max(3)
            })
            .collect();
        if widths.iter().sum::<usize>() > PADDED {
            widths.fill(3);
        }
        let rule: Vec<String> = table
            .columns
            .iter()
            .zip(&widths)
            .map(|(align, width)| match align {
                Align::Left => format!(":{}", "-".repeat(width - 1)),
                Align::Centre => format!(":{}:", "-".repeat(width - 2)),
                Align::Decimal => format!("{}:", "-".repeat(width - 1)),
            })
            .collect();
        rows.insert(1, rule);
        let lines = rows.iter().map(|row| {
            let cells = row.iter().enumerate().map(|(column, cell)| {
                let width = widths.get(column).copied().unwrap_or_default();
                match table.columns.get(column) {
                    Some(Align::Decimal) => format!(" {cell:>width$} |"),
                    _ => format!(" {cell:<width$} |"),
                }
            });
            format!("|{}", cells.collect::<String>())
        });
        let set = lines.collect::<Vec<_>>().join("\n");
        let caption = self.caption("Table", table.number.as_ref(), &table.caption)?;
        Ok(if caption.is_empty() {
            set
        } else {
            format!("{caption}\n\n{set}")
        })
    }

    /// Returns a cell on one line; a bar in it is no end of the cell, whatever it stands in.
    fn cell(&self, cell: &[Inline]) -> Result<String, MarkupError> {
        let set = self.inlines(cell, " ")?;
        let mut text = String::with_capacity(set.len());
        let mut escaped = false;
        for c in set.chars() {
            if c == '|' && !escaped {
                text.push('\\');
            }
            escaped = c == '\\' && !escaped;
            text.push(c);
        }
        Ok(text)
    }

    fn caption(
        &self,
        what: &str,
        number: Option<impl Display>,
        text: &[Inline],
    ) -> Result<String, MarkupError> {
        let Some(number) = number else {
            return Ok(String::new());
        };
        let text = self.inlines(text, " ")?;
        Ok(format!("**{what} {number}.** {text}"))
    }

    fn figure(&mut self, figure: &Figure) -> Result<String, MarkupError> {
        let name = format!("{}.svg", self.name(figure));
        let alternative = escaped(svg::alternative(figure));
        let drawn = svg::svg(figure, "", self.accent, self.typefaces)?;
        let address = format!("{}.{name}", address(self.stem.as_encoded_bytes()));
        let drawn = marked("", &drawn, self.made_from, &[]);
        self.plots.push((name, drawn));
        let caption = self.caption("Figure", figure.number, &figure.caption)?;
        Ok(format!("![{alternative}]({address})\n\n{caption}")
            .trim_end()
            .to_owned())
    }

    /// Returns a name for a figure's file that no other has: by its label, else by count.
    fn name(&mut self, figure: &Figure) -> String {
        let label = figure.label.as_deref().unwrap_or_default();
        let named: String = label
            .strip_prefix("plot-")
            .unwrap_or(label)
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
            .collect();
        let mut name = named;
        let mut count = self.plots.len() + 1;
        while name.is_empty() || !self.names.insert(name.clone()) {
            name = format!("figure-{count}");
            count += 1;
        }
        name
    }

    /// Returns a text as a link to the section in which a label stands.
    fn linked(&self, said: &str, label: &str) -> String {
        match self.sections.get(label) {
            Some(section) => format!("[{said}](#{section})"),
            None => said.to_owned(),
        }
    }

    /// Pieces of a line; `end` stands for a line end.
    fn inlines(&self, inlines: &[Inline], end: &str) -> Result<String, MarkupError> {
        let mut text = String::new();
        for inline in inlines {
            match inline {
                Inline::Text(part) => text.push_str(&escaped(part)),
                Inline::Emphasis(inside) => {
                    text.push_str(&format!("*{}*", self.inlines(inside, end)?));
                }
                Inline::Strong(inside) => {
                    text.push_str(&format!("**{}**", self.inlines(inside, end)?));
                }
                Inline::Struck(inside) => {
                    text.push_str(&format!("~~{}~~", self.inlines(inside, end)?));
                }
                Inline::Code(part) => text.push_str(&code(part)),
                Inline::Math(math) => text.push_str(&format!("${}$", tex(math))),
                Inline::Reference(label) | Inline::Number(label) => {
                    let number_only = matches!(inline, Inline::Number(_));
                    let said = reference_text(&self.references, label, number_only)?;
                    text.push_str(&self.linked(&escaped(&said), label));
                }
                Inline::Linked {
                    text: inside,
                    label,
                } => text.push_str(&self.linked(&self.inlines(inside, end)?, label)),
                Inline::LineEnd => text.push_str(end),
                Inline::Tick => text.push_str("☐ "),
                Inline::Share { text: share, .. } => text.push_str(&escaped(share)),
                Inline::WriteIn(cell) => {
                    text.push_str(r"\_\_\_\_\_\_\_\_");
                    text.push_str(&escaped(&format!(" {}", cell.unit)));
                }
            }
        }
        Ok(text)
    }
}

/// Returns the number before the text of a heading, with the space between them.
fn number_of(heading: &Heading) -> String {
    let number = heading_number(heading);
    number.map_or_else(String::new, |number| {
        format!("{} ", number.replace('\u{a0}', " "))
    })
}

/// Returns the anchor of the heading above each label, as renderers of Markdown derive it from the text of the heading: in
/// lower case, without punctuation, with hyphens for spaces; a number is appended if an earlier heading has the same anchor.
fn sections(blocks: &[Block]) -> BTreeMap<String, String> {
    let mut sections = BTreeMap::new();
    let mut here = String::new();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    each_block(blocks, &mut |block| {
        let label = match block {
            Block::Heading(heading) => {
                let title = format!("{}{}", number_of(heading), plain_text(&heading.text));
                let kept = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_');
                let name: String = title.to_lowercase().chars().filter(kept).collect();
                let name = name.replace(' ', "-");
                let count = counts.entry(name.clone()).or_default();
                here = match *count {
                    0 => name,
                    again => format!("{name}-{again}"),
                };
                *count += 1;
                heading.label.as_ref()
            }
            Block::Table(table) => table.label.as_ref(),
            Block::Figure(figure) => figure.label.as_ref(),
            Block::Formula(formula) => formula.label.as_ref(),
            Block::Label(label) => Some(label),
            Block::Paragraph(_)
            | Block::Answer(_)
            | Block::List { .. }
            | Block::Panel(_)
            | Block::Listing(_)
            | Block::Contents
            | Block::NewPage => None,
        };
        if let Some(label) = label.filter(|_| !here.is_empty()) {
            sections.insert(label.clone(), here.clone());
        }
    });
    sections
}

/// Returns a formula in which no sign begins or ends code, which goes before formulas: a backtick is written as the
/// letter that looks like it.
fn tex(math: &Math) -> String {
    math.tex_unbroken().trim().replace('`', "\u{2cb}")
}

/// Returns a chain of equations.
fn displayed(formula: &Formula) -> String {
    let rows: Vec<[String; 2]> = formula
        .rows
        .iter()
        .map(|(left, right)| [tex(left), tex(right)])
        .collect();
    let number = formula
        .number
        .map_or_else(String::new, |number| format!("\n\\tag{{{number}}}"));
    if let [[left, right]] = rows.as_slice() {
        return format!("$$\n{}{number}\n$$", format!("{left} {right}").trim());
    }
    let rows: Vec<String> = rows
        .iter()
        .map(|[left, right]| format!("{left} &{right}").trim().to_owned())
        .collect();
    format!(
        "$$\n\\begin{{aligned}}\n{}\n\\end{{aligned}}{number}\n$$",
        rows.join(" \\\\\n")
    )
}

/// Lines behind signs: the first behind one, the others behind another.
fn indented(text: &str, first: &str, others: &str) -> String {
    let lines = text.lines().enumerate().map(|(index, line)| {
        let sign = if index == 0 { first } else { others };
        format!("{sign}{line}").trim_end().to_owned()
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Returns the longest run of a character.
fn longest_run(text: &str, of: char) -> usize {
    text.split(|c| c != of).map(str::len).max().unwrap_or(0)
}

/// Text as it was written, between as many signs as it needs.
fn code(text: &str) -> String {
    let text = text.replace(['\n', '\r'], " ");
    let signs = "`".repeat(longest_run(&text, '`') + 1);
    let room = if text.starts_with('`') || text.ends_with('`') {
        " "
    } else {
        ""
    };
    format!("{signs}{room}{text}{room}{signs}")
}

/// Returns the name of a file as an address relative to the text (RFC 3986, section 2.1).
fn address(name: &[u8]) -> String {
    name.iter()
        .map(|byte| match byte {
            b'0'..=b'9' | b'A'..=b'Z' | b'a'..=b'z' | b'-' | b'.' | b'_' | b'~' => {
                char::from(*byte).to_string()
            }
            other => format!("%{other:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{address, code};

    #[test]
    fn code_and_addresses_keep_to_themselves() {
        assert_eq!(code("a`b"), "``a`b``");
        assert_eq!(code("`"), "`` ` ``");
        assert_eq!(address(b"my run(1).svg"), "my%20run%281%29.svg");
    }
}
