//! Finished pages into PDF bytes: what a reader of the file finds in it.

mod content;
mod file;
mod structure;

use fillmark::print::page::{
    About, Attachment, Carried, Colour, Document, Element, Face, GlyphRun, Item, Link, Mark,
    OutlineEntry, Packed, Page, Role, Shape, Step, Stroke,
};
use fillmark::print::pdf;
use fillmark::print::typeface::{Forms, Typefaces};
use lopdf::{Dictionary, Object};

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
        stroke: Some(Box::new(stroke)),
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

fn packed(bytes: &[u8]) -> Packed {
    pdf::packed(|out| out.write_all(bytes)).unwrap()
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
        date: time::Date::from_ordinal_date(2026, 63).ok(),
        made_from: String::new(),
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
                kind: Carried::RunFile,
                description: "Run file".to_owned(),
                content: packed(RUN_FILE),
            },
            Attachment {
                name: "results.json".to_owned(),
                kind: Carried::Data,
                description: "Results".to_owned(),
                content: packed(&b"{}".repeat(200)),
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
    pdf::write(sample.document.clone(), &sample.faces).unwrap()
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
