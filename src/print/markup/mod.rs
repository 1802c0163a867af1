//! Other forms of a report: one HTML page that stands alone, and Markdown to paste.
//!
//! Both enter from the manuscript that layout sets, so that numbers, captions and references are those of the PDF.
//!
//! The PDF is the record: pages, archive, and the files it was made from. HTML is for a phone and a screen reader, Markdown
//! for a wiki. A new kind of block or inline needs a form in `html` and in `markdown`; `svg` decides for both what a figure
//! shows.

mod escape;
mod html;
mod mark;
mod markdown;
mod mathml;
mod svg;
mod table;

use std::sync::Arc;

use crate::print::figure;
use crate::print::manuscript::said::ManuscriptError;
use crate::print::page::{Colour, Pixels};

pub use html::{Form, html, with_form};
pub use mark::{Written, is_ours, written};
pub use markdown::{Markdown, markdown};

/// Width of a plot, points.
const PLOT_WIDTH: f32 = 390.0;

/// What a house style says of how a page looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Ink of headings, links, and of what plots show as computed.
    pub accent: Colour,
    /// Ground of a panel.
    pub tint: Colour,
    /// Texts left and right above the title.
    pub head: [Option<String>; 2],
    /// A picture beside the title.
    pub logo: Option<Arc<Pixels>>,
}

/// Why a form cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum MarkupError {
    /// What the manuscript says.
    #[error(transparent)]
    Said(#[from] ManuscriptError),
    /// A plot that cannot be drawn.
    #[error("a plot cannot be drawn: {0}")]
    Figure(#[source] figure::FigureError),
    /// A picture that cannot be packed.
    #[error("a picture cannot be packed: {0}")]
    Picture(String),
}
