//! Ways through the document: the outline and the links.

use lopdf::{Object, ObjectId, dictionary};

use super::PdfError;
use super::write_object::{integer_object, length_object};
use crate::print::page::{Document, OutlineEntry};

/// A link as an annotation.
pub(super) struct Annotation {
    /// Its object.
    pub(super) id: ObjectId,
    /// The page it is on, counted from 0.
    pub(super) page: usize,
    /// The element it belongs to.
    pub(super) element: usize,
}

/// Writes the links of all pages; none leaves a page without a list of annotations.
pub(super) fn write_links(
    file: &mut lopdf::Document,
    document: &Document,
    pages: &[ObjectId],
) -> Result<Vec<Annotation>, PdfError> {
    let mut annotations = Vec::new();
    for (number, page) in document.pages.iter().enumerate() {
        let mut on_page: Vec<Object> = Vec::new();
        for link in &page.links {
            let [left, top, right, bottom] = link.area;
            let id = file.add_object(dictionary! {
                "Type" => "Annot",
                "Subtype" => "Link",
                "Rect" => [left, page.height - bottom, right, page.height - top].map(length_object).to_vec(),
                "Border" => vec![0.into(), 0.into(), 0.into()],
                // To be printed as it is shown, as PDF/A asks.
                "F" => 4,
                // With plain spaces it is ASCII, which takes half the bytes.
                "Contents" => lopdf::text_string(&link.description.replace('\u{a0}', " ")),
                "Dest" => target(document, pages, link.page, link.y),
            });
            on_page.push(id.into());
            annotations.push(Annotation {
                id,
                page: number,
                element: link.element,
            });
        }
        let object = file.get_dictionary_mut(pages[number])?;
        if on_page.is_empty() {
            object.remove(b"Annots");
        } else {
            object.set("Annots", on_page);
        }
    }
    Ok(annotations)
}

/// Writes the outline as a tree, all of it open.
pub(super) fn write_outline(
    file: &mut lopdf::Document,
    document: &Document,
    pages: &[ObjectId],
) -> Result<(), PdfError> {
    let catalogue = file.catalog_mut()?;
    catalogue.remove(b"PageLayout");
    catalogue.remove(b"PageMode");
    if document.outline.is_empty() {
        return Ok(());
    }
    let entries = &document.outline;
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = entries.iter().map(|_| file.new_object_id()).collect();
    let tree = Tree::new(entries);
    let id_of = |parent: Option<usize>| parent.map_or(root, |index| ids[index]);
    for (index, entry) in entries.iter().enumerate() {
        let mut object = dictionary! {
            "Title" => lopdf::text_string(&entry.title),
            "Parent" => id_of(tree.parents[index]),
            "Dest" => target(document, pages, entry.page, entry.y),
        };
        if let Some(before) = tree.before[index] {
            object.set("Prev", ids[before]);
        }
        if let Some(after) = tree.after[index] {
            object.set("Next", ids[after]);
        }
        tree.set_children(&mut object, Some(index), &ids);
        file.set_object(ids[index], object);
    }
    let mut outline = dictionary! { "Type" => "Outlines" };
    tree.set_children(&mut outline, None, &ids);
    file.set_object(root, outline);
    let catalogue = file.catalog_mut()?;
    catalogue.set("Outlines", root);
    catalogue.set("PageMode", "UseOutlines");
    Ok(())
}

/// How the entries hang together. `None` as a parent is the outline itself.
struct Tree {
    parents: Vec<Option<usize>>,
    before: Vec<Option<usize>>,
    after: Vec<Option<usize>>,
    /// First and last child, and the count of all that is below, of each entry and at the end of the outline itself.
    below: Vec<(Option<(usize, usize)>, usize)>,
}

impl Tree {
    /// Returns the tree of the entries. An entry belongs to the nearest one before it of a lower level, even if levels
    /// between them are missing.
    fn new(entries: &[OutlineEntry]) -> Self {
        let count = entries.len();
        let mut tree = Self {
            parents: Vec::with_capacity(count),
            before: vec![None; count],
            after: vec![None; count],
            below: vec![(None, 0); count + 1],
        };
        let mut open: Vec<usize> = Vec::new();
        for (index, entry) in entries.iter().enumerate() {
            while open
                .last()
                .is_some_and(|above| entries[*above].level >= entry.level)
            {
                open.pop();
            }
            let parent = open.last().copied();
            tree.parents.push(parent);
            let children = &mut tree.below[parent.unwrap_or(count)].0;
            if let Some((_, last)) = children {
                tree.before[index] = Some(*last);
                tree.after[*last] = Some(index);
                *last = index;
            } else {
                *children = Some((index, index));
            }
            for above in open.iter().copied().chain([count]) {
                tree.below[above].1 += 1;
            }
            open.push(index);
        }
        tree
    }

    fn set_children(&self, object: &mut lopdf::Dictionary, of: Option<usize>, ids: &[ObjectId]) {
        if let (Some((first, last)), count) = self.below[of.unwrap_or(ids.len())] {
            object.set("First", ids[first]);
            object.set("Last", ids[last]);
            object.set("Count", integer_object(count));
        }
    }
}

/// Returns a place in the document: the page with that height at the top of the window, at the zoom there is.
fn target(document: &Document, pages: &[ObjectId], page: usize, y: f32) -> Object {
    let height = document.pages[page].height;
    let top = (height - y).clamp(0.0, height);
    Object::Array(vec![
        pages[page].into(),
        "XYZ".into(),
        Object::Null,
        length_object(top),
        Object::Null,
    ])
}
