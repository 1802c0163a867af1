//! Markdown with maths into blocks.
//!
//! Beyond what Markdown says of itself (`CommonMark` with pipe tables, strike-through and `$` maths):
//!
//! | written | read as |
//! |---|---|
//! | `# Title {#label}` | a numbered section; `{.appendix}` starts lettered numbering, `{.unnumbered}` has no number |
//! | `Table #label: caption`, a paragraph before a pipe table | the table's caption; `#label` may be left out |
//! | `Figure #label: caption`, a paragraph before an image | the figure's caption |
//! | `![](plot:NAME)`, alone in a paragraph | the plot of that name |
//! | `![](photo:1)`, alone in a paragraph | the first photograph |
//! | `![](contents)`, alone in a paragraph | a list of the sections that follow |
//! | `:--`, `:-:`, `--:` under a table's head | columns flush left, centred, on the decimal point |
//! | `[](#label)` | "Table 3", "Figure 1", "Section 2", "equation (4)": a reference |
//! | `[()](#label)` | "(4)": the same with the number alone |
//! | `[text](#label)` | that text, which leads there |
//! | `1. {#label} …` | an item that references lead to |
//! | `1. [ ] …`, or `- [ ] …` | an item with a box to tick |
//! | `[###.## g ≈ 26.89](cell:NAME "what it is")` | a cell to write in: boxes for digits (`…` for a ruled line), unit, what is expected |
//! | `[62.4](share:624)`, alone in a cell of a table | a share with a bar, per mille |
//! | `> …` | a panel; a paragraph of it that is all `**bold**` is the answer, set large |
//! | a fenced or indented code block | a listing |
//! | `---` | a new page |
//! | `$$ … $$` | a displayed formula: rows end at `\\`, aligned at their first `&` |
//! | `$$ … $$ { #label }` | the same with a label |
//!
//! Raw HTML is not interpreted; it is set as the text it is.

mod bound;
mod captioned;
mod inline;
mod numbering;

use std::collections::BTreeMap;
use std::iter::Peekable;
use std::ops::Range;
use std::sync::Arc;

use foldhash::HashMap;
use pulldown_cmark::{Event, HeadingLevel, OffsetIter, Options, Parser, Tag};

use self::captioned::Caption;
use self::inline::{Kind, Opening, formula_label};
use self::numbering::Numbering;
use super::plot::Plot;
use super::{Block, Formula, Heading, Inline, ListMarks, Photo, tex};
use crate::maths::Math;
use crate::maths::handles::Handles;
use crate::problem::{Code, Lines, Problem, Span};

/// Blocks and pieces of lines nested deeper than this are refused; every later pass walks them recursively.
const DEEPEST: usize = 24;

/// The address of the list of contents.
const CONTENTS: &str = "contents";

/// Reads Markdown into blocks; `file` is the name its problems are told under, `plots` and `photos` are what it
/// may show.
///
/// # Errors
/// All problems found, each with its line.
pub fn read(
    text: &str,
    file: &str,
    plots: &BTreeMap<String, Plot>,
    photos: &[Photo],
    handles: &Handles,
) -> Result<Vec<Block>, Vec<Problem>> {
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_MATH
        | Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_TASKLISTS
        // Quotation marks and apostrophes as a printer sets them.
        | Options::ENABLE_SMART_PUNCTUATION;
    let mut reader = Reader {
        events: Parser::new_ext(text, options).into_offset_iter().peekable(),
        text,
        lines: Lines::new(text),
        file: Arc::from(file),
        plots,
        photos,
        numbering: Numbering::default(),
        handles,
        known: HashMap::default(),
        problems: Vec::new(),
        depth: 0,
    };
    let blocks = reader.blocks();
    let Reader {
        mut problems,
        numbering,
        ..
    } = reader;
    problems.extend(numbering.unresolved_references());
    if problems.is_empty() {
        return Ok(blocks);
    }
    crate::problem::sort(&mut problems);
    Err(problems)
}

struct Reader<'a> {
    events: Peekable<OffsetIter<'a>>,
    text: &'a str,
    lines: Lines<'a>,
    file: Arc<str>,
    plots: &'a BTreeMap<String, Plot>,
    photos: &'a [Photo],
    numbering: Numbering,
    /// What characters stand for formulas.
    handles: &'a Handles,
    /// Formulas in lines by their TeX: most of them stand in many places.
    known: HashMap<String, Arc<Math>>,
    problems: Vec<Problem>,
    depth: usize,
}

impl<'a> Reader<'a> {
    fn locate(&self, range: &Range<usize>) -> Span {
        let meant = self.text.get(range.clone()).unwrap_or_default();
        let meant = meant.lines().next().unwrap_or_default().chars().count();
        self.lines.locate(&self.file, range.start, meant)
    }

    fn problem(&mut self, code: Code, headline: impl Into<String>, range: &Range<usize>) {
        let span = self.locate(range);
        self.problems.push(code.error(headline).at("", Some(span)));
    }

    /// Blocks up to the end of the enclosing tag (taken) or of the text.
    fn blocks(&mut self) -> Vec<Block> {
        let mut blocks = Vec::new();
        let mut caption = None;
        self.depth += 1;
        while let Some((event, range)) = self.events.next() {
            if self.depth > DEEPEST {
                self.problem(
                    Code::NestedTooDeep,
                    format!("blocks are nested deeper than {DEEPEST} levels"),
                    &range,
                );
                // What is left cannot be made sense of.
                while self.events.next().is_some() {}
                break;
            }
            if matches!(event, Event::End(_)) {
                break;
            }
            let before = caption.take();
            match self.block(event, &range, before) {
                Read::Caption(read) => caption = Some(read),
                Read::Block(block) => blocks.push(block),
                Read::Nothing => {}
            }
        }
        self.depth -= 1;
        if let Some(caption) = caption {
            self.caption_misplaced(&caption);
        }
        blocks
    }

    fn block(&mut self, event: Event<'a>, range: &Range<usize>, caption: Option<Caption>) -> Read {
        if let Event::Start(Tag::Table(columns)) = event {
            let caption = self.caption_for(Kind::Table, caption);
            return Read::Block(Block::Table(self.table(&columns, caption)));
        }
        if let Event::Start(Tag::Paragraph) = event {
            return self.paragraph(range, caption);
        }
        if let Some(caption) = caption {
            self.caption_misplaced(&caption);
        }
        Read::Block(match event {
            Event::Start(Tag::Heading {
                level, id, classes, ..
            }) => {
                let label = id.map(|id| id.to_string());
                let has = |class: &str| classes.iter().any(|c| &**c == class);
                self.heading(range, level, label, has("appendix"), has("unnumbered"))
            }
            Event::Start(Tag::BlockQuote(_)) => {
                Block::Panel(self.blocks().into_iter().map(answer).collect())
            }
            Event::Start(Tag::List(first)) => self.list(first.is_some()),
            Event::Start(Tag::CodeBlock(_)) => Block::Listing(self.verbatim()),
            Event::Start(Tag::HtmlBlock) => Block::Paragraph(vec![Inline::Text(self.verbatim())]),
            Event::Rule => Block::NewPage,
            // What stands without a paragraph around it: the items of a tight list.
            other => {
                let inlines = self.loose(other, range);
                return if inlines.is_empty() {
                    Read::Nothing
                } else {
                    Read::Block(Block::Paragraph(inlines))
                };
            }
        })
    }

    fn heading(
        &mut self,
        range: &Range<usize>,
        level: HeadingLevel,
        label: Option<String>,
        appendix: bool,
        unnumbered: bool,
    ) -> Block {
        let level = level as u8;
        let number = if unnumbered {
            None
        } else {
            Some(self.numbering.heading(level, appendix))
        };
        self.label(label.as_deref(), range);
        Block::Heading(Heading {
            level,
            text: self.inlines(),
            label,
            number,
        })
    }

    fn label(&mut self, label: Option<&str>, range: &Range<usize>) {
        if let Some(label) = label {
            let span = self.locate(range);
            self.problems.extend(self.numbering.label(label, &span));
        }
    }

    fn list(&mut self, ordered: bool) -> Block {
        let mut items = Vec::new();
        while let Some((Event::Start(Tag::Item), range)) = self.events.next() {
            let mut item = self.blocks();
            let label = match item.first_mut() {
                Some(Block::Paragraph(text)) => inline::opening_label(text),
                _ => None,
            };
            self.label(label.as_deref(), &range);
            item.splice(0..0, label.map(Block::Label));
            items.push(item);
        }
        let is_labelled = |item: &Vec<Block>| matches!(item.first(), Some(Block::Label(_)));
        let marks = match ordered {
            false => ListMarks::Points,
            true if items.iter().any(is_labelled) => ListMarks::Letters,
            true => ListMarks::Numbers,
        };
        Block::List { marks, items }
    }

    /// Returns the text of a code or HTML block, without its last line end.
    fn verbatim(&mut self) -> String {
        let mut text = String::new();
        for (event, _) in self.events.by_ref() {
            match event {
                Event::Text(part) | Event::Html(part) => text.push_str(&part),
                Event::End(_) => break,
                _ => {}
            }
        }
        if text.ends_with('\n') {
            text.pop();
        }
        text
    }

    /// Returns a paragraph, a caption, a figure or a displayed formula: Markdown wraps all of these in a paragraph.
    fn paragraph(&mut self, range: &Range<usize>, caption: Option<Caption>) -> Read {
        if let Some((name, image)) = self.lone_image() {
            if name == CONTENTS {
                if let Some(caption) = caption {
                    self.caption_misplaced(&caption);
                }
                return Read::Block(Block::Contents);
            }
            let caption = self.caption_for(Kind::Figure, caption);
            return self.figure(&name, &image, caption);
        }
        if let Some(caption) = caption {
            self.caption_misplaced(&caption);
        }
        if let Some((Event::DisplayMath(_), _)) = self.events.peek() {
            return self.displayed();
        }
        let mut text = self.inlines();
        let Some(opening) = Opening::take(&mut text) else {
            return Read::Block(Block::Paragraph(text));
        };
        self.label(opening.label.as_deref(), range);
        Read::Caption(Caption {
            opening,
            text,
            span: self.locate(range),
        })
    }

    /// Returns a displayed formula and what may follow it in the same paragraph.
    fn displayed(&mut self) -> Read {
        let Some((Event::DisplayMath(tex), range)) = self.events.next() else {
            return Read::Nothing;
        };
        let trailing = self.inlines();
        let label = formula_label(&trailing);
        self.label(label.as_deref(), &range);
        if label.is_none()
            && trailing
                .iter()
                .any(|inline| !matches!(inline, Inline::Text(text) if text.trim().is_empty()))
        {
            self.problem(
                Code::TextAfterFormula,
                "a displayed formula must stand alone in its paragraph",
                &range,
            );
        }
        match tex::read_rows(&tex, self.handles) {
            Ok(rows) => Read::Block(Block::Formula(Formula {
                label,
                number: Some(self.numbering.formula()),
                ..Formula::new(rows)
            })),
            Err(why) => {
                self.problem(
                    Code::MalformedFormula,
                    format!("a formula cannot be read: {why}"),
                    &range,
                );
                Read::Nothing
            }
        }
    }
}

/// What became of an event at block level.
enum Read {
    Block(Block),
    Caption(Caption),
    Nothing,
}

/// Returns a block of a panel: one of bold text alone is an answer.
fn answer(block: Block) -> Block {
    match block {
        Block::Paragraph(text) if matches!(text[..], [Inline::Strong(_)]) => Block::Answer(text),
        block => block,
    }
}

#[cfg(test)]
mod tests;
