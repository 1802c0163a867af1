//! What is painted on the pages, and what it says when it is copied.

use std::sync::Arc;

use fillmark::print::page::{Colour, Face, Glyph, GlyphRun, Item, Mark};
use lopdf::{Dictionary, Object, ObjectId};

use super::{SIGNS, dictionary, read, rule, sample, text, written};

/// All strings shown on a page, through the maps from glyphs to text of its fonts.
fn extracted(file: &lopdf::Document, page: ObjectId) -> String {
    let fonts = file.get_page_fonts(page).unwrap();
    let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
    let mut map = std::collections::BTreeMap::new();
    let mut text = String::new();
    for operation in content.operations {
        match operation.operator.as_str() {
            "Tf" => map = to_unicode(file, fonts[operation.operands[0].as_name().unwrap()]),
            "Tj" => text += &said(&operation.operands[0], &map),
            "TJ" => {
                for object in operation.operands[0].as_array().unwrap() {
                    text += &said(object, &map);
                }
            }
            "ET" => text.push('\n'),
            _ => {}
        }
    }
    text
}

fn said(object: &Object, map: &std::collections::BTreeMap<u16, String>) -> String {
    let Object::String(codes, _) = object else {
        return String::new();
    };
    let codes = codes.chunks(2);
    codes
        .map(|code| map[&u16::from_be_bytes([code[0], code[1]])].as_str())
        .collect()
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
        for glyph in Arc::make_mut(&mut run.glyphs) {
            glyph.advance += 12.34;
        }
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
    assert!((reached - wanted).abs() <= 0.5, "{reached} for {wanted}");
}

#[test]
fn lines_of_one_text_are_placed_from_one_to_the_next() {
    let mut it = sample();
    let places = [(71.5, 100.25), (80.125, 100.25), (60.0, 113.01)];
    let mut items: Vec<Item> = places
        .iter()
        .map(|(x, y)| Item {
            mark: text(&it.faces, Face::Regular, *x, *y, "brine"),
            element: None,
        })
        .collect();
    items.insert(
        2,
        Item {
            mark: rule(10.0),
            element: None,
        },
    );
    it.document.pages[1].items = items;
    let file = read(&written(&it));
    let content = file.get_page_content(file.get_pages()[&2]);
    let (mut x, mut y) = (0.0, 0.0);
    let mut reached = Vec::new();
    for operation in lopdf::content::Content::decode(&content)
        .unwrap()
        .operations
    {
        match operation.operator.as_str() {
            "BT" => (x, y) = (0.0, 0.0),
            "Td" => {
                x += operation.operands[0].as_float().unwrap();
                y += operation.operands[1].as_float().unwrap();
                reached.push((x, y));
            }
            _ => {}
        }
    }
    let height = it.document.pages[1].height;
    for ((x, y), (at_x, at_y)) in places.into_iter().zip(&reached) {
        assert!((at_x - x).abs() < 0.006 && (at_y - (height - y)).abs() < 0.006);
    }
    assert_eq!(reached.len(), places.len());
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

/// The texts that are given in place of the font's, where one glyph stands for these in turn.
fn spoken(texts: &[&str]) -> Vec<String> {
    let mut it = sample();
    let glyph = |text: &&str| Glyph {
        id: 40,
        advance: 500.0,
        text: (*text).into(),
    };
    let run = GlyphRun {
        face: Face::Regular,
        size: 10.0,
        x: 60.0,
        y: 700.0,
        turn: 90.0,
        colour: Colour::BLACK,
        glyphs: texts.iter().map(glyph).collect(),
    };
    it.put(1, None, Mark::Glyphs(run));
    let file = read(&written(&it));
    let page = file.get_pages()[&2];
    let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
    content
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
        .collect()
}

#[test]
fn one_glyph_that_means_two_things_says_both() {
    // The last two glyphs stand together for one character.
    assert_eq!(spoken(&["I", "I", "Ι", "é", ""]), ["Ι", "é"]);
    // So is a digit in a power.
    assert_eq!(spoken(&["²", "²", "2"]), ["²", "²"]);
    // A hyphen is one to readers who know no text but the font's, however many words are divided.
    assert_eq!(spoken(&["\u{ad}", "\u{ad}", "-"]), ["\u{ad}", "\u{ad}"]);
    assert_eq!(spoken(&["\u{ad}", "\u{ad}"]), [""; 0]);
}
