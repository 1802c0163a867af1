//! The structure tree: what each marked piece of content is, in reading order (ISO 32000-1, 14.7 and 14.8).

use lopdf::{Object, ObjectId, dictionary};

use super::attributes::ElementFacts;
use super::finish::ObjectStreamBuilder;
use super::navigation::Annotation;
use super::write_object::integer_object;
use super::{PdfError, write_object};
use crate::print::page::{Document, Role};

/// A marked piece of content: page and number on it.
#[derive(Clone, Copy)]
struct Piece {
    page: usize,
    mcid: usize,
}

/// All marked pieces, by page and by element.
pub(super) struct Marked {
    by_page: Vec<Vec<usize>>,
    by_element: Vec<Vec<Piece>>,
}

impl Marked {
    pub(super) fn for_document(document: &Document) -> Self {
        Self {
            by_page: vec![Vec::new(); document.pages.len()],
            by_element: vec![Vec::new(); document.structure.len()],
        }
    }

    /// Enters the next marked piece of a page; returns its number on that page.
    pub(super) fn enter(&mut self, page: usize, element: usize) -> usize {
        let mcid = self.by_page[page].len();
        self.by_page[page].push(element);
        self.by_element[element].push(Piece { page, mcid });
        mcid
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

/// Writes the tree and ties the pages and the annotations to it.
///
/// The elements are most of the objects of a file, so they are written as bytes at once.
pub(super) fn write(
    file: &mut lopdf::Document,
    loose: &mut ObjectStreamBuilder,
    document: &Document,
    pages: &[ObjectId],
    marked: &Marked,
    annotations: &[Annotation],
) -> Result<(), PdfError> {
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = document
        .structure
        .iter()
        .map(|_| file.new_object_id())
        .collect();
    let tree = Tree {
        document,
        root,
        ids: &ids,
        pages,
        marked,
        children: children(document),
        first_pieces: first_pieces(document, marked),
        links: links(document, annotations),
        seen: ElementFacts::in_document(document),
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
    marked: &'a Marked,
    children: Vec<Vec<usize>>,
    first_pieces: Vec<Option<(usize, usize)>>,
    /// The annotations of each element.
    links: Vec<Vec<&'a Annotation>>,
    seen: ElementFacts,
}

impl Tree<'_> {
    fn write_element(&self, out: &mut Vec<u8>, index: usize) {
        let element = &self.document.structure[index];
        out.extend_from_slice(b"<</Type/StructElem/S");
        write_object::name(out, name(element.role).as_bytes());
        let parent = element.parent.map_or(self.root, |parent| self.ids[parent]);
        out.extend_from_slice(b"/P ");
        write_object::reference(out, parent.0);
        let pieces = &self.marked.by_element[index];
        let home = pieces.first().map(|piece| piece.page);
        if let Some(page) = home {
            out.extend_from_slice(b"/Pg ");
            write_object::reference(out, self.pages[page].0);
        }
        if let Some(text) = &element.alternative {
            out.extend_from_slice(b"/Alt");
            write_object::text(out, text);
        }
        if let Some(attributes) = self.seen.attributes(self.document, index) {
            out.extend_from_slice(b"/A");
            write_object::dictionary(out, &attributes);
        }
        if !(pieces.is_empty() && self.children[index].is_empty() && self.links[index].is_empty()) {
            out.extend_from_slice(b"/K[");
            self.write_kids(out, index, home);
            out.push(b']');
        }
        out.extend_from_slice(b">>");
    }

    /// An element's own pieces and its children in reading order, then its annotations.
    fn write_kids(&self, out: &mut Vec<u8>, index: usize, home: Option<usize>) {
        let mut own = self.marked.by_element[index].iter().peekable();
        for &child in &self.children[index] {
            while let Some(piece) = own.next_if(|piece| {
                self.first_pieces[child].is_some_and(|first| (piece.page, piece.mcid) < first)
            }) {
                self.write_piece(out, *piece, home);
            }
            write_object::reference(out, self.ids[child].0);
            out.push(b' ');
        }
        for piece in own {
            self.write_piece(out, *piece, home);
        }
        for annotation in &self.links[index] {
            out.extend_from_slice(b"<</Type/OBJR/Obj ");
            write_object::reference(out, annotation.id.0);
            out.extend_from_slice(b"/Pg ");
            write_object::reference(out, self.pages[annotation.page].0);
            out.extend_from_slice(b">>");
        }
    }

    /// The number alone on the element's own page, page and number elsewhere.
    fn write_piece(&self, out: &mut Vec<u8>, piece: Piece, home: Option<usize>) {
        let number = piece.mcid as i64;
        if home == Some(piece.page) {
            write_object::integer(out, number);
            out.push(b' ');
        } else {
            out.extend_from_slice(b"<</Type/MCR/Pg ");
            write_object::reference(out, self.pages[piece.page].0);
            out.extend_from_slice(b"/MCID ");
            write_object::integer(out, number);
            out.extend_from_slice(b">>");
        }
    }
}

/// From marked pieces and annotations back to their elements: keys from 0 are the pages, then the annotations.
fn write_parents(
    file: &mut lopdf::Document,
    ids: &[ObjectId],
    pages: &[ObjectId],
    marked: &Marked,
    annotations: &[Annotation],
) -> Result<ObjectId, PdfError> {
    let mut numbers = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        let elements: Vec<Object> = marked.by_page[number]
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

fn links<'a>(document: &Document, annotations: &'a [Annotation]) -> Vec<Vec<&'a Annotation>> {
    let mut links = vec![Vec::new(); document.structure.len()];
    for annotation in annotations {
        links[annotation.element].push(annotation);
    }
    links
}

fn children(document: &Document) -> Vec<Vec<usize>> {
    let mut children = vec![Vec::new(); document.structure.len()];
    for (index, element) in document.structure.iter().enumerate() {
        if let Some(parent) = element.parent {
            children[parent].push(index);
        }
    }
    children
}

/// Returns the first piece of each element or of anything in it, so that an element's own pieces and its children can
/// be put in reading order. A parent stands before its children, so one walk from the end meets each child first.
fn first_pieces(document: &Document, marked: &Marked) -> Vec<Option<(usize, usize)>> {
    let own = marked
        .by_element
        .iter()
        .map(|pieces| pieces.first().map(|piece| (piece.page, piece.mcid)));
    let mut firsts: Vec<Option<(usize, usize)>> = own.collect();
    for (index, element) in document.structure.iter().enumerate().rev() {
        if let (Some(parent), Some(first)) = (element.parent, firsts[index]) {
            firsts[parent] = Some(firsts[parent].map_or(first, |known| known.min(first)));
        }
    }
    firsts
}
