//! Photographs beside the run file: how they come into the report, and what is told of those that cannot.

use crate::cli::{ended, fillmark, folder};
use crate::common::{path, read};
use fillmark::pipeline::{self, Run};
use fillmark::print::house_style;
use fillmark::print::layout::{self, Style};
use fillmark::print::page::{Document, Mark, Picture, Pixels, Role, Samples};
use fillmark::print::picture::{MOST_BYTES, PictureError, Room, drawing, photograph};
use fillmark::print::typeface::Typefaces;
use fillmark::problem::{Problem, Rendering, render};
use fillmark::report::templates::Templates;
use image::codecs::png::PngEncoder;
use image::{
    DynamicImage, ImageBuffer, ImageEncoder as _, ImageFormat, Luma, LumaA, Rgb, RgbImage, Rgba,
};
use moxcms::ColorProfile;
use std::collections::BTreeMap;
use std::io::Cursor;
use std::sync::Arc;

type Files = BTreeMap<String, Vec<u8>>;

const RED: Rgb<u8> = Rgb([200, 30, 30]);
const BLUE: Rgb<u8> = Rgb([30, 30, 200]);

/// Red above, blue below.
fn two_halves(columns: u32, rows: u32) -> DynamicImage {
    DynamicImage::ImageRgb8(RgbImage::from_fn(columns, rows, |_, y| {
        if y < rows / 2 { RED } else { BLUE }
    }))
}

fn written(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("a picture");
    bytes.into_inner()
}

/// A JPEG with an EXIF orientation: the segment APP1 after the start, holding a TIFF head and one directory of one entry.
fn turned(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let mut exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01".to_vec();
    exif.extend([
        0x01,
        0x12,
        0,
        3,
        0,
        0,
        0,
        1,
        0,
        orientation,
        0,
        0,
        0,
        0,
        0,
        0,
    ]);
    let length = u16::try_from(exif.len() + 2).expect("short");
    let mut bytes = vec![0xff, 0xd8, 0xff, 0xe1];
    bytes.extend(length.to_be_bytes());
    bytes.extend(exif);
    bytes.extend(&jpeg[2..]);
    bytes
}

/// Sets the check sum of a PNG's first chunk right.
pub(crate) fn sum_head(png: &mut [u8]) {
    let mut sum = flate2::Crc::new();
    sum.update(&png[12..29]);
    png[29..33].copy_from_slice(&sum.sum().to_be_bytes());
}

/// A PNG whose head claims another size.
fn claims(columns: u32, rows: u32) -> Vec<u8> {
    let mut png = written(&two_halves(4, 4), ImageFormat::Png);
    png[16..20].copy_from_slice(&columns.to_be_bytes());
    png[20..24].copy_from_slice(&rows.to_be_bytes());
    sum_head(&mut png);
    png
}

fn run_file(photos: &str) -> String {
    read(&path("tests/runs/short.yaml")) + "photos:\n" + photos
}

/// A run with two photographs, the second turned by its EXIF orientation, and its files.
pub(crate) fn good() -> (String, Files) {
    let run = run_file(
        "  - {file: streaks.png, caption: Streaks before mixing, shows: A}\n  - {file: bench/flask.JPG, caption: The flask at the mark}\n",
    );
    let jpeg = written(&two_halves(600, 400), ImageFormat::Jpeg);
    let files = BTreeMap::from([
        (
            "streaks.png".to_owned(),
            written(&two_halves(300, 200), ImageFormat::Png),
        ),
        ("bench/flask.JPG".to_owned(), turned(&jpeg, 6)),
    ]);
    (run, files)
}

#[track_caller]
fn made(run: &str, files: &Files) -> Run {
    let (made, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), files);
    assert_eq!(problems, [], "no problem");
    made.expect("a run")
}

fn problems(run: &str, files: &Files) -> Vec<Problem> {
    let (run, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), files);
    assert!(run.is_none(), "{problems:#?}");
    problems
}

fn laid(run: &str, made: &Run, templates: &Templates, style: &Style) -> Document {
    let manuscript =
        fillmark::report::manuscript(&made.material(run), templates).expect("a manuscript");
    layout::set(manuscript, &Typefaces::load(), style)
        .expect("it can be set")
        .document
}

fn pictures(document: &Document) -> Vec<(&Picture, usize)> {
    let items = document.pages.iter().flat_map(|page| &page.items);
    items
        .filter_map(|item| match &item.mark {
            Mark::Picture(picture) => Some((picture, item.element.expect("no furniture"))),
            _ => None,
        })
        .collect()
}

const ROOM: Room = Room {
    columns: 1000,
    rows: 1000,
};

#[track_caller]
fn seen(bytes: &[u8]) -> RgbImage {
    let pixels = drawing(bytes, ROOM).unwrap_or_else(|fault| panic!("it {fault}"));
    let Pixels {
        columns,
        rows,
        samples: Samples::Rgb(rgb),
    } = Arc::unwrap_or_clone(pixels)
    else {
        panic!("a drawing keeps its values");
    };
    RgbImage::from_raw(columns, rows, rgb).expect("as many values as pixels")
}

fn near(seen: Rgb<u8>, meant: Rgb<u8>) -> bool {
    let parts = seen.0.iter().zip(meant.0);
    parts.into_iter().all(|(a, b)| a.abs_diff(b) < 12)
}

#[test]
fn a_photograph_is_a_figure_with_caption_and_words_for_it() {
    let (run, files) = good();
    let made = made(&run, &files);
    let style = Style::default();
    let document = laid(&run, &made, &Templates::default(), &style);
    let pictures = pictures(&document);
    assert_eq!(pictures.len(), 2);
    let said: Vec<_> = pictures
        .iter()
        .map(|(_, element)| {
            let element = &document.structure[*element];
            assert_eq!(element.role, Role::Figure);
            element.alternative.as_deref().expect("words")
        })
        .collect();
    assert_eq!(
        said,
        [
            "Photograph of solution A: Streaks before mixing",
            "Photograph: The flask at the mark"
        ]
    );
    let (widest, highest) = style.photograph();
    for (picture, _) in &pictures {
        assert!(picture.width <= widest + 0.01 && picture.height <= highest + 0.01);
        assert!(picture.x >= style.left_margin);
        let across = picture.width / picture.pixels.columns as f32;
        let down = picture.height / picture.pixels.rows as f32;
        assert!((across - down).abs() < 1e-3, "its sides are in proportion");
    }
    let turned = &pictures[1].0.pixels;
    assert_eq!((turned.columns, turned.rows), (400, 600), "upright");
    assert!(matches!(turned.samples, Samples::Jpeg(_)));
    assert!(matches!(pictures[0].0.pixels.samples, Samples::Rgb(_)));
    let outline: Vec<&str> = document.outline.iter().map(|e| &*e.title).collect();
    assert!(
        outline.iter().any(|t| t.ends_with("Photographs")),
        "{outline:?}"
    );

    let (pdf, warnings) = made
        .report(run.as_bytes(), &Templates::default())
        .expect("a report");
    assert_eq!(warnings, []);
    let again = made.report(run.as_bytes(), &Templates::default());
    assert_eq!(pdf, again.expect("a report").0, "the same bytes");
    let file = lopdf::Document::load_mem(&pdf).expect("a PDF file");
    let filters: Vec<_> = file
        .objects
        .values()
        .filter_map(|object| object.as_stream().ok())
        .filter(|stream| {
            stream.dict.get(b"Subtype").and_then(|s| s.as_name()).ok() == Some(b"Image")
        })
        .map(|stream| {
            stream
                .dict
                .get(b"Filter")
                .and_then(|s| s.as_name())
                .expect("a filter")
        })
        .collect();
    assert!(filters.contains(&b"DCTDecode".as_slice()), "{filters:?}");
}

#[test]
fn there_is_no_section_without_photographs_and_none_in_the_summary() {
    let (run, files) = good();
    let with = made(&run, &files);
    let summary = Templates::shipped("summary").expect("it is shipped");
    let document = laid(&run, &with, &summary, &Style::default());
    assert_eq!(pictures(&document), []);
    let plain = read(&path("tests/runs/short.yaml"));
    let without = made(&plain, &Files::new());
    let document = laid(&plain, &without, &Templates::default(), &Style::default());
    assert!(
        !document
            .outline
            .iter()
            .any(|e| e.title.contains("Photographs"))
    );
}

#[test]
fn every_exif_orientation_is_set_upright() {
    // Red lies above: where it lies upright (TIFF 6.0, Orientation), as seen at the middle of top, right, bottom, left.
    let jpeg = written(&two_halves(64, 64), ImageFormat::Jpeg);
    for (orientation, red) in [
        (1, "top"),
        (2, "top"),
        (3, "bottom"),
        (4, "bottom"),
        (5, "left"),
        (6, "right"),
        (7, "right"),
        (8, "left"),
    ] {
        let upright = seen(&turned(&jpeg, orientation));
        let places = [
            ("top", (32, 4)),
            ("right", (59, 32)),
            ("bottom", (32, 59)),
            ("left", (4, 32)),
        ];
        let (x, y) = places
            .iter()
            .find(|(name, _)| *name == red)
            .expect("a place")
            .1;
        let across = upright[(63 - x.min(63), 63 - y.min(63))];
        assert!(
            near(upright[(x, y)], RED),
            "{orientation}: {:?}",
            upright[(x, y)]
        );
        assert!(near(across, BLUE), "{orientation}: {across:?}");
    }
}

#[test]
fn all_kinds_of_pixels_are_understood() {
    let seen = |picture: DynamicImage| seen(&written(&picture, ImageFormat::Png))[(0, 0)];
    let grey = ImageBuffer::from_pixel(2, 2, Luma([100_u8]));
    assert_eq!(seen(grey.into()), Rgb([100, 100, 100]), "grey");
    let deep = ImageBuffer::from_pixel(2, 2, Rgb([0_u16, 0x8080, 0xffff]));
    assert_eq!(seen(deep.into()), Rgb([0, 128, 255]), "16 bits");
    let clear = ImageBuffer::from_pixel(2, 2, Rgba([0_u8, 0, 0, 0]));
    assert_eq!(seen(clear.into()), Rgb([255, 255, 255]), "clear");
    let half = ImageBuffer::from_pixel(2, 2, LumaA([0_u16, 0x8080]));
    assert_eq!(
        seen(half.into()),
        Rgb([127, 127, 127]),
        "half clear, 16 bits"
    );
    let grey = ImageBuffer::from_pixel(16, 16, Luma([100_u8]));
    let jpeg = written(&DynamicImage::ImageLuma8(grey), ImageFormat::Jpeg);
    assert!(
        near(self::seen(&jpeg)[(0, 0)], Rgb([100, 100, 100])),
        "grey JPEG"
    );
}

#[test]
fn colours_are_what_the_picture_s_profile_says() {
    let in_profile = |pixel, profile: &[u8]| {
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        encoder
            .set_icc_profile(profile.to_vec())
            .expect("PNG takes a profile");
        RgbImage::from_pixel(2, 2, Rgb(pixel))
            .write_with_encoder(encoder)
            .expect("a picture");
        seen(&bytes)[(0, 0)]
    };
    let profile = |profile: ColorProfile| profile.encode().expect("a profile");
    // The red of sRGB is (0.917488, 0.200287, 0.138561) in Display P3 (CSS Color Module Level 4, sample conversions;
    // from memory); black, white and greys are the same in both.
    let p3 = profile(ColorProfile::new_display_p3());
    for (pixel, is) in [
        ([234, 51, 35], [255, 0, 0]),
        ([128, 128, 128], [128, 128, 128]),
        ([255, 255, 255], [255, 255, 255]),
    ] {
        let Rgb(seen) = in_profile(pixel, &p3);
        for (seen, is) in seen.into_iter().zip(is) {
            assert!(
                i16::from(seen).abs_diff(is) <= 2,
                "{pixel:?}: {seen} for {is}"
            );
        }
    }
    // A profile that says nothing of red, green and blue, or nothing at all, changes nothing.
    for profile in [
        profile(ColorProfile::new_gray_with_gamma(1.8)),
        vec![7; 200],
    ] {
        assert_eq!(in_profile([234, 51, 35], &profile), Rgb([234, 51, 35]));
    }
}

#[test]
fn a_photograph_is_made_smaller_and_never_larger() {
    let room = Room::printed((72.0, 36.0));
    assert_eq!((room.columns, room.rows), (300, 150));
    let sides = |columns, rows, format| {
        let bytes = written(&two_halves(columns, rows), format);
        let pixels = photograph(&bytes, room).expect("a picture");
        (pixels.columns, pixels.rows)
    };
    assert_eq!(sides(1600, 400, ImageFormat::Jpeg), (300, 75));
    assert_eq!(sides(400, 1600, ImageFormat::Png), (38, 150));
    assert_eq!(sides(30, 20, ImageFormat::Jpeg), (30, 20));
}

#[test]
fn the_style_s_room_is_the_photograph_s() {
    let (run, mut files) = good();
    files.insert(
        "streaks.png".to_owned(),
        written(&two_halves(3000, 2000), ImageFormat::Png),
    );
    let run_made = made(&run, &files);
    let narrow = "margins: {left: 50 mm, right: 50 mm}";
    let narrow =
        house_style::read("s.yaml", narrow.as_bytes(), &|_| Err(String::new())).expect("a style");
    let widths = |style: &Style| {
        let (pdf, _) = run_made
            .report_in(run.as_bytes(), &Templates::default(), style, "")
            .expect("a report");
        let file = lopdf::Document::load_mem(&pdf).expect("a PDF file");
        let widths = file.objects.values().filter_map(|object| {
            let dict = &object.as_stream().ok()?.dict;
            (dict.get(b"Subtype").ok()?.as_name().ok()? == b"Image")
                .then(|| dict.get(b"Width").and_then(lopdf::Object::as_i64).ok())?
        });
        widths.max().expect("a picture")
    };
    let pixels = |style: &Style| (style.measure() / 72.0 * 300.0).round() as i64;
    let usual = Style::default();
    assert_eq!(widths(&usual), pixels(&usual));
    assert_eq!(widths(&narrow), pixels(&narrow));
    assert!(pixels(&narrow) < pixels(&usual));
}

#[test]
fn all_that_is_wrong_with_photographs_is_told_at_once() {
    let png = written(&two_halves(40, 40), ImageFormat::Png);
    let jpeg = written(&two_halves(40, 40), ImageFormat::Jpeg);
    let mut flipped = png.clone();
    let middle = flipped.len() / 2;
    flipped[middle] ^= 0x55;
    let mut files = Files::new();
    let mut photos = String::new();
    for (name, bytes) in [
        ("empty.jpg", Vec::new()),
        ("text.jpg", b"a text".to_vec()),
        ("film.png", b"GIF89a".to_vec()),
        ("phone.jpg", b"\0\0\0\x18ftypheic\0\0\0\0".to_vec()),
        ("scan.png", b"II*\0\x08".to_vec()),
        ("web.jpg", b"RIFF\0\0\0\0WEBPVP8 ".to_vec()),
        ("report.jpg", b"%PDF-1.7".to_vec()),
        ("renamed.jpg", png.clone()),
        ("renamed.png", jpeg.clone()),
        ("plain", jpeg.clone()),
        ("half.png", png[..png.len() / 2].to_vec()),
        ("half.jpg", jpeg[..jpeg.len() - 9].to_vec()),
        ("damaged.png", flipped),
        ("huge.png", claims(50_000, 50_000)),
        ("long.jpg", {
            let mut long = jpeg.clone();
            long.resize(MOST_BYTES as usize + 1, 0);
            long
        }),
    ] {
        photos += &format!("  - {{file: {name}, caption: A caption}}\n");
        files.insert(name.to_owned(), bytes);
    }
    files.insert("good.png".to_owned(), png);
    photos += "  - {file: none.jpg, caption: A caption}\n";
    photos += "  - {file: ../out.jpg, caption: A caption}\n";
    photos += "  - {file: good.png, caption: A caption, shows: bath 4}\n";
    photos += "  - {file: good.png}\n";
    photos += "  - {file: good.png, caption: Twice is no fault}\n";
    // An entry that is wrong elsewhere hides none of them.
    let run = run_file(&photos).replace("kind: flask", "kind: flagon");
    let (none, problems, sources) = pipeline::read_beside("run.yaml", run.as_bytes(), &files);
    assert!(none.is_none());
    let told: String = problems
        .iter()
        .map(|problem| {
            assert!(problem.span.is_some(), "{problem:#?}");
            render(problem, &sources, Rendering { colour: false })
        })
        .collect();
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("bad_photos", told);
    });
}

#[test]
fn more_photographs_than_a_report_has_room_for_are_one_problem() {
    let mut files = Files::new();
    files.insert(
        "good.png".to_owned(),
        written(&two_halves(40, 40), ImageFormat::Png),
    );
    let photos = "  - {file: good.png, caption: A caption}\n".repeat(101);
    let run = run_file(&photos);
    let (none, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), &files);
    assert!(none.is_none());
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].code.name(), "too-many-photos");
}

#[test]
fn a_photograph_of_any_length_but_the_whole_is_cut_short() {
    let picture = DynamicImage::ImageRgb8(RgbImage::from_fn(48, 48, |x, y| {
        Rgb([(x * 5) as u8, (y * 5) as u8, (x * y % 251) as u8])
    }));
    for format in [ImageFormat::Png, ImageFormat::Jpeg] {
        let whole = written(&picture, format);
        assert!(photograph(&whole, ROOM).is_ok());
        // A PNG says all before its last chunk, of twelve bytes.
        let longest = whole.len() - if format == ImageFormat::Png { 13 } else { 1 };
        for length in (12..=longest).step_by(7) {
            let fault = photograph(&whole[..length], ROOM).expect_err("a part");
            let short = matches!(fault, PictureError::CutShort | PictureError::Damaged(_));
            assert!(short, "{format:?} {length}: {fault:?}");
        }
    }
    // What follows a JPEG's end is no part of it.
    let mut moving = written(&picture, ImageFormat::Jpeg);
    moving.extend([0; 5000]);
    assert!(photograph(&moving, ROOM).is_ok());
}

#[test]
fn what_a_head_claims_takes_no_memory() {
    for (columns, rows) in [(50_000, 50_000), (8_001, 8_000)] {
        let fault = photograph(&claims(columns, rows), ROOM).expect_err("too large");
        assert_eq!(fault, PictureError::Pixels { columns, rows });
    }
}

#[test]
fn a_template_s_wrong_photograph_is_told_at_its_line() {
    let (run, files) = good();
    let made = made(&run, &files);
    for number in ["0", "3", "one"] {
        let text = format!("# One\n\n![](photo:{number})\n");
        let templates = Templates::with("own", [("report.md".to_owned(), text)]);
        let problems = fillmark::report::manuscript(&made.material(&run), &templates)
            .expect_err("no such photograph");
        assert_eq!(problems.len(), 1, "{problems:#?}");
        assert_eq!(problems[0].code.name(), "unknown-photo");
        assert_eq!(problems[0].span.as_ref().map(|p| p.line), Some(3));
        assert_eq!(problems[0].right.as_deref(), Some("photo:1 to photo:2"));
    }
}

#[test]
fn the_commands_find_the_files_and_say_that_they_are_not_carried() {
    let folder = folder("photos");
    let (run, files) = good();
    std::fs::create_dir_all(folder.join("bench")).expect("a folder");
    std::fs::write(folder.join("bath.yaml"), &run).expect("written");
    for (name, bytes) in &files {
        std::fs::write(folder.join(name), bytes).expect("written");
    }
    ended(&fillmark(&folder, &["check", "bath.yaml"]), 0);
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    // The report that is written over is read without its photographs.
    let first = std::fs::read(folder.join("bath.pdf")).expect("a report");
    let (_, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    assert_eq!(err, "");
    assert_eq!(
        first,
        std::fs::read(folder.join("bath.pdf")).expect("a report")
    );
    let extract = ["extract", "bath.pdf", "--into", "back"];
    let (out, _) = ended(&fillmark(&folder, &extract), 0);
    for name in files.keys() {
        assert!(out.contains(&format!("back/{name}: a photograph")), "{out}");
    }
    let changed = run.replace("at the mark", "over the mark");
    std::fs::write(folder.join("new.yaml"), changed).expect("written");
    let (out, _) = ended(&fillmark(&folder, &["changes", "bath.pdf", "new.yaml"]), 0);
    assert!(out.contains("photos.2.caption"), "{out}");
    // A photograph is not written over, and a missing one or a folder is told.
    let over = ["report", "bath.yaml", "--force", "--pdf", "streaks.png"];
    ended(&fillmark(&folder, &over), 2);
    std::fs::remove_file(folder.join("streaks.png")).expect("removed");
    std::fs::create_dir(folder.join("streaks.png")).expect("a folder");
    std::fs::remove_file(folder.join("bench/flask.JPG")).expect("removed");
    let (_, err) = ended(&fillmark(&folder, &["check", "bath.yaml"]), 1);
    assert_eq!(err.matches("photo-not-read").count(), 2, "{err}");
    assert!(err.contains("it is a folder"), "{err}");
}

#[test]
fn a_run_alone_has_no_photographs() {
    let (run, _) = good();
    let codes: Vec<_> = problems(&run, &Files::new())
        .iter()
        .map(|p| p.code.name())
        .collect();
    assert_eq!(codes, ["photo-not-read", "photo-not-read"]);
}
