//! Lists and sections in brackets.

use super::lines::colon_in_text;
use super::{At, Scan, YamlFault};

/// A bracket not closed yet.
struct OpenBracket {
    at: At,
    sign: char,
    /// Whether the entry that is read has had its colon.
    had_colon: bool,
}

impl Scan {
    /// Reads what stands in brackets, to the closing one; it stands in a line indented so far.
    pub(super) fn brackets(&mut self, indent: usize) -> Result<(), YamlFault> {
        let mut open: Vec<OpenBracket> = Vec::new();
        // Whether an entry or a value may begin here.
        let mut fresh = true;
        loop {
            self.skip_blanks();
            let Some(c) = self.peek() else {
                self.next_line();
                self.refuse_tab()?;
                if self.has_ended() || self.leaves(indent) {
                    return Err(unclosed(&open));
                }
                continue;
            };
            if self.is_at_comment() {
                self.at.column = usize::MAX / 2;
                continue;
            }
            match c {
                '[' | '{' => {
                    open.push(OpenBracket {
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
                    if (last.sign == '[') != (c == ']') {
                        let end = if last.sign == '[' { ']' } else { '}' };
                        return Err(YamlFault::new(
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
                }
                ',' => {
                    self.at.column += 1;
                    fresh = true;
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
                        Some(_) => return Err(self.goes_on(opening)),
                    }
                    fresh = false;
                }
                ':' if self.is_at_colon(true) || !fresh => {
                    self.at.column += 1;
                    if let Some(last) = open.last_mut() {
                        last.had_colon = true;
                    }
                    fresh = true;
                }
                _ => {
                    let start = self.at;
                    let text = self.plain_in_brackets();
                    let had_colon = open.last().is_some_and(|last| last.had_colon);
                    if self.is_at_colon(true) && had_colon {
                        return Err(colon_in_text(start, &text));
                    }
                    if matches!(self.peek(), Some('[' | '{')) && fresh {
                        return Err(YamlFault::new(
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
            if matches!(c, ',' | '[' | ']' | '{' | '}')
                || self.is_at_colon(true)
                || self.is_at_comment()
            {
                break;
            }
            text.push(c);
            self.at.column += 1;
        }
        text.trim().to_owned()
    }

    /// Returns whether this line cannot be a part of brackets that began in a line indented so far: it begins another
    /// entry.
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

fn unclosed(open: &[OpenBracket]) -> YamlFault {
    let (at, sign) = open
        .last()
        .map_or((At { line: 0, column: 0 }, '['), |last| {
            (last.at, last.sign)
        });
    let end = if sign == '[' { ']' } else { '}' };
    YamlFault::new(
        at,
        1,
        format!("This {sign} is not closed."),
        format!("a {end} after its contents; quotes around a text that begins with {sign}"),
    )
}
