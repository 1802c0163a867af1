//! `fillmark schema`: what a run file or a plan file may hold, for editors.

use clap::Args;

use super::Ending;
use super::command_error::CommandError;
use super::stdout::document;
use crate::bench::runfile::schema::{plan_schema, schema};

/// Print a JSON Schema of the run file, or of the plan file, for completion in editors.
#[derive(Debug, Args)]
pub(super) struct Schema {
    /// The schema of the plan file.
    #[arg(long)]
    plan: bool,
}

impl Schema {
    pub(super) fn run(&self) -> Result<Ending, CommandError> {
        let schema = if self.plan { plan_schema() } else { schema() };
        document(format!("{schema:#}\n"))
    }
}
