//! The font files, picked by name from those that `typst-assets` carries.

use std::sync::LazyLock;

use rustybuzz::ttf_parser::{RawFace, Tag, name, name_id};

use crate::page::Face;

/// Every face, in the order in which one may stand in for another.
pub(super) const FACES: [Face; 5] = [
    Face::Regular,
    Face::Math,
    Face::Mono,
    Face::Italic,
    Face::Bold,
];

/// The `PostScript` name of a face, by which it is found among the assets.
pub(super) const fn postscript_name(face: Face) -> &'static str {
    match face {
        Face::Regular => "LibertinusSerif-Regular",
        Face::Italic => "LibertinusSerif-Italic",
        Face::Bold => "LibertinusSerif-Bold",
        Face::Mono => "DejaVuSansMono",
        Face::Math => "NewCMMath-Regular",
    }
}

/// The font file of a face. Reads the table directory and the name table of each asset, once per process, and
/// nothing else of the ones that are not asked for.
pub(super) fn data(face: Face) -> &'static [u8] {
    static FILES: LazyLock<Vec<(String, &'static [u8])>> = LazyLock::new(|| {
        typst_assets::fonts()
            .filter_map(|file| Some((name_in(file)?, file)))
            .collect()
    });
    let wanted = postscript_name(face);
    FILES
        .iter()
        .find(|(name, _)| name == wanted)
        .map_or(&[], |(_, file)| *file)
}

/// The `PostScript` name that a font file gives itself (OpenType specification, `name` table, name ID 6).
fn name_in(file: &[u8]) -> Option<String> {
    let tables = RawFace::parse(file, 0).ok()?;
    let names = name::Table::parse(tables.table(Tag::from_bytes(b"name"))?)?.names;
    names
        .into_iter()
        .filter(|name| name.name_id == name_id::POST_SCRIPT_NAME && name.is_unicode())
        .find_map(|name| name.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_face_is_among_the_assets() {
        for face in FACES {
            assert_eq!(name_in(data(face)).as_deref(), Some(postscript_name(face)));
        }
    }
}
