//! Other forms of a report, written beside its PDF.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use crate::pipeline::not_set;
use crate::print::layout::Style;
use crate::print::manuscript::Manuscript;
use crate::print::markup::{self, Look};
use crate::print::typeface::Typefaces;
use crate::problem::Problem;

/// A form of a report beside the PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum Form {
    /// STEM.md, and a STEM.….svg for each plot, to paste into a wiki
    Markdown,
    /// STEM.html, a self-contained page to read on a phone
    Html,
}

impl Form {
    /// Returns what the name of its file has after the stem.
    fn ending(self) -> &'static str {
        match self {
            Self::Markdown => "md",
            Self::Html => "html",
        }
    }

    /// Returns where the form of a report stands.
    pub(super) fn path(self, output: &Path) -> PathBuf {
        beside(output, self.ending())
    }
}

/// Returns where a file of another form stands, by what its name has after the stem that it shares with the report.
pub(super) fn beside(output: &Path, ending: &str) -> PathBuf {
    let mut name = stem(output).to_owned();
    name.push(".");
    name.push(ending);
    output.with_file_name(name)
}

/// Returns the stem that the files of other forms share with a report.
pub(super) fn stem(output: &Path) -> &OsStr {
    output.file_stem().unwrap_or_default()
}

/// Returns what a page takes of a style.
pub(super) fn look(style: &Style) -> Look {
    Look {
        accent: style.accent,
        tint: style.tint(),
        head: style.head.clone(),
        logo: style.logo.clone(),
    }
}

/// Returns a manuscript in other forms than the PDF: what the names of files have after `stem` and a point, and what is
/// in them. Each says that it was `made_from` that, a word of letters and digits, if it is not empty.
///
/// # Errors
/// The first thing that cannot be set.
pub fn forms(
    manuscript: &Manuscript,
    style: &Style,
    stem: &OsStr,
    made_from: &str,
    forms: &[Form],
) -> Result<Vec<(String, String)>, Vec<Problem>> {
    let typefaces = Typefaces::shared();
    let mut made = Vec::new();
    for form in forms {
        let ending = form.ending().to_owned();
        match form {
            Form::Markdown => {
                let markdown =
                    markup::markdown(manuscript, typefaces, style.accent, stem, made_from)
                        .map_err(not_set)?;
                made.push((ending, markdown.text));
                made.extend(markdown.plots);
            }
            Form::Html => {
                let html = markup::html(manuscript, typefaces, &look(style), made_from)
                    .map_err(not_set)?;
                made.push((ending, html));
            }
        }
    }
    Ok(made)
}
