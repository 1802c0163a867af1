//! Lists and sections in brackets.

use super::super::slips::is_curly;
use super::super::words;
use super::{At, Fault, Scan};

/// A bracket not closed yet.
struct Open {
    at: At,
    sign: char,
    /// Whether the entry that is read has had its colon.
    had_colon: bool,
}

impl Scan<'_> {
    /// Reads what stands in brackets, to the closing one; it stands in a line indented so far.
    pub(super) fn brackets(&mut self, indent: usize) -> Result<(), Fault> {
        let mut open: Vec<Open> = Vec::new();
        // Where a comment hides the end of its line.
        let mut comment = None;
        // Whether an entry or a value may begin here.
        let mut fresh = true;
        // Where an inner bracket has closed, until its entry ends.
        let mut closed = None;
        loop {
            self.skip_blanks();
            let Some(c) = self.peek() else {
                self.next_line();
                self.refuse_tab()?;
                if self.ended() || self.leaves(indent) {
                    return Err(unclosed(&open, comment));
                }
                continue;
            };
            if self.at_comment() {
                comment = comment.or(Some(self.at));
                self.at.column = usize::MAX / 2;
                continue;
            }
            match c {
                '[' | '{' => {
                    if !fresh {
                        return Err(no_comma(self.at, c));
                    }
                    open.push(Open {
                        at: self.at,
                        sign: c,
                        had_colon: false,
                    });
                    self.at.column += 1;
                }
                ']' | '}' => {
                    let Some(last) = open.pop() else {
                        return Ok(());
                    };
                    let other = if c == ']' { '}' } else { ']' };
                    if (last.sign == '[') != (c == ']') && self.ahead(1) == Some(other) {
                        return Err(Fault::new(
                            self.at,
                            1,
                            format!("This {c} has no opening bracket."),
                            "as many closing brackets as opening ones",
                        ));
                    }
                    if (last.sign == '[') != (c == ']') {
                        let end = if last.sign == '[' { ']' } else { '}' };
                        return Err(Fault::new(
                            last.at,
                            1,
                            format!("This {} is not closed before a {c}.", last.sign),
                            format!("a {end} before the {c}"),
                        ));
                    }
                    self.at.column += 1;
                    if open.is_empty() {
                        return Ok(());
                    }
                    fresh = false;
                    closed = Some(c);
                }
                ',' => {
                    self.at.column += 1;
                    fresh = true;
                    closed = None;
                    if let Some(last) = open.last_mut() {
                        last.had_colon = false;
                    }
                }
                '"' | '\'' if fresh => {
                    let opening = self.at;
                    self.quoted()?;
                    let after = self.at;
                    self.skip_blanks();
                    match self.peek() {
                        None | Some(',' | ']' | '}' | ':') => {}
                        Some('#') if self.at != after => {}
                        Some(_) => return Err(self.goes_on(opening, "quote")),
                    }
                    fresh = false;
                }
                ':' if self.at_colon(true) || !fresh => {
                    self.at.column += 1;
                    if let Some(last) = open.last_mut() {
                        last.had_colon = true;
                    }
                    fresh = true;
                }
                _ => {
                    self.refuse_start(true)?;
                    let start = self.at;
                    let text = self.plain_in_brackets();
                    if let Some(sign) = closed.filter(|_| !self.at_colon(true)) {
                        return Err(Fault::new(
                            start,
                            text.chars().count(),
                            format!("{text} follows a {sign} that ends its entry."),
                            match sign {
                                ']' => {
                                    "nothing after a list; write the unit with each reading, [5.00 mL, 5.00 mL], or omit it"
                                }
                                _ => "a comma between entries",
                            },
                        ));
                    }
                    let had_colon = open.last().is_some_and(|last| last.had_colon);
                    if self.at_colon(true) && had_colon {
                        return Err(second_colon(start, &text));
                    }
                    if matches!(self.peek(), Some('[' | '{')) && fresh {
                        return Err(Fault::new(
                            start,
                            text.chars().count(),
                            format!("{text} has no colon."),
                            format!("a colon and a space after it: {text}: …"),
                        ));
                    }
                    fresh = false;
                }
            }
        }
    }

    /// Reads a text without quotes up to what ends it.
    fn plain_in_brackets(&mut self) -> String {
        let mut text = String::new();
        while let Some(c) = self.peek() {
            if matches!(c, ',' | '[' | ']' | '{' | '}') || self.at_colon(true) || self.at_comment()
            {
                break;
            }
            text.push(c);
            self.at.column += 1;
        }
        text.trim().to_owned()
    }

    /// Whether this line cannot be a part of brackets that began in a line indented so far: it begins another entry.
    fn leaves(&self, indent: usize) -> bool {
        let Some(line) = self.lines.get(self.at.line) else {
            return true;
        };
        let text: String = line.iter().collect();
        let own = line.iter().take_while(|c| **c == ' ').count();
        let text = text.trim();
        own <= indent
            && !text.is_empty()
            && !text.starts_with(['#', ']', '}', ','])
            && (text.contains(": ") || text.ends_with(':') || text.starts_with("- "))
    }
}

fn unclosed(open: &[Open], comment: Option<At>) -> Fault {
    if let Some(at) = comment {
        return Fault::new(
            at,
            1,
            "A # after a space begins a comment: the rest of the line, with the closing bracket, is not read.",
            "quotes around a text with #, or the comment on a line of its own",
        );
    }
    let (at, sign) = open
        .last()
        .map_or((At { line: 0, column: 0 }, '['), |last| {
            (last.at, last.sign)
        });
    let end = if sign == '[' { ']' } else { '}' };
    Fault::new(
        at,
        1,
        format!("This {sign} is not closed."),
        format!("a {end} after its contents; quotes around a text that begins with {sign}"),
    )
}

fn no_comma(at: At, sign: char) -> Fault {
    Fault::new(
        at,
        1,
        format!("A comma is missing before the {sign}."),
        "a comma between entries",
    )
}

/// A second colon in one entry: the comma before it is missing or is another sign, or it is a part of a text.
fn second_colon(start: At, text: &str) -> Fault {
    let signs = [
        (';', "A semicolon"),
        ('\u{ff0c}', "A full-width comma"),
        ('\u{ff1b}', "A full-width semicolon"),
        ('\u{3001}', "An ideographic comma"),
    ];
    let sign = signs
        .iter()
        .find_map(|(sign, called)| Some((text.find(*sign)?, *sign, *called)));
    if let Some((at, sign, called)) = sign {
        let column = start.column + text[..at].chars().count();
        return Fault::new(
            At { column, ..start },
            1,
            format!("{called} is used instead of a comma between entries."),
            format!(
                "{}, {}: …",
                text[..at].trim(),
                text[at + sign.len_utf8()..].trim()
            ),
        );
    }
    let last = text.split_whitespace().last().unwrap_or_default();
    let before = text[..text.len() - last.len()].trim_end();
    if words::is_key(last) && !before.is_empty() {
        let column = start.column + text.chars().count() - last.chars().count();
        return Fault::new(
            At { column, ..start },
            last.chars().count(),
            format!("A comma is missing between {before} and {last}."),
            format!("{before}, {last}: …"),
        );
    }
    let what = if text.starts_with(is_curly) {
        "straight quotes, not curly ones, around a text with a colon or a comma"
    } else {
        "quotes around a text with a colon: \"…: …\""
    };
    Fault::new(
        start,
        text.chars().count(),
        "A text contains a colon and a space, which begin a value.",
        what,
    )
}
