//! `fillmark changes`: what differs between two states of a run.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::command_error::CommandError;
use super::stdout;
use super::terminal::Terminal;
use super::{Ending, Format, previous_report};
use crate::bench::quantity::rounding::signed;
use crate::bench::revision::{Changes as Differences, ResultChange};
use crate::problem::shortened;

/// The most of a text that is told, characters.
const LONGEST: usize = 500;

/// Show the differences between two run files or reports: entries, results, flags.
#[derive(Debug, Args)]
pub(super) struct Changes {
    /// The earlier run file (YAML) or report (PDF).
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// The later one.
    #[arg(value_name = "NEW")]
    new: PathBuf,
    /// The form of the output.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// The document.
#[derive(Serialize)]
struct Document<'a> {
    old: String,
    new: String,
    #[serde(flatten)]
    changes: &'a Differences,
}

impl Changes {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let state = |path: &Path| {
            previous_report::read(path).map_err(|why| {
                let line = format!("`{}` {why}; nothing is compared", path.display());
                CommandError::new(Ending::Problems, line)
            })
        };
        let (old, new) = (state(&self.old)?, state(&self.new)?);
        let changes = new.run.changes_since(&old.run);
        if self.format == Format::Text {
            tell(&changes, terminal);
            return Ok(Ending::Done);
        }
        let document = Document {
            old: self.old.display().to_string(),
            new: self.new.display().to_string(),
            changes: &changes,
        };
        stdout::json(&document, "the changes")
    }
}

/// Tells changes in words.
pub(super) fn tell(changes: &Differences, terminal: &mut Terminal) {
    if changes.is_empty() {
        terminal.say("no differences");
    }
    let short = |text: &String| shortened(text, LONGEST);
    for entry in &changes.entries {
        let told = match (entry.was.as_ref().map(short), entry.now.as_ref().map(short)) {
            (Some(was), Some(now)) => format!("{was} → {now}"),
            (None, Some(now)) => format!("new: {now}"),
            (Some(was), None) => format!("removed, was {was}"),
            (None, None) => continue,
        };
        let reason = match &entry.reason {
            Some(reason) => format!(" ({})", reason.why),
            None if entry.is_unexplained() => " (not explained)".to_owned(),
            None => String::new(),
        };
        terminal.say(&format!("{}: {told}{reason}", entry.entry));
    }
    let results = changes.results.iter().map(result);
    for line in results.chain(flags(changes)) {
        terminal.say(&line);
    }
}

/// Returns a change of a result in words.
pub(super) fn result(change: &ResultChange) -> String {
    format!(
        "{} of {}: {} → {} {} ({} U)",
        change.of,
        change.solution,
        change.was,
        change.now,
        change.unit,
        signed(change.in_uncertainties)
    )
}

/// Changes of flags in words, a line each.
pub(super) fn flags(changes: &Differences) -> impl Iterator<Item = String> + '_ {
    let gone = changes
        .flags_gone
        .iter()
        .map(|flag| format!("no longer flagged: {} at {}", flag.flag, flag.entry));
    let new = changes
        .flags_new
        .iter()
        .map(|flag| format!("newly flagged: {} at {}", flag.flag, flag.entry));
    gone.chain(new)
}
