//! Lines of keys and values, and of list items.

use super::super::words;
use super::{At, Scan, YamlFault};
use crate::problem::{Code, nearest};

/// What the last key or item has, and where it stands.
struct LastLine {
    indent: usize,
    /// Whether it has a value on its line, so that nothing can stand below it.
    valued: bool,
}

impl Scan {
    pub(super) fn run(&mut self) -> Result<(), YamlFault> {
        let mut levels: Vec<usize> = Vec::new();
        let mut before: Option<LastLine> = None;
        while !self.has_ended() {
            self.indent()?;
            if self.peek().is_none() || self.is_at_comment() {
                self.next_line();
                continue;
            }
            let line = self.at;
            let indent = line.column;
            if indent == 0 && self.rest().starts_with("---") {
                self.next_line();
                continue;
            }
            let begins_item = self.is_at_dash();
            let goes_on = !begins_item && !self.has_colon();
            let below_value = before
                .as_ref()
                .is_some_and(|before| before.valued && indent > before.indent);
            // A text may go on in lines indented further.
            if goes_on
                && (below_value || before.as_ref().is_some_and(|b| indent > b.indent))
                && !matches!(self.peek(), Some('[' | '{' | '"' | '\'' | '|' | '>'))
            {
                self.next_line();
                continue;
            }
            if below_value {
                return Err(YamlFault::new(
                    line,
                    self.rest().trim().chars().count(),
                    "The line is indented further than the one before it, which already has a value.",
                    "the same indent for all lines of one section; a dash before each item of a list",
                ));
            }
            while levels.last().is_some_and(|level| *level > indent) {
                levels.pop();
            }
            let known = levels.last() == Some(&indent);
            let deeper = before.as_ref().is_none_or(|before| indent > before.indent);
            if !known && !deeper {
                return Err(YamlFault::new(
                    line,
                    self.rest().trim().chars().count(),
                    "The indentation of the line matches no line before it.",
                    "the same indent for all lines of one section, with spaces",
                ));
            }
            if !known {
                levels.push(indent);
            }
            before = Some(self.line(&mut levels)?);
        }
        Ok(())
    }

    /// Reads the blanks that a line begins with.
    fn indent(&mut self) -> Result<(), YamlFault> {
        while let Some(c) = self.peek() {
            match c {
                ' ' => self.at.column += 1,
                '\t' if self.rest().trim().is_empty() => self.at.column += 1,
                '\t' => self.refuse_tab()?,
                c if c.is_whitespace() || c == '\u{200b}' => {
                    return Err(YamlFault::new(
                        self.at,
                        1,
                        format!(
                            "A line is indented with a character that is not a space (U+{:04X}).",
                            c as u32
                        ),
                        "spaces at the start of the line",
                    ));
                }
                _ => break,
            }
        }
        Ok(())
    }

    /// Refuses a tab among the blanks that the line begins with.
    pub(super) fn refuse_tab(&self) -> Result<(), YamlFault> {
        let Some(line) = self.lines.get(self.at.line) else {
            return Ok(());
        };
        let blanks = || line.iter().take_while(|c| c.is_whitespace());
        let Some(column) = blanks()
            .position(|c| *c == '\t')
            .filter(|_| blanks().count() < line.len())
        else {
            return Ok(());
        };
        let at = At { column, ..self.at };
        let fault = YamlFault::new(
            at,
            1,
            "A line is indented with a tab, which YAML does not allow.",
            "spaces at the start of the line",
        );
        Err(YamlFault {
            code: Code::TabIndent,
            ..fault
        })
    }

    /// Returns whether the dash of a list item stands here.
    fn is_at_dash(&self) -> bool {
        self.peek() == Some('-') && self.ahead(1).is_none_or(|next| matches!(next, ' ' | '\t'))
    }

    /// Returns whether what is left of the line has a colon that ends a key.
    fn has_colon(&self) -> bool {
        let rest = self.rest();
        rest.contains(": ") || rest.contains(":\t") || rest.trim_end().ends_with(':')
    }

    /// Reads a line of keys and values from its first character on.
    fn line(&mut self, levels: &mut Vec<usize>) -> Result<LastLine, YamlFault> {
        let mut indent = self.at.column;
        let outer = indent;
        let mut item = false;
        while self.is_at_dash() {
            item = true;
            indent = self.at.column;
            self.at.column += 1;
            self.skip_blanks();
            if self.peek().is_none() || self.is_at_comment() {
                self.next_line();
                return Ok(LastLine {
                    indent,
                    valued: false,
                });
            }
            levels.push(self.at.column);
        }
        let start = self.at;
        let mut had_key = false;
        loop {
            if self.is_at_comment() || self.peek().is_none() {
                self.next_line();
                return Ok(LastLine {
                    indent: if had_key { start.column } else { indent },
                    valued: false,
                });
            }
            let opening = self.at;
            match self.peek() {
                Some(quote @ ('"' | '\'')) => {
                    self.quoted()?;
                    self.after_whole(opening, &quote.to_string())?;
                }
                Some(bracket @ ('[' | '{')) => {
                    self.brackets(outer)?;
                    self.after_whole(opening, &bracket.to_string())?;
                }
                Some('|' | '>') => {
                    self.block_text(start.column);
                    return Ok(LastLine {
                        indent: start.column,
                        valued: true,
                    });
                }
                _ => {
                    let text = self.plain();
                    if !self.is_at_colon(false) {
                        if !had_key && !item {
                            return Err(colonless(start, &text));
                        }
                    } else if had_key {
                        return Err(colon_in_text(opening, &text));
                    } else if text.starts_with('-')
                        && !text[1..].starts_with(|c: char| c.is_ascii_digit())
                    {
                        return Err(YamlFault::new(
                            opening,
                            1,
                            "The dash of an item needs a space after it.",
                            format!("- {}: …", &text[1..]),
                        ));
                    }
                }
            }
            self.skip_blanks();
            if self.is_at_colon(false) {
                if had_key {
                    return Err(colon_in_text(opening, ""));
                }
                had_key = true;
                self.at.column += 1;
                if self.peek() == Some('\t') {
                    return Err(YamlFault::new(
                        self.at,
                        1,
                        "A tab follows the colon of a key.",
                        "a space after the colon",
                    ));
                }
                self.skip_blanks();
                continue;
            }
            self.next_line();
            return Ok(LastLine {
                indent: if had_key { start.column } else { indent },
                valued: true,
            });
        }
    }

    /// Reads a text without quotes, to the end of the line or to a colon that ends a key.
    fn plain(&mut self) -> String {
        let mut text = String::new();
        while let Some(c) = self.peek() {
            if self.is_at_colon(false) || self.is_at_comment() {
                break;
            }
            text.push(c);
            self.at.column += 1;
        }
        text.trim_end().to_owned()
    }

    /// Returns what may follow a text in quotes or in brackets: nothing, a comment, or the colon of a key.
    fn after_whole(&mut self, opening: At, sign: &str) -> Result<(), YamlFault> {
        self.skip_blanks();
        if self.peek().is_none() || self.is_at_comment() || self.is_at_colon(false) {
            return Ok(());
        }
        if matches!(sign, "\"" | "'") {
            return Err(self.goes_on(opening));
        }
        Err(YamlFault::new(
            opening,
            1,
            format!("A value that begins with {sign} continues after its closing bracket."),
            format!(
                "nothing after the closing bracket; quotes around a text that begins with {sign}"
            ),
        ))
    }

    /// Passes over the lines of a text in a block, which are indented further than its key.
    fn block_text(&mut self, key: usize) {
        self.next_line();
        while let Some(line) = self.lines.get(self.at.line) {
            let indent = line.iter().take_while(|c| **c == ' ').count();
            let blank = line.iter().all(|c| c.is_whitespace());
            if !blank && indent <= key {
                break;
            }
            self.next_line();
        }
    }
}

/// Returns a line that is a text and no key.
fn colonless(at: At, text: &str) -> YamlFault {
    let end = text.find(|c: char| c.is_whitespace() || c == ':');
    let (word, rest) = text.split_at(end.unwrap_or(text.len()));
    let value = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ':' | '='));
    let key = words::all_keys().find(|key| *key == word);
    let key = key.or_else(|| nearest(word, words::all_keys()));
    let (headline, right) = match key {
        _ if rest.starts_with(':') => (
            format!("{word} needs a space after the colon."),
            format!("{word}: {value}"),
        ),
        Some(key) if !value.is_empty() => (
            format!("{word} needs a colon after it."),
            format!("{key}: {value}"),
        ),
        _ => (
            "The line has no key with a colon after it.".to_owned(),
            "lines of the form `key: value`; a value continued on the next line indented further than its key".to_owned(),
        ),
    };
    let length = text.chars().count();
    YamlFault::new(at, length, headline, right)
}

pub(super) fn colon_in_text(at: At, text: &str) -> YamlFault {
    YamlFault::new(
        at,
        text.chars().count(),
        "A text contains a colon and a space, which begin a value.",
        "quotes around a text that contains a colon and a space; in brackets, a comma between entries",
    )
}
