//! Pictures from files (PNG, JPEG) into pixels as they are printed: within limits, upright, on white, in sRGB, no larger
//! than print shows them.
//!
//! The files may come from anyone. What a picture claims to be is read from its head before anything is decoded; what
//! was decoded is made smaller before it is turned, and let go of at once.

mod colour;
mod format;
mod scale;
mod whole;

use std::io::Cursor;
use std::sync::Arc;

use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, Limits, RgbImage};

use crate::print::page::{Pixels, Samples};
pub use format::Format;

/// The longest file taken, bytes.
pub const MOST_BYTES: u64 = 50_000_000;
/// The most pixels taken; the cameras of most telephones make 12 or 48 million.
pub const MOST_PIXELS: u64 = 64_000_000;
/// The most memory that a picture may take as it is decoded, bytes: 64 million pixels with three parts of 16 bits.
pub const MOST_MEMORY: u64 = 384_000_000;
/// Pixels to the inch beyond which print shows no more of a photograph.
pub const PRINTED: f32 = 300.0;
/// Quality of a JPEG picture written anew, of 100: at 300 pixels to the inch its traces are not seen.
const QUALITY: u8 = 88;

/// Why a picture cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PictureError {
    /// The file has no bytes.
    Empty,
    /// The file has more bytes than [`MOST_BYTES`].
    Long,
    /// It is neither PNG nor JPEG, but this, where that can be told.
    Foreign(Option<&'static str>),
    /// It has more pixels than [`MOST_PIXELS`].
    Pixels {
        /// Pixels in a row.
        columns: u32,
        /// Rows.
        rows: u32,
    },
    /// Decoding would take more than [`MOST_MEMORY`].
    Memory,
    /// Its end is missing.
    CutShort,
    /// The decoder's words.
    Damaged(String),
}

impl std::fmt::Display for PictureError {
    /// In words to follow the picture's name or "it".
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => f.write_str("is empty"),
            Self::Long => write!(f, "is larger than {} MB", MOST_BYTES / 1_000_000),
            Self::Foreign(Some(what)) => write!(f, "is {what}, neither PNG nor JPEG"),
            Self::Foreign(None) => f.write_str("is neither PNG nor JPEG"),
            Self::Pixels { columns, rows } => write!(
                f,
                "is too large: {columns} × {rows} pixels; at most {} million are accepted",
                MOST_PIXELS / 1_000_000
            ),
            Self::Memory => write!(
                f,
                "is too large: it would take more than {} MB to decode",
                MOST_MEMORY / 1_000_000
            ),
            Self::CutShort => f.write_str("is cut short"),
            Self::Damaged(why) => write!(f, "is damaged: {why}"),
        }
    }
}

/// The most pixels of a picture that are of use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// In a row.
    pub columns: u32,
    /// Rows.
    pub rows: u32,
}

impl Room {
    /// Of a photograph printed at most so wide and high, points.
    pub fn printed((width, height): (f32, f32)) -> Self {
        let pixels = |points: f32| ((points * PRINTED / 72.0).round() as u32).max(1);
        Self {
            columns: pixels(width),
            rows: pixels(height),
        }
    }
}

/// Returns a photograph as it is printed in some room: one from JPEG is JPEG again, one from PNG keeps each pixel's
/// value.
///
/// # Errors
/// Why it cannot be used.
pub fn photograph(bytes: &[u8], room: Room) -> Result<Arc<Pixels>, PictureError> {
    let (format, upright) = decoded(bytes, room)?;
    let (columns, rows) = upright.dimensions();
    let samples = match format {
        Format::Png => Samples::Rgb(upright.into_raw()),
        Format::Jpeg => {
            let mut written = Vec::new();
            JpegEncoder::new_with_quality(&mut written, QUALITY)
                .encode_image(&upright)
                .map_err(|error| PictureError::Damaged(error.to_string()))?;
            Samples::Jpeg(written)
        }
    };
    Ok(Arc::new(Pixels {
        columns,
        rows,
        samples,
    }))
}

/// Returns a drawing such as a logo, in some room, each pixel's value kept whatever it comes from.
///
/// # Errors
/// Why it cannot be used.
pub fn drawing(bytes: &[u8], room: Room) -> Result<Arc<Pixels>, PictureError> {
    let (_, upright) = decoded(bytes, room)?;
    let (columns, rows) = upright.dimensions();
    Ok(Arc::new(Pixels {
        columns,
        rows,
        samples: Samples::Rgb(upright.into_raw()),
    }))
}

/// Returns the picture upright on white, made smaller to fit into the room.
fn decoded(bytes: &[u8], room: Room) -> Result<(Format, RgbImage), PictureError> {
    if bytes.is_empty() {
        return Err(PictureError::Empty);
    }
    if bytes.len() as u64 > MOST_BYTES {
        return Err(PictureError::Long);
    }
    let format = Format::detect(bytes).map_err(PictureError::Foreign)?;
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format.of_library());
    let mut limits = Limits::default();
    // The decoder's own needs beside the picture are small.
    limits.max_alloc = Some(MOST_MEMORY + MOST_MEMORY / 4);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|error| fault(&error))?;
    let (columns, rows) = decoder.dimensions();
    if u64::from(columns) * u64::from(rows) > MOST_PIXELS {
        return Err(PictureError::Pixels { columns, rows });
    }
    if decoder.total_bytes() > MOST_MEMORY {
        return Err(PictureError::Memory);
    }
    // A decoder fills up what a picture lacks.
    if format == Format::Jpeg && !whole::has_end(bytes) {
        return Err(PictureError::CutShort);
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let room = if is_on_its_side(orientation) {
        Room {
            columns: room.rows,
            rows: room.columns,
        }
    } else {
        room
    };
    // A profile that cannot be had is no reason to refuse the picture.
    let profile = decoder.icc_profile().ok().flatten();
    let picture = DynamicImage::from_decoder(decoder).map_err(|error| fault(&error))?;
    let mut picture = scale::fitted(scale::on_white(picture), room);
    picture.apply_orientation(orientation);
    let upright = colour::in_srgb(picture.into_rgb8(), profile.as_deref());
    Ok((format, upright))
}

fn is_on_its_side(orientation: Orientation) -> bool {
    matches!(
        orientation,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    )
}

fn fault(error: &ImageError) -> PictureError {
    let mut cause: Option<&(dyn std::error::Error + 'static)> = Some(error);
    while let Some(error) = cause {
        let io = error.downcast_ref::<std::io::Error>();
        if io.is_some_and(|error| error.kind() == std::io::ErrorKind::UnexpectedEof) {
            return PictureError::CutShort;
        }
        cause = error.source();
    }
    match error {
        ImageError::Limits(_) => PictureError::Memory,
        ImageError::IoError(io) if io.kind() == std::io::ErrorKind::UnexpectedEof => {
            PictureError::CutShort
        }
        other => PictureError::Damaged(other.to_string()),
    }
}
