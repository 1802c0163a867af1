//! What a report carries, read back from its bytes. They may come from anyone.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::{LARGEST_BESIDE, LARGEST_RUN_FILE};
use crate::bench::runfile::{self, FileLoader, is_plain_name};
use crate::pipeline::LARGEST_CARRIED;
use crate::pipeline::attached_as;
use crate::print::pdf::{Entries, Reading};

/// What the results are, in words.
const RESULTS: &str = "the results";

/// More files than this are more than any report carries.
const MOST_FILES: usize = 100;

/// Returns the paths of the photographs that a run file names: a report does not carry them.
pub fn photos_not_carried(run_file: &Carried) -> Vec<String> {
    let none = BTreeMap::new();
    let nothing = Attachments {
        run_file: &run_file.path,
        attached: &none,
        found: RefCell::default(),
    };
    let reading = runfile::read_beside(&run_file.path, &run_file.bytes, &nothing);
    let paths: BTreeSet<String> = reading
        .photos
        .into_iter()
        .map(|photo| photo.path.value)
        .collect();
    paths.into_iter().collect()
}

/// A file that a report carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// Where it stood, from the run file's folder, parts divided by `/`; never out of that folder.
    pub path: String,
    /// What it is, in words.
    pub what: &'static str,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Returns the files that the report in `pdf` carries: the run file first, then those it takes readings from, then the
/// rest. No more than `limit` bytes are unpacked in all.
///
/// # Errors
/// Why there are none, in words to follow the report's name: it is not a PDF file, it carries no run file, or what it
/// carries is of a kind that this program does not write.
pub fn read(pdf: &[u8], limit: usize) -> Result<Vec<Carried>, String> {
    if !pdf.starts_with(b"%PDF-") {
        return Err("is not a PDF file".into());
    }
    let unreadable = |why: String| format!("cannot be read as a PDF file: {why}");
    let file = Reading::new(pdf, limit).map_err(unreadable)?;
    let list = file.catalogue().map_err(unreadable)?;
    let list = list.get("AF").ok_or("carries no files")?;
    let list = file.resolved(list).map_err(unreadable)?;
    let list = list.as_list().ok_or("carries no files")?;
    if list.len() > MOST_FILES {
        return Err(format!("carries more than {MOST_FILES} files"));
    }
    let mut source = None;
    let mut others = BTreeMap::new();
    for specification in list {
        let specification = file.resolved(specification).map_err(unreadable)?;
        let specification = specification.as_entries().ok_or("carries no files")?;
        let attached = Attached::read(&file, specification)?;
        if attached.source && source.is_none() {
            source = Some((attached.name, attached.bytes));
        } else if others
            .insert(attached.name.clone(), attached.bytes)
            .is_some()
        {
            return Err(format!("carries two files called {:?}", attached.name));
        }
    }
    let (name, bytes) = source.ok_or("carries no run file")?;
    if bytes.len() as u64 > LARGEST_RUN_FILE {
        return Err("carries a file that is too large for a run file".into());
    }
    placed(name, bytes, others)
}

/// Returns the results that a report carries.
///
/// # Errors
/// As [`read`].
pub(super) fn results(pdf: &[u8]) -> Result<Vec<u8>, String> {
    let carried = read(pdf, LARGEST_CARRIED)?;
    let results = carried.into_iter().find(|file| file.what == RESULTS);
    results
        .map(|file| file.bytes)
        .ok_or_else(|| "it carries no results".to_owned())
}

struct Attached {
    name: String,
    /// Whether the report was made from it.
    source: bool,
    bytes: Vec<u8>,
}

impl Attached {
    fn read(file: &Reading, specification: &Entries) -> Result<Self, String> {
        let name = ["UF", "F"]
            .iter()
            .find_map(|key| specification.get(key)?.text());
        let name = name.ok_or("carries a file without a name")?;
        if !is_plain_name(&name) {
            return Err(format!(
                "carries a file called {name:?}, which is not a plain file name"
            ));
        }
        let unreadable =
            |why: String| format!("contains {name:?} in a form that cannot be read: {why}");
        let embedded = specification
            .get("EF")
            .map(|embedded| file.resolved(embedded));
        let embedded = embedded.transpose().map_err(unreadable)?;
        let stream = embedded
            .as_ref()
            .and_then(|embedded| embedded.as_entries()?.get("F"));
        let bytes = stream
            .map(|stream| file.stream(stream))
            .transpose()
            .map_err(unreadable)?;
        let bytes = bytes
            .flatten()
            .ok_or_else(|| format!("has lost the file {name:?}"))?;
        let relation = specification.get("AFRelationship");
        Ok(Self {
            name,
            source: relation.is_some_and(|relation| relation.is_name("Source")),
            bytes,
        })
    }
}

/// Files beside a run file, looked for among those attached; remembers which was found under which path.
struct Attachments<'a> {
    run_file: &'a str,
    attached: &'a BTreeMap<String, Vec<u8>>,
    found: RefCell<BTreeMap<String, String>>,
}

impl FileLoader for Attachments<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let name = attached_as(path, self.run_file);
        let bytes = self
            .attached
            .get(&name)
            .filter(|bytes| bytes.len() as u64 <= LARGEST_BESIDE)
            .ok_or("the report does not carry it, or it is too large")?;
        self.found.borrow_mut().insert(name, path.to_owned());
        Ok(bytes.clone())
    }

    fn photo(&self, _: &str) -> Result<Option<Vec<u8>>, String> {
        Ok(None)
    }
}

/// Attachments have no folders: where the files beside the run file stood, it says itself.
fn placed(
    name: String,
    bytes: Vec<u8>,
    attached: BTreeMap<String, Vec<u8>>,
) -> Result<Vec<Carried>, String> {
    let beside = Attachments {
        run_file: &name,
        attached: &attached,
        found: RefCell::default(),
    };
    // Only the paths asked for matter: what is wrong with the run file is the next report's affair.
    let _ = runfile::read_beside(&name, &bytes, &beside);
    let found = beside.found.into_inner();
    let mut files = vec![Carried {
        path: name,
        what: "the run file",
        bytes,
    }];
    let mut rest = Vec::new();
    for (name, bytes) in attached {
        match found.get(&name) {
            Some(path) => files.push(Carried {
                path: path.clone(),
                what: "readings beside it",
                bytes,
            }),
            None => rest.push(Carried {
                what: if name.ends_with(".results.json") {
                    RESULTS
                } else {
                    "carried with it"
                },
                path: name,
                bytes,
            }),
        }
    }
    files.extend(rest);
    let mut paths = BTreeSet::new();
    for file in &files {
        // A run file refuses such paths itself; here it is made sure of.
        let parts = || file.path.split('/').filter(|part| *part != ".");
        if !parts().all(is_plain_name) || !paths.insert(parts().collect::<Vec<_>>()) {
            return Err(format!(
                "carries a file that would be written to {:?}",
                file.path
            ));
        }
    }
    Ok(files)
}
