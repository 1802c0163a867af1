//! `fillmark extract`: the files that a report carries, as they were.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Ending;
use super::attachments::{self, Carried};
use super::command_error::CommandError;
use super::terminal::Terminal;
use crate::files;
use crate::pipeline::{LARGEST_CARRIED, LARGEST_REPORT};
use crate::problem::Code;

/// Give back the files that a report carries: the run file, the tables it takes readings from, and the results.
#[derive(Debug, Args)]
pub(super) struct Extract {
    /// A report made by this program.
    #[arg(value_name = "REPORT.pdf")]
    report: PathBuf,
    /// Write the files into this folder. [default: the current folder]
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
}

impl Extract {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let name = format!("`{}`", self.report.display());
        let bytes = files::read(&self.report, LARGEST_REPORT)
            .map_err(|error| CommandError::not_read(&name, &error))?;
        let files = attachments::read(&bytes, LARGEST_CARRIED).map_err(|why| {
            let problem = Code::NothingToExtract
                .error(format!("{name} {why}"))
                .right("a report made by this program, as it was written");
            CommandError::of_problem(Ending::Problems, problem)
        })?;
        let folder = self.into.as_deref().unwrap_or(Path::new(""));
        files::clear(folder);
        let same = unlike(&files, folder)?;
        for (file, same) in files.iter().zip(same) {
            let path = folder.join(&file.path);
            let shown = path.display();
            if same {
                terminal.say(&format!("{shown}: already there, identical"));
                continue;
            }
            files::write_new_below(folder, Path::new(&file.path), &file.bytes)
                .map_err(|error| CommandError::not_written(&path, &error))?;
            terminal.say(&format!("{shown}: {}", file.what));
        }
        let photos = files.first().map(attachments::photos_not_carried);
        for photo in photos.unwrap_or_default() {
            let path = folder.join(&photo);
            terminal.say(&format!(
                "{}: a photograph, which the report does not carry; it is needed there to make the report again",
                path.display()
            ));
        }
        Ok(Ending::Done)
    }
}

/// Returns, for each file, whether the folder already has it with the same bytes.
///
/// # Errors
/// A file in the folder has other bytes or cannot be read. Nothing has been written then.
fn unlike(files: &[Carried], folder: &Path) -> Result<Vec<bool>, CommandError> {
    let stands = |file: &Carried| {
        let path = folder.join(&file.path);
        match files::read(&path, LARGEST_CARRIED as u64) {
            Ok(bytes) if bytes == file.bytes => Ok(true),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
            Ok(_) => Err(CommandError::usage(format!(
                "`{}` exists already and is different; nothing is written",
                path.display()
            ))),
            Err(error) => Err(CommandError::not_written(&path, &error)),
        }
    };
    files.iter().map(stands).collect()
}
