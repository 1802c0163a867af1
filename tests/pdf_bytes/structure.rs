//! The structure tree, its attributes, and the ways through the document.

use lopdf::{Dictionary, Object};

use super::{dictionary, read, sample, written};

/// The types in the structure below an element, in order, as an indented list.
fn outline_of(file: &lopdf::Document, element: &Dictionary, depth: usize, lines: &mut Vec<String>) {
    let kind = String::from_utf8_lossy(element.get(b"S").unwrap().as_name().unwrap());
    let kids = match element.get(b"K") {
        Ok(Object::Array(kids)) => kids.clone(),
        Ok(only) => vec![only.clone()],
        Err(_) => Vec::new(),
    };
    lines.push(format!("{}{kind}", "  ".repeat(depth)));
    for kid in kids {
        match kid {
            Object::Integer(number) => lines.push(format!("{}#{number}", "  ".repeat(depth + 1))),
            Object::Dictionary(other) => {
                let kind = other.get(b"Type").unwrap().as_name().unwrap();
                lines.push(format!(
                    "{}@{}",
                    "  ".repeat(depth + 1),
                    String::from_utf8_lossy(kind)
                ));
            }
            reference => outline_of(file, dictionary(file, &reference), depth + 1, lines),
        }
    }
}

#[test]
fn every_role_has_its_place_in_the_tree() {
    let file = read(&written(&sample()));
    assert_eq!(file.version, "1.7");
    assert_eq!(file.get_pages().len(), 2);
    let catalogue = file.catalog().unwrap();
    assert!(
        catalogue
            .get(b"MarkInfo")
            .unwrap()
            .as_dict()
            .unwrap()
            .get(b"Marked")
            .unwrap()
            .as_bool()
            .unwrap()
    );
    let tree = dictionary(&file, catalogue.get(b"StructTreeRoot").unwrap());
    let mut lines = Vec::new();
    outline_of(
        &file,
        dictionary(&file, tree.get(b"K").unwrap()),
        0,
        &mut lines,
    );
    let expected = "\
Document
  H1
    #0
  H2
    #1
  H3
    #2
  H4
    #3
  H5
    #4
  H6
    #5
  P
    #6
  L
    LI
      Lbl
        #7
      LBody
        #8
  Div
    P
      #9
  Table
    TR
      TH
        #10
      TH
        #11
    TR
      TD
      TD
        #12
  Figure
    #13
    Caption
      #14
  Formula
    #15
  Code
    #16
  P
    #17
    Link
      #18
      @OBJR
    #19
    Span
      #20
    @MCR";
    assert_eq!(lines.join("\n"), expected);
}

#[test]
fn attributes_say_what_the_types_do_not() {
    let file = read(&written(&sample()));
    let mut seen = Vec::new();
    for object in file.objects.values() {
        if let Ok(element) = object.as_dict()
            && element.has(b"S")
            && let Ok(attributes) = element.get(b"A")
        {
            let (_, attributes) = file.dereference(attributes).unwrap();
            let attributes = attributes.as_dict().unwrap();
            let kind =
                String::from_utf8_lossy(element.get(b"S").unwrap().as_name().unwrap()).into_owned();
            let name = |key: &[u8]| {
                attributes
                    .get(key)
                    .and_then(Object::as_name)
                    .map(|name| String::from_utf8_lossy(name).into_owned())
            };
            seen.push((
                kind,
                name(b"Scope")
                    .or(name(b"ListNumbering"))
                    .or(name(b"Placement"))
                    .unwrap(),
            ));
            if attributes.has(b"BBox") {
                let bounds: Vec<f32> = attributes
                    .get(b"BBox")
                    .unwrap()
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|n| n.as_float().unwrap())
                    .collect();
                if seen.last().unwrap().0 == "Figure" {
                    assert_eq!(bounds, [60.0, 322.0, 300.0, 322.0]);
                }
            }
        }
    }
    let expected = [
        ("L", "Decimal"),
        ("TH", "Column"),
        ("TH", "Column"),
        ("Figure", "Block"),
        ("Formula", "Block"),
        ("Code", "Block"),
    ];
    let expected: Vec<_> = expected
        .iter()
        .map(|(kind, value)| ((*kind).to_owned(), (*value).to_owned()))
        .collect();
    assert_eq!(seen, expected);
}

#[test]
fn links_and_outline_lead_where_they_say() {
    let file = read(&written(&sample()));
    let pages = file.get_pages();
    let page = file.get_dictionary(pages[&1]).unwrap();
    let annotation = dictionary(&file, &page.get(b"Annots").unwrap().as_array().unwrap()[0]);
    let target = annotation.get(b"Dest").unwrap().as_array().unwrap();
    assert_eq!(target[0].as_reference().unwrap(), pages[&2]);
    assert!((target[3].as_float().unwrap() - 742.0).abs() < 0.01);
    assert_eq!(
        lopdf::decode_text_string(annotation.get(b"Contents").unwrap()).unwrap(),
        "To Figure 1"
    );
    assert!(!file.get_dictionary(pages[&2]).unwrap().has(b"Annots"));

    // From the annotation to its element by the tree of parents.
    let key = annotation.get(b"StructParent").unwrap().as_i64().unwrap();
    let tree = dictionary(
        &file,
        file.catalog().unwrap().get(b"StructTreeRoot").unwrap(),
    );
    let numbers = dictionary(&file, tree.get(b"ParentTree").unwrap())
        .get(b"Nums")
        .unwrap()
        .as_array()
        .unwrap();
    let at = numbers
        .iter()
        .step_by(2)
        .position(|number| number.as_i64().unwrap() == key)
        .unwrap();
    assert_eq!(
        dictionary(&file, &numbers[2 * at + 1])
            .get(b"S")
            .unwrap()
            .as_name()
            .unwrap(),
        b"Link"
    );

    let outlines = dictionary(&file, file.catalog().unwrap().get(b"Outlines").unwrap());
    assert_eq!(outlines.get(b"Count").unwrap().as_i64().unwrap(), 4);
    let one = dictionary(&file, outlines.get(b"First").unwrap());
    let two = dictionary(&file, outlines.get(b"Last").unwrap());
    assert_eq!(one.get(b"Next").unwrap(), outlines.get(b"Last").unwrap());
    assert_eq!(
        lopdf::decode_text_string(two.get(b"Title").unwrap()).unwrap(),
        "Two"
    );
    assert!(!two.has(b"First"));
    assert_eq!(one.get(b"Count").unwrap().as_i64().unwrap(), 2);
    let below = dictionary(&file, one.get(b"First").unwrap());
    assert_eq!(
        lopdf::decode_text_string(below.get(b"Title").unwrap()).unwrap(),
        "One Δ"
    );
    let deep = dictionary(&file, below.get(b"First").unwrap());
    assert_eq!(
        lopdf::decode_text_string(deep.get(b"Title").unwrap()).unwrap(),
        "Deep"
    );
}
