//! Other forms of a report, written beside its PDF.

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::pipeline::not_set;
use super::terminal::Terminal;
use super::{Ending, LARGEST_CARRIED};
use crate::files;
use crate::layout::Style;
use crate::manuscript::Manuscript;
use crate::markup::{self, Look};
use crate::problem::Problem;
use crate::typeface::Typefaces;

/// A form of a report beside the PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum Form {
    /// STEM.md and a STEM.….svg for each plot: to paste into a wiki
    Markdown,
    /// STEM.html, one page that stands alone: to read on a phone
    Html,
}

impl Form {
    /// Where the form of a report stands.
    pub(super) fn path(self, output: &Path) -> PathBuf {
        output.with_extension(match self {
            Self::Markdown => "md",
            Self::Html => "html",
        })
    }
}

/// A manuscript in other forms than the PDF: names of files, which begin with `stem`, and what is in them.
///
/// # Errors
/// The first thing that cannot be set.
pub fn forms(
    manuscript: &Manuscript,
    style: &Style,
    stem: &str,
    forms: &[Form],
) -> Result<Vec<(String, String)>, Vec<Problem>> {
    let typefaces = Typefaces::shared();
    let mut wanted = forms.to_vec();
    wanted.sort();
    wanted.dedup();
    let mut made = Vec::new();
    for form in wanted {
        match form {
            Form::Markdown => {
                let markdown = markup::markdown(manuscript, typefaces, style.accent, stem)
                    .map_err(|failure| vec![not_set(&failure)])?;
                made.push((format!("{stem}.md"), markdown.text));
                made.extend(markdown.plots);
            }
            Form::Html => {
                let look = Look {
                    accent: style.accent,
                    tint: style.tint(),
                    head: style.head.clone(),
                    logo: style.logo.clone(),
                };
                let html = markup::html(manuscript, typefaces, &look)
                    .map_err(|failure| vec![not_set(&failure)])?;
                made.push((format!("{stem}.html"), html));
            }
        }
    }
    Ok(made)
}

/// The stem that the files of other forms share with a report.
pub(super) fn stem(output: &Path) -> String {
    output
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// Where the files of other forms go, beside the report; none of them may be one of `taken`, and without `force` none may
/// be there that is not Fillmark's.
pub(super) fn placed<'f>(
    made: &'f [(String, String)],
    output: &Path,
    taken: &[PathBuf],
    force: bool,
    terminal: &mut Terminal,
) -> Result<Vec<(PathBuf, &'f [u8])>, Ending> {
    let taken: Vec<PathBuf> = taken.iter().map(|path| files::resolved(path)).collect();
    let mut placed = Vec::with_capacity(made.len());
    for (name, text) in made {
        let path = output.with_file_name(name);
        if taken.contains(&files::resolved(&path)) {
            terminal.complain(&format!(
                "`{}` is read or written as well and would be written over; nothing is written",
                path.display()
            ));
            return Err(Ending::Usage);
        }
        if !force && path.exists() && !is_ours(&path) {
            terminal.complain(&format!(
                "`{}` was not made by Fillmark and is not written over; `--force` does so",
                path.display()
            ));
            return Err(Ending::Usage);
        }
        placed.push((path, text.as_bytes()));
    }
    Ok(placed)
}

fn is_ours(path: &Path) -> bool {
    files::read(path, LARGEST_CARRIED as u64).is_ok_and(|bytes| markup::is_ours(&bytes))
}
