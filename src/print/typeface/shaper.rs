//! How text is shaped, at run time and by the build script, which includes this file.

use std::str::FromStr;

use rustybuzz::{
    BufferClusterLevel, BufferFlags, Direction, Face, Feature, GlyphBuffer, Language, ShapePlan,
    UnicodeBuffer, script, shape_with_plan,
};

/// `PostScript` name of the upright face.
pub(crate) const REGULAR: &str = "LibertinusSerif-Regular";
/// `PostScript` name of the italic face.
pub(crate) const ITALIC: &str = "LibertinusSerif-Italic";
/// `PostScript` name of the bold face.
pub(crate) const BOLD: &str = "LibertinusSerif-Bold";
/// `PostScript` name of the face in which all characters have one width.
pub(crate) const MONO: &str = "DejaVuSansMono";

/// `PostScript` name of the face of mathematics.
pub(crate) const MATH: &str = "NewCMMath-Regular";

/// In entries as written each character keeps its column.
pub(crate) const KEPT_APART: [&str; 4] = ["-liga", "-clig", "-calt", "-kern"];

/// The faces and features for which the pairs of [`PLAIN`] characters are shaped when the program is built.
pub(crate) const SETTINGS: [(&str, &[&str]); 6] = [
    (REGULAR, &[]),
    (REGULAR, &["tnum", "lnum"]),
    (ITALIC, &[]),
    (BOLD, &[]),
    (BOLD, &["tnum", "lnum"]),
    (MONO, &KEPT_APART),
];

/// The characters of which most of a report consists. Those of ASCII come first, in their order.
pub(crate) const PLAIN: &str = concat!(
    " !\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`abcdefghijklmnopqrstuvwxyz{|}~",
    "\u{a0}\u{202f}\u{2003}°±×−–’·•²³⁻"
);

/// Stands for the kern of two characters that are not set one by one.
pub(crate) const JOINED: i16 = i16::MIN;

/// Returns a plan for text in a Latin script with some features.
pub(crate) fn plan(face: &Face<'_>, features: &[&str]) -> ShapePlan {
    let features: Vec<Feature> = features
        .iter()
        .filter_map(|tag| Feature::from_str(tag).ok())
        .collect();
    ShapePlan::new(
        face,
        Direction::LeftToRight,
        Some(script::LATIN),
        // Reports are written in English.
        Language::from_str("en").ok().as_ref(),
        &features,
    )
}

/// Shapes a text. A tabulator is set as a space.
pub(crate) fn shape(
    face: &Face<'_>,
    plan: &ShapePlan,
    mut buffer: UnicodeBuffer,
    text: &str,
) -> GlyphBuffer {
    buffer.set_direction(Direction::LeftToRight);
    buffer.set_script(script::LATIN);
    buffer.set_cluster_level(BufferClusterLevel::MonotoneCharacters);
    buffer.set_flags(BufferFlags::REMOVE_DEFAULT_IGNORABLES);
    for (start, character) in text.char_indices() {
        let seen = if character == '\t' { ' ' } else { character };
        buffer.add(seen, start as u32);
    }
    shape_with_plan(face, plan, buffer)
}
