//! Pages of the samples on any paper: none but the last ends in its upper two thirds, a summary is one page, and
//! paragraphs have no ragged line.

use std::collections::BTreeMap;

use fillmark::print::layout::{Style, set};
use fillmark::print::page::{Document, Glyph, Mark, Page, Role, Step};
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

/// The right ends of the lines of each paragraph of running text, in order.
fn paragraphs(document: &Document, style: &Style) -> BTreeMap<usize, Vec<f32>> {
    // Page, baseline, right end and size of each run.
    let mut runs: BTreeMap<usize, Vec<(usize, f32, f32, f32)>> = BTreeMap::new();
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
            let ink = |glyph: &Glyph| !glyph.text.trim().is_empty();
            let inked = run.glyphs.iter().rposition(ink).map_or(0, |last| last + 1);
            let width: f32 = run.glyphs[..inked].iter().map(|glyph| glyph.advance).sum();
            let end = run.x + width * run.size / 1000.0;
            runs.entry(at).or_default().push((number, run.y, end, run.size));
        }
    }
    let lines = |runs: Vec<(usize, f32, f32, f32)>| {
        let full = |run: &&(usize, f32, f32, f32)| (run.3 - style.text_size).abs() < 0.01;
        let mut lines: Vec<(usize, f32, f32)> = Vec::new();
        for (page, y, ..) in runs.iter().filter(full) {
            if !lines.iter().any(|line| line.0 == *page && (line.1 - y).abs() < 1.0) {
                lines.push((*page, *y, 0.0));
            }
        }
        // Indices and powers belong to the nearest line.
        for (page, y, end, _) in runs {
            let on_page = lines.iter_mut().filter(|line| line.0 == page);
            let nearest = on_page.min_by(|one, other| {
                (one.1 - y).abs().total_cmp(&(other.1 - y).abs())
            });
            if let Some(line) = nearest {
                line.2 = line.2.max(end);
            }
        }
        lines.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        lines.into_iter().map(|line| line.2).collect()
    };
    runs.into_iter().map(|(at, runs)| (at, lines(runs))).collect()
}

#[test]
fn pages_of_samples_are_full_and_their_lines_too() {
    let faces = Typefaces::load();
    let letter = crate::house_style::good_style("paper: Letter");
    let mut lines = 0;
    for file in sample_runs() {
        let text = read(&file);
        let run = reduced(&text);
        for each in SHIPPED {
            let templates = Templates::shipped(each.name).expect("the set");
            let manuscript = manuscript(&run.material(&text), &templates).expect("a manuscript");
            for style in [&Style::default(), &letter] {
                let laid = set(manuscript.clone(), &faces, style).expect("can be set");
                for (_, ends) in paragraphs(&laid.document, style) {
                    let [full @ .., _] = ends.as_slice() else {
                        continue;
                    };
                    let widest = full.iter().copied().fold(0.0, f32::max);
                    let ragged = full.iter().any(|end| widest - end > 0.5);
                    assert!(!ragged, "{}, {}: {full:?}", file.display(), each.name);
                    lines += full.len();
                }
                let bottom = style.page.1 - style.bottom_margin;
                let least = style.top_margin + 2.0 / 3.0 * style.text_height();
                let pages = &laid.document.pages;
                if each.name == "summary" {
                    assert_eq!(pages.len(), 1, "{}, {} pt wide", file.display(), style.page.0);
                }
                for (number, page) in (1..pages.len()).zip(pages) {
                    let lowest = lowest(page, bottom);
                    assert!(
                        lowest >= least,
                        "{}, {}, {} pt wide: page {number} ends at {lowest} of {bottom}",
                        file.display(),
                        each.name,
                        style.page.0
                    );
                }
            }
        }
    }
    assert!(lines > 1000, "only {lines} lines are to be full");
}
