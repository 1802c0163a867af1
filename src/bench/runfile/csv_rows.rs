//! A table as text, its values divided by commas, semicolons or tabs (RFC 4180 for commas): into cells with their spans.
//!
//! `csv-core` rather than its larger sister `csv`, because it tells where every value ends, and a problem has to point at
//! the value.

use super::tree::one_line;
use crate::problem::{Code, Problem, Span};
use csv_core::{ReadFieldResult, Reader, ReaderBuilder};
use std::sync::Arc;

/// No table of weighings is wider.
const MOST_COLUMNS: usize = 200;

/// What may divide the values of a line, with its name.
pub(super) const DIVIDERS: [(u8, &str); 3] =
    [(b',', "commas"), (b';', "semicolons"), (b'\t', "tabs")];

/// A value of a line.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// Its text on one line, without quotes and outer white space.
    pub(super) text: String,
    /// Where it stands, quotes included; where nothing is written, where it would begin.
    pub(super) span: Span,
}

/// A line, or several where a value in quotes goes on.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) cells: Vec<Cell>,
    pub(super) span: Span,
}

impl Row {
    fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.text.is_empty())
    }
}

/// The lines of a table on which something is written.
pub(super) struct Rows<'t> {
    text: &'t str,
    reader: Reader,
    divider: u8,
    /// How far the text is read, bytes.
    at: usize,
    cursor: Cursor<'t>,
    /// Where the reader puts a value; longer than the text, so that any fits.
    value: Vec<u8>,
    ended: bool,
}

impl<'t> Rows<'t> {
    pub(super) fn new(file: &Arc<str>, text: &'t str, divider: u8) -> Self {
        Self {
            text,
            reader: ReaderBuilder::new().delimiter(divider).build(),
            divider,
            at: 0,
            cursor: Cursor {
                file: Arc::clone(file),
                text,
                at: 0,
                line: 1,
                column: 1,
            },
            value: vec![0; text.len() + 1],
            ended: false,
        }
    }

    /// Returns the next line, blank or not; none at the end.
    fn row(&mut self) -> Result<Option<Row>, Problem> {
        let mut cells: Vec<Cell> = Vec::new();
        while let Some((cell, last)) = self.cell(cells.is_empty())? {
            if cells.len() == MOST_COLUMNS {
                return Err(Code::TooManyColumns
                    .error(format!("The line has more than {MOST_COLUMNS} values."))
                    .at("", Some(cell.span))
                    .right("a column for each reading of a weighing"));
            }
            cells.push(cell);
            if last {
                break;
            }
        }
        let Some((first, last)) = cells.first().zip(cells.last()) else {
            return Ok(None);
        };
        let mut span = first.span.clone();
        if last.span.line == span.line {
            span.length = last.span.column + last.span.length - span.column;
        }
        Ok(Some(Row { cells, span }))
    }

    /// Returns the next value, and whether it is the last of its line; none at the end of the text.
    fn cell(&mut self, first: bool) -> Result<Option<(Cell, bool)>, Problem> {
        let (begun, mut length) = (self.at, 0);
        loop {
            let rest = &self.text.as_bytes()[self.at..];
            let (result, read, written) = self.reader.read_field(rest, &mut self.value[length..]);
            self.at += read;
            length += written;
            match result {
                ReadFieldResult::Field { record_end } => {
                    let raw = &self.text[begun..self.at];
                    let cell = self.placed(raw, begun, length, first, record_end)?;
                    return Ok(Some((cell, record_end)));
                }
                ReadFieldResult::End => return Ok(None),
                // Asked again, with nothing left, it ends.
                ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
            }
        }
    }

    /// Returns the value whose raw text, with what ends it, begins at a byte.
    fn placed(
        &mut self,
        raw: &str,
        begun: usize,
        length: usize,
        first: bool,
        last: bool,
    ) -> Result<Cell, Problem> {
        // A first value may have blank lines before it.
        let skipped = raw.len() - raw.trim_start_matches(['\r', '\n']).len();
        let skipped = if first { skipped } else { 0 };
        let divider = [char::from(self.divider)];
        let ends: &[char] = if last { &['\r', '\n'] } else { &divider };
        let inner = &raw[skipped..];
        let inner = inner.strip_suffix(ends).unwrap_or(inner);
        let written = inner.trim();
        let blank = match written {
            "" => 0,
            _ => inner.len() - inner.trim_start().len(),
        };
        let span = self.cursor.locate(begun + skipped + blank, written);
        let quoted = inner.starts_with('"');
        let closed = written.len() > 1
            && written.ends_with('"')
            && written.matches('"').count().is_multiple_of(2);
        if quoted && !closed {
            return Err(Code::QuoteNotClosed
                .error("A value begins with a quote and does not end with one.")
                .at("", Some(span))
                .right("a quote at both ends of the value or at none; double a quote inside it"));
        }
        let text = String::from_utf8_lossy(&self.value[..length]);
        Ok(Cell {
            text: one_line(text.trim()),
            span,
        })
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Row, Problem>;

    /// Returns the next line on which something is written. After a problem there is none: what follows would be
    /// guessed.
    fn next(&mut self) -> Option<Self::Item> {
        while !self.ended {
            match self.row() {
                Ok(Some(row)) if row.is_blank() => {}
                Ok(Some(row)) => return Some(Ok(row)),
                Ok(None) => self.ended = true,
                Err(problem) => {
                    self.ended = true;
                    return Some(Err(problem));
                }
            }
        }
        None
    }
}

/// Counts lines and columns once through a text, never back.
struct Cursor<'t> {
    file: Arc<str>,
    text: &'t str,
    at: usize,
    line: usize,
    column: usize,
}

impl Cursor<'_> {
    /// Returns the span of what is written from a byte on.
    fn locate(&mut self, start: usize, written: &str) -> Span {
        for c in self.text[self.at..start].chars() {
            if c == '\n' {
                self.line += 1;
                self.column = 1;
            } else {
                self.column += 1;
            }
        }
        self.at = start;
        let length = written.lines().next().unwrap_or_default().chars().count();
        Span::new(Arc::clone(&self.file), self.line, self.column, length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str, divider: u8) -> Vec<Row> {
        Rows::new(&"t.csv".into(), text, divider)
            .collect::<Result<_, _>>()
            .unwrap()
    }

    #[test]
    fn cells_stand_where_they_are_written() {
        let text = "a; \u{e9}b ;\"c; \"\"d\"\"\"\r\n\r\n;;\r\n 1;;\"x\ny\"\n2";
        let rows = rows(text, b';');
        let cells: Vec<Vec<(&str, usize, usize, usize)>> = rows
            .iter()
            .map(|row| {
                row.cells
                    .iter()
                    .map(|c| (c.text.as_str(), c.span.line, c.span.column, c.span.length))
                    .collect()
            })
            .collect();
        assert_eq!(
            cells,
            [
                vec![("a", 1, 1, 1), ("\u{e9}b", 1, 4, 2), ("c; \"d\"", 1, 8, 10)],
                vec![("1", 4, 2, 1), ("", 4, 4, 1), ("x y", 4, 5, 2)],
                vec![("2", 6, 1, 1)],
            ],
            "text, line, column and length"
        );
        assert_eq!(rows[0].span.length, 17, "the whole line");
    }

    #[test]
    fn an_open_quote_is_told_once() {
        for text in [
            "a,b\n\"1,2\n3,4\n",
            "a,b\n1,\"2\"3\n4,5",
            "\"",
            "a,b\n\"\"\",1",
        ] {
            let rows: Vec<_> = Rows::new(&"t.csv".into(), text, b',').collect();
            let problem = rows.last().unwrap().as_ref().unwrap_err();
            assert_eq!(problem.code.name(), "quote-not-closed", "{text}");
        }
    }
}
