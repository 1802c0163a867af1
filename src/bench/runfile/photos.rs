//! The photographs that a run file names. What they hold is judged by whoever decodes them.

use super::fields::{Fields, Value};
use super::file_loader::{FileLoader, why_refused};
use super::model::Photo;
use super::solutions::{self, Solutions};
use super::words;
use crate::problem::{Code, Problem};
use std::collections::BTreeMap;
use std::sync::Arc;

/// No report shows more photographs.
const MOST_PHOTOS: usize = 100;
/// The most bytes of all photographs of a run together.
const MOST_TOGETHER: usize = 200_000_000;

/// Returns those that could be read. A file named twice is read once.
pub(super) fn read(run: &Fields<'_>, solutions: &Solutions, beside: &dyn FileLoader) -> Vec<Photo> {
    let Some(value) = run.value(&words::PHOTOS) else {
        return Vec::new();
    };
    let items = value.numbered();
    if items.len() > MOST_PHOTOS {
        run.found.add(|| {
            value
                .problem(
                    Code::TooManyPhotos,
                    format!("There are {} photographs.", items.len()),
                )
                .right(format!("at most {MOST_PHOTOS}"))
        });
        return Vec::new();
    }
    let mut photos = Vec::new();
    let mut files = Files {
        beside,
        read: BTreeMap::new(),
        together: 0,
    };
    for item in items {
        let Some(fields) = item.fields(&words::PHOTO_KEYS) else {
            continue;
        };
        let caption = fields.text(&words::CAPTION);
        let shows = fields.name(&words::SHOWS);
        let shows = shows
            .zip(fields.value(&words::SHOWS))
            .and_then(|(name, value)| solutions::find(solutions, value, &name));
        let path = fields.text(&words::PHOTO_FILE);
        let Some((path, file)) = path.zip(fields.value(&words::PHOTO_FILE)) else {
            continue;
        };
        match files.bytes(file, &path.value) {
            Ok(bytes) => photos.push(Photo {
                path,
                // One that is missing has been noted: there is no run then.
                caption: caption.map(|caption| caption.value).unwrap_or_default(),
                shows,
                bytes,
            }),
            Err(problem) => run.found.add(|| problem),
        }
    }
    photos
}

struct Files<'b> {
    beside: &'b dyn FileLoader,
    read: BTreeMap<String, Option<Arc<[u8]>>>,
    /// Bytes read so far.
    together: usize,
}

impl Files<'_> {
    /// Returns the bytes of a file, as far as such are kept.
    ///
    /// # Errors
    /// That it cannot be read.
    fn bytes(&mut self, file: &Value<'_>, path: &str) -> Result<Option<Arc<[u8]>>, Problem> {
        if let Some(why) = why_refused(path) {
            let problem = file.problem(Code::PathNotBeside, format!("The path {path} {why}."));
            let right = "a path down from the run file's folder, its parts divided by /";
            return Err(problem.right(right));
        }
        if let Some(bytes) = self.read.get(path) {
            return Ok(bytes.clone());
        }
        let bytes = self.beside.photo(path).map_err(|why| {
            let problem =
                file.problem(Code::PhotoNotRead, format!("{path} cannot be read: {why}."));
            problem.right("the path of a JPEG or PNG picture, from the run file's folder")
        })?;
        let length = bytes.as_ref().map_or(0, Vec::len);
        if self.together + length > MOST_TOGETHER {
            let most = MOST_TOGETHER / 1_000_000;
            let headline =
                format!("With {path}, the photographs together are larger than {most} MB.");
            let problem = file.problem(Code::PhotosTooLarge, headline);
            return Err(problem.right("fewer photographs, or smaller ones"));
        }
        self.together += length;
        let bytes: Option<Arc<[u8]>> = bytes.map(Into::into);
        self.read.insert(path.to_owned(), bytes.clone());
        Ok(bytes)
    }
}
