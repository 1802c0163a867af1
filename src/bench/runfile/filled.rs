//! The run file of one bench of a table: the common run file with the values of a line filled in.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::csv_rows::Cell;
use super::file_loader::FileLoader;
use super::tree::{Content, Node};
use super::{Reading, check_texts, read_root, words};
use crate::problem::Problem;

/// The run of one bench.
#[derive(Debug, Clone)]
pub struct Bench {
    /// Its name in the table.
    pub name: String,
    pub(super) common: Arc<Common>,
    /// What stands in the holes, in their order.
    pub(super) values: Vec<(Hole, Cell)>,
    /// What is wrong with a line of more values than columns: which values it means is not known.
    pub(super) beyond: Option<Problem>,
}

/// What the run files of all benches have in common.
#[derive(Debug)]
pub(super) struct Common {
    pub(super) text: String,
    pub(super) root: Node,
    pub(super) faults: Vec<Problem>,
}

/// Where a value is filled in.
#[derive(Debug, Clone)]
pub(super) struct Hole {
    /// The bytes that it replaces.
    pub(super) bytes: Range<usize>,
    /// Line and column of what the tree has there.
    pub(super) at: (usize, usize),
}

impl Bench {
    /// Returns the text of its run file.
    pub fn text(&self) -> String {
        let common = &self.common.text;
        let mut text = String::with_capacity(common.len() + 32 * self.values.len());
        let mut from = 0;
        for (hole, cell) in &self.values {
            text.push_str(&common[from..hole.bytes.start]);
            if text.ends_with([':', ',', '{']) {
                text.push(' ');
            }
            if is_bare(&cell.text) {
                text.push_str(&cell.text);
            } else {
                text.push_str(&serde_json::Value::from(&*cell.text).to_string());
            }
            from = hole.bytes.end;
            if common[from..].starts_with('#') {
                text.push(' ');
            }
        }
        text + &common[from..]
    }

    /// Returns the text that the run files of all benches have in common: that in which problems have their spans, unless
    /// they have them in the table.
    pub fn common_text(&self) -> &str {
        &self.common.text
    }

    /// Reads its run file, with or without the section `known`, and the files that it names.
    pub fn read(&self, without_known: bool, beside: &dyn FileLoader) -> Reading {
        if let Some(beyond) = &self.beyond {
            return Reading {
                problems: vec![beyond.clone()],
                ..Reading::default()
            };
        }
        let common = &self.common;
        let values = self.values.iter().map(|(hole, cell)| (hole.at, cell));
        let mut root = filled(&common.root, &values.collect());
        if let (true, Content::Map(pairs)) = (without_known, &mut root.content) {
            pairs.retain(|(key, _)| key.text != words::KNOWN.name);
        }
        let found = check_texts(&root, &common.text, common.faults.clone());
        let file = Arc::clone(&root.span.file);
        read_root(&file, root, found, beside)
    }
}

/// Returns the tree with values in its holes, by their lines and columns.
fn filled(node: &Node, values: &BTreeMap<(usize, usize), &Cell>) -> Node {
    let content = match &node.content {
        Content::Scalar { text, plain } => {
            if let Some(cell) = values.get(&(node.span.line, node.span.column)) {
                let content = Content::Scalar {
                    text: cell.text.clone(),
                    plain: is_bare(&cell.text),
                };
                let span = cell.span.clone();
                return Node::new(content, span);
            }
            Content::Scalar {
                text: text.clone(),
                plain: *plain,
            }
        }
        Content::Unread => Content::Unread,
        Content::List(items) => {
            Content::List(items.iter().map(|item| filled(item, values)).collect())
        }
        Content::Map(pairs) => {
            let pairs = pairs.iter();
            Content::Map(
                pairs
                    .map(|(key, node)| (key.clone(), filled(node, values)))
                    .collect(),
            )
        }
    };
    Node::new(content, node.span.clone())
}

/// Returns whether a text can be a value in YAML without quotes.
fn is_bare(text: &str) -> bool {
    let is_plain = |c: char| c.is_alphanumeric() || " .±×°%+-/µ³²()".contains(c);
    let begins = text.starts_with(|c: char| c.is_alphanumeric())
        || text
            .strip_prefix(['-', '+', '.'])
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    begins && text.chars().all(is_plain)
}
