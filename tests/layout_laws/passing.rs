//! Text that passes tables for which a page has no room.

use std::fmt::Write;

use fillmark::print::layout::{Laid, Style};
use fillmark::print::page::{Mark, Role};

use super::{laid, text_of};

/// A table of eight rows.
fn table(name: &str) -> String {
    let mut text = format!("Table #{name}: The {name}.\n\n| Reading | Mass / g |\n|:--|--:|\n");
    for row in 0..8 {
        let _ = writeln!(text, "| {name} {row} | {row}.25 |");
    }
    text + "\n"
}

/// The beginnings of elements of some roles, in reading order.
fn begin(laid: &Laid, roles: &[Role]) -> Vec<String> {
    let mut found: Vec<(usize, String)> = Vec::new();
    for item in laid.document.pages.iter().flat_map(|page| &page.items) {
        let (Some(element), Mark::Glyphs(run)) = (item.element, &item.mark) else {
            continue;
        };
        let known = found.iter().any(|(known, _)| *known == element);
        if !known && roles.contains(&laid.document.structure[element].role) {
            found.push((element, text_of(run)));
        }
    }
    let painted: Vec<usize> = found.iter().map(|(element, _)| *element).collect();
    assert!(painted.is_sorted(), "painted in another order");
    found.into_iter().map(|(_, text)| text).collect()
}

/// Lowest baseline of the text of a page.
fn lowest(laid: &Laid, page: usize) -> f32 {
    let items = laid.document.pages[page].items.iter();
    items
        .filter(|item| item.element.is_some())
        .filter_map(|item| match &item.mark {
            Mark::Glyphs(run) => Some(run.y),
            _ => None,
        })
        .fold(0.0, f32::max)
}

/// Paragraphs of two lines.
fn lines(name: &str, count: usize) -> String {
    let mut text = String::new();
    for at in 0..count {
        let rest =
            "of words that fill more than one line of the page, and go on for a while after it";
        let _ = writeln!(text, "{name} {at} {rest}, to two.\n");
    }
    text
}

/// Where, in reading order, captions, headings and paragraphs begin with a text.
fn place(laid: &Laid, beginning: &str) -> usize {
    let said = begin(laid, &[Role::Paragraph, Role::Caption, Role::Heading(2)]);
    let at = said.iter().position(|text| text.starts_with(beginning));
    at.unwrap_or_else(|| panic!("no {beginning} in {said:?}"))
}

#[test]
fn text_passes_tables_that_it_refers_to_and_leaves_no_void() {
    let style = Style::default();
    let bottom = style.page.1 - style.bottom_margin;
    let mut passed = 0;
    for before in 8..36 {
        let laid = laid(&format!(
            "[](#first) and [](#second).\n\n{}{}{}{}# Two\n\n{}",
            lines("above", before),
            table("first"),
            table("second"),
            lines("below", 25),
            lines("last", 40),
        ));
        for page in 0..laid.document.pages.len() - 1 {
            let left = bottom - lowest(&laid, page);
            assert!(
                left < 4.0 * style.leading,
                "{before}: {left} on page {page}"
            );
        }
        let [first, second] = [1, 2].map(|table| place(&laid, &format!("Table\u{a0}{table}")));
        assert!(place(&laid, "above") < first && first < second, "{before}");
        assert!(second < place(&laid, "1\u{2003}Two"), "{before}");
        passed += usize::from(place(&laid, "below 0") < first);
    }
    assert!(passed > 2, "text passes the first table {passed} times");
}

#[test]
fn text_passes_nothing_that_it_does_not_refer_to_and_no_section_passes() {
    for (reference, sections) in [("", ""), ("[](#first).\n\n", "# Two\n\n")] {
        for before in 8..28 {
            let laid = laid(&format!(
                "{reference}{}{}{sections}{}",
                lines("above", before),
                table("first"),
                lines("below", 25),
            ));
            let first = place(&laid, "Table\u{a0}1");
            assert!(first < place(&laid, "below 0"), "{before}");
        }
    }
}
