//! The font files, picked from those that `typst-assets` carries.

use super::shaper;
use crate::print::page::Face;

/// Every face, in the order in which one may stand in for another.
pub(super) const FACES: [Face; 5] = [
    Face::Regular,
    Face::Math,
    Face::Mono,
    Face::Italic,
    Face::Bold,
];

/// Returns the `PostScript` name of a face.
pub(super) const fn postscript_name(face: Face) -> &'static str {
    match face {
        Face::Regular => shaper::REGULAR,
        Face::Italic => shaper::ITALIC,
        Face::Bold => shaper::BOLD,
        Face::Mono => shaper::MONO,
        Face::Math => shaper::MATH,
    }
}

/// Returns the font file of a face.
pub(super) fn data(face: Face) -> &'static [u8] {
    // Each by its place: a search through all of them would link them all into an optimized program, 6 MB that no report
    // uses.
    let file = match face {
        Face::Regular => typst_assets::fonts().next(),
        Face::Bold => typst_assets::fonts().nth(1),
        Face::Italic => typst_assets::fonts().nth(2),
        Face::Math => typst_assets::fonts().nth(8),
        Face::Mono => typst_assets::fonts().nth(16),
    };
    file.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rustybuzz::ttf_parser::{RawFace, Tag, name, name_id};

    /// Returns the `PostScript` name that a font file gives itself (OpenType specification, `name` table, name ID 6).
    fn name_in(file: &[u8]) -> Option<String> {
        let tables = RawFace::parse(file, 0).ok()?;
        let names = name::Table::parse(tables.table(Tag::from_bytes(b"name"))?)?.names;
        names
            .into_iter()
            .filter(|name| name.name_id == name_id::POST_SCRIPT_NAME && name.is_unicode())
            .find_map(|name| name.to_string())
    }

    #[test]
    fn every_face_is_at_its_place_among_the_assets() {
        for face in FACES {
            assert_eq!(name_in(data(face)).as_deref(), Some(postscript_name(face)));
        }
    }
}
