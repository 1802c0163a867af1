//! The style file: what it changes, that everything still fits, and its mistakes.

use crate::cli::{ended, fillmark, folder, good, names, put};
use crate::common::{good_runs, read, reduced};
use fillmark::print::house_style;
use fillmark::print::layout::{self, Style};
use fillmark::print::page::{Document, Face, Mark, Samples};
use fillmark::print::typeface::Typefaces;
use fillmark::problem::Problem;
use fillmark::report::templates::Templates;
use image::{DynamicImage, ImageFormat, RgbaImage};
use std::io::Cursor;

fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let pixels = RgbaImage::from_fn(width, height, |x, y| {
        image::Rgba([(x % 256) as u8, (y % 256) as u8, 90, 255])
    });
    let mut bytes = Cursor::new(Vec::new());
    let rgb = DynamicImage::ImageRgba8(pixels).into_rgb8();
    rgb.write_to(&mut bytes, format).expect("a picture");
    bytes.into_inner()
}

fn style(text: &str, logo: &[u8]) -> Result<Style, Problem> {
    house_style::read("house/style.yaml", text.as_bytes(), &|path| match path {
        "logo.png" => Ok(logo.to_vec()),
        _ => Err("there is no such file".to_owned()),
    })
}

#[test]
fn a_style_file_without_end_is_refused_before_it_is_read() {
    let brackets = style(&format!("paper: {}", "[".repeat(500_000)), &[]);
    let problem = brackets.expect_err("refused");
    assert_eq!(problem.code.name(), "file-too-large");
    assert!(
        problem
            .right
            .as_ref()
            .is_some_and(|right| right.contains("20000 bytes"))
    );
    let brackets = style(&format!("paper: {}", "[".repeat(19_000)), &[]);
    assert_eq!(brackets.expect_err("refused").code.name(), "style-not-read");
}

#[track_caller]
pub(crate) fn good_style(text: &str) -> Style {
    style(text, &picture(300, 120, ImageFormat::Png)).unwrap_or_else(|p| panic!("{p:#?}"))
}

/// Another paper, other margins, ink and size, texts in the head and a logo.
pub(crate) fn house() -> Style {
    good_style(HOUSE)
}

fn laid(text: &str, style: &Style) -> Document {
    let run = reduced(text);
    let manuscript = fillmark::report::manuscript(&run.material(text), &Templates::default())
        .expect("a manuscript");
    let laid = layout::set(manuscript, &Typefaces::load(), style).expect("it can be set");
    assert!(laid.warnings.is_empty());
    laid.document
}

const HOUSE: &str = "paper: Letter\nmargins: {left: 30 mm, right: 1 in, top: 2.5 cm, bottom: 60 pt}\ntext_size: 9.5 pt\naccent: \"#6a1b1b\"\nhead: {left: Fellside creamery · laboratory, right: Form 7}\nlogo: logo.png\n";

/// About A5 (ISO 216) on A4.
const NARROW: &str = "margins: {left: 31 mm, right: 31 mm, top: 43 mm, bottom: 43 mm}\nhead: {left: A name of a laboratory that is as long as a name may be with its street, right: Form 7 of the second edition to be kept for ten years in the archive}\n";

/// The largest letters in the narrowest measure that a style may ask for.
#[test]
fn plots_have_room_in_every_permitted_style() {
    for margins in ["31 mm", "50 mm", "59 mm"] {
        let style = good_style(&format!(
            "text_size: 12 pt\nmargins: {{left: {margins}, right: {margins}}}\n"
        ));
        for (_, text) in good_runs() {
            laid(&text, &style);
        }
    }
}

/// The least size in which print is still read without effort, points: common practice, no source.
const LEAST: f32 = 7.0;
/// Sizes beside that of the text, points.
const SCRIPT: f32 = 7.35;
const LABEL: f32 = 8.4;
const LISTING: f32 = 7.2;
/// Lines of formulas and tables are no smaller, points.
const LINE: f32 = 8.5;

#[test]
fn nothing_is_set_under_seven_points() {
    for (name, run) in good_runs() {
        for (number, page) in laid(&run, &Style::default()).pages.iter().enumerate() {
            for item in &page.items {
                if let Mark::Glyphs(run) = &item.mark {
                    let text: String = run.glyphs.iter().map(|glyph| &*glyph.text).collect();
                    let size = run.size;
                    assert!(
                        size > LEAST - 0.01,
                        "{name}, page {}: {text} in {size} pt",
                        number + 1
                    );
                    let own = [SCRIPT, LABEL, LISTING]
                        .iter()
                        .any(|own| size < own + 0.01 && size > own - 0.01);
                    assert!(
                        own || !(SCRIPT..LINE).contains(&size),
                        "{name}, page {}: {text} in {size} pt",
                        number + 1
                    );
                }
            }
        }
    }
}

#[test]
fn letters_and_digits_of_formulas_are_those_of_the_text() {
    for (name, run) in good_runs() {
        for page in &laid(&run, &Style::default()).pages {
            for item in &page.items {
                if let Mark::Glyphs(run) = &item.mark
                    && run.face == Face::Math
                {
                    let text: String = run.glyphs.iter().map(|glyph| &*glyph.text).collect();
                    // The sign of a transpose is an operator.
                    let letters = text.contains(char::is_alphanumeric) && text != "T";
                    assert!(!letters, "{name}: {text}");
                }
            }
        }
    }
}

#[test]
fn nothing_leaves_the_measure_of_any_paper() {
    for (how, text) in [
        ("house", HOUSE),
        ("narrow", NARROW),
        ("large", "text_size: 12 pt\npaper: Letter\n"),
        ("small", "text_size: 8 pt\n"),
    ] {
        let style = good_style(text);
        let (left, right) = (style.left_margin, style.left_margin + style.measure());
        for (name, run) in good_runs() {
            for (number, page) in laid(&run, &style).pages.iter().enumerate() {
                assert_eq!((page.width, page.height), style.page, "{name}");
                for item in &page.items {
                    let (from, to, y) = match &item.mark {
                        Mark::Glyphs(run) if run.turn == 0.0 => {
                            let blanks = run
                                .glyphs
                                .iter()
                                .rev()
                                .take_while(|g| g.text.trim().is_empty())
                                .count();
                            let inked = &run.glyphs[..run.glyphs.len() - blanks];
                            let width: f32 = inked.iter().map(|glyph| glyph.advance).sum();
                            (run.x, run.x + width * run.size / 1000.0, run.y)
                        }
                        Mark::Picture(picture) => (picture.x, picture.x + picture.width, picture.y),
                        _ => continue,
                    };
                    assert!(
                        from >= left - 0.6 && to <= right + 0.6,
                        "{how}, {name}, page {}: {from} to {to} at {y}, not {left} to {right}: {:?}",
                        number + 1,
                        item.mark
                    );
                }
            }
        }
    }
}

#[test]
fn what_the_style_says_is_on_the_page() {
    let text = good();
    let run = reduced(&text);
    let house = good_style(HOUSE);
    let made = |style: &Style| {
        run.report_in(text.as_bytes(), &Templates::default(), style, "")
            .expect("a report")
            .0
    };
    let (plain, own) = (made(&Style::default()), made(&house));
    assert!(own == made(&good_style(HOUSE)), "two makes differ");
    let words = |pdf: &[u8]| crate::reports::words(pdf);
    assert_eq!(
        run.report(text.as_bytes(), &Templates::default())
            .expect("a report")
            .0,
        plain
    );
    let pages = lopdf::Document::load_mem(&own)
        .expect("a PDF file")
        .get_pages()
        .len();
    assert_eq!(
        words(&own).matches("Fellsidecreamery·laboratory").count(),
        pages
    );
    assert_eq!(words(&own).matches("Form7").count(), pages);
    let file = lopdf::Document::load_mem(&own).expect("a PDF file");
    let first = file.get_pages()[&1];
    let images = file.get_page_images(first).expect("images");
    assert_eq!(images.len(), 1);
    assert_eq!((images[0].width, images[0].height), (300, 120));
    let (document, logo) = (laid(&text, &house), 42.0);
    let pictures: Vec<_> = document
        .pages
        .iter()
        .enumerate()
        .flat_map(|(page, of)| {
            of.items.iter().filter_map(move |item| match &item.mark {
                Mark::Picture(picture) => Some((page, picture)),
                _ => None,
            })
        })
        .collect();
    let [(0, picture)] = pictures.as_slice() else {
        panic!("{pictures:?}")
    };
    assert!((picture.height - logo).abs() < 0.01 && (picture.width - 2.5 * logo).abs() < 0.01);
    assert!((picture.y - house.top_margin).abs() < 0.01);
}

#[test]
fn a_wrong_style_is_one_problem_at_its_line() {
    for (text, code, line, said) in [
        ("paper: A4\npapr: A4\n", "unknown-key", 2, "perhaps paper"),
        (
            "margins:\n  lefft: 20 mm\n",
            "unknown-key",
            2,
            "perhaps left",
        ),
        ("\npaper: A3\n", "style-not-read", 2, "A4 or Letter"),
        (
            "paper: A4\nmargins: {left: 27,5 mm}\n",
            "style-not-read",
            2,
            "a decimal point",
        ),
        (
            "margins: 27 mm\n",
            "style-not-read",
            1,
            "left, right, top and bottom",
        ),
        ("paper: [A4]\n", "style-not-read", 1, "a single value"),
        ("head: Brine\n", "style-not-read", 1, "left and right"),
        ("paper: A4\n\tlogo: a.png\n", "tab-indent", 2, "spaces"),
        (
            "text_size: 10 pt\nmargins: {left: 5 mm}\n",
            "style-not-read",
            2,
            "15 mm to 70 mm",
        ),
        ("text_size: 40 pt\n", "style-not-read", 1, "8 pt to 12 pt"),
        ("text_size: NaN pt\n", "style-not-read", 1, "8 pt to 12 pt"),
        ("text_size: 10\n", "style-not-read", 1, ""),
        (
            "accent: blue\n",
            "style-not-read",
            1,
            "six hexadecimal digits",
        ),
        ("accent: \"#ffee00\"\n", "style-not-read", 1, "dark enough"),
        (
            "paper: A4\naccent: #1c4a70\n",
            "text-taken-for-a-comment",
            2,
            "\"#1c4a70\"",
        ),
        ("paper: A4\nhead: [a\n", "style-not-read", 2, ""),
        ("paper: A4\npaper: A4\n", "key-twice", 2, ""),
        (
            "paper: A4\nmargins: {left: 70 mm, right: 70 mm}\n",
            "no-room",
            2,
            "at least 90 mm",
        ),
        (
            "paper: A4\nlogo: none.png\n",
            "logo-not-read",
            2,
            "PNG or JPEG",
        ),
    ] {
        let problem = style(text, b"")
            .err()
            .unwrap_or_else(|| panic!("{text:?} is taken"));
        let span = problem
            .span
            .clone()
            .unwrap_or_else(|| panic!("{problem:#?}"));
        assert_eq!(
            (problem.code.name(), &*span.file, span.line),
            (code, "house/style.yaml", line),
            "{text:?}: {problem:#?}"
        );
        assert!(
            problem
                .right
                .as_deref()
                .is_some_and(|right| right.contains(said)),
            "{problem:#?}"
        );
    }
    assert_eq!(
        style("", b"").expect_err("nothing").code.name(),
        "empty-file"
    );
}

#[test]
fn a_logo_that_is_none_is_one_clear_problem() {
    let png = picture(300, 120, ImageFormat::Png);
    let jpeg = picture(300, 120, ImageFormat::Jpeg);
    let mut huge = png.clone();
    // The size stands after the signature and the head of the first chunk.
    huge[16..24].copy_from_slice(&[0, 1, 0, 0, 0, 1, 0, 0]);
    crate::photos::sum_head(&mut huge);
    for (what, bytes, said) in [
        ("nothing", Vec::new(), "it is empty"),
        ("text", b"logo".to_vec(), "neither PNG nor JPEG"),
        ("a PNG cut short", png[..png.len() / 2].to_vec(), ""),
        (
            "a JPEG cut short",
            jpeg[..jpeg.len() / 2].to_vec(),
            "cut short",
        ),
        ("a PNG that says it is huge", huge, "too large"),
    ] {
        let problem = style("logo: logo.png\n", &bytes)
            .err()
            .unwrap_or_else(|| panic!("{what} is taken"));
        assert_eq!(problem.code.name(), "logo-not-read", "{what}");
        assert!(problem.headline.contains(said), "{what}: {problem:#?}");
    }
    for good in [
        jpeg,
        png,
        picture(3000, 2000, ImageFormat::Png),
        picture(4000, 1, ImageFormat::Png),
    ] {
        let logo = style("logo: logo.png\n", &good)
            .expect("a style")
            .logo
            .expect("a logo");
        assert!(logo.rows <= 360 && logo.columns <= 2_400);
        let Samples::Rgb(rgb) = &logo.samples else {
            panic!("a logo keeps the value of each pixel");
        };
        assert_eq!(rgb.len(), (3 * logo.rows * logo.columns) as usize);
    }
}

#[test]
fn the_style_file_is_an_input() {
    let folder = folder("style");
    put(&folder, "bath.yaml", &good());
    put(&folder, "style.yaml", HOUSE);
    std::fs::write(folder.join("logo.png"), picture(300, 120, ImageFormat::Png)).expect("a logo");
    ended(
        &fillmark(&folder, &["report", "bath.yaml", "--style", "style.yaml"]),
        0,
    );
    let over = [
        "report",
        "bath.yaml",
        "--style",
        "style.yaml",
        "--pdf",
        "./style.yaml",
    ];
    let (_, err) = ended(&fillmark(&folder, &over), 2);
    assert!(
        err.contains("style.yaml") && err.contains("overwritten"),
        "{err}"
    );
    assert_eq!(read(&folder.join("style.yaml")), HOUSE);
    put(&folder, "style.yaml", &HOUSE.replace("paper", "papr"));
    let (_, err) = ended(&fillmark(&folder, &over[..4]), 1);
    assert!(
        err.contains("style.yaml:1:1") && err.contains("perhaps paper"),
        "{err}"
    );
    put(&folder, "style.yaml", "logo: ../logo.png\n");
    let (_, err) = ended(&fillmark(&folder, &over[..4]), 1);
    assert!(err.contains("logo-not-read"), "{err}");
    ended(
        &fillmark(&folder, &["report", "bath.yaml", "--style", "none.yaml"]),
        3,
    );
    assert_eq!(
        names(&folder),
        ["bath.pdf", "bath.yaml", "logo.png", "style.yaml"]
    );
}
