//! Objects as bytes (ISO 32000-1, 7.3).

use std::io::Write as _;

use lopdf::{Dictionary, Object, StringFormat};

/// Writes an object other than a stream.
pub(super) fn object(out: &mut Vec<u8>, object: &Object) {
    match object {
        Object::Null => out.extend_from_slice(b"null"),
        Object::Boolean(value) => out.extend_from_slice(if *value { b"true" } else { b"false" }),
        Object::Integer(value) => integer(out, *value),
        // Rust writes numbers of any size without an exponent, as PDF wants them.
        Object::Real(value) => drop(write!(out, "{value}")),
        Object::Name(value) => name(out, value),
        Object::String(value, StringFormat::Literal) => string(out, value),
        Object::String(value, StringFormat::Hexadecimal) => hexadecimal(out, value),
        Object::Array(items) => {
            out.push(b'[');
            for (at, item) in items.iter().enumerate() {
                if at > 0 {
                    out.push(b' ');
                }
                self::object(out, item);
            }
            out.push(b']');
        }
        Object::Dictionary(entries) => dictionary(out, entries),
        Object::Stream(stream) => dictionary(out, &stream.dict),
        Object::Reference((number, _)) => reference(out, *number),
    }
}

/// Writes a dictionary.
pub(super) fn dictionary(out: &mut Vec<u8>, entries: &Dictionary) {
    out.extend_from_slice(b"<<");
    for (key, value) in entries {
        name(out, key);
        // Names, strings, arrays and dictionaries tell by themselves where they begin.
        if matches!(
            value,
            Object::Null
                | Object::Boolean(_)
                | Object::Integer(_)
                | Object::Real(_)
                | Object::Reference(_)
        ) {
            out.push(b' ');
        }
        object(out, value);
    }
    out.extend_from_slice(b">>");
}

/// Writes a name (7.3.5).
pub(super) fn name(out: &mut Vec<u8>, name: &[u8]) {
    out.push(b'/');
    for &byte in name {
        if byte.is_ascii_graphic() && !b"()<>[]{}/%#".contains(&byte) {
            out.push(byte);
        } else {
            out.push(b'#');
            out.extend(digits(byte));
        }
    }
}

/// Writes a whole number.
pub(super) fn integer(out: &mut Vec<u8>, number: i64) {
    if number < 0 {
        out.push(b'-');
    }
    // From the last figure to the first: at most the twenty of any such number.
    let mut figures = [0; 20];
    let mut at = figures.len();
    let mut rest = number.unsigned_abs();
    loop {
        at -= 1;
        figures[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    out.extend_from_slice(&figures[at..]);
}

/// Writes a reference to an object of the first generation: there is no other in a file written once.
pub(super) fn reference(out: &mut Vec<u8>, number: u32) {
    integer(out, i64::from(number));
    out.extend_from_slice(b" 0 R");
}

/// Writes a literal string.
pub(super) fn string(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'(');
    for byte in bytes {
        byte_of_string(out, *byte);
    }
    out.push(b')');
}

/// Writes text as a literal string: plain ASCII as it is, anything else in UTF-16 with its byte order mark (7.9.2.2).
pub(super) fn text(out: &mut Vec<u8>, text: &str) {
    if text.is_ascii() {
        return string(out, text.as_bytes());
    }
    out.extend_from_slice(b"(\xFE\xFF");
    for unit in text.encode_utf16() {
        for byte in unit.to_be_bytes() {
            byte_of_string(out, byte);
        }
    }
    out.push(b')');
}

/// In a literal string, parentheses and the backslash are escaped, and a carriage return would be read as a line feed
/// (7.3.4.2).
pub(super) fn byte_of_string(out: &mut Vec<u8>, byte: u8) {
    match byte {
        b'(' | b')' | b'\\' => out.extend([b'\\', byte]),
        b'\r' => out.extend_from_slice(b"\\r"),
        _ => out.push(byte),
    }
}

fn hexadecimal(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'<');
    out.extend(bytes.iter().flat_map(|byte| digits(*byte)));
    out.push(b'>');
}

fn digits(byte: u8) -> [u8; 2] {
    [byte >> 4, byte & 15].map(|digit| b"0123456789ABCDEF"[usize::from(digit)])
}

/// Returns a length in points as a PDF number, to two decimals.
pub(super) fn length_object(length: f32) -> Object {
    Object::Real((length * 100.0).round() / 100.0)
}

/// Returns a count as a PDF integer.
pub(super) fn integer_object(count: usize) -> Object {
    Object::Integer(i64::try_from(count).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use lopdf::dictionary;

    fn written(write: impl FnOnce(&mut Vec<u8>)) -> Vec<u8> {
        let mut out = Vec::new();
        write(&mut out);
        out
    }

    #[test]
    fn objects_are_written_without_needless_bytes() {
        let all = dictionary! {
            "A b#" => Object::Array(vec![1.into(), (-20).into(), 0.5.into(), Object::Null]),
            "R" => Object::Reference((12, 0)),
            "D" => dictionary! { "N" => "Name", "B" => true },
            "H" => Object::String(vec![0x0F, 0xA0], StringFormat::Hexadecimal),
        };
        assert_eq!(
            String::from_utf8_lossy(&written(|out| object(out, &all.into()))),
            "<</A#20b#23[1 -20 0.5 null]/R 12 0 R/D<</N/Name/B true>>/H<0FA0>>>"
        );
    }

    #[test]
    fn whole_numbers_of_all_sizes() {
        for number in [0, 7, -7, 10, 1_234_567, i64::MAX, i64::MIN] {
            assert_eq!(
                written(|out| integer(out, number)),
                number.to_string().as_bytes()
            );
        }
    }

    #[test]
    fn text_keeps_to_ascii_where_it_can() {
        assert_eq!(written(|out| text(out, "a (b)\\")), b"(a \\(b\\)\\\\)");
        // A carriage return and parentheses may hide in the halves of a unit.
        assert_eq!(
            written(|out| text(out, "é\u{0D28}")),
            b"(\xFE\xFF\x00\xE9\\r\\()"
        );
    }
}
