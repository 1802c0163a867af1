//! `fillmark schema`: what a run file or a plan file may hold, for editors.

use clap::Args;

use super::Ending;
use super::terminal::Terminal;
use crate::bench::runfile::schema::{plan_schema, schema};

/// Print a JSON Schema of the run file, or of the plan file, for completion in editors.
#[derive(Debug, Args)]
pub(super) struct Schema {
    /// The schema of the plan file.
    #[arg(long)]
    plan: bool,
}

impl Schema {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        let schema = if self.plan { plan_schema() } else { schema() };
        terminal.document(&format!("{schema:#}\n"))
    }
}
