//! Why a document could not be written.

use crate::print::page::Face;

/// Why a document could not be written. None of these is a fault of the user's input: they are faults of what made the
/// pages, found before they could damage a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PdfError {
    /// A length, a coordinate or a colour on a page is not a finite number, or too large for a page.
    #[error("page {} has a coordinate, length or colour that is not a usable number", page + 1)]
    NotFinite {
        /// Page, counted from 0.
        page: usize,
    },
    /// An outline does not begin by putting the pen down.
    #[error("an outline on page {} has no starting point", page + 1)]
    OutlineWithoutStart {
        /// Page, counted from 0.
        page: usize,
    },
    /// An index of an element that there is not, or that may not stand there.
    #[error("structure element {index} is missing or misplaced")]
    Element {
        /// The index.
        index: usize,
    },
    /// A figure or a formula says nothing to those who cannot see it.
    #[error("structure element {index} needs an alternative text")]
    NoAlternative {
        /// Index of the element.
        index: usize,
    },
    /// A link or an outline entry leads to a page that there is not.
    #[error("something leads to page {}, which is missing", page + 1)]
    NoSuchPage {
        /// The page, counted from 0.
        page: usize,
    },
    /// Two attachments of one name.
    #[error("two attachments are named {name}")]
    AttachmentTwice {
        /// The name.
        name: String,
    },
    /// The font file of a face could not be cut down to the glyphs used.
    #[error("the {face:?} face could not be embedded")]
    Font {
        /// The face.
        face: Face,
    },
    /// The object tree could not be completed or written.
    #[error("the PDF objects could not be written: {0}")]
    Objects(String),
}

impl From<lopdf::Error> for PdfError {
    fn from(error: lopdf::Error) -> Self {
        Self::Objects(error.to_string())
    }
}
