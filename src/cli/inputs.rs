//! What a report was made from, as one short word: reports of unchanged inputs need not be made again.

use std::fmt::Write as _;
use std::path::Path;

use md5::{Digest, Md5};

use super::also::Form;
use super::earlier::LARGEST_REPORT;
use crate::files;
use crate::layout::Style;
use crate::page::Samples;
use crate::pdf::MADE_FROM;
use crate::report::templates::Templates;
use crate::runfile::model::RunFile;

/// The word is looked for in so many bytes.
const HEAD: usize = 200;

/// What a report is made with, beside the run file and what it names.
#[derive(Debug)]
pub(super) struct Means<'a> {
    pub(super) templates: &'a Templates,
    pub(super) style: &'a Style,
    /// Draws of a Monte Carlo check, where one is asked for.
    pub(super) draws: Option<usize>,
    /// Other forms that it is written in.
    pub(super) also: &'a [Form],
}

impl Means<'_> {
    /// A digest of the means and this program's version.
    fn digest(&self) -> Md5 {
        let mut digest = Md5::new();
        digest.update(env!("CARGO_PKG_VERSION"));
        for (name, text) in self.templates.texts() {
            part(&mut digest, name.as_bytes());
            part(&mut digest, text.as_bytes());
        }
        let plain = Style {
            logo: None,
            ..self.style.clone()
        };
        part(&mut digest, format!("{plain:?}").as_bytes());
        if let Some(logo) = &self.style.logo {
            let (Samples::Rgb(bytes) | Samples::Jpeg(bytes)) = &logo.samples;
            part(&mut digest, format!("{}", logo.columns).as_bytes());
            part(&mut digest, bytes);
        }
        part(
            &mut digest,
            format!("{:?} {:?}", self.draws, self.also).as_bytes(),
        );
        digest
    }

    /// The word for a report of a run file whose text is `bytes`.
    pub(super) fn word(&self, file: &RunFile, bytes: &[u8]) -> String {
        let mut digest = self.digest();
        // The report names the file without its folders.
        let name = Path::new(&*file.file).file_name().unwrap_or_default();
        part(&mut digest, name.as_encoded_bytes());
        part(&mut digest, bytes);
        let beside = file
            .beside
            .iter()
            .map(|beside| (&beside.path, &*beside.bytes));
        let photos = file.photos.iter();
        let photos = photos.map(|photo| {
            (
                &photo.path.value,
                photo.bytes.as_deref().unwrap_or_default(),
            )
        });
        for (path, bytes) in beside.chain(photos) {
            part(&mut digest, path.as_bytes());
            part(&mut digest, bytes);
        }
        let mut word = String::new();
        for byte in digest.finalize() {
            let _ = write!(word, "{byte:02x}");
        }
        word
    }
}

/// Enters a part, so that no two lists of parts are alike.
fn part(digest: &mut Md5, bytes: &[u8]) {
    digest.update((bytes.len() as u64).to_le_bytes());
    digest.update(bytes);
}

/// Whether a whole report stands there that was made from what the word says.
pub(super) fn made_from(report: &Path, word: &str) -> bool {
    let Ok(bytes) = files::read(report, LARGEST_REPORT) else {
        return false;
    };
    let said = format!("{MADE_FROM}{word}\n");
    let head = &bytes[..bytes.len().min(HEAD)];
    let says = head.windows(said.len()).any(|part| part == said.as_bytes());
    says && bytes.trim_ascii_end().ends_with(b"%%EOF")
}
