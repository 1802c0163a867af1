//! No page of a sample but the last ends in its upper two thirds, on any paper.

use fillmark::print::layout::{Style, set};
use fillmark::print::page::{Mark, Page, Step};
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

#[test]
fn no_page_of_a_sample_but_the_last_ends_in_its_upper_two_thirds() {
    let faces = Typefaces::load();
    let letter = crate::house_style::good_style("paper: Letter");
    for file in sample_runs() {
        let text = read(&file);
        let run = reduced(&text);
        for each in SHIPPED {
            let templates = Templates::shipped(each.name).expect("the set");
            let manuscript = manuscript(&run.material(&text), &templates).expect("a manuscript");
            for style in [&Style::default(), &letter] {
                let laid = set(manuscript.clone(), &faces, style).expect("can be set");
                let bottom = style.page.1 - style.bottom_margin;
                let least = style.top_margin + 2.0 / 3.0 * style.text_height();
                let pages = &laid.document.pages;
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
}
