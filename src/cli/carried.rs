//! What a report carries, read back from its bytes. They may come from anyone.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use lopdf::{Dictionary, Document, LoadOptions, Object, ObjectId};

use super::pipeline::attached_as;
use crate::runfile::{self, Beside};

/// More files than this are more than any report carries.
const MOST_FILES: usize = 100;

/// The paths of the photographs that a run file names: a report does not carry them.
#[must_use]
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

/// The files that the report in `pdf` carries: the run file first, then those it takes readings from, then the rest. No
/// more than `limit` bytes are unpacked.
///
/// # Errors
/// Why there are none, in words to follow the report's name: it is no PDF file, it carries no run file, or what it
/// carries is of a kind that this program does not write.
pub fn read(pdf: &[u8], limit: usize) -> Result<Vec<Carried>, String> {
    if !pdf.starts_with(b"%PDF-") {
        return Err("is no PDF file".into());
    }
    let mut file = opened(pdf, limit, Some(unless_packed))?;
    if specifications(&file).is_err() {
        // Another program may have written the report anew and packed them.
        file = opened(pdf, limit, None)?;
    }
    let mut source = None;
    let mut others = BTreeMap::new();
    let mut left = limit;
    for specification in specifications(&file)? {
        let attached = Attached::read(&file, specification, left)?;
        left = left.saturating_sub(attached.bytes.len());
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
    placed(name, bytes, others)
}

/// The objects of a file, those that `filter` drops left out.
fn opened(pdf: &[u8], limit: usize, filter: Option<Filter>) -> Result<Document, String> {
    let options = LoadOptions {
        filter,
        ..LoadOptions::with_max_decompressed_size(limit)
    };
    Document::load_mem_with_options(pdf, options)
        .map_err(|error| format!("cannot be read as a PDF file: {error}"))
}

type Filter = fn(ObjectId, &mut Object) -> Option<(ObjectId, Object)>;

/// Drops object streams before they are unpacked: in a report of ours, none of the objects that lead to its files is in
/// one, and reading the thousands that are takes longer than anything else with it.
fn unless_packed(id: ObjectId, object: &mut Object) -> Option<(ObjectId, Object)> {
    let packed = object
        .as_stream()
        .is_ok_and(|stream| stream.dict.has_type(b"ObjStm"));
    // Of an object that stands by itself, it only matters that something is given back.
    (!packed).then_some((id, Object::Null))
}

/// The file specifications of the catalogue's list of associated files.
fn specifications(file: &Document) -> Result<Vec<&Dictionary>, String> {
    let none = || "carries no files".to_owned();
    let list = file.catalog().ok().and_then(|c| c.get(b"AF").ok());
    let list = list.and_then(|list| file.dereference(list).ok());
    let list = list
        .and_then(|(_, list)| list.as_array().ok())
        .ok_or_else(none)?;
    if list.len() > MOST_FILES {
        return Err(format!("carries more than {MOST_FILES} files"));
    }
    list.iter()
        .map(|each| dictionary(file, each).ok_or_else(none))
        .collect()
}

fn dictionary<'f>(file: &'f Document, object: &'f Object) -> Option<&'f Dictionary> {
    file.dereference(object).ok()?.1.as_dict().ok()
}

struct Attached {
    name: String,
    /// Whether the report was made from it.
    source: bool,
    bytes: Vec<u8>,
}

impl Attached {
    fn read(file: &Document, specification: &Dictionary, room: usize) -> Result<Self, String> {
        let name = ["UF", "F"]
            .iter()
            .find_map(|key| lopdf::decode_text_string(specification.get(key.as_bytes()).ok()?).ok())
            .ok_or("carries a file without a name")?;
        if !is_plain(&name) {
            return Err(format!(
                "carries a file called {name:?}, which is no plain file name"
            ));
        }
        let stream = specification
            .get(b"EF")
            .ok()
            .and_then(|embedded| dictionary(file, embedded)?.get(b"F").ok())
            .and_then(|stream| file.dereference(stream).ok()?.1.as_stream().ok())
            .ok_or_else(|| format!("has lost the file {name:?}"))?;
        let bytes = stream
            .decompressed_content_with_limit(room)
            .map_err(|error| format!("holds {name:?} in a form that cannot be read: {error}"))?;
        let relation = specification
            .get(b"AFRelationship")
            .and_then(Object::as_name);
        Ok(Self {
            name,
            source: relation.is_ok_and(|relation| relation == b"Source"),
            bytes,
        })
    }
}

/// Whether a name is one of a file, without folders, on every system.
fn is_plain(name: &str) -> bool {
    let folder = |c: char| matches!(c, '/' | '\\' | ':') || c.is_control();
    !name.is_empty() && name != "." && name != ".." && name.len() <= 255 && !name.contains(folder)
}

/// Files beside a run file, looked for among those attached; remembers which was found under which path.
struct Attachments<'a> {
    run_file: &'a str,
    attached: &'a BTreeMap<String, Vec<u8>>,
    found: RefCell<BTreeMap<String, String>>,
}

impl Beside for Attachments<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let name = attached_as(path, self.run_file);
        let bytes = self
            .attached
            .get(&name)
            .ok_or("the report does not carry it")?;
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
                    "the results"
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
        if !parts().all(is_plain) || !paths.insert(parts().collect::<Vec<_>>()) {
            return Err(format!("carries a file that would go to {:?}", file.path));
        }
    }
    Ok(files)
}
