//! The run files that a command line names: one by one, by a folder, by a pattern, or on stdin.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::command_error::CommandError;
use super::terminal::Terminal;
use super::{BesideOnDisk, Ending, LARGEST_RUN_FILE, read_run_file};
use crate::bench::runfile::benches::{self, Bench, Table, file_part, has_benches};
use crate::bench::runfile::{has_keys_of_a_run, without_known};
use crate::files;
use crate::pipeline::{self, Run};
use crate::problem::{Problem, Sources};

/// What stands in place of a file for stdin or stdout.
const STREAM: &str = "-";
/// The name of a run file that is read from stdin, in messages and in its report.
const FROM_STDIN: &str = "stdin.yaml";
/// Endings of run files in a folder.
const ENDINGS: [&str; 2] = ["yaml", "yml"];
/// The ending of reports.
const REPORT: &str = "pdf";

/// What a command takes of a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Takes {
    /// Its run files.
    Runs,
    /// Its run files, or its reports where it has none.
    RunsOrReports,
}

/// Returns whether a path stands for stdin or stdout.
pub(super) fn is_stream(path: &Path) -> bool {
    path.as_os_str() == STREAM
}

/// Returns the file that a run file would be, were it no stream.
pub(super) fn as_file(path: &Path) -> &Path {
    if is_stream(path) {
        Path::new(FROM_STDIN)
    } else {
        path
    }
}

/// A run that a command line names: a run file, or a line of the table of runs that a run file names.
#[derive(Debug)]
pub(super) struct NamedRun {
    /// The run file, or what stands for stdin.
    path: PathBuf,
    line: Option<Line>,
    /// Whether it is read without the section `known`.
    without_known: bool,
}

/// A line of a table of runs.
#[derive(Debug)]
struct Line {
    bench: Bench,
    table: Arc<Table>,
}

impl NamedRun {
    /// Returns the run file, or what stands for stdin.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Returns the table that has its run in a line.
    pub(super) fn table(&self) -> Option<PathBuf> {
        let line = self.line.as_ref()?;
        Some(self.path.with_file_name(&line.table.path))
    }

    /// Returns whether it comes from stdin.
    pub(super) fn is_stream(&self) -> bool {
        is_stream(&self.path)
    }

    /// Returns the run file that it would be if it stood in a file of its own, by which its report is named.
    pub(super) fn file(&self) -> PathBuf {
        let Some(line) = &self.line else {
            return as_file(&self.path).to_path_buf();
        };
        let mut name = self.path.file_stem().unwrap_or_default().to_owned();
        name.push(".");
        name.push(file_part(&line.bench.name));
        name.push(".");
        name.push(ENDINGS[0]);
        self.path.with_file_name(name)
    }

    /// Returns the bench, or the file's name without its ending.
    pub(super) fn bench(&self) -> String {
        self.line.as_ref().map_or_else(
            || {
                self.file()
                    .file_stem()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned()
            },
            |line| line.bench.name.clone(),
        )
    }

    /// Returns its name in messages.
    pub(super) fn shown(&self) -> String {
        self.file().to_string_lossy().into_owned()
    }

    /// Leaves the section `known` out when it is read.
    pub(super) fn leave_out_known(&mut self) {
        self.without_known = true;
    }

    /// Returns the text of its run file.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub(super) fn read(&self) -> Result<Vec<u8>, Problem> {
        let text = match &self.line {
            Some(line) => line.bench.text().into_bytes(),
            None => read_run_file(&self.path)?,
        };
        if self.without_known {
            return without_known(&self.shown(), &text);
        }
        Ok(text)
    }

    /// Returns its run, read and reduced from its text; what is wrong, and where.
    pub(super) fn reduced<'b>(
        &'b self,
        bytes: &'b [u8],
    ) -> (Option<Run>, Vec<Problem>, Sources<'b>) {
        let beside = BesideOnDisk(&self.path);
        let Some(Line { bench, table }) = &self.line else {
            return pipeline::read_beside(&self.shown(), bytes, &beside);
        };
        let name = self.path.to_string_lossy();
        let (mut run, problems, sources) =
            pipeline::read_bench(&name, bench, self.without_known, &beside);
        if let Some(run) = &mut run {
            run.file.file = self.shown().into();
        }
        (run, problems, sources.with(&*table.name, &*table.text))
    }
}

/// Returns the runs named, each file once: folders and patterns are replaced by their run files, in the order of their
/// names, and a run file with a table of runs by the runs of its lines.
///
/// # Errors
/// Where a folder cannot be read, or holds no run file, or a pattern matches none.
pub(super) fn runs(
    named: &[PathBuf],
    takes: Takes,
    terminal: &mut Terminal,
) -> Result<(Vec<NamedRun>, Ending), CommandError> {
    let (mut all, mut ending) = (Vec::new(), Ending::Done);
    for path in run_files(named, takes, terminal)? {
        let bytes = if is_stream(&path) {
            Vec::new()
        } else {
            // A file that cannot be read is left to whoever reads it.
            files::read(&path, LARGEST_RUN_FILE).unwrap_or_default()
        };
        if !has_benches(&bytes) {
            all.push(NamedRun {
                path,
                line: None,
                without_known: false,
            });
            continue;
        }
        let name = path.to_string_lossy();
        let mut found = benches::read(&name, &bytes, &BesideOnDisk(&path));
        found.problems.sort_by_key(|problem| problem.severity);
        let mut sources = Sources::new(&*name, String::from_utf8_lossy(&bytes));
        if let Some(table) = &found.table {
            sources = sources.with(&*table.name, &*table.text);
        }
        terminal.problems(&found.problems, &sources);
        let (Some(benches), Some(table)) = (found.benches, found.table) else {
            ending = ending.max(Ending::Problems);
            continue;
        };
        let table = Arc::new(table);
        all.extend(benches.into_iter().map(|bench| NamedRun {
            path: path.clone(),
            line: Some(Line {
                bench,
                table: Arc::clone(&table),
            }),
            without_known: false,
        }));
    }
    Ok((all, ending))
}

fn run_files(
    named: &[PathBuf],
    takes: Takes,
    terminal: &mut Terminal,
) -> Result<Vec<PathBuf>, CommandError> {
    let mut all = Vec::new();
    let mut known = BTreeSet::new();
    for path in named {
        let found = if path.is_dir() {
            in_folder(path, takes, terminal)?
        } else if is_pattern(path) {
            matching(path)?
        } else {
            // A file that is named twice is an error when its report is written.
            known.insert(files::resolved(path));
            all.push(path.clone());
            continue;
        };
        let mut new = |run: &PathBuf| known.insert(files::resolved(run));
        all.extend(found.into_iter().filter(|run| new(run)));
    }
    Ok(all)
}

/// Returns the run files of a folder; files that have no key of a run file, such as a style file, are passed over.
fn in_folder(
    folder: &Path,
    takes: Takes,
    terminal: &mut Terminal,
) -> Result<Vec<PathBuf>, CommandError> {
    let shown = folder.display();
    let not_read =
        |error: std::io::Error| CommandError::not_read(&format!("the folder `{shown}`"), &error);
    let entries = std::fs::read_dir(folder).map_err(not_read)?;
    let (mut found, mut reports) = (Vec::new(), Vec::new());
    for entry in entries {
        let path = entry.map_err(not_read)?.path();
        let path = path
            .strip_prefix(".")
            .map_or(path.clone(), Path::to_path_buf);
        let ending = path.extension().and_then(|ending| ending.to_str());
        let is_yaml = ending.is_some_and(|ending| ENDINGS.contains(&ending));
        if is_yaml && path.is_file() {
            found.push(path);
        } else if ending == Some(REPORT) && path.is_file() {
            reports.push(path);
        }
    }
    found.sort();
    reports.sort();
    let mut runs = Vec::new();
    for path in found {
        // A file that cannot be read is left to whoever reads it.
        let bytes = files::read(&path, LARGEST_RUN_FILE);
        if bytes.is_ok_and(|bytes| !has_keys_of_a_run(&bytes)) {
            terminal.say(&format!("{}: not a run file, skipped", path.display()));
        } else {
            runs.push(path);
        }
    }
    if runs.is_empty() && takes == Takes::RunsOrReports {
        runs = reports;
    }
    if runs.is_empty() {
        let endings = ENDINGS.map(|ending| format!(".{ending}")).join(" or ");
        let message = format!("`{shown}` is a folder without run files ({endings})");
        return Err(CommandError::usage(message));
    }
    Ok(runs)
}

/// Returns whether a path that names no file is a pattern, which a shell has left as it was.
fn is_pattern(path: &Path) -> bool {
    !path.exists() && path.to_string_lossy().contains(['*', '?', '['])
}

fn matching(pattern: &Path) -> Result<Vec<PathBuf>, CommandError> {
    let pattern = pattern.to_string_lossy();
    let paths = glob::glob(&pattern).map_err(|error| {
        let message = format!("`{pattern}` is neither a file nor a pattern of file names: {error}");
        CommandError::usage(message)
    })?;
    // Folders that may not be read hold nothing for this user.
    let found: Vec<PathBuf> = paths.flatten().filter(|path| path.is_file()).collect();
    if found.is_empty() {
        return Err(CommandError::usage(format!("no file matches `{pattern}`")));
    }
    Ok(found)
}
