//! The text that a glyph stands for.

use std::fmt;
use std::ops::Deref;

/// A few characters, kept in place: glyphs are copied often, and a long report has a million of them.
///
/// ```
/// use fillmark::print::page::GlyphText;
/// assert_eq!(&*GlyphText::new("ffi"), "ffi");
/// // No face joins so many characters in a glyph; what there is no room for is left out.
/// assert_eq!(&*GlyphText::new("10⁻³⁄²"), "10⁻³");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Default)]
pub struct GlyphText {
    /// Its length, its bytes and zeros: two of them are compared at once.
    bytes: [u8; 1 + Self::ROOM],
}

impl GlyphText {
    /// Bytes that a text has room for.
    const ROOM: usize = 7;

    /// A text, or as many of its characters as there is room for.
    #[must_use]
    pub const fn new(text: &str) -> Self {
        let mut length = text.len();
        while length > Self::ROOM || !text.is_char_boundary(length) {
            length -= 1;
        }
        let mut bytes = [0; 1 + Self::ROOM];
        bytes[0] = length as u8;
        let mut at = 0;
        while at < length {
            bytes[1 + at] = text.as_bytes()[at];
            at += 1;
        }
        Self { bytes }
    }

    /// Whether it is no text at all.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.bytes[0] == 0
    }
}

impl Deref for GlyphText {
    type Target = str;

    fn deref(&self) -> &str {
        let [length, bytes @ ..] = &self.bytes;
        str::from_utf8(&bytes[..usize::from(*length)]).unwrap_or_default()
    }
}

impl From<&str> for GlyphText {
    fn from(text: &str) -> Self {
        Self::new(text)
    }
}

impl From<char> for GlyphText {
    fn from(character: char) -> Self {
        Self::new(character.encode_utf8(&mut [0; 4]))
    }
}

impl fmt::Debug for GlyphText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        (**self).fmt(f)
    }
}
