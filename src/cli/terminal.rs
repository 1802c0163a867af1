//! What is said, where and in which colour.

use std::io::{self, IsTerminal, Write};

use super::Ending;
use crate::problem::{Problem, Rendering, Sources, on_a_terminal, render};

/// Both output streams: results to stdout, problems to stderr.
#[derive(Debug)]
pub(super) struct Terminal {
    quiet: bool,
    rendering: Rendering,
    results: io::Stdout,
    complaints: io::Stderr,
}

impl Terminal {
    /// Colour only where a person reads, and not against their wish (<https://no-color.org>).
    pub(super) fn new(quiet: bool) -> Self {
        let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        Self {
            quiet,
            rendering: Rendering {
                colour: wanted && io::stderr().is_terminal(),
            },
            results: io::stdout(),
            complaints: io::stderr(),
        }
    }

    /// A line of results.
    pub(super) fn say(&mut self, line: &str) {
        if !self.quiet {
            // A reader who closed the pipe has heard enough.
            let _ = writeln!(self.results, "{}", harmless(line));
        }
    }

    /// A whole document on stdout, asked for and therefore written even when quiet.
    pub(super) fn document(&mut self, text: &str) -> Ending {
        match self
            .results
            .write_all(text.as_bytes())
            .and_then(|()| self.results.flush())
        {
            // A reader who closed the pipe has read enough.
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                self.complain(&format!("stdout cannot be written: {error}"));
                Ending::Machine
            }
            _ => Ending::Done,
        }
    }

    /// Problems, with the lines they speak of from `sources`.
    pub(super) fn problems(&mut self, problems: &[Problem], sources: &Sources<'_>) {
        let mut stderr = self.complaints.lock();
        for problem in problems {
            let _ = writeln!(
                stderr,
                "{}\n",
                render(problem, sources, self.rendering).trim_end()
            );
        }
    }

    /// A line about what went wrong outside any run file.
    pub(super) fn complain(&mut self, line: &str) {
        let _ = writeln!(self.complaints, "{}", harmless(line));
    }
}

/// Text that cannot move a terminal's cursor, change its state or turn the order of what is read; lines may end in it.
fn harmless(text: &str) -> String {
    text.split('\n')
        .map(on_a_terminal)
        .collect::<Vec<_>>()
        .join("\n")
}
