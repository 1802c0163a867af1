//! The structure tree: what each marked piece of content is, in reading order (ISO 32000-1, 14.7 and 14.8).

use lopdf::{Object, ObjectId, dictionary};

use super::Failure;
use super::attributes::Seen;
use super::navigation::Annotation;
use crate::page::{Document, Role};

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

/// The standard structure type of a role (ISO 32000-1, 14.8.4).
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
        Role::Panel => "BlockQuote",
        Role::Table => "Table",
        Role::Row => "TR",
        Role::HeadCell => "TH",
        Role::Cell => "TD",
        Role::Figure => "Figure",
        Role::Formula => "Formula",
        Role::Caption => "Caption",
        Role::Code => "Code",
        Role::Link => "Link",
        Role::Span => "Span",
    }
}

/// Writes the tree and ties the pages and the annotations to it.
pub(super) fn write(
    file: &mut lopdf::Document,
    document: &Document,
    pages: &[ObjectId],
    marked: &Marked,
    annotations: &[Annotation],
) -> Result<(), Failure> {
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = document
        .structure
        .iter()
        .map(|_| file.new_object_id())
        .collect();
    let children = children(document);
    let first_pieces = first_pieces(document, marked);
    let seen = Seen::in_document(document);
    let mut links_of = vec![Vec::new(); document.structure.len()];
    for annotation in annotations {
        links_of[annotation.element].push(annotation);
    }

    for (index, element) in document.structure.iter().enumerate() {
        let mut object = dictionary! {
            "Type" => "StructElem",
            "S" => name(element.role),
            "P" => element.parent.map_or(root, |parent| ids[parent]),
        };
        let home = marked.by_element[index].first().map(|piece| piece.page);
        if let Some(page) = home {
            object.set("Pg", pages[page]);
        }
        if let Some(text) = &element.alternative {
            object.set("Alt", lopdf::text_string(text));
        }
        if let Some(attributes) = seen.attributes(document, index) {
            object.set("A", attributes);
        }
        let mut kids = Vec::new();
        let mut own = marked.by_element[index].iter().peekable();
        for &child in &children[index] {
            while let Some(piece) = own.next_if(|piece| {
                first_pieces[child].is_some_and(|first| (piece.page, piece.mcid) < first)
            }) {
                kids.push(content_item(*piece, home, pages));
            }
            kids.push(Object::Reference(ids[child]));
        }
        kids.extend(own.map(|piece| content_item(*piece, home, pages)));
        for annotation in &links_of[index] {
            kids.push(
                dictionary! { "Type" => "OBJR", "Obj" => annotation.id, "Pg" => pages[annotation.page] }.into(),
            );
        }
        if !kids.is_empty() {
            object.set("K", kids);
        }
        file.set_object(ids[index], object);
    }

    let parents = write_parents(file, &ids, pages, marked, annotations)?;
    let tree = dictionary! {
        "Type" => "StructTreeRoot",
        "K" => ids[0],
        "ParentTree" => parents,
        "ParentTreeNextKey" => whole(pages.len() + annotations.len()),
    };
    file.set_object(root, tree);
    let catalogue = file.catalog_mut()?;
    catalogue.set("StructTreeRoot", root);
    catalogue.set("MarkInfo", dictionary! { "Marked" => true });
    Ok(())
}

/// From marked pieces and annotations back to their elements: keys from 0 are the pages, then the annotations.
fn write_parents(
    file: &mut lopdf::Document,
    ids: &[ObjectId],
    pages: &[ObjectId],
    marked: &Marked,
    annotations: &[Annotation],
) -> Result<ObjectId, Failure> {
    let mut numbers = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        let elements: Vec<Object> = marked.by_page[number]
            .iter()
            .map(|index| ids[*index].into())
            .collect();
        let elements = file.add_object(elements);
        numbers.extend([whole(number), elements.into()]);
        let page = file.get_dictionary_mut(*page)?;
        page.set("StructParents", whole(number));
        page.set("Tabs", "S");
    }
    for (at, annotation) in annotations.iter().enumerate() {
        let key = whole(pages.len() + at);
        numbers.extend([key.clone(), ids[annotation.element].into()]);
        file.get_dictionary_mut(annotation.id)?
            .set("StructParent", key);
    }
    Ok(file.add_object(dictionary! { "Nums" => numbers }))
}

/// The number alone on the element's own page, page and number elsewhere.
fn content_item(piece: Piece, home: Option<usize>, pages: &[ObjectId]) -> Object {
    if home == Some(piece.page) {
        whole(piece.mcid)
    } else {
        dictionary! { "Type" => "MCR", "Pg" => pages[piece.page], "MCID" => whole(piece.mcid) }
            .into()
    }
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

/// The first piece of each element or of anything in it, so that an element's own pieces and its children can be put
/// in reading order. A parent stands before its children, so one walk from the end meets each child first.
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

/// A count as a PDF integer.
pub(super) fn whole(count: usize) -> Object {
    Object::Integer(i64::try_from(count).unwrap_or(i64::MAX))
}
