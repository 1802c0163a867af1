//! What can be read of a text that is not YAML as a whole: its sections one by one, each fault told in its own.
//!
//! A section with a fault in it is taken as given and not read, so that nothing is said to be missing for its sake.

use super::shape::{NoShape, find};
use super::syntax;
use super::tree::{self, Content, Key, Node};
use super::vocabulary::KeyInfo;
use super::words::{RUN, synonym};
use super::yaml_error;
use crate::problem::{Code, Problem, Span, nearest};
use std::sync::Arc;

/// No run file has more sections; more are not read one by one.
const MOST_SECTIONS: usize = 500;

/// A text as a tree, with what kept parts of it from being read.
pub(super) type Grown = (Option<Node>, Vec<Problem>);

/// Reads `text` into a tree.
///
/// # Errors
/// The one problem that keeps all of the text from being read.
pub(super) fn read(file: &Arc<str>, text: &str) -> Result<Grown, Problem> {
    let problem = match find(file, text, 0) {
        Ok(None) => return Ok((None, Vec::new())),
        Ok(Some(shapes)) => match tree::build(&shapes, text) {
            Ok(node) if matches!(node.content, Content::Scalar { .. }) => {
                let salvaged = sections(file, text);
                return Ok(
                    salvaged.map_or((Some(node), Vec::new()), |s| (Some(s.root), s.problems))
                );
            }
            Ok(node) => return Ok((Some(node), syntax::lost_words(&shapes.lost))),
            Err(error) => syntax::explain_value(file, text, &error, 0),
        },
        Err(NoShape::Refused(problem)) => return Err(problem),
        Err(NoShape::Syntax(error)) => syntax::explain(file, text, &error, 0),
    };
    match sections(file, text) {
        Some(salvaged) => Ok((Some(salvaged.root), salvaged.problems)),
        None => Err(problem),
    }
}

/// The lines of a section.
struct Part<'t> {
    text: &'t str,
    lines_before: usize,
}

/// What could be read, and the faults.
struct Recovered {
    root: Node,
    problems: Vec<Problem>,
}

/// Reads the sections of a text one by one; `None` if that tells nothing.
fn sections(file: &Arc<str>, text: &str) -> Option<Recovered> {
    let parts = parts(text)?;
    let mut pairs: Vec<(Key, Node)> = Vec::new();
    let mut problems = Vec::new();
    for part in &parts {
        match section(file, text, part) {
            Ok(Some(Node {
                content: Content::Map(of_part),
                ..
            })) => pairs.extend(of_part),
            Ok(_) => {}
            Err(problem) => {
                let head = part
                    .text
                    .split([':', ' ', '=', '\u{ff1a}', '\u{a0}', '\n', '\r', '\t']);
                let head = head.into_iter().next().unwrap_or_default();
                let known = RUN.key(head).map(KeyInfo::name);
                // A part of the section before it, not indented.
                let outside = pairs
                    .last_mut()
                    .filter(|(_, last)| known.is_none() && last.is_empty());
                let outside = outside.map(|(key, last)| {
                    last.content = Content::Unread;
                    key.text.clone()
                });
                let known = known
                    .or_else(|| nearest(head, RUN.names()))
                    .or_else(|| synonym(head, RUN.names()))
                    .filter(|_| outside.is_none());
                let span = Span::new(
                    Arc::clone(file),
                    part.lines_before + 1,
                    1,
                    head.chars().count(),
                );
                pairs.push((
                    Key::new(known.unwrap_or_default(), span.clone()),
                    Node::new(Content::Unread, span.clone()),
                ));
                // A section indented too far is in there as well.
                let begins = |name: &str| {
                    let mut lines = part.text.lines();
                    lines.any(|line| {
                        line.trim_start()
                            .strip_prefix(name)
                            .is_some_and(|rest| rest.starts_with(':'))
                    })
                };
                for name in RUN
                    .names()
                    .filter(|name| known != Some(*name) && begins(name))
                {
                    pairs.push((
                        Key::new(name, span.clone()),
                        Node::new(Content::Unread, span.clone()),
                    ));
                }
                problems.extend(match outside {
                    Some(section) => Some(
                        Code::NotYaml
                            .error(format!(
                                "{head} is outside {section} because it is not indented."
                            ))
                            .at("", Some(span))
                            .right(format!("spaces before each line that belongs to {section}")),
                    ),
                    None => problem,
                });
            }
        }
    }
    let span = syntax::start_of(file);
    (!problems.is_empty()).then_some(Recovered {
        root: Node::new(Content::Map(pairs), span),
        problems,
    })
}

/// Cuts a text before each line that begins with a letter.
fn parts(text: &str) -> Option<Vec<Part<'_>>> {
    let mut parts = Vec::new();
    let (mut begun, mut begun_line, mut at) = (0, 0, 0);
    for (number, line) in text.split_inclusive('\n').enumerate() {
        if at > begun && line.starts_with(char::is_alphabetic) {
            parts.push(Part {
                text: &text[begun..at],
                lines_before: begun_line,
            });
            (begun, begun_line) = (at, number);
            if parts.len() > MOST_SECTIONS {
                return None;
            }
        }
        at += line.len();
    }
    parts.push(Part {
        text: &text[begun..],
        lines_before: begun_line,
    });
    Some(parts)
}

/// Returns a section alone; what is wrong with it, if that can be told without the others.
fn section(file: &Arc<str>, text: &str, part: &Part<'_>) -> Result<Option<Node>, Option<Problem>> {
    let error = match find(file, part.text, part.lines_before) {
        Ok(None) => return Ok(None),
        Ok(Some(shapes)) => match tree::build(&shapes, part.text) {
            Ok(node) if matches!(node.content, Content::Map(_)) => return Ok(Some(node)),
            Ok(node) => {
                let fault = find_fault(file, part).unwrap_or_else(|| {
                    Code::NotYaml
                        .error("The lines have no key with a colon after it.")
                        .at("", Some(node.span))
                        .right("lines of the form `key: value`")
                });
                return Err(Some(fault));
            }
            Err(error) => syntax::explain_value(file, part.text, &error, part.lines_before),
        },
        Err(NoShape::Refused(problem)) => return Err(Some(problem)),
        Err(NoShape::Syntax(error)) => syntax::explain(file, part.text, &error, part.lines_before),
    };
    // What an alias stands for may be in another section, and is not known here.
    let alien = error.headline.contains("anchor")
        && part
            .text
            .split('*')
            .skip(1)
            .any(|after| has_anchor(text, after));
    let told = find_fault(file, part);
    if told.is_none() && alien {
        return Err(None);
    }
    Err(Some(match told {
        None => error,
        Some(told) => {
            let same_line = |span: &Span| told.span.as_ref().is_some_and(|t| t.line == span.line);
            match error.span.clone().filter(|span| !same_line(span)) {
                Some(span) if span.line <= part.lines_before + part.text.lines().count() => {
                    told.also(span, "where reading stopped")
                }
                _ => told,
            }
        }
    }))
}

fn find_fault(file: &Arc<str>, part: &Part<'_>) -> Option<Problem> {
    let fault = yaml_error::find(part.text)?;
    Some(fault.problem(file, part.lines_before))
}

/// Returns whether a text has an anchor of the name that something begins with.
fn has_anchor(text: &str, name: &str) -> bool {
    let name = name
        .split([' ', ',', ']', '}', '\n', '\r'])
        .next()
        .unwrap_or_default();
    !name.is_empty() && text.contains(&format!("&{name}"))
}
