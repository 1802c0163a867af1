//! Where what is made goes: each output is a file of Fillmark's own, or nothing is there yet, or it is refused.
//!
//! Links are not written through: the file that a link leads to may be somebody else's, and a report in the link's place
//! would part the two silently.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::command_error::CommandError;
use super::named::NamedRun;
use crate::files::{self, Standing};
use crate::pipeline::LARGEST_CARRIED;

/// The files that a command reads, by where they are, and what each of them is, in words.
#[derive(Debug, Default)]
pub(super) struct Inputs(BTreeMap<PathBuf, &'static str>);

impl Inputs {
    /// Returns the run files of some runs.
    pub(super) fn of_runs(runs: &[NamedRun]) -> Self {
        let mut inputs = Self::default();
        for run in runs.iter().filter(|run| !run.is_stream()) {
            inputs.add(run.path(), "a run file");
        }
        inputs
    }

    pub(super) fn add(&mut self, path: &Path, what: &'static str) {
        self.0.entry(files::resolved(path)).or_insert(what);
    }
}

/// Refuses outputs, each with the run file that it is made from, of which one is an input, whatever is forced, or two are
/// the same file.
pub(super) fn apart<'p>(
    outputs: impl IntoIterator<Item = (&'p Path, &'p Path)>,
    inputs: &[&Inputs],
) -> Result<(), CommandError> {
    let mut taken = BTreeMap::new();
    for (path, run) in outputs {
        let resolved = files::resolved(path);
        if let Some(what) = inputs.iter().find_map(|inputs| inputs.0.get(&resolved)) {
            return Err(CommandError::usage(format!(
                "`{}` is read as {what} and would be overwritten; nothing is written",
                path.display()
            )));
        }
        if let Some(other) = taken.insert(resolved, run) {
            let (other, one, path) = (other.display(), run.display(), path.display());
            return Err(CommandError::usage(
                if other.to_string() == one.to_string() {
                    format!("two outputs would both be `{path}`; nothing is written")
                } else {
                    format!(
                        "`{other}` and `{one}` would both be written to `{path}`; nothing is written"
                    )
                },
            ));
        }
    }
    Ok(())
}

/// Returns whether a file stands where an output goes. Links, folders, pipes and devices are refused, whatever is
/// forced.
pub(super) fn stands(path: &Path) -> Result<bool, CommandError> {
    let shown = path.display();
    match files::standing(path) {
        Ok(Standing::Nothing) => Ok(false),
        Ok(Standing::File) => Ok(true),
        Ok(Standing::Link) => Err(CommandError::usage(format!(
            "`{shown}` is a link and is not written to; name the file that it leads to"
        ))),
        Ok(Standing::Other(what)) => Err(CommandError::usage(format!(
            "`{shown}` is {what} and is not overwritten"
        ))),
        Err(error) => Err(CommandError::not_written(path, &error)),
    }
}

/// Refuses an output where a file stands that is not of its kind, unless that is forced.
pub(super) fn free(
    path: &Path,
    is_ours: impl Fn(&[u8]) -> bool,
    force: bool,
) -> Result<(), CommandError> {
    if !stands(path)? || force {
        return Ok(());
    }
    let why = match files::read(path, LARGEST_CARRIED as u64) {
        Ok(bytes) if is_ours(&bytes) => return Ok(()),
        Ok(_) => "was not made by Fillmark, or not as a file of this kind,".to_owned(),
        Err(error) => format!("cannot be read to see whether Fillmark made it ({error})"),
    };
    Err(CommandError::usage(format!(
        "`{}` {why} and is not overwritten; use `--force` to overwrite it",
        path.display()
    )))
}

/// Writes files, all or none of them, the last one last.
pub(super) fn write<'p>(
    files: impl IntoIterator<Item = (&'p Path, &'p [u8])>,
) -> Result<(), CommandError> {
    let mut set = files::Set::default();
    for (path, bytes) in files {
        set.add(path, bytes)
            .map_err(|error| CommandError::not_written(path, &error))?;
    }
    set.put()
        .map_err(|(path, error)| CommandError::not_written(&path, &error))
}
