//! The photographs of a run: judged, and made ready for print.
//!
//! They are judged here and not by the run file's reader, which knows no pixels; also when the run file has other problems,
//! so that all problems are found at once.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::bench::runfile::model::{Photo, RunFile};
use crate::print::manuscript;
use crate::print::page::Pixels;
use crate::print::picture::{Format, PictureError, Room, photograph};
use crate::problem::{Code, Problem};

/// Returns the pictures of a run's photographs by their paths, each of no more pixels than are printed in `room`; with
/// every problem of theirs, at the entry that names them.
pub(super) fn pictures(
    photos: &[Photo],
    room: Room,
) -> (BTreeMap<String, Arc<Pixels>>, Vec<Problem>) {
    let mut pictures = BTreeMap::new();
    let mut problems = Vec::new();
    for photo in photos {
        let path = &photo.path.value;
        let Some(bytes) = photo
            .bytes
            .as_ref()
            .filter(|_| !pictures.contains_key(path))
        else {
            continue;
        };
        // One after the other, so that only one is in memory as a whole.
        match misnamed(photo, bytes).map_or_else(|| picture(photo, bytes, room), Err) {
            Ok(pixels) => {
                pictures.insert(path.clone(), pixels);
            }
            Err(problem) => problems.push(problem),
        }
    }
    (pictures, problems)
}

/// Returns the photographs as a manuscript shows them; none where one of them has no picture.
pub(super) fn show(
    run: &RunFile,
    pictures: &BTreeMap<String, Arc<Pixels>>,
) -> Vec<manuscript::Photo> {
    let shown = run.photos.iter().map(|photo| {
        let of = run
            .shown_on(photo)
            .map_or_else(String::new, |name| format!(" of solution {name}"));
        Some(manuscript::Photo {
            pixels: Arc::clone(pictures.get(&photo.path.value)?),
            alternative: format!("Photograph{of}: {}", photo.caption),
        })
    });
    shown.collect::<Option<_>>().unwrap_or_default()
}

fn picture(photo: &Photo, bytes: &[u8], room: Room) -> Result<Arc<Pixels>, Problem> {
    photograph(bytes, room).map_err(|fault| {
        let (code, right) = match &fault {
            PictureError::Empty => (Code::PhotoEmpty, "a JPEG or PNG picture"),
            PictureError::Foreign(_) => (Code::PhotoOfOtherKind, "a JPEG or PNG picture"),
            PictureError::Long | PictureError::Pixels { .. } | PictureError::Memory => (
                Code::PhotoTooLarge,
                "the same picture, made smaller; print needs 300 pixels per inch",
            ),
            PictureError::CutShort => (Code::PhotoCutShort, "a complete copy of the file"),
            PictureError::Damaged(_) => (Code::PhotoDamaged, "a picture that can be decoded"),
        };
        let end = if matches!(fault, PictureError::Damaged(_)) {
            ""
        } else {
            "."
        };
        problem(
            photo,
            code,
            format!("{} {fault}{end}", photo.path.value),
            right,
        )
    })
}

/// That a file is of one kind, and its name says another.
fn misnamed(photo: &Photo, bytes: &[u8]) -> Option<Problem> {
    let path = &photo.path.value;
    let format = Format::detect(bytes).ok()?;
    if Format::by_name(path) == Some(format) {
        return None;
    }
    let (what, ending) = (format.name(), format.ending());
    Some(problem(
        photo,
        Code::PhotoMisnamed,
        format!("{path} is a {what} picture, but its name does not end in {ending}."),
        &format!("a file name that ends in {ending}"),
    ))
}

fn problem(photo: &Photo, code: Code, headline: String, right: &str) -> Problem {
    let entry = &photo.path.entry;
    code.error(headline)
        .at_entry(entry)
        .read(photo.path.value.as_str())
        .right(right)
}
