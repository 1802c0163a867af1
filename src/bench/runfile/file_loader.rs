//! Files that stand beside a run file and hold a part of its readings.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::problem::is_unseen;

/// Whoever can read the files beside a run file.
pub trait FileLoader {
    /// Returns the bytes of a file by its path from the run file's folder, whose parts are divided by `/`, none of them
    /// `..`.
    ///
    /// # Errors
    /// Why it cannot be read, in words to follow "cannot be read: ".
    fn read(&self, path: &str) -> Result<Vec<u8>, String>;

    /// Returns the same of a photograph; `None` if photographs are not kept with the run file, so that it says nothing
    /// that there are none.
    ///
    /// # Errors
    /// As for [`FileLoader::read`].
    fn photo(&self, path: &str) -> Result<Option<Vec<u8>>, String> {
        self.read(path).map(Some)
    }

    /// Returns the same of a report or its results, which may be larger.
    ///
    /// # Errors
    /// As for [`FileLoader::read`].
    fn report(&self, path: &str) -> Result<Vec<u8>, String> {
        self.read(path)
    }

    /// Returns the results file that a report (PDF) carries.
    ///
    /// # Errors
    /// As for [`FileLoader::read`].
    fn results_of(&self, _report: &[u8]) -> Result<Vec<u8>, String> {
        Err("it is a report, not its results".to_owned())
    }
}

/// Files in memory, by their paths.
impl FileLoader for BTreeMap<String, Vec<u8>> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let bytes = self.get(path).cloned();
        bytes.ok_or_else(|| "there is no such file".to_owned())
    }
}

/// A file beside the run file, as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileBeside {
    /// Its path from the run file's folder, under which a report carries it.
    pub path: String,
    /// The path of the file that was read: the same, or that of the report to which it was attached.
    pub source: String,
    /// The name it has in spans: the run file's folder, as the user named it, and the path.
    pub file: Arc<str>,
    /// What it contains.
    pub holds: Holds,
    /// Its bytes.
    pub bytes: Arc<[u8]>,
}

/// What a file beside a run file contains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Weighings: a table.
    Weighings,
    /// The calibration of an earlier report: its results.
    Calibration,
}

/// Returns the name of a file beside `run`, the run file as the user named it.
pub(super) fn name_beside(run: &str, path: &str) -> Arc<str> {
    let folder = run.rfind(['/', '\\']).map_or("", |end| &run[..=end]);
    format!("{folder}{path}").into()
}

/// Names that stand for devices on some systems, whatever ending they have.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];
const NUMBERED_DEVICES: [&str; 2] = ["com", "lpt"];

/// Returns whether a name, without folders, is one that a file may be given on every system and that shows what it is:
/// not hidden, no device's, without controls and marks that turn the order of what is read.
pub fn is_plain_name(name: &str) -> bool {
    let odd = |c: char| matches!(c, '/' | '\\' | ':') || is_unseen(c);
    let stem = name
        .split('.')
        .next()
        .unwrap_or_default()
        .trim_end()
        .to_lowercase();
    let numbered = NUMBERED_DEVICES.iter().any(|device| {
        let number = stem.strip_prefix(device);
        number.is_some_and(|number| {
            number.chars().count() == 1 && !number.contains(char::is_alphabetic)
        })
    });
    !name.is_empty()
        && name.len() <= 255
        && !name.starts_with('.')
        && !name.ends_with(['.', ' '])
        && !name.contains(odd)
        && !numbered
        && !DEVICES.contains(&stem.as_str())
}

/// Returns why a path is none from the run file's folder down, if it is none.
pub(super) fn why_refused(path: &str) -> Option<&'static str> {
    let has_drive = path.as_bytes().get(1) == Some(&b':')
        && path.starts_with(|c: char| c.is_ascii_alphabetic());
    if path.starts_with('/') || has_drive {
        Some("is an absolute path")
    } else if path.contains('\\') {
        Some("has a backslash")
    } else if path.split('/').any(|part| part == "..") {
        Some("leads out of the run file's folder")
    } else if path.chars().any(is_unseen) {
        Some("has a control character or an invisible one")
    } else if !path
        .split('/')
        .all(|part| part == "." || is_plain_name(part))
    {
        Some("has a file name that is hidden or not valid on every system")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_paths_down_the_folder_are_taken() {
        for (path, taken) in [
            ("readings.csv", true),
            ("./readings.csv", true),
            ("day 2/read..ings.csv", true),
            ("../readings.csv", false),
            ("a/../../readings.csv", false),
            ("/etc/readings.csv", false),
            ("C:/readings.csv", false),
            ("a\\..\\readings.csv", false),
            ("a\nb.csv", false),
            ("a\u{202e}b.csv", false),
            (".readings.csv", false),
            (".ssh/readings.csv", false),
            ("NUL.csv", false),
            ("day/com1", false),
            ("company/nullified.csv", true),
            ("readings.csv.", false),
        ] {
            assert_eq!(why_refused(path).is_none(), taken, "{path}");
        }
    }

    #[test]
    fn names_keep_the_folder() {
        assert_eq!(
            &*name_beside("bench/run.yaml", "r.csv"),
            "bench/r.csv",
            "folder"
        );
        assert_eq!(&*name_beside("run.yaml", "r.csv"), "r.csv", "none");
    }
}
