//! What a file is, by its first bytes, and by its name.

use image::ImageFormat;

/// The kinds of pictures taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// PNG (ISO/IEC 15948).
    Png,
    /// JPEG (ISO/IEC 10918-1).
    Jpeg,
}

/// How files of other kinds begin, and what they are, to follow "is".
const FOREIGN: [(&[u8], &str); 13] = [
    (b"GIF8", "a GIF picture"),
    (b"II*\0", "a TIFF or raw picture"),
    (b"MM\0*", "a TIFF or raw picture"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF file"),
    (b"8BPS", "a Photoshop picture"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture"),
    (b"\xff\x0a", "a JPEG XL picture"),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML file"),
    (b"<!DOCTYPE", "a web page"),
    (b"PK\x03\x04", "a ZIP archive"),
];

impl Format {
    /// By a file's first bytes.
    ///
    /// # Errors
    /// What it is instead, to follow "is", where that is known.
    pub fn detect(bytes: &[u8]) -> Result<Self, Option<&'static str>> {
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Ok(Self::Png);
        }
        if bytes.starts_with(b"\xff\xd8\xff") {
            return Ok(Self::Jpeg);
        }
        if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            return Err(Some("a WebP picture"));
        }
        if bytes.get(4..8) == Some(b"ftyp") {
            // The brands of ISO/IEC 23008-12 and of AVIF.
            return Err(match bytes.get(8..12) {
                Some(b"heic" | b"heix" | b"hevc" | b"mif1" | b"msf1" | b"heim" | b"heis") => {
                    Some("a HEIC picture")
                }
                Some(b"avif" | b"avis") => Some("an AVIF picture"),
                _ => Some("a film"),
            });
        }
        let known = FOREIGN.iter().find(|(start, _)| bytes.starts_with(start));
        Err(known.map(|(_, what)| *what))
    }

    /// Returns what the ending of a file's name says.
    pub fn by_name(path: &str) -> Option<Self> {
        let name = path.rsplit('/').next().unwrap_or_default();
        let (_, ending) = name.rsplit_once('.')?;
        match ending.to_ascii_lowercase().as_str() {
            "png" => Some(Self::Png),
            "jpg" | "jpeg" => Some(Self::Jpeg),
            _ => None,
        }
    }

    /// Returns what it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Png => "PNG",
            Self::Jpeg => "JPEG",
        }
    }

    /// Returns the ending that its files have.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Png => ".png",
            Self::Jpeg => ".jpg",
        }
    }

    pub(super) fn of_library(self) -> ImageFormat {
        match self {
            Self::Png => ImageFormat::Png,
            Self::Jpeg => ImageFormat::Jpeg,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_known_by_their_first_bytes() {
        let foreign = |bytes: &[u8]| Format::detect(bytes).err().flatten();
        assert_eq!(foreign(b"GIF89a"), Some("a GIF picture"));
        assert_eq!(foreign(b"\0\0\0\x18ftypheic"), Some("a HEIC picture"));
        assert_eq!(foreign(b"RIFF\0\0\0\0WEBPVP8 "), Some("a WebP picture"));
        assert_eq!(foreign(b"MM\0*"), Some("a TIFF or raw picture"));
        assert_eq!(foreign(b"%PDF-1.7"), Some("a PDF file"));
        assert_eq!(foreign(b"title: A"), None);
        assert_eq!(Format::detect(b"\xff\xd8\xff\xe0"), Ok(Format::Jpeg));
    }

    #[test]
    fn names_say_what_they_end_in() {
        assert_eq!(Format::by_name("a.b/c.JPEG"), Some(Format::Jpeg));
        assert_eq!(Format::by_name("c.jpg.png"), Some(Format::Png));
        assert_eq!(Format::by_name("a.png/c"), None);
    }
}
