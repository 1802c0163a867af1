//! The order of the document's structure after figures have been set below text that follows them in the manuscript:
//! one who hears the document meets everything where it stands.

use crate::print::page::{Element, Page};

use super::ROOT;

/// Puts the parts of the document in the order in which they are painted first. Those that show nothing stay behind the
/// part before them.
pub(super) fn reorder(structure: &mut Vec<Element>, pages: &mut [Page]) {
    // The part of the document that each element belongs to.
    let mut parts: Vec<usize> = Vec::with_capacity(structure.len());
    for (index, element) in structure.iter().enumerate() {
        let part = match element.parent {
            None | Some(ROOT) => index,
            Some(parent) => parts[parent],
        };
        parts.push(part);
    }
    let mut painted = vec![None; structure.len()];
    let elements = pages.iter().flat_map(|page| &page.items);
    for (at, element) in elements.filter_map(|item| item.element).enumerate() {
        painted[parts[element]].get_or_insert(at);
    }
    let mut last = None;
    for (index, part) in parts.iter().enumerate() {
        if index == *part {
            last = painted[index].or(last);
            painted[index] = last;
        }
    }
    let mut ordered: Vec<(usize, Element)> =
        std::mem::take(structure).into_iter().enumerate().collect();
    ordered.sort_by_key(|(index, _)| (*index != ROOT, painted[parts[*index]]));
    let mut indices = vec![0; ordered.len()];
    for (position, (index, _)) in ordered.iter().enumerate() {
        indices[*index] = position;
    }
    structure.extend(ordered.into_iter().map(|(_, element)| element));
    for element in structure {
        element.parent = element.parent.map(|parent| indices[parent]);
    }
    for page in pages {
        let items = page.items.iter_mut();
        for element in items.filter_map(|item| item.element.as_mut()) {
            *element = indices[*element];
        }
        for link in &mut page.links {
            link.element = indices[link.element];
        }
    }
}
