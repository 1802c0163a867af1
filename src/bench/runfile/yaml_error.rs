//! What keeps a text from being YAML, found where it was written rather than where a parser gave up.
//!
//! A small scan of the lines knows quotes, brackets, colons and indents, no more: it is asked only about a text that the
//! parser refuses, and where it finds nothing the parser's own words stand.

mod brackets;
mod lines;

use crate::problem::{Code, Problem, Span};
use std::sync::Arc;

/// A fault of the text at one place, counted from 0.
pub(super) struct YamlFault {
    line: usize,
    column: usize,
    length: usize,
    code: Code,
    headline: String,
    right: String,
}

impl YamlFault {
    fn new(at: At, length: usize, headline: impl Into<String>, right: impl Into<String>) -> Self {
        Self {
            line: at.line,
            column: at.column,
            length: length.max(1),
            code: Code::NotYaml,
            headline: headline.into(),
            right: right.into(),
        }
    }

    /// Returns the problem that it is, in a text that begins some lines down its file.
    pub(super) fn problem(self, file: &Arc<str>, lines_before: usize) -> Problem {
        let span = Span::new(
            Arc::clone(file),
            lines_before + self.line + 1,
            self.column + 1,
            self.length,
        );
        self.code
            .error(self.headline)
            .at("", Some(span))
            .right(self.right)
    }
}

/// A position, line and column counted from 0, in characters.
#[derive(Clone, Copy, PartialEq)]
struct At {
    line: usize,
    column: usize,
}

/// Returns the first fault of a text that is not YAML.
pub(super) fn find(text: &str) -> Option<YamlFault> {
    let mut scan = Scan {
        lines: text.lines().map(|line| line.chars().collect()).collect(),
        at: At { line: 0, column: 0 },
    };
    scan.run().err()
}

/// Where the scan has come to.
struct Scan {
    lines: Vec<Vec<char>>,
    at: At,
}

impl Scan {
    fn peek(&self) -> Option<char> {
        self.ahead(0)
    }

    fn ahead(&self, by: usize) -> Option<char> {
        let line = self.lines.get(self.at.line)?;
        line.get(self.at.column + by).copied()
    }

    /// Returns the character before, on the same line.
    fn behind(&self) -> Option<char> {
        let before = self.at.column.checked_sub(1)?;
        self.lines.get(self.at.line)?.get(before).copied()
    }

    fn skip_blanks(&mut self) {
        while matches!(self.peek(), Some(' ' | '\t')) {
            self.at.column += 1;
        }
    }

    fn next_line(&mut self) {
        self.at = At {
            line: self.at.line + 1,
            column: 0,
        };
    }

    fn has_ended(&self) -> bool {
        self.at.line >= self.lines.len()
    }

    /// Returns what is left of the line.
    fn rest(&self) -> String {
        let line = self.lines.get(self.at.line);
        let rest = line.and_then(|line| line.get(self.at.column..));
        rest.unwrap_or_default().iter().collect()
    }

    /// Returns whether a comment begins here.
    fn is_at_comment(&self) -> bool {
        self.peek() == Some('#') && self.behind().is_none_or(|c| matches!(c, ' ' | '\t'))
    }

    /// Returns whether a colon stands here that ends a key.
    fn is_at_colon(&self, in_brackets: bool) -> bool {
        self.peek() == Some(':')
            && self.ahead(1).is_none_or(|next| {
                matches!(next, ' ' | '\t')
                    || in_brackets && matches!(next, ',' | '[' | ']' | '{' | '}')
            })
    }

    /// Reads a text in quotes, over lines where it goes on.
    fn quoted(&mut self) -> Result<(), YamlFault> {
        let opening = self.at;
        let quote = self.peek();
        self.at.column += 1;
        loop {
            match self.peek() {
                None => {
                    self.next_line();
                    if self.has_ended() {
                        return Err(YamlFault::new(
                            opening,
                            1,
                            "A text begins with a quote but does not end with one.",
                            "a closing quote for every opening one; for a text that begins with an apostrophe, double quotes",
                        ));
                    }
                }
                Some('\\') if quote == Some('"') => self.at.column += 2,
                c if c == quote => {
                    self.at.column += 1;
                    // One written twice stands for itself.
                    if quote == Some('\'') && self.peek() == quote {
                        self.at.column += 1;
                        continue;
                    }
                    return Ok(());
                }
                Some(_) => self.at.column += 1,
            }
        }
    }

    /// That a text goes on after what seemed to be the whole of it.
    fn goes_on(&self, opening: At) -> YamlFault {
        let length = if opening.line == self.at.line {
            self.at.column - opening.column
        } else {
            1
        };
        YamlFault::new(
            opening,
            length,
            "A text continues after its closing quote.",
            "quotes around the whole text, of the other kind if it contains quotes: 'the \"Brine\" bath'",
        )
    }
}
