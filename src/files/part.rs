//! Files that come whole or not at all: each is written beside its place as a part, which is then renamed.
//!
//! A part has a name that no other file has, and its owner holds a lock on it for as long as the owner lives. A part that
//! can be locked is therefore one that a process left behind when it was killed. Parts are opened only as new files, so
//! that neither a link nor a pipe of such a name leads anywhere. (`tempfile` gives names that do not collide, but not the
//! knowledge of who is dead; its names are random as well.)

use std::ffi::OsStr;
use std::fs::{self, File, Metadata, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::{folder_of, name_folder};

/// Ends the name of every part, and of the file by which a claim is laid.
pub(super) const UNFINISHED: &str = ".fillmark-part";

/// More parts of one file than this are not left by accident.
const MOST: u32 = 100;

/// Returns a file beside another, whose name is that of the other with an ending.
pub(super) fn beside(path: &Path, ending: &str) -> io::Result<PathBuf> {
    let name = path
        .file_name()
        .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it names no file"))?;
    let mut beside = name.to_owned();
    beside.push(ending);
    Ok(path.with_file_name(beside))
}

/// Who holds a file that was opened at a path.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Held {
    /// This process, by the handle asked about.
    Here,
    /// Another one.
    Elsewhere,
    /// Nobody: the path leads to another file by now, or to none.
    Gone,
    /// It cannot be known: this disk has no locks.
    Unknown,
}

/// Locks a file that was opened at a path, if nobody else holds it.
pub(super) fn hold(file: &File, path: &Path) -> Held {
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Held::Elsewhere,
        Err(TryLockError::Error(_)) => Held::Unknown,
        Ok(()) if is_at(file, path) => Held::Here,
        Ok(()) => Held::Gone,
    }
}

/// Returns whether a path leads to this open file, not by a link.
pub(super) fn is_at(file: &File, path: &Path) -> bool {
    let (Ok(open), Ok(there)) = (file.metadata(), fs::symlink_metadata(path)) else {
        return false;
    };
    there.is_file() && same(&open, &there)
}

#[cfg(unix)]
fn same(a: &Metadata, b: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}

#[cfg(not(unix))]
fn same(_: &Metadata, _: &Metadata) -> bool {
    true
}

/// A file written beside its place, synced, and removed again unless it is put there.
#[derive(Debug)]
struct Part {
    beside: PathBuf,
    /// Holds the lock.
    file: File,
    is_put: bool,
}

impl Part {
    /// Writes a part of the file at `path` by `fill`. Nobody may read it who may not read what stands there now.
    fn write(path: &Path, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<Self> {
        let standing = fs::symlink_metadata(path).ok();
        let mut part = Self::created(path, standing.as_ref())?;
        fill(&mut part.file)?;
        if let Some(data) = standing.filter(Metadata::is_file) {
            part.file.set_permissions(data.permissions())?;
        }
        part.file.sync_all()?;
        Ok(part)
    }

    fn created(path: &Path, standing: Option<&Metadata>) -> io::Result<Self> {
        for number in 1..=MOST {
            let beside = beside(path, &format!(".{number}{UNFINISHED}"))?;
            match as_private_as(standing).create_new(true).open(&beside) {
                Ok(file) => {
                    let is_held = matches!(hold(&file, &beside), Held::Here | Held::Unknown);
                    let part = Self {
                        beside,
                        file,
                        // What another process is about to clear away is no part any more.
                        is_put: !is_held,
                    };
                    if is_held {
                        return Ok(part);
                    }
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        let why = format!("there are {MOST} unfinished files of its name beside it");
        Err(io::Error::new(io::ErrorKind::AlreadyExists, why))
    }

    fn put(&mut self, path: &Path) -> io::Result<()> {
        fs::rename(&self.beside, path)?;
        self.is_put = true;
        Ok(())
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        if !self.is_put {
            // What went wrong before is the thing to tell; what stays goes with the next run.
            let _ = fs::remove_file(&self.beside);
        }
    }
}

/// For writing; what it creates is readable by no more than what stands there.
#[cfg(unix)]
fn as_private_as(standing: Option<&Metadata>) -> fs::OpenOptions {
    use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
    let mut options = File::options();
    options.write(true);
    if let Some(data) = standing.filter(|data| data.is_file()) {
        options.mode((data.mode() & 0o777) | 0o600);
    }
    options
}

#[cfg(not(unix))]
fn as_private_as(_: Option<&Metadata>) -> fs::OpenOptions {
    let mut options = File::options();
    options.write(true);
    options
}

/// Files that belong together. All are written beside their places before the first is put there; the one that says that
/// the set is complete comes last.
#[derive(Debug, Default)]
pub struct Set<'p> {
    parts: Vec<(&'p Path, Part)>,
}

impl<'p> Set<'p> {
    /// Returns one more file, written beside its place.
    ///
    /// # Errors
    /// What the system says. Nothing is left then of this one; the others are as they were.
    pub fn add(&mut self, path: &'p Path, bytes: &[u8]) -> io::Result<()> {
        self.add_by(path, |file| file.write_all(bytes))
    }

    fn add_by(
        &mut self,
        path: &'p Path,
        fill: impl FnOnce(&mut File) -> io::Result<()>,
    ) -> io::Result<()> {
        self.parts.push((path, Part::write(path, fill)?));
        Ok(())
    }

    /// Puts all in their places, the one added last at the end, and syncs their folders.
    ///
    /// # Errors
    /// The file that could not be put, and what the system says. The one added last is then as it was.
    pub fn put(mut self) -> Result<(), (PathBuf, io::Error)> {
        let last = self.parts.pop();
        let mut folders = Vec::new();
        for (path, mut part) in self.parts {
            part.put(path)
                .map_err(|error| (path.to_path_buf(), error))?;
            if !folders.contains(&folder_of(path)) {
                folders.push(folder_of(path));
            }
        }
        for folder in folders {
            synced(folder).map_err(|error| (folder.to_path_buf(), error))?;
        }
        if let Some((path, mut part)) = last {
            let put = part.put(path).and_then(|()| synced(folder_of(path)));
            put.map_err(|error| (path.to_path_buf(), error))?;
        }
        Ok(())
    }
}

/// Makes sure that the names in a folder are on the disk.
#[cfg(unix)]
fn synced(folder: &Path) -> io::Result<()> {
    match File::open(folder).and_then(|folder| folder.sync_all()) {
        // Some kinds of disk cannot, and some folders may be written but not read.
        Err(error) => match error.kind() {
            io::ErrorKind::InvalidInput
            | io::ErrorKind::Unsupported
            | io::ErrorKind::PermissionDenied => Ok(()),
            _ => Err(error),
        },
        Ok(()) => Ok(()),
    }
}

#[cfg(not(unix))]
fn synced(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Writes a file that must not stand there yet, whole or not at all.
///
/// # Errors
/// What the system says, `AlreadyExists` for a file that does; no part of it is left then.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if fs::symlink_metadata(path).is_ok() {
        return Err(io::ErrorKind::AlreadyExists.into());
    }
    let mut part = Part::write(path, |file| file.write_all(bytes))?;
    // A second name for a file is never given over another file, as renaming would.
    match fs::hard_link(&part.beside, path) {
        Ok(()) => {}
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(error),
        // Some kinds of disk have no second names.
        Err(_) if fs::symlink_metadata(path).is_err() => part.put(path)?,
        Err(_) => return Err(io::ErrorKind::AlreadyExists.into()),
    }
    drop(part);
    synced(folder_of(path))
}

/// Removes from a folder what processes left behind that were killed: regular files of such names that nobody holds.
pub fn clear(folder: &Path) {
    // What cannot be listed, opened or removed stays: nearly always there is nothing.
    let Ok(entries) = fs::read_dir(name_folder(folder)) else {
        return;
    };
    let is_unfinished = |name: &OsStr| name.as_encoded_bytes().ends_with(UNFINISHED.as_bytes());
    for entry in entries.flatten() {
        let is_file = || entry.file_type().is_ok_and(|kind| kind.is_file());
        if is_unfinished(&entry.file_name()) && is_file() {
            let path = entry.path();
            if let Ok(file) = opened(&path)
                && hold(&file, &path) == Held::Here
            {
                let _ = fs::remove_file(&path);
            }
        }
    }
}

/// Opens a file to lock it. Where files are shared between machines, a lock is for those who may write.
pub(super) fn opened(path: &Path) -> io::Result<File> {
    let both = File::options().read(true).write(true).open(path);
    both.or_else(|_| File::open(path))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(test: &str) -> PathBuf {
        let name = format!("fillmark-{test}-{}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

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
    fn a_writer_that_fails_anywhere_leaves_the_old_files() {
        let folder = folder("full");
        let (path, page) = (folder.join("report.pdf"), folder.join("report.html"));
        let (old, new) = (
            b"the old report".repeat(40),
            b"a new one, longer".repeat(60),
        );
        fs::write(&path, &old).unwrap();
        fs::write(&page, &old).unwrap();
        for room in 0..=new.len() {
            let mut set = Set::default();
            set.add(&page, &new).unwrap();
            let written = set.add_by(&path, |file| Full { file, room }.write_all(&new));
            if room < new.len() {
                assert!(written.is_err(), "{room} bytes fit");
                drop(set);
                for file in [&path, &page] {
                    assert!(fs::read(file).unwrap() == old, "{room} bytes fit: lost");
                }
            } else {
                set.put().unwrap();
                for file in [&path, &page] {
                    assert!(fs::read(file).unwrap() == new, "all of it fits");
                }
            }
            assert_eq!(names(&folder), ["report.html", "report.pdf"], "{room}");
        }
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn what_is_left_is_cleared_and_what_is_held_is_not() {
        let folder = folder("left");
        let path = folder.join("report.pdf");
        let mut set = Set::default();
        set.add(&path, b"being written").unwrap();
        for left in ["report.pdf.7.fillmark-part", "other.fillmark-part"] {
            fs::write(folder.join(left), "left behind").unwrap();
        }
        fs::create_dir(folder.join("folder.fillmark-part")).unwrap();
        fs::write(folder.join("fillmark-part"), "no part").unwrap();
        clear(&folder);
        let held = "report.pdf.1.fillmark-part";
        assert_eq!(
            names(&folder),
            ["fillmark-part", "folder.fillmark-part", held]
        );
        // Another writer of the same file has another part.
        let mut other = Set::default();
        other.add(&path, b"the other's").unwrap();
        set.put().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"being written");
        other.put().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"the other's");
        assert_eq!(
            names(&folder),
            ["fillmark-part", "folder.fillmark-part", "report.pdf"]
        );
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_new_file_is_never_put_over_another() {
        let folder = folder("new");
        let path = folder.join("run.yaml");
        write_new(&path, b"first").unwrap();
        let again = write_new(&path, b"second").unwrap_err();
        assert_eq!(again.kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&path).unwrap(), b"first");
        assert_eq!(names(&folder), ["run.yaml"]);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn neither_links_nor_pipes_beside_a_file_lead_anywhere() {
        let folder = folder("links");
        let path = folder.join("report.pdf");
        fs::write(folder.join("note.txt"), "a note").unwrap();
        let part = folder.join("report.pdf.1.fillmark-part");
        std::os::unix::fs::symlink("note.txt", &part).unwrap();
        let pipe = folder.join("report.pdf.2.fillmark-part");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status();
        assert!(made.unwrap().success());
        clear(&folder);
        let mut set = Set::default();
        set.add(&path, b"a report").unwrap();
        set.put().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"a report");
        assert_eq!(fs::read(folder.join("note.txt")).unwrap(), b"a note");
        assert_eq!(names(&folder).len(), 4, "link and pipe are as they were");
        fs::remove_dir_all(&folder).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_private_file_stays_private() {
        use std::os::unix::fs::PermissionsExt;
        let folder = folder("private");
        let path = folder.join("report.pdf");
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        for private in [0o600, 0o440, 0o644] {
            fs::write(&path, "old").unwrap();
            fs::set_permissions(&path, PermissionsExt::from_mode(private)).unwrap();
            let mut set = Set::default();
            set.add_by(&path, |file| {
                let beside = folder.join("report.pdf.1.fillmark-part");
                assert_eq!(mode(&beside) & !(private | 0o600), 0, "while it is written");
                file.write_all(b"new")
            })
            .unwrap();
            set.put().unwrap();
            assert_eq!(mode(&path), private);
            assert_eq!(fs::read(&path).unwrap(), b"new");
            fs::remove_file(&path).unwrap();
        }
        fs::remove_dir_all(&folder).unwrap();
    }
}
