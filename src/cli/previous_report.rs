//! A run as it stood earlier: from a run file, or from the report that it was made into.

use std::collections::BTreeMap;
use std::path::Path;

use super::attachments::{self, Carried};
use super::{BesideOnDisk, LARGEST_BESIDE, LARGEST_RUN_FILE};
use crate::bench::revision::{Record, Source};
use crate::bench::runfile::FileLoader;
use crate::files;
use crate::pipeline::{self, LARGEST_CARRIED, LARGEST_REPORT, RECORD, Run};

/// A run as it stood.
pub(super) struct Earlier {
    pub(super) run: Run,
    /// The issues of the report so far; none of a run file.
    pub(super) record: Record,
    /// What it was made from.
    pub(super) source: Source,
}

/// Reads a run as it stood in a file, a report or a run file.
///
/// # Errors
/// Why there is none, in words to follow the name of the file.
pub(super) fn read(path: &Path) -> Result<Earlier, String> {
    let bytes = bytes(path)?;
    if bytes.starts_with(b"%PDF") {
        return from_report(path, &bytes);
    }
    if bytes.len() as u64 > LARGEST_RUN_FILE {
        return Err("is too large for a run file".into());
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

/// Returns the last issue counted of a report that is to be written over: of a draft, the issue that it was made over,
/// `None` if there was none.
///
/// # Errors
/// As [`read`]; anything but a report is one.
pub(super) fn last_issue(path: &Path) -> Result<Option<Earlier>, String> {
    let mut earlier = from_report(path, &bytes(path)?)?;
    if !earlier.run.file.draft {
        return Ok(Some(earlier));
    }
    let Some(source) = earlier.record.last_counted.take() else {
        return Ok(None);
    };
    if source.run_file.len() as u64 > LARGEST_RUN_FILE {
        return Err("carries a file that is too large for a run file".into());
    }
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

fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    files::read(path, LARGEST_REPORT).map_err(|error| format!("cannot be read: {error}"))
}

fn from_report(path: &Path, bytes: &[u8]) -> Result<Earlier, String> {
    let carried = attachments::read(bytes, LARGEST_CARRIED)?;
    let [source, others @ ..] = carried.as_slice() else {
        return Err("carries no run file".into());
    };
    let run = reduced(path, &source.bytes, &Others(others))?;
    let record = carried.iter().find(|file| file.path == RECORD);
    let record = record.map_or(Ok(Record::default()), |file| Record::from_json(&file.bytes))?;
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

fn reduced(path: &Path, bytes: &[u8], beside: &dyn FileLoader) -> Result<Run, String> {
    let (run, problems, _) = pipeline::read_beside(&path.to_string_lossy(), bytes, beside);
    run.ok_or_else(|| {
        let first = problems.first().map_or("", |problem| &problem.headline);
        format!("has problems in its run file: {first}")
    })
}

/// The files that a report carries beside its run file.
struct Others<'a>(&'a [Carried]);

impl FileLoader for Others<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let file = self.0.iter().find(|file| file.path == path);
        file.filter(|file| file.bytes.len() as u64 <= LARGEST_BESIDE)
            .map(|file| file.bytes.clone())
            .ok_or_else(|| "the report does not carry it, or it is too large".to_owned())
    }

    fn photo(&self, _: &str) -> Result<Option<Vec<u8>>, String> {
        Ok(None)
    }
}
