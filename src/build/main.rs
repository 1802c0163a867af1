//! The build script. It computes what is the same in all reports, and would take a tenth of the time of each: the kerns of
//! common characters, and the characters that glyphs of the mathematical face stand for.

mod glyph_characters;
mod pairs;
#[path = "../print/typeface/shaper.rs"]
mod shaper;

use std::io::Write as _;
use std::path::Path;
use std::{env, fs, io};

use rustybuzz::Face;
use rustybuzz::ttf_parser::name_id;

use self::glyph_characters::GlyphCharacters;

fn main() -> io::Result<()> {
    for source in ["src/build", "src/print/typeface/shaper.rs"] {
        writeln!(io::stdout(), "cargo::rerun-if-changed={source}")?;
    }
    let mut kerns = Vec::new();
    for (name, features) in shaper::SETTINGS {
        let face = face(name)?;
        pairs::write(&face, &shaper::plan(&face, features), &mut kerns);
    }
    write("pairs", &kerns)?;
    write(
        "glyph_characters",
        &GlyphCharacters::new(&*face(shaper::MATH)?).into_bytes(),
    )
}

/// Writes a file that the crate includes.
fn write(name: &str, bytes: &[u8]) -> io::Result<()> {
    let directory = env::var_os("OUT_DIR").ok_or(io::ErrorKind::NotFound)?;
    fs::write(Path::new(&directory).join(name), bytes)
}

/// Returns a face by its `PostScript` name.
fn face(name: &str) -> io::Result<Face<'static>> {
    let mut faces = typst_assets::fonts().filter_map(|file| Face::from_slice(file, 0));
    let face = faces.find(|face| {
        let mut names = face.names().into_iter();
        names.any(|record| {
            record.name_id == name_id::POST_SCRIPT_NAME
                && record.to_string().as_deref() == Some(name)
        })
    });
    face.ok_or_else(|| io::Error::other(format!("no face is named {name}")))
}
