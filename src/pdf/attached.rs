//! The files that a report carries, read back from its bytes.

use std::fmt;
use std::io::Read;

use flate2::read::ZlibDecoder;
use lopdf::{Dictionary, Object};

use super::metadata::MAKER_NAME;

/// The largest file read back, bytes.
const LARGEST: u64 = 64_000_000;

/// A file that a report carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// Its name, as carried: it may hold anything.
    pub name: String,
    /// Whether it is what the report was made from.
    pub is_source: bool,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Why nothing can be read back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotRead {
    /// It is no PDF file, or a damaged one.
    NotPdf,
    /// It was made by another program.
    NotOurs,
    /// A file that it carries is damaged or too large.
    Damaged,
}

impl fmt::Display for NotRead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotPdf => "it is no PDF file that can be read",
            Self::NotOurs => "it is no report of Fillmark's",
            Self::Damaged => "a file that it carries is damaged or too large",
        })
    }
}

impl std::error::Error for NotRead {}

/// The files that a report made here carries, in their order; a report's bytes may be anybody's.
///
/// # Errors
/// [`NotRead`].
pub fn attached(bytes: &[u8]) -> Result<Vec<Attached>, NotRead> {
    let file = lopdf::Document::load_mem(bytes).map_err(|_| NotRead::NotPdf)?;
    let info = file
        .trailer
        .get(b"Info")
        .ok()
        .and_then(|info| dictionary(&file, info));
    let maker = info
        .and_then(|info| info.get(b"Producer").ok())
        .and_then(|maker| lopdf::decode_text_string(maker).ok());
    if !maker.is_some_and(|maker| maker.starts_with(MAKER_NAME)) {
        return Err(NotRead::NotOurs);
    }
    let specifications = file
        .catalog()
        .ok()
        .and_then(|catalogue| catalogue.get(b"AF").ok())
        .and_then(|all| file.dereference(all).ok())
        .and_then(|(_, all)| all.as_array().ok());
    let Some(specifications) = specifications else {
        return Ok(Vec::new());
    };
    specifications
        .iter()
        .map(|one| specified(&file, one).ok_or(NotRead::Damaged))
        .collect()
}

fn dictionary<'a>(file: &'a lopdf::Document, object: &'a Object) -> Option<&'a Dictionary> {
    file.dereference(object).ok()?.1.as_dict().ok()
}

fn specified(file: &lopdf::Document, specification: &Object) -> Option<Attached> {
    let specification = dictionary(file, specification)?;
    let name = lopdf::decode_text_string(specification.get(b"UF").ok()?).ok()?;
    let relationship = specification
        .get(b"AFRelationship")
        .and_then(Object::as_name);
    let embedded = dictionary(file, specification.get(b"EF").ok()?)?;
    let (_, stream) = file.dereference(embedded.get(b"F").ok()?).ok()?;
    let stream = stream.as_stream().ok()?;
    let packed = match stream.dict.get(b"Filter").and_then(Object::as_name) {
        Ok(b"FlateDecode") => true,
        Ok(_) => return None,
        Err(_) => false,
    };
    let mut bytes = Vec::new();
    if packed {
        let mut unpacked = ZlibDecoder::new(stream.content.as_slice()).take(LARGEST + 1);
        unpacked.read_to_end(&mut bytes).ok()?;
    } else {
        bytes.clone_from(&stream.content);
    }
    (bytes.len() as u64 <= LARGEST).then_some(Attached {
        name,
        is_source: relationship.is_ok_and(|r| r == b"Source"),
        bytes,
    })
}
