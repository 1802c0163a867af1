//! A logo's picture, decoded within limits.

use std::io::Cursor;
use std::sync::Arc;

use image::imageops::FilterType;
use image::{ImageFormat, ImageReader, Limits};

use crate::page::Pixels;

/// The most pixels in a row or a column.
const WIDEST: u32 = 6_000;
/// The most memory that decoding may take, bytes.
const MEMORY: u64 = 200_000_000;
/// No more pixels than a printer shows of a logo at the height it is set (600 to the inch).
const ROWS: u32 = 360;
const COLUMNS: u32 = 2_400;

/// The picture on white.
///
/// # Errors
/// Why it cannot be used, in words.
pub(super) fn decoded(bytes: &[u8]) -> Result<Arc<Pixels>, String> {
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| error.to_string())?;
    let jpeg = match reader.format() {
        Some(ImageFormat::Png) => false,
        Some(ImageFormat::Jpeg) => true,
        _ => return Err("it is neither PNG nor JPEG".into()),
    };
    // A decoder may fill up what a truncated picture lacks.
    if jpeg
        && !bytes
            .windows(2)
            .rev()
            .take(1_000)
            .any(|end| end == [0xff, 0xd9])
    {
        return Err("it is cut short".into());
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(WIDEST);
    limits.max_image_height = Some(WIDEST);
    limits.max_alloc = Some(MEMORY);
    reader.limits(limits);
    let whole = reader.decode().map_err(|error| match error {
        image::ImageError::Limits(_) => {
            format!("it is too large: at most {WIDEST} pixels wide and high are taken")
        }
        other => other.to_string(),
    })?;
    let whole = whole.into_rgba8();
    let shrink = [
        f64::from(ROWS) / f64::from(whole.height()),
        f64::from(COLUMNS) / f64::from(whole.width()),
        1.0,
    ]
    .into_iter()
    .fold(1.0, f64::min);
    let less = |pixels: u32| ((f64::from(pixels) * shrink).round() as u32).max(1);
    let (width, height) = (less(whole.width()), less(whole.height()));
    let shown = if shrink < 1.0 {
        image::imageops::resize(&whole, width, height, FilterType::Triangle)
    } else {
        whole
    };
    let on_white = |[red, green, blue, alpha]: [u8; 4]| {
        let alpha = u16::from(alpha);
        [red, green, blue].map(|part| ((u16::from(part) * alpha + 255 * (255 - alpha)) / 255) as u8)
    };
    Ok(Arc::new(Pixels {
        columns: width,
        rows: height,
        rgb: shown.pixels().flat_map(|pixel| on_white(pixel.0)).collect(),
    }))
}
