//! A page as it is compared: painted from the finished file, and kept as a small picture.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex};

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::Pixmap;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use image::{Rgb, RgbImage};

/// Dots to the inch of a page as it is compared: few, for a dot holds the average of what is on it, and tells a shift by a
/// small part of its width.
pub(super) const DOTS: u32 = 60;

/// A page is painted so many times as fine and then averaged. A rasteriser draws no line thinner than a dot of its own
/// (ISO 32000-1, 8.4.3.2); the thinnest of ours, 0.35 pt, is wider than one of 240 to the inch.
const FINER: u32 = 4;

/// Inks are kept in steps of so much of 255, which makes the files a quarter as large.
const STEP: u16 = 8;

/// The pages of a PDF file. What the painter of them complains of is a failure.
#[track_caller]
pub(super) fn painted(pdf: &[u8]) -> Vec<RgbImage> {
    let file = Pdf::new(pdf.to_vec()).expect("a PDF file");
    let complaints = Arc::new(Mutex::new(Vec::new()));
    let heard = Arc::clone(&complaints);
    let reading = InterpreterSettings {
        warning_sink: Arc::new(move |complaint| {
            heard.lock().expect("a list").push(format!("{complaint:?}"));
        }),
        ..InterpreterSettings::default()
    };
    // Glyphs where the file puts them, neither moved to the grid nor taken from a store of four places to the dot.
    let painting = RenderSettings {
        hinting: false,
        glyph_caching: false,
        ..RenderSettings::default()
    };
    let scale = (DOTS * FINER) as f32 / 72.0;
    let sheet = PixmapSettings {
        x_scale: scale,
        y_scale: scale,
        bg_color: WHITE,
    };
    let cache = RenderCache::new();
    let pages = file.pages().iter();
    let pages = pages
        .map(|page| averaged(&render(page, &cache, &reading, &painting, &sheet)))
        .collect();
    let complaints = complaints.lock().expect("a list");
    assert!(complaints.is_empty(), "{complaints:?}");
    pages
}

/// Squares of fine dots as one dot each; what is left over at the right and at the foot is margin.
fn averaged(fine: &Pixmap) -> RgbImage {
    let across = usize::from(fine.width());
    let side = FINER as usize;
    let mut picture = RgbImage::new(
        u32::from(fine.width()) / FINER,
        u32::from(fine.height()) / FINER,
    );
    let bands = fine.data().chunks_exact(across * side);
    for (row, band) in picture.rows_mut().zip(bands) {
        for (at, dot) in row.enumerate() {
            let mut sums = [0; 3];
            for line in band.chunks_exact(across) {
                for fine in &line[at * side..(at + 1) * side] {
                    sums[0] += u32::from(fine.r);
                    sums[1] += u32::from(fine.g);
                    sums[2] += u32::from(fine.b);
                }
            }
            let area = FINER * FINER;
            *dot = Rgb(sums.map(|sum| ((sum + area / 2) / area) as u8));
        }
    }
    picture
}

/// The picture as it is kept: inks in steps.
pub(super) fn kept(picture: &RgbImage) -> RgbImage {
    let step = |ink: u8| ((u16::from(ink) + STEP / 2) / STEP * STEP).min(255) as u8;
    let mut kept = picture.clone();
    for dot in kept.pixels_mut() {
        *dot = Rgb(dot.0.map(step));
    }
    kept
}

/// The bytes of a PNG file of a picture; with a palette, where its colours are few enough for one.
pub(super) fn png(picture: &RgbImage) -> Vec<u8> {
    let mut palette: BTreeMap<[u8; 3], u8> = BTreeMap::new();
    for dot in picture.pixels() {
        palette.insert(dot.0, 0);
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    let samples: Vec<u8> = if palette.len() <= 256 {
        for (number, place) in (0..=255).zip(palette.values_mut()) {
            *place = number;
        }
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_palette(palette.keys().flatten().copied().collect::<Vec<u8>>());
        // Numbers of a palette are no more alike for standing side by side.
        encoder.set_filter(png::Filter::NoFilter);
        picture.pixels().map(|dot| palette[&dot.0]).collect()
    } else {
        encoder.set_color(png::ColorType::Rgb);
        picture.as_raw().clone()
    };
    let mut writer = encoder.write_header().expect("a head");
    writer.write_image_data(&samples).expect("a picture");
    writer.finish().expect("an end");
    bytes
}

/// A picture that was written; none where there is no such file.
pub(super) fn read(file: &Path) -> Option<RgbImage> {
    let bytes = std::fs::read(file).ok()?;
    let picture = image::load_from_memory(&bytes);
    let picture = picture.unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    Some(picture.into_rgb8())
}

#[test]
fn pictures_come_back_as_they_were_written() {
    let few = RgbImage::from_fn(50, 40, |x, y| {
        Rgb([(x / 7 * 8) as u8, (y / 9 * 8) as u8, 255])
    });
    let many = RgbImage::from_fn(50, 40, |x, y| Rgb([(x * 5) as u8, (y * 6) as u8, 7]));
    for picture in [few, many] {
        let back = image::load_from_memory(&png(&picture)).expect("a picture");
        assert!(back.into_rgb8() == picture);
    }
}
