//! The run files that a command line names: one by one, by a folder, by a pattern, or on stdin.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::terminal::Terminal;
use super::{Ending, LARGEST_RUN_FILE};
use crate::files;
use crate::runfile::has_keys_of_a_run;

/// What stands in place of a file for stdin or stdout.
const STREAM: &str = "-";
/// The name of a run file that is read from stdin, in messages and in its report.
const FROM_STDIN: &str = "stdin.yaml";
/// Endings of run files in a folder.
const ENDINGS: [&str; 2] = ["yaml", "yml"];

/// Whether a path stands for stdin or stdout.
pub(super) fn is_stream(path: &Path) -> bool {
    path.as_os_str() == STREAM
}

/// The file that a run file would be, were it no stream.
pub(super) fn as_file(path: &Path) -> &Path {
    if is_stream(path) {
        Path::new(FROM_STDIN)
    } else {
        path
    }
}

/// The name of a run file in messages.
pub(super) fn shown(path: &Path) -> String {
    as_file(path).to_string_lossy().into_owned()
}

/// The run files named, each once: folders and patterns are replaced by their run files, in the order of their names.
///
/// # Errors
/// How the command ends where a folder cannot be read, or holds no run file, or a pattern matches none.
pub(super) fn run_files(
    named: &[PathBuf],
    terminal: &mut Terminal,
) -> Result<Vec<PathBuf>, Ending> {
    let mut all = Vec::new();
    let mut known = BTreeSet::new();
    for path in named {
        if path.is_dir() {
            let found = in_folder(path, terminal)?;
            all.extend(
                found
                    .into_iter()
                    .filter(|run| known.insert(files::resolved(run))),
            );
        } else if is_pattern(path) {
            let found = matching(path, terminal)?;
            all.extend(
                found
                    .into_iter()
                    .filter(|run| known.insert(files::resolved(run))),
            );
        } else {
            // A file that is named twice is told of by whoever writes its report.
            known.insert(files::resolved(path));
            all.push(path.clone());
        }
    }
    Ok(all)
}

fn refused(message: &str, terminal: &mut Terminal) -> Ending {
    terminal.complain(message);
    Ending::Usage
}

/// The run files of a folder; files that have no key of a run file, such as a style file, are passed over.
fn in_folder(folder: &Path, terminal: &mut Terminal) -> Result<Vec<PathBuf>, Ending> {
    let shown = folder.display();
    let not_read = |error: &std::io::Error, terminal: &mut Terminal| {
        terminal.complain(&format!("the folder `{shown}` cannot be read: {error}"));
        Ending::Machine
    };
    let entries = std::fs::read_dir(folder).map_err(|error| not_read(&error, terminal))?;
    let mut found = Vec::new();
    for entry in entries {
        let path = entry.map_err(|error| not_read(&error, terminal))?.path();
        let path = path.strip_prefix(".").map_or(path.clone(), Path::to_path_buf);
        let ending = path.extension().and_then(|ending| ending.to_str());
        let is_yaml = ending.is_some_and(|ending| ENDINGS.contains(&ending));
        if is_yaml && path.is_file() {
            found.push(path);
        }
    }
    found.sort();
    let mut runs = Vec::new();
    for path in found {
        // A file that cannot be read is left to whoever reads it.
        let bytes = files::read(&path, LARGEST_RUN_FILE);
        if bytes.is_ok_and(|bytes| !has_keys_of_a_run(&bytes)) {
            terminal.say(&format!("{}: no run file, passed over", path.display()));
        } else {
            runs.push(path);
        }
    }
    if runs.is_empty() {
        let endings = ENDINGS.map(|ending| format!(".{ending}")).join(" or ");
        let message = format!("`{shown}` is a folder without run files ({endings})");
        return Err(refused(&message, terminal));
    }
    Ok(runs)
}

/// Whether a path that names no file is a pattern, which a shell has left as it was.
fn is_pattern(path: &Path) -> bool {
    !path.exists() && path.to_string_lossy().contains(['*', '?', '['])
}

fn matching(pattern: &Path, terminal: &mut Terminal) -> Result<Vec<PathBuf>, Ending> {
    let pattern = pattern.to_string_lossy();
    let paths = glob::glob(&pattern).map_err(|error| {
        let message = format!("`{pattern}` is no file and no pattern of file names: {error}");
        refused(&message, terminal)
    })?;
    // Folders that may not be read hold nothing for this user.
    let found: Vec<PathBuf> = paths.flatten().filter(|path| path.is_file()).collect();
    if found.is_empty() {
        return Err(refused(&format!("no file matches `{pattern}`"), terminal));
    }
    Ok(found)
}
