//! What is parted, numbered and kept together.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::{assert_on_page, end, laid, points, runs, squeezed, tagged_text, text_of};
use fillmark::print::layout::{Laid, Style, set};
use fillmark::print::manuscript::Manuscript;
use fillmark::print::page::{GlyphRun, Item, Mark, Page, Role};
use fillmark::print::typeface::Typefaces;

/// Pages and baselines.
type Places = Vec<(usize, f32)>;

/// What stands in the elements of a role, each with its page and its baselines.
fn said_in(laid: &Laid, role: Role) -> Vec<(String, Places)> {
    let mut said: Vec<(usize, String, Places)> = Vec::new();
    for (number, page) in laid.document.pages.iter().enumerate() {
        for item in &page.items {
            let (Some(element), Mark::Glyphs(run)) = (item.element, &item.mark) else {
                continue;
            };
            if laid.document.structure[element].role != role {
                continue;
            }
            match said.last_mut() {
                Some((last, text, places)) if *last == element => {
                    text.push_str(&text_of(run));
                    places.push((number, run.y));
                }
                _ => said.push((element, text_of(run), vec![(number, run.y)])),
            }
        }
    }
    said.into_iter()
        .map(|(_, text, mut places)| {
            places.dedup();
            (text, places)
        })
        .collect()
}

fn count(laid: &Laid, role: Role) -> usize {
    let structure = laid.document.structure.iter();
    structure.filter(|element| element.role == role).count()
}

#[test]
fn columns_without_room_make_further_tables_and_no_number_is_torn() {
    let columns = 14;
    let mut text = String::from("See [](#w).\n\nTable #w: Wide.\n\n| Name |");
    for column in 1..columns {
        let _ = write!(text, " q{column} / (g/mL) |");
    }
    let _ = writeln!(text, "\n|:--|{}", "--:|".repeat(columns - 1));
    for row in 0..40 {
        let _ = write!(text, "| row {row} |");
        for column in 1..columns {
            let _ = write!(text, " {row}.{column:04} ± 0.{column:04} |");
        }
        text.push('\n');
    }
    let laid = laid(&text);
    assert_on_page(&laid);
    let cells = said_in(&laid, Role::Cell);
    for (said, places) in &cells {
        assert_eq!(places.len(), 1, "{said} stands on several lines");
    }
    for column in 1..columns {
        let number = format!("7.{column:04}\u{a0}±\u{a0}0.{column:04}");
        let found = cells.iter().filter(|(said, _)| said.trim() == number);
        assert_eq!(found.count(), 1, "{number}");
    }
    let tables = count(&laid, Role::Table);
    assert!(tables > 1, "{tables}");
    assert_eq!(count(&laid, Role::Row), 41 * tables);
    let heads = said_in(&laid, Role::RowHead);
    let names = heads.iter().filter(|(said, _)| said.trim() == "row 7");
    assert_eq!(names.count(), tables, "each part names its rows");
    let captions: Vec<String> = said_in(&laid, Role::Caption)
        .into_iter()
        .map(|(said, _)| said.replace('\u{a0}', " ").trim().to_owned())
        .collect();
    assert_eq!(captions[0], "Table 1. Wide.");
    assert!(
        captions[1..]
            .iter()
            .all(|said| said == "Table 1, further columns."),
        "{captions:?}"
    );
    assert_eq!(captions.len(), tables);
    assert_eq!(laid.document.pages[0].links.len(), 1);
}

#[test]
fn a_number_wider_than_its_column_is_set_smaller() {
    let digits = "1234567890".repeat(30);
    let laid = laid(&format!(
        "| a | b |\n|:--|--:|\n| x | 0.{digits} |\n| y | 0.5 |\n"
    ));
    assert_on_page(&laid);
    let cells = said_in(&laid, Role::Cell);
    assert!(
        cells.iter().all(|(_, places)| places.len() == 1),
        "{cells:?}"
    );
    let points: Vec<f32> = points(&laid).into_iter().map(|(_, x)| x).collect();
    assert!((points[0] - points[1]).abs() < 0.01, "{points:?}");
}

#[test]
fn what_leads_on_is_not_left_behind() {
    for (lead, after) in [
        ("**Flags.**", "a sentence"),
        ("**Flags.**", "1. one\n2. two"),
        ("What was seen", "- one\n- two"),
        ("What was seen", "| a | b |\n|:--|:--|\n| c | d |"),
    ] {
        for lines in 30..60 {
            let before = "A line.\n\n".repeat(lines);
            let laid = laid(&format!("{before}{lead}\n\n{after}\n"));
            for page in &laid.document.pages {
                let last = page.items.iter().rev().find(|item| item.element.is_some());
                let Some(Mark::Glyphs(run)) = last.map(|item| &item.mark) else {
                    continue;
                };
                let said = text_of(run);
                let lead = lead.trim_matches('*');
                assert!(
                    !lead.ends_with(said.trim()),
                    "{said} ends a page, {lines} lines"
                );
            }
        }
    }
}

/// Runs of formulas.
fn maths(laid: &Laid) -> Vec<&GlyphRun> {
    let is_formula = |item: &&Item| {
        let element = item.element.map(|id| laid.document.structure[id].role);
        element == Some(Role::Formula)
    };
    let items = laid.document.pages.iter().flat_map(|page| &page.items);
    let of_formulas = items.filter(is_formula);
    of_formulas
        .filter_map(|item| match &item.mark {
            Mark::Glyphs(run) => Some(run),
            Mark::Shape(_) | Mark::Picture(_) => None,
        })
        .collect()
}

#[test]
fn a_row_without_breaks_is_divided_before_it_is_set_smaller() {
    let style = Style::default();
    let sum = |count: usize| {
        let terms = (0..count).map(|k| format!("{}.25 m_a \\left( 1 + t \\right)", k + 10));
        terms.collect::<Vec<_>>().join(" + ")
    };
    for row in [
        format!("x &= {}", sum(12)),
        format!("x &= {} = {}", sum(3), sum(3)),
        format!("x = {}", sum(12)),
    ] {
        let laid = laid(&format!("$$\n{row}\n$$\n"));
        let mut baselines: Vec<f32> = Vec::new();
        for run in maths(&laid) {
            assert!(end(run) <= style.left_margin + style.measure() + 0.1);
            if text_of(run).contains(".25") {
                assert!(
                    (run.size - style.text_size).abs() < 0.01,
                    "{row}: {}",
                    run.size
                );
                baselines.push(run.y);
            }
        }
        baselines.dedup();
        assert!(baselines.len() > 1, "{row}: {baselines:?}");
        assert!(
            (maths(&laid)[0].y - baselines[0]).abs() < 0.01,
            "{row}: x stands alone"
        );
    }
}

#[test]
fn formulas_are_numbered_at_the_margin_and_referred_to() {
    let style = Style::default();
    let right = style.left_margin + style.measure();
    for terms in 1..60 {
        let sum = "a + ".repeat(terms);
        let laid = laid(&format!(
            "$$ \\rho &= \\frac{{m}}{{V}} \\\\ &= 1.2 $$ {{ #rho }}\n\n$$ {sum} b $$\n\nBy [](#rho), or [()](#rho).\n"
        ));
        let page = &laid.document.pages[0];
        let number = |text: &str| {
            let found = runs(&page.items).find(|run| text_of(run).trim() == text);
            found.unwrap_or_else(|| panic!("no {text}"))
        };
        let maths = maths(&laid);
        let value = maths.iter().rfind(|run| text_of(run).contains("1.2"));
        let value = value.expect("the last row");
        for text in ["(1)", "(2)"] {
            let number = number(text);
            assert!((end(number) - right).abs() < 0.05, "{}", end(number));
            let beside = maths.iter().filter(|run| (run.y - number.y).abs() < 5.0);
            for run in beside {
                assert!(
                    end(run) + 10.0 < number.x,
                    "{terms}: {} runs into {text}",
                    text_of(run)
                );
            }
        }
        assert!(
            (number("(1)").y - value.y).abs() < 0.01,
            "on the last baseline"
        );
        let said: Vec<&str> = page.links.iter().map(|link| &*link.description).collect();
        assert_eq!(said, ["equation\u{a0}(1)", "equation\u{a0}(1)"]);
        let text = squeezed(&tagged_text(&laid.document.pages));
        assert!(text.ends_with("Byequation(1),or(1)."), "{text}");
    }
}

/// Sections with so many paragraphs each.
fn sections(count: usize, paragraphs: usize) -> String {
    let mut text = String::from("# Glance {.unnumbered}\n\nIn short.\n\n---\n\n![](contents)\n\n");
    for section in 0..count {
        let _ = write!(text, "# Section the {section}th of $\\rho$\n\n## Part\n\n");
        for _ in 0..paragraphs {
            text.push_str("Some words that stand in a line, and some more that end it.\n\n");
        }
    }
    text.push_str("# Sums {.appendix}\n\nSums.\n");
    text
}

#[test]
fn a_list_of_contents_tells_where_sections_begin() {
    for (count, paragraphs) in [(3, 180), (17, 37), (90, 20)] {
        let laid = laid(&sections(count, paragraphs));
        assert_on_page(&laid);
        let document = &laid.document;
        let begin: Vec<(String, usize)> = document
            .outline
            .iter()
            .filter(|entry| entry.level == 1)
            .skip(1)
            .map(|entry| {
                (
                    entry.title.split(' ').next().unwrap_or("").to_owned(),
                    entry.page,
                )
            })
            .collect();
        let links: Vec<_> = document.pages.iter().flat_map(|page| &page.links).collect();
        assert_eq!(links.len(), count + 1);
        for ((number, page), link) in begin.iter().zip(&links) {
            assert_eq!(link.page, *page, "{number}");
            let (said, told) = link.description.rsplit_once(", page ").expect("a page");
            assert!(said.starts_with(&format!("{number} ")), "{said}");
            assert_eq!(told, (page + 1).to_string());
            // The link says in the text what it says of itself.
            let element = link.element;
            let pages = document.pages.iter();
            let own: String = pages
                .flat_map(|page| &page.items)
                .filter(|item| item.element == Some(element))
                .filter_map(|item| match &item.mark {
                    Mark::Glyphs(run) => Some(text_of(run)),
                    _ => None,
                })
                .collect();
            assert!(own.starts_with(&format!("{number} ")), "{own}");
            assert!(own.ends_with(&format!(" {}", page + 1)), "{own}");
            let parents = [Role::Reference, Role::ContentsItem, Role::Contents];
            let mut at = element;
            for role in parents {
                at = document.structure[at].parent.expect("a parent");
                assert_eq!(document.structure[at].role, role);
            }
        }
    }
}

#[test]
fn a_short_document_has_no_list_of_contents() {
    let with = laid(&sections(3, 25));
    let without = laid(&sections(3, 25).replace("![](contents)", ""));
    assert!(with.document.pages.len() > 2);
    assert_eq!(with, without);
}

/// The pages on which texts of cells stand that begin so, each once.
fn pages_of(laid: &Laid, beginning: &str) -> Vec<usize> {
    let pages = laid.document.pages.iter().enumerate();
    let has = |page: &Page| runs(&page.items).any(|run| text_of(run).starts_with(beginning));
    pages
        .filter(|(_, page)| has(page))
        .map(|(at, _)| at)
        .collect()
}

#[test]
fn short_tables_and_rows_about_one_thing_are_not_divided() {
    let rows = |name: &str, count: usize| format!("| {name} | 0.25 |\n").repeat(count);
    let head = "| Reading | Mass / g |\n|:--|--:|\n";
    let short = format!("{head}{}", rows("short", 8));
    let names = ["one", "two", "three", "four", "five", "six"];
    let long: String = names.iter().map(|name| rows(name, 3)).collect();
    // A name that stands once, beside the first of its rows.
    let once = |name: &&str| {
        format!(
            "| {name} | of {name} |\n{}",
            format!("| | of {name} |\n").repeat(2)
        )
    };
    let grouped: String = names.iter().map(once).collect();
    for before in 0..40 {
        let words = "Words.\n\n".repeat(before);
        let table = laid(&format!("{words}{short}"));
        assert_eq!(pages_of(&table, "short").len(), 1, "{before}");
        let table = laid(&format!("{words}{head}{long}"));
        for name in names {
            assert_eq!(pages_of(&table, name).len(), 1, "{name}, {before}");
        }
        let table = laid(&format!("{words}{head}{grouped}"));
        for name in names {
            let of = format!("of {name}");
            assert_eq!(pages_of(&table, &of).len(), 1, "{of}, {before}");
        }
    }
    // More room than a third of a page is not left blank.
    let eleven = format!("{head}{}", rows("short", 11));
    let tall = eleven.replace("short", "short $\\frac{\\frac{1}{2}}{\\frac{3}{4}}$");
    let divided = laid(&format!("{}{tall}", "Words.\n\n".repeat(20)));
    assert_eq!(pages_of(&divided, "short").len(), 2);
}

#[test]
fn the_lines_of_a_title_are_of_about_one_length() {
    for title in [
        "A stock, a dilution from it, and an unknown brine",
        "Saline solutions and their densities with simple ware",
        "Strength of the brines of one season by density, weighed in a vessel that was calibrated with water first",
    ] {
        let laid = laid(&format!("# {title} {{.unnumbered}}\n\nWords.\n"));
        let style = Style::default();
        let manuscript = Manuscript {
            title: title.to_owned(),
            ..Manuscript::default()
        };
        let titled = set(manuscript, &Typefaces::load(), &style).expect("can be set");
        for (laid, level) in [(titled, 1), (laid, 2)] {
            let mut lines: BTreeMap<i32, f32> = BTreeMap::new();
            for item in &laid.document.pages[0].items {
                let (Some(element), Mark::Glyphs(run)) = (item.element, &item.mark) else {
                    continue;
                };
                if laid.document.structure[element].role == Role::Heading(level) {
                    let reached = lines.entry(run.y as i32).or_default();
                    *reached = reached.max(end(run) - style.left_margin);
                }
            }
            let longest = lines.values().copied().fold(0.0, f32::max);
            let last = *lines.values().next_back().expect("a line");
            assert!(last > 0.6 * longest, "{title}: {lines:?}");
            assert!(level > 1 || lines.len() > 1, "{title}: {lines:?}");
        }
    }
}
