//! Where in the templates a piece of the rendered Markdown came from.

use minijinja::{OutputSpan, OutputSpanKind};

use super::template::{ORDER, Template, Texts};
use crate::problem::{Lines, Problem, Span};

/// Rendered text, and what each piece of it came from.
pub(super) struct Origin<'a> {
    text: &'a str,
    spans: &'a [OutputSpan],
    templates: &'a Texts,
}

impl<'a> Origin<'a> {
    pub(super) fn new(text: &'a str, spans: &'a [OutputSpan], templates: &'a Texts) -> Self {
        Self {
            text,
            spans,
            templates,
        }
    }

    /// Returns a problem of the rendered text at the place of the template that wrote it, with the line as it was
    /// rendered.
    pub(super) fn traced(&self, mut problem: Problem) -> Problem {
        let Some(span) = problem.span.take() else {
            return problem;
        };
        if problem.read.is_none() {
            let line = self.text.lines().nth(span.line.saturating_sub(1));
            problem.read = line
                .map(|line| line.trim().to_owned())
                .filter(|line| !line.is_empty());
        }
        problem.span = Some(self.locate(&span));
        for (also, _) in &mut problem.also {
            *also = self.locate(also);
        }
        problem
    }

    /// Returns where what stands at a place of the rendered text was written.
    fn locate(&self, rendered: &Span) -> Span {
        self.locate_byte(offset(self.text, rendered), rendered.length)
    }

    /// Returns where what stands at a byte of the rendered text was written.
    pub(super) fn locate_byte(&self, at: usize, length: usize) -> Span {
        let index = self
            .spans
            .partition_point(|span| span.output_range().end <= at);
        let found = self.spans.get(index).and_then(|span| {
            let template = self.templates.get(span.name())?;
            let source = span.source_range();
            Some(match span.kind() {
                OutputSpanKind::Raw => {
                    let within = at.saturating_sub(span.output_range().start);
                    locate_bytes(template, source.start + within, length)
                }
                _ => locate_bytes(template, source.start, source.len()),
            })
        });
        // Without a piece that it came from, the text is that of the template which orders the others.
        found.unwrap_or_else(|| {
            let file = self.templates.get(ORDER).map_or(ORDER, |t| &t.file);
            Span::new(file, 1, 1, 1)
        })
    }
}

/// Returns how many bytes of a text stand before a place in it.
fn offset(text: &str, span: &Span) -> usize {
    let lines = text.split_inclusive('\n');
    let before: usize = lines
        .clone()
        .take(span.line.saturating_sub(1))
        .map(str::len)
        .sum();
    let line = lines.clone().nth(span.line.saturating_sub(1));
    let within = line.and_then(|line| line.char_indices().nth(span.column.saturating_sub(1)));
    before + within.map_or(0, |(at, _)| at)
}

/// Returns the place of bytes of a template, as far as they stand on one line; `length` counts bytes or characters of
/// something that may be longer.
pub(super) fn locate_bytes(template: &Template, at: usize, length: usize) -> Span {
    Lines::new(&template.text).locate(&template.file.as_str().into(), at, length)
}

/// Returns a whole line of a template.
pub(super) fn line(template: &Template, number: usize) -> Span {
    let text = template.text.lines().nth(number.saturating_sub(1));
    Span::new(
        template.file.as_str(),
        number,
        1,
        text.map_or(1, |text| text.chars().count()),
    )
}
