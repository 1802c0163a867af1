//! What is said, where and in which colour.

use std::io::{self, IsTerminal, Write};

use crate::problem::{
    Code, Problem, Rendering, Sources, on_a_terminal, render, render_blanks, shortened, warned,
};

/// Problems listed of one file.
const MOST_PROBLEMS: usize = 200;
/// The longest line, characters.
const LONGEST_LINE: usize = 4_000;

/// Both output streams: results to stdout, problems to stderr.
#[derive(Debug)]
pub(super) struct Terminal {
    quiet: bool,
    rendering: Rendering,
    /// How results are shown.
    results: Rendering,
    /// Messages to print later, in order; `None` if they are printed at once.
    kept: Option<Vec<Kept>>,
}

/// A message to print later.
#[derive(Debug)]
enum Kept {
    Result(String),
    Complaint(String),
}

impl Terminal {
    /// Colour only where a person reads, and not against their wish (<https://no-color.org>).
    pub(super) fn new(quiet: bool) -> Self {
        let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        // The old console of Windows shows the signs for colours themselves; those that do not say so.
        let understood = !cfg!(windows)
            || ["WT_SESSION", "TERM", "ConEmuANSI"]
                .iter()
                .any(|name| std::env::var_os(name).is_some());
        Self {
            quiet,
            rendering: Rendering {
                colour: wanted && understood && io::stderr().is_terminal(),
            },
            results: Rendering {
                colour: wanted && io::stdout().is_terminal(),
            },
            kept: None,
        }
    }

    /// Returns one that speaks alike but keeps what it is told, for work that is done beside other work.
    pub(super) fn keeping(&self) -> Self {
        Self {
            quiet: self.quiet,
            rendering: self.rendering,
            results: self.results,
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

    /// Says nothing but what is wrong from now on, since stdout holds a document.
    pub(super) fn hush(&mut self) {
        self.quiet = true;
    }

    /// Returns whether nobody wants to hear but what is wrong.
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

    /// A line about a flag: where, which, and what there is to say of it.
    pub(super) fn flag(&mut self, place: &str, code: &str, rest: &str) {
        if !self.quiet {
            let code = warned(code, self.results);
            self.out(format!("{}: {code}{}\n", harmless(place), harmless(rest)));
        }
    }

    /// Problems, with the lines they speak of from `sources`; of very many the first ones, and how many more there are.
    pub(super) fn problems(&mut self, problems: &[Problem], sources: &Sources<'_>) {
        // A reader that stops at as many says itself how many more there are, as one problem.
        let listed = match problems {
            [.., last] if last.code == Code::MoreProblems => MOST_PROBLEMS + 1,
            _ => MOST_PROBLEMS,
        };
        let (blanks, others): (Vec<&Problem>, Vec<&Problem>) = problems
            .iter()
            .take(listed)
            .partition(|problem| problem.code == Code::Blank);
        for problem in others {
            let told = render(problem, sources, self.rendering);
            self.err(format!("{}\n\n", told.trim_end()));
        }
        if !blanks.is_empty() {
            self.err(format!("{}\n", render_blanks(&blanks, self.rendering)));
        }
        if let Some(more) = problems.len().checked_sub(listed).filter(|more| *more > 0) {
            self.complain(&format!("and {more} more problems, which are not listed"));
        }
    }

    /// A line about what went wrong outside any run file.
    pub(super) fn complain(&mut self, line: &str) {
        self.err(format!("{}\n", harmless(line)));
    }
}

/// Text that cannot move a terminal's cursor, change its state or turn the order of what is read, and that is not endless;
/// lines may end in it.
pub(super) fn harmless(text: &str) -> String {
    text.split('\n')
        .map(|line| shortened(on_a_terminal(line), LONGEST_LINE))
        .collect::<Vec<_>>()
        .join("\n")
}
