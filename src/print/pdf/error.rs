//! Why a document could not be written.

use std::fmt;

use crate::print::page::Face;

/// Why a document could not be written. None of these is a fault of the user's input: they are faults of what made the
/// pages, found before they could damage a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PdfError {
    /// A length, a coordinate or a colour on a page is not a finite number, or too large for a page.
    NotFinite {
        /// Page, counted from 0.
        page: usize,
    },
    /// An outline does not begin by putting the pen down.
    OutlineWithoutStart {
        /// Page, counted from 0.
        page: usize,
    },
    /// An index of an element that there is not, or that may not stand there.
    Element {
        /// The index.
        index: usize,
    },
    /// A figure or a formula says nothing to those who cannot see it.
    NoAlternative {
        /// Index of the element.
        index: usize,
    },
    /// A link or an outline entry leads to a page that there is not.
    NoSuchPage {
        /// The page, counted from 0.
        page: usize,
    },
    /// Two attachments of one name.
    AttachmentTwice {
        /// The name.
        name: String,
    },
    /// The font file of a face could not be cut down to the glyphs used.
    Font {
        /// The face.
        face: Face,
    },
    /// The object tree could not be completed or written.
    Objects(String),
}

impl fmt::Display for PdfError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite { page } => {
                write!(
                    formatter,
                    "page {} has a coordinate, length or colour that is not a usable number",
                    page + 1
                )
            }
            Self::OutlineWithoutStart { page } => {
                write!(
                    formatter,
                    "an outline on page {} has no starting point",
                    page + 1
                )
            }
            Self::Element { index } => write!(
                formatter,
                "structure element {index} is missing or misplaced"
            ),
            Self::NoAlternative { index } => {
                write!(
                    formatter,
                    "structure element {index} needs an alternative text"
                )
            }
            Self::NoSuchPage { page } => write!(
                formatter,
                "something leads to page {}, which is missing",
                page + 1
            ),
            Self::AttachmentTwice { name } => write!(formatter, "two attachments are named {name}"),
            Self::Font { face } => write!(formatter, "the {face:?} face could not be embedded"),
            Self::Objects(reason) => {
                write!(formatter, "the PDF objects could not be written: {reason}")
            }
        }
    }
}

impl std::error::Error for PdfError {}

impl From<lopdf::Error> for PdfError {
    fn from(error: lopdf::Error) -> Self {
        Self::Objects(error.to_string())
    }
}
