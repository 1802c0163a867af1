//! What a check finds, as JSON for other programs.
//!
//! One document for all run files of a command: `{"files": […]}`, the files in the order in which they were named. Fields
//! that do not apply are absent. Lines and columns count from 1, columns in characters. Codes and field names are
//! stable; messages are for people and may change.
//!
//! The exit code of the command is that of the worst outcome.

use serde::Serialize;

use super::Ending;
use crate::bench::practice::Flag;
use crate::pipeline::Run;
use crate::problem::{Code, Problem, Severity, Span};

/// The document.
#[derive(Debug, Serialize)]
pub(super) struct Checks<'a> {
    /// One for each run file.
    pub(super) files: Vec<FileCheck<'a>>,
}

/// What became of a run file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Outcome {
    /// A report can be made.
    CanBeReported,
    /// There are errors, and each of them is a blank.
    Unfinished,
    /// There are errors.
    HasErrors,
    /// It could not be read from the disk.
    NotRead,
}

impl Outcome {
    /// Of a file that was read, by whether there is a run and by its problems.
    pub(super) fn from_problems(run: Option<&Run>, problems: &[Problem]) -> Self {
        let mut errors = problems.iter().filter(|problem| problem.is_error());
        if run.is_some() {
            Self::CanBeReported
        } else if errors.all(|problem| problem.code == Code::Blank) {
            Self::Unfinished
        } else {
            Self::HasErrors
        }
    }

    pub(super) fn ending(self) -> Ending {
        match self {
            Self::CanBeReported => Ending::Done,
            Self::Unfinished | Self::HasErrors => Ending::Problems,
            Self::NotRead => Ending::Machine,
        }
    }
}

/// What a check finds in a run file.
#[derive(Debug, Serialize)]
pub(super) struct FileCheck<'a> {
    /// The file as it was named.
    file: &'a str,
    /// What became of it.
    outcome: Outcome,
    /// What keeps a report from being made, in the order of the file.
    errors: Vec<PlainProblem<'a>>,
    /// What a report can be made in spite of, in the order of the file.
    warnings: Vec<PlainProblem<'a>>,
    /// What asks for a second look.
    flags: Vec<PlainFlag<'a>>,
    /// What a Monte Carlo check said, where one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    monte_carlo: Option<&'a crate::bench::reduce::monte_carlo::MonteCarloStated>,
}

impl<'a> FileCheck<'a> {
    pub(super) fn new(
        file: &'a str,
        outcome: Outcome,
        problems: &'a [Problem],
        run: Option<&'a Run>,
    ) -> Self {
        let of_severity = |severity| {
            problems
                .iter()
                .filter(|problem| problem.severity == severity)
                .map(PlainProblem::new)
                .collect()
        };
        Self {
            file,
            outcome,
            errors: of_severity(Severity::Error),
            warnings: of_severity(Severity::Warning),
            flags: run.map_or_else(Vec::new, |run| {
                let flags = run.flags.iter();
                flags.map(|flag| PlainFlag::new(flag, run)).collect()
            }),
            monte_carlo: run.and_then(|run| run.monte_carlo.as_ref()),
        }
    }
}

/// A flag, as in the results file, with where its entry begins.
#[derive(Debug, Serialize)]
struct PlainFlag<'a> {
    #[serde(flatten)]
    flag: &'a Flag,
    #[serde(rename = "place", skip_serializing_if = "Option::is_none")]
    span: Option<PlainSpan<'a>>,
}

impl<'a> PlainFlag<'a> {
    fn new(flag: &'a Flag, run: &'a Run) -> Self {
        let span = run.file.span_of(&flag.entry).map(PlainSpan::new);
        Self { flag, span }
    }
}

/// A problem.
#[derive(Debug, Serialize)]
struct PlainProblem<'a> {
    /// Stable name of the fault.
    code: &'a str,
    /// `error` or `warning`.
    severity: &'static str,
    /// One sentence that can stand alone.
    message: &'a str,
    /// The entry's name, e.g. `weighings.A.1.filled`.
    #[serde(skip_serializing_if = "Option::is_none")]
    entry: Option<&'a str>,
    /// What was read there.
    #[serde(skip_serializing_if = "Option::is_none")]
    read: Option<&'a str>,
    /// What would be right, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    right: Option<&'a str>,
    /// The known word most like what was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    nearest: Option<&'a str>,
    /// Where it stands; absent where the whole file is meant.
    #[serde(rename = "place", skip_serializing_if = "Option::is_none")]
    span: Option<PlainSpan<'a>>,
    /// Other places that matter.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    also: Vec<Also<'a>>,
}

/// From `line` and `column` up to `end_line` and `end_column`, the first column that is no longer meant.
#[derive(Debug, Serialize)]
struct PlainSpan<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
}

/// Another place, and why it matters.
#[derive(Debug, Serialize)]
struct Also<'a> {
    #[serde(flatten)]
    span: PlainSpan<'a>,
    why: &'a str,
}

impl<'a> PlainProblem<'a> {
    fn new(problem: &'a Problem) -> Self {
        Self {
            code: problem.code.name(),
            severity: match problem.severity {
                Severity::Error => "error",
                Severity::Warning => "warning",
            },
            message: &problem.headline,
            entry: Some(problem.entry.as_str()).filter(|entry| !entry.is_empty()),
            read: problem.read.as_deref(),
            right: problem.right.as_deref(),
            nearest: problem.nearest.as_deref(),
            span: problem.span.as_ref().map(PlainSpan::new),
            also: problem
                .also
                .iter()
                .map(|(span, why)| Also {
                    span: PlainSpan::new(span),
                    why,
                })
                .collect(),
        }
    }
}

impl<'a> PlainSpan<'a> {
    fn new(span: &'a Span) -> Self {
        Self {
            file: &span.file,
            line: span.line,
            column: span.column,
            end_line: span.line,
            end_column: span.column.saturating_add(span.length),
        }
    }
}
