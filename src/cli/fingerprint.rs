//! What a report and the files beside it were made from, as one short word: reports of unchanged inputs need not be made
//! again, and what belongs to another issue is known.
//!
//! The word is a digest in a comment near the beginning of the file; a report is complete if its end is there too. The
//! record of issues has its own digest, as it says what the report replaced, not what it was made from. HTML, Markdown and
//! SVG files hold both words and a digest of themselves, and Markdown names its plots: files belong together if they have
//! the same words. The PDF is put in its place last, so that a PDF of the new issue vouches for all files.

use std::fmt::Write as _;
use std::path::Path;

use md5::{Digest, Md5};

use super::other_formats::{self, Form};
use crate::bench::revision::Record;
use crate::bench::runfile::model::RunFile;
use crate::files;
use crate::pipeline::{self, LARGEST_CARRIED, LARGEST_REPORT};
use crate::print::layout::Style;
use crate::print::markup;
use crate::print::page::Samples;
use crate::print::pdf;
use crate::report::templates::Templates;

/// What a report is made with, beside the run file and what it names.
#[derive(Debug)]
pub(super) struct Options<'a> {
    pub(super) templates: &'a Templates,
    pub(super) style: &'a Style,
    /// Draws of a Monte Carlo check, where one is asked for.
    pub(super) draws: Option<usize>,
    /// Other forms that it is written in.
    pub(super) also: &'a [Form],
}

impl Options<'_> {
    /// Returns a digest of the means and this program's version.
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
        part(&mut digest, format!("{:?}", self.draws).as_bytes());
        digest
    }

    /// Returns the word for what a report of a run file is made from, apart from the record of its issues; `bytes` is
    /// the run file's text.
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
        hexadecimal(digest)
    }
}

/// Returns a word that tells one file from another, by all that is in it.
pub(super) fn word_of(bytes: &[u8]) -> String {
    hexadecimal(Md5::new_with_prefix(bytes))
}

fn hexadecimal(digest: Md5) -> String {
    let mut word = String::new();
    for byte in digest.finalize() {
        let _ = write!(word, "{byte:02x}");
    }
    word
}

/// Returns all that a report and the files beside it are made from: the word for the inputs, and one for the record of
/// issues. Files that say the same belong together.
pub(super) fn made_from(word: &str, record: &Record) -> String {
    let record = record.json().unwrap_or_default();
    format!("{word}{}", hexadecimal(Md5::new_with_prefix(record)))
}

/// Enters a part, so that no two lists of parts are alike.
fn part(digest: &mut Md5, bytes: &[u8]) {
    digest.update((bytes.len() as u64).to_le_bytes());
    digest.update(bytes);
}

/// Returns whether the report exists, whole and made from the inputs that the word identifies, and with it all forms
/// asked for, and the results if asked for, each whole and of the same issue.
pub(super) fn is_up_to_date(
    report: &Path,
    word: &str,
    forms: &[Form],
    results: Option<&Path>,
) -> bool {
    let Some(made_from) = says(report, word) else {
        return false;
    };
    let said = |path: &Path| {
        let bytes = files::read(path, LARGEST_CARRIED as u64).ok()?;
        markup::written(&bytes).filter(|written| written.made_from == made_from)
    };
    let results_stand = results.is_none_or(|path| {
        let bytes = files::read(path, LARGEST_CARRIED as u64);
        bytes.is_ok_and(|bytes| pipeline::results_made_from(&bytes).as_deref() == Some(&made_from))
    });
    results_stand
        && forms.iter().all(|form| {
            said(&form.path(report)).is_some_and(|written| {
                let mut plots = written.plots.iter();
                plots.all(|plot| said(&other_formats::beside(report, plot)).is_some())
            })
        })
}

/// Returns what a whole report says that it was made from, if the inputs are those that the word says.
fn says(report: &Path, word: &str) -> Option<String> {
    if files::standing(report).ok()? != files::Standing::File {
        return None;
    }
    let bytes = files::read(report, LARGEST_REPORT).ok()?;
    let said = pdf::made_from(&bytes).filter(|said| said.starts_with(word))?;
    let is_whole = bytes.trim_ascii_end().ends_with(b"%%EOF");
    is_whole.then_some(said)
}
