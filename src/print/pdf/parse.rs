//! Values as they are written in a PDF file (ISO 32000-1, 7.2 and 7.3).

use std::cell::Cell;
use std::collections::BTreeMap;

use lopdf::{Object, StringFormat};

/// Lists and dictionaries within each other.
const DEEPEST: usize = 32;

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing, and whatever else is of no concern: truth values, numbers with a point.
    Null,
    /// A whole number from 0.
    Whole(usize),
    /// A name.
    Name(Vec<u8>),
    /// A string.
    Text(Vec<u8>),
    /// An array.
    List(Vec<Value>),
    /// A dictionary.
    Entries(Entries),
    /// The number of another object.
    Reference(u32),
}

/// A dictionary.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Entries(BTreeMap<Vec<u8>, Value>);

impl Entries {
    /// Returns the value of a key.
    pub fn get(&self, key: &str) -> Option<&Value> {
        self.0.get(key.as_bytes())
    }

    /// Returns the value of a key where it is a whole number.
    pub(super) fn integer(&self, key: &str) -> Option<usize> {
        self.get(key)?.as_whole()
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl Value {
    pub(super) fn as_whole(&self) -> Option<usize> {
        match self {
            Self::Whole(number) => Some(*number),
            _ => None,
        }
    }

    /// Returns the values of an array.
    pub fn as_list(&self) -> Option<&[Self]> {
        match self {
            Self::List(list) => Some(list),
            _ => None,
        }
    }

    /// Returns a dictionary, be it that of a stream.
    pub fn as_entries(&self) -> Option<&Entries> {
        match self {
            Self::Entries(entries) => Some(entries),
            _ => None,
        }
    }

    /// Returns the same, taken out.
    pub fn into_entries(self) -> Option<Entries> {
        match self {
            Self::Entries(entries) => Some(entries),
            _ => None,
        }
    }

    /// Returns whether it is this name.
    pub fn is_name(&self, name: &str) -> bool {
        matches!(self, Self::Name(bytes) if bytes == name.as_bytes())
    }

    /// Returns a string as text (7.9.2.2).
    pub fn text(&self) -> Option<String> {
        match self {
            Self::Text(bytes) => {
                let text = Object::String(bytes.clone(), StringFormat::Literal);
                lopdf::decode_text_string(&text).ok()
            }
            _ => None,
        }
    }

    /// Returns the names of filters, no more than are used together.
    pub(super) fn filter(&self) -> Result<Object, String> {
        let names = match self {
            Self::Name(_) => std::slice::from_ref(self),
            Self::List(list) if list.len() <= 4 => list,
            _ => return Err("a stream in it has invalid filters".into()),
        };
        let names = names.iter().filter_map(|name| match name {
            Self::Name(name) => Some(Object::Name(name.clone())),
            _ => None,
        });
        Ok(Object::Array(names.collect()))
    }
}

/// Reads values one after the other. What it reads is paid for, in bytes, from what is left for the whole file.
pub(super) struct Parser<'b, 'l> {
    bytes: &'b [u8],
    at: usize,
    left: &'l Cell<usize>,
    /// Whether more bytes follow than are left.
    is_cut: bool,
}

impl Drop for Parser<'_, '_> {
    fn drop(&mut self) {
        self.left.set(self.left.get().saturating_sub(self.at));
    }
}

fn is_blank(byte: u8) -> bool {
    matches!(byte, 0 | b'\t' | b'\n' | 0x0c | b'\r' | b' ')
}

fn is_regular(byte: u8) -> bool {
    !is_blank(byte) && !b"()<>[]{}/%".contains(&byte)
}

impl<'b, 'l> Parser<'b, 'l> {
    pub(super) fn new(bytes: &'b [u8], left: &'l Cell<usize>) -> Self {
        let end = bytes.len().min(left.get());
        Self {
            bytes: &bytes[..end],
            at: 0,
            left,
            is_cut: end < bytes.len(),
        }
    }

    fn next(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn skip_blanks(&mut self) {
        while let Some(byte) = self.next() {
            if byte == b'%' {
                while self
                    .next()
                    .is_some_and(|byte| byte != b'\n' && byte != b'\r')
                {
                    self.at += 1;
                }
            } else if is_blank(byte) {
                self.at += 1;
            } else {
                break;
            }
        }
    }

    fn token(&mut self) -> &'b [u8] {
        self.skip_blanks();
        let start = self.at;
        while self.next().is_some_and(is_regular) {
            self.at += 1;
        }
        &self.bytes[start..self.at]
    }

    /// Returns whether a word follows; it is then passed.
    pub(super) fn take_word(&mut self, word: &str) -> bool {
        self.skip_blanks();
        let follows = self.bytes[self.at..].starts_with(word.as_bytes());
        if follows {
            self.at += word.len();
        }
        follows
    }

    /// Returns a whole number from 0, if one follows; it is then passed.
    pub(super) fn take_integer(&mut self) -> Option<usize> {
        let before = self.at;
        let token = self.token();
        let number = std::str::from_utf8(token)
            .ok()
            .and_then(|text| text.parse().ok());
        if number.is_none() {
            self.at = before;
        }
        number
    }

    /// Returns the number that an object is: `7 0 obj 1234`.
    pub(super) fn length(&mut self) -> Option<usize> {
        self.take_integer()?;
        self.take_integer()?;
        self.take_word("obj").then(|| self.take_integer()).flatten()
    }

    /// Returns where what comes next begins, after blanks.
    pub(super) fn position(&mut self) -> usize {
        self.skip_blanks();
        self.at
    }

    /// Returns where the bytes of a stream begin, after the end of the line in which its word is (7.3.8.1).
    pub(super) fn after_line_end(&self) -> usize {
        match self.bytes.get(self.at..) {
            Some([b'\r', b'\n', ..]) => self.at + 2,
            Some([b'\n' | b'\r', ..]) => self.at + 1,
            _ => self.at,
        }
    }

    /// Returns the next value.
    ///
    /// # Errors
    /// Why there is none.
    pub(super) fn value(&mut self) -> Result<Value, String> {
        let value = self.value_within(0);
        if self.is_cut && self.at >= self.bytes.len() {
            return Err("too much of it would have to be read to find its files".into());
        }
        value
    }

    fn value_within(&mut self, depth: usize) -> Result<Value, String> {
        if depth > DEEPEST {
            return Err("its lists are nested too deeply".into());
        }
        self.skip_blanks();
        let rest = &self.bytes[self.at..];
        match rest {
            [b'<', b'<', ..] => self.entries(depth),
            [b'<', ..] => self.hexadecimal(),
            [b'(', ..] => self.literal(),
            [b'/', ..] => Ok(Value::Name(self.name())),
            [b'[', ..] => {
                self.at += 1;
                let mut list = Vec::new();
                while !self.take_word("]") {
                    list.push(self.value_within(depth + 1)?);
                }
                Ok(Value::List(list))
            }
            _ => self.number(),
        }
    }

    fn entries(&mut self, depth: usize) -> Result<Value, String> {
        self.at += 2;
        let mut entries = BTreeMap::new();
        while !self.take_word(">>") {
            self.skip_blanks();
            if self.next() != Some(b'/') {
                return Err("a dictionary in it is damaged".into());
            }
            let key = self.name();
            entries.insert(key, self.value_within(depth + 1)?);
        }
        Ok(Value::Entries(Entries(entries)))
    }

    /// Returns a name (7.3.5), from its solidus.
    fn name(&mut self) -> Vec<u8> {
        self.at += 1;
        let start = self.at;
        while self.next().is_some_and(is_regular) {
            self.at += 1;
        }
        let written = &self.bytes[start..self.at];
        let mut name = Vec::with_capacity(written.len());
        let mut rest = written;
        while let Some((byte, after)) = rest.split_first() {
            let code = after.get(..2).filter(|_| *byte == b'#');
            let code = code.and_then(|digits| std::str::from_utf8(digits).ok());
            if let Some(code) = code.and_then(|digits| u8::from_str_radix(digits, 16).ok()) {
                name.push(code);
                rest = &after[2..];
            } else {
                name.push(*byte);
                rest = after;
            }
        }
        name
    }

    /// Returns a string in hexadecimal (7.3.4.3).
    fn hexadecimal(&mut self) -> Result<Value, String> {
        let rest = &self.bytes[self.at + 1..];
        let end = rest.iter().position(|byte| *byte == b'>');
        let end = end.ok_or("a string in it has no end")?;
        self.at += end + 2;
        let digits = rest[..end]
            .iter()
            .filter_map(|byte| char::from(*byte).to_digit(16));
        let digits: Vec<u32> = digits.collect();
        let bytes = digits.chunks(2).map(|pair| {
            let low = pair.get(1).copied().unwrap_or(0);
            ((pair[0] << 4) | low) as u8
        });
        Ok(Value::Text(bytes.collect()))
    }

    /// Returns a string in brackets (7.3.4.2).
    fn literal(&mut self) -> Result<Value, String> {
        self.at += 1;
        let (mut text, mut open) = (Vec::new(), 1_usize);
        while let Some(byte) = self.next() {
            self.at += 1;
            match byte {
                b'(' => open += 1,
                b')' if open == 1 => return Ok(Value::Text(text)),
                b')' => open -= 1,
                b'\\' => {
                    self.escaped(&mut text);
                    continue;
                }
                _ => {}
            }
            text.push(byte);
        }
        Err("a string in it has no end".into())
    }

    fn escaped(&mut self, text: &mut Vec<u8>) {
        let Some(byte) = self.next() else { return };
        self.at += 1;
        match byte {
            b'n' => text.push(b'\n'),
            b'r' => text.push(b'\r'),
            b't' => text.push(b'\t'),
            b'b' => text.push(8),
            b'f' => text.push(12),
            b'0'..=b'7' => {
                let mut code = u32::from(byte - b'0');
                for _ in 0..2 {
                    let Some(digit @ b'0'..=b'7') = self.next() else {
                        break;
                    };
                    code = (code << 3) | u32::from(digit - b'0');
                    self.at += 1;
                }
                text.push(code as u8);
            }
            b'\r' if self.next() == Some(b'\n') => self.at += 1,
            b'\r' | b'\n' => {}
            other => text.push(other),
        }
    }

    /// Returns a number, a reference, or a word.
    fn number(&mut self) -> Result<Value, String> {
        let Some(number) = self.take_integer() else {
            if self.token().is_empty() {
                return Err("a value in it is damaged".into());
            }
            return Ok(Value::Null);
        };
        let after = self.at;
        if self.take_integer().is_some() && self.token() == b"R" {
            let number = u32::try_from(number).map_err(|_| "a reference in it leads nowhere")?;
            return Ok(Value::Reference(number));
        }
        self.at = after;
        Ok(Value::Whole(number))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(text: &str) -> Result<Value, String> {
        let left = Cell::new(1_000);
        Parser::new(text.as_bytes(), &left).value()
    }

    #[test]
    fn values_are_read_as_they_are_written() {
        let value = parsed(
            "<< /A#20b 12 % more\n /C [3 0 R 4 -5 6.5 true] /D (a\\(b\\051(c)\\\n\\101) /E <414>>>",
        )
        .unwrap();
        let entries = value.as_entries().unwrap();
        assert_eq!(entries.get("A b"), Some(&Value::Whole(12)));
        let null = Value::Null;
        assert_eq!(
            entries.get("C").and_then(Value::as_list),
            Some(
                &[
                    Value::Reference(3),
                    Value::Whole(4),
                    null.clone(),
                    null.clone(),
                    null
                ][..]
            )
        );
        assert_eq!(
            entries.get("D").and_then(Value::text).as_deref(),
            Some("a(b)(c)A")
        );
        assert_eq!(
            entries.get("E").and_then(Value::text).as_deref(),
            Some("A@")
        );
    }

    #[test]
    fn what_has_no_end_is_refused() {
        let (deep, many) = ("[".repeat(100), format!("[{}]", "1 ".repeat(1_000)));
        for text in ["", "<<", "[", "(", "<", "<< 1 2 >>", ")", &deep, &many] {
            assert!(parsed(text).is_err(), "{text:.20}");
        }
    }
}
