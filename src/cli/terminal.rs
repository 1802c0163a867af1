//! What is said, where and in which colour.

use std::io::{self, IsTerminal, Write};

use super::Ending;
use crate::problem::{Problem, Rendering, Sources, on_a_terminal, render};

/// Both output streams: results to stdout, problems to stderr.
#[derive(Debug)]
pub(super) struct Terminal {
    quiet: bool,
    rendering: Rendering,
    /// What is kept to be told later, in order; none where it is told at once.
    kept: Option<Vec<Kept>>,
}

/// Something to be told later.
#[derive(Debug)]
enum Kept {
    Result(String),
    Complaint(String),
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
            kept: None,
        }
    }

    /// One that speaks alike but keeps what it is told, for work that is done beside other work.
    pub(super) fn keeping(&self) -> Self {
        Self {
            quiet: self.quiet,
            rendering: self.rendering,
            kept: Some(Vec::new()),
        }
    }

    /// Tells what another one kept.
    pub(super) fn tell(&mut self, other: Self) {
        for kept in other.kept.into_iter().flatten() {
            match kept {
                Kept::Result(text) => self.out(text),
                Kept::Complaint(text) => self.err(text),
            }
        }
    }

    /// Whether nobody wants to hear but what is wrong.
    pub(super) fn is_quiet(&self) -> bool {
        self.quiet
    }

    fn out(&mut self, text: String) {
        match &mut self.kept {
            Some(kept) => kept.push(Kept::Result(text)),
            // A reader who closed the pipe has heard enough.
            None => {
                let _ = io::stdout().write_all(text.as_bytes());
            }
        }
    }

    fn err(&mut self, text: String) {
        match &mut self.kept {
            Some(kept) => kept.push(Kept::Complaint(text)),
            None => {
                let _ = io::stderr().write_all(text.as_bytes());
            }
        }
    }

    /// A line of results.
    pub(super) fn say(&mut self, line: &str) {
        if !self.quiet {
            self.out(format!("{}\n", harmless(line)));
        }
    }

    /// A whole document on stdout, asked for and therefore written even when quiet.
    pub(super) fn document(&mut self, text: &str) -> Ending {
        let mut stdout = io::stdout();
        let written = stdout.write_all(text.as_bytes());
        match written.and_then(|()| stdout.flush()) {
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
        for problem in problems {
            let told = render(problem, sources, self.rendering);
            self.err(format!("{}\n\n", told.trim_end()));
        }
    }

    /// A line about what went wrong outside any run file.
    pub(super) fn complain(&mut self, line: &str) {
        self.err(format!("{}\n", harmless(line)));
    }
}

/// Text that cannot move a terminal's cursor, change its state or turn the order of what is read; lines may end in it.
fn harmless(text: &str) -> String {
    text.split('\n')
        .map(on_a_terminal)
        .collect::<Vec<_>>()
        .join("\n")
}
