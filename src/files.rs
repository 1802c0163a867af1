//! The one door to the disk: reading within limits, writing beside and renaming over.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Reads a whole regular file of at most `limit` bytes.
///
/// # Errors
/// What the system says; `InvalidInput` for what is no regular file; `FileTooLarge` for more than `limit` bytes.
pub fn read(path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    // Asked before opening: opening a pipe would wait for its other end.
    let data = fs::metadata(path)?;
    if !data.is_file() {
        let what = if data.is_dir() {
            "it is a folder"
        } else {
            "it is no regular file"
        };
        return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    }
    let too_large = || {
        let why = format!("it is larger than {} MB", limit / 1_000_000);
        io::Error::new(io::ErrorKind::FileTooLarge, why)
    };
    if data.len() > limit {
        return Err(too_large());
    }
    let mut bytes = Vec::with_capacity(data.len() as usize);
    // It may have grown since it was asked, or not know its own size.
    File::open(path)?.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(too_large());
    }
    Ok(bytes)
}

/// Reads a file of at most `limit` bytes from the folder that the file `beside` stands in, or from below it.
///
/// # Errors
/// Those of [`read`]; `InvalidInput` where `path` leads out of the folder, be it by a link.
pub fn read_beside(beside: &Path, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let folder = beside.parent().unwrap_or(Path::new(""));
    let folder = fs::canonicalize(if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    })?;
    let file = fs::canonicalize(folder.join(path))?;
    if !file.starts_with(&folder) {
        let why = format!("it leads out of the folder of `{}`", beside.display());
        return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
    }
    read(&file, limit)
}

/// Names and contents of the files of a folder whose name has an ending, by name.
///
/// # Errors
/// What the system says of the folder or of any of the files.
pub fn read_folder(folder: &Path, ending: &str, limit: u64) -> io::Result<Vec<(String, Vec<u8>)>> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)?
        .map(|e| Ok(e?.path()))
        .collect::<io::Result<_>>()?;
    paths.retain(|path| path.extension().is_some_and(|e| e == ending));
    paths.sort();
    let named = paths.into_iter().map(|path| {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        Ok((name, read(&path, limit)?))
    });
    named.collect()
}

/// A path by which a file is known however it was named, whether it exists already or not.
pub fn resolved(path: &Path) -> PathBuf {
    let beside = || {
        let folder = path
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty());
        let folder = fs::canonicalize(folder.unwrap_or(Path::new("."))).ok()?;
        Some(folder.join(path.file_name()?))
    };
    fs::canonicalize(path)
        .ok()
        .or_else(beside)
        .unwrap_or_else(|| path.to_path_buf())
}

/// What tells a file, or the files of a folder, from what stood there before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp(Vec<(PathBuf, Option<SystemTime>, u64)>);

/// The stamp of a file, or of the files of a folder; none where nothing is there.
pub fn stamp(path: &Path) -> Option<Stamp> {
    let of = |path: PathBuf| {
        let data = fs::metadata(&path).ok()?;
        Some((path, data.modified().ok(), data.len()))
    };
    let mut all = vec![of(path.to_path_buf())?];
    if let Ok(folder) = fs::read_dir(path) {
        all.extend(folder.filter_map(|entry| of(entry.ok()?.path())));
        all.sort();
    }
    Some(Stamp(all))
}

/// Writes a file that must not stand there yet.
///
/// # Errors
/// What the system says, `AlreadyExists` for a file that does; no part of it is left then.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    let written = file.write_all(bytes).and_then(|()| file.sync_all());
    if written.is_err() {
        // The first error is the one to tell.
        let _ = fs::remove_file(path);
    }
    written
}

/// Writes a file below a folder that must not stand there yet; folders on the way to it are made, also `folder` itself.
///
/// # Errors
/// Those of [`write_new`]; `InvalidInput` where the way leads out of `folder`, be it by a link.
pub fn write_new_below(folder: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    fs::create_dir_all(folder)?;
    let top = fs::canonicalize(folder)?;
    let mut parts: Vec<_> = path.components().collect();
    let name = parts.pop();
    let mut place = top.clone();
    for part in parts {
        place.push(part);
        match fs::create_dir(&place) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
            _ => {}
        }
        // A link among the folders would lead elsewhere.
        place = fs::canonicalize(&place)?;
        if !place.starts_with(&top) {
            let why = format!("`{}` leads out of the folder", path.display());
            return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
        }
    }
    let name =
        name.ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it names no file"))?;
    write_new(&place.join(name), bytes)
}

/// Ends the name of the file in which a file is written before it gets its name.
const UNFINISHED: &str = ".fillmark-part";

/// Where a file is written before it gets its name.
fn unfinished(path: &Path) -> io::Result<PathBuf> {
    let name = path
        .file_name()
        .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it names no file"))?;
    let mut beside = name.to_owned();
    beside.push(UNFINISHED);
    Ok(path.with_file_name(beside))
}

/// Makes a folder, and those above it; one that is there is fine.
///
/// # Errors
/// What the system says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}

/// Removes what was left beside a file by a process that was killed while it wrote it.
pub fn clear(path: &Path) {
    if let Ok(beside) = unfinished(path) {
        // Nearly always there is none.
        let _ = fs::remove_file(beside);
    }
}

/// Writes a file whole or not at all: the bytes go to a file beside it, are synced, and are renamed over it.
///
/// # Errors
/// What the system says; the file that stood there is then as it was, and nothing is left beside it.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write_by(path, |file| file.write_all(bytes))
}

/// The same, with the writing itself left to `fill`.
fn write_by(path: &Path, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<()> {
    let beside = unfinished(path)?;
    let written = (|| {
        let mut file = File::create(&beside)?;
        fill(&mut file)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    })();
    if written.is_err() {
        // The first error is the one to tell; a part that cannot be removed either adds nothing to it.
        let _ = fs::remove_file(&beside);
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Takes so many bytes, then fails as a full disk does.
    struct Full<'f> {
        file: &'f mut File,
        room: usize,
    }

    impl Write for Full<'_> {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let fits = bytes.len().min(self.room);
            if fits == 0 {
                return Err(io::ErrorKind::StorageFull.into());
            }
            self.room -= fits;
            self.file.write(&bytes[..fits])
        }

        fn flush(&mut self) -> io::Result<()> {
            self.file.flush()
        }
    }

    #[test]
    fn a_writer_that_fails_anywhere_leaves_the_old_file() {
        let folder = std::env::temp_dir().join(format!("fillmark-files-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("report.pdf");
        let (old, new) = (
            b"the old report".repeat(40),
            b"a new one, longer".repeat(60),
        );
        fs::write(&path, &old).unwrap();
        for room in 0..=new.len() {
            let written = write_by(&path, |file| Full { file, room }.write_all(&new));
            let stands = fs::read(&path).unwrap();
            if room < new.len() {
                assert!(written.is_err(), "{room} bytes fit");
                assert!(stands == old, "{room} bytes fit: the old one is gone");
            } else {
                assert!(written.is_ok() && stands == new, "all of it fits");
            }
            assert_eq!(
                fs::read_dir(&folder).unwrap().count(),
                1,
                "{room}: nothing else"
            );
        }
        fs::remove_dir_all(&folder).unwrap();
    }
}
