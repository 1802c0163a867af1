//! The one type for everything that can be wrong with what a user handed in, and its renderings.
//!
//! A [`Problem`] has a stable code, a headline that can stand alone, a [`Span`] of a file, the entry it
//! concerns, what was read there and what would be right. Nothing here prints.

pub mod code;
mod nearest;
mod render;
mod sources;

pub use code::Code;
pub use nearest::nearest;
pub use render::{
    Rendering, is_unseen, json_on_a_terminal, on_a_terminal, render, render_blanks, warned,
};
pub use sources::Sources;

use std::ops::{Deref, DerefMut};
use std::sync::Arc;

/// A range of a text file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Line, counted from 1.
    pub line: usize,
    /// Column, counted from 1, in characters.
    pub column: usize,
    /// How many characters are meant; at least 1.
    pub length: usize,
}

impl Span {
    /// Returns the span of so many characters, one at least.
    pub fn new(file: impl Into<Arc<str>>, line: usize, column: usize, length: usize) -> Self {
        Self {
            file: file.into(),
            line,
            column,
            length: length.max(1),
        }
    }
}

/// An entry's name and span.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name, e.g. `solutions.B.aliquot.volume.2`.
    pub name: String,
    /// Where its value stands.
    pub span: Span,
}

impl Entry {
    /// Returns the entry of a name.
    pub fn new(name: impl Into<String>, span: Span) -> Self {
        let name = name.into();
        Self { name, span }
    }
}

/// A text with the beginnings of its lines, which tells where its bytes stand.
#[derive(Debug)]
pub struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    /// Returns the lines of a text.
    pub fn new(text: &'t str) -> Self {
        let ends = text.match_indices('\n').map(|(at, _)| at + 1);
        Self {
            text,
            starts: std::iter::once(0).chain(ends).collect(),
        }
    }

    /// Returns the span of a byte and of so many characters from it on, as far as its line goes; one at least.
    pub fn locate(&self, file: &Arc<str>, byte: usize, length: usize) -> Span {
        let line = self.starts.partition_point(|start| *start <= byte);
        let start = self.starts[line.saturating_sub(1)];
        let before = self.text.get(start..byte).unwrap_or_default();
        let after = self.text.get(byte..).unwrap_or_default();
        let meant = after.lines().next().unwrap_or_default().trim_end();
        Span::new(
            Arc::clone(file),
            line,
            before.chars().count() + 1,
            length.min(meant.chars().count()),
        )
    }
}

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// No report can be made.
    Error,
    /// A report can be made, and says so.
    Warning,
}

/// One thing wrong with what the user handed in. A function that fails for one reason returns it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem(Box<Details>);

/// What is known of a problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Its record in the table.
    pub code: Code,
    /// Error or warning.
    pub severity: Severity,
    /// One sentence that can stand alone, naming the entry.
    pub headline: String,
    /// The entry's name in the run file, e.g. `weighings.A.1.filled`; empty where none is meant.
    pub entry: String,
    /// Where it stands, unless the whole file is meant.
    pub span: Option<Span>,
    /// What was read there, as written.
    pub read: Option<String>,
    /// The right form.
    pub right: Option<String>,
    /// The known word most like what was read, where one is like it.
    pub nearest: Option<String>,
    /// Other spans that matter, each with a word on why.
    pub also: Vec<(Span, String)>,
}

/// No more of a text that was read is repeated than this many characters, nor of an entry's name.
const LONGEST_READ: usize = 200;
/// And of a sentence, which may quote several.
const LONGEST_SENTENCE: usize = 2_000;

/// Returns the beginning of a text that is longer than so many characters; any other as it is.
pub fn shortened(text: impl Into<String>, longest: usize) -> String {
    let mut text = text.into();
    if let Some((at, _)) = text.char_indices().nth(longest) {
        text.truncate(at);
        text.push('…');
    }
    text
}

impl Deref for Problem {
    type Target = Details;

    fn deref(&self) -> &Details {
        &self.0
    }
}

impl DerefMut for Problem {
    fn deref_mut(&mut self) -> &mut Details {
        &mut self.0
    }
}

impl Code {
    /// Returns an error of this code with a headline; the rest is added by the methods of [`Problem`].
    pub fn error(self, headline: impl Into<String>) -> Problem {
        self.problem(Severity::Error, headline.into())
    }

    /// Returns a warning of this code with a headline.
    pub fn warning(self, headline: impl Into<String>) -> Problem {
        self.problem(Severity::Warning, headline.into())
    }

    fn problem(self, severity: Severity, headline: String) -> Problem {
        Problem(Box::new(Details {
            code: self,
            severity,
            headline: shortened(headline, LONGEST_SENTENCE),
            entry: String::new(),
            span: None,
            read: None,
            right: None,
            nearest: None,
            also: Vec::new(),
        }))
    }
}

impl Problem {
    /// Returns whether it is an error.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }

    /// Returns the same problem, at an entry.
    #[must_use]
    pub fn at(mut self, entry: impl Into<String>, span: Option<Span>) -> Self {
        self.entry = shortened(entry, LONGEST_READ);
        self.span = span;
        self
    }

    /// Returns the same problem, at an entry that stands in a file.
    #[must_use]
    pub fn at_entry(self, entry: &Entry) -> Self {
        self.at(entry.name.clone(), Some(entry.span.clone()))
    }

    /// Returns the same problem, with what was read.
    #[must_use]
    pub fn read(mut self, read: impl Into<String>) -> Self {
        self.read = Some(shortened(read, LONGEST_READ));
        self
    }

    /// Returns the same problem, with what would be right.
    #[must_use]
    pub fn right(mut self, right: impl Into<String>) -> Self {
        self.right = Some(shortened(right, LONGEST_SENTENCE));
        self
    }

    /// Returns the same problem, with what would be right: the known word that was `meant`, where there is one, or one
    /// of those
    /// `known`.
    #[must_use]
    pub fn perhaps(mut self, meant: Option<&str>, known: &str) -> Self {
        self.right = Some(match meant {
            Some(meant) => format!("perhaps {meant}; one of {known}"),
            None => format!("one of {known}"),
        });
        self.nearest = meant.map(str::to_owned);
        self
    }

    /// Returns the same problem, with another span that matters.
    #[must_use]
    pub fn also(mut self, span: Span, why: impl Into<String>) -> Self {
        self.also.push((span, shortened(why, LONGEST_SENTENCE)));
        self
    }
}

/// Puts problems in the order of their spans (those without one first), errors before warnings on a tie.
pub fn sort(problems: &mut [Problem]) {
    sort_from(problems, "");
}

/// The same for problems of several files: those of the file `first` come before those of the others.
pub fn sort_from(problems: &mut [Problem], first: &str) {
    let elsewhere = |problem: &Problem| {
        let span = problem.span.as_ref();
        span.is_some_and(|span| &*span.file != first)
    };
    let more = |problem: &Problem| problem.code == Code::MoreProblems;
    problems.sort_by(|a, b| {
        (more(a), elsewhere(a), &a.span, a.severity, a.code).cmp(&(
            more(b),
            elsewhere(b),
            &b.span,
            b.severity,
            b.code,
        ))
    });
}
