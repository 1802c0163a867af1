//! What leads to the files that a PDF carries, read from bytes that may come from anyone (ISO 32000-1, 7.3, 7.5).
//!
//! Nothing is read but what is asked for, one object after the other: neither the table of all objects nor the streams in
//! which objects are packed cost anything otherwise. All that is unpacked and all that is parsed has one limit.
//!
//! A reader of whole files would believe the sizes that a hostile file claims.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use lopdf::{Dictionary, Stream};

use super::parse::{Entries, Parser, Value};

/// No more bytes than this are parsed in all: a hundred times what leads to a hundred files.
const MOST_PARSED: usize = 4_000_000;
/// Sections of the cross-reference table that a file has after so many changes.
const MOST_SECTIONS: usize = 1_000;
/// References that lead to references.
const DEEPEST: usize = 8;
/// The end of a file, where it says where its cross-reference table begins, bytes.
const TAIL: usize = 2_048;
/// Columns and colours of a predictor (7.4.4.4) for tables of numbers.
const MOST_COLUMNS: i64 = 10_000;

/// A file whose objects can be asked for.
#[derive(Debug)]
pub struct Reading<'p> {
    bytes: &'p [u8],
    /// The latest first.
    sections: Vec<Section<'p>>,
    trailer: Entries,
    budget: Budget,
    /// Object streams as they were unpacked, by their numbers.
    unpacked: RefCell<BTreeMap<u32, Rc<Packed>>>,
}

/// What may yet be unpacked and parsed, in bytes.
#[derive(Debug)]
struct Budget {
    unpacked: Cell<usize>,
    parsed: Cell<usize>,
}

/// Places of some objects whose numbers follow each other.
#[derive(Debug)]
struct Section<'p> {
    first: u32,
    count: u32,
    rows: Rows<'p>,
}

#[derive(Debug)]
enum Rows<'p> {
    /// Lines of 20 bytes (7.5.4).
    Lines(&'p [u8]),
    /// Rows of a stream with three fields of these widths (7.5.8.3).
    Fields {
        table: Rc<Vec<u8>>,
        begin: usize,
        widths: [usize; 3],
    },
}

/// Where an object is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    At(usize),
    Within { stream: u32, index: usize },
}

#[derive(Debug)]
struct Packed {
    bytes: Vec<u8>,
    first: usize,
    count: usize,
}

impl<'p> Reading<'p> {
    /// Begins to read a file, of which no more than `room` bytes will be unpacked.
    ///
    /// # Errors
    /// Why it is no PDF file that can be read, in words to follow "cannot be read as a PDF file: ".
    pub fn new(bytes: &'p [u8], room: usize) -> Result<Self, String> {
        let tail = &bytes[bytes.len().saturating_sub(TAIL)..];
        let word = b"startxref";
        let at = tail.windows(word.len()).rposition(|part| part == word);
        let at = at.ok_or("it does not say where its objects are")?;
        let mut reading = Self {
            bytes,
            sections: Vec::new(),
            trailer: Entries::default(),
            budget: Budget {
                unpacked: Cell::new(room),
                parsed: Cell::new(MOST_PARSED),
            },
            unpacked: RefCell::default(),
        };
        let mut next = reading.parser(&tail[at + word.len()..]).take_integer();
        let mut seen = Vec::new();
        while let Some(start) = next {
            if seen.contains(&start) || seen.len() > MOST_SECTIONS {
                return Err("its tables of objects are circular".into());
            }
            seen.push(start);
            let trailer = reading.table(start)?;
            next = trailer.integer("Prev");
            if let Some(hybrid) = trailer.integer("XRefStm") {
                reading.table(hybrid)?;
            }
            if reading.trailer.is_empty() {
                reading.trailer = trailer;
            }
        }
        if reading.trailer.get("Encrypt").is_some() {
            return Err("it is encrypted".into());
        }
        Ok(reading)
    }

    fn parser<'b>(&self, bytes: &'b [u8]) -> Parser<'b, '_> {
        Parser::new(bytes, &self.budget.parsed)
    }

    /// Enters a table of objects; what its trailer says.
    fn table(&mut self, start: usize) -> Result<Entries, String> {
        let wrong = || "its table of objects is damaged".to_owned();
        let all = self.bytes;
        let mut at = start;
        let mut parser = self.parser(all.get(at..).ok_or_else(wrong)?);
        if !parser.take_word("xref") {
            drop(parser);
            return self.table_in_stream(start);
        }
        let mut sections = Vec::new();
        while let Some(first) = parser.take_integer() {
            let count = parser.take_integer().ok_or_else(wrong)?;
            let length = count.checked_mul(20).ok_or_else(wrong)?;
            at += parser.position();
            let end = at.checked_add(length).ok_or_else(wrong)?;
            sections.push(Section {
                first: u32::try_from(first).map_err(|_| wrong())?,
                count: u32::try_from(count).map_err(|_| wrong())?,
                rows: Rows::Lines(all.get(at..end).ok_or_else(wrong)?),
            });
            if sections.len() > MOST_SECTIONS {
                return Err(wrong());
            }
            at = end;
            parser = self.parser(&all[at..]);
        }
        let trailer = if parser.take_word("trailer") {
            parser.value()?.into_entries()
        } else {
            None
        };
        drop(parser);
        self.sections.extend(sections);
        trailer.ok_or_else(wrong)
    }

    fn table_in_stream(&mut self, start: usize) -> Result<Entries, String> {
        let wrong = || "its table of objects is damaged".to_owned();
        let (_, value, raw) = self.object_at(start)?;
        let entries = value.into_entries().ok_or_else(wrong)?;
        let table = Rc::new(self.decoded(&entries, raw.ok_or_else(wrong)?)?);
        let numbers = |key: &str| -> Option<Vec<usize>> {
            let list = entries.get(key)?.as_list()?;
            list.iter().map(Value::as_whole).collect()
        };
        let widths: [usize; 3] = numbers("W")
            .and_then(|widths| widths.try_into().ok())
            .filter(|widths: &[usize; 3]| widths.iter().all(|width| *width <= 8) && widths[1] > 0)
            .ok_or_else(wrong)?;
        let row: usize = widths.iter().sum();
        let index = match entries.get("Index") {
            Some(_) => numbers("Index").ok_or_else(wrong)?,
            None => vec![0, entries.integer("Size").ok_or_else(wrong)?],
        };
        let mut begin = 0_usize;
        for pair in index.chunks_exact(2).take(MOST_SECTIONS) {
            let end = pair[1]
                .checked_mul(row)
                .and_then(|length| begin.checked_add(length));
            let end = end.filter(|end| *end <= table.len()).ok_or_else(wrong)?;
            self.sections.push(Section {
                first: u32::try_from(pair[0]).map_err(|_| wrong())?,
                count: u32::try_from(pair[1]).map_err(|_| wrong())?,
                rows: Rows::Fields {
                    table: Rc::clone(&table),
                    begin,
                    widths,
                },
            });
            begin = end;
        }
        if self.sections.len() > MOST_SECTIONS {
            return Err(wrong());
        }
        Ok(entries)
    }

    fn locate(&self, number: u32) -> Option<Place> {
        let section = self.sections.iter().find_map(|section| {
            let row = number.checked_sub(section.first)?;
            (row < section.count).then(|| section.locate(row as usize))
        });
        section.flatten()
    }

    /// Returns the catalogue.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn catalogue(&self) -> Result<Entries, String> {
        let root = self.trailer.get("Root").ok_or("it has no catalogue")?;
        let catalogue = self.resolved(root)?.into_entries();
        catalogue.ok_or_else(|| "it has no catalogue".into())
    }

    /// Returns a value, or what a reference leads to.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn resolved(&self, value: &Value) -> Result<Value, String> {
        self.followed(value).map(|(value, _)| value)
    }

    /// Returns the unpacked bytes of the stream that a reference leads to; `None` if there is no stream.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn stream(&self, value: &Value) -> Result<Option<Vec<u8>>, String> {
        let (value, raw) = self.followed(value)?;
        let (Some(entries), Some(raw)) = (value.into_entries(), raw) else {
            return Ok(None);
        };
        self.decoded(&entries, raw).map(Some)
    }

    fn followed(&self, value: &Value) -> Result<(Value, Option<&'p [u8]>), String> {
        let (mut value, mut raw) = (value.clone(), None);
        for _ in 0..DEEPEST {
            let Value::Reference(number) = value else {
                return Ok((value, raw));
            };
            (value, raw) = match self.locate(number) {
                None => (Value::Null, None),
                Some(Place::At(start)) => {
                    let (found, value, raw) = self.object_at(start)?;
                    if found != number {
                        return Err(format!("object {number} is not where it should be"));
                    }
                    (value, raw)
                }
                Some(Place::Within { stream, index }) => (self.packed(stream, index)?, None),
            };
        }
        Err("its references are circular".into())
    }

    /// Returns the number and the value of the object that stands there, and the bytes of its stream as they are.
    fn object_at(&self, start: usize) -> Result<(u32, Value, Option<&'p [u8]>), String> {
        let wrong = || format!("there is no object at byte {start}");
        let bytes = self.bytes.get(start..).ok_or_else(wrong)?;
        let mut parser = self.parser(bytes);
        let number = parser
            .take_integer()
            .and_then(|number| u32::try_from(number).ok());
        let number = number.ok_or_else(wrong)?;
        parser.take_integer().ok_or_else(wrong)?;
        if !parser.take_word("obj") {
            return Err(wrong());
        }
        let value = parser.value()?;
        let Some(entries) = value.as_entries().filter(|_| parser.take_word("stream")) else {
            return Ok((number, value, None));
        };
        let begin = start + parser.after_line_end();
        let length = match entries.get("Length") {
            Some(Value::Reference(number)) => match self.locate(*number) {
                // A length is one number, and no stream.
                Some(Place::At(at)) if at != start => self
                    .parser(&self.bytes[at.min(self.bytes.len())..])
                    .length(),
                Some(Place::Within { stream, index }) => self.packed(stream, index)?.as_whole(),
                _ => None,
            },
            Some(value) => value.as_whole(),
            None => None,
        };
        let end = length.and_then(|length| begin.checked_add(length));
        let raw = end.and_then(|end| self.bytes.get(begin..end));
        let raw = raw.ok_or_else(|| format!("the stream at byte {start} has no end"))?;
        Ok((number, value, Some(raw)))
    }

    fn packed(&self, stream: u32, index: usize) -> Result<Value, String> {
        let wrong = || format!("object stream {stream} is damaged");
        let known = self.unpacked.borrow().get(&stream).cloned();
        let packed = if let Some(packed) = known {
            packed
        } else {
            // A stream does not stand within another (7.5.7).
            let Some(Place::At(start)) = self.locate(stream) else {
                return Err(wrong());
            };
            let (_, value, raw) = self.object_at(start)?;
            let entries = value.into_entries().ok_or_else(wrong)?;
            let packed = Rc::new(Packed {
                bytes: self.decoded(&entries, raw.ok_or_else(wrong)?)?,
                first: entries.integer("First").ok_or_else(wrong)?,
                count: entries.integer("N").ok_or_else(wrong)?,
            });
            let mut unpacked = self.unpacked.borrow_mut();
            unpacked.insert(stream, Rc::clone(&packed));
            packed
        };
        let heading = packed.bytes.get(..packed.first).ok_or_else(wrong)?;
        if index >= packed.count || index >= heading.len() {
            return Err(wrong());
        }
        let mut parser = self.parser(heading);
        let numbers = (0..=2 * index + 1).map(|_| parser.take_integer()).last();
        let offset = numbers
            .flatten()
            .and_then(|offset| packed.first.checked_add(offset));
        let object = offset
            .and_then(|at| packed.bytes.get(at..))
            .ok_or_else(wrong)?;
        self.parser(object).value()
    }

    /// Returns the bytes of a stream, unpacked, which the budget pays for.
    fn decoded(&self, entries: &Entries, raw: &[u8]) -> Result<Vec<u8>, String> {
        let room = self.budget.unpacked.get();
        let mut dictionary = Dictionary::new();
        if let Some(filter) = entries.get("Filter") {
            dictionary.set("Filter", self.resolved(filter)?.filter()?);
        }
        if let Some(parameters) = entries.get("DecodeParms") {
            let parameters = self.resolved(parameters)?;
            if let Some(parameters) = parameters.as_entries() {
                let mut predictor = Dictionary::new();
                for key in ["Predictor", "Columns", "Colors", "BitsPerComponent"] {
                    if let Some(number) = parameters.integer(key) {
                        let number = i64::try_from(number).unwrap_or(i64::MAX);
                        if number > MOST_COLUMNS {
                            return Err("a stream in it has too wide rows".into());
                        }
                        predictor.set(key, number);
                    }
                }
                dictionary.set("DecodeParms", predictor);
            }
        }
        let too_much = || {
            format!(
                "a stream in it is damaged, or longer than the {room} bytes that may yet be unpacked"
            )
        };
        if raw.len() > room {
            return Err(too_much());
        }
        let stream = Stream::new(dictionary, raw.to_vec());
        let bytes = stream
            .decompressed_content_with_limit(room)
            .map_err(|_| too_much())?;
        self.budget
            .unpacked
            .set(room.saturating_sub(bytes.len().max(raw.len())));
        Ok(bytes)
    }
}

impl Section<'_> {
    fn locate(&self, row: usize) -> Option<Place> {
        match &self.rows {
            Rows::Lines(lines) => {
                let line = lines.get(20 * row..20 * row + 20)?;
                let offset = std::str::from_utf8(line.get(..10)?).ok()?.trim();
                (line[17] == b'n').then_some(Place::At(offset.parse().ok()?))
            }
            Rows::Fields {
                table,
                begin,
                widths,
            } => {
                let start = begin + row * widths.iter().sum::<usize>();
                let mut rest = table.get(start..)?;
                let mut fields = [1_u64, 0, 0];
                for (field, width) in fields.iter_mut().zip(widths) {
                    let (bytes, after) = rest.split_at_checked(*width)?;
                    if *width > 0 {
                        *field = bytes
                            .iter()
                            .fold(0, |sum, byte| (sum << 8) | u64::from(*byte));
                    }
                    rest = after;
                }
                match fields {
                    [1, offset, _] => Some(Place::At(usize::try_from(offset).ok()?)),
                    [2, stream, index] => Some(Place::Within {
                        stream: u32::try_from(stream).ok()?,
                        index: usize::try_from(index).ok()?,
                    }),
                    _ => None,
                }
            }
        }
    }
}
