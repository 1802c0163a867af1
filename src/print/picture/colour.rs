//! Colours as a picture's own profile means them, made into those of sRGB, which the report's output intent names.

use image::RgbImage;
use moxcms::{ColorProfile, DataColorSpace, Layout, TransformOptions};

/// Returns the picture in sRGB, where its profile (ICC.1) tells its red, green and blue. What has a profile that cannot
/// be read, or one of other inks, which the decoder has made into red, green and blue without it, is left as it is.
pub(super) fn in_srgb(mut picture: RgbImage, profile: Option<&[u8]>) -> RgbImage {
    let Some(profile) = profile
        .and_then(|bytes| ColorProfile::new_from_slice(bytes).ok())
        .filter(|profile| profile.color_space == DataColorSpace::Rgb)
    else {
        return picture;
    };
    let transform = profile.create_transform_8bit(
        Layout::Rgb,
        &ColorProfile::new_srgb(),
        Layout::Rgb,
        TransformOptions::default(),
    );
    let Ok(transform) = transform else {
        return picture;
    };
    let mut made = vec![0; picture.len()];
    if transform.transform(&picture, &mut made).is_ok() {
        picture.copy_from_slice(&made);
    }
    picture
}
