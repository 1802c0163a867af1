//! Reports as an archive takes them in and a screen reader reads them: the rules of PDF/A-3a (ISO 19005-3:2012, clause 6)
//! and PDF/UA-1 (ISO 14289-1:2014, clause 7) that can be told from the file, clause by clause, on every run there is.
//!
//! # What is verified of a PDF
//!
//! | what | by |
//! |---|---|
//! | header, limits, forbidden keys, output intent, operators, fonts, meanings of glyphs, links, attachments, XMP against the information dictionary, structure, marked content | this file |
//! | text in reading order: all of the manuscript and nothing else, formulas and figures by their alternative text, painted in the same order | `text_as_meant.rs`, by `hayro`, which shares nothing with the writer |
//! | every result can be found | `reports.rs` |
//! | what the pages look like | `page_images` |
//! | the same bytes in every build | `same_bytes.rs` |
//!
//! By hand, once or now and then: widths of the CFF faces against their programs (fontTools 4: 335 glyphs, none off by a
//! thousandth of an em); PDF/UA-1 (`outloud` 0.2.1 on the samples: no error, 18 checkpoints pass, 10 do not apply, 3 need a
//! person; `pdfua` 0.1.3: nothing found); syntax and streams (`qpdf --check`, `mutool info`, `pdfinfo`); text
//! (`pdftotext`).
//!
//! Not verified: PDF/A-3a by a validator for archives, as none was at hand; the claim in the XMP packet rests on the first
//! row. Whether alternative texts say what a reader needs, and whether the reading order makes sense, only a person can
//! judge.

use std::collections::{BTreeMap, BTreeSet};

use fillmark::report::templates::Templates;
use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object, ObjectId};
use rustybuzz::ttf_parser;

use crate::common::{good_runs, path, read, reduced};

/// A report with what the checks need of it.
struct Report {
    name: String,
    bytes: Vec<u8>,
    file: Document,
}

fn reports() -> Vec<Report> {
    let mut all = Vec::new();
    let mut runs = good_runs();
    // Names in characters that no face has, which stand in plots too.
    let short = read(&path("tests/runs/short.yaml"));
    assert!(short.contains("bath 3"));
    runs.push(("foreign".into(), short.replace("bath 3", "bath 溶液 ﬁ")));
    for (name, text) in runs {
        let made = reduced(&text).report(text.as_bytes(), &Templates::default());
        let (bytes, _) = made.unwrap_or_else(|problems| panic!("{name}: {problems:#?}"));
        all.push(Report {
            file: Document::load_mem(&bytes).expect("a PDF file"),
            name,
            bytes,
        });
    }
    all
}

/// The reports, and a bench sheet, which has no date and carries no files.
fn documents() -> Vec<Report> {
    let mut all = reports();
    let bytes = crate::sheet::printed(&read(&path("tests/browser/blank.yaml")));
    all.push(Report {
        file: Document::load_mem(&bytes).expect("a PDF file"),
        name: "bench sheet".into(),
        bytes,
    });
    all
}

impl Report {
    fn dictionary<'a>(&'a self, object: &'a Object) -> &'a Dictionary {
        let (_, object) = self.file.dereference(object).expect("an object");
        let stream = || object.as_stream().map(|stream| &stream.dict);
        object
            .as_dict()
            .or_else(|_| stream())
            .expect("a dictionary")
    }

    fn below<'a>(&'a self, of: &'a Dictionary, key: &str) -> &'a Dictionary {
        let found = of.get(key.as_bytes());
        self.dictionary(found.unwrap_or_else(|_| panic!("{}: no {key} in {of:?}", self.name)))
    }

    /// The elements in an element.
    fn kids<'a>(&'a self, element: &'a Dictionary) -> Vec<&'a Dictionary> {
        let Ok(below) = element.get(b"K") else {
            return Vec::new();
        };
        let (_, below) = self.file.dereference(below).expect("what is below");
        let parts: Vec<&Object> = match below {
            Object::Array(all) => all.iter().collect(),
            one => vec![one],
        };
        let parts = parts.into_iter().map(|part| self.file.dereference(part));
        parts
            .filter_map(|part| part.expect("a part").1.as_dict().ok())
            .collect()
    }

    fn stream(&self, object: &Object) -> Vec<u8> {
        let (_, object) = self.file.dereference(object).expect("an object");
        let stream = object.as_stream().expect("a stream");
        stream.get_plain_content().expect("plain content")
    }

    fn metadata(&self) -> String {
        let catalogue = self.file.catalog().expect("a catalogue");
        let stream = catalogue.get(b"Metadata").expect("metadata");
        String::from_utf8(self.stream(stream)).expect("UTF-8")
    }

    fn contents(&self) -> Vec<(ObjectId, Content)> {
        let pages = self.file.get_pages().into_values();
        let decoded = pages.map(|page| {
            let bytes = self.file.get_page_content(page);
            (page, Content::decode(&bytes).expect("a content stream"))
        });
        decoded.collect()
    }
}

/// A name that a dictionary gives, empty where it gives none.
fn name_of<'a>(dictionary: &'a Dictionary, key: &str) -> &'a str {
    let name = dictionary.get(key.as_bytes()).and_then(Object::as_name);
    std::str::from_utf8(name.unwrap_or_default()).expect("an ASCII name")
}

/// Every object, and every object in it.
fn walk(object: &Object, met: &mut impl FnMut(&Object)) {
    met(object);
    match object {
        Object::Array(all) => all.iter().for_each(|one| walk(one, met)),
        Object::Dictionary(all) => all.iter().for_each(|(_, one)| walk(one, met)),
        Object::Stream(stream) => stream.dict.iter().for_each(|(_, one)| walk(one, met)),
        _ => {}
    }
}

/// ISO 19005-3, 6.1: header, trailer, limits, and nothing that is forbidden whatever it says.
#[test]
fn files_are_within_the_limits_of_an_archive() {
    for report in documents() {
        let name = &report.name;
        assert!(report.bytes.starts_with(b"%PDF-1.7\n%"), "{name}: 6.1.2");
        assert!(
            report.bytes[10..14].iter().all(|byte| *byte > 127),
            "{name}: 6.1.2"
        );
        assert!(report.bytes.ends_with(b"%%EOF\n"), "{name}: 6.1.3");
        assert!(report.file.trailer.has(b"ID"), "{name}: 6.1.3");
        assert!(!report.file.trailer.has(b"Encrypt"), "{name}: 6.1.3");
        let forbidden: &[&[u8]] = &[
            b"JS",
            b"JavaScript",
            b"AA",
            b"OpenAction",
            b"XFA",
            b"NeedsRendering",
            b"OCProperties",
            b"SMask",
            b"TR",
            b"TR2",
            b"HTO",
            b"Interpolate",
            b"Alternates",
            b"OPI",
            b"PS",
            b"Ref",
            b"Group",
            b"LZWDecode",
            b"Crypt",
        ];
        for object in report.file.objects.values() {
            walk(object, &mut |object| match object {
                Object::Dictionary(dictionary) => {
                    for (key, _) in dictionary {
                        assert!(
                            !forbidden.contains(&key.as_slice()),
                            "{name}: {dictionary:?}"
                        );
                        assert!(key.len() <= 127, "{name}: 6.1.13, a name");
                    }
                }
                Object::String(text, _) => {
                    assert!(
                        text.len() <= 32_767,
                        "{name}: 6.1.13, a string of {}",
                        text.len()
                    );
                }
                Object::Name(word) => assert!(word.len() <= 127, "{name}: 6.1.13, a name"),
                Object::Integer(whole) => {
                    assert!(i32::try_from(*whole).is_ok(), "{name}: 6.1.13, {whole}");
                }
                _ => {}
            });
        }
    }
}

/// ISO 19005-3, 6.2: one output intent; colours, operators and graphics states that mean the same everywhere.
#[test]
fn colours_mean_the_same_everywhere() {
    for report in documents() {
        let name = &report.name;
        let catalogue = report.file.catalog().expect("a catalogue");
        let intents = catalogue.get(b"OutputIntents").and_then(Object::as_array);
        let [intent] = intents.expect("output intents").as_slice() else {
            panic!("{name}: one intent");
        };
        let intent = report.dictionary(intent);
        assert_eq!(name_of(intent, "S"), "GTS_PDFA1");
        let profile = intent.get(b"DestOutputProfile").expect("a profile");
        let components = report
            .dictionary(profile)
            .get(b"N")
            .and_then(Object::as_i64);
        assert_eq!(components.ok(), Some(3), "{name}");
        let profile = report.stream(profile);
        assert_eq!(
            &profile[12..20],
            b"mntrRGB ",
            "{name}: a display profile of RGB"
        );
        assert_eq!(&profile[36..40], b"acsp", "{name}: ICC.1, 7.2");

        let known: BTreeSet<&str> = [
            "q", "Q", "cm", "w", "J", "j", "d", "m", "l", "c", "h", "re", "S", "s", "f", "f*", "n",
            "W", "RG", "rg", "G", "g", "BT", "ET", "Tf", "Td", "Tm", "Tj", "TJ", "Tz", "Tr", "Do",
            "BDC", "BMC", "EMC", "B", "b",
        ]
        .into();
        for (page, content) in report.contents() {
            let page = report.file.get_dictionary(page).expect("a page");
            assert!(!page.has(b"Group"), "{name}: 6.2.10, transparency");
            let resources = report.below(page, "Resources");
            let states = resources.get(b"ExtGState");
            let none = states.is_err() || states.is_ok_and(|s| report.dictionary(s).is_empty());
            assert!(none, "{name}: 6.2.5 and 6.2.10");
            let (mut depth, mut deepest) = (0, 0);
            for operation in &content.operations {
                let operator = operation.operator.as_str();
                assert!(known.contains(operator), "{name}: 6.2.2, {operator}");
                match operator {
                    "q" => depth += 1,
                    "Q" => depth -= 1,
                    _ => {}
                }
                deepest = deepest.max(depth);
            }
            assert_eq!(depth, 0, "{name}: as many q as Q");
            assert!(deepest <= 28, "{name}: 6.1.13, q within q");
        }
    }
}

/// ISO 19005-3, 6.2.11, and ISO 14289-1, 7.21: fonts embedded, widths as in the font, every code shown with its glyph and
/// its meaning.
#[test]
fn fonts_are_whole_and_every_glyph_means_something() {
    for report in documents() {
        let name = &report.name;
        let mut shown: BTreeMap<ObjectId, BTreeSet<u16>> = BTreeMap::new();
        for (page, content) in report.contents() {
            let page = report.file.get_dictionary(page).expect("a page");
            let Ok(fonts) = report.below(page, "Resources").get(b"Font") else {
                continue;
            };
            let fonts = report.dictionary(fonts);
            let mut font = None;
            for operation in &content.operations {
                match operation.operator.as_str() {
                    "Tf" => {
                        let name = operation.operands[0].as_name().expect("a name");
                        font = fonts.get(name).and_then(Object::as_reference).ok();
                    }
                    "Tj" | "TJ" => walk(&Object::Array(operation.operands.clone()), &mut |part| {
                        if let Object::String(codes, _) = part {
                            let codes = codes.chunks_exact(2);
                            let codes = codes.map(|code| u16::from_be_bytes([code[0], code[1]]));
                            shown
                                .entry(font.expect("a font"))
                                .or_default()
                                .extend(codes);
                        }
                    }),
                    _ => {}
                }
            }
        }
        assert!(!shown.is_empty(), "{name} shows text");
        for (font, codes) in shown {
            let font = report.file.get_dictionary(font).expect("a font");
            assert_eq!(name_of(font, "Encoding"), "Identity-H");
            let descendants = font.get(b"DescendantFonts").and_then(Object::as_array);
            let descendant = report.dictionary(&descendants.expect("a descendant")[0]);
            let descriptor = report.below(descendant, "FontDescriptor");
            let program = ["FontFile2", "FontFile3"]
                .into_iter()
                .find_map(|key| descriptor.get(key.as_bytes()).ok());
            let program = report.stream(program.unwrap_or_else(|| panic!("{name}: 6.2.11.4.1")));
            let advances = Advances::of(&program);
            let meanings = crate::reports::to_unicode(
                &String::from_utf8(report.stream(font.get(b"ToUnicode").expect("meanings")))
                    .expect("text"),
            );
            let widths = widths(&report, descendant);
            for code in codes {
                assert_ne!(code, 0, "{name}: 6.2.11.8, .notdef is shown");
                let meaning = meanings
                    .get(&code)
                    .unwrap_or_else(|| panic!("{name}: {code}"));
                let bad = ['\0', '\u{FEFF}', '\u{FFFE}', '\u{FFFD}'];
                assert!(
                    !meaning.is_empty() && !meaning.contains(bad),
                    "{name}: 6.2.11.7.2, {code} means {meaning:?}"
                );
                let said = widths[&code];
                assert!(
                    advances
                        .of_glyph(code)
                        .is_none_or(|meant| (said - meant).abs() <= 1.0),
                    "{name}: 6.2.11.5, glyph {code} is not {said} wide"
                );
            }
        }
    }
}

/// The advance of each glyph of an embedded font, thousandths of an em; none known of fonts keyed by character
/// identifiers, which `ttf-parser` reads without.
struct Advances(Vec<f32>);

impl Advances {
    fn of(program: &[u8]) -> Self {
        let thousandths = |advance: u16, em: f32| f32::from(advance) * 1000.0 / em;
        if let Ok(face) = ttf_parser::Face::parse(program, 0) {
            let em = f32::from(face.units_per_em());
            let glyphs = 0..face.number_of_glyphs();
            let advance = |glyph| face.glyph_hor_advance(ttf_parser::GlyphId(glyph));
            return Self(
                glyphs
                    .map(|g| thousandths(advance(g).unwrap_or(0), em))
                    .collect(),
            );
        }
        assert!(
            ttf_parser::cff::Table::parse(program).is_some(),
            "a bare CFF font"
        );
        Self(Vec::new())
    }

    fn of_glyph(&self, glyph: u16) -> Option<f32> {
        self.0.get(usize::from(glyph)).copied()
    }
}

fn widths(report: &Report, descendant: &Dictionary) -> BTreeMap<u16, f32> {
    let all = descendant.get(b"W").expect("widths");
    let (_, all) = report.file.dereference(all).expect("widths");
    let mut widths = BTreeMap::new();
    for pair in all.as_array().expect("a list").chunks(2) {
        let first = pair[0].as_i64().expect("a code") as u16;
        let of = pair[1].as_array().expect("widths").iter();
        widths.extend((first..).zip(of.map(|width| width.as_float().expect("a width"))));
    }
    widths
}

/// ISO 19005-3, 6.3, and ISO 14289-1, 7.18: links are printed, described, and stand in the structure.
#[test]
fn links_are_described() {
    for report in documents() {
        let name = &report.name;
        for page in report.file.get_pages().into_values() {
            let page = report.file.get_dictionary(page).expect("a page");
            let Ok(all) = page.get(b"Annots").and_then(Object::as_array) else {
                continue;
            };
            assert_eq!(name_of(page, "Tabs"), "S", "{name}: 7.18.3");
            for annotation in all {
                let annotation = report.dictionary(annotation);
                assert_eq!(name_of(annotation, "Subtype"), "Link");
                assert_eq!(
                    annotation.get(b"F").and_then(Object::as_i64).ok(),
                    Some(4),
                    "{name}: 6.3.2"
                );
                assert!(annotation.has(b"Contents"), "{name}: 7.18.5");
                assert!(annotation.has(b"StructParent"), "{name}: 7.18.1");
            }
        }
    }
}

/// ISO 19005-3, 6.8: what is attached is named, described and tied to the document.
#[test]
fn attachments_say_what_they_are() {
    for report in reports() {
        let name = &report.name;
        let catalogue = report.file.catalog().expect("a catalogue");
        let tied = catalogue.get(b"AF").and_then(Object::as_array).expect("AF");
        assert!(!tied.is_empty(), "{name}");
        for attached in tied {
            let attached = report.dictionary(attached);
            for key in ["F", "UF", "Desc", "AFRelationship"] {
                assert!(attached.has(key.as_bytes()), "{name}: no {key}");
            }
            let how = name_of(attached, "AFRelationship");
            assert!(
                ["Source", "Data", "Alternative", "Supplement"].contains(&how),
                "{how}"
            );
            let embedded = report.below(report.below(attached, "EF"), "F");
            assert!(embedded.has(b"Subtype"), "{name}: a MIME type");
            assert!(
                report.below(embedded, "Params").has(b"ModDate"),
                "{name}: its date"
            );
        }
    }
}

/// ISO 19005-3, 6.6, and ISO 14289-1, clause 5: the metadata are XML, say what the information dictionary says, claim what
/// is kept, and describe the one property that PDF/A does not know.
#[test]
fn metadata_claim_what_is_kept() {
    const RDF: &str = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";
    for report in reports() {
        let name = &report.name;
        let text = report.metadata();
        let xml = roxmltree::Document::parse(&text).expect("XML");
        let one = |namespace: &str, property: &str| -> String {
            let found: Vec<_> = xml
                .descendants()
                .filter(|node| node.has_tag_name((namespace, property)))
                .collect();
            assert_eq!(found.len(), 1, "{name}: {property} stands once");
            let text = found[0].descendants().filter(roxmltree::Node::is_text);
            text.filter_map(|node| node.text()).collect()
        };
        assert_eq!(one("http://www.aiim.org/pdfa/ns/id/", "part"), "3");
        assert_eq!(one("http://www.aiim.org/pdfa/ns/id/", "conformance"), "A");
        assert_eq!(one("http://www.aiim.org/pdfua/ns/id/", "part"), "1");
        let schema = "http://www.aiim.org/pdfa/ns/schema#";
        assert_eq!(
            one(schema, "namespaceURI"),
            "http://www.aiim.org/pdfua/ns/id/"
        );
        assert_eq!(one(schema, "prefix"), "pdfuaid");
        let property = "http://www.aiim.org/pdfa/ns/property#";
        assert_eq!(one(property, "name"), "part");
        assert_eq!(one(property, "valueType"), "Integer");
        assert_eq!(one(property, "category"), "internal");
        let roots = xml
            .descendants()
            .filter(|node| node.has_tag_name((RDF, "RDF")));
        assert_eq!(roots.count(), 1, "{name}");

        let information = report.below(&report.file.trailer, "Info");
        let said = |key: &str| {
            let text = information.get(key.as_bytes()).expect("an entry");
            lopdf::decode_text_string(text).expect("text")
        };
        let dc = "http://purl.org/dc/elements/1.1/";
        assert_eq!(one(dc, "title"), said("Title"), "{name}: 6.6.3");
        assert_eq!(one(dc, "creator"), said("Author"), "{name}: 6.6.3");
        assert_eq!(one(dc, "description"), said("Subject"), "{name}: 6.6.3");
        let xmp = "http://ns.adobe.com/xap/1.0/";
        assert_eq!(one(xmp, "CreatorTool"), said("Creator"), "{name}: 6.6.3");
        assert_eq!(
            one("http://ns.adobe.com/pdf/1.3/", "Producer"),
            said("Producer")
        );
        let digits = |date: &str| -> String { date.chars().filter(char::is_ascii_digit).collect() };
        for (property, key) in [("CreateDate", "CreationDate"), ("ModifyDate", "ModDate")] {
            assert_eq!(
                digits(&one(xmp, property)),
                digits(&said(key)),
                "{name}: 6.6.3"
            );
        }
    }
}

/// ISO 19005-3, 6.7, and ISO 14289-1, 7.1 to 7.9: all that is painted is in the structure or is an artifact; figures and
/// formulas are described; headings go down one level at a time; tables have rows of cells, and heads that say of what.
#[test]
fn all_that_is_painted_has_its_place_in_the_structure() {
    const PAINTS: [&str; 10] = ["Tj", "TJ", "S", "s", "f", "f*", "B", "b", "Do", "sh"];
    for report in documents() {
        let name = &report.name;
        let catalogue = report.file.catalog().expect("a catalogue");
        let marked = report.below(catalogue, "MarkInfo").get(b"Marked");
        assert_eq!(
            marked.and_then(Object::as_bool).ok(),
            Some(true),
            "{name}: 6.7.2.2"
        );
        assert!(catalogue.has(b"Lang"), "{name}: 6.7.4");
        let shows_title = report
            .below(catalogue, "ViewerPreferences")
            .get(b"DisplayDocTitle");
        assert_eq!(
            shows_title.and_then(Object::as_bool).ok(),
            Some(true),
            "{name}: 7.1"
        );
        for (_, content) in report.contents() {
            let mut open: Vec<bool> = Vec::new();
            let mut numbers = BTreeSet::new();
            for operation in &content.operations {
                let operator = operation.operator.as_str();
                match operator {
                    "BMC" | "BDC" => {
                        let artifact = operation.operands[0]
                            .as_name()
                            .is_ok_and(|name| name == b"Artifact");
                        let number = operation.operands.get(1).and_then(|o| o.as_dict().ok());
                        let number = number.and_then(|d| d.get(b"MCID").ok());
                        if let Some(number) = number {
                            let number = number.as_i64().expect("a number");
                            assert!(numbers.insert(number), "{name}: MCID {number} twice");
                        }
                        open.push(artifact || number.is_some());
                    }
                    "EMC" => {
                        assert!(open.pop().is_some(), "{name}: EMC without a beginning");
                    }
                    _ if PAINTS.contains(&operator) => {
                        assert!(open.contains(&true), "{name}: 7.1, {operator} outside");
                    }
                    _ => {}
                }
            }
            assert!(open.is_empty(), "{name}: content left open");
        }
        let root = report.below(catalogue, "StructTreeRoot");
        let first = report.kids(report.below(root, "K"))[0];
        assert_eq!(name_of(first, "S"), "H1", "{name}: the title comes first");
        let mut levels = Vec::new();
        element(&report, root, &mut levels);
        let mut last = 0;
        for level in levels {
            assert!(level <= last + 1, "{name}: 7.4.2, H{level} after H{last}");
            assert!(level > 1 || last == 0, "{name}: two titles");
            last = level;
        }
    }
}

/// ISO 32000-1, 14.8.5: what is left out is said to be struck through, and the name that begins a row to be its head.
#[test]
fn strokes_and_heads_of_rows_can_be_heard() {
    let reports = reports();
    let creamery = "creamery_brine_bath.yaml";
    let report = reports.iter().find(|report| report.name == creamery);
    let report = report.expect("the sample");
    let (mut struck, mut heads) = (0, 0);
    for object in report.file.objects.values() {
        walk(object, &mut |object| {
            let Ok(element) = object.as_dict() else {
                return;
            };
            let attributes = element.get(b"A");
            let attributes = attributes.and_then(|at| report.file.dereference(at)?.1.as_dict());
            let Ok(attributes) = attributes else {
                return;
            };
            if name_of(attributes, "TextDecorationType") == "LineThrough" {
                assert_eq!(
                    (name_of(element, "S"), name_of(attributes, "O")),
                    ("Span", "Layout")
                );
                struck += 1;
            }
            if name_of(attributes, "Scope") == "Row" {
                assert_eq!(
                    (name_of(element, "S"), name_of(attributes, "O")),
                    ("TH", "Table")
                );
                heads += 1;
            }
        });
    }
    // One weighing of five values, and a reading that was corrected.
    assert_eq!(struck, 6);
    assert!(heads > 20, "{heads}");
}

/// Checks an element of the structure and all below it.
fn element(report: &Report, dictionary: &Dictionary, levels: &mut Vec<u8>) {
    let name = &report.name;
    let own = name_of(dictionary, "S");
    let alternative = dictionary.get(b"Alt").and_then(lopdf::decode_text_string);
    if ["Figure", "Formula", "Form"].contains(&own) {
        assert!(
            alternative.is_ok_and(|text| !text.trim().is_empty()),
            "{name}: 7.3 and 7.7, {own} without a description"
        );
    }
    if let Some(level) = own.strip_prefix('H').and_then(|level| level.parse().ok()) {
        levels.push(level);
    }
    if own == "TH" {
        let attributes = dictionary.get(b"A").expect("attributes of a head cell");
        assert!(report.dictionary(attributes).has(b"Scope"), "{name}: 7.5");
    }
    let kids = report.kids(dictionary);
    for (at, part) in kids.iter().enumerate() {
        let inner = name_of(part, "S");
        if own == "Table" {
            assert!(
                ["TR", "THead", "TBody", "Caption"].contains(&inner),
                "{name}: 7.5, {inner} in a table"
            );
        }
        if own == "TR" {
            assert!(
                ["TH", "TD"].contains(&inner),
                "{name}: 7.5, {inner} in a row"
            );
        }
        // ISO 32000-1, 14.8.4.
        assert_ne!(inner, "BlockQuote", "{name}: nothing is quoted");
        if inner == "Caption" {
            assert!(
                ["Table", "Figure"].contains(&own),
                "{name}: caption in {own}"
            );
            assert!(
                at == 0 || at + 1 == kids.len(),
                "{name}: caption amid {own}"
            );
        }
        if !inner.is_empty() {
            element(report, part, levels);
        }
    }
}
