//! Finished pages into the bytes of a PDF file (ISO 32000-1, version 1.7).
//!
//! Content and fonts go through `printpdf`; what belongs to the document as a whole (structure tree, outline, links,
//! attachments, metadata) is added to its object tree with `lopdf`. The same document gives the same bytes: object
//! names, dates and the file identifier come from the document alone.

mod attachment;
mod attributes;
mod content;
mod failure;
mod finish;
mod font;
mod metadata;
mod navigation;
mod soundness;
mod structure;

use printpdf::{PdfDocument, PdfSaveOptions};

pub use self::failure::Failure;
use self::font::Fonts;
use crate::page::Document;
use crate::typeface::Typefaces;

/// Writes a document.
///
/// # Errors
/// [`Failure`], if the document is not sound (a coordinate that is not a number, an index that leads nowhere) or a
/// library cannot write a part of it. Nothing is written by halves: there are no bytes then.
pub fn write(document: &Document, typefaces: &Typefaces) -> Result<Vec<u8>, Failure> {
    soundness::check(document)?;
    let fonts = Fonts::gather(document, typefaces)?;
    let mut marked = structure::Marked::for_document(document);
    let mut draft = PdfDocument::new("");
    draft.pages = content::pages(document, &fonts, &mut marked);
    draft.resources.fonts.map = fonts.into_resources();

    // Outlines of shapes are written operator by operator, which `printpdf` calls unknown.
    let options = PdfSaveOptions {
        secure: false,
        image_optimization: None,
        ..PdfSaveOptions::default()
    };
    let mut file = draft.to_lopdf_document(&options, &mut Vec::new());
    "1.7".clone_into(&mut file.version);
    let pages: Vec<_> = file.page_iter().collect();

    navigation::write_outline(&mut file, document, &pages)?;
    let annotations = navigation::write_links(&mut file, document, &pages)?;
    structure::write(&mut file, document, &pages, &marked, &annotations)?;
    attachment::write(&mut file, document)?;
    metadata::write(&mut file, document)?;
    finish::to_bytes(file)
}
