//! `fillmark manual`: manual pages, one of the program and one of each command.

use std::io;
use std::path::PathBuf;

use clap::{Args, Command};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::command_error::CommandError;
use super::outputs;
use super::terminal::Terminal;
use super::{Ending, help};
use crate::files;

/// Begins every page, so that the next version knows it as its own.
const OURS: &str = ".\\\" Written by fillmark manual";

/// Write manual pages for `man`: one of the program and one of each command.
#[derive(Debug, Args)]
pub(super) struct Manual {
    /// Write the pages into this folder, which is created if missing.
    #[arg(value_name = "DIR")]
    into: PathBuf,
    /// Overwrite files that are not manual pages by Fillmark.
    #[arg(long)]
    force: bool,
}

impl Manual {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let not_written = |error: io::Error| CommandError::not_written(&self.into, &error);
        let pages = pages().map_err(not_written)?;
        let pages: Vec<(PathBuf, Vec<u8>)> = pages
            .into_iter()
            .map(|(name, page)| (self.into.join(name), page))
            .collect();
        files::make_folder(&self.into).map_err(not_written)?;
        files::clear(&self.into);
        for (path, _) in &pages {
            outputs::free(path, |bytes| bytes.starts_with(OURS.as_bytes()), self.force)?;
        }
        outputs::write(pages.iter().map(|(path, page)| (&**path, &**page)))?;
        let (into, count) = (self.into.display(), pages.len());
        terminal.say(&format!("{into}: {count} manual pages"));
        Ok(Ending::Done)
    }
}

/// Returns the pages by the names of their files.
fn pages() -> io::Result<Vec<(String, Vec<u8>)>> {
    let mut whole = help::with_examples().disable_help_subcommand(true);
    whole.build();
    let commands = whole.get_subcommands().cloned();
    let all = [(whole.clone(), String::new())]
        .into_iter()
        .chain(commands.map(|command| {
            let name = command.get_name().to_owned();
            (command, name)
        }));
    all.map(|(command, name)| page(command, &name)).collect()
}

/// Returns the page of a command; of the program itself that of no name.
fn page(command: Command, name: &str) -> io::Result<(String, Vec<u8>)> {
    let has_commands = command.has_subcommands();
    let man = Man::new(command)
        // No day, so that the same program writes the same bytes; a blank keeps its place, which nothing at all would not.
        .date(" ")
        .source(concat!("fillmark ", env!("CARGO_PKG_VERSION")))
        .manual("Fillmark");
    let mut page = format!("{OURS}\n").into_bytes();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    if has_commands {
        man.render_subcommands_section(&mut page)?;
    }
    let examples = help::examples(name).iter();
    let examples = examples.map(|(line, does)| ((*line).to_owned(), *does));
    section(&mut page, "EXAMPLES", examples)?;
    let codes = Ending::ALL.iter();
    let codes = codes.map(|ending| ((*ending as u8).to_string(), ending.meaning()));
    section(&mut page, "EXIT STATUS", codes)?;
    Ok((man.get_filename(), page))
}

/// Adds a section of terms, each with what is said of it.
fn section(
    page: &mut Vec<u8>,
    title: &str,
    terms: impl Iterator<Item = (String, &'static str)>,
) -> io::Result<()> {
    let mut roff = Roff::default();
    roff.control("SH", [title]);
    for (term, said) in terms {
        roff.control("TP", []);
        roff.text([bold(term)]);
        roff.text([roman(said)]);
    }
    roff.to_writer(page)
}
