//! Documents that a command writes to stdout.

use std::io::{self, Write};

use serde::Serialize;

use super::Ending;
use super::command_error::CommandError;
use crate::problem::json_on_a_terminal;

/// Writes a whole document to stdout, asked for and therefore written even when quiet.
pub(super) fn document(bytes: impl AsRef<[u8]>) -> Result<Ending, CommandError> {
    let mut stdout = io::stdout();
    let written = stdout.write_all(bytes.as_ref());
    match written.and_then(|()| stdout.flush()) {
        // A reader who closed the pipe has read enough.
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            let line = format!("stdout cannot be written: {error}");
            Err(CommandError::new(Ending::Machine, line))
        }
        _ => Ok(Ending::Done),
    }
}

/// Writes a document for other programs, as JSON; `what` it is, in words.
pub(super) fn json(document: &impl Serialize, what: &str) -> Result<Ending, CommandError> {
    let json = serde_json::to_string_pretty(document).map_err(|error| {
        let line = format!("{what} cannot be written as JSON: {error}");
        CommandError::new(Ending::Machine, line)
    })?;
    self::document(json_on_a_terminal(&json) + "\n")
}
