//! Pieces of lines, and the openings of captions.

use std::ops::Range;
use std::sync::Arc;

use pulldown_cmark::{Event, Tag};

use super::bound::bound;
use super::{DEEPEST, Reader};
use crate::print::manuscript::Inline;
use crate::print::manuscript::tex;
use crate::print::manuscript::write_in::WriteIn;
use crate::problem::Code;

/// Begins the address of a cell to write in.
const CELL: &str = "cell:";
/// Begins the address of a share; per mille follow.
const SHARE: &str = "share:";

impl<'a> Reader<'a> {
    /// Pieces up to the end of the enclosing tag, which is taken.
    pub(super) fn inlines(&mut self) -> Vec<Inline> {
        // Most cells of tables, of which a long report has most, hold one.
        let mut inlines = Vec::with_capacity(1);
        while let Some((event, range)) = self.events.next() {
            if matches!(event, Event::End(_)) {
                break;
            }
            self.inline(event, &range, &mut inlines);
        }
        bind(&mut inlines);
        inlines
    }

    /// Pieces that stand in no paragraph, from `first` on; what ends or interrupts them is left.
    pub(super) fn loose(&mut self, first: Event<'a>, range: &Range<usize>) -> Vec<Inline> {
        let mut inlines = Vec::new();
        self.inline(first, range, &mut inlines);
        while let Some((event, range)) = self.events.next_if(|(event, _)| is_inline(event)) {
            self.inline(event, &range, &mut inlines);
        }
        bind(&mut inlines);
        inlines
    }

    fn inline(&mut self, event: Event<'a>, range: &Range<usize>, inlines: &mut Vec<Inline>) {
        match event {
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => {
                push_text(inlines, &text);
            }
            Event::SoftBreak => push_text(inlines, " "),
            Event::HardBreak => inlines.push(Inline::LineEnd),
            Event::Code(text) => inlines.push(Inline::Code(text.to_string())),
            Event::InlineMath(tex) => self.maths(&tex, range, inlines),
            Event::DisplayMath(tex) => {
                self.problem(
                    Code::FormulaInLine,
                    "a displayed formula must stand alone in its paragraph",
                    range,
                );
                self.maths(&tex, range, inlines);
            }
            Event::Start(tag) => {
                self.depth += 1;
                if self.depth > DEEPEST {
                    self.problem(
                        Code::NestedTooDeep,
                        format!("text is nested deeper than {DEEPEST} levels"),
                        range,
                    );
                    while self.events.next().is_some() {}
                    return;
                }
                self.span(tag, range, inlines);
                self.depth -= 1;
            }
            Event::TaskListMarker(_) => inlines.push(Inline::Tick),
            // Footnotes are not asked for, so nothing else arrives here.
            _ => {}
        }
    }

    fn span(&mut self, tag: Tag<'a>, range: &Range<usize>, inlines: &mut Vec<Inline>) {
        match tag {
            Tag::Emphasis => inlines.push(Inline::Emphasis(self.inlines())),
            Tag::Strong => inlines.push(Inline::Strong(self.inlines())),
            Tag::Strikethrough => inlines.push(Inline::Struck(self.inlines())),
            Tag::Link {
                dest_url, title, ..
            } => {
                let text = self.inlines();
                if let Some(name) = dest_url.strip_prefix(CELL) {
                    inlines.push(Inline::WriteIn(WriteIn::read(&plain(&text), name, &title)));
                    return;
                }
                let per_mille = dest_url.strip_prefix(SHARE).and_then(|of| of.parse().ok());
                if let Some(per_mille) = per_mille.filter(|per_mille| *per_mille <= 1000) {
                    let text = plain(&text);
                    inlines.push(Inline::Share { per_mille, text });
                    return;
                }
                match dest_url.strip_prefix('#') {
                    Some(label) => {
                        let span = self.locate(range);
                        self.numbering.reference(label, span);
                        let label = label.to_owned();
                        inlines.push(if text.is_empty() {
                            Inline::Reference(label)
                        } else if plain(&text) == "()" {
                            Inline::Number(label)
                        } else {
                            Inline::Linked { label, text }
                        });
                    }
                    // On paper an address is text: it is set after what it was given for.
                    _ if plain(&text) == *dest_url || text.is_empty() => {
                        push_text(inlines, &dest_url);
                    }
                    _ => {
                        inlines.extend(text);
                        push_text(inlines, &format!(" ({dest_url})"));
                    }
                }
            }
            Tag::Image { .. } => {
                self.inlines();
                self.problem(
                    Code::ImageInLine,
                    "an image must stand alone in its paragraph",
                    range,
                );
            }
            _ => inlines.extend(self.inlines()),
        }
    }

    fn maths(&mut self, tex: &str, range: &Range<usize>, inlines: &mut Vec<Inline>) {
        if let Some(known) = self.known.get(tex) {
            inlines.push(Inline::Math(Arc::clone(known)));
            return;
        }
        match tex::read_shared(tex, self.handles) {
            Ok(read) => {
                self.known.insert(tex.to_owned(), Arc::clone(&read));
                inlines.push(Inline::Math(read));
            }
            Err(why) => self.problem(
                Code::MalformedFormula,
                format!("a formula cannot be read: {why}"),
                range,
            ),
        }
    }
}

fn is_inline(event: &Event<'_>) -> bool {
    match event {
        Event::Start(tag) => matches!(
            tag,
            Tag::Emphasis | Tag::Strong | Tag::Strikethrough | Tag::Link { .. } | Tag::Image { .. }
        ),
        Event::End(_) | Event::Rule => false,
        _ => true,
    }
}

/// Joins numbers to what must not be broken off them.
fn bind(inlines: &mut [Inline]) {
    for inline in inlines {
        if let Inline::Text(text) = inline {
            *text = bound(text);
        }
    }
}

fn push_text(inlines: &mut Vec<Inline>, text: &str) {
    if let Some(Inline::Text(before)) = inlines.last_mut() {
        before.push_str(text);
    } else {
        inlines.push(Inline::Text(text.to_owned()));
    }
}

fn plain(inlines: &[Inline]) -> String {
    inlines
        .iter()
        .map(|inline| {
            if let Inline::Text(text) = inline {
                text.as_str()
            } else {
                ""
            }
        })
        .collect()
}

/// What a caption describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Table,
    Figure,
}

/// The opening `Table #label:` or `Figure #label:` of a caption.
#[derive(Debug)]
pub(super) struct Opening {
    pub(super) kind: Kind,
    pub(super) label: Option<String>,
}

impl Opening {
    /// Takes the opening off the front of a paragraph, if it has one.
    pub(super) fn take(text: &mut Vec<Inline>) -> Option<Self> {
        let Some(Inline::Text(first)) = text.first_mut() else {
            return None;
        };
        let (opening, rest) = first.split_once(':')?;
        let (kind, label) = match opening.split_once(char::is_whitespace) {
            Some((kind, label)) => (
                kind,
                Some(
                    label
                        .trim()
                        .strip_prefix('#')
                        .filter(|label| is_label(label))?,
                ),
            ),
            None => (opening, None),
        };
        let kind = match kind {
            "Table" => Kind::Table,
            "Figure" => Kind::Figure,
            _ => return None,
        };
        let taken = Self {
            kind,
            label: label.map(str::to_owned),
        };
        let rest = rest.trim_start().to_owned();
        if rest.is_empty() {
            text.remove(0);
        } else {
            *first = rest;
        }
        Some(taken)
    }
}

/// Returns the label of a formula, `{ #label }` and nothing else.
pub(super) fn formula_label(text: &[Inline]) -> Option<String> {
    let [Inline::Text(text)] = text else {
        return None;
    };
    let inside = text.trim().strip_prefix('{')?.strip_suffix('}')?;
    let label = inside.trim().strip_prefix('#')?;
    is_label(label).then(|| label.to_owned())
}

/// Takes the label `{#label}` off the front of a paragraph, if it has one.
pub(super) fn opening_label(text: &mut Vec<Inline>) -> Option<String> {
    let Some(Inline::Text(first)) = text.first_mut() else {
        return None;
    };
    let (label, rest) = first.strip_prefix('{')?.split_once('}')?;
    let label = label.trim().strip_prefix('#').filter(|l| is_label(l))?;
    let (label, rest) = (label.to_owned(), rest.trim_start().to_owned());
    if rest.is_empty() {
        text.remove(0);
    } else {
        *first = rest;
    }
    Some(label)
}

fn is_label(text: &str) -> bool {
    !text.is_empty()
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':'))
}
