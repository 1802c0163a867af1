//! Pictures as image objects (ISO 32000-1, 8.9.5).

use std::sync::Arc;

use lopdf::{Dictionary, Object, ObjectId, Stream, dictionary};

use super::PdfError;
use crate::print::page::{Document, Mark, Page, Pixels, Samples};

/// Returns the name of the picture that comes so many others after the first on its page.
pub(super) fn name(number: usize) -> String {
    format!("Im{number}")
}

/// The pictures of each page, in the order of painting.
pub(super) fn on_pages(document: &Document) -> Vec<Vec<Arc<Pixels>>> {
    let on_page = |page: &Page| {
        let pictures = page.items.iter().filter_map(|item| match &item.mark {
            Mark::Picture(picture) => Some(Arc::clone(&picture.pixels)),
            Mark::Glyphs(_) | Mark::Shape(_) => None,
        });
        pictures.collect()
    };
    document.pages.iter().map(on_page).collect()
}

/// Adds the pictures of each page to its resources.
pub(super) fn write(
    file: &mut lopdf::Document,
    pictures: &[Vec<Arc<Pixels>>],
    pages: &[ObjectId],
) -> Result<(), PdfError> {
    // A picture shown more than once is one object.
    let mut written: Vec<(Arc<Pixels>, ObjectId)> = Vec::new();
    for (on_page, id) in pictures.iter().zip(pages) {
        let mut objects = Dictionary::new();
        for (number, pixels) in on_page.iter().enumerate() {
            let known = written.iter().find(|(of, _)| Arc::ptr_eq(of, pixels));
            if let Some((_, stream)) = known {
                objects.set(name(number), *stream);
                continue;
            }
            let mut head = dictionary! {
                "Type" => "XObject",
                "Subtype" => "Image",
                "Width" => i64::from(pixels.columns),
                "Height" => i64::from(pixels.rows),
                "ColorSpace" => "DeviceRGB",
                "BitsPerComponent" => 8,
            };
            let content = match &pixels.samples {
                Samples::Rgb(rgb) => rgb.clone(),
                Samples::Jpeg(jpeg) => {
                    head.set("Filter", "DCTDecode");
                    jpeg.clone()
                }
            };
            let stream = file.add_object(Stream::new(head, content));
            written.push((Arc::clone(pixels), stream));
            objects.set(name(number), stream);
        }
        if objects.is_empty() {
            continue;
        }
        let resources = file.get_dictionary(*id)?.get(b"Resources")?.clone();
        match resources {
            Object::Reference(resources) => {
                let resources = file.get_dictionary_mut(resources)?;
                resources.set("XObject", objects);
            }
            Object::Dictionary(mut own) => {
                own.set("XObject", objects);
                file.get_dictionary_mut(*id)?.set("Resources", own);
            }
            _ => return Err(PdfError::Objects("a page has no resources".into())),
        }
    }
    Ok(())
}
