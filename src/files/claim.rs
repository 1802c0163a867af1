//! Who writes: of several processes that make the same report, one after the other.
//!
//! A claim is a lock, as in `part`: it ends with the process, while an age or a process number would be a guess. It is
//! taken before the report that is replaced is read, so that no issue is lost.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use super::part::{Held, UNFINISHED, beside, hold, is_at, opened};

/// Between two looks at a claim that another process has.
const PAUSE: Duration = Duration::from_millis(20);
/// So many looks, two minutes in all: the longest report takes some seconds.
const MOST_LOOKS: u32 = 6_000;

/// The right to write a file and those that belong to it, until it is dropped. It ends with the process, too.
#[derive(Debug)]
pub struct Claim {
    /// An empty file beside the other.
    at: PathBuf,
    /// Holds the lock.
    file: File,
}

/// Claims a file, whether it is there or not; waits for another process that has claimed it.
///
/// # Errors
/// What the system says; `InvalidInput` where something else stands in the claim's place; `TimedOut` where the other
/// process does not come to an end.
pub fn claim(path: &Path) -> io::Result<Claim> {
    let at = beside(path, UNFINISHED)?;
    for _ in 0..MOST_LOOKS {
        let file = match File::options().write(true).create_new(true).open(&at) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                match fs::symlink_metadata(&at) {
                    // Given up since.
                    Err(_) => continue,
                    Ok(data) if !data.is_file() => {
                        let why =
                            format!("`{}` is in the way and is not a regular file", at.display());
                        return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
                    }
                    Ok(_) => match opened(&at) {
                        Ok(file) => file,
                        Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                        Err(error) => return Err(error),
                    },
                }
            }
            Err(error) => return Err(error),
        };
        match hold(&file, &at) {
            // Where there are no locks, nobody can be waited for.
            Held::Here | Held::Unknown => return Ok(Claim { at, file }),
            Held::Gone => {}
            Held::Elsewhere => thread::sleep(PAUSE),
        }
    }
    let why = "another process has been writing it for two minutes";
    Err(io::Error::new(io::ErrorKind::TimedOut, why))
}

impl Drop for Claim {
    fn drop(&mut self) {
        if is_at(&self.file, &self.at) {
            // One that stays goes with the next run.
            let _ = fs::remove_file(&self.at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn one_has_it_at_a_time() {
        let folder = std::env::temp_dir().join(format!("fillmark-claim-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("report.pdf");
        // One that a killed process left.
        fs::write(folder.join("report.pdf.fillmark-part"), "").unwrap();
        let inside = AtomicU32::new(0);
        thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..200 {
                        let claim = claim(&path).unwrap();
                        assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0);
                        thread::yield_now();
                        inside.fetch_sub(1, Ordering::SeqCst);
                        drop(claim);
                    }
                });
            }
        });
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 0, "nothing is left");
        fs::remove_dir_all(&folder).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn what_is_no_file_is_not_followed() {
        let folder = std::env::temp_dir().join(format!("fillmark-way-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let at = folder.join("report.pdf.fillmark-part");
        std::os::unix::fs::symlink("note.txt", &at).unwrap();
        let refused = claim(&folder.join("report.pdf")).unwrap_err();
        assert_eq!(refused.kind(), io::ErrorKind::InvalidInput);
        fs::remove_dir_all(&folder).unwrap();
    }
}
