//! The one door to the disk: reading within limits, writing whole files or none.

mod claim;
mod part;
mod stamp;

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

pub use claim::{Claim, claim};
pub use part::{Set, clear, write_new};
pub use stamp::{Stamp, stamp};

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
            "it is not a regular file"
        };
        return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    }
    if data.len() > limit {
        return Err(too_large(limit));
    }
    // It may have grown since it was asked, or not know its own size.
    read_all(File::open(path)?, limit)
}

/// Reads all of a stream, at most `limit` bytes.
///
/// # Errors
/// What the system says; `FileTooLarge` for more than `limit` bytes.
pub fn read_all(stream: impl Read, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    stream.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(too_large(limit));
    }
    Ok(bytes)
}

fn too_large(limit: u64) -> io::Error {
    let why = format!("it is larger than {} MB", limit / 1_000_000);
    io::Error::new(io::ErrorKind::FileTooLarge, why)
}

/// Reads a file of at most `limit` bytes from the folder that the file `beside` stands in, or from below it.
///
/// # Errors
/// Those of [`read`]; `InvalidInput` where `path` leads out of the folder, be it by a link.
pub fn read_beside(beside: &Path, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let folder = fs::canonicalize(folder_of(beside))?;
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

/// Returns a path by which a file is known however it was named, whether it exists already or not.
pub fn resolved(path: &Path) -> PathBuf {
    let beside = || {
        let folder = fs::canonicalize(folder_of(path)).ok()?;
        Some(folder.join(path.file_name()?))
    };
    fs::canonicalize(path)
        .ok()
        .or_else(beside)
        .unwrap_or_else(|| path.to_path_buf())
}

/// What stands at a path, links not followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Nothing.
    Nothing,
    /// A regular file.
    File,
    /// A symbolic link.
    Link,
    /// Something that is never written over: what it is, in words.
    Other(&'static str),
}

/// Returns what stands at a path.
///
/// # Errors
/// What the system says, unless it says that nothing is there.
pub fn standing(path: &Path) -> io::Result<Standing> {
    let kind = match fs::symlink_metadata(path) {
        Ok(data) => data.file_type(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Standing::Nothing),
        Err(error) => return Err(error),
    };
    Ok(if kind.is_file() {
        Standing::File
    } else if kind.is_symlink() {
        Standing::Link
    } else if kind.is_dir() {
        Standing::Other("a folder")
    } else {
        Standing::Other("not a regular file")
    })
}

/// Makes a folder, and those above it; one that is there is fine.
///
/// # Errors
/// What the system says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}

/// Returns the folder that a file stands in.
pub fn folder_of(path: &Path) -> &Path {
    name_folder(path.parent().unwrap_or(Path::new("")))
}

/// Returns a folder by a name that the system knows: the one that a command is given in has an empty path.
fn name_folder(folder: &Path) -> &Path {
    if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    }
}

/// Writes a file below a folder that must not stand there yet; folders on the way to it are made, also `folder` itself.
///
/// # Errors
/// Those of [`write_new`]; `InvalidInput` where the way leads out of `folder`, be it by a link.
pub fn write_new_below(folder: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = name_folder(folder);
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
