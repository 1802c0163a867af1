//! A run as it stood earlier: from a run file, or from the report that it was made into.

use std::path::Path;

use super::carried::{self, Carried};
use super::pipeline::{self, Run};
use super::{BesideOnDisk, LARGEST_CARRIED, LARGEST_RUN_FILE};
use crate::files;
use crate::revision::Record;
use crate::runfile::Beside;

/// The largest report read, bytes.
pub(super) const LARGEST_REPORT: u64 = 256_000_000;

/// The name under which a report carries the record of its issues.
pub(super) const RECORD: &str = "record_of_issues.json";

/// A run as it stood.
pub(super) struct Earlier {
    pub(super) run: Run,
    /// The issues of the report so far; none of a run file.
    pub(super) record: Record,
}

/// Why there is none.
pub(super) enum NotEarlier {
    /// The file is no report made here that can be read: why, in words to follow its name.
    Foreign(String),
    /// In words, to follow the name of the file.
    Because(String),
}

impl NotEarlier {
    pub(super) fn why(self) -> String {
        match self {
            Self::Foreign(why) | Self::Because(why) => why,
        }
    }
}

/// Reads a run as it stood in a file, a report or a run file.
pub(super) fn read(path: &Path) -> Result<Earlier, NotEarlier> {
    let because = |why: String| NotEarlier::Because(why);
    let bytes = files::read(path, LARGEST_REPORT)
        .map_err(|error| because(format!("cannot be read: {error}")))?;
    if bytes.starts_with(b"%PDF") {
        return from_report(path, &bytes);
    }
    if bytes.len() as u64 > LARGEST_RUN_FILE {
        return Err(because("is too large for a run file".into()));
    }
    let run = reduced(path, &bytes, &BesideOnDisk(path))?;
    let record = Record::default();
    Ok(Earlier { run, record })
}

/// The same of a report that is to be written over; anything but a report is [`NotEarlier::Foreign`].
pub(super) fn of_report(path: &Path) -> Result<Earlier, NotEarlier> {
    let bytes = files::read(path, LARGEST_REPORT)
        .map_err(|error| NotEarlier::Because(format!("cannot be read: {error}")))?;
    from_report(path, &bytes)
}

fn from_report(path: &Path, bytes: &[u8]) -> Result<Earlier, NotEarlier> {
    let carried = carried::read(bytes, LARGEST_CARRIED).map_err(NotEarlier::Foreign)?;
    let [source, others @ ..] = carried.as_slice() else {
        return Err(NotEarlier::Foreign("carries no run file".into()));
    };
    let run = reduced(path, &source.bytes, &Others(others))?;
    let record = carried
        .iter()
        .find(|file| file.path == RECORD)
        .and_then(|file| Record::from_json(&file.bytes))
        .unwrap_or_default();
    Ok(Earlier { run, record })
}

fn reduced(path: &Path, bytes: &[u8], beside: &dyn Beside) -> Result<Run, NotEarlier> {
    let (run, problems, _) = pipeline::read_beside(&path.to_string_lossy(), bytes, beside);
    run.ok_or_else(|| {
        let first = problems.first().map_or("", |problem| &problem.headline);
        NotEarlier::Because(format!("has problems in its run file: {first}"))
    })
}

/// The files that a report carries beside its run file.
struct Others<'a>(&'a [Carried]);

impl Beside for Others<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let file = self.0.iter().find(|file| file.path == path);
        file.map(|file| file.bytes.clone())
            .ok_or_else(|| "the report does not carry it".to_owned())
    }

    fn photo(&self, _: &str) -> Result<Option<Vec<u8>>, String> {
        Ok(None)
    }
}
