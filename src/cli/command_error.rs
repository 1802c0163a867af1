//! Why a command ends early.

use std::fmt::Display;
use std::io;
use std::path::Path;

use super::Ending;
use super::terminal::Terminal;
use crate::problem::{Problem, Sources};

/// Why a command ends early: what there is to say, and how it ends.
#[derive(Debug)]
pub(super) struct CommandError {
    problems: Vec<Problem>,
    sources: Sources<'static>,
    /// What is said after the problems; empty for nothing.
    line: String,
    ending: Ending,
}

impl CommandError {
    /// Returns one that is said in a line.
    pub(super) fn new(ending: Ending, line: impl Into<String>) -> Self {
        Self {
            problems: Vec::new(),
            sources: Sources::none(),
            line: line.into(),
            ending,
        }
    }

    /// Returns one whose cause has been told.
    pub(super) fn told(ending: Ending) -> Self {
        Self::new(ending, "")
    }

    /// Returns one of a command line that is wrong.
    pub(super) fn usage(line: impl Into<String>) -> Self {
        Self::new(Ending::Usage, line)
    }

    /// Returns one of a file that the system does not read.
    pub(super) fn not_read(what: &impl Display, error: &io::Error) -> Self {
        Self::new(Ending::Machine, format!("{what} cannot be read: {error}"))
    }

    /// Returns one of a file that the system does not write.
    pub(super) fn not_written(path: &Path, error: &io::Error) -> Self {
        let line = format!("`{}` cannot be written: {error}", path.display());
        Self::new(Ending::Machine, line)
    }

    /// Returns the same, with problems, whose lines are in `sources`.
    pub(super) fn with(self, problems: Vec<Problem>, sources: Sources<'_>) -> Self {
        Self {
            problems,
            sources: sources.into_owned(),
            ..self
        }
    }

    /// Returns one that a problem of no file tells.
    pub(super) fn of_problem(ending: Ending, problem: Problem) -> Self {
        Self::told(ending).with(vec![problem], Sources::none())
    }

    /// Tells it; how the command ends.
    pub(super) fn tell(&self, terminal: &mut Terminal) -> Ending {
        terminal.problems(&self.problems, &self.sources);
        if !self.line.is_empty() {
            terminal.complain(&self.line);
        }
        self.ending
    }
}

/// Tells what went wrong, if something did, where other work goes on; how that ended.
pub(super) fn end(done: Result<(), CommandError>, terminal: &mut Terminal) -> Ending {
    done.map_or_else(|error| error.tell(terminal), |()| Ending::Done)
}
