//! Refuses documents that would make a damaged file.

use std::collections::BTreeSet;

use super::PdfError;
use crate::print::page::{Colour, Document, GlyphRun, Mark, Page, Role, Samples, Shape, Step};

/// The largest coordinate written, points; far beyond the largest page (14 400, ISO 32000-1, annex C.2), and small
/// enough to be written without an exponent, which PDF does not know.
const LARGEST: f32 = 1.0e6;

/// Checks all of a document.
pub(super) fn check(document: &Document) -> Result<(), PdfError> {
    check_structure(document)?;
    for (number, page) in document.pages.iter().enumerate() {
        check_page(document, number, page)?;
    }
    for entry in &document.outline {
        check_target(document, entry.page, entry.y)?;
    }
    let mut names = BTreeSet::new();
    for attachment in &document.attachments {
        if !names.insert(&attachment.name) {
            return Err(PdfError::AttachmentTwice {
                name: attachment.name.clone(),
            });
        }
    }
    Ok(())
}

/// Returns the first element is the root, each other one has a parent before it: so there are no cycles.
fn check_structure(document: &Document) -> Result<(), PdfError> {
    for (index, element) in document.structure.iter().enumerate() {
        let placed = match element.parent {
            None => index == 0,
            Some(parent) => parent < index,
        };
        if !placed || (element.role == Role::Document) != (index == 0) {
            return Err(PdfError::Element { index });
        }
        let silent = element
            .alternative
            .as_ref()
            .is_none_or(|text| text.trim().is_empty());
        let needs_words = matches!(
            element.role,
            Role::Figure | Role::Formula | Role::Tick | Role::WriteIn
        );
        if silent && needs_words {
            return Err(PdfError::NoAlternative { index });
        }
    }
    if document.structure.is_empty() {
        Err(PdfError::Element { index: 0 })
    } else {
        Ok(())
    }
}

fn check_page(document: &Document, number: usize, page: &Page) -> Result<(), PdfError> {
    let not_finite = PdfError::NotFinite { page: number };
    if !is_usable(&[page.width, page.height]) || page.width <= 0.0 || page.height <= 0.0 {
        return Err(not_finite);
    }
    for item in &page.items {
        if let Some(index) = item.element
            && index >= document.structure.len()
        {
            return Err(PdfError::Element { index });
        }
        let sound = match &item.mark {
            Mark::Glyphs(run) => is_sound_run(run),
            Mark::Picture(picture) => {
                let pixels = &picture.pixels;
                let bytes = 3 * u64::from(pixels.columns) * u64::from(pixels.rows);
                is_usable(&[picture.x, picture.y, picture.width, picture.height])
                    && bytes > 0
                    && match &pixels.samples {
                        Samples::Rgb(rgb) => rgb.len() as u64 == bytes,
                        Samples::Jpeg(file) => !file.is_empty(),
                    }
            }
            Mark::Shape(shape) => {
                if !matches!(shape.steps.first(), None | Some(Step::Move(..))) {
                    return Err(PdfError::OutlineWithoutStart { page: number });
                }
                is_sound_shape(shape)
            }
        };
        if !sound {
            return Err(not_finite);
        }
    }
    for link in &page.links {
        if document
            .structure
            .get(link.element)
            .is_none_or(|element| element.role != Role::Link)
        {
            return Err(PdfError::Element {
                index: link.element,
            });
        }
        if !is_usable(&link.area) {
            return Err(not_finite);
        }
        check_target(document, link.page, link.y)?;
    }
    Ok(())
}

fn check_target(document: &Document, page: usize, y: f32) -> Result<(), PdfError> {
    if page >= document.pages.len() {
        Err(PdfError::NoSuchPage { page })
    } else if is_usable(&[y]) {
        Ok(())
    } else {
        Err(PdfError::NotFinite { page })
    }
}

fn is_sound_run(run: &GlyphRun) -> bool {
    is_usable(&[run.x, run.y, run.size, run.turn])
        && is_sound_colour(run.colour)
        && run.glyphs.iter().all(|glyph| is_usable(&[glyph.advance]))
}

fn is_sound_shape(shape: &Shape) -> bool {
    let steps = shape.steps.iter().all(|step| match *step {
        Step::Move(x, y) | Step::Line(x, y) => is_usable(&[x, y]),
        Step::Curve(x1, y1, x2, y2, x, y) => is_usable(&[x1, y1, x2, y2, x, y]),
        Step::Close => true,
    });
    let stroke = shape.stroke.as_ref().is_none_or(|stroke| {
        is_sound_colour(stroke.colour)
            && is_usable(&[stroke.width])
            && stroke.width >= 0.0
            && stroke
                .dashes
                .iter()
                .all(|dash| is_usable(&[*dash]) && *dash >= 0.0)
    });
    steps && stroke && shape.fill.is_none_or(is_sound_colour)
}

fn is_sound_colour(Colour(red, green, blue): Colour) -> bool {
    [red, green, blue]
        .iter()
        .all(|part| (0.0..=1.0).contains(part))
}

fn is_usable(numbers: &[f32]) -> bool {
    numbers.iter().all(|number| number.abs() <= LARGEST)
}
