//! Pages of the samples on any paper: none but the last ends in its upper two thirds, a summary is one page, and
//! paragraphs have no ragged line.

use std::collections::BTreeMap;

use fillmark::bench::revision::Record;
use fillmark::cli::other_formats::{Form, forms};
use fillmark::print::layout::{Style, set};
use fillmark::print::manuscript::Manuscript;
use fillmark::print::page::{Document, Glyph, GlyphRun, Mark, Page, Role, Step};
use fillmark::print::typeface::Typefaces;
use fillmark::report::manuscript;
use fillmark::report::templates::{SHIPPED, Templates};

use crate::common::{read, reduced, sample_runs};

/// The lowest point of what stands above the foot of a page.
fn lowest(page: &Page, bottom: f32) -> f32 {
    let heights = page.items.iter().flat_map(|item| match &item.mark {
        Mark::Glyphs(run) => vec![run.y],
        Mark::Picture(picture) => vec![picture.y + picture.height],
        Mark::Shape(shape) => {
            let points = shape.steps.iter().filter_map(|step| match step {
                Step::Move(_, y) | Step::Line(_, y) => Some(*y),
                _ => None,
            });
            points.collect()
        }
    });
    heights.filter(|y| *y <= bottom).fold(0.0, f32::max)
}

/// The lines of each paragraph of running text, in order: where each ends, and what it says.
fn paragraphs(document: &Document, style: &Style) -> Vec<Vec<(f32, String)>> {
    let mut runs: BTreeMap<usize, Vec<(usize, &GlyphRun)>> = BTreeMap::new();
    for (number, page) in document.pages.iter().enumerate() {
        for item in &page.items {
            let (Mark::Glyphs(run), Some(mut at)) = (&item.mark, item.element) else {
                continue;
            };
            while let (Role::Link | Role::Span | Role::Struck | Role::Formula, Some(parent)) =
                (document.structure[at].role, document.structure[at].parent)
            {
                at = parent;
            }
            if document.structure[at].role != Role::Paragraph {
                continue;
            }
            runs.entry(at).or_default().push((number, run));
        }
    }
    let lines = |runs: Vec<(usize, &GlyphRun)>| {
        let mut lines: Vec<(usize, f32, f32, String)> = Vec::new();
        for (page, run) in &runs {
            let begun =
                |line: &(usize, f32, f32, String)| line.0 == *page && (line.1 - run.y).abs() < 1.0;
            if (run.size - style.text_size).abs() < 0.01 && !lines.iter().any(begun) {
                lines.push((*page, run.y, 0.0, String::new()));
            }
        }
        for (page, run) in runs {
            // Indices and powers belong to the nearest line.
            let on_page = lines.iter_mut().filter(|line| line.0 == page);
            let nearest = on_page
                .min_by(|one, other| (one.1 - run.y).abs().total_cmp(&(other.1 - run.y).abs()));
            let Some(line) = nearest else {
                continue;
            };
            let ink = |glyph: &Glyph| !glyph.text.trim().is_empty();
            let inked = run.glyphs.iter().rposition(ink).map_or(0, |last| last + 1);
            let inked = &run.glyphs[..inked];
            let width: f32 = inked.iter().map(|glyph| glyph.advance).sum();
            line.2 = line.2.max(run.x + width * run.size / 1000.0);
            line.3.extend(run.glyphs.iter().map(|glyph| &*glyph.text));
        }
        lines.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        lines
            .into_iter()
            .map(|(.., end, said)| (end, said))
            .collect()
    };
    runs.into_values().map(lines).collect()
}

/// Every set of every sample, and the comparison of the class.
fn all() -> Vec<(String, Manuscript)> {
    let mut all = vec![("comparison".to_owned(), crate::comparing::manuscript())];
    for file in sample_runs() {
        let text = read(&file);
        let run = reduced(&text);
        for each in SHIPPED {
            let templates = Templates::shipped(each.name).expect("the set");
            let made = manuscript(&run.material(&text), &templates).expect("a manuscript");
            all.push((format!("{}, {}", file.display(), each.name), made));
        }
    }
    all
}

#[test]
fn pages_of_samples_are_full_and_their_lines_too() {
    let faces = Typefaces::load();
    let letter = crate::house_style::good_style("paper: Letter");
    let (mut lines, mut ragged) = (0, 0);
    for (name, manuscript) in all() {
        for style in [&Style::default(), &letter] {
            let name = format!("{name}, {} pt wide", style.page.0);
            let laid = set(manuscript.clone(), &faces, style).expect("can be set");
            let right = style.left_margin + style.measure();
            for said in paragraphs(&laid.document, style) {
                let [full @ .., _] = said.as_slice() else {
                    continue;
                };
                let widest = full.iter().fold(0.0, |most: f32, line| most.max(line.0));
                let reach = full.iter().filter(|line| widest - line.0 < 0.1).count();
                let straight = reach > 1 || (widest - right).abs() < 0.1;
                if !straight && reach < full.len() {
                    ragged += 1;
                    continue;
                }
                assert!(reach == full.len(), "{name}: {full:#?}");
                lines += full.len();
            }
            let bottom = style.page.1 - style.bottom_margin;
            let least = style.top_margin + 2.0 / 3.0 * style.text_height();
            let pages = &laid.document.pages;
            let items = pages.iter().flat_map(|page| &page.items);
            let cut = items.filter_map(|item| match &item.mark {
                Mark::Glyphs(run) => run.glyphs.iter().find(|glyph| glyph.text.contains('…')),
                _ => None,
            });
            assert_eq!(cut.count(), 0, "{name}: texts cut, as there is no room");
            if name.contains("summary") {
                assert_eq!(pages.len(), 1, "{name}");
            }
            for (number, page) in (1..pages.len()).zip(pages) {
                let lowest = lowest(page, bottom);
                assert!(
                    lowest >= least,
                    "{name}: page {number} ends at {lowest} of {bottom}"
                );
            }
        }
    }
    assert!(lines > 400, "only {lines} lines are to be full");
    // Of long values, which are not divided.
    assert!(ragged < 8, "{ragged} paragraphs are ragged");
}

/// Whether some element is a panel or stands in one.
fn in_panel(document: &Document, element: usize) -> bool {
    let mut at = Some(element);
    while let Some(element) = at {
        let Some(element) = document.structure.get(element) else {
            return false;
        };
        if element.role == Role::Panel {
            return true;
        }
        at = element.parent;
    }
    false
}

#[test]
fn page_one_holds_the_whole_answer() {
    let faces = Typefaces::load();
    let letter = crate::house_style::good_style("paper: Letter");
    let sample = read(&crate::common::path("sample_runs/creamery_brine_bath.yaml"));
    let earlier = sample.replacen("filled: 39.664 g", "filled: 39.646 g", 1);
    let mut reissued = reduced(&sample);
    let changes = reissued.changes_since(&reduced(&earlier));
    reissued.record = Record::default().with(changes);
    let without_unknown = |text: &str| {
        let (made, weighed) = text
            .split_once("    bath:\n")
            .expect("the unknown's weighings");
        assert!(!weighed.is_empty());
        made.replacen("  bath: {unknown: true}\n", "", 1)
    };
    let thirty = crate::runs::run(29, 1);
    let (all_known, one) = (
        without_unknown(&thirty),
        without_unknown(&crate::runs::run(0, 1)),
    );
    let runs = vec![
        ("an old issue", reissued, sample),
        ("thirty and an unknown", reduced(&thirty), thirty.clone()),
        ("thirty", reduced(&all_known), all_known.clone()),
        ("one", reduced(&one), one.clone()),
    ];
    for (name, run, text) in runs {
        let made = manuscript(&run.material(&text), &Templates::default()).expect("a manuscript");
        for style in [&Style::default(), &letter] {
            let laid = set(made.clone(), &faces, style)
                .expect("can be set")
                .document;
            let panels = |page: &Page| {
                let elements = page.items.iter().filter_map(|item| item.element);
                elements.filter(|of| in_panel(&laid, *of)).count()
            };
            let on: Vec<usize> = laid.pages.iter().map(panels).collect();
            assert!(on[0] > 0, "{name}: no answer on page 1");
            assert!(on[1] == 0, "{name}: the answer goes on on page 2");
        }
    }
}

#[test]
fn page_one_names_a_few_of_many_departures() {
    // At another temperature than the densities were made up for.
    let warm = crate::runs::run(29, 1).replace("20.4 °C", "35.0 °C");
    let run = reduced(&warm);
    let manuscript = manuscript(&run.material(&warm), &Templates::default()).expect("a manuscript");
    let made = forms(
        &manuscript,
        &Style::default(),
        "run".as_ref(),
        "",
        &[Form::Markdown],
    );
    let (_, markdown) = &made.expect("a text")[0];
    let said = markdown
        .lines()
        .find(|line| line.contains("Published values:"));
    let said = said.expect("published values");
    let named = said.matches("ₙ").count();
    assert!(named == 5 && said.contains(" more"), "{said}");
}
