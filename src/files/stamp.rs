//! What tells a file from what stood there before: its contents, or, of a large one, what the system notes of it.

use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use md5::{Digest, Md5};

use super::read;

/// The contents of files up to this many bytes are compared; those of larger ones would take too long at every look.
const COMPARED: u64 = 1_000_000;

/// What tells a file, or the files of a folder, from what stood there before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp(Vec<(PathBuf, Observation)>);

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Observation {
    /// The digest of its contents.
    Contents([u8; 16]),
    /// Length, time of the last change, and what else the system notes.
    Noted(u64, Option<SystemTime>, [i64; 3]),
}

/// Returns the stamp of a file, or of the files of a folder; `None` if nothing is there.
pub fn stamp(path: &Path) -> Option<Stamp> {
    let mut all = vec![observe(path.to_path_buf())?];
    if let Ok(folder) = fs::read_dir(path) {
        all.extend(folder.filter_map(|entry| observe(entry.ok()?.path())));
        all.sort();
    }
    Some(Stamp(all))
}

fn observe(path: PathBuf) -> Option<(PathBuf, Observation)> {
    let data = fs::metadata(&path).ok()?;
    let seen = match read(&path, COMPARED) {
        Ok(bytes) => Observation::Contents(Md5::digest(&bytes).into()),
        Err(_) => Observation::Noted(data.len(), data.modified().ok(), noted(&data)),
    };
    Some((path, seen))
}

/// Returns the file's number and the time of its last change of any kind, which no program can set.
#[cfg(unix)]
fn noted(data: &Metadata) -> [i64; 3] {
    use std::os::unix::fs::MetadataExt;
    [data.ino() as i64, data.ctime(), data.ctime_nsec()]
}

#[cfg(not(unix))]
fn noted(_: &Metadata) -> [i64; 3] {
    [0; 3]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edit_of_equal_size_and_time_is_seen() {
        let folder = std::env::temp_dir().join(format!("fillmark-stamp-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("run.yaml");
        let then = SystemTime::UNIX_EPOCH;
        let put = |text: &str| {
            fs::write(&path, text).unwrap();
            let file = fs::File::options().write(true).open(&path).unwrap();
            file.set_modified(then).unwrap();
            (stamp(&path), stamp(&folder))
        };
        let first = put("filled: 41.176 g");
        let same = put("filled: 41.176 g");
        assert_eq!(first, same, "nothing is other");
        let other = put("filled: 41.177 g");
        assert!(first.0 != other.0 && first.1 != other.1);
        fs::remove_file(&path).unwrap();
        assert_eq!(stamp(&path), None);
        fs::remove_dir_all(&folder).unwrap();
    }
}
