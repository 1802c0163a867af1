//! Laws of pages, whatever their text: nothing is lost, cut, or out of order.

mod digits;
mod parts;
mod passing;

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

use fillmark::maths::handles::Handles;
use fillmark::print::layout::{Laid, LayoutError, Style, set};
use fillmark::print::manuscript::said::ManuscriptError;
use fillmark::print::manuscript::{Align, Block, Inline, Manuscript, Table, markdown, tex};
use fillmark::print::page::{Face, GlyphRun, Item, Mark, Page, Role, Step};
use fillmark::print::typeface::Typefaces;

/// Numbers that look random and are the same each time (Knuth's constants for a linear congruential generator).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % most
    }

    fn text(&mut self, words: usize) -> String {
        const SYLLABLES: [&str; 16] = [
            "so", "lu", "tion", "den", "si", "ty", "mea", "sure", "ment", "of", "fi", "cient",
            "brine", "a", "ρ", "25.0",
        ];
        (0..words)
            .map(|_| {
                (0..=self.below(4))
                    .map(|_| SYLLABLES[self.below(16)])
                    .collect::<String>()
            })
            .collect::<Vec<_>>()
            .join(" ")
    }
}

fn laid(markdown_text: &str) -> Laid {
    let blocks = markdown::read(
        markdown_text,
        "test.md",
        &BTreeMap::new(),
        &[],
        &Handles::default(),
    )
    .expect("well formed");
    lay(blocks)
}

fn lay(blocks: Vec<Block>) -> Laid {
    let manuscript = Manuscript {
        title: "Brine bath strength".to_owned(),
        date: time::Date::from_ordinal_date(2026, 63).ok(),
        running_foot: "foot".to_owned(),
        blocks,
        ..Manuscript::default()
    };
    set(manuscript, &Typefaces::load(), &Style::default()).expect("can be set")
}

fn runs(items: &[Item]) -> impl Iterator<Item = &GlyphRun> {
    items.iter().filter_map(|item| match &item.mark {
        Mark::Glyphs(run) => Some(run),
        Mark::Shape(_) | Mark::Picture(_) => None,
    })
}

fn text_of(run: &GlyphRun) -> String {
    run.glyphs.iter().map(|glyph| &*glyph.text).collect()
}

/// Right end of the ink of a run.
fn end(run: &GlyphRun) -> f32 {
    let inked = run
        .glyphs
        .iter()
        .rposition(|glyph| glyph.text.trim() != "")
        .map_or(0, |last| last + 1);
    run.x
        + run.glyphs[..inked]
            .iter()
            .map(|glyph| glyph.advance)
            .sum::<f32>()
            * run.size
            / 1000.0
}

fn tagged_text(pages: &[Page]) -> String {
    let tagged = |item: &&Item| item.element.is_some();
    pages
        .iter()
        .flat_map(|page| {
            page.items
                .iter()
                .filter(tagged)
                .filter_map(|item| match &item.mark {
                    Mark::Glyphs(run) => Some(text_of(run)),
                    Mark::Shape(_) | Mark::Picture(_) => None,
                })
        })
        .collect()
}

fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != '\u{ad}')
        .collect()
}

fn assert_on_page(laid: &Laid) {
    for page in &laid.document.pages {
        for item in &page.items {
            match &item.mark {
                Mark::Glyphs(run) => {
                    assert!(
                        run.x >= 0.0 && end(run) <= page.width,
                        "{} at {}",
                        text_of(run),
                        run.x
                    );
                    assert!(
                        run.y > 0.0 && run.y < page.height,
                        "{} at {}",
                        text_of(run),
                        run.y
                    );
                }
                Mark::Picture(picture) => panic!("no logo was asked for: {picture:?}"),
                Mark::Shape(shape) => {
                    for step in &shape.steps {
                        if let Step::Move(x, y) | Step::Line(x, y) = step {
                            assert!(
                                (0.0..=page.width).contains(x) && (0.0..=page.height).contains(y),
                                "{x} {y}"
                            );
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn no_line_is_wider_than_the_measure_and_all_but_the_last_reach_it() {
    let style = Style::default();
    let right = style.left_margin + style.measure();
    let mut numbers = Numbers(1);
    for _ in 0..20 {
        let laid = lay(vec![Block::Paragraph(vec![Inline::Text(
            numbers.text(150),
        )])]);
        let body: Vec<&GlyphRun> = laid
            .document
            .pages
            .iter()
            .flat_map(|page| runs(&page.items))
            .filter(|run| run.face == Face::Regular && (run.size - style.text_size).abs() < 0.01)
            .filter(|run| run.glyphs.len() > 20)
            .collect();
        assert!(body.len() > 10, "{} lines", body.len());
        for run in &body {
            assert!(
                end(run) <= right + 0.05,
                "{} ends at {}",
                text_of(run),
                end(run)
            );
        }
        let full = body.iter().rev().skip(1);
        let short = full.filter(|run| end(run) < right - 0.1).count();
        let of = body.len();
        assert_eq!(short, 0, "lines of {of} that do not reach the margin");
    }
}

#[test]
fn every_character_is_set_in_order() {
    let mut numbers = Numbers(2);
    for round in 0..10 {
        let mut markdown_text = String::new();
        let mut expected = String::from("Brine bath strength 4 March 2026");
        for _ in 0..30 {
            let words = 1 + numbers.below(120);
            let text = numbers.text(words);
            let (opening, said) = match numbers.below(5) {
                0 => ("> ", ""),
                1 => ("- ", "•"),
                2 => ("# ", "§"),
                _ => ("", ""),
            };
            let _ = write!(markdown_text, "{opening}{text}\n\n");
            expected.push_str(said);
            expected.push_str(&text);
        }
        let mut sections = 0;
        while let Some(at) = expected.find('§') {
            sections += 1;
            expected.replace_range(at..at + '§'.len_utf8(), &sections.to_string());
        }
        let laid = laid(&markdown_text);
        assert_eq!(
            squeezed(&tagged_text(&laid.document.pages)),
            squeezed(&expected),
            "round {round}"
        );
        assert_on_page(&laid);
    }
}

fn points(laid: &Laid) -> Vec<(usize, f32)> {
    let mut points = Vec::new();
    for (number, page) in laid.document.pages.iter().enumerate() {
        for item in page.items.iter().filter(|item| {
            let role = item.element.map(|at| laid.document.structure[at].role);
            matches!(role, Some(Role::Cell | Role::Struck))
        }) {
            let Mark::Glyphs(run) = &item.mark else {
                continue;
            };
            let mut x = run.x;
            for glyph in &*run.glyphs {
                if &*glyph.text == "." {
                    points.push((number, x));
                }
                x += glyph.advance * run.size / 1000.0;
            }
        }
    }
    points
}

#[test]
fn decimal_points_stand_one_below_the_other() {
    let laid = laid(
        "| a |\n|--:|\n| 1.5 |\n| −123.25 |\n| (0.125 ± 12.5) |\n| 7.1 ± 0.05 g |\n| ~~99.9~~ |\n| – |\n",
    );
    let structure = laid.document.structure.iter();
    let struck = structure.filter(|element| element.role == Role::Struck);
    assert_eq!(struck.count(), 1, "a struck number is one");
    let points = points(&laid);
    assert_eq!(points.len(), 7);
    let mut apart: Vec<f32> = points.iter().map(|(_, x)| *x).collect();
    apart.sort_by(f32::total_cmp);
    apart.dedup_by(|a, b| (*a - *b).abs() < 0.01);
    assert_eq!(
        apart.len(),
        2,
        "one for the values, one for the uncertainties: {apart:?}"
    );
}

#[test]
fn a_share_has_a_bar_of_its_size_beside_it() {
    let rows = "| a | [60.0](share:600) |\n| b | [30.0](share:300) |\n| c | [< 0.1](share:0) |\n";
    let laid = laid(&format!("| Input | Share |\n|:--|--:|\n{rows}"));
    let items = &laid.document.pages[0].items;
    let mut lengths = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let Mark::Shape(shape) = &item.mark else {
            continue;
        };
        let (Some(_), [Step::Move(left, _), Step::Line(right, _), ..]) =
            (shape.fill, &*shape.steps)
        else {
            continue;
        };
        assert_eq!(item.element, None, "the number says it all");
        lengths.push(right - left);
        let Mark::Glyphs(number) = &items[at - 1].mark else {
            panic!("no number before the bar");
        };
        assert!(
            end(number) + 2.0 < *left && *right < 520.0,
            "{left} {right}"
        );
    }
    assert_eq!(lengths.len(), 3, "{lengths:?}");
    assert!(lengths[0] > 12.0 && lengths[2] == 0.0, "{lengths:?}");
    assert!((lengths[0] - 2.0 * lengths[1]).abs() < 0.01, "{lengths:?}");
}

#[test]
fn a_long_table_repeats_its_head_on_each_page() {
    let mut text = String::from("Table #t: Readings.\n\n| Reading | Mass / g |\n|:--|--:|\n");
    for row in 0..200 {
        let _ = writeln!(text, "| r{row} | {row}.25 |");
    }
    let laid = laid(&text);
    assert!(laid.document.pages.len() >= 4);
    for (index, page) in laid.document.pages.iter().enumerate() {
        let said: Vec<String> = runs(&page.items).map(text_of).collect();
        assert!(said.iter().any(|text| text == "Reading"), "page {index}");
        assert_eq!(
            said.iter().any(|text| text.contains("continued")),
            index > 0,
            "page {index}"
        );
    }
    let body = squeezed(&tagged_text(&laid.document.pages));
    let mut at = 0;
    for row in 0..200 {
        let found = body[at..].find(&format!("r{row}{row}.25"));
        at += found.unwrap_or_else(|| panic!("row {row}"));
    }
    assert_eq!(
        body.matches("Mass").count(),
        1,
        "repeated heads are furniture"
    );
    assert_on_page(&laid);
}

#[test]
fn a_table_at_the_foot_of_a_page_is_ruled_once() {
    let table =
        "Table #t: Readings.\n\n| Reading | Mass / g |\n|:--|--:|\n| r0 | 1.25 |\n| r1 | 2.25 |\n";
    let lines = |count| "Words.\n\n".repeat(count);
    for before in 20..60 {
        let laid = laid(&format!("{}\n{table}\n{}", lines(before), lines(60)));
        for page in &laid.document.pages {
            let heights = page.items.iter().filter_map(|item| match &item.mark {
                Mark::Shape(shape) if shape.stroke.is_some() => match shape.steps[0] {
                    Step::Move(_, y) => Some(y),
                    _ => None,
                },
                _ => None,
            });
            let mut heights: Vec<f32> = heights.collect();
            heights.sort_by(f32::total_cmp);
            assert!(
                heights.windows(2).all(|pair| pair[1] - pair[0] > 3.0),
                "{before}: {heights:?}"
            );
        }
    }
}

#[test]
fn what_is_too_wide_or_too_tall_is_never_cut() {
    let mut numbers = Numbers(3);
    let long = "w".repeat(700);
    let cells = |numbers: &mut Numbers, count: usize, words: usize| -> Vec<Vec<Inline>> {
        (0..count)
            .map(|_| vec![Inline::Text(numbers.text(words))])
            .collect()
    };
    let table = |columns: usize, head, rows| {
        Block::Table(Table {
            caption: vec![Inline::Text("Wide".to_owned())],
            label: None,
            number: Some("1".to_owned()),
            columns: vec![Align::Decimal; columns],
            head,
            rows,
        })
    };
    let blocks = vec![
        Block::Paragraph(vec![
            Inline::Text(long.clone()),
            Inline::Math(Arc::new(
                tex::read(&("a + ".repeat(300) + "b"), &Handles::default()).unwrap(),
            )),
        ]),
        Block::Listing(format!("{long}\n\tb: {long}")),
        table(
            30,
            cells(&mut numbers, 30, 2),
            vec![cells(&mut numbers, 30, 3); 3],
        ),
        table(
            2,
            cells(&mut numbers, 2, 2),
            vec![cells(&mut numbers, 2, 4_000)],
        ),
        table(
            3,
            cells(&mut numbers, 3, 1),
            vec![cells(&mut numbers, 1, 2), cells(&mut numbers, 5, 2)],
        ),
        Block::Panel(vec![Block::Paragraph(vec![Inline::Text(
            numbers.text(3_000),
        )])]),
    ];
    assert_on_page(&lay(blocks));
}

#[test]
fn a_heading_never_ends_a_page() {
    let mut numbers = Numbers(4);
    for _ in 0..20 {
        let mut text = String::new();
        for _ in 0..30 {
            let words = 10 + numbers.below(150);
            let _ = write!(text, "## Heading\n\n{}\n\n", numbers.text(words));
        }
        let laid = laid(&text);
        for page in &laid.document.pages {
            let last = page.items.iter().rev().find_map(|item| item.element);
            let role = last.map(|element| laid.document.structure[element].role);
            assert_eq!(role, Some(Role::Paragraph));
        }
    }
}

#[test]
fn a_long_running_head_is_cut_between_words_and_stays_legible() {
    let title = "Strength of the brines of one season by density ".repeat(6);
    let manuscript = Manuscript {
        title: title.clone(),
        running_head: title.clone(),
        date: time::Date::from_ordinal_date(2026, 63).ok(),
        blocks: markdown::read(
            "a\n\n---\n\nb",
            "test.md",
            &BTreeMap::new(),
            &[],
            &Handles::default(),
        )
        .unwrap(),
        ..Manuscript::default()
    };
    let style = Style::default();
    let laid = set(manuscript, &Typefaces::load(), &style).unwrap();
    let second: Vec<&GlyphRun> = runs(&laid.document.pages[1].items).collect();
    let head: Vec<&&GlyphRun> = second
        .iter()
        .filter(|run| run.y < style.top_margin)
        .collect();
    let text: String = head.iter().map(|run| text_of(run)).collect();
    let (kept, _) = text.split_once('…').expect("a cut head");
    assert!(
        kept.len() > 40 && title.starts_with(&format!("{kept} ")),
        "{text}"
    );
    let size = |run: &&&GlyphRun| run.size;
    let (smallest, largest) = head
        .iter()
        .map(size)
        .fold((f32::MAX, 0.0_f32), |(a, b), size| {
            (a.min(size), b.max(size))
        });
    assert!(smallest > 0.84 * largest && smallest > 6.0, "{smallest}");
}

#[test]
fn a_stroke_ends_with_what_it_strikes() {
    let laid = laid("~~a bubble~~ here");
    let items = &laid.document.pages[0].items;
    let struck: Vec<f32> = items
        .iter()
        .filter(|item| item.element.is_none())
        .filter_map(|item| match &item.mark {
            Mark::Shape(shape) => shape.steps.iter().find_map(|step| match step {
                Step::Line(x, _) => Some(*x),
                _ => None,
            }),
            Mark::Glyphs(_) | Mark::Picture(_) => None,
        })
        .collect();
    let here = runs(items)
        .find(|run| text_of(run).contains("here"))
        .expect("the words");
    let text = text_of(here);
    let before = text.find(" here").expect("a blank before it");
    let end = here.x
        + here.glyphs[..before]
            .iter()
            .map(|glyph| glyph.advance)
            .sum::<f32>()
            * here.size
            / 1000.0;
    assert!(
        struck.iter().any(|x| (x - end).abs() < 0.1),
        "{struck:?}, not {end} in {text}"
    );
}

#[test]
fn references_lead_to_what_they_name() {
    let laid = laid(
        "See [](#t), [](#s) and [](#a).\n\n---\n\n# Two {#s}\n\nTable #t: C.\n\n| a |\n|--|\n| b |\n\n# App {.appendix #a}\n",
    );
    let links: Vec<(&str, usize)> = laid.document.pages[0]
        .links
        .iter()
        .map(|link| (link.description.as_str(), link.page))
        .collect();
    assert_eq!(
        links,
        [
            ("Table\u{a0}1", 1),
            ("Section\u{a0}1", 1),
            ("Appendix\u{a0}A", 1)
        ]
    );
    let heights: Vec<f32> = laid.document.pages[0]
        .links
        .iter()
        .map(|link| link.y)
        .collect();
    let [table, section, appendix] = heights[..] else {
        panic!("{heights:?}")
    };
    assert!(section < table && table < appendix, "{heights:?}");
    let titles: Vec<&str> = laid
        .document
        .outline
        .iter()
        .map(|entry| entry.title.as_str())
        .collect();
    assert_eq!(titles, ["1 Two", "A App"]);
    let unknown = Manuscript {
        blocks: vec![Block::Paragraph(vec![Inline::Reference("x".to_owned())])],
        ..Manuscript::default()
    };
    let failure = set(unknown, &Typefaces::load(), &Style::default());
    assert!(
        matches!(failure, Err(LayoutError::Said(ManuscriptError::UnknownLabel(label))) if label == "x")
    );
}

#[test]
fn an_unknown_character_is_told_and_shown() {
    let laid = laid("a 漢 b and $x_{\\text{漢}}$\n");
    assert_eq!(laid.warnings.len(), 1);
    assert_eq!(laid.warnings[0].read.as_deref(), Some("漢"));
    let said = tagged_text(&laid.document.pages);
    // It is shown as missing, and found by a search; in a formula, where the face has no sign for that, it is `?`.
    assert!(said.ends_with("a 漢 b and x?"), "{said}");
}
