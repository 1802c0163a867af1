//! `fillmark licences`: under what terms Fillmark and what is compiled into it may be passed on.

use super::Ending;
use super::command_error::CommandError;
use super::stdout::document;

/// The notice of `typst-assets`, from which the faces are, as it comes with that crate: each face, its holders and the text of
/// its licence.
const FACES: &str = include_str!("faces.txt");

/// Every crate that Fillmark is built from, with version and licence, a line each; a test holds it to what Cargo says.
const CRATES: &str = include_str!("crates.txt");

pub(super) fn run() -> Result<Ending, CommandError> {
    document(text())
}

/// Returns all that is printed.
fn text() -> String {
    format!(
        "Fillmark {}: MIT OR Apache-2.0\n\n\
         Crates that it is built from, with their licences:\n\n{CRATES}\n\
         The faces that are compiled into it, and embedded in its reports as far as they are used there, are those of \
         typst-assets: Libertinus Serif (SIL Open Font License 1.1), New Computer Modern (GUST Font License 1.0; \
         NewCM10-Regular, which no report uses: GPL 3 or later with Font and Distribution Exceptions) and DejaVu Sans Mono \
         (the terms of Bitstream Vera and DejaVu). The notice of that crate follows.\n\n{FACES}",
        env!("CARGO_PKG_VERSION"),
    )
}

#[cfg(test)]
mod tests {
    use super::text;
    use crate::print::page::Face;
    use crate::print::typeface::Typefaces;

    #[test]
    fn every_face_of_a_report_is_named_with_its_licence() {
        let text = text();
        let faces = Typefaces::load();
        for face in [
            Face::Regular,
            Face::Italic,
            Face::Bold,
            Face::Mono,
            Face::Math,
        ] {
            let family = match faces.name(face) {
                name if name.starts_with("Libertinus") => "files/fonts/LibertinusSerif-",
                name if name.starts_with("DejaVu") => "files/fonts/DejaVu",
                name if name.starts_with("NewCM") => "files/fonts/NewCM",
                name => panic!("{name} has no licence here"),
            };
            assert!(text.contains(family), "{family}");
        }
        for title in [
            "SIL OPEN FONT LICENSE Version 1.1",
            "GUST Font License",
            "Bitstream Vera Fonts Copyright",
        ] {
            assert!(text.contains(title), "{title}");
        }
    }
}
