//! A run as it stood earlier: from a run file, or from the report that it was made into.

use std::collections::BTreeMap;
use std::path::Path;

use super::carried::{self, Carried};
use super::pipeline::{self, Run};
use super::{BesideOnDisk, LARGEST_CARRIED, LARGEST_RUN_FILE};
use crate::files;
use crate::revision::{Record, Source};
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
    /// What it was made from.
    pub(super) source: Source,
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
    let beside = run.file.beside.iter();
    let beside = beside.map(|file| (file.path.clone(), text(&file.bytes)));
    Ok(Earlier {
        source: Source {
            run_file: text(&bytes),
            beside: beside.collect(),
        },
        run,
        record: Record::default(),
    })
}

/// The last issue counted of a report that is to be written over: of a draft, the issue that it was made over, `None` if
/// there was none. Anything but a report is [`NotEarlier::Foreign`].
pub(super) fn last_issue(path: &Path) -> Result<Option<Earlier>, NotEarlier> {
    let bytes = files::read(path, LARGEST_REPORT)
        .map_err(|error| NotEarlier::Because(format!("cannot be read: {error}")))?;
    let mut earlier = from_report(path, &bytes)?;
    if !earlier.run.file.draft {
        return Ok(Some(earlier));
    }
    let Some(source) = earlier.record.last_counted.take() else {
        return Ok(None);
    };
    let beside = source.beside.iter();
    let beside: BTreeMap<String, Vec<u8>> = beside
        .map(|(path, text)| (path.clone(), text.clone().into_bytes()))
        .collect();
    Ok(Some(Earlier {
        run: reduced(path, source.run_file.as_bytes(), &beside)?,
        record: earlier.record,
        source,
    }))
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
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
    let beside = others.iter().filter(|file| {
        let mut named = run.file.beside.iter();
        named.any(|beside| beside.path == file.path)
    });
    let beside = beside.map(|file| (file.path.clone(), text(&file.bytes)));
    Ok(Earlier {
        source: Source {
            run_file: text(&source.bytes),
            beside: beside.collect(),
        },
        run,
        record,
    })
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
