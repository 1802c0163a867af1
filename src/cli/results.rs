//! Where results go for other programs: a JSON file of one run, one for each run in a folder, or one table of all.

use std::path::{Path, PathBuf};

use super::command_error::CommandError;
use super::named::NamedRun;
use super::outputs::{self, Inputs};
use super::report_job::{self, Outcome, Target};
use super::stdout::document;
use super::{Ending, named};
use crate::bench::reduce;
use crate::bench::revision::stated_results;
use crate::bench::runfile::model::RunFile;
use crate::files;
use crate::pipeline::{self, Run};
use crate::report::compare::cell;

/// The heading of the table, by which a table is known as ours.
const HEADING: [&str; 14] = [
    "file",
    "title",
    "date",
    "analysts",
    "solution",
    "kind",
    "quantity",
    "value",
    "unit",
    "standard_uncertainty",
    "degrees_of_freedom",
    "coverage_factor",
    "expanded_uncertainty",
    "as_reported",
];

/// Where the results of a command go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Results<'p> {
    /// They are not asked for.
    Nowhere,
    /// Those of one run to this JSON file, or to stdout.
    File(&'p Path),
    /// Those of each run to a JSON file of its name in this folder.
    Folder(&'p Path),
    /// The main ones of all runs to this CSV file.
    Table(&'p Path),
}

impl<'p> Results<'p> {
    /// Returns what the option asks for, with so many runs.
    ///
    /// # Errors
    /// Where several runs would be written to one JSON file.
    pub(super) fn new(path: Option<&'p Path>, runs: usize) -> Result<Self, CommandError> {
        let Some(path) = path else {
            return Ok(Self::Nowhere);
        };
        let ending = path.extension().and_then(|ending| ending.to_str());
        match ending.map(str::to_lowercase).as_deref() {
            Some("csv") => Ok(Self::Table(path)),
            _ if path.is_dir() => Ok(Self::Folder(path)),
            _ if runs == 1 => Ok(Self::File(path)),
            None if !named::is_stream(path) => Ok(Self::Folder(path)),
            _ => Err(CommandError::usage(format!(
                "`--results {}` names one file for {runs} runs; name a folder for one file of each run, or a file \
                 ending in .csv for one table of all",
                path.display()
            ))),
        }
    }

    /// Returns the JSON file of a run.
    pub(super) fn file_of(self, run: &NamedRun) -> Option<PathBuf> {
        match self {
            Self::Nowhere | Self::Table(_) => None,
            Self::File(path) => Some(path.to_path_buf()),
            Self::Folder(folder) => {
                let name = run.file().with_extension("json");
                Some(folder.join(name.file_name().unwrap_or_default()))
            }
        }
    }

    /// Returns the folder made, and the place of the table looked at, before any work is done; a table is never an
    /// input.
    ///
    /// # Errors
    /// Why it cannot be written.
    pub(super) fn prepared(self, inputs: &Inputs, force: bool) -> Result<(), CommandError> {
        match self {
            Self::Nowhere | Self::File(_) => Ok(()),
            Self::Folder(folder) => files::make_folder(folder)
                .map_err(|error| CommandError::not_written(folder, &error)),
            Self::Table(path) => {
                outputs::apart([(path, path)], &[inputs])?;
                outputs::free(path, is_table, force)
            }
        }
    }

    /// Returns the table, where it is one.
    pub(super) fn table(self) -> Option<&'p Path> {
        match self {
            Self::Table(path) => Some(path),
            _ => None,
        }
    }

    /// Returns whether results are written to stdout, where nothing else may stand then.
    pub(super) fn goes_to_stdout(self) -> bool {
        matches!(self, Self::File(path) if named::is_stream(path))
    }
}

/// Writes the results of a run that is checked only.
pub(super) fn write(run: &Run, path: &Path, inputs: &Inputs) -> Result<(), CommandError> {
    let json = run
        .results_json()
        .map_err(|problem| CommandError::new(Ending::Problems, &*problem.headline))?;
    if named::is_stream(path) {
        return document(&json).map(|_| ());
    }
    outputs::apart([(path, path)], &[inputs])?;
    outputs::free(path, pipeline::is_results, false)?;
    write_file(path, json.as_bytes())
}

fn write_file(path: &Path, bytes: &[u8]) -> Result<(), CommandError> {
    files::clear(files::folder_of(path));
    outputs::write([(path, bytes)])
}

/// Returns whether a file's beginning is that of a table written here.
fn is_table(bytes: &[u8]) -> bool {
    bytes.starts_with(HEADING.join(",").as_bytes())
}

/// What a table of results has of a run, and what the run was read from.
#[derive(Debug, Default)]
pub(super) struct Entry {
    lines: String,
    beside: Vec<PathBuf>,
}

impl Entry {
    /// Of a report that was made, or is unchanged; a run that could not be reported has no lines.
    pub(super) fn new(order: &Target, made: &Outcome) -> Self {
        let Some(run) = &made.run else {
            return Self::default();
        };
        let mut entry = Self::checked(order.run, &run.file, &run.results);
        if made.ending != Ending::Done {
            entry.lines.clear();
        }
        entry
    }

    /// Of a run that was checked.
    pub(super) fn checked(
        named: &NamedRun,
        run: &RunFile,
        results: &reduce::results::Results,
    ) -> Self {
        let beside = report_job::beside(named, run).into_iter();
        Self {
            lines: lines(run, results),
            beside: beside.map(|(path, _)| path).collect(),
        }
    }
}

/// The table of the main results of all runs.
#[derive(Debug)]
pub(super) struct Table {
    text: String,
    /// Files that its runs were read from.
    inputs: Inputs,
}

impl Table {
    pub(super) fn new() -> Self {
        Self {
            text: HEADING.join(",") + "\n",
            inputs: Inputs::default(),
        }
    }

    /// Adds a run.
    pub(super) fn add(&mut self, entry: &Entry) {
        self.text += &entry.lines;
        for path in &entry.beside {
            self.inputs.add(path, "a file beside a run file");
        }
    }

    /// Writes the table.
    pub(super) fn write(&self, path: &Path) -> Result<(), CommandError> {
        outputs::apart([(path, path)], &[&self.inputs])?;
        write_file(path, self.text.as_bytes())
    }
}

/// Returns the lines of a run in the table of all.
fn lines(run: &RunFile, results: &reduce::results::Results) -> String {
    let head = [
        cell(&run.file),
        cell(&run.title.value),
        run.date.value.to_string(),
        cell(&run.analysts.join(", ")),
    ]
    .join(",");
    let mut lines = String::new();
    for ((name, quantity), stated) in stated_results(results) {
        let is_unknown = results.unknowns.iter().any(|(unknown, _)| unknown == name);
        let kind = if is_unknown { "unknown" } else { "made" };
        let dof = stated.dof.map_or_else(String::new, |dof| dof.to_string());
        lines += &format!(
            "{head},{},{kind},{quantity},{},{},{},{dof},{},{},{}\n",
            cell(name),
            stated.value,
            cell(stated.unit),
            stated.standard_uncertainty,
            stated.coverage_factor,
            stated.expanded_uncertainty,
            cell(&stated.shown),
        );
    }
    lines
}
