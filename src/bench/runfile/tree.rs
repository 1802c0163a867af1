//! A run file as a tree of texts: scalars digit for digit, sections and lists in the order of the file, spans on all.
//!
//! `serde_yaml` would turn `5.00` into the float 5.0 wherever it is free to choose a type. So each node is asked for by
//! what the shape says it is, and a scalar always as a string, which `serde_yaml` hands over as it was written.

use super::shape::{Form, Shapes};
use crate::problem::Span;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A node of the file.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) content: Content,
    pub(super) span: Span,
}

/// What a node holds.
#[derive(Debug)]
pub(super) enum Content {
    /// A value as written; `plain` where no quotes or block marks stood around it.
    Scalar { text: String, plain: bool },
    /// A section that is there and could not be read, which has been noted.
    Unread,
    /// A list.
    List(Vec<Node>),
    /// A section: keys with values. Keys may stand twice; whoever reads the section says so.
    Map(Vec<(Key, Node)>),
}

/// A key of a section.
#[derive(Debug, Clone)]
pub(super) struct Key {
    pub(super) text: String,
    pub(super) span: Span,
}

impl Key {
    /// Returns a key at a span.
    pub(super) fn new(text: impl Into<String>, span: Span) -> Self {
        let text = text.into();
        Self { text, span }
    }
}

impl Node {
    /// Returns a node at a span.
    pub(super) fn new(content: Content, span: Span) -> Self {
        Self { content, span }
    }

    /// Returns whether nothing is written: no text, `~` or `null`.
    pub(super) fn is_empty(&self) -> bool {
        match &self.content {
            Content::Scalar { text, plain } => {
                text.trim().is_empty()
                    || (*plain && matches!(text.as_str(), "~" | "null" | "Null" | "NULL"))
            }
            _ => false,
        }
    }

    /// Returns whether it is a section or a list without anything in it.
    pub(super) fn holds_nothing(&self) -> bool {
        match &self.content {
            Content::Scalar { .. } | Content::Unread => false,
            Content::List(items) => items.is_empty(),
            Content::Map(pairs) => pairs.is_empty(),
        }
    }

    /// Returns what stands first at a key of a section.
    pub(super) fn get(&self, key: &str) -> Option<(&Key, &Node)> {
        let Content::Map(pairs) = &self.content else {
            return None;
        };
        let mut pairs = pairs.iter();
        pairs
            .find(|(k, _)| k.text == key)
            .map(|(key, node)| (key, node))
    }

    /// Returns whether every section of a file could be read.
    pub(super) fn is_whole(&self) -> bool {
        let Content::Map(pairs) = &self.content else {
            return true;
        };
        !pairs
            .iter()
            .any(|(_, node)| matches!(node.content, Content::Unread))
    }

    /// Returns how many items its lists have, those of the lists inside them left aside.
    pub(super) fn count_items(&self) -> usize {
        match &self.content {
            Content::Scalar { .. } | Content::Unread => 0,
            Content::List(items) => items.len(),
            Content::Map(pairs) => pairs.iter().map(|(_, value)| value.count_items()).sum(),
        }
    }

    /// Shows every key and value below it, in order.
    pub(super) fn each_text(&self, show: &mut impl FnMut(&str, &Span)) {
        match &self.content {
            Content::Scalar { text, .. } => show(text, &self.span),
            Content::Unread => {}
            Content::List(items) => items.iter().for_each(|item| item.each_text(show)),
            Content::Map(pairs) => {
                for (key, value) in pairs {
                    show(&key.text, &key.span);
                    value.each_text(show);
                }
            }
        }
    }

    /// Returns what it is, in words.
    pub(super) fn described(&self) -> &'static str {
        match self.content {
            Content::Scalar { .. } => "a single value",
            Content::Unread => "not read",
            Content::List(_) => "a list",
            Content::Map(_) => "a section of keys and values",
        }
    }
}

/// Returns the tree of a text of which the shape is known.
pub(super) fn build(shapes: &Shapes, text: &str) -> Result<Node, serde_yaml::Error> {
    let seed = Seed {
        shapes,
        id: shapes.root,
    };
    seed.deserialize(serde_yaml::Deserializer::from_str(text))
}

#[derive(Clone, Copy)]
struct Seed<'s> {
    shapes: &'s Shapes,
    id: usize,
}

impl<'de> DeserializeSeed<'de> for Seed<'_> {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Node, D::Error> {
        match self.shapes.nodes[self.id].form {
            Form::Scalar { .. } => deserializer.deserialize_str(self),
            Form::List(_) => deserializer.deserialize_seq(self),
            Form::Map(_) => deserializer.deserialize_map(self),
        }
    }
}

impl Seed<'_> {
    fn node(self, content: Content) -> Node {
        Node::new(content, self.shapes.nodes[self.id].span.clone())
    }
}

impl<'de> Visitor<'de> for Seed<'_> {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.shapes.nodes[self.id].form {
            Form::Scalar { .. } => "a single value",
            Form::List(_) => "a list",
            Form::Map(_) => "keys and values",
        })
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Node, E> {
        let plain = matches!(
            self.shapes.nodes[self.id].form,
            Form::Scalar { plain: true }
        );
        Ok(self.node(Content::Scalar {
            text: one_line(text),
            plain,
        }))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let Form::List(items) = &self.shapes.nodes[self.id].form else {
            return Err(A::Error::custom(DISAGREE));
        };
        let mut nodes = Vec::with_capacity(items.len());
        for &id in items {
            let node = access.next_element_seed(Seed { id, ..self })?;
            nodes.push(node.ok_or_else(|| A::Error::custom(DISAGREE))?);
        }
        match access.next_element::<serde::de::IgnoredAny>()? {
            None => Ok(self.node(Content::List(nodes))),
            Some(_) => Err(A::Error::custom(DISAGREE)),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let Form::Map(pairs) = &self.shapes.nodes[self.id].form else {
            return Err(A::Error::custom(DISAGREE));
        };
        let mut nodes = Vec::with_capacity(pairs.len());
        for (span, id) in pairs {
            let text: Option<String> = access.next_key()?;
            let text = text.ok_or_else(|| A::Error::custom(DISAGREE))?;
            let node = access.next_value_seed(Seed { id: *id, ..self })?;
            nodes.push((Key::new(one_line(&text), span.clone()), node));
        }
        match access.next_key::<serde::de::IgnoredAny>()? {
            None => Ok(self.node(Content::Map(nodes))),
            Some(_) => Err(A::Error::custom(DISAGREE)),
        }
    }
}

/// Text without the ends of lines: a name or a reading goes on after them, and a report breaks lines of its own.
pub(super) fn one_line(text: &str) -> String {
    if !text.contains(['\n', '\r', '\t']) {
        return text.to_owned();
    }
    let parts = text.split(['\n', '\r', '\t']).map(str::trim);
    let parts: Vec<&str> = parts.filter(|part| !part.is_empty()).collect();
    parts.join(" ")
}

/// Two readers of one text found different nodes in it: some rare corner of YAML.
const DISAGREE: &str = "it is ambiguous";
