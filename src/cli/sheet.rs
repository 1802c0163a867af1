//! `fillmark sheet`: a run file with blanks into a sheet to print and write on, or a page to fill in.

use std::path::{Path, PathBuf};

use clap::Args;

use super::command_error::CommandError;
use super::fingerprint::word_of;
use super::outputs::{self, Inputs};
use super::style_args::{own, styled};
use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, other_formats, read_run_file};
use crate::bench::runfile::unfinished::{Unfinished, read_unfinished};
use crate::files;
use crate::pipeline::{self, not_set};
use crate::print::layout::Style;
use crate::print::manuscript::Manuscript;
use crate::print::markup::{self, Form};
use crate::print::pdf;
use crate::print::typeface::Typefaces;
use crate::problem::{Problem, Sources};
use crate::report::sheet::{self, Request};
use crate::report::templates::Templates;

/// A sheet says what it was made from after this word; a report says it without.
const SHEET: &str = "sheet";

/// Make a sheet to print and write readings on, from a run file with blanks.
#[derive(Debug, Args)]
pub(super) struct Sheet {
    /// The run file (YAML).
    #[arg(value_name = "RUN.yaml")]
    run: PathBuf,
    /// Make a page to fill in with a browser instead, which saves the run file.
    #[arg(long)]
    html: bool,
    /// Leave out expected values, e.g. for a class.
    #[arg(long)]
    without_expected: bool,
    /// A folder whose templates (*.md) are used in place of those of the same name.
    #[arg(long, value_name = "DIR")]
    template: Option<PathBuf>,
    /// The style file (YAML): paper, margins, sizes, colour, head line and logo.
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
    /// Overwrite a file that is not a sheet by Fillmark.
    #[arg(long)]
    force: bool,
}

impl Sheet {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let mut inputs = Inputs::default();
        inputs.add(&self.run, "a run file");
        let templates = match &self.template {
            None => Templates::sheet(),
            Some(folder) if folder.is_dir() => {
                own(Templates::sheet(), folder, &mut inputs, terminal)?
            }
            Some(folder) => {
                let line = format!("`{}` is not a folder of templates", folder.display());
                return Err(CommandError::usage(line));
            }
        };
        let style = styled(self.style.as_deref(), &mut inputs)?;
        let bytes = read_run_file(&self.run)
            .map_err(|problem| CommandError::of_problem(Ending::Machine, problem))?;
        let name = self.run.to_string_lossy();
        let beside = BesideOnDisk(&self.run);
        let (run, problems) = read_unfinished(&name, &bytes, &beside);
        let sources = Sources::new(&*name, String::from_utf8_lossy(&bytes));
        terminal.problems(&problems, &sources);
        let no_sheet = || CommandError::new(Ending::Problems, format!("{name}: no sheet is made"));
        let run = run.ok_or_else(no_sheet)?;
        let output = self
            .run
            .with_extension(if self.html { "sheet.html" } else { "sheet.pdf" });
        self.free(&output, &inputs)?;
        let word = word_of(&bytes);
        let (made, warnings) = self
            .set(&run, &templates, &style, &word)
            .map_err(|problems| no_sheet().with(problems, templates.sources()))?;
        terminal.problems(&warnings, &sources);
        files::clear(files::folder_of(&output));
        let _claim =
            files::claim(&output).map_err(|error| CommandError::not_written(&output, &error))?;
        outputs::write([(&*output, &*made)])?;
        let (blank, required) = sheet::blanks(&run);
        let told = match (blank, required) {
            (0, _) => "no entry is blank".to_owned(),
            (1, _) => "1 entry to fill in".to_owned(),
            (blank, required) => format!("{blank} entries to fill in, {required} of them required"),
        };
        terminal.say(&format!("sheet: {}, {told}", output.display()));
        Ok(Ending::Done)
    }

    /// Refuses an output that is an input, or not a sheet of Fillmark's.
    fn free(&self, output: &Path, inputs: &Inputs) -> Result<(), CommandError> {
        outputs::apart([(output, self.run.as_path())], &[inputs])?;
        outputs::free(output, is_sheet, self.force)
    }

    /// Returns the bytes of the sheet or of the page, and warnings met on the way.
    fn set(
        &self,
        run: &Unfinished,
        templates: &Templates,
        style: &Style,
        word: &str,
    ) -> Result<(Vec<u8>, Vec<Problem>), Vec<Problem>> {
        let file = self.run.file_name().unwrap_or_default().to_string_lossy();
        let manuscript = sheet::manuscript(
            run,
            &file,
            Request {
                expected: !self.without_expected,
                page: self.html,
            },
            templates,
        )?;
        let made_from = format!("{SHEET}{word}");
        if self.html {
            let page = page(run, &file, &manuscript, style, word, &made_from);
            return page.map(|page| (page.into_bytes(), Vec::new()));
        }
        pipeline::set(manuscript, Vec::new(), style, &made_from)
    }
}

/// Returns the page to fill in.
fn page(
    run: &Unfinished,
    file: &str,
    manuscript: &Manuscript,
    style: &Style,
    word: &str,
    made_from: &str,
) -> Result<String, Vec<Problem>> {
    let look = other_formats::look(style);
    let data = sheet::data(run, file, word.to_owned()).map_err(not_set)?;
    let form = Form {
        css: sheet::CSS,
        above: sheet::ABOVE,
        below: sheet::BELOW,
        data: &data,
        script: sheet::SCRIPT,
    };
    markup::with_form(manuscript, Typefaces::shared(), &look, made_from, &form).map_err(not_set)
}

/// Returns whether a file's bytes are those of a sheet or page written here.
fn is_sheet(bytes: &[u8]) -> bool {
    let page = || Some(markup::written(bytes)?.made_from);
    let said = pdf::made_from(bytes).or_else(page);
    said.is_some_and(|said| said.starts_with(SHEET))
}
