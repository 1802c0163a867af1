//! From bytes to text, and what is wrong with a text that is not YAML, in words for someone who has never heard of YAML.

use super::diagnostics::Diagnostics;
use crate::problem::{Code, Lines, Problem, Span};
use saphyr_parser::ScanError;
use std::sync::Arc;

/// Returns the text of a run file, without a byte order mark.
///
/// # Errors
/// Those of [`text`]; nothing but white space and comments.
pub(super) fn decode<'b>(file: &Arc<str>, bytes: &'b [u8]) -> Result<&'b str, Problem> {
    let text = text(file, bytes)?;
    if text
        .lines()
        .all(|line| matches!(line.trim_start().chars().next(), None | Some('#')))
    {
        return Err(empty(file));
    }
    Ok(text)
}

/// Returns the text of a file, without a byte order mark.
///
/// # Errors
/// Bytes that are not UTF-8, control characters, lines that end as no editor of today ends them.
pub(super) fn text<'b>(file: &Arc<str>, bytes: &'b [u8]) -> Result<&'b str, Problem> {
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
            let good = good.trim_start_matches('\u{feff}');
            let right = if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
                "the file saved as UTF-8; it looks like UTF-16"
            } else {
                "the file saved as UTF-8"
            };
            return Err(Code::NotUtf8
                .error("The file is not text in UTF-8.")
                .at("", Some(Lines::new(good).locate(file, good.len(), 1)))
                .right(right));
        }
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if let Some((at, c)) = text.char_indices().find(|(_, c)| is_refused(*c)) {
        return Err(Code::ControlCharacter
            .error(format!(
                "The file contains {} (U+{:04X}).",
                kind(c),
                c as u32
            ))
            .at("", Some(Lines::new(text).locate(file, at, 1)))
            .right(if c == '\0' {
                "plain text, saved as UTF-8; the file may be UTF-16 or not text"
            } else {
                "plain text only"
            }));
    }
    // Readers disagree on whether it ends a line, so that no line number could be trusted.
    if let Some(at) = lone_return(text) {
        return Err(Code::LoneCarriageReturn
            .error("The file contains a carriage return without a line feed after it.")
            .at("", Some(Lines::new(text).locate(file, at, 1)))
            .right("the file saved with the line ends of Windows (CR LF) or Unix (LF)"));
    }
    Ok(text)
}

/// From here on, no character has a meaning that is agreed on; a report uses them for its formulas.
const PRIVATE: char = '\u{f0000}';

/// Returns whether a character is neither seen nor white space.
fn is_refused(c: char) -> bool {
    c >= PRIVATE || c.is_control() && !matches!(c, '\t' | '\n' | '\r')
}

fn kind(c: char) -> &'static str {
    if c >= PRIVATE {
        "a character for private use"
    } else {
        "a control character"
    }
}

/// Notes a control character in a text that was written with escapes.
pub(super) fn refuse_controls(found: &Diagnostics, text: &str, span: &Span) {
    if let Some(c) = text.chars().find(|c| is_refused(*c)) {
        found.add(|| {
            Code::ControlCharacter
                .error(format!("A text contains {} (U+{:04X}).", kind(c), c as u32))
                .at("", Some(span.clone()))
                .right("plain text only")
        });
    }
}

/// Texts that begin with `&` and so lost their first word.
pub(super) fn lost_words(spans: &[Span]) -> Vec<Problem> {
    let lost = spans.iter().map(|span| {
        Code::WordTakenForAnAnchor.error("The word after & is a name for aliases, not part of the text, and no alias refers to it.")
        .at("", Some(span.clone()))
        .right("quotes around a text that begins with &")
    });
    lost.collect()
}

/// Notes what looks like a part of a text behind a key or a text, and is a comment: `Brine #3`.
pub(super) fn note_comments(found: &Diagnostics, lines: &[&str], span: &Span) {
    let Some(line) = lines.get(span.line - 1) else {
        return;
    };
    let mut rest = line.chars().skip(span.column - 1);
    if rest.clone().next().is_some_and(|c| matches!(c, '"' | '\'')) {
        return;
    }
    let rest: String = rest.by_ref().skip(span.length).collect();
    let after = rest.strip_prefix(':').unwrap_or(&rest);
    let Some(comment) = after.trim_start().strip_prefix('#') else {
        return;
    };
    // A comment of its own has a blank after the sign.
    if !after.starts_with([' ', '\t']) || !comment.starts_with(char::is_alphanumeric) {
        return;
    }
    let column = span.column + span.length + rest.chars().take_while(|c| *c != '#').count();
    found.add(|| {
        Code::TextTakenForAComment
            .warning(format!(
                "Text after # is a comment and is not read: #{}.",
                comment.trim_end()
            ))
            .at(
                "",
                Some(Span {
                    column,
                    length: comment.trim_end().chars().count() + 1,
                    ..span.clone()
                }),
            )
            .right("quotes around a text with #; a space after the # of a comment")
    });
}

/// Returns where a carriage return stands without a line feed after it, in bytes.
fn lone_return(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut returns = text.match_indices('\r').map(|(at, _)| at);
    returns.find(|at| bytes.get(at + 1) != Some(&b'\n'))
}

/// Returns a file that says nothing.
pub(super) fn empty(file: &Arc<str>) -> Problem {
    Code::EmptyFile
        .error("The file has no entries.")
        .at("", Some(start_of(file)))
        .right("a run file; `fillmark start` writes one to fill in")
}

/// Returns the span of a file's first character.
pub(super) fn start_of(file: &Arc<str>) -> Span {
    Lines::new("").locate(file, 0, 1)
}

/// Returns what is wrong with a text of which no shape could be found. `serde_yaml` has the first word, as it is the
/// reader;
/// `finding` stands in where it finds no fault.
pub(super) fn explain(
    file: &Arc<str>,
    text: &str,
    finding: &ScanError,
    lines_before: usize,
) -> Problem {
    match serde_yaml::from_str::<serde::de::IgnoredAny>(text) {
        Err(error) => explain_value(file, text, &error, lines_before),
        Ok(_) => fault(
            file,
            text,
            finding.info(),
            finding.marker().line(),
            finding.marker().col() + 1,
            lines_before,
        ),
    }
}

/// Returns what is wrong with a text that `serde_yaml` refuses.
pub(super) fn explain_value(
    file: &Arc<str>,
    text: &str,
    error: &serde_yaml::Error,
    lines_before: usize,
) -> Problem {
    let (line, column) = error
        .location()
        .map_or((1, 1), |at| (at.line(), at.column()));
    fault(file, text, &error.to_string(), line, column, lines_before)
}

fn fault(
    file: &Arc<str>,
    text: &str,
    message: &str,
    line: usize,
    column: usize,
    lines_before: usize,
) -> Problem {
    let span = |line, column| Span::new(Arc::clone(file), lines_before + line, column, 1);
    let indents = text.lines().take(line).enumerate();
    for (at, indent) in
        indents.map(|(at, line)| (at, &line[..line.len() - line.trim_start().len()]))
    {
        if let Some(column) = indent.chars().position(|c| c == '\t') {
            return Code::TabIndent
                .error("A line is indented with a tab, which YAML does not allow.")
                .at("", Some(span(at + 1, column + 1)))
                .right("spaces at the start of the line");
        }
    }
    let cause = message.split(" at line ").next().unwrap_or(message);
    let problem = Code::NotYaml
        .error(format!("The file cannot be read as YAML: {cause}."))
        .at("", Some(span(line, column)))
        .right(advice(message));
    match began(message).filter(|began| *began != (line, column)) {
        Some((line, column)) => problem.also(span(line, column), "where it began"),
        None => problem,
    }
}

/// Line and column where the broken part began, as the end of a message tells: `…, while parsing … at line 4 column 13`.
fn began(message: &str) -> Option<(usize, usize)> {
    let (_, context) = message.split_once(", while ")?;
    let (line, column) = context.rsplit_once(" at line ")?.1.split_once(" column ")?;
    Some((line.parse().ok()?, column.parse().ok()?))
}

/// Returns what to do about a message of the YAML reader.
fn advice(message: &str) -> &'static str {
    let message_has = |part: &str| message.contains(part);
    if message_has("mapping values are not allowed") {
        "quotes around a text that contains a colon and a space; the same indent for all lines of one section"
    } else if message_has("cannot start any token") {
        "quotes around a text that begins with @, ` or %"
    } else if message_has("unknown anchor") || message_has("alias") || message_has("anchor") {
        "quotes around a text that begins with * or &; an alias (*name) only after its anchor (&name)"
    } else if message_has("escape") {
        "single quotes around a text with a backslash"
    } else if message_has("quoted scalar") {
        "a closing quote for every opening one"
    } else if message_has("flow") || message_has("',' or") {
        "a ] for every [ and a } for every {, with commas between the items"
    } else {
        "lines of the form `key: value`, all lines of one section with the same indent"
    }
}
