//! The comparer sees what it must: a page of a sample, doctored in one small thing at a time, against the page as it is
//! kept. And what is stored, missing or too much is told.

use std::sync::Arc;

use fillmark::print::layout::{self, Style};
use fillmark::print::page::{About, Colour, Document, Element, GlyphRun, Item, Mark, Page, Role};
use fillmark::print::pdf;
use fillmark::print::typeface::{Forms, Typefaces};
use fillmark::report::templates::Templates;
use image::RgbImage;

use super::comparer::{Difference, difference, side_by_side};
use super::picture::{kept, painted};
use super::{accept, strangers, unlike};
use crate::cli::{folder, names};
use crate::common::{path, read, reduced};

/// Points of a millimetre.
const MM: f32 = 72.0 / 25.4;

/// A page of tables, text, a heading and rules, as it is kept, and what paints it.
struct Sheet {
    page: Page,
    faces: Typefaces,
    kept: RgbImage,
}

impl Sheet {
    fn new() -> Self {
        let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
        let run = reduced(&text);
        let manuscript = fillmark::report::manuscript(&run.material(&text), &Templates::default());
        let manuscript = manuscript.expect("a manuscript");
        let faces = Typefaces::load();
        let laid = layout::set(manuscript, &faces, &Style::default());
        let pages = laid.expect("it can be set").document.pages;
        let shapes = |page: &Page| {
            page.items
                .iter()
                .filter(|item| glyphs(item).is_none())
                .count()
        };
        // More shapes than that are a plot, in which one may lie below another.
        let rich = |page: &Page| (7..=20).contains(&shapes(page)) && page.items.len() >= 120;
        let mut page = pages.into_iter().find(rich).expect("a page of tables");
        page.links.clear();
        for item in &mut page.items {
            item.element = None;
        }
        let kept = kept(&picture(&page, &faces));
        Self { page, faces, kept }
    }

    /// What is told of the page without the item, or with it changed.
    #[track_caller]
    fn told(&self, at: usize, change: impl Fn(&mut Mark) -> Stays) -> Option<Difference> {
        let mut page = self.page.clone();
        let Stays(stays) = change(&mut page.items[at].mark);
        if !stays {
            page.items.remove(at);
        }
        difference(&self.kept, &picture(&page, &self.faces))
    }

    /// The runs of glyphs, each with its place among the items, from the smallest type to the largest.
    fn runs(&self) -> Vec<(usize, &GlyphRun)> {
        let items = self.page.items.iter().enumerate();
        let mut runs: Vec<_> = items
            .filter_map(|(at, item)| Some((at, glyphs(item)?)))
            .collect();
        runs.retain(|(_, run)| run.glyphs.iter().any(|glyph| !glyph.text.trim().is_empty()));
        runs.sort_by(|(_, one), (_, other)| one.size.total_cmp(&other.size));
        runs
    }
}

/// Whether a mark stays on the page.
struct Stays(bool);

fn glyphs(item: &Item) -> Option<&GlyphRun> {
    match &item.mark {
        Mark::Glyphs(run) => Some(run),
        _ => None,
    }
}

#[track_caller]
fn picture(page: &Page, faces: &Typefaces) -> RgbImage {
    let document = Document {
        about: About::default(),
        pages: vec![page.clone()],
        structure: vec![Element {
            role: Role::Document,
            parent: None,
            alternative: None,
        }],
        outline: Vec::new(),
        attachments: Vec::new(),
    };
    let pages = painted(&pdf::write(document, faces).expect("a PDF file"));
    pages.into_iter().next().expect("a page")
}

#[test]
fn a_line_moved_by_a_tenth_of_a_millimetre_is_told_and_where_it_is() {
    let sheet = Sheet::new();
    let runs = sheet.runs();
    for (at, run) in [runs[0], runs[runs.len() / 2], runs[runs.len() - 1]] {
        let (x, y) = (run.x / MM, run.y / MM);
        for (across, down) in [(0.1 * MM, 0.0), (0.0, 0.1 * MM)] {
            let told = sheet.told(at, |mark| {
                if let Mark::Glyphs(run) = mark {
                    run.x += across;
                    run.y += down;
                }
                Stays(true)
            });
            let Some(Difference::Dots { within, .. }) = told else {
                panic!("{run:?} moved by {across}, {down}: {told:?}");
            };
            let [left, top, right, bottom] = within;
            // Within a dot and the height of the type.
            let high = run.size / MM;
            assert!(x - 1.0 < left && left < right, "{x}: {within:?}");
            assert!(y - high - 1.0 < top && bottom < y + high, "{y}: {within:?}");
        }
    }
    assert_eq!(
        sheet.told(runs[0].0, |_| Stays(true)),
        None,
        "nothing moved"
    );
}

#[test]
fn one_digit_in_the_smallest_type_is_told() {
    let sheet = Sheet::new();
    for (was, now) in [
        ("0", "8"),
        ("3", "8"),
        ("5", "6"),
        ("1", "7"),
        ("6", "8"),
        ("9", "8"),
    ] {
        let runs = sheet.runs();
        let mut found = runs.iter().filter_map(|(at, run)| {
            let place = run.glyphs.iter().position(|glyph| &*glyph.text == was)?;
            Some((*at, run.face, place))
        });
        let (at, face, place) = found.next().unwrap_or_else(|| panic!("no {was}"));
        let other = sheet.faces.shape(face, Forms::default(), now).glyphs;
        let told = sheet.told(at, |mark| {
            if let Mark::Glyphs(run) = mark {
                Arc::make_mut(&mut run.glyphs)[place].id = other[0].id;
            }
            Stays(true)
        });
        assert!(told.is_some(), "{was} for {now} is not seen");
    }
}

#[test]
fn another_ink_is_told() {
    let sheet = Sheet::new();
    let accent = Style::default().accent;
    let coloured = |mark: &Mark| matches!(mark, Mark::Glyphs(run) if run.colour == accent);
    let at = sheet
        .page
        .items
        .iter()
        .position(|item| coloured(&item.mark));
    let at = at.expect("a heading");
    // A little greener: 14 of 255, in ink that a letter's stem lays on whole.
    let told = sheet.told(at, |mark| {
        if let Mark::Glyphs(run) = mark {
            let Colour(red, green, blue) = run.colour;
            run.colour = Colour(red, green + 14.0 / 255.0, blue);
        }
        Stays(true)
    });
    assert!(told.is_some());
}

#[test]
fn a_rule_or_a_point_that_is_gone_is_told() {
    let sheet = Sheet::new();
    let items = sheet.page.items.iter().enumerate();
    let shapes: Vec<usize> = items
        .filter(|(_, item)| glyphs(item).is_none())
        .map(|(at, _)| at)
        .collect();
    for at in shapes {
        let told = sheet.told(at, |_| Stays(false));
        assert!(told.is_some(), "{:?}", sheet.page.items[at]);
    }
    let runs = sheet.runs();
    let mut points = runs.iter().filter_map(|(at, run)| {
        let place = run.glyphs.iter().position(|glyph| &*glyph.text == ".")?;
        Some((*at, run.face, place))
    });
    let (at, face, place) = points.next().expect("a decimal point");
    let space = sheet.faces.shape(face, Forms::default(), " ").glyphs;
    let told = sheet.told(at, |mark| {
        if let Mark::Glyphs(run) = mark {
            Arc::make_mut(&mut run.glyphs)[place].id = space[0].id;
        }
        Stays(true)
    });
    assert!(told.is_some(), "a decimal point");
}

/// Two pages in two inks, and a third.
fn pages() -> [RgbImage; 3] {
    [10, 20, 30].map(|ink| {
        RgbImage::from_fn(60, 80, |x, y| {
            let inside = (20..40).contains(&x) && (30..50).contains(&y);
            image::Rgb(if inside { [ink, ink, 200] } else { [255; 3] })
        })
    })
}

#[test]
fn only_what_is_accepted_is_stored() {
    let (stored, shown) = (folder("pages-stored"), folder("pages-shown"));
    let [one, two, three] = pages();
    let (before, after) = ([one, two], [three]);
    let told = unlike(&stored, &before, &shown);
    assert_eq!(told, ["page 1 is not stored", "page 2 is not stored"]);
    assert_eq!(names(&shown), ["01-new.png", "02-new.png"]);
    accept(&stored, &before);
    assert_eq!(unlike(&stored, &before, &shown), [""; 0]);

    let told = unlike(&stored, &after, &shown);
    let wanted = [
        "page 1 differs in 400 dots by up to 22 of 255, all between 8.5 and 16.9 mm from the left and 12.7 and 21.2 mm \
         from the top",
        "page 2 is stored, but the last one is page 1",
    ];
    assert_eq!(told, wanted);
    assert!(names(&shown).contains(&"01-difference.png".to_owned()));
    let [_, two] = before;
    let told = unlike(&stored, &[RgbImage::new(120, 80), two], &shown);
    assert_eq!(told, ["page 1 is 51 × 34 mm in place of 25 × 34 mm"]);

    accept(&stored, &after);
    assert_eq!(names(&stored), ["01.png"]);
    assert_eq!(unlike(&stored, &after, &shown), [""; 0]);
    let known = ["pages-stored".to_owned()].into();
    let around = stored.parent().expect("a folder");
    assert!(strangers(around, &known).contains(&shown));
    assert!(!strangers(around, &known).contains(&stored));
}

#[test]
fn what_differs_is_red() {
    let [one, _, three] = pages();
    let panels = side_by_side(&one, &three);
    let (left, top) = (2 * (60 + 10), 0);
    assert_eq!(panels.dimensions(), (3 * 70, 80));
    assert_eq!(panels.get_pixel(left + 25, top + 35).0, [220, 0, 0]);
    assert_eq!(panels.get_pixel(left + 5, top + 35).0, [255; 3]);
}
