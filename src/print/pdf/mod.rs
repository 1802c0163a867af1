//! Finished pages into the bytes of a PDF file (ISO 32000-1, version 1.7), and what leads to the files it carries back out
//! of them.
//!
//! Fonts and the skeleton of the file go through `printpdf`; what belongs to the document as a whole (structure tree,
//! outline, links, attachments, metadata) is added to its object tree with `lopdf`. The content of the pages, which is
//! most of a file, is written here. The same document gives the same bytes: object names, dates and the file identifier
//! come from the document alone.

mod attachment;
mod attributes;
mod content;
mod error;
mod finish;
mod font;
mod metadata;
mod navigation;
mod operators;
mod pack;
mod parse;
mod picture;
mod reading;
mod structure;
mod validate;
mod write_object;

use printpdf::{Op, PdfDocument, PdfPage, PdfSaveOptions, Pt, Rect};

use self::attributes::ElementFacts;
pub use self::error::PdfError;
pub use self::finish::made_from;
use self::font::Fonts;
pub use self::pack::packed;
pub use self::parse::{Entries, Value};
pub use self::reading::Reading;
use crate::print::page::{Document, Page};
use crate::print::typeface::Typefaces;

/// Writes a document, which is taken apart on the way: a large one is not needed in memory beside its own bytes.
///
/// # Errors
/// [`PdfError`], if the document is not sound (a coordinate that is not a number, an index that leads nowhere) or a
/// library cannot write a part of it. Nothing is written by halves: there are no bytes then.
pub fn write(mut document: Document, typefaces: &Typefaces) -> Result<Vec<u8>, PdfError> {
    validate::check(&document)?;
    let fonts = Fonts::gather(&document, typefaces)?;
    let facts = ElementFacts::in_document(&document);
    let pictures = picture::on_pages(&document);
    let contents = content::pages(&mut document, &fonts);
    let document = &mut document;
    let mut file = skeleton(document, fonts);
    "1.7".clone_into(&mut file.version);
    let pages: Vec<_> = file.page_iter().collect();
    let mut marked = Vec::with_capacity(pages.len());
    for (page, content) in pages.iter().zip(contents) {
        let stream = file
            .get_dictionary(*page)?
            .get(b"Contents")?
            .as_reference()?;
        let stream = file.get_object_mut(stream)?.as_stream_mut()?;
        stream.set_content(content.bytes);
        if content.is_packed {
            stream.dict.set("Filter", "FlateDecode");
        }
        marked.push(content.elements);
    }

    picture::write(&mut file, &pictures, &pages)?;
    navigation::write_outline(&mut file, document, &pages)?;
    let annotations = navigation::write_links(&mut file, document, &pages)?;
    let mut loose = finish::ObjectStreamBuilder::default();
    structure::write(
        &mut file,
        &mut loose,
        document,
        &pages,
        &facts,
        &marked,
        &annotations,
    )?;
    attachment::write(&mut file, document)?;
    metadata::write(&mut file, document)?;
    Ok(finish::to_bytes(file, loose, &document.about.made_from))
}

/// Returns the pages, as yet without content, and the fonts.
fn skeleton(document: &Document, fonts: Fonts) -> lopdf::Document {
    let mut specimens = fonts.specimens();
    let blank = |page: &Page| blank(page, std::mem::take(&mut specimens));
    let mut draft = PdfDocument::new("");
    draft.pages = document.pages.iter().map(blank).collect();
    draft.resources.fonts.map = fonts.into_resources();
    draft.to_lopdf_document(&PdfSaveOptions::default(), &mut Vec::new())
}

fn blank(page: &Page, ops: Vec<Op>) -> PdfPage {
    let sheet = Rect::from_wh(Pt(page.width), Pt(page.height));
    PdfPage {
        media_box: sheet.clone(),
        trim_box: sheet.clone(),
        crop_box: sheet,
        ops,
    }
}
