//! The shape of a YAML text with the span of every node, by `saphyr-parser`.
//!
//! `serde_yaml` reads the values but tells no spans; this map goes before it and guides it (see [`super::tree`]). What a
//! run file has no use for (tags, several documents, merge keys) and what would cost without bound (deep nesting,
//! aliases of aliases) is refused here.
//!
//! Neither reader is enough alone: `saphyr-parser` takes many a text for YAML that is not (of damaged run files 3 %, among
//! them lists and sections in brackets that are never closed), which `serde_yaml` refuses and can tell where it began.

use crate::problem::{Code, Problem, Span};
use saphyr_parser::{Event, Parser, ScalarStyle, ScanError};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A run file needs seven.
const DEEPEST: usize = 32;
/// How long a file may be with its aliases written out, bytes, beyond its own length.
const MOST_ALIASED: usize = 1_000_000;
/// What every entry takes beside its text, bytes.
const ENTRY: usize = 8;

/// What a node is made of; children are indices into [`Shapes::nodes`].
#[derive(Debug)]
pub(super) enum Form {
    Scalar { plain: bool },
    List(Vec<usize>),
    Map(Vec<(Span, usize)>),
}

/// A node and its span.
#[derive(Debug)]
pub(super) struct Shape {
    pub(super) form: Form,
    pub(super) span: Span,
    /// How long its text is with aliases written out, bytes.
    size: usize,
}

/// Every node of a file; an alias is the index of what it stands for.
#[derive(Debug)]
pub(super) struct Shapes {
    pub(super) nodes: Vec<Shape>,
    pub(super) root: usize,
    /// Texts that lost a word to an anchor which nothing refers to.
    pub(super) lost: Vec<Span>,
}

/// Why there is no shape.
pub(super) enum NoShape {
    /// Not YAML.
    Syntax(ScanError),
    /// YAML, but not for a run file.
    Refused(Problem),
}

impl From<Problem> for NoShape {
    fn from(problem: Problem) -> Self {
        Self::Refused(problem)
    }
}

/// Finds the shape of `text`, which begins some lines down its file; `None` for a text without a document.
pub(super) fn find(
    file: &Arc<str>,
    text: &str,
    lines_before: usize,
) -> Result<Option<Shapes>, NoShape> {
    let mut builder = Builder {
        file,
        lines_before,
        nodes: Vec::new(),
        open: Vec::new(),
        anchors: Vec::new(),
        root: None,
        referred: BTreeSet::new(),
        texts: BTreeSet::new(),
        written: 0,
    };
    let mut documents = 0;
    for event in Parser::new_from_str(text) {
        let (event, range) = event.map_err(|error| match error.info() {
            info if info.contains("recursion limit") => {
                too_deep(builder.span_at(error.marker().line(), error.marker().col(), 1))
            }
            _ => NoShape::Syntax(error),
        })?;
        match event {
            Event::DocumentStart(_) => {
                documents += 1;
                if documents > 1 {
                    return Err(Code::SeveralDocuments
                        .error("The file contains more than one YAML document.")
                        .at("", Some(builder.locate(&range)))
                        .right("one run in one file, without a line of --- inside it")
                        .into());
                }
            }
            Event::Scalar(value, style, anchor, tag) => {
                let plain = style == ScalarStyle::Plain;
                builder.refuse_tag(tag.is_some(), &range)?;
                if plain && value == "<<" && builder.awaits_key() {
                    return Err(Code::MergeKey
                        .error("Merge keys (<<) are not allowed in a run file.")
                        .at("", Some(builder.locate(&range)))
                        .right("the keys written out, or an alias for the whole value")
                        .into());
                }
                let id = builder.add(Form::Scalar { plain }, value.len(), &range);
                // Before a number an anchor takes no word from anything.
                if plain && !value.starts_with(|c: char| c.is_ascii_digit()) {
                    builder.texts.insert(id);
                }
                builder.anchor(anchor, id);
                builder.close(id)?;
            }
            Event::Alias(anchor) => {
                let Some(Some(id)) = builder.anchors.get(anchor).copied() else {
                    return Err(Code::AliasInItself
                        .error("An alias stands inside the value that it names.")
                        .at("", Some(builder.locate(&range)))
                        .right("an alias after the end of the value it stands for")
                        .into());
                };
                builder.referred.insert(id);
                builder.close(id)?;
            }
            Event::SequenceStart(anchor, tag) => {
                builder.start(Form::List(Vec::new()), anchor, tag.is_some(), &range)?;
            }
            Event::MappingStart(anchor, tag) => {
                builder.start(Form::Map(Vec::new()), anchor, tag.is_some(), &range)?;
            }
            Event::SequenceEnd | Event::MappingEnd => builder.end()?,
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => {}
        }
    }
    let Some(root) = builder.root else {
        return Ok(None);
    };
    let anchored = builder.anchors.iter().flatten();
    let lost = anchored
        .filter(|id| !builder.referred.contains(id))
        .filter(|id| builder.texts.contains(id))
        .map(|id| builder.nodes[*id].span.clone())
        .collect();
    Ok(Some(Shapes {
        nodes: builder.nodes,
        root,
        lost,
    }))
}

fn too_deep(span: Span) -> NoShape {
    Code::NestedTooDeep
        .error(format!(
            "Lists and sections are nested more than {DEEPEST} deep."
        ))
        .at("", Some(span))
        .right("the nesting of a run file, about seven levels at most")
        .into()
}

/// A list or map whose end has not come yet.
struct OpenNode {
    id: usize,
    anchor: usize,
    /// In a map, the key whose value comes next.
    key: Option<Span>,
}

struct Builder<'f> {
    file: &'f Arc<str>,
    lines_before: usize,
    nodes: Vec<Shape>,
    open: Vec<OpenNode>,
    /// The node of each anchor, by the parser's number for it; none before the node has ended.
    anchors: Vec<Option<usize>>,
    root: Option<usize>,
    /// Plain values that begin with a word.
    texts: BTreeSet<usize>,
    /// Nodes that aliases stand for.
    referred: BTreeSet<usize>,
    /// Sizes of all nodes, each where it is written.
    written: usize,
}

impl Builder<'_> {
    fn span_at(&self, line: usize, column_from_0: usize, length: usize) -> Span {
        Span::new(
            Arc::clone(self.file),
            self.lines_before + line,
            column_from_0 + 1,
            length,
        )
    }

    fn locate(&self, range: &saphyr_parser::Span) -> Span {
        self.span_at(range.start.line(), range.start.col(), range.len())
    }

    fn refuse_tag(&self, tagged: bool, range: &saphyr_parser::Span) -> Result<(), NoShape> {
        if !tagged {
            return Ok(());
        }
        Err(Code::TaggedValue
            .error("A value has a YAML tag (!), which has no meaning in a run file.")
            .at("", Some(self.locate(range)))
            .right("the value without its tag; text that begins with ! in quotes")
            .into())
    }

    fn awaits_key(&self) -> bool {
        self.open.last().is_some_and(|open| {
            open.key.is_none() && matches!(self.nodes[open.id].form, Form::Map(_))
        })
    }

    fn add(&mut self, form: Form, text: usize, range: &saphyr_parser::Span) -> usize {
        let span = self.locate(range);
        let size = text + ENTRY;
        self.written += size;
        self.nodes.push(Shape { form, span, size });
        self.nodes.len() - 1
    }

    fn anchor(&mut self, anchor: usize, id: usize) {
        if anchor == 0 {
            return;
        }
        if self.anchors.len() <= anchor {
            self.anchors.resize(anchor + 1, None);
        }
        self.anchors[anchor] = Some(id);
    }

    fn start(
        &mut self,
        form: Form,
        anchor: usize,
        tagged: bool,
        range: &saphyr_parser::Span,
    ) -> Result<(), NoShape> {
        self.refuse_tag(tagged, range)?;
        if self.open.len() >= DEEPEST {
            return Err(too_deep(self.locate(range)));
        }
        let id = self.add(form, 0, range);
        self.open.push(OpenNode {
            id,
            anchor,
            key: None,
        });
        Ok(())
    }

    fn end(&mut self) -> Result<(), NoShape> {
        let Some(open) = self.open.pop() else {
            return Ok(());
        };
        self.anchor(open.anchor, open.id);
        self.close(open.id)
    }

    /// Hands a finished node to the list or map around it.
    fn close(&mut self, id: usize) -> Result<(), NoShape> {
        let size = self.nodes[id].size;
        let Some(open) = self.open.last_mut() else {
            self.root = Some(id);
            return Ok(());
        };
        let span = self.nodes[id].span.clone();
        let is_scalar = matches!(self.nodes[id].form, Form::Scalar { .. });
        let parent = &mut self.nodes[open.id];
        parent.size = parent.size.saturating_add(size);
        let total = parent.size;
        match &mut parent.form {
            Form::List(items) => items.push(id),
            Form::Map(pairs) => match open.key.take() {
                Some(key) => pairs.push((key, id)),
                None if is_scalar => open.key = Some(span.clone()),
                None => {
                    return Err(Code::KeyNotText
                        .error("A list or a section stands where a name belongs.")
                        .at("", Some(span))
                        .right("a name before the colon; text that begins with [ or { in quotes")
                        .into());
                }
            },
            Form::Scalar { .. } => {}
        }
        if total > self.written.saturating_add(MOST_ALIASED) {
            return Err(Code::TooManyAliased
                .error(format!(
                    "The aliases of the file expand to more than {} kB of text.",
                    MOST_ALIASED / 1000
                ))
                .at("", Some(span))
                .right("fewer aliases; aliases of aliases multiply")
                .into());
        }
        Ok(())
    }
}
