//! Pictures made smaller, and put on white.

use image::imageops::FilterType;
use image::{DynamicImage, ImageBuffer, Pixel, Primitive};

use super::Room;

/// Returns the picture no larger than the room, its sides in proportion. One that fits is left as it is.
pub(super) fn fitted(picture: DynamicImage, room: Room) -> DynamicImage {
    let (columns, rows) = (picture.width(), picture.height());
    let shrink =
        (f64::from(room.columns) / f64::from(columns)).min(f64::from(room.rows) / f64::from(rows));
    if shrink >= 1.0 {
        return picture;
    }
    let less = |pixels: u32| ((f64::from(pixels) * shrink).round() as u32).max(1);
    let (width, height) = (less(columns), less(rows));
    // Means of whole blocks first: a filter over all of a large picture would hold it in numbers of four times the size.
    let roughly = if shrink < 0.5 {
        let near = picture.thumbnail_exact(2 * width, 2 * height);
        drop(picture);
        near
    } else {
        picture
    };
    roughly.resize_exact(width, height, FilterType::Triangle)
}

/// Returns the picture with nothing left to shine through, on white. It keeps its kind, and its memory.
pub(super) fn on_white(picture: DynamicImage) -> DynamicImage {
    match picture {
        DynamicImage::ImageLumaA8(pixels) => DynamicImage::ImageLumaA8(blended(pixels)),
        DynamicImage::ImageRgba8(pixels) => DynamicImage::ImageRgba8(blended(pixels)),
        DynamicImage::ImageLumaA16(pixels) => DynamicImage::ImageLumaA16(blended(pixels)),
        DynamicImage::ImageRgba16(pixels) => DynamicImage::ImageRgba16(blended(pixels)),
        whole => whole,
    }
}

fn blended<P: Pixel>(
    mut pixels: ImageBuffer<P, Vec<P::Subpixel>>,
) -> ImageBuffer<P, Vec<P::Subpixel>> {
    let white = P::Subpixel::DEFAULT_MAX_VALUE;
    for pixel in pixels.pixels_mut() {
        let Some((alpha, parts)) = pixel.channels_mut().split_last_mut() else {
            continue;
        };
        let share = number(*alpha) / number(white);
        for part in parts {
            let mixed = number(white) - (number(white) - number(*part)) * share;
            *part = rounded(mixed, white);
        }
        *alpha = white;
    }
    pixels
}

fn number<S: Primitive>(part: S) -> f32 {
    part.to_f32().unwrap_or_default()
}

/// Returns a mixture lies between its parts, so that it always is a value of theirs.
fn rounded<S: Primitive>(mixed: f32, white: S) -> S {
    S::from(mixed.round()).unwrap_or(white)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{Rgba, RgbaImage};

    #[test]
    fn what_shines_through_becomes_white() {
        let clear = RgbaImage::from_pixel(1, 1, Rgba([0, 100, 200, 0]));
        let half = RgbaImage::from_pixel(1, 1, Rgba([0, 100, 200, 128]));
        assert_eq!(blended(clear)[(0, 0)], Rgba([255, 255, 255, 255]));
        assert_eq!(blended(half)[(0, 0)], Rgba([127, 177, 227, 255]));
    }

    #[test]
    fn a_picture_is_never_made_larger() {
        let room = Room {
            columns: 40,
            rows: 40,
        };
        let sides = |columns, rows| {
            let picture = fitted(DynamicImage::new_luma8(columns, rows), room);
            (picture.width(), picture.height())
        };
        assert_eq!(sides(40, 10), (40, 10));
        assert_eq!(sides(50, 10), (40, 8));
        assert_eq!(sides(100, 400), (10, 40));
        assert_eq!(sides(9000, 1), (40, 1));
    }
}
