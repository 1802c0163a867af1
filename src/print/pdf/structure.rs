//! The structure tree: what each marked piece of content is, in reading order (ISO 32000-1, 14.7 and 14.8).

use lopdf::{Object, ObjectId, dictionary};

use super::attributes::{ElementFacts, SharedAttributes};
use super::finish::ObjectStreamBuilder;
use super::navigation::Annotation;
use super::write_object::integer_object;
use super::{PdfError, write_object};
use crate::print::page::{Document, Role};

/// A marked piece of content: page and number on it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Piece {
    page: u32,
    mcid: u32,
}

/// What belongs to each element, in one list.
struct ByElement<T> {
    /// Where in the list that of each element ends, and before it that of the one before.
    ends: Vec<u32>,
    list: Vec<T>,
}

impl<T: Copy> ByElement<T> {
    /// What belongs to each of `count` elements, given with the element in the order in which it is to stand.
    fn gather(count: usize, all: impl Iterator<Item = (usize, T)> + Clone) -> Self {
        let mut ends = vec![0_u32; count + 1];
        for (element, _) in all.clone() {
            ends[element + 1] += 1;
        }
        for element in 0..count {
            ends[element + 1] += ends[element];
        }
        let mut list = Vec::new();
        if let Some((_, any)) = all.clone().next() {
            list.resize(ends[count] as usize, any);
        }
        // Each beginning moves to its end as the list is filled.
        for (element, one) in all {
            list[ends[element] as usize] = one;
            ends[element] += 1;
        }
        Self { ends, list }
    }

    fn belonging_to(&self, element: usize) -> &[T] {
        let start = element.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.list[start as usize..self.ends[element] as usize]
    }
}

/// Returns the standard structure type of a role (ISO 32000-1, 14.8.4).
pub(super) const fn name(role: Role) -> &'static str {
    match role {
        Role::Document => "Document",
        Role::Heading(0 | 1) => "H1",
        Role::Heading(2) => "H2",
        Role::Heading(3) => "H3",
        Role::Heading(4) => "H4",
        Role::Heading(5) => "H5",
        Role::Heading(_) => "H6",
        Role::Paragraph => "P",
        Role::List => "L",
        Role::ListItem => "LI",
        Role::ListLabel => "Lbl",
        Role::ListBody => "LBody",
        Role::Panel => "Div",
        Role::Table => "Table",
        Role::Row => "TR",
        Role::HeadCell | Role::RowHead => "TH",
        Role::Cell => "TD",
        Role::Figure => "Figure",
        Role::Formula => "Formula",
        Role::Tick | Role::WriteIn => "Form",
        Role::Caption => "Caption",
        Role::Code => "Code",
        Role::Contents => "TOC",
        Role::ContentsItem => "TOCI",
        Role::Reference => "Reference",
        Role::Link => "Link",
        Role::Span | Role::Struck => "Span",
    }
}

/// Writes the tree and ties the pages and the annotations to it; `marked` has the elements of the marked pieces of each page.
///
/// The elements are most of the objects of a file, so they are written as bytes at once.
pub(super) fn write(
    file: &mut lopdf::Document,
    loose: &mut ObjectStreamBuilder,
    document: &Document,
    pages: &[ObjectId],
    facts: &ElementFacts,
    marked: &[Vec<usize>],
    annotations: &[Annotation],
) -> Result<(), PdfError> {
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = document
        .structure
        .iter()
        .map(|_| file.new_object_id())
        .collect();
    let count = document.structure.len();
    let pieces = marked.iter().zip(0..).flat_map(|(elements, page)| {
        let numbered = elements.iter().zip(0..);
        numbered.map(move |(element, mcid)| (*element, Piece { page, mcid }))
    });
    let pieces = ByElement::gather(count, pieces);
    let parents = document.structure.iter().map(|element| element.parent);
    let children = parents.zip(0_u32..);
    let children = children.filter_map(|(parent, index)| Some((parent?, index)));
    let links = annotations.iter().zip(0_u32..);
    let links = links.map(|(annotation, index)| (annotation.element, index));
    let tree = Tree {
        document,
        root,
        ids: &ids,
        pages,
        children: ByElement::gather(count, children),
        first_pieces: first_pieces(document, &pieces),
        pieces,
        links: ByElement::gather(count, links),
        annotations,
        facts,
        attributes: SharedAttributes::add_to(file, loose),
    };
    for (index, (number, _)) in ids.iter().enumerate() {
        loose.add(*number, |out| tree.write_element(out, index));
    }

    let parents = write_parents(file, &ids, pages, marked, annotations)?;
    let tree = dictionary! {
        "Type" => "StructTreeRoot",
        "K" => ids[0],
        "ParentTree" => parents,
        "ParentTreeNextKey" => integer_object(pages.len() + annotations.len()),
    };
    file.set_object(root, tree);
    let catalogue = file.catalog_mut()?;
    catalogue.set("StructTreeRoot", root);
    catalogue.set("MarkInfo", dictionary! { "Marked" => true });
    Ok(())
}

/// What an element is written from.
struct Tree<'a> {
    document: &'a Document,
    root: ObjectId,
    ids: &'a [ObjectId],
    pages: &'a [ObjectId],
    pieces: ByElement<Piece>,
    children: ByElement<u32>,
    first_pieces: Vec<Option<Piece>>,
    /// The annotations of each element.
    links: ByElement<u32>,
    annotations: &'a [Annotation],
    facts: &'a ElementFacts,
    attributes: SharedAttributes,
}

impl Tree<'_> {
    fn write_element(&self, out: &mut Vec<u8>, index: usize) {
        let element = &self.document.structure[index];
        out.extend_from_slice(b"<</S");
        write_object::name(out, name(element.role).as_bytes());
        let parent = element.parent.map_or(self.root, |parent| self.ids[parent]);
        out.extend_from_slice(b"/P ");
        write_object::reference(out, parent.0);
        let pieces = self.pieces.belonging_to(index);
        let home = pieces.first().map(|piece| piece.page);
        if let Some(page) = home {
            out.extend_from_slice(b"/Pg ");
            write_object::reference(out, self.pages[page as usize].0);
        }
        if let Some(text) = &element.alternative {
            out.extend_from_slice(b"/Alt");
            write_object::text(out, text);
        }
        if let Some(shared) = self.attributes.of(element.role) {
            out.extend_from_slice(b"/A ");
            write_object::reference(out, shared);
        } else {
            self.facts.write_attributes(out, self.document, index);
        }
        let (children, links) = (
            self.children.belonging_to(index),
            self.links.belonging_to(index),
        );
        match pieces.len() + children.len() + links.len() {
            0 => {}
            1 => {
                out.extend_from_slice(b"/K ");
                self.write_kids(out, index, home);
            }
            _ => {
                out.extend_from_slice(b"/K[");
                self.write_kids(out, index, home);
                out.push(b']');
            }
        }
        out.extend_from_slice(b">>");
    }

    /// An element's own pieces and its children in reading order, then its annotations.
    fn write_kids(&self, out: &mut Vec<u8>, index: usize, home: Option<u32>) {
        let mut own = self.pieces.belonging_to(index).iter().peekable();
        for &child in self.children.belonging_to(index) {
            let child = child as usize;
            let first = self.first_pieces[child];
            while let Some(piece) = own.next_if(|piece| first.is_some_and(|first| **piece < first))
            {
                self.write_piece(out, *piece, home);
            }
            separate(out);
            write_object::reference(out, self.ids[child].0);
        }
        for piece in own {
            self.write_piece(out, *piece, home);
        }
        for &link in self.links.belonging_to(index) {
            let annotation = &self.annotations[link as usize];
            out.extend_from_slice(b"<</Type/OBJR/Obj ");
            write_object::reference(out, annotation.id.0);
            out.extend_from_slice(b"/Pg ");
            write_object::reference(out, self.pages[annotation.page].0);
            out.extend_from_slice(b">>");
        }
    }

    /// The number alone on the element's own page, page and number elsewhere.
    fn write_piece(&self, out: &mut Vec<u8>, piece: Piece, home: Option<u32>) {
        let number = i64::from(piece.mcid);
        if home == Some(piece.page) {
            separate(out);
            write_object::integer(out, number);
        } else {
            out.extend_from_slice(b"<</Type/MCR/Pg ");
            write_object::reference(out, self.pages[piece.page as usize].0);
            out.extend_from_slice(b"/MCID ");
            write_object::integer(out, number);
            out.extend_from_slice(b">>");
        }
    }
}

/// Writes the space between a number or a reference and the one before it.
fn separate(out: &mut Vec<u8>) {
    if out.last().is_some_and(u8::is_ascii_alphanumeric) {
        out.push(b' ');
    }
}

/// From marked pieces and annotations back to their elements: keys from 0 are the pages, then the annotations.
fn write_parents(
    file: &mut lopdf::Document,
    ids: &[ObjectId],
    pages: &[ObjectId],
    marked: &[Vec<usize>],
    annotations: &[Annotation],
) -> Result<ObjectId, PdfError> {
    let mut numbers = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        let elements: Vec<Object> = marked[number]
            .iter()
            .map(|index| ids[*index].into())
            .collect();
        let elements = file.add_object(elements);
        numbers.extend([integer_object(number), elements.into()]);
        let page = file.get_dictionary_mut(*page)?;
        page.set("StructParents", integer_object(number));
        page.set("Tabs", "S");
    }
    for (at, annotation) in annotations.iter().enumerate() {
        let key = integer_object(pages.len() + at);
        numbers.extend([key.clone(), ids[annotation.element].into()]);
        file.get_dictionary_mut(annotation.id)?
            .set("StructParent", key);
    }
    Ok(file.add_object(dictionary! { "Nums" => numbers }))
}

/// The first piece of each element or of anything in it, so that an element's own pieces and its children can be put
/// in reading order. A parent stands before its children, so one walk from the end meets each child first.
fn first_pieces(document: &Document, pieces: &ByElement<Piece>) -> Vec<Option<Piece>> {
    let own =
        (0..document.structure.len()).map(|index| pieces.belonging_to(index).first().copied());
    let mut firsts: Vec<Option<Piece>> = own.collect();
    for (index, element) in document.structure.iter().enumerate().rev() {
        if let (Some(parent), Some(first)) = (element.parent, firsts[index]) {
            firsts[parent] = Some(firsts[parent].map_or(first, |known| known.min(first)));
        }
    }
    firsts
}
