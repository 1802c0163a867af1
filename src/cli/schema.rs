//! `fillmark schema`: what a run file may hold, for editors.

use super::Ending;
use super::terminal::Terminal;
use crate::runfile::schema::schema;

pub(super) fn run(terminal: &mut Terminal) -> Ending {
    terminal.document(&format!("{:#}\n", schema()))
}
