//! Finished pages into PDF bytes: what a reader of the file finds in it.

use fillmark::page::{
    About, Attachment, Colour, Document, Element, Face, Glyph, GlyphRun, Item, Link, Mark,
    OutlineEntry, Page, Role, Shape, Step, Stroke,
};
use fillmark::pdf::{self, Failure};
use fillmark::typeface::{Forms, Typefaces};
use lopdf::{Dictionary, Object, ObjectId};

const SIGNS: &str = "ρ ± − ° ² ₂ ffi µ Δ";
const RUN_FILE: &[u8] = b"title: Brine\nreading: 5.00 \xc2\xb0C\n";

fn text(faces: &Typefaces, face: Face, x: f32, y: f32, words: &str) -> Mark {
    let glyphs = faces.shape(face, Forms::default(), words).glyphs;
    Mark::Glyphs(GlyphRun {
        face,
        size: 10.0,
        x,
        y,
        turn: 0.0,
        colour: Colour::BLACK,
        glyphs,
    })
}

fn rule(y: f32) -> Mark {
    let stroke = Stroke {
        colour: Colour(0.2, 0.4, 0.6),
        width: 0.5,
        dashes: vec![2.0, 1.0],
    };
    let steps = vec![Step::Move(60.0, y), Step::Line(300.0, y)];
    Mark::Shape(Shape {
        steps,
        fill: None,
        stroke: Some(stroke),
    })
}

/// A document of two pages in which every role occurs.
struct Sample {
    document: Document,
    faces: Typefaces,
    y: f32,
}

impl Sample {
    fn element(&mut self, role: Role, parent: usize) -> usize {
        let needs = matches!(role, Role::Figure | Role::Formula);
        let alternative = needs.then(|| "density over time, ρ".to_owned());
        self.document.structure.push(Element {
            role,
            parent: Some(parent),
            alternative,
        });
        self.document.structure.len() - 1
    }

    fn put(&mut self, page: usize, element: Option<usize>, mark: Mark) {
        self.document.pages[page].items.push(Item { mark, element });
    }

    fn say(&mut self, page: usize, element: usize, face: Face, words: &str) {
        self.y += 18.0;
        let mark = text(&self.faces, face, 60.0, self.y, words);
        self.put(page, Some(element), mark);
    }

    fn role(&mut self, page: usize, role: Role, parent: usize, words: &str) -> usize {
        let element = self.element(role, parent);
        self.say(page, element, Face::Regular, words);
        element
    }
}

fn sample() -> Sample {
    let sheet = Page {
        width: 595.0,
        height: 842.0,
        items: Vec::new(),
        links: Vec::new(),
    };
    let root = Element {
        role: Role::Document,
        parent: None,
        alternative: None,
    };
    let about = About {
        title: "Brine, 5 % ± 0.1 %".to_owned(),
        authors: vec!["R. Example".to_owned(), "Ö. Muster".to_owned()],
        subject: "A <test> & more".to_owned(),
        language: "en-GB".to_owned(),
        date: "2026-03-04".to_owned(),
    };
    let entry = |title: &str, level, page| OutlineEntry {
        title: title.to_owned(),
        level,
        page,
        y: 60.0,
    };
    let document = Document {
        about,
        pages: vec![sheet.clone(), sheet],
        structure: vec![root],
        outline: vec![
            entry("One", 1, 0),
            entry("One Δ", 2, 0),
            entry("Deep", 4, 1),
            entry("Two", 1, 1),
        ],
        attachments: vec![
            Attachment {
                name: "run.yaml".to_owned(),
                mime: "application/yaml".to_owned(),
                description: "Run file".to_owned(),
                bytes: RUN_FILE.to_vec(),
            },
            Attachment {
                name: "results.json".to_owned(),
                mime: "application/json".to_owned(),
                description: "Results".to_owned(),
                bytes: b"{}".repeat(200),
            },
        ],
    };
    let mut it = Sample {
        document,
        faces: Typefaces::load(),
        y: 40.0,
    };
    for level in 1..=6 {
        it.role(0, Role::Heading(level), 0, "Heading");
    }
    it.role(0, Role::Paragraph, 0, SIGNS);
    let list = it.element(Role::List, 0);
    let point = it.element(Role::ListItem, list);
    it.role(0, Role::ListLabel, point, "1.");
    it.role(0, Role::ListBody, point, "Office waffles");
    let panel = it.element(Role::Panel, 0);
    it.role(0, Role::Paragraph, panel, "Result");
    let table = it.element(Role::Table, 0);
    let head = it.element(Role::Row, table);
    it.role(0, Role::HeadCell, head, "m / g");
    it.role(0, Role::HeadCell, head, "V / mL");
    let row = it.element(Role::Row, table);
    it.element(Role::Cell, row); // an empty cell
    it.role(0, Role::Cell, row, "10.00");
    it.put(0, None, rule(500.0));
    let figure = it.element(Role::Figure, 0);
    it.put(0, Some(figure), rule(520.0));
    it.role(0, Role::Caption, figure, "A figure");
    let formula = it.element(Role::Formula, 0);
    it.say(0, formula, Face::Math, "ρ=m");
    let code = it.element(Role::Code, 0);
    it.say(0, code, Face::Mono, "reading: 5.00");
    let paragraph = it.role(0, Role::Paragraph, 0, "See ");
    let link = it.role(0, Role::Link, paragraph, "Figure 1");
    it.say(0, paragraph, Face::Italic, " and so ");
    it.role(0, Role::Span, paragraph, "on");
    it.y = 60.0;
    it.say(1, paragraph, Face::Bold, "over the page");
    let description = "To Figure 1".to_owned();
    let area = [60.0, 400.0, 120.0, 420.0];
    it.document.pages[0].links.push(Link {
        area,
        page: 1,
        y: 100.0,
        description,
        element: link,
    });
    it
}

fn written(sample: &Sample) -> Vec<u8> {
    pdf::write(&sample.document, &sample.faces).unwrap()
}

fn read(bytes: &[u8]) -> lopdf::Document {
    lopdf::Document::load_mem(bytes).unwrap()
}

fn dictionary<'a>(file: &'a lopdf::Document, object: &'a Object) -> &'a Dictionary {
    match file.dereference(object).unwrap().1 {
        Object::Stream(stream) => &stream.dict,
        other => other.as_dict().unwrap(),
    }
}

/// The types in the structure below an element, in order, as an indented list.
fn outline_of(file: &lopdf::Document, element: &Dictionary, depth: usize, lines: &mut Vec<String>) {
    let kind = String::from_utf8_lossy(element.get(b"S").unwrap().as_name().unwrap());
    let kids = match element.get(b"K") {
        Ok(kids) => kids.as_array().unwrap().clone(),
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
  BlockQuote
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
            && element.has_type(b"StructElem")
            && let Ok(attributes) = element.get(b"A").and_then(Object::as_dict)
        {
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

/// All strings shown on a page, through the maps from glyphs to text of its fonts.
fn extracted(file: &lopdf::Document, page: ObjectId) -> String {
    let fonts = file.get_page_fonts(page).unwrap();
    let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
    let mut map = std::collections::BTreeMap::new();
    let mut text = String::new();
    for operation in content.operations {
        match operation.operator.as_str() {
            "Tf" => map = to_unicode(file, fonts[operation.operands[0].as_name().unwrap()]),
            "TJ" => {
                for object in operation.operands[0].as_array().unwrap() {
                    if let Object::String(codes, _) = object {
                        for code in codes.chunks(2) {
                            text += &map[&u16::from_be_bytes([code[0], code[1]])];
                        }
                    }
                }
            }
            "ET" => text.push('\n'),
            _ => {}
        }
    }
    text
}

fn to_unicode(
    file: &lopdf::Document,
    font: &Dictionary,
) -> std::collections::BTreeMap<u16, String> {
    let stream = file
        .dereference(font.get(b"ToUnicode").unwrap())
        .unwrap()
        .1
        .as_stream()
        .unwrap();
    let map = String::from_utf8(stream.get_plain_content().unwrap()).unwrap();
    let mut pairs = std::collections::BTreeMap::new();
    for line in map.lines() {
        let parts: Vec<&str> = line
            .split(['<', '>', ' '])
            .filter(|part| !part.is_empty())
            .collect();
        if let [code, text] = parts[..]
            && line.starts_with('<')
            && let Ok(code) = u16::from_str_radix(code, 16)
        {
            let digits: Vec<u16> = (0..text.len())
                .step_by(4)
                .map(|at| u16::from_str_radix(&text[at..at + 4], 16).unwrap())
                .collect();
            pairs.insert(code, String::from_utf16(&digits).unwrap());
        }
    }
    pairs
}

#[test]
fn text_can_be_copied_as_it_was_meant() {
    let file = read(&written(&sample()));
    let pages = file.get_pages();
    let first = extracted(&file, pages[&1]);
    for words in [SIGNS, "Office waffles", "ρ=m", "reading: 5.00"] {
        assert!(
            first.lines().any(|line| line == words),
            "{words} in {first}"
        );
    }
    assert_eq!(extracted(&file, pages[&2]), "over the page\n");
}

/// The widths that a font gives its glyphs.
fn widths(file: &lopdf::Document, font: &Dictionary) -> std::collections::BTreeMap<u16, f32> {
    let descendants = font.get(b"DescendantFonts").unwrap().as_array().unwrap();
    let widths = dictionary(file, &descendants[0]).get(b"W").unwrap();
    let mut by_code = std::collections::BTreeMap::new();
    for pair in widths.as_array().unwrap().chunks(2) {
        let first = u16::try_from(pair[0].as_i64().unwrap()).unwrap();
        for (code, width) in (first..).zip(pair[1].as_array().unwrap()) {
            by_code.insert(code, width.as_float().unwrap());
        }
    }
    by_code
}

#[test]
fn marks_stand_where_they_were_put() {
    let mut it = sample();
    let mut mark = text(&it.faces, Face::Regular, 71.5, 100.25, "AVATAR office");
    if let Mark::Glyphs(run) = &mut mark {
        run.glyphs
            .iter_mut()
            .for_each(|glyph| glyph.advance += 12.34);
    }
    let Mark::Glyphs(run) = mark.clone() else {
        panic!("not text")
    };
    let count = run.glyphs.len() - 1;
    let wanted: f32 = run.glyphs[..count].iter().map(|glyph| glyph.advance).sum();
    it.document.pages[1].items = vec![
        Item {
            mark,
            element: None,
        },
        Item {
            mark: rule(10.0),
            element: None,
        },
    ];
    let file = read(&written(&it));
    let page = file.get_pages()[&2];
    let fonts = file.get_page_fonts(page).unwrap();
    let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
    let chosen = content
        .operations
        .iter()
        .find(|operation| operation.operator == "Tf")
        .unwrap();
    let widths = widths(&file, fonts[chosen.operands[0].as_name().unwrap()]);
    let numbers = |operator: &str| -> Vec<f32> {
        let operation = content
            .operations
            .iter()
            .find(|operation| operation.operator == operator)
            .unwrap();
        operation
            .operands
            .iter()
            .map(|operand| operand.as_float().unwrap())
            .collect()
    };
    assert_eq!(numbers("Td"), [71.5, 741.75]);
    assert_eq!(numbers("m"), [60.0, 832.0]);
    assert_eq!(numbers("l"), [300.0, 832.0]);

    let shown = content
        .operations
        .iter()
        .find(|operation| operation.operator == "TJ")
        .unwrap();
    let mut codes = Vec::new();
    let mut pen = 0.0;
    for object in shown.operands[0].as_array().unwrap() {
        if let Object::String(bytes, _) = object {
            for code in bytes.chunks(2) {
                codes.push(u16::from_be_bytes([code[0], code[1]]));
                pen += widths[codes.last().unwrap()];
            }
        } else {
            pen -= object.as_float().unwrap();
        }
    }
    let reached = pen - widths[codes.last().unwrap()];
    assert_eq!(codes.len(), count + 1);
    assert!((reached - wanted).abs() <= 0.06, "{reached} for {wanted}");
}

#[test]
fn fonts_are_cut_down_and_named_as_such() {
    let bytes = written(&sample());
    assert!(bytes.len() < 80_000, "{}", bytes.len());
    let file = read(&bytes);
    let names: Vec<String> = file
        .objects
        .values()
        .filter_map(|object| object.as_dict().ok())
        .filter(|object| object.has_type(b"FontDescriptor"))
        .map(|object| {
            String::from_utf8_lossy(object.get(b"FontName").unwrap().as_name().unwrap())
                .into_owned()
        })
        .collect();
    assert_eq!(names.len(), 5);
    for name in names {
        let (tag, rest) = name.split_once('+').unwrap();
        assert!(
            tag.len() == 6 && tag.bytes().all(|byte| byte.is_ascii_uppercase()),
            "{name}"
        );
        assert!(!rest.is_empty());
    }
}

#[test]
fn one_glyph_that_means_two_things_says_both() {
    let mut it = sample();
    let glyph = |text: &str| Glyph {
        id: 40,
        advance: 500.0,
        text: text.into(),
    };
    let run = |glyphs| GlyphRun {
        face: Face::Regular,
        size: 10.0,
        x: 60.0,
        y: 700.0,
        turn: 90.0,
        colour: Colour::BLACK,
        glyphs,
    };
    // The last two glyphs stand together for one character.
    it.put(
        1,
        None,
        Mark::Glyphs(run(vec![
            glyph("I"),
            glyph("I"),
            glyph("Ι"),
            glyph("é"),
            glyph(""),
        ])),
    );
    let file = read(&written(&it));
    let page = file.get_pages()[&2];
    let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
    let spoken: Vec<String> = content
        .operations
        .iter()
        .filter(|operation| operation.operator == "BDC")
        .filter_map(|operation| {
            operation.operands[1]
                .as_dict()
                .ok()?
                .get(b"ActualText")
                .ok()
        })
        .map(|text| lopdf::decode_text_string(text).unwrap())
        .collect();
    assert_eq!(spoken, ["Ι", "é"]);
}

#[test]
fn attachments_come_out_as_they_went_in() {
    let file = read(&written(&sample()));
    let catalogue = file.catalog().unwrap();
    let names = dictionary(&file, catalogue.get(b"Names").unwrap());
    let names = dictionary(&file, names.get(b"EmbeddedFiles").unwrap())
        .get(b"Names")
        .unwrap()
        .as_array()
        .unwrap();
    let listed: Vec<String> = names
        .iter()
        .step_by(2)
        .map(|name| lopdf::decode_text_string(name).unwrap())
        .collect();
    assert_eq!(listed, ["results.json", "run.yaml"]);
    let specification = dictionary(&file, &names[3]);
    assert_eq!(
        specification
            .get(b"AFRelationship")
            .unwrap()
            .as_name()
            .unwrap(),
        b"Source"
    );
    let stream = specification
        .get(b"EF")
        .unwrap()
        .as_dict()
        .unwrap()
        .get(b"F")
        .unwrap();
    let stream = file.dereference(stream).unwrap().1.as_stream().unwrap();
    assert_eq!(stream.get_plain_content().unwrap(), RUN_FILE);
    assert_eq!(catalogue.get(b"AF").unwrap().as_array().unwrap().len(), 2);
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

#[test]
fn the_file_names_itself_twice_alike() {
    let file = read(&written(&sample()));
    let information = dictionary(&file, file.trailer.get(b"Info").unwrap());
    assert_eq!(
        lopdf::decode_text_string(information.get(b"Title").unwrap()).unwrap(),
        "Brine, 5 % ± 0.1 %"
    );
    assert_eq!(
        information.get(b"ModDate").unwrap().as_str().unwrap(),
        b"D:20260304000000Z"
    );
    let packet = file
        .dereference(file.catalog().unwrap().get(b"Metadata").unwrap())
        .unwrap()
        .1
        .as_stream()
        .unwrap();
    let packet = String::from_utf8(packet.content.clone()).unwrap();
    for part in [
        "Brine, 5 % ± 0.1 %",
        "R. Example, Ö. Muster",
        "A &lt;test&gt; &amp; more",
        "2026-03-04T00:00:00Z",
    ] {
        assert!(packet.contains(part), "{part}");
    }
    let identifier = file.trailer.get(b"ID").unwrap().as_array().unwrap();
    assert_eq!(identifier[0], identifier[1]);
    assert_ne!(identifier[0].as_str().unwrap(), [0; 16]);
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let first = written(&sample());
    let others: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(|| written(&sample()))).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap())
            .collect()
    });
    assert!(others.iter().all(|other| *other == first));

    let mut changed = sample();
    changed.document.structure[1].alternative = Some("other".to_owned());
    let identifier = |bytes: &[u8]| read(bytes).trailer.get(b"ID").unwrap().clone();
    assert_ne!(identifier(&written(&changed)), identifier(&first));
}

#[test]
fn unsound_documents_are_refused() {
    let refusal = |change: &dyn Fn(&mut Sample)| {
        let mut it = sample();
        change(&mut it);
        pdf::write(&it.document, &it.faces).unwrap_err()
    };
    for number in [f32::NAN, f32::INFINITY, 1e9] {
        let not_finite = Failure::NotFinite { page: 1 };
        assert_eq!(refusal(&|it| it.put(1, None, rule(number))), not_finite);
        assert_eq!(
            refusal(&|it| it.document.pages[1].width = number),
            not_finite
        );
        assert_eq!(refusal(&|it| it.document.outline[3].y = number), not_finite);
        let glyphs = vec![Glyph {
            id: 1,
            advance: number,
            text: " ".into(),
        }];
        let run = GlyphRun {
            face: Face::Mono,
            size: 1.0,
            x: 0.0,
            y: 0.0,
            turn: 0.0,
            colour: Colour::BLACK,
            glyphs,
        };
        assert_eq!(
            refusal(&|it| it.put(1, None, Mark::Glyphs(run.clone()))),
            not_finite
        );
    }
    assert_eq!(
        refusal(&|it| it.document.outline[0].page = 2),
        Failure::NoSuchPage { page: 2 }
    );
    assert_eq!(
        refusal(&|it| it.document.pages[0].links[0].page = 9),
        Failure::NoSuchPage { page: 9 }
    );
    assert_eq!(
        refusal(&|it| it.document.pages[0].links[0].element = 1),
        Failure::Element { index: 1 }
    );
    assert_eq!(
        refusal(&|it| it.put(0, Some(999), rule(1.0))),
        Failure::Element { index: 999 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure[1].parent = Some(1)),
        Failure::Element { index: 1 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure[2].parent = None),
        Failure::Element { index: 2 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure.clear()),
        Failure::Element { index: 0 }
    );
    let lone = Shape {
        steps: vec![Step::Line(1.0, 1.0)],
        fill: Some(Colour::WHITE),
        stroke: None,
    };
    assert_eq!(
        refusal(&|it| it.put(0, None, Mark::Shape(lone.clone()))),
        Failure::OutlineWithoutStart { page: 0 }
    );
    let twice = refusal(&|it| it.document.attachments[1].name = "run.yaml".to_owned());
    assert_eq!(
        twice,
        Failure::AttachmentTwice {
            name: "run.yaml".to_owned()
        }
    );
    assert!(matches!(
        refusal(&|it| it
            .document
            .structure
            .iter_mut()
            .for_each(|element| element.alternative = None)),
        Failure::NoAlternative { .. }
    ));
}
